//! The chart's grids.

use super::axes::{Axes, ChartCase, along, lightness};
use super::contour::{Polyline, contour_lines};
use super::uncertainty::Uncertainty;
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Lab, Lch, PERCEPTIBILITY_DE00};
use crate::material::Library;
use crate::scene::{Preparation, Restoration, Tooth, Translucency};
use rayon::prelude::*;

/// Points between nodes, along either axis, at which lines of equal difference are looked for.
const FINER: usize = 6;

/// Lines of one difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Isoline {
    /// ΔE00.
    pub de00: f64,
    /// Lines as (thickness mm, lightness of the shade).
    pub lines: Vec<Polyline>,
}

/// One translucency.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Which.
    pub translucency: Translucency,
    /// Colours of the thirds at every node, thickness running faster.
    pub nodes: Vec<[Lab; 3]>,
    /// Lines of [`PERCEPTIBILITY_DE00`] and [`ACCEPTABILITY_DE00`].
    pub isolines: [Isoline; 2],
}

/// Something that was tried, on the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Its name: `A`, `B`.
    pub label: String,
    /// On which panel.
    pub translucency: Translucency,
    /// Thickness in the middle of the tooth, mm.
    pub thickness_mm: f64,
    /// Lightness of its shade.
    pub lightness: f64,
}

/// ΔE00 and its parts over thickness and shade, for each translucency.
#[derive(Debug, Clone, PartialEq)]
pub struct BlendChart {
    /// Where the nodes lie, alike on every panel.
    pub axes: Axes,
    /// Low, medium and high translucency, those that the class has.
    pub panels: Vec<Panel>,
    /// Colours of the twin's thirds.
    pub natural: [Lab; 3],
    /// The tooth.
    pub tooth: Tooth,
    /// How it was prepared.
    pub preparation: Preparation,
    /// Chroma and hue of all shades; `None` for a measured class, whose shades differ in them.
    pub colour: Option<Lch>,
    /// What was tried and stands on the chart, the restoration of the case first: what the chart reads
    /// there is what they come to, within [`BlendChart::ERROR_DE00`].
    pub tried: Vec<Tried>,
    /// Names of what was tried, but does not: of another ceramic, chroma, hue, cement or profile, or a
    /// graded block.
    pub elsewhere: Vec<String>,
    /// Uncertainty about the case's restoration; `None` where it is not on the chart.
    pub uncertainty: Option<Uncertainty>,
}

/// Computes a chart. `tried` are further restorations with their names; the case's own comes first, as
/// `name`. Only those get a place for which the chart holds.
///
/// # Errors
/// [`BakeError`] when the case names a material that the library does not have. A shade that a
/// translucency cannot have is no error: its nodes are not numbers.
pub fn blend_chart(
    case: &ChartCase<'_>,
    name: &str,
    tried: &[(String, Restoration)],
    library: &Library,
) -> Result<BlendChart, BakeError> {
    let estimator = Estimator::new(case.tooth, case.seed, case.illuminant, library)?;
    let axes = Axes::of(case, library);
    // Says at once what is unknown; nodes below only fail for shades out of reach.
    estimator.zones(case.restoration)?;
    let class = &case.restoration.ceramic.class;
    let translucencies = [Translucency::Low, Translucency::Medium, Translucency::High]
        .into_iter()
        .filter(|t| !library.shades(class, *t).is_empty());
    let natural = *estimator.natural_zones();
    let panels = translucencies
        .map(|translucency| {
            let nodes = nodes(case, translucency, &axes, &estimator);
            let isolines = [PERCEPTIBILITY_DE00, ACCEPTABILITY_DE00]
                .map(|de00| Isoline { de00, lines: isolines(&nodes, &axes, &natural, de00) });
            Panel { translucency, nodes, isolines }
        })
        .collect();
    let uncertainty =
        Uncertainty::of(case.restoration, case.spread, &axes.shades, &estimator, library)?;
    let colour = library.ceramic_class(class).is_ok().then_some(case.restoration.ceramic.shade);
    let mut chart = BlendChart {
        axes,
        panels,
        natural,
        tooth: case.restoration.tooth,
        preparation: case.restoration.preparation,
        colour,
        tried: Vec::new(),
        elsewhere: Vec::new(),
        uncertainty: None,
    };
    let own = (name.to_owned(), case.restoration.clone());
    for (place, (label, restoration)) in std::iter::once(&own).chain(tried).enumerate() {
        // Of several teeth restored alike, all are seen on the chart's.
        let here = Restoration { tooth: case.restoration.tooth, ..restoration.clone() };
        let difference = estimator.difference(&here)?;
        let mark = Tried {
            label: label.clone(),
            translucency: restoration.ceramic.translucency,
            thickness_mm: restoration.thickness.body_mm,
            lightness: restoration.ceramic.shade.l,
        };
        if restoration.ceramic.class == *class && chart.reads(&mark, &difference) {
            chart.tried.push(mark);
            if place == 0 {
                chart.uncertainty = Some(uncertainty);
            }
        } else {
            chart.elsewhere.push(label.clone());
        }
    }
    Ok(chart)
}

/// Most that a chart may read off what was tried, in any part, for it to be marked, ΔE00.
pub(super) const HOLDS_DE00: f64 = 0.05;

/// The case's restoration in another translucency, thickness and shade. A chart is of uniform
/// blocks, so that its panels can be compared.
fn varied(
    case: &ChartCase<'_>,
    translucency: Translucency,
    thickness_mm: f64,
    shade: Lch,
) -> Restoration {
    let mut restoration = case.restoration.clone();
    let own = restoration.thickness.body_mm;
    restoration.thickness = restoration.thickness.scaled(thickness_mm / own);
    restoration.ceramic.translucency = translucency;
    restoration.ceramic.shade = shade;
    restoration.ceramic.graded = false;
    restoration
}

fn nodes(
    case: &ChartCase<'_>,
    translucency: Translucency,
    axes: &Axes,
    estimator: &Estimator<'_>,
) -> Vec<[Lab; 3]> {
    let nowhere = Lab { l: f64::NAN, a: f64::NAN, b: f64::NAN };
    axes.shades
        .par_iter()
        .flat_map_iter(|&shade| {
            axes.thickness_mm.iter().map(move |&mm| {
                estimator.zones(&varied(case, translucency, mm, shade)).unwrap_or([nowhere; 3])
            })
        })
        .collect()
}

/// Colours between nodes, bilinear; places outside are held at the edge.
pub(super) fn zones_at(nodes: &[[Lab; 3]], axes: &Axes, column: f64, row: f64) -> [Lab; 3] {
    let (columns, rows) = (axes.thickness_mm.len(), axes.shades.len());
    let cell = |x: f64, n: usize| {
        let x = x.clamp(0.0, n.saturating_sub(1) as f64);
        let i = (x.floor() as usize).min(n.saturating_sub(2));
        (i, x - i as f64)
    };
    let ((c, tx), (r, ty)) = (cell(column, columns), cell(row, rows));
    let node = |c: usize, r: usize| &nodes[r.min(rows - 1) * columns + c.min(columns - 1)];
    std::array::from_fn(|zone| {
        let corners = [node(c, r), node(c + 1, r), node(c, r + 1), node(c + 1, r + 1)];
        let weights = [(1.0 - tx) * (1.0 - ty), tx * (1.0 - ty), (1.0 - tx) * ty, tx * ty];
        let mut out = Lab { l: 0.0, a: 0.0, b: 0.0 };
        for (corner, weight) in corners.into_iter().zip(weights) {
            // A corner without weight has no say, be it a number or not.
            if weight > 0.0 {
                out.l += weight * corner[zone].l;
                out.a += weight * corner[zone].a;
                out.b += weight * corner[zone].b;
            }
        }
        out
    })
}

fn isolines(nodes: &[[Lab; 3]], axes: &Axes, natural: &[Lab; 3], de00: f64) -> Vec<Polyline> {
    let (columns, rows) = (axes.thickness_mm.len(), axes.shades.len());
    if columns < 2 || rows < 2 {
        return Vec::new();
    }
    let finer = |n: usize| FINER * (n - 1) + 1;
    let at = |i: usize| i as f64 / FINER as f64;
    let values: Vec<f64> = (0..finer(rows))
        .flat_map(|row| (0..finer(columns)).map(move |column| (column, row)))
        .map(|(column, row)| {
            let zones = zones_at(nodes, axes, at(column), at(row));
            ZoneDifference::of_thirds(natural, &zones).de00
        })
        .collect();
    let mut lines = contour_lines(&values, finer(columns), de00);
    for [x, y] in lines.iter_mut().flatten() {
        let (column, row) = (*x / FINER as f64, *y / FINER as f64);
        *x = along(&axes.thickness_mm, column);
        *y = along(&lightness(axes), row);
    }
    lines
}
