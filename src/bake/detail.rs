//! Surface detail that a restored tooth shares with its twin.
//!
//! Mottling, faint growth bands and streaks multiply the reflectance of both conditions alike, so
//! they can hide a difference but never give one away. The mean over the face is exactly 1.

use crate::random::{Purpose, StreamKey};
use crate::scene::Tooth;
use rand::RngExt;

const LATTICE: usize = 64;

/// Smooth noise on the plane, in −1..1, from a seeded lattice.
struct ValueNoise {
    values: Vec<f64>,
}

impl ValueNoise {
    fn new(stream: &mut impl rand::Rng) -> Self {
        Self { values: (0..LATTICE * LATTICE).map(|_| stream.random_range(-1.0..1.0)).collect() }
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let (x0, y0) = (x.floor(), y.floor());
        let fade = |t: f64| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
        let (tx, ty) = (fade(x - x0), fade(y - y0));
        let wrap = |v: f64| (v as i64).rem_euclid(LATTICE as i64) as usize;
        let value = |dx: f64, dy: f64| self.values[wrap(y0 + dy) * LATTICE + wrap(x0 + dx)];
        let top = value(0.0, 0.0) + tx * (value(1.0, 0.0) - value(0.0, 0.0));
        let bottom = value(0.0, 1.0) + tx * (value(1.0, 1.0) - value(0.0, 1.0));
        top + ty * (bottom - top)
    }

    fn fractal(&self, x: f64, y: f64, octaves: u32) -> f64 {
        let (mut sum, mut amplitude, mut scale) = (0.0, 0.5, 1.0);
        for octave in 0..octaves {
            let shift = f64::from(octave) * 17.3;
            sum += amplitude * self.at(x * scale + shift, y * scale - shift);
            amplitude *= 0.5;
            scale *= 2.03;
        }
        sum
    }
}

/// Factors on linear sRGB reflectance, row-major like the map they multiply.
#[must_use]
pub fn detail(seed: u64, tooth: Tooth, width: usize, height: usize) -> Vec<[f64; 3]> {
    let key = StreamKey {
        form: "detail",
        seed,
        purpose: Purpose::Texture,
        block: 0,
        trial: u32::from(tooth.number()),
    };
    let mut stream = key.stream();
    let noise = ValueNoise::new(&mut stream);
    let (dx, dy) = (stream.random_range(0.0..50.0), stream.random_range(0.0..50.0));
    let mut factors = Vec::with_capacity(width * height);
    for row in 0..height {
        for column in 0..width {
            let u = 2.0 * (column as f64 + 0.5) / width as f64 - 1.0 + dx;
            let v = (row as f64 + 0.5) / height as f64 + dy;
            // About ±1 L* of mottling and streaks and ±1 b* of warmth, as fine detail of the
            // order that a photograph of enamel shows (common practice, no source).
            let value = 0.030 * noise.fractal(2.6 * u, 3.4 * v, 4)
                + 0.030 * noise.fractal(7.0 * u, 1.6 * v, 3)
                + 0.012 * noise.fractal(1.3 * u, 19.0 * v, 2);
            let warmth = 0.050 * noise.fractal(2.1 * u + 9.0, 2.7 * v, 3);
            factors.push([1.0 + value + 0.2 * warmth, 1.0 + value, 1.0 + value - warmth]);
        }
    }
    for channel in 0..3 {
        let mean = factors.iter().map(|f| f[channel]).sum::<f64>() / factors.len() as f64;
        for factor in &mut factors {
            factor[channel] /= mean;
        }
    }
    factors
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn detail_is_neutral_on_average_and_of_small_size() {
        let tooth = Tooth::new(11).unwrap();
        let factors = detail(5, tooth, 48, 64);
        for channel in 0..3 {
            let mean = factors.iter().map(|f| f[channel]).sum::<f64>() / factors.len() as f64;
            assert!((mean - 1.0).abs() < 1e-12);
        }
        assert!(factors.iter().flatten().all(|f| (0.85..1.15).contains(f)));
        assert_ne!(factors, detail(6, tooth, 48, 64));
        assert_ne!(factors, detail(5, Tooth::new(21).unwrap(), 48, 64));
    }
}
