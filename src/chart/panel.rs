//! The chart's grids.

use super::contour::{Polyline, contour_lines};
use super::uncertainty::{Spread, Uncertainty};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Illuminant, Lab, Lch, PERCEPTIBILITY_DE00};
use crate::material::Library;
use crate::scene::{Case, NaturalTooth, Preparation, Restoration, Translucency};
use rayon::prelude::*;

/// Points between nodes, along either axis, at which lines of equal difference are looked for.
const FINER: usize = 6;

/// What a chart is of.
#[derive(Debug, Clone, Copy)]
pub struct ChartCase<'a> {
    /// The natural tooth: the twin.
    pub tooth: &'a NaturalTooth,
    /// Seed of the mouth.
    pub seed: u64,
    /// The light.
    pub illuminant: Illuminant,
    /// The restoration whose class, profile, cement and prepared tooth are kept.
    pub restoration: &'a Restoration,
    /// What is not known exactly.
    pub spread: Spread,
}

impl<'a> ChartCase<'a> {
    /// The chart of a case's first restored tooth, or `None` where nothing is restored.
    #[must_use]
    pub fn of(case: &'a Case) -> Option<Self> {
        let restoration = case.restoration()?;
        let tooth = case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth)?;
        let (seed, illuminant) = (case.seed, case.illuminant);
        Some(Self { tooth, seed, illuminant, restoration, spread: Spread::USUAL })
    }
}

/// Where the nodes lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Axes {
    /// Thicknesses in the middle of the tooth, mm, ascending at an even step.
    pub thickness_mm: Vec<f64>,
    /// Shades by lightness, ascending.
    pub shades: Vec<Lch>,
}

impl Axes {
    /// Thicknesses that a preparation comes in and the shades of a class nearest the natural tooth.
    ///
    /// Veneers 0.2 to 1.2 mm and crowns 0.6 to 2.2 mm (common practice, no source), widened to hold
    /// the restoration itself.
    #[must_use]
    pub fn of(case: &ChartCase<'_>, library: &Library) -> Self {
        let ceramic = &case.restoration.ceramic;
        let (low, high) = match case.restoration.preparation {
            Preparation::Veneer => (0.2, 1.2),
            Preparation::Crown | Preparation::Onlay { .. } => (0.6, 2.2),
        };
        let own = case.restoration.thickness.body_mm;
        let tenth = |mm: f64| (mm * 10.0).round() / 10.0;
        let low = tenth(f64::min(low, own - 0.1)).max(0.1);
        let high = tenth(f64::max(high, own + 0.2));
        let steps = ((high - low) / 0.1).round().max(1.0) as usize;
        let step = (high - low) / steps as f64;
        Self {
            thickness_mm: (0..=steps).map(|i| low + step * i as f64).collect(),
            shades: value_steps(
                &library.shades(&ceramic.class, ceramic.translucency),
                case.tooth.body,
            ),
        }
    }

    /// Place of a thickness along its axis, in nodes; outside where it is outside.
    #[must_use]
    pub fn column_of(&self, thickness_mm: f64) -> f64 {
        match self.thickness_mm[..] {
            [first, second, ..] => (thickness_mm - first) / (second - first),
            _ => 0.0,
        }
    }

    /// Place of a lightness along the shade axis, in nodes; outside where it is outside.
    #[must_use]
    pub fn row_of(&self, lightness: f64) -> f64 {
        let shades = &self.shades;
        let last = shades.len().saturating_sub(1);
        if last == 0 {
            return 0.0;
        }
        let i = (0..last - 1).find(|&i| lightness < shades[i + 1].l).unwrap_or(last - 1);
        i as f64 + (lightness - shades[i].l) / (shades[i + 1].l - shades[i].l)
    }
}

/// One shade for each lightness of a set: that nearest a tooth in chroma and hue.
fn value_steps(shades: &[Lch], tooth: Lch) -> Vec<Lch> {
    let tooth = Lab::from(tooth);
    let off = |shade: &Lch| {
        let lab = Lab::from(*shade);
        (lab.a - tooth.a).hypot(lab.b - tooth.b)
    };
    let mut sorted = shades.to_vec();
    sorted.sort_by(|a, b| a.l.total_cmp(&b.l).then(off(a).total_cmp(&off(b))));
    sorted.dedup_by(|later, first| (later.l - first.l).abs() < 0.25);
    sorted
}

/// Lines of one difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Isoline {
    /// ΔE00.
    pub de00: f64,
    /// Lines as (thickness mm, lightness of the shade).
    pub lines: Vec<Polyline>,
}

/// What the chart says at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Thickness in the middle of the tooth, mm.
    pub thickness_mm: f64,
    /// Shade, between those of the axis where the place is.
    pub shade: Lch,
    /// Difference to the twin.
    pub difference: ZoneDifference,
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
    /// Lightness of its shade: its place on the axis, though its chroma may be another.
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
    /// The restoration of the case, and whatever else was tried.
    pub tried: Vec<Tried>,
    /// Uncertainty about the case's restoration, the first of [`Self::tried`].
    pub uncertainty: Uncertainty,
}

/// Computes a chart. `tried` are further restorations of the same class with their names; those of
/// another class are left out, as the chart does not hold for them. The case's own comes first, as
/// `name`.
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
    let own = (name.to_owned(), case.restoration.clone());
    let tried = std::iter::once(&own)
        .chain(tried)
        .filter(|(_, restoration)| restoration.ceramic.class == *class)
        .map(|(label, restoration)| Tried {
            label: label.clone(),
            translucency: restoration.ceramic.translucency,
            thickness_mm: restoration.thickness.body_mm,
            lightness: restoration.ceramic.shade.l,
        })
        .collect();
    let uncertainty =
        Uncertainty::of(case.restoration, case.spread, &axes.shades, &estimator, library)?;
    Ok(BlendChart { axes, panels, natural, tried, uncertainty })
}

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
fn zones_at(nodes: &[[Lab; 3]], axes: &Axes, column: f64, row: f64) -> [Lab; 3] {
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

fn lightness(axes: &Axes) -> Vec<f64> {
    axes.shades.iter().map(|shade| shade.l).collect()
}

/// The value of an axis at a place in nodes.
fn along(axis: &[f64], place: f64) -> f64 {
    let last = axis.len() - 1;
    let i = (place.max(0.0).floor() as usize).min(last.saturating_sub(1));
    let next = axis[(i + 1).min(last)];
    axis[i] + (place - i as f64) * (next - axis[i])
}

impl BlendChart {
    /// The panel of a translucency.
    #[must_use]
    pub fn panel(&self, translucency: Translucency) -> Option<&Panel> {
        self.panels.iter().find(|panel| panel.translucency == translucency)
    }

    /// What a panel says at a thickness in mm and a lightness of shade; `None` outside the axes and
    /// where no ceramic is.
    #[must_use]
    pub fn at(&self, panel: &Panel, thickness_mm: f64, lightness: f64) -> Option<Reading> {
        let (columns, rows) = (self.axes.thickness_mm.len(), self.axes.shades.len());
        let (column, row) = (self.axes.column_of(thickness_mm), self.axes.row_of(lightness));
        let inside = |x: f64, n: usize| (-1e-9..=(n as f64 - 1.0 + 1e-9)).contains(&x);
        if columns == 0 || rows == 0 || !inside(column, columns) || !inside(row, rows) {
            return None;
        }
        let zones = zones_at(&panel.nodes, &self.axes, column, row);
        let difference = ZoneDifference::of_thirds(&self.natural, &zones);
        let i = (row.max(0.0).floor() as usize).min(rows - 1);
        let (below, above) = (self.axes.shades[i], self.axes.shades[(i + 1).min(rows - 1)]);
        let t = (row - i as f64).clamp(0.0, 1.0);
        let mix = |a: f64, b: f64| a + t * (b - a);
        let shade =
            Lch { l: mix(below.l, above.l), c: mix(below.c, above.c), h: mix(below.h, above.h) };
        difference.de00.is_finite().then_some(Reading { thickness_mm, shade, difference })
    }

    /// What a panel says at one of its nodes: at a real shade.
    #[must_use]
    pub fn node(&self, panel: &Panel, column: usize, row: usize) -> Option<Reading> {
        let thickness_mm = *self.axes.thickness_mm.get(column)?;
        let shade = *self.axes.shades.get(row)?;
        let zones = panel.nodes.get(row * self.axes.thickness_mm.len() + column)?;
        let difference = ZoneDifference::of_thirds(&self.natural, zones);
        difference.de00.is_finite().then_some(Reading { thickness_mm, shade, difference })
    }

    /// The node that blends best among the shades at the restoration's own thickness: what would
    /// have worked in this room. Each panel gives its own.
    #[must_use]
    pub fn best_shade(&self, panel: &Panel, thickness_mm: f64) -> Option<Reading> {
        self.axes
            .shades
            .iter()
            .filter_map(|shade| self.at(panel, thickness_mm, shade.l))
            .min_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00))
    }

    /// Largest ΔE00 of the nodes; 0 where there are none.
    #[must_use]
    pub fn largest_de00(&self) -> f64 {
        let columns = self.axes.thickness_mm.len().max(1);
        let all = self.panels.iter().flat_map(|panel| {
            (0..panel.nodes.len()).filter_map(move |i| self.node(panel, i % columns, i / columns))
        });
        all.map(|reading| reading.difference.de00).fold(0.0, f64::max)
    }
}
