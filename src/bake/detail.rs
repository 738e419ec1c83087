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

/// Cell of a coordinate on the lattice and the faded way through it.
fn cell(x: f64) -> (usize, f64) {
    let floor = x.floor();
    let t = x - floor;
    let wrapped = (floor as i64).rem_euclid(LATTICE as i64) as usize;
    (wrapped, t * t * t * (t * (t * 6.0 - 15.0) + 10.0))
}

/// Amplitude, scale and shift of each octave of fractal noise.
fn octaves(count: u32) -> impl Iterator<Item = (f64, f64, f64)> {
    let mut next = (0.5, 1.0);
    (0..count).map(move |octave| {
        let (amplitude, scale) = next;
        next = (amplitude * 0.5, scale * 2.03);
        (amplitude, scale, f64::from(octave) * 17.3)
    })
}

impl ValueNoise {
    fn new(stream: &mut impl rand::Rng) -> Self {
        Self { values: (0..LATTICE * LATTICE).map(|_| stream.random_range(-1.0..1.0)).collect() }
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let ((x0, tx), (y0, ty)) = (cell(x), cell(y));
        let (x1, y1) = ((x0 + 1) % LATTICE, (y0 + 1) % LATTICE);
        let value = |x: usize, y: usize| self.values[y * LATTICE + x];
        let top = value(x0, y0) + tx * (value(x1, y0) - value(x0, y0));
        let bottom = value(x0, y1) + tx * (value(x1, y1) - value(x0, y1));
        top + ty * (bottom - top)
    }

    fn fractal(&self, x: f64, y: f64, count: u32) -> f64 {
        octaves(count)
            .map(|(amplitude, scale, shift)| {
                amplitude * self.at(x * scale + shift, y * scale - shift)
            })
            .sum()
    }

    /// [`Self::fractal`] at every `(x, y)` of a regular face, `amplitude` times, added to `out` row
    /// by row.
    fn add_fractal(&self, xs: &[f64], ys: &[f64], count: u32, amplitude: f64, out: &mut [f64]) {
        for (share, scale, shift) in octaves(count) {
            let weight = amplitude * share;
            let columns: Vec<(usize, f64)> = xs.iter().map(|x| cell(x * scale + shift)).collect();
            let mut line = [0.0; LATTICE + 1];
            for (y, out) in ys.iter().zip(out.chunks_mut(xs.len())) {
                let (y0, ty) = cell(y * scale - shift);
                let row = |y: usize| &self.values[y * LATTICE..(y + 1) * LATTICE];
                let (upper, lower) = (row(y0), row((y0 + 1) % LATTICE));
                for ((mixed, a), b) in line.iter_mut().zip(upper).zip(lower) {
                    *mixed = weight * (a + ty * (b - a));
                }
                line[LATTICE] = line[0];
                for (sum, &(x0, tx)) in out.iter_mut().zip(&columns) {
                    *sum += line[x0] + tx * (line[x0 + 1] - line[x0]);
                }
            }
        }
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

    /// Adds to the value and warmth of every texel. Sizes: common practice, no source.
    ///
    /// What depends on the row or on the column alone is computed once for it, and spots and crazes
    /// only where they reach.
    fn add(&self, face: &Texels, tooth: Tooth, noise: &ValueNoise, out: &mut [[f64; 2]]) {
        let size = tooth.kind().crown_dimensions();
        let width = face.us.len();
        let columns: Vec<[f64; 3]> = face
            .us
            .iter()
            .map(|&u| {
                let lobes: f64 =
                    [-0.58, -0.02, 0.54].iter().map(|c| bell(u - c - self.sway, 0.17)).sum();
                let neck = (0.6 + 0.8 * noise.fractal(2.0 * u, 3.0, 3)).clamp(0.0, 1.0);
                let sides = ((u.abs() - 0.80) / 0.2).clamp(0.0, 1.0);
                [lobes.min(1.0), neck * self.stain, sides * self.stain]
            })
            .collect();
        let xs: Vec<f64> = face.us.iter().map(|u| 0.5 * u * size.width_mm).collect();
        for (&v, out) in face.vs.iter().zip(out.chunks_mut(width)) {
            let y = v * size.length_mm;
            let to_edge = size.length_mm - y;
            // Enamel before the dark between the dentin lobes, and the thin bright rim of the edge.
            let band = bell(to_edge - 1.05, 0.50) * self.edge;
            let above = bell(to_edge - 1.7, 0.5) * self.edge;
            let rim = bell(to_edge - 0.12, 0.13) * self.edge;
            let stained = bell(y, 0.9);
            for ((&u, [lobes, neck, sides]), [value, warmth]) in
                face.us.iter().zip(&columns).zip(&mut *out)
            {
                // A streak of a band that is not there costs a lookup for nothing.
                if band > 1e-9 {
                    let streak = 0.3 * noise.at(11.0 * u + 30.0, 2.0 * v);
                    *value -= 0.085 * band * (1.0 - lobes + streak).clamp(0.0, 1.2);
                    *warmth -= 0.045 * band * (1.0 - lobes);
                }
                *value += 0.110 * rim - 0.055 * stained * neck - 0.030 * sides;
                *warmth += 0.030 * above * lobes + 0.030 * rim;
                *warmth += 0.045 * stained * neck + 0.025 * sides;
            }
            for &[su, sv, radius, strength] in &self.spots {
                let dy = (y - sv * size.length_mm) * 1.5;
                // Ragged edges reach out at most 1 / (1 - 0.8 × 7/8) of the radius.
                let reach = REACH * radius / 0.3;
                if dy.abs() > reach {
                    continue;
                }
                let centre = 0.5 * su * size.width_mm;
                for (&x, [value, warmth]) in xs.iter().zip(&mut *out) {
                    let dx = x - centre;
                    if dx.abs() <= reach {
                        let ragged = 1.0 + 0.8 * noise.fractal(1.4 * x + 7.0 * su, 1.4 * y, 3);
                        let spot = bell(dx.hypot(dy) * ragged, radius) * strength;
                        *value += 0.055 * spot;
                        *warmth -= 0.035 * spot;
                    }
                }
            }
            for &[cu, upper, strength] in &self.crazes {
                let path = 0.5 * cu * size.width_mm + 0.35 * noise.fractal(3.0 * cu, 0.35 * y, 3);
                let along = strength
                    * ((v - upper) / 0.15).clamp(0.0, 1.0)
                    * (0.55 + 0.9 * noise.at(40.0 * cu, 0.8 * y)).clamp(0.0, 1.0);
                for (&x, [value, warmth]) in xs.iter().zip(&mut *out) {
                    let dx = x - path;
                    if dx.abs() <= 0.13 + REACH * 0.09 {
                        *value += along * (0.022 * bell(dx - 0.13, 0.09) - 0.050 * bell(dx, 0.055));
                        *warmth += along * 0.012 * bell(dx, 0.07);
                    }
                }
            }
        }
    }
}

/// Standard deviations beyond which a bell is left out: there it is below 2e-8.
const REACH: f64 = 6.0;

/// Centres of the texels of a face.
struct Texels {
    /// −1 at the viewer's left, +1 at the right, a column each.
    us: Vec<f64>,
    /// 0 at the gingival margin, 1 at the edge, a row each.
    vs: Vec<f64>,
}

/// Surface detail of a tooth that both conditions share: factors on linear sRGB reflectance,
/// row-major like the map they multiply, the gingival margin first.
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
    let face = Texels {
        us: (0..width).map(|i| 2.0 * (i as f64 + 0.5) / width as f64 - 1.0).collect(),
        vs: (0..height).map(|i| (i as f64 + 0.5) / height as f64).collect(),
    };
    let mut marked = vec![[0.0; 2]; width * height];
    marks.add(&face, tooth, &noise, &mut marked);
    // About ±1 L* of mottling and streaks and ±1 b* of warmth, as fine detail of the
    // order that a photograph of enamel shows (common practice, no source).
    let mut values = vec![0.0; width * height];
    let mut warmths = vec![0.0; width * height];
    let add = |sx: f64, sy: f64, shift: f64, octaves: u32, amplitude: f64, out: &mut [f64]| {
        let xs: Vec<f64> = face.us.iter().map(|u| sx * (u + dx) + shift).collect();
        let ys: Vec<f64> = face.vs.iter().map(|v| sy * (v + dy)).collect();
        noise.add_fractal(&xs, &ys, octaves, amplitude, out);
    };
    add(2.6, 3.4, 0.0, 4, 0.030, &mut values);
    add(7.0, 1.6, 0.0, 3, 0.030, &mut values);
    add(1.3, 19.0, 0.0, 2, 0.012, &mut values);
    add(2.1, 2.7, 9.0, 3, 0.050, &mut warmths);
    let mut factors: Vec<[f64; 3]> = marked
        .iter()
        .zip(values.iter().zip(&warmths))
        .map(|([mark, mark_warmth], (value, warmth))| {
            let (value, warmth) = (value + mark, warmth + mark_warmth);
            let factor = [1.0 + value + 0.2 * warmth, 1.0 + value, 1.0 + value - warmth];
            factor.map(|factor| factor.clamp(0.87, 1.13))
        })
        .collect();
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
