//! The closed outline of a pixel mask.

use std::collections::BTreeMap;

/// Half width of the smoothing window along the outline, pixels.
const SMOOTHING: usize = 3;
/// Largest departure of the simplified outline from the smoothed one, pixels.
const TOLERANCE: f32 = 0.4;

/// The closed outline of the largest region of a mask, in picture pixels (x right, y down, pixel
/// centres at half values), smoothed to hide the pixel stairs. Empty when the mask is.
#[must_use]
pub fn trace_outline(
    mask: impl Fn(usize, usize) -> bool,
    width: usize,
    height: usize,
) -> Vec<[f32; 2]> {
    let loops = boundary_loops(&mask, width, height);
    let Some(longest) = loops.into_iter().max_by(|a, b| area(a).abs().total_cmp(&area(b).abs()))
    else {
        return Vec::new();
    };
    simplified(&smoothed(&longest))
}

/// Loops of pixel corners with the mask on their right.
fn boundary_loops(
    mask: &impl Fn(usize, usize) -> bool,
    width: usize,
    height: usize,
) -> Vec<Vec<[f32; 2]>> {
    let inside = |x: i64, y: i64| {
        x >= 0 && y >= 0 && x < width as i64 && y < height as i64 && mask(x as usize, y as usize)
    };
    // Ordered, so that equal masks give equal outlines.
    let mut edges: BTreeMap<(i64, i64), Vec<(i64, i64)>> = BTreeMap::new();
    for y in 0..height as i64 {
        for x in 0..width as i64 {
            if !inside(x, y) {
                continue;
            }
            let sides = [
                ((x, y - 1), (x, y), (x + 1, y)),
                ((x + 1, y), (x + 1, y), (x + 1, y + 1)),
                ((x, y + 1), (x + 1, y + 1), (x, y + 1)),
                ((x - 1, y), (x, y + 1), (x, y)),
            ];
            for (neighbour, from, to) in sides {
                if !inside(neighbour.0, neighbour.1) {
                    edges.entry(from).or_default().push(to);
                }
            }
        }
    }
    let mut loops = Vec::new();
    while let Some((&start, _)) = edges.first_key_value() {
        let mut corners = Vec::new();
        let mut at = start;
        while let Some(nexts) = edges.get_mut(&at) {
            let Some(next) = nexts.pop() else { break };
            if nexts.is_empty() {
                edges.remove(&at);
            }
            corners.push([at.0 as f32, at.1 as f32]);
            at = next;
        }
        loops.push(corners);
    }
    loops
}

fn area(polygon: &[[f32; 2]]) -> f32 {
    let next = polygon.iter().cycle().skip(1);
    polygon.iter().zip(next).map(|(a, b)| 0.5 * (a[0] * b[1] - b[0] * a[1])).sum()
}

fn smoothed(polygon: &[[f32; 2]]) -> Vec<[f32; 2]> {
    let count = polygon.len();
    if count <= 4 * SMOOTHING {
        return polygon.to_vec();
    }
    let window = (2 * SMOOTHING + 1) as f32;
    (0..count)
        .map(|k| {
            [0, 1].map(|axis| {
                let sum: f32 = (0..=2 * SMOOTHING)
                    .map(|step| polygon[(k + count + step - SMOOTHING) % count][axis])
                    .sum();
                sum / window
            })
        })
        .collect()
}

/// Douglas-Peucker over a closed line, split at its first point and the one farthest from it.
fn simplified(polygon: &[[f32; 2]]) -> Vec<[f32; 2]> {
    let Some(&first) = polygon.first() else { return Vec::new() };
    let distance = |p: &[f32; 2]| (p[0] - first[0]).hypot(p[1] - first[1]);
    let far = (0..polygon.len())
        .max_by(|&a, &b| distance(&polygon[a]).total_cmp(&distance(&polygon[b])))
        .unwrap_or(0);
    let mut closed = polygon.to_vec();
    closed.push(first);
    let mut kept = vec![first];
    keep_corners(&closed, 0, far, &mut kept);
    keep_corners(&closed, far, closed.len() - 1, &mut kept);
    kept.pop();
    kept
}

/// Appends the corners of `line[from..=to]` after its first point.
fn keep_corners(line: &[[f32; 2]], from: usize, to: usize, kept: &mut Vec<[f32; 2]>) {
    let (a, b) = (line[from], line[to]);
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = dx.hypot(dy).max(1e-6);
    let off = |p: [f32; 2]| ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx).abs() / length;
    let worst = (from + 1..to).max_by(|&i, &j| off(line[i]).total_cmp(&off(line[j])));
    match worst {
        Some(k) if off(line[k]) > TOLERANCE => {
            keep_corners(line, from, k, kept);
            keep_corners(line, k, to, kept);
        }
        _ => kept.push(b),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_keeps_its_area_and_stays_closed() {
        let disc = |x: usize, y: usize| (x as f32 + 0.5 - 50.0).hypot(y as f32 + 0.5 - 40.0) < 30.0;
        let outline = trace_outline(disc, 100, 80);
        let expected = std::f32::consts::PI * 900.0;
        assert!((area(&outline).abs() / expected - 1.0).abs() < 0.02, "{}", area(&outline));
        assert!(outline.len() > 12 && outline.len() < 100, "{}", outline.len());
        for point in &outline {
            let radius = (point[0] - 50.0).hypot(point[1] - 40.0);
            assert!((radius - 30.0).abs() < 1.2, "{radius}");
        }
    }

    #[test]
    fn an_empty_mask_has_no_outline() {
        assert!(trace_outline(|_, _| false, 10, 10).is_empty());
    }
}
