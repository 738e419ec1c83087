//! Seeded smooth noise: the same point and seed give the same value on every run.

use std::f32::consts::FRAC_1_SQRT_2;

/// Smooth step from 0 at `low` to 1 at `high`.
pub(super) fn smooth_step(low: f32, high: f32, x: f32) -> f32 {
    let t = ((x - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Unnormalised Gaussian bell.
pub(super) fn bell(x: f32, sigma: f32) -> f32 {
    (-x * x / (2.0 * sigma * sigma)).exp()
}

/// A family of noise fields that share a seed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noise {
    seed: u32,
}

impl Noise {
    /// The noise of a seed and a channel; channels are independent.
    pub(super) fn new(seed: u64, channel: u32) -> Self {
        let folded = (seed ^ (seed >> 32)) as u32;
        Self { seed: mix(folded ^ mix(channel.wrapping_add(0x9E37_79B9))) }
    }

    fn lattice(self, x: i32, y: i32) -> u32 {
        mix((x as u32).wrapping_mul(0x8DA6_B343) ^ (y as u32).wrapping_mul(0xD816_3841) ^ self.seed)
    }

    fn gradient(self, x: i32, y: i32, dx: f32, dy: f32) -> f32 {
        // Sixteen directions are enough to hide the lattice.
        let (gx, gy) = GRADIENTS[(self.lattice(x, y) >> 28) as usize];
        gx * dx + gy * dy
    }

    /// Gradient noise, about -1..1, mean 0, one feature per unit.
    pub(super) fn at(self, x: f32, y: f32) -> f32 {
        let (fx, fy) = (x.floor(), y.floor());
        let (ix, iy) = (fx as i32, fy as i32);
        let (dx, dy) = (x - fx, y - fy);
        let (wx, wy) = (quintic(dx), quintic(dy));
        let top = lerp(self.gradient(ix, iy, dx, dy), self.gradient(ix + 1, iy, dx - 1.0, dy), wx);
        let bottom = lerp(
            self.gradient(ix, iy + 1, dx, dy - 1.0),
            self.gradient(ix + 1, iy + 1, dx - 1.0, dy - 1.0),
            wx,
        );
        1.5 * lerp(top, bottom, wy)
    }

    /// Three octaves of [`Self::at`], about -1..1.
    pub(super) fn fbm(self, x: f32, y: f32) -> f32 {
        let mut sum = 0.0;
        let (mut scale, mut weight) = (1.0, 0.57);
        for octave in 0..3_i32 {
            // The shift keeps the octaves' lattices apart.
            let shift = 17.3 * octave as f32;
            sum += weight * self.at(x * scale + shift, y * scale - shift);
            scale *= 2.03;
            weight *= 0.5;
        }
        sum
    }

    /// Distance to the nearest of one jittered point per unit cell, 0..about 1.
    pub(super) fn cell_distance(self, x: f32, y: f32) -> f32 {
        let (ix, iy) = (x.floor() as i32, y.floor() as i32);
        let mut nearest = f32::MAX;
        for cy in iy - 1..=iy + 1 {
            for cx in ix - 1..=ix + 1 {
                let hash = self.lattice(cx, cy);
                let px = cx as f32 + (hash & 0xFFFF) as f32 / 65536.0;
                let py = cy as f32 + (hash >> 16) as f32 / 65536.0;
                nearest = nearest.min((px - x).powi(2) + (py - y).powi(2));
            }
        }
        nearest.sqrt()
    }
}

const GRADIENTS: [(f32, f32); 16] = [
    (1.0, 0.0),
    (0.923_88, 0.382_68),
    (FRAC_1_SQRT_2, FRAC_1_SQRT_2),
    (0.382_68, 0.923_88),
    (0.0, 1.0),
    (-0.382_68, 0.923_88),
    (-FRAC_1_SQRT_2, FRAC_1_SQRT_2),
    (-0.923_88, 0.382_68),
    (-1.0, 0.0),
    (-0.923_88, -0.382_68),
    (-FRAC_1_SQRT_2, -FRAC_1_SQRT_2),
    (-0.382_68, -0.923_88),
    (0.0, -1.0),
    (0.382_68, -0.923_88),
    (FRAC_1_SQRT_2, -FRAC_1_SQRT_2),
    (0.923_88, -0.382_68),
];

fn mix(mut x: u32) -> u32 {
    x ^= x >> 16;
    x = x.wrapping_mul(0x7FEB_352D);
    x ^= x >> 15;
    x = x.wrapping_mul(0x846C_A68B);
    x ^ (x >> 16)
}

fn quintic(t: f32) -> f32 {
    t * t * t * (t * (t * 6.0 - 15.0) + 10.0)
}

/// Linear interpolation.
pub(super) fn lerp(a: f32, b: f32, t: f32) -> f32 {
    a + (b - a) * t
}
