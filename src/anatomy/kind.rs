//! The standard shape of each kind of crown, and one individual of it.

use crate::random::{Purpose, StreamKey};
use crate::scene::{Tooth, ToothKind};
use rand::RngExt;

/// Shape of one kind of upper crown beside its standard dimensions. Lengths in mm, angles in
/// radians; pairs are mesial, distal.
///
/// The numbers are a sculptor's: chosen by eye so that a row of them reads as a smile. Only the
/// dimensions in [`ToothKind::crown_dimensions`] come from the literature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KindShape {
    /// Height of the edge or cusp above the central edges.
    pub edge_height_mm: f32,
    /// Share of the arch's turn that the crown takes; posterior crowns face forward a little.
    pub arch_turn: f32,
    /// Extra turn away from the midline.
    pub yaw: f32,
    /// Lean of the root toward distal.
    pub roll: f32,
    /// Lean of the edge toward the viewer.
    pub torque: f32,
    /// Labial offset from the arch curve.
    pub depth_mm: f32,
    /// Half width at the neck over the full width.
    pub neck: f32,
    /// Height of the contact, `v`.
    pub contact: [f32; 2],
    /// Half width at the edge over the half width at the contact.
    pub end_width: [f32; 2],
    /// Radius of the rounded corners.
    pub corner_mm: [f32; 2],
    /// Rise of the edge from the middle to the flank.
    pub edge_drop_mm: [f32; 2],
    /// Whether the edge is a cusp.
    pub cusped: bool,
    /// How far the flank lies behind the middle, at the neck and at the edge.
    pub bulge_mm: [f32; 2],
    /// Squareness of the cross-section at the neck, the middle and the edge (2 is an ellipse).
    pub squareness: [f32; 3],
    /// How far the edge lies behind the height of contour before torque.
    pub fall_mm: f32,
    /// Highest point of the gum line from the middle toward distal, over the width.
    pub zenith: f32,
    /// Height of the papillae below that point.
    pub papilla_mm: f32,
    /// Depth of the labial grooves of incisors.
    pub groove_mm: f32,
    /// Height of the labial ridge of canines and premolars.
    pub ridge_mm: f32,
}

impl KindShape {
    /// The standard shape of a kind.
    #[must_use]
    pub const fn of(kind: ToothKind) -> Self {
        match kind {
            ToothKind::Central => Self {
                edge_height_mm: 0.0,
                arch_turn: 1.0,
                yaw: 0.01,
                roll: 0.025,
                torque: 0.075,
                depth_mm: 0.0,
                neck: 0.375,
                contact: [0.80, 0.70],
                end_width: [0.985, 0.945],
                corner_mm: [0.8, 1.7],
                edge_drop_mm: [0.05, 0.30],
                cusped: false,
                bulge_mm: [3.0, 1.7],
                squareness: [2.15, 2.7, 3.1],
                fall_mm: 1.05,
                zenith: 0.08,
                papilla_mm: 4.6,
                groove_mm: 0.15,
                ridge_mm: 0.0,
            },
            ToothKind::Lateral => Self {
                edge_height_mm: 0.75,
                yaw: 0.03,
                roll: 0.055,
                torque: 0.07,
                depth_mm: -0.45,
                neck: 0.355,
                contact: [0.74, 0.62],
                end_width: [0.965, 0.89],
                corner_mm: [1.1, 2.0],
                edge_drop_mm: [0.12, 0.45],
                bulge_mm: [2.7, 1.5],
                squareness: [2.1, 2.45, 2.7],
                fall_mm: 0.95,
                zenith: 0.03,
                papilla_mm: 3.9,
                groove_mm: 0.10,
                ..Self::of(ToothKind::Central)
            },
            ToothKind::Canine => Self {
                edge_height_mm: 0.25,
                arch_turn: 0.80,
                yaw: -0.05,
                roll: 0.07,
                torque: 0.01,
                depth_mm: 0.25,
                neck: 0.365,
                contact: [0.66, 0.54],
                end_width: [0.93, 0.86],
                corner_mm: [0.9, 1.2],
                edge_drop_mm: [1.15, 1.75],
                cusped: true,
                bulge_mm: [3.2, 2.2],
                squareness: [2.0, 2.0, 1.95],
                fall_mm: 1.35,
                zenith: 0.08,
                papilla_mm: 3.9,
                groove_mm: 0.0,
                ridge_mm: 0.34,
            },
            ToothKind::FirstPremolar => Self {
                edge_height_mm: 0.75,
                arch_turn: 0.82,
                yaw: 0.02,
                roll: 0.035,
                torque: -0.06,
                depth_mm: 0.0,
                neck: 0.37,
                contact: [0.58, 0.54],
                end_width: [0.92, 0.90],
                corner_mm: [1.0, 1.1],
                edge_drop_mm: [1.2, 1.35],
                cusped: true,
                bulge_mm: [3.2, 2.4],
                squareness: [2.0, 2.1, 2.0],
                fall_mm: 1.3,
                zenith: 0.0,
                papilla_mm: 3.4,
                groove_mm: 0.0,
                ridge_mm: 0.22,
            },
            ToothKind::SecondPremolar => Self {
                edge_height_mm: 1.15,
                arch_turn: 0.84,
                yaw: 0.0,
                roll: 0.02,
                torque: -0.08,
                neck: 0.375,
                contact: [0.58, 0.55],
                end_width: [0.93, 0.91],
                edge_drop_mm: [1.0, 1.1],
                fall_mm: 1.2,
                papilla_mm: 3.2,
                ..Self::of(ToothKind::FirstPremolar)
            },
            ToothKind::Molar => Self {
                edge_height_mm: 1.7,
                neck: 0.40,
                edge_drop_mm: [0.8, 0.9],
                papilla_mm: 2.8,
                ridge_mm: 0.10,
                ..Self::of(ToothKind::SecondPremolar)
            },
        }
    }
}

/// One tooth of one patient: the standard shape with this patient's departures from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Individual {
    /// Which tooth.
    pub tooth: Tooth,
    /// Crown length, edge to neck.
    pub length_mm: f32,
    /// Largest mesiodistal width.
    pub width_mm: f32,
    /// Shape with this patient's departures.
    pub shape: KindShape,
    /// Phase of the worn mamelons.
    pub mamelon_phase: f32,
    /// Gloss of the enamel: perceptual roughness in the open.
    pub roughness: f32,
}

impl Individual {
    /// Largest departure of the width from standard, as a share of it.
    pub const WIDTH_SPREAD: f32 = 0.012;
    /// Largest departure of the length from standard.
    pub const LENGTH_SPREAD_MM: f32 = 0.12;

    /// The tooth of the patient with this seed.
    #[must_use]
    pub fn draw(seed: u64, tooth: Tooth) -> Self {
        let mut rng = StreamKey {
            form: "anatomy",
            seed,
            purpose: Purpose::Scene,
            block: 0,
            trial: u32::from(tooth.number()),
        }
        .stream();
        let mut spread = |half: f32| half * rng.random_range(-1.0_f32..1.0);
        let standard = tooth.kind().crown_dimensions();
        let mut shape = KindShape::of(tooth.kind());
        let width_mm = standard.width_mm as f32 * (1.0 + spread(Self::WIDTH_SPREAD));
        let length_mm = standard.length_mm as f32 + spread(Self::LENGTH_SPREAD_MM);
        shape.edge_height_mm += spread(0.10);
        shape.yaw += spread(0.028);
        shape.roll += spread(0.012);
        shape.torque += spread(0.015);
        shape.depth_mm += spread(0.14);
        shape.fall_mm *= 1.0 + spread(0.08);
        for value in shape.corner_mm.iter_mut().chain(&mut shape.edge_drop_mm) {
            *value *= 1.0 + spread(0.14);
        }
        for value in &mut shape.squareness {
            *value *= 1.0 + spread(0.05);
        }
        shape.groove_mm *= 1.0 + spread(0.4);
        shape.ridge_mm *= 1.0 + spread(0.25);
        shape.papilla_mm += spread(0.2);
        Self {
            tooth,
            length_mm,
            width_mm,
            shape,
            mamelon_phase: spread(1.2),
            roughness: 0.30 + spread(0.03),
        }
    }

    /// 1 when mesial lies toward the viewer's right, −1 when toward the left.
    #[must_use]
    pub const fn mesial_sign(&self) -> f32 {
        if self.tooth.is_patients_right() { 1.0 } else { -1.0 }
    }
}
