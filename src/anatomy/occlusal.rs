//! The chewing surface of premolars and molars: cusps, ridges and the fissures between them.
//!
//! Behind the outer edge the surface slopes down along the whole edge, every inner cusp is a rounded
//! cone, every marginal ridge a wall along a neighbour; the surface is whichever is highest, so
//! fissures run where two of them meet. Triangular ridges run from the tips toward the middle. Heights
//! are measured from the tip of the highest outer cusp toward the root, mm; distances inward from
//! the outer edge.

use super::kind::{Individual, Jaw};
use super::noise::{bell, lerp, smooth_step};
use crate::scene::ToothKind;

/// One cusp. Across the crown from −1 distal to 1 mesial.
#[derive(Debug, Clone, Copy)]
struct Cusp {
    across: f32,
    inward_mm: f32,
    /// How far its tip lies short of the highest.
    short_mm: f32,
    /// Slope of its flanks along the arch and of its ridge toward the middle.
    slopes: [f32; 2],
}

const fn cusp(across: f32, inward_mm: f32, short_mm: f32, slopes: [f32; 2]) -> Cusp {
    Cusp { across, inward_mm, short_mm, slopes }
}

/// Radius of a cusp's rounded tip, mm.
const TIP_MM: f32 = 0.28;
/// Depth and half width of the cleft where two slopes meet, mm.
const CLEFT_MM: f32 = 0.34;
const CLEFT_HALF_WIDTH_MM: f32 = 0.17;
/// Height of a marginal ridge above the border with the neighbour, and the slope behind it.
const MARGINAL_MM: f32 = 0.06;
const MARGINAL_SLOPE: f32 = 0.72;
/// Share of the rows from the outer to the inner cusps; the rest runs down the inner side.
const TABLE: f32 = 0.80;

/// The chewing surface of one crown.
#[derive(Debug, Clone)]
pub(super) struct Occlusal {
    cusps: Vec<Cusp>,
    /// Inner cusps' distance from the outer edge.
    table_mm: f32,
    /// Distance of the innermost point from the outer edge.
    depth_mm: f32,
    half_width_mm: f32,
    length_mm: f32,
    ridge: f32,
    /// Heights of the borders with the neighbours, mesial and distal: where the outer edge ends.
    borders_mm: [f32; 2],
}

impl Occlusal {
    /// The chewing surface of an individual whose outer edge ends at these heights, mesial and
    /// distal; none for teeth with an edge.
    pub(super) fn of(individual: &Individual, borders_mm: [f32; 2]) -> Option<Self> {
        let wear = individual.wear;
        let (depth_mm, table_mm, mut cusps) = match (individual.tooth.kind(), individual.jaw) {
            (ToothKind::FirstPremolar, Jaw::Upper) => (
                7.4,
                5.5,
                vec![cusp(0.0, 0.15, 0.0, [0.62, 0.95]), cusp(0.12, 5.5, 0.95, [0.55, 0.92])],
            ),
            (ToothKind::FirstPremolar | ToothKind::SecondPremolar, _) => (
                7.4,
                5.4,
                vec![cusp(0.0, 0.15, 0.0, [0.58, 0.82]), cusp(0.10, 5.4, 0.35, [0.52, 0.80])],
            ),
            (ToothKind::Molar, _) => (
                9.2,
                6.6,
                vec![
                    cusp(0.44, 0.2, 0.0, [0.55, 0.72]),
                    cusp(-0.46, 0.2, 0.12, [0.55, 0.70]),
                    cusp(0.40, 6.4, 0.05, [0.45, 0.66]),
                    cusp(-0.56, 6.2, 0.75, [0.55, 0.66]),
                ],
            ),
            _ => return None,
        };
        for cusp in &mut cusps {
            for slope in &mut cusp.slopes {
                *slope *= 1.12 - 0.40 * wear;
            }
        }
        Some(Self {
            cusps,
            table_mm,
            depth_mm,
            half_width_mm: 0.46 * individual.width_mm,
            length_mm: individual.length_mm,
            ridge: 0.30 - 0.12 * wear,
            borders_mm,
        })
    }

    /// Distance of the innermost point from the outer edge, mm.
    pub(super) const fn depth_mm(&self) -> f32 {
        self.depth_mm
    }

    /// Width of the crown at a distance inward, over that at the edge.
    pub(super) fn narrowing(&self, inward_mm: f32) -> f32 {
        let t = (inward_mm / self.depth_mm).clamp(0.0, 1.0);
        1.0 - 0.10 * t - 0.34 * smooth_step(0.55, 1.05, t)
    }

    /// The point at `across` (−1 on the viewer's left) and `t`, 0 at the outer edge to 1 inside.
    /// `edge_mm` is the height of the outer edge there. Returns a factor on x, height and distance
    /// inward, and the height on the tooth's colour map: a fissure is coloured as the neck is.
    pub(super) fn point(
        &self,
        across: f32,
        t: f32,
        mesial_sign: f32,
        edge_mm: f32,
        wobble: f32,
    ) -> ([f32; 3], f32) {
        let lean = (t / TABLE).min(1.0);
        let inward = lean * (self.table_mm + 0.25);
        let um = across * mesial_sign;
        let [high, second, from_tip] = self.highest(um, inward, edge_mm);
        let apart = second - high;
        let cleft = bell(apart, CLEFT_HALF_WIDTH_MM) * smooth_step(0.4, 1.3, from_tip);
        let top = high + CLEFT_MM * cleft + wobble;
        // The outer edge stays where the face ended, and the sides where the flanks end.
        let top = lerp(edge_mm, top, smooth_step(0.0, 0.05, lean));
        let side = 1.0 - smooth_step(0.84, 1.0, across.abs());
        let rim = self.borders_mm[usize::from(um < 0.0)] + self.fall_mm(inward);
        let top = lerp(rim, top, side.max(1.0 - smooth_step(0.0, 0.1, lean)));
        // The inner side turns down toward the neck.
        let turned = ((t - TABLE) / (1.0 - TABLE)).clamp(0.0, 1.0);
        let (sin, cos) = (std::f32::consts::FRAC_PI_2 * turned).sin_cos();
        let y = lerp(top, 0.72 * self.length_mm, 1.0 - cos);
        let inward = inward + (self.depth_mm - self.table_mm - 0.25) * sin;
        let v =
            0.90 - 0.16 * smooth_step(0.3, 2.2, high) - 0.62 * cleft.powi(2) - 0.3 * (1.0 - cos);
        ([self.narrowing(inward), y, inward], v)
    }

    /// How far the borders fall away from the marginal ridges toward the inner side.
    pub(super) fn fall_mm(&self, inward_mm: f32) -> f32 {
        2.2 * smooth_step(0.55, 1.0, inward_mm / self.table_mm)
    }

    /// Heights of what stands highest and second highest there, and the distance from the
    /// nearest tip; `edge_mm` is the height of the outer edge at `um`.
    fn highest(&self, um: f32, inward: f32, edge_mm: f32) -> [f32; 3] {
        let (mut high, mut second, mut nearest) = (f32::MAX, f32::MAX, f32::MAX);
        let mut take = |y: f32| {
            if y < high {
                second = high;
                high = y;
            } else if y < second {
                second = y;
            }
        };
        let mut outer = f32::MAX;
        for cusp in &self.cusps {
            let x = (um - cusp.across) * self.half_width_mm;
            let z = inward - cusp.inward_mm;
            let toward_middle = if cusp.inward_mm > 1.0 { -z } else { z };
            let [along, down] = cusp.slopes;
            let from_tip = x.hypot(z);
            // The triangular ridge bulges; hollows on either side set it off.
            let ridge = self.ridge * bell(x, 0.75) * smooth_step(0.2, 1.6, toward_middle)
                - 0.5
                    * self.ridge
                    * bell(x.abs() - 1.5, 0.5)
                    * smooth_step(0.4, 1.6, toward_middle);
            let along = if cusp.inward_mm > 1.0 { along * x } else { 0.0 };
            let cone = (along.powi(2) + (down * z).powi(2) + (TIP_MM * down).powi(2)).sqrt();
            let slope = cone - TIP_MM * down - ridge;
            if cusp.inward_mm > 1.0 {
                take(cusp.short_mm + slope);
            } else {
                // Outer cusps share one slope, as high as the edge before it.
                outer = outer.min(edge_mm + slope);
            }
            nearest = nearest.min(from_tip);
        }
        take(outer);
        for (side, border_mm) in [1.0, -1.0].into_iter().zip(self.borders_mm) {
            let from_border = (1.0 - side * um).max(0.0) * self.half_width_mm;
            let dip = 0.25 * bell(inward - 0.5 * self.table_mm, 0.5);
            // The wall rounds over at its crest.
            let crest = 0.55;
            let wall = MARGINAL_SLOPE * ((from_border - crest).powi(2) + 0.09).sqrt();
            // It runs from cusp to cusp and falls away behind the inner ones.
            take(border_mm - MARGINAL_MM + dip + wall + self.fall_mm(inward));
        }
        [high, second, nearest]
    }
}
