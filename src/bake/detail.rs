//! Surface detail that a restored tooth shares with its twin.
//!
//! Mottling, faint growth bands and streaks, structure along the edge, white spots, craze lines and
//! stains multiply the reflectance of both conditions alike, so
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

/// A Gaussian bell.
fn bell(x: f64, sigma: f64) -> f64 {
    (-0.5 * (x / sigma).powi(2)).exp()
}

/// Marks that the years and the tooth's making left on one tooth.
struct Marks {
    /// Strength of the structure at the edge, 0..1.
    edge: f64,
    /// Phase of the lobes at the edge.
    sway: f64,
    /// White spots: u, v, radius (mm), strength.
    spots: Vec<[f64; 4]>,
    /// Craze lines: u, upper end v, strength.
    crazes: Vec<[f64; 3]>,
    /// Stain along the neck, 0..1.
    stain: f64,
}

impl Marks {
    /// The marks of a tooth: how many a patient has in all, and this tooth's share.
    fn draw(seed: u64, tooth: Tooth, stream: &mut impl rand::Rng) -> Self {
        let key = StreamKey { form: "marks", seed, purpose: Purpose::Texture, block: 0, trial: 0 };
        let mut person = key.stream();
        let (spotted, crazed, stained): (f64, f64, f64) =
            (person.random(), person.random(), person.random());
        let front = match tooth.position() {
            1 | 2 => 1.0,
            3 => 0.6,
            _ => 0.3,
        };
        let mut count = |share: f64, most: f64| (most * share * stream.random::<f64>()) as usize;
        let spot_count = count((spotted - 0.45).max(0.0) / 0.55, 4.9);
        let craze_count = count((crazed - 0.35).max(0.0) / 0.65 * front, 3.9);
        let spots = (0..spot_count)
            .map(|_| {
                [
                    stream.random_range(-0.7..0.7),
                    stream.random_range(0.25..0.85),
                    stream.random_range(0.25..0.75),
                    stream.random_range(0.3..1.0),
                ]
            })
            .collect();
        let crazes = (0..craze_count)
            .map(|_| {
                [
                    stream.random_range(-0.65..0.65),
                    stream.random_range(0.10..0.45),
                    stream.random_range(0.4..1.0),
                ]
            })
            .collect();
        Self {
            edge: front * stream.random_range(0.55..1.0),
            sway: stream.random_range(-0.12..0.12),
            spots,
            crazes,
            stain: (stained - 0.4).max(0.0) / 0.6 * stream.random_range(0.4..1.0),
        }
    }

    /// Value and warmth that the marks add at (u −1..1, v 0..1). Sizes: common practice, no source.
    fn at(&self, u: f64, v: f64, tooth: Tooth, noise: &ValueNoise) -> [f64; 2] {
        let size = tooth.kind().crown_dimensions();
        let (x, y) = (0.5 * u * size.width_mm, v * size.length_mm);
        let to_edge = size.length_mm - y;
        let (mut value, mut warmth) = (0.0, 0.0);
        // Enamel before the dark between the dentin lobes, and the thin bright rim of the edge.
        let lobes: f64 = [-0.58, -0.02, 0.54]
            .iter()
            .map(|c| bell(u - c - self.sway, 0.17))
            .sum::<f64>()
            .min(1.0);
        let streak = 0.3 * noise.at(11.0 * u + 30.0, 2.0 * v);
        let band = bell(to_edge - 1.05, 0.50) * self.edge;
        value -= 0.085 * band * (1.0 - lobes + streak).clamp(0.0, 1.2);
        warmth -= 0.045 * band * (1.0 - lobes);
        warmth += 0.030 * bell(to_edge - 1.7, 0.5) * lobes * self.edge;
        let rim = bell(to_edge - 0.12, 0.13) * self.edge;
        value += 0.110 * rim;
        warmth += 0.030 * rim;
        for [su, sv, radius, strength] in &self.spots {
            let dx = x - 0.5 * su * size.width_mm;
            let dy = (y - sv * size.length_mm) * 1.5;
            let ragged = 1.0 + 0.8 * noise.fractal(1.4 * x + 7.0 * su, 1.4 * y, 3);
            let spot = bell(dx.hypot(dy) * ragged, *radius) * strength;
            value += 0.055 * spot;
            warmth -= 0.035 * spot;
        }
        for [cu, upper, strength] in &self.crazes {
            let path = 0.5 * cu * size.width_mm + 0.35 * noise.fractal(3.0 * cu, 0.35 * y, 3);
            let along = ((v - upper) / 0.15).clamp(0.0, 1.0)
                * (0.55 + 0.9 * noise.at(40.0 * cu, 0.8 * y)).clamp(0.0, 1.0);
            value -= 0.050 * strength * along * bell(x - path, 0.055);
            value += 0.022 * strength * along * bell(x - path - 0.13, 0.09);
            warmth += 0.012 * strength * along * bell(x - path, 0.07);
        }
        let neck = bell(y, 0.9) * (0.6 + 0.8 * noise.fractal(2.0 * u, 3.0, 3)).clamp(0.0, 1.0);
        value -= 0.055 * self.stain * neck;
        warmth += 0.045 * self.stain * neck;
        let sides = ((u.abs() - 0.80) / 0.2).clamp(0.0, 1.0) * self.stain;
        value -= 0.030 * sides;
        warmth += 0.025 * sides;
        [value, warmth]
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
    let marks = Marks::draw(seed, tooth, &mut stream);
    let mut factors = Vec::with_capacity(width * height);
    for row in 0..height {
        for column in 0..width {
            let across = 2.0 * (column as f64 + 0.5) / width as f64 - 1.0;
            let down = (row as f64 + 0.5) / height as f64;
            let (u, v) = (across + dx, down + dy);
            let [mark, mark_warmth] = marks.at(across, down, tooth, &noise);
            // About ±1 L* of mottling and streaks and ±1 b* of warmth, as fine detail of the
            // order that a photograph of enamel shows (common practice, no source).
            let value = 0.030 * noise.fractal(2.6 * u, 3.4 * v, 4)
                + 0.030 * noise.fractal(7.0 * u, 1.6 * v, 3)
                + 0.012 * noise.fractal(1.3 * u, 19.0 * v, 2)
                + mark;
            let warmth = 0.050 * noise.fractal(2.1 * u + 9.0, 2.7 * v, 3) + mark_warmth;
            let factor = [1.0 + value + 0.2 * warmth, 1.0 + value, 1.0 + value - warmth];
            factors.push(factor.map(|factor| factor.clamp(0.87, 1.13)));
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
