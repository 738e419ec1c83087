//! What a viewer sees of which surface: a depth buffer on the processor.
//!
//! The graphics adapter draws the picture; this answers, from the same vertices and the same
//! viewpoint, which tooth a pixel shows and where on the tooth it lies.

use super::surface::Surface;
use super::view::{Projection, View};

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
    /// The crown with this index in `Smile::crowns`.
    Crown(u8),
}

impl Coverage {
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
