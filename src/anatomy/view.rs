//! A pinhole view of the mouth.

use crate::scene::Framing;
use nalgebra::{Point3, Vector3};

/// A pinhole view of the mouth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Where the viewer's eye is, mm.
    pub eye_mm: [f32; 3],
    /// What it looks at, mm.
    pub target_mm: [f32; 3],
    /// Vertical field of view, radians.
    pub vertical_field: f32,
    /// Picture width, pixels.
    pub width: u32,
    /// Picture height, pixels.
    pub height: u32,
}

/// Where a framing's eye is and how wide it sees.
struct Shot {
    /// Width of the frame at z = 0, mm.
    width_mm: f32,
    /// Distance of the eye, mm: long lenses, as for dental photographs.
    distance_mm: f32,
    eye_y_mm: f32,
    target_y_mm: f32,
}

impl Shot {
    const fn of(framing: Framing) -> Self {
        match framing {
            Framing::Conversation => {
                Self { width_mm: 73.0, distance_mm: 300.0, eye_y_mm: 2.0, target_y_mm: 3.4 }
            }
            Framing::Retracted => {
                Self { width_mm: 53.0, distance_mm: 134.0, eye_y_mm: 1.0, target_y_mm: 3.3 }
            }
            Framing::CloseUp => {
                Self { width_mm: 41.0, distance_mm: 134.0, eye_y_mm: 1.0, target_y_mm: 4.2 }
            }
            Framing::Posterior => {
                Self { width_mm: 39.0, distance_mm: 134.0, eye_y_mm: 4.0, target_y_mm: 2.4 }
            }
        }
    }
}

/// An orthonormal camera frame.
pub(super) struct Projection {
    eye: Vector3<f32>,
    right: Vector3<f32>,
    up: Vector3<f32>,
    forward: Vector3<f32>,
    scale: f32,
    center: [f32; 2],
}

impl View {
    /// The view of a framing for a picture of this size. Every picture of a framing shows the same
    /// width of smile; its shape decides how much is seen above and below.
    #[must_use]
    pub fn of(framing: Framing, width: u32, height: u32) -> Self {
        let shot = Shot::of(framing);
        let aspect = width as f32 / height as f32;
        let frame_height = shot.width_mm / aspect;
        Self {
            eye_mm: [0.0, shot.eye_y_mm, shot.distance_mm],
            target_mm: [0.0, shot.target_y_mm, 0.0],
            vertical_field: 2.0 * (0.5 * frame_height / shot.distance_mm).atan(),
            width,
            height,
        }
    }

    pub(super) fn projection(&self) -> Projection {
        let eye = Vector3::from(self.eye_mm);
        let forward = (Vector3::from(self.target_mm) - eye).normalize();
        let right = forward.cross(&Vector3::y()).normalize();
        let up = right.cross(&forward);
        let scale = 0.5 * self.height as f32 / (0.5 * self.vertical_field).tan();
        let center = [0.5 * self.width as f32, 0.5 * self.height as f32];
        Projection { eye, right, up, forward, scale, center }
    }

    /// Picture position (pixels, y down) and depth (mm) of a point in the mouth.
    #[must_use]
    pub fn project(&self, point: [f32; 3]) -> [f32; 3] {
        self.projection().apply(point)
    }
}

impl Projection {
    pub(super) fn apply(&self, point: [f32; 3]) -> [f32; 3] {
        let offset = Point3::from(point).coords - self.eye;
        let depth = offset.dot(&self.forward);
        let x = self.center[0] + self.scale * offset.dot(&self.right) / depth;
        let y = self.center[1] - self.scale * offset.dot(&self.up) / depth;
        [x, y, depth]
    }
}
