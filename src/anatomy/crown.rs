//! One crown: its labial surface, rounded edge and flanks.

use super::arch::{ArchCurve, Placement};
use super::kind::Individual;
use super::noise::{Noise, bell, lerp, smooth_step};
use super::occlusal::Occlusal;
use super::surface::{RowOrder, Surface};
use crate::scene::ToothKind;
use rayon::prelude::*;

/// Columns over the labial face, and behind each flank.
const FACE_COLUMNS: usize = 51;
const FLANK_COLUMNS: usize = 5;
/// Rows over the root, the face, the rounded edge and behind it.
const ROOT_ROWS: usize = 8;
const FACE_ROWS: usize = 38;
const EDGE_ROWS: usize = 9;
/// Rows behind the edge: a short shelf, or the whole chewing surface.
const LINGUAL_ROWS: usize = 8;
const OCCLUSAL_ROWS: usize = 44;
const COLUMNS: usize = FACE_COLUMNS + 2 * FLANK_COLUMNS;

/// Height of contour: the most labial point of the profile, `v`.
const CONTOUR: f32 = 0.24;
/// Radius of an incisal edge and of the outer edge of a chewing surface, and how much deeper than
/// high it is.
const EDGE_RADIUS_MM: f32 = 0.30;
const CUSP_EDGE_RADIUS_MM: f32 = 0.75;
const EDGE_DEPTH_FACTOR: f32 = 1.25;
/// Where the edge's arc ends, past straight down.
const EDGE_END_ANGLE: f32 = 100.0 / 180.0 * std::f32::consts::PI;

/// One crown of one patient, in place.
#[derive(Debug, Clone)]
pub struct Crown {
    /// Its dimensions and shape.
    pub individual: Individual,
    /// Where it stands.
    pub placement: Placement,
    /// Its surface. Texture coordinates run over the labial face: the first from the viewer's
    /// left flank (0) to the right (1), the second from the neck (0) to the incisal edge (1).
    pub surface: Surface,
    /// The middle of the neck in the mouth.
    pub(super) neck: [f32; 3],
}

/// The untransformed shape, x from the tooth's long axis, y = 0 at the neck, z = 0 at the height
/// of contour.
struct Shape<'a> {
    individual: &'a Individual,
    noise: Noise,
    kind: ToothKind,
}

impl Crown {
    /// The crown of an individual at a placement.
    #[must_use]
    pub fn build(
        seed: u64,
        individual: Individual,
        placement: Placement,
        curve: &ArchCurve,
    ) -> Self {
        let shape = Shape {
            individual: &individual,
            noise: Noise::new(seed, individual.channel(100)),
            kind: individual.tooth.kind(),
        };
        let columns: Vec<Vec<([f32; 3], [f32; 2])>> =
            (0..COLUMNS).into_par_iter().map(|i| shape.column(i)).collect();
        let rows = columns[0].len();
        let mut positions = Vec::with_capacity(rows * COLUMNS);
        let mut uvs = Vec::with_capacity(rows * COLUMNS);
        let stand = Stand::new(&individual, &placement, curve);
        for j in 0..rows {
            for column in &columns {
                positions.push(stand.turn(column[j].0));
                uvs.push(column[j].1);
            }
        }
        // The lowest point of the edge defines its height, whatever the turns did to it.
        let lowest = positions.iter().fold(f32::MAX, |low, point| low.min(point[1]));
        let lift = individual.shape.edge_height_mm - lowest;
        for point in &mut positions {
            point[1] += lift;
        }
        let mut neck = stand.turn([0.0, 0.0, shape.profile(0.0)]);
        neck[1] += lift;
        let surface = Surface::from_grid(COLUMNS, rows, positions, uvs, RowOrder::Downward);
        Self { individual, placement, surface, neck }
    }

    /// Fractional grid column and row of a texture coordinate on the labial face.
    pub(super) fn grid_position(&self, uv: [f32; 2]) -> [f32; 2] {
        let u = (2.0 * uv[0] - 1.0).clamp(-1.0, 1.0);
        let a = u.signum() * (1.0 - (1.0 - u.abs()).sqrt());
        let half = (FACE_COLUMNS - 1) as f32 / 2.0;
        let column = FLANK_COLUMNS as f32 + half * (1.0 + a);
        // The face ends one edge radius above the edge.
        let end = 1.0 - edge_radius_mm(self.individual.tooth.kind()) / self.individual.length_mm;
        let row = ROOT_ROWS as f32 + (uv[1] / end).clamp(0.0, 1.0) * (FACE_ROWS - 1) as f32;
        [column, row]
    }
}

impl Shape<'_> {
    /// One column from root to lingual: positions and texture coordinates.
    fn column(&self, i: usize) -> Vec<([f32; 3], [f32; 2])> {
        let mesial = self.individual.mesial_sign();
        let borders = [mesial, -mesial].map(|u| self.individual.length_mm - self.length(u) - 0.05);
        let chewing = Occlusal::of(self.individual, borders);
        let step_mm = match &chewing {
            Some(chewing) => chewing.depth_mm() / FLANK_COLUMNS as f32,
            None => 0.7,
        };
        let flank_step = |steps: usize| {
            let back = steps as f32 * step_mm;
            let narrowing = match &chewing {
                Some(chewing) => chewing.narrowing(back),
                None => 1.0 - 0.035 * steps as f32,
            };
            (back, narrowing)
        };
        let (a, (back, narrowing)) = if i < FLANK_COLUMNS {
            (-1.0, flank_step(FLANK_COLUMNS - i))
        } else if i >= FLANK_COLUMNS + FACE_COLUMNS {
            (1.0, flank_step(i + 1 - FLANK_COLUMNS - FACE_COLUMNS))
        } else {
            let t = (i - FLANK_COLUMNS) as f32 / (FACE_COLUMNS - 1) as f32;
            (2.0 * t - 1.0, (0.0, 1.0))
        };
        // Columns crowd at the line angles.
        let u = a.signum() * (1.0 - (1.0 - a.abs()).powi(2));
        // Flanks of front teeth grow shorter toward the back, as the tooth does.
        let length = match &chewing {
            Some(chewing) => self.length(u) - chewing.fall_mm(back),
            None => self.length(u) * (1.0 - 0.075 * back),
        };
        let edge_radius = edge_radius_mm(self.kind);
        let face = length - edge_radius;
        let on_face = |v: f32| {
            // Embrasures open toward the back most of all at the neck, which is nearly round.
            let opening = 0.22 * (1.0 - (-back / 1.2).exp()) + 0.05 * back;
            let round = 1.0 - opening * (1.0 - smooth_step(0.20, 0.62, v));
            let x = u * self.half_width(u, v) * narrowing * round.max(0.5);
            [x, -v * face, self.depth(u, v) - back]
        };
        let uv = |y: f32| [0.5 + 0.5 * u, (-y / length).clamp(-0.2, 1.0)];
        let mut column = Vec::with_capacity(ROOT_ROWS + FACE_ROWS + EDGE_ROWS + OCCLUSAL_ROWS);
        for j in 0..ROOT_ROWS {
            let v = -0.5 * (1.0 - j as f32 / ROOT_ROWS as f32);
            column.push(on_face(v));
        }
        for j in 0..FACE_ROWS {
            column.push(on_face(j as f32 / (FACE_ROWS - 1) as f32));
        }
        // The edge starts at the face's own slope; starting it level leaves a ledge.
        let end = on_face(1.0);
        let before = on_face(0.97);
        let slope = ((before[2] - end[2]) / (before[1] - end[1])).atan().clamp(-0.2, 1.3);
        let depth_radius = edge_radius * EDGE_DEPTH_FACTOR;
        let (sin, cos) = slope.sin_cos();
        // What the arc does not use of its radius is given back, so the crown keeps its length.
        let radius = edge_radius / (1.0 - sin).max(0.25);
        let center = [end[1] + radius * sin, end[2] - depth_radius * cos];
        for j in 1..=EDGE_ROWS {
            let angle = lerp(slope, EDGE_END_ANGLE, j as f32 / EDGE_ROWS as f32);
            let (sin, cos) = angle.sin_cos();
            column.push([end[0], center[0] - radius * sin, center[1] + depth_radius * cos]);
        }
        let last = column[column.len() - 1];
        let mut column: Vec<([f32; 3], [f32; 2])> =
            column.into_iter().map(|point| (point, uv(point[1]))).collect();
        match chewing {
            Some(chewing) => column.extend(self.occlusal_rows(&chewing, (u, a), back, last)),
            None => column.extend(lingual_rows(length, u, back, last)),
        }
        column
    }

    /// The rows of a back tooth's chewing surface behind the edge; `u` and `a` say where across the
    /// face the column stands, crowded and even.
    fn occlusal_rows(
        &self,
        chewing: &Occlusal,
        (u, a): (f32, f32),
        back: f32,
        last: [f32; 3],
    ) -> impl Iterator<Item = ([f32; 3], [f32; 2])> {
        let tip = -self.individual.length_mm;
        (1..=OCCLUSAL_ROWS).map(move |j| {
            if back > 0.0 {
                // Flanks end at the marginal ridge.
                return (last, [0.5 + 0.5 * u, 1.0]);
            }
            let t = j as f32 / OCCLUSAL_ROWS as f32;
            // Behind the edge columns spread out evenly.
            let across = lerp(u, a, smooth_step(0.0, 0.30, t));
            let wobble = 0.06 * self.noise.fbm(3.0 * across + 50.0, 7.0 * t);
            let sign = self.individual.mesial_sign();
            let (point, v) = chewing.point(across, t, sign, last[1] - tip, wobble);
            let half = last[0].abs().max(0.5 * self.individual.width_mm * 0.9);
            let x = lerp(last[0], across * half, smooth_step(0.0, 0.30, t));
            ([x * point[0], tip + point[1], last[2] - point[2]], [0.5 + 0.5 * u, v])
        })
    }

    /// How much of a cusp stands at `um`, 0..1, on the cheek's side.
    fn cusp(&self, um: f32) -> f32 {
        let tip = |center: f32, sigma: f32| {
            // A rounded cone.
            let x = (um - center) / sigma;
            1.0 - ((x * x + 0.09).sqrt() - 0.3).min(1.0)
        };
        match self.kind {
            ToothKind::Molar => tip(0.44, 0.52).max(0.92 * tip(-0.46, 0.50)).max(0.0),
            _ => tip(0.0, 1.04).max(0.0),
        }
    }

    /// `u` with + toward mesial.
    fn toward_mesial(&self, u: f32) -> f32 {
        u * self.individual.mesial_sign()
    }

    fn side(&self, u: f32) -> usize {
        usize::from(self.toward_mesial(u) < 0.0)
    }

    fn half_width(&self, u: f32, v: f32) -> f32 {
        let shape = &self.individual.shape;
        let side = self.side(u);
        let neck = shape.neck * self.individual.width_mm;
        let widest = 0.5 * self.individual.width_mm;
        let contact = shape.contact[side];
        let width = if v < 0.0 {
            neck * (1.0 + 0.30 * v)
        } else if v < contact {
            let t = v / contact;
            neck + (widest - neck) * (std::f32::consts::FRAC_PI_2 * t).sin().powf(1.15)
        } else {
            let t = (v - contact) / (1.0 - contact);
            widest - widest * (1.0 - shape.end_width[side]) * t * t
        };
        // A slow wave keeps the outline from being a compass curve; it dies out at the contact,
        // whose place is fixed by the neighbours.
        let calm = smooth_step(0.0, 0.35, (v - contact).abs());
        width * (1.0 + 0.012 * calm * self.noise.at(2.5 * v, 7.0 + 5.0 * side as f32))
    }

    /// Height of the crown at `u`: shorter at the corners and cusp slopes.
    fn length(&self, u: f32) -> f32 {
        let shape = &self.individual.shape;
        let side = self.side(u);
        let um = self.toward_mesial(u);
        let drop = shape.edge_drop_mm[side];
        let drop = if self.kind == ToothKind::Molar {
            drop * (1.0 - self.cusp(um))
        } else if shape.cusped {
            // A rounded tip: hyperbola near the middle, straight slopes beyond. Wear rounds it.
            let tip = 0.20 + 0.24 * self.individual.wear;
            let rise = ((u * u + tip * tip).sqrt() - tip) / ((1.0 + tip * tip).sqrt() - tip);
            drop * rise.powf(1.18)
        } else {
            drop * u.abs().powf(2.2)
        };
        let radius = shape.corner_mm[side];
        let end = 0.5 * self.individual.width_mm * shape.end_width[side];
        let into_corner = (u.abs() * end - (end - radius)).clamp(0.0, radius);
        let corner = radius - (radius * radius - into_corner * into_corner).sqrt();
        let worn = if shape.cusped {
            0.02 * self.noise.at(3.5 * u, 31.0)
        } else {
            let wave = 1.0 - (5.84 * um + self.individual.mamelon_phase).cos();
            let young = 1.0 - self.individual.wear;
            (0.02 + 0.085 * young) * wave * (1.0 - u * u)
                + 0.05 * self.noise.at(3.5 * u, 31.0)
                + 0.10 * self.individual.wear * self.noise.at(1.3 * u, 33.0).max(0.0)
        };
        self.individual.length_mm - drop - corner - worn
    }

    /// Labial profile in the middle of the crown.
    fn profile(&self, v: f32) -> f32 {
        if v >= CONTOUR {
            let t = (v - CONTOUR) / (1.0 - CONTOUR);
            -self.individual.shape.fall_mm * (0.55 * t * t + 0.45 * t.powf(3.2))
        } else {
            let t = (CONTOUR - v) / CONTOUR;
            let neck = -0.42 * t * t;
            // The root dives out of the way of the gum.
            let dive = if is_posterior(self.kind) { 6.5 } else { 4.5 };
            if v < -0.1 { neck.max(-0.84) - dive * (-0.1 - v) } else { neck }
        }
    }

    fn depth(&self, u: f32, v: f32) -> f32 {
        let shape = &self.individual.shape;
        let [neck, middle, edge] = shape.squareness;
        let square = if v < 0.5 {
            lerp(neck, middle, smooth_step(0.0, 0.5, v))
        } else {
            lerp(middle, edge, smooth_step(0.5, 1.0, v))
        };
        let bulge = lerp(shape.bulge_mm[0], shape.bulge_mm[1], smooth_step(-0.1, 1.0, v));
        let section = (1.0 - u.abs().powf(square)).max(0.0).powf(1.0 / square);
        let um = self.toward_mesial(u);
        let mut relief = 0.045 * self.noise.fbm(1.6 * u, 2.3 * v);
        match self.kind {
            ToothKind::Central | ToothKind::Lateral => {
                let faded = smooth_step(0.30, 0.85, v);
                let grooves = bell(um - 0.30, 0.13) + bell(um + 0.34, 0.13);
                relief += faded * (0.05 * bell(um, 0.15) - shape.groove_mm * grooves);
            }
            ToothKind::Canine => {
                // The ridge bows from the neck to the tip with a shallow hollow on either side.
                let bow = um - 0.10 + 0.12 * v;
                let faded = smooth_step(0.1, 0.5, v);
                relief += shape.ridge_mm * bell(bow, 0.44)
                    - faded * (0.06 * bell(bow - 0.56, 0.16) + 0.05 * bell(bow + 0.56, 0.17));
            }
            ToothKind::Molar => {
                let groove = smooth_step(0.30, 0.75, v);
                relief += 0.12 * (bell(um - 0.45, 0.28) + bell(um + 0.45, 0.28))
                    - 0.42 * groove * bell(um - 0.01, 0.09)
                    - 0.15 * smooth_step(0.2, 0.5, v) * bell(um, 0.2);
            }
            _ => {
                let faded = smooth_step(0.25, 0.7, v);
                relief += shape.ridge_mm * bell(um, 0.36)
                    - faded * 0.06 * (bell(um - 0.58, 0.14) + bell(um + 0.58, 0.14));
            }
        }
        self.profile(v) - bulge * (1.0 - section) + relief * section
    }
}

const fn is_posterior(kind: ToothKind) -> bool {
    matches!(kind, ToothKind::FirstPremolar | ToothKind::SecondPremolar | ToothKind::Molar)
}

const fn edge_radius_mm(kind: ToothKind) -> f32 {
    if is_posterior(kind) { CUSP_EDGE_RADIUS_MM } else { EDGE_RADIUS_MM }
}

/// The turns and the shift that put a shape into the mouth.
struct Stand {
    pivot_y: f32,
    torque: (f32, f32),
    roll: (f32, f32),
    yaw: (f32, f32),
    origin: [f32; 3],
}

impl Stand {
    fn new(individual: &Individual, placement: &Placement, curve: &ArchCurve) -> Self {
        let [x, z] = curve.point(placement.arc_mm);
        let (sin, cos) = curve.normal_angle(placement.arc_mm).sin_cos();
        let depth = individual.shape.depth_mm;
        Self {
            pivot_y: -CONTOUR * individual.length_mm,
            torque: placement.torque.sin_cos(),
            roll: placement.roll.sin_cos(),
            yaw: placement.yaw.sin_cos(),
            origin: [x + depth * sin, 0.0, z + depth * cos],
        }
    }

    fn turn(&self, [x, y, z]: [f32; 3]) -> [f32; 3] {
        let y = y - self.pivot_y;
        let (sin, cos) = self.torque;
        let (y, z) = (y * cos + z * sin, z * cos - y * sin);
        let (sin, cos) = self.roll;
        let (x, y) = (x * cos + y * sin, y * cos - x * sin);
        let (sin, cos) = self.yaw;
        let (x, z) = (x * cos + z * sin, z * cos - x * sin);
        [x + self.origin[0], y + self.origin[1], z + self.origin[2]]
    }
}

/// The rows behind the edge of a front tooth: a narrow ledge, then a hollow rising to the cingulum.
fn lingual_rows(
    length: f32,
    u: f32,
    back: f32,
    last: [f32; 3],
) -> impl Iterator<Item = ([f32; 3], [f32; 2])> {
    let depth = last[2] + back;
    (1..=LINGUAL_ROWS).map(move |j| {
        let t = j as f32 / LINGUAL_ROWS as f32;
        let rise = 0.72 * length * smooth_step(0.10, 1.0, t).powf(0.9);
        let inward = (0.7 * (t / 0.25).min(1.0) + 4.2 * t.powf(1.8)).max(back);
        let narrow = 1.0 - 0.30 * t * t;
        let v = 1.0 - 0.6 * t;
        ([last[0] * narrow, last[1] + rise, depth - inward], [0.5 + 0.5 * u, v])
    })
}
