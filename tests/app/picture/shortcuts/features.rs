//! What a picture tells about a tooth beside its colour.

use second_glance::colorimetry::{from_display_8bit, linear_srgb_to_xyz};
use second_glance::play::picture::Picture;
use second_glance::scene::Tooth;

/// Number of features.
pub const COUNT: usize = 14;

/// Luminance of a tooth's pixels, 0 elsewhere.
struct Patch {
    width: usize,
    height: usize,
    luminance: Vec<f64>,
    inside: Vec<bool>,
}

/// Excess over the surroundings from which on a pixel counts as part of a highlight, ln units.
const HIGHLIGHT: f64 = 0.06;

/// Features of `tooth` in `picture`, its mean colour first made equal to that in `twin`.
///
/// All are of fine scale, a few pixels, and relative to the tooth around them. How colour changes
/// from the neck to the edge is colour: a restoration is found by it, and should be.
pub fn features(picture: &Picture, twin: &Picture, tooth: Tooth) -> [f64; COUNT] {
    let patch = Patch::of(picture, twin, tooth);
    let core = patch.eroded(2);
    let log: Vec<f64> = patch.luminance.iter().map(|y| y.max(1e-4).ln()).collect();
    let above = |reach| minus(&log, &patch.blurred(&log, reach));
    let edges = patch.gradient(&above(3));
    let fine = above(2);
    let medium = minus(&patch.blurred(&log, 1), &patch.blurred(&log, 4));
    let excess = above(6);
    let at = |of: &[f64]| core.iter().map(|&i| of[i]).collect::<Vec<f64>>();
    let size = |of: &[f64]| at(of).into_iter().map(f64::abs).collect::<Vec<f64>>();
    let deviation = |of: &[f64]| mean(at(of).into_iter().map(|v| v * v)).sqrt();
    let in_highlight = |i: usize| patch.inside[i] && excess[i] > HIGHLIGHT;
    let highlight: Vec<usize> = core.iter().copied().filter(|&i| in_highlight(i)).collect();
    let rim = highlight
        .iter()
        .filter(|&&i| {
            ![i - 1, i + 1, i - patch.width, i + patch.width].map(in_highlight).iter().all(|h| *h)
        })
        .count() as f64;
    let count = core.len() as f64;
    let (area, perimeter, rows, columns) = patch.silhouette();
    [
        mean(at(&edges).into_iter()),
        percentile(at(&edges), 0.95),
        deviation(&fine),
        percentile(size(&fine), 0.95),
        deviation(&medium),
        percentile(size(&medium), 0.95),
        highlight.len() as f64 / count,
        highlight.iter().map(|&i| excess[i] - HIGHLIGHT).sum::<f64>() / count,
        rim / count,
        percentile(at(&excess), 0.99),
        area,
        perimeter,
        rows,
        columns,
    ]
}

fn minus(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), v| (sum + v, count + 1.0));
    if count > 0.0 { sum / count } else { 0.0 }
}

fn percentile(mut sorted: Vec<f64>, share: f64) -> f64 {
    sorted.sort_by(f64::total_cmp);
    sorted[(share * (sorted.len() - 1) as f64).round() as usize]
}

impl Patch {
    fn of(picture: &Picture, twin: &Picture, tooth: Tooth) -> Self {
        let (width, height) = (picture.width as usize, picture.height as usize);
        let inside: Vec<bool> = picture.teeth.iter().map(|&n| n == tooth.number()).collect();
        let linear = |picture: &Picture, i: usize| {
            from_display_8bit([0, 1, 2].map(|channel| picture.rgba[4 * i + channel]))
        };
        let mean_of = |picture: &Picture| {
            let mut sum = [0.0; 3];
            for i in (0..inside.len()).filter(|&i| inside[i]) {
                for (total, value) in sum.iter_mut().zip(linear(picture, i)) {
                    *total += value;
                }
            }
            sum
        };
        let (own, wanted) = (mean_of(picture), mean_of(twin));
        let luminance = (0..inside.len())
            .map(|i| {
                if !inside[i] {
                    return 0.0;
                }
                let pixel = linear(picture, i);
                let equalised = std::array::from_fn(|c| pixel[c] * wanted[c] / own[c]);
                linear_srgb_to_xyz(equalised).y / 100.0
            })
            .collect();
        // The rest works on the tooth's box with a margin.
        Self { width, height, luminance, inside }.cropped()
    }

    fn cropped(self) -> Self {
        let xs = || (0..self.inside.len()).filter(|&i| self.inside[i]).map(|i| i % self.width);
        let ys = || (0..self.inside.len()).filter(|&i| self.inside[i]).map(|i| i / self.width);
        let (left, right) = (xs().min().unwrap(), xs().max().unwrap());
        let (top, bottom) = (ys().min().unwrap(), ys().max().unwrap());
        let (width, height) = (right - left + 3, bottom - top + 3);
        let at = |k: usize| {
            let (x, y) = (k % width, k / width);
            let inside = (1..width - 1).contains(&x) && (1..height - 1).contains(&y);
            inside.then(|| (top + y - 1) * self.width + left + x - 1)
        };
        let pick = |k| at(k).map_or(0.0, |i| self.luminance[i]);
        Self {
            width,
            height,
            luminance: (0..width * height).map(pick).collect(),
            inside: (0..width * height).map(|k| at(k).is_some_and(|i| self.inside[i])).collect(),
        }
    }

    /// Pixels with only this tooth within `margin`.
    fn eroded(&self, margin: i32) -> Vec<usize> {
        let is = |x: i32, y: i32| {
            (0..self.width as i32).contains(&x)
                && (0..self.height as i32).contains(&y)
                && self.inside[(y * self.width as i32 + x) as usize]
        };
        (0..self.inside.len())
            .filter(|&i| {
                let (x, y) = ((i % self.width) as i32, (i / self.width) as i32);
                (-margin..=margin).all(|dy| (-margin..=margin).all(|dx| is(x + dx, y + dy)))
            })
            .collect()
    }

    /// Mean over the tooth's pixels within `reach`.
    fn blurred(&self, values: &[f64], reach: i32) -> Vec<f64> {
        (0..values.len())
            .map(|i| {
                let (x, y) = ((i % self.width) as i32, (i / self.width) as i32);
                let near = (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| (dx, dy)));
                mean(near.filter_map(|(dx, dy)| {
                    let (x, y) = (x + dx, y + dy);
                    let within =
                        (0..self.width as i32).contains(&x) && (0..self.height as i32).contains(&y);
                    let j = within.then(|| (y * self.width as i32 + x) as usize)?;
                    self.inside[j].then(|| values[j])
                }))
            })
            .collect()
    }

    /// Size of the slope between neighbours; 0 at the rim.
    fn gradient(&self, values: &[f64]) -> Vec<f64> {
        (0..values.len())
            .map(|i| {
                let (x, y) = (i % self.width, i / self.width);
                if x == 0 || y == 0 || x + 1 == self.width || y + 1 == self.height {
                    return 0.0;
                }
                let across = (values[i + 1] - values[i - 1]) / 2.0;
                let down = (values[i + self.width] - values[i - self.width]) / 2.0;
                across.hypot(down)
            })
            .collect()
    }

    /// Area, length of the rim, rows and columns, pixels.
    fn silhouette(&self) -> (f64, f64, f64, f64) {
        let area = self.inside.iter().filter(|inside| **inside).count() as f64;
        let rim = area - self.eroded(1).len() as f64;
        (area, rim, self.height as f64, self.width as f64)
    }
}
