//! Lines of equal value over a regular grid.
//!
//! Marching squares, written out: the contouring crates at hand close their lines along the edge of
//! the grid, which a chart must not show.

use std::collections::BTreeMap;

/// Points of a line in node units: (column, row).
pub type Polyline = Vec<[f64; 2]>;

/// An edge of the grid: the node it starts at, and whether it runs along a row.
type Edge = (usize, usize, bool);

/// Lines along which bilinear `values` (row-major, `columns` wide) equal `level`. A closed line ends
/// where it begins. Where a cell could be cut in two ways, the mean of its corners decides. Not
/// a number cuts nothing.
///
/// # References
/// Lorensen, Cline, Comput Graph 1987;21(4):163-169, in two dimensions (from memory).
#[must_use]
pub fn contour_lines(values: &[f64], columns: usize, level: f64) -> Vec<Polyline> {
    if columns < 2 || values.len() < 2 * columns {
        return Vec::new();
    }
    let rows = values.len() / columns;
    // Two neighbours at most: an edge belongs to two cells.
    let mut links: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    for row in 0..rows - 1 {
        for column in 0..columns - 1 {
            for (from, to) in cell(values, columns, (column, row), level) {
                links.entry(from).or_default().push(to);
                links.entry(to).or_default().push(from);
            }
        }
    }
    let point = |edge: &Edge| {
        let &(column, row, along) = edge;
        let a = values[row * columns + column];
        let b = if along {
            values[row * columns + column + 1]
        } else {
            values[(row + 1) * columns + column]
        };
        let t = ((level - a) / (b - a)).clamp(0.0, 1.0);
        let (x, y) = (column as f64, row as f64);
        if along { [x + t, y] } else { [x, y + t] }
    };
    let mut lines = Vec::new();
    // Open lines first, from their ends; what is left is closed.
    let ends: Vec<Edge> = links.iter().filter(|(_, to)| to.len() == 1).map(|(e, _)| *e).collect();
    for start in ends {
        if let Some(line) = follow(&mut links, start) {
            lines.push(line.iter().map(point).collect());
        }
    }
    while let Some(start) = links.keys().next().copied() {
        match follow(&mut links, start) {
            Some(mut line) => {
                line.push(start);
                lines.push(line.iter().map(point).collect());
            }
            None => {
                links.remove(&start);
            }
        }
    }
    lines
}

/// The line from an edge on, taken out of the links.
fn follow(links: &mut BTreeMap<Edge, Vec<Edge>>, start: Edge) -> Option<Vec<Edge>> {
    let mut line = vec![start];
    let mut here = start;
    loop {
        let next = links.get_mut(&here).and_then(Vec::pop);
        let Some(next) = next else { break };
        if let Some(back) = links.get_mut(&next) {
            back.retain(|edge| *edge != here);
        }
        if links.get(&here).is_some_and(Vec::is_empty) {
            links.remove(&here);
        }
        if next == start {
            break;
        }
        line.push(next);
        here = next;
    }
    if links.get(&here).is_some_and(Vec::is_empty) {
        links.remove(&here);
    }
    if links.get(&start).is_some_and(Vec::is_empty) {
        links.remove(&start);
    }
    (line.len() > 1).then_some(line)
}

/// The pieces of line in a cell, each from edge to edge.
fn cell(
    values: &[f64],
    columns: usize,
    (column, row): (usize, usize),
    level: f64,
) -> Vec<(Edge, Edge)> {
    let at = |c: usize, r: usize| values[(row + r) * columns + column + c];
    let corners = [at(0, 0), at(1, 0), at(1, 1), at(0, 1)];
    if corners.iter().any(|v| !v.is_finite()) {
        return Vec::new();
    }
    let above = corners.map(|v| v > level);
    let edges: [Edge; 4] = [
        (column, row, true),
        (column + 1, row, false),
        (column, row + 1, true),
        (column, row, false),
    ];
    let crossed: Vec<usize> = (0..4).filter(|&i| above[i] != above[(i + 1) % 4]).collect();
    match crossed[..] {
        [a, b] => vec![(edges[a], edges[b])],
        [_, _, _, _] => {
            let centre_above = corners.iter().sum::<f64>() / 4.0 > level;
            // The corners on the centre's side of the level are joined, the others cut off.
            if above[0] == centre_above {
                vec![(edges[0], edges[1]), (edges[2], edges[3])]
            } else {
                vec![(edges[3], edges[0]), (edges[1], edges[2])]
            }
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(columns: usize, rows: usize, of: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .map(|(c, r)| of(c as f64, r as f64))
            .collect()
    }

    #[test]
    fn a_plane_is_cut_by_one_straight_line() {
        // x + y/2 = 2.25 over the whole grid: analytic.
        let lines = contour_lines(&grid(6, 5, |x, y| x + 0.5 * y), 6, 2.25);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|[x, y]| (x + 0.5 * y - 2.25).abs() < 1e-12), "{lines:?}");
        let mut ends = [lines[0][0][1], lines[0][lines[0].len() - 1][1]];
        ends.sort_by(f64::total_cmp);
        assert_eq!(ends, [0.0, 4.0]);
    }

    #[test]
    fn a_hill_has_a_closed_line() {
        // The squared radius of 20.3 nodes: analytic, off by what straight pieces cut.
        let values = grid(61, 61, |x, y| -((x - 30.0).powi(2) + (y - 30.0).powi(2)));
        let lines = contour_lines(&values, 61, -(20.3_f64.powi(2)));
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert_eq!(line[0], line[line.len() - 1]);
        assert!(line.len() > 100);
        for [x, y] in line {
            let radius = ((x - 30.0).powi(2) + (y - 30.0).powi(2)).sqrt();
            assert!((radius - 20.3).abs() < 0.02, "{radius}");
        }
    }

    #[test]
    fn two_valleys_and_a_saddle_give_lines_that_do_not_touch() {
        let values = grid(41, 21, |x, y| {
            let hill = |cx: f64| (-((x - cx).powi(2) + (y - 10.0).powi(2)) / 18.0).exp();
            hill(10.0) + hill(30.0)
        });
        assert_eq!(contour_lines(&values, 41, 0.5).len(), 2);
        // One cell, cut twice: diagonal corners above, their mean below.
        let saddle = contour_lines(&[1.0, 0.0, 0.0, 1.0], 2, 0.6);
        assert_eq!(saddle.len(), 2);
        let joined = contour_lines(&[1.0, 0.0, 0.0, 1.0], 2, 0.4);
        assert_eq!(joined.len(), 2);
        assert_ne!(saddle, joined);
    }

    #[test]
    fn where_nothing_has_the_level_there_is_no_line() {
        let values = grid(5, 5, |x, y| x + y);
        assert!(contour_lines(&values, 5, 9.0).is_empty());
        assert!(contour_lines(&values, 5, f64::NAN).is_empty());
        assert!(contour_lines(&[f64::NAN; 4], 2, 0.0).is_empty());
        assert!(contour_lines(&[], 5, 0.0).is_empty() && contour_lines(&values, 1, 0.0).is_empty());
    }
}
