//! The dental arch seen from above, and where each crown stands on it.

use super::kind::Individual;
use crate::scene::Tooth;

/// The plan curve `z = −0.0184·|x|^2.1` (mm), indexed by arc length from the midline.
///
/// The labial heights of contour of the crowns lie on it. Arc length is positive to the viewer's
/// right.
#[derive(Debug, Clone)]
pub struct ArchCurve {
    /// x at every `STEP_MM` of arc length from the midline.
    x_mm: Vec<f32>,
    flatness: f32,
}

const STEP_MM: f32 = 0.1;
const FLATNESS: f32 = 0.0184;
const EXPONENT: f32 = 2.1;

impl Default for ArchCurve {
    fn default() -> Self {
        Self::new()
    }
}

impl ArchCurve {
    /// Largest arc length that is resolved, mm; beyond it the curve ends.
    pub const REACH_MM: f32 = 60.0;

    /// The curve.
    #[must_use]
    pub fn new() -> Self {
        Self::narrowed(1.0)
    }

    /// The curve with its depth at a given x multiplied; above 1 the arch is narrower.
    #[must_use]
    pub fn narrowed(factor: f32) -> Self {
        let flatness = FLATNESS * factor;
        let count = (Self::REACH_MM / STEP_MM) as usize + 1;
        let mut x_mm = Vec::with_capacity(count);
        let mut x = 0.0_f64;
        for _ in 0..count {
            x_mm.push(x as f32);
            // Midpoint rule for dx/ds = 1/√(1 + z′²).
            let slope = |x: f64| {
                -f64::from(flatness) * f64::from(EXPONENT) * x.powf(f64::from(EXPONENT) - 1.0)
            };
            let half = x + 0.5 * f64::from(STEP_MM) / (1.0 + slope(x).powi(2)).sqrt();
            x += f64::from(STEP_MM) / (1.0 + slope(half).powi(2)).sqrt();
        }
        Self { x_mm, flatness }
    }

    /// The point (x, z) at arc length `s`, mm.
    #[must_use]
    pub fn point(&self, s: f32) -> [f32; 2] {
        let position = (s.abs() / STEP_MM).min((self.x_mm.len() - 2) as f32);
        let index = position as usize;
        let t = position - index as f32;
        let x = self.x_mm[index] + (self.x_mm[index + 1] - self.x_mm[index]) * t;
        [x * s.signum(), -self.flatness * x.powf(EXPONENT)]
    }

    /// Angle of the outward normal at arc length `s`, radians, positive toward the viewer's right.
    #[must_use]
    pub fn normal_angle(&self, s: f32) -> f32 {
        let x = self.point(s)[0];
        (self.flatness * EXPONENT * x.abs().powf(EXPONENT - 1.0)).atan() * x.signum()
    }

    /// Arc length and labial offset of the point (x, z), mm: the inverse of walking `offset` out
    /// along the normal at `s`.
    #[must_use]
    pub fn project(&self, x: f32, z: f32) -> [f32; 2] {
        // A point's foot on a convex curve: a few fixed-point steps along the tangent.
        let mut s = self.arc_length_at(x);
        let mut offset = 0.0;
        for _ in 0..6 {
            let [cx, cz] = self.point(s);
            let (sin, cos) = self.normal_angle(s).sin_cos();
            let (dx, dz) = (x - cx, z - cz);
            offset = dx * sin + dz * cos;
            s += (dx * cos - dz * sin) * 0.9;
        }
        [s, offset]
    }

    fn arc_length_at(&self, x: f32) -> f32 {
        let index = self.x_mm.partition_point(|&value| value < x.abs());
        index as f32 * STEP_MM * x.signum()
    }
}

/// Where a crown stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Arc length of the middle of the crown, mm.
    pub arc_mm: f32,
    /// Arc length of the contact toward the midline, mm.
    pub mesial_contact_arc_mm: f32,
    /// Arc length of the contact away from the midline, mm.
    pub distal_contact_arc_mm: f32,
    /// Turn about the vertical, radians, positive toward the viewer's right.
    pub yaw: f32,
    /// Turn about the line of sight, radians; positive moves the root to the viewer's right.
    pub roll: f32,
    /// Turn about the horizontal, radians; positive moves the edge toward the viewer.
    pub torque: f32,
}

/// Overlap of neighbours at the contact: a hair, so that no light leaks through.
const CONTACT_OVERLAP_MM: f32 = 0.03;

impl Placement {
    /// Stands individuals on the curve; they must be one side's, from the midline outward.
    #[must_use]
    pub fn along(curve: &ArchCurve, side: &[Individual]) -> Vec<Self> {
        let mut start = -CONTACT_OVERLAP_MM / 2.0;
        side.iter()
            .map(|individual| {
                let sign = outward_sign(individual.tooth);
                let shape = &individual.shape;
                let middle = start + individual.width_mm / 2.0;
                let end = start + individual.width_mm;
                let placement = Self {
                    arc_mm: sign * middle,
                    mesial_contact_arc_mm: sign * (start + CONTACT_OVERLAP_MM / 2.0),
                    distal_contact_arc_mm: sign * (end - CONTACT_OVERLAP_MM / 2.0),
                    yaw: curve.normal_angle(sign * middle) * shape.arch_turn + sign * shape.yaw,
                    roll: sign * shape.roll,
                    torque: shape.torque,
                };
                start = end - CONTACT_OVERLAP_MM;
                placement
            })
            .collect()
    }
}

/// 1 on the viewer's right, −1 on the left.
pub(super) const fn outward_sign(tooth: Tooth) -> f32 {
    if tooth.is_patients_right() { -1.0 } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn projection_inverts_the_walk_along_the_normal() {
        let curve = ArchCurve::new();
        for s in [-30.0_f32, -12.0, -0.5, 0.0, 4.0, 19.0, 33.0] {
            for offset in [-2.0_f32, 0.0, 1.5] {
                let [x, z] = curve.point(s);
                let (sin, cos) = curve.normal_angle(s).sin_cos();
                let [s2, offset2] = curve.project(x + offset * sin, z + offset * cos);
                assert!((s - s2).abs() < 0.02, "{s} {offset}: {s2}");
                assert!((offset - offset2).abs() < 0.01, "{s} {offset}: {offset2}");
            }
        }
    }
}
