//! What a viewer sees of which surface: a depth buffer on the processor.
//!
//! The graphics adapter draws the picture; this answers, from the same vertices and the same
//! viewpoint, which tooth a pixel shows and where on the tooth it lies.

use super::smile::Smile;
use super::surface::Surface;
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

/// What covers each pixel of a view.
#[derive(Debug, Clone)]
pub struct Coverage {
    /// Picture width, pixels.
    pub width: usize,
    /// Picture height, pixels.
    pub height: usize,
    /// Distance along the line of sight, mm; infinite where nothing is.
    pub depth_mm: Vec<f32>,
    /// What the pixel's centre shows.
    pub covered: Vec<Covered>,
    /// Texture coordinates of the surface at the pixel's centre.
    pub uvs: Vec<[f32; 2]>,
}

/// What a pixel shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Covered {
    /// The dark of the mouth.
    Nothing,
    /// The inside of the mouth behind the teeth.
    Cavity,
    /// The gum.
    Gum,
    /// Lips or skin.
    Skin,
    /// A cheek retractor.
    Retractor,
    /// A lower tooth.
    LowerCrown,
    /// The crown with this index in [`Smile::crowns`].
    Crown(u8),
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

impl Coverage {
    /// What a viewer sees of a smile.
    #[must_use]
    pub fn of(smile: &Smile, view: &View) -> Self {
        let parts = smile.parts.iter().map(|part| (&part.surface, part.covered()));
        let crowns = smile
            .crowns
            .iter()
            .enumerate()
            .map(|(index, crown)| (&crown.surface, Covered::Crown(index as u8)));
        Self::of_surfaces(parts.chain(crowns), view)
    }

    pub(super) fn of_surfaces<'a>(
        surfaces: impl Iterator<Item = (&'a Surface, Covered)>,
        view: &View,
    ) -> Self {
        let (width, height) = (view.width as usize, view.height as usize);
        let mut coverage = Self {
            width,
            height,
            depth_mm: vec![f32::INFINITY; width * height],
            covered: vec![Covered::Nothing; width * height],
            uvs: vec![[0.0; 2]; width * height],
        };
        let projection = view.projection();
        for (surface, covered) in surfaces {
            coverage.draw(surface, covered, &projection);
        }
        coverage
    }

    fn draw(&mut self, surface: &Surface, covered: Covered, projection: &Projection) {
        let points: Vec<[f32; 3]> =
            surface.positions.iter().map(|&point| projection.apply(point)).collect();
        for corner in surface.indices.chunks_exact(3) {
            let corner = [0, 1, 2].map(|k| corner[k] as usize);
            self.fill(corner.map(|k| points[k]), corner.map(|k| surface.uvs[k]), covered);
        }
    }

    fn fill(&mut self, [a, b, c]: [[f32; 3]; 3], uvs: [[f32; 2]; 3], covered: Covered) {
        // Picture y runs down, so a front face has negative area here.
        let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if area >= 0.0 {
            return;
        }
        let range = |axis: usize, limit: usize| {
            let low = (a[axis].min(b[axis]).min(c[axis]) - 0.5).ceil().max(0.0);
            let high = (a[axis].max(b[axis]).max(c[axis]) - 0.5).floor().min(limit as f32 - 1.0);
            (low as i32)..=(high as i32)
        };
        let inverse = [1.0 / a[2], 1.0 / b[2], 1.0 / c[2]];
        for y in range(1, self.height) {
            for x in range(0, self.width) {
                let (px, py) = (x as f32 + 0.5, y as f32 + 0.5);
                let wb = ((px - a[0]) * (c[1] - a[1]) - (py - a[1]) * (c[0] - a[0])) / area;
                let wc = ((b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0])) / area;
                let wa = 1.0 - wb - wc;
                if wa < 0.0 || wb < 0.0 || wc < 0.0 {
                    continue;
                }
                let weights = [wa * inverse[0], wb * inverse[1], wc * inverse[2]];
                let depth = 1.0 / (weights[0] + weights[1] + weights[2]);
                let index = y as usize * self.width + x as usize;
                if depth < self.depth_mm[index] {
                    self.depth_mm[index] = depth;
                    self.covered[index] = covered;
                    self.uvs[index] = [0, 1].map(|axis| {
                        let sum: f32 = weights.iter().zip(uvs).map(|(w, uv)| w * uv[axis]).sum();
                        sum * depth
                    });
                }
            }
        }
    }
}
