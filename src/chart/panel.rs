//! The chart's grids.

use super::contour::{Polyline, contour_lines};
use super::uncertainty::{Spread, Uncertainty};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Illuminant, Lab, Lch, PERCEPTIBILITY_DE00};
use crate::material::Library;
use crate::scene::{Case, NaturalTooth, Preparation, Restoration, Tooth, Translucency};
use rayon::prelude::*;

/// Shades nearer each other than this share a row, L*.
const LEAST_STEP: f64 = 0.25;
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
        Self::of_restoration(case, case.restoration()?)
    }

    /// The chart of the restored tooth that is furthest from its twin, which is the one that counts
    /// where several are restored; `None` where nothing is.
    ///
    /// # Errors
    /// [`BakeError`] when the case names a material that the library does not have.
    pub fn furthest(case: &'a Case, library: &Library) -> Result<Option<Self>, BakeError> {
        if case.restorations.len() < 2 {
            return Ok(Self::of(case));
        }
        let mut furthest: Option<(f64, Self)> = None;
        for restoration in &case.restorations {
            let Some(of) = Self::of_restoration(case, restoration) else { continue };
            let estimator = Estimator::new(of.tooth, of.seed, of.illuminant, library)?;
            let de00 = estimator.difference(restoration)?.de00;
            if furthest.as_ref().is_none_or(|(most, _)| de00 > *most) {
                furthest = Some((de00, of));
            }
        }
        Ok(furthest.map(|(_, of)| of))
    }

    fn of_restoration(case: &'a Case, restoration: &'a Restoration) -> Option<Self> {
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
    /// Shades by lightness, ascending, the restoration's own among them.
    pub shades: Vec<Lch>,
}

impl Axes {
    /// Thicknesses that a preparation comes in and shades of the restoration's own chroma and hue; of a
    /// measured class, which comes in no others, those measured that are nearest to them.
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
        let mut known = library.shades(&ceramic.class, ceramic.translucency);
        if library.ceramic_class(&ceramic.class).is_ok() {
            known = known.iter().map(|shade| Lch { l: shade.l, ..ceramic.shade }).collect();
        }
        known.push(ceramic.shade);
        Self {
            thickness_mm: (0..=steps).map(|i| low + step * i as f64).collect(),
            shades: value_steps(&known, ceramic.shade),
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

/// One shade for each lightness of a set, `own` and else that nearest it in chroma and hue.
fn value_steps(shades: &[Lch], own: Lch) -> Vec<Lch> {
    let lab = Lab::from(own);
    let off = |shade: &Lch| {
        let other = Lab::from(*shade);
        (other.a - lab.a).hypot(other.b - lab.b)
    };
    let mut sorted = shades.to_vec();
    sorted.sort_by(|a, b| off(a).total_cmp(&off(b)).then(a.l.total_cmp(&b.l)));
    let mut kept = vec![own];
    for shade in sorted {
        if kept.iter().all(|other| (other.l - shade.l).abs() >= LEAST_STEP) {
            kept.push(shade);
        }
    }
    kept.sort_by(|a, b| a.l.total_cmp(&b.l));
    kept
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
const HOLDS_DE00: f64 = 0.05;

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
    /// How far a mark's reading may lie from the difference that is stated of its restoration, which comes
    /// from the finished maps, ΔE00: the estimator is held to 0.15 of those (its coarse face), and marks
    /// to 0.05 of the estimator.
    pub const ERROR_DE00: f64 = 0.2;

    /// Whether the chart reads a difference at a mark's place.
    fn reads(&self, mark: &Tried, difference: &ZoneDifference) -> bool {
        let reading = self
            .panel(mark.translucency)
            .and_then(|panel| self.at(panel, mark.thickness_mm, mark.lightness));
        reading.is_some_and(|reading| {
            let read = reading.difference;
            [
                read.de00 - difference.de00,
                read.dl00 - difference.dl00,
                read.dc00 - difference.dc00,
                read.dh00 - difference.dh00,
            ]
            .iter()
            .all(|off| off.abs() <= HOLDS_DE00)
        })
    }

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
