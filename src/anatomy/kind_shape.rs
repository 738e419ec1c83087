//! Standard shapes of the kinds of teeth, upper and lower.

use crate::scene::ToothKind;

/// Shape of one kind of crown beside its standard dimensions. Lengths in mm, angles in
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
    /// How much of the crown's length the gum covers.
    pub gum_cover_mm: f32,
    /// Height of the papillae below that point.
    pub papilla_mm: f32,
    /// Depth of the labial grooves of incisors.
    pub groove_mm: f32,
    /// Height of the labial ridge of canines and premolars.
    pub ridge_mm: f32,
}

impl KindShape {
    const CENTRAL: Self = Self {
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
        gum_cover_mm: 0.1,
        papilla_mm: 4.6,
        groove_mm: 0.18,
        ridge_mm: 0.0,
    };

    const LATERAL: Self = Self {
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
        groove_mm: 0.12,
        ..Self::CENTRAL
    };

    const CANINE: Self = Self {
        edge_height_mm: 0.25,
        arch_turn: 0.78,
        yaw: -0.05,
        roll: 0.05,
        torque: 0.01,
        depth_mm: 0.25,
        neck: 0.365,
        contact: [0.66, 0.54],
        end_width: [0.93, 0.86],
        corner_mm: [0.9, 1.2],
        edge_drop_mm: [1.15, 1.70],
        cusped: true,
        bulge_mm: [3.0, 2.1],
        squareness: [2.1, 2.2, 2.15],
        fall_mm: 1.25,
        zenith: 0.03,
        gum_cover_mm: 0.1,
        papilla_mm: 4.1,
        groove_mm: 0.0,
        ridge_mm: 0.20,
    };

    const FIRST_PREMOLAR: Self = Self {
        edge_height_mm: 0.75,
        arch_turn: 0.82,
        yaw: 0.02,
        roll: 0.035,
        torque: -0.06,
        depth_mm: 0.0,
        neck: 0.37,
        contact: [0.58, 0.54],
        end_width: [0.92, 0.90],
        corner_mm: [0.7, 0.8],
        edge_drop_mm: [1.45, 1.60],
        cusped: true,
        bulge_mm: [3.2, 1.5],
        squareness: [2.1, 2.3, 2.2],
        fall_mm: 1.2,
        zenith: 0.0,
        gum_cover_mm: 0.1,
        papilla_mm: 3.4,
        groove_mm: 0.0,
        ridge_mm: 0.16,
    };

    const SECOND_PREMOLAR: Self = Self {
        edge_height_mm: 1.15,
        arch_turn: 0.84,
        yaw: 0.0,
        roll: 0.02,
        torque: -0.08,
        neck: 0.375,
        contact: [0.58, 0.55],
        end_width: [0.93, 0.91],
        edge_drop_mm: [1.35, 1.45],
        fall_mm: 1.1,
        papilla_mm: 3.3,
        ..Self::FIRST_PREMOLAR
    };

    const MOLAR: Self = Self {
        edge_height_mm: 1.7,
        neck: 0.40,
        edge_drop_mm: [1.45, 1.50],
        contact: [0.62, 0.58],
        end_width: [0.95, 0.92],
        corner_mm: [0.7, 0.8],
        squareness: [2.3, 2.7, 2.6],
        papilla_mm: 2.9,
        ridge_mm: 0.0,
        ..Self::SECOND_PREMOLAR
    };

    /// The standard shape of a kind.
    #[must_use]
    pub const fn of(kind: ToothKind) -> Self {
        match kind {
            ToothKind::Central => Self::CENTRAL,
            ToothKind::Lateral => Self::LATERAL,
            ToothKind::Canine => Self::CANINE,
            ToothKind::FirstPremolar => Self::FIRST_PREMOLAR,
            ToothKind::SecondPremolar => Self::SECOND_PREMOLAR,
            ToothKind::Molar => Self::MOLAR,
        }
    }

    /// The standard shape of a lower kind, as an upper one that is turned over later.
    #[must_use]
    pub const fn lower(kind: ToothKind) -> Self {
        let upper = Self::of(kind);
        match kind {
            ToothKind::Central | ToothKind::Lateral => Self {
                edge_height_mm: 0.0,
                torque: -0.02,
                depth_mm: 0.0,
                neck: 0.36,
                contact: [0.86, 0.82],
                end_width: [0.97, 0.95],
                corner_mm: [0.5, 0.7],
                edge_drop_mm: [0.03, 0.10],
                bulge_mm: [2.1, 1.0],
                fall_mm: 0.55,
                zenith: 0.0,
                gum_cover_mm: 0.6,
                papilla_mm: 3.4,
                groove_mm: 0.02,
                ..upper
            },
            ToothKind::Canine => Self {
                edge_height_mm: 0.0,
                torque: -0.06,
                gum_cover_mm: 1.7,
                neck: 0.38,
                contact: [0.80, 0.66],
                fall_mm: 1.0,
                ..upper
            },
            _ => Self { edge_height_mm: 0.15, torque: -0.16, gum_cover_mm: 0.6, ..upper },
        }
    }
}
