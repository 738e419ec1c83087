//! Laying out questions of Match.

use super::{MatchTask, Tab};
use crate::bake::{BakeError, Condition, Estimator, ZoneDifference};
use crate::colorimetry::{Ciede2000Weights, Lab, Lch, ciede2000_weights, is_displayable};
use crate::exercise::cases::Layout;
use crate::exercise::seeing::{flags, shuffle, strata};
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::Exercise;
use crate::random::Purpose;
use crate::scene::{Case, NaturalTooth, Tooth};
use rand::RngExt;
use rayon::prelude::*;

/// Share of questions in which no tab is exactly like the target. A setting of this program.
const NO_EXACT_SHARE: f64 = 0.3;
/// Tabs nearer each other than this part of the spacing are too alike to be told apart.
const LEAST_APART: f64 = 0.6;
/// How far the lattice reaches from the target each way, steps.
const REACH: i32 = 3;

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Match { tabs, spacing_de00, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    let between = flags(layout, NO_EXACT_SHARE);
    let places = strata(layout, layout.teeth.len(), 0);
    // All of them, so that the fault that is said is the first and not the quickest.
    let laid_out: Vec<Result<_, ExerciseError>> = (0..layout.questions)
        .into_par_iter()
        .zip(between.into_par_iter().zip(places))
        .map(|(number, (between, place))| {
            let case = layout.natural_case(number)?;
            let tooth = layout.teeth[place];
            let ring = Ring { layout, number, case: &case, spacing_de00 };
            let task = ring.draw(tooth, usize::from(tabs), between)?;
            Ok(Question {
                number,
                seed_key: layout.seed_key(number),
                catch: between,
                sights: vec![Sight { name: "Target".to_owned(), case }],
                task: Task::Match(task),
            })
        })
        .collect();
    laid_out.into_iter().collect()
}

/// Steps of the lattice: value, chroma, hue.
type Steps = [f64; 3];

/// The tabs of one question being drawn.
///
/// A tab is the target tooth with another dentin: same enamel, same layers, so that its thirds run
/// like those of a tooth and one tab can be exactly like the target. A thick piece of ceramic has
/// one colour from neck to edge and never is.
struct Ring<'a> {
    layout: &'a Layout<'a>,
    number: u32,
    case: &'a Case,
    spacing_de00: f64,
}

impl Ring<'_> {
    fn draw(&self, tooth: Tooth, tabs: usize, between: bool) -> Result<MatchTask, ExerciseError> {
        let natural = *self.layout.natural(self.number, self.case, tooth)?;
        let mut stream = self.layout.stream(Purpose::Restoration, self.number);
        // The ring is not centred on the target, or its middle would be the answer.
        let centre: Steps = std::array::from_fn(|_| f64::from(stream.random_range(-1..=1)));
        let shifted = stream.random_range(0..3);
        let start: Steps =
            std::array::from_fn(|axis| if between && axis == shifted { 0.5 } else { 0.0 });
        let mut places = lattice(start, centre, &mut stream);
        let own: Vec<Steps> =
            if between { vec![start, start.map(|step| -step)] } else { vec![start] };
        places.retain(|place| !own.contains(place));
        places.splice(0..0, own);

        let smooth = self.thirds(&natural)?;
        let scene = self.layout.bake_alone(self.number, self.case, tooth)?;
        let target = scene.zone_labs(tooth, Condition::Twin).unwrap_or(smooth);
        // What surface detail does to the target's thirds, the tabs get too.
        let detail: [[f64; 3]; 3] = std::array::from_fn(|zone| {
            let (drawn, smooth) = (target[zone].to_linear_srgb(), smooth[zone].to_linear_srgb());
            std::array::from_fn(|i| drawn[i] / smooth[i])
        });
        let mut found: Vec<Tab> = Vec::with_capacity(tabs);
        for (index, place) in places.iter().enumerate() {
            if found.len() == tabs {
                break;
            }
            let exact = index == 0 && !between;
            let Some(tab) = self.tab(&natural, *place, &target, &detail, exact)? else { continue };
            let apart = |other: &Tab| ZoneDifference::of_thirds(&other.zones, &tab.zones).de00;
            if found.iter().all(|other| apart(other) >= LEAST_APART * self.spacing_de00) {
                found.push(tab);
            }
        }
        if found.len() < tabs {
            let why = format!(
                "only {} of {tabs} tabs can be made around {}",
                found.len(),
                natural.body.name()
            );
            return Err(self.layout.no_case(self.number, why));
        }
        let mut order: Vec<usize> = (0..tabs).collect();
        shuffle(&mut order, &mut stream);
        let exact = (!between).then(|| order.iter().position(|i| *i == 0)).flatten();
        let tabs = order.into_iter().map(|i| found[i]).collect();
        Ok(MatchTask { tooth, target, tabs, exact })
    }

    fn thirds(&self, tooth: &NaturalTooth) -> Result<[Lab; 3], ExerciseError> {
        let light = self.layout.level.light;
        Estimator::new(tooth, self.case.seed, light, self.layout.library)
            .map(|estimator| *estimator.natural_zones())
            .map_err(|source| self.layout.bake_error(self.number, source))
    }

    /// The tab so many steps from the target; `None` where no tooth has that colour.
    fn tab(
        &self,
        target_tooth: &NaturalTooth,
        steps: Steps,
        target: &[Lab; 3],
        detail: &[[f64; 3]; 3],
        exact: bool,
    ) -> Result<Option<Tab>, ExerciseError> {
        let shade = self.shade(target_tooth.body, steps);
        let tooth = NaturalTooth { body: shade, ..*target_tooth };
        if exact {
            let linear = target.map(Lab::to_linear_srgb);
            let difference = ZoneDifference::default();
            return Ok(Some(Tab { shade, zones: *target, linear, difference }));
        }
        let thirds = match self.thirds(&tooth) {
            Ok(thirds) => thirds,
            Err(ExerciseError::Bake { source: BakeError::BodyOutOfReach { .. }, .. }) => {
                return Ok(None);
            }
            Err(other) => return Err(other),
        };
        let linear: [[f64; 3]; 3] = std::array::from_fn(|zone| {
            let smooth = thirds[zone].to_linear_srgb();
            std::array::from_fn(|i| smooth[i] * detail[zone][i])
        });
        let zones = linear.map(Lab::from_linear_srgb);
        let difference = ZoneDifference::of_thirds(target, &zones);
        Ok(linear.iter().all(|l| is_displayable(*l)).then_some(Tab {
            shade,
            zones,
            linear,
            difference,
        }))
    }

    /// The colour so many steps of the lattice from another.
    fn shade(&self, from: Lch, [value, chroma, hue]: Steps) -> Lch {
        let lab = Lab::from(from);
        let Ciede2000Weights { s_l, s_c, s_h, .. } = ciede2000_weights(lab, lab);
        let step = self.spacing_de00;
        Lch {
            l: from.l + value * step * s_l,
            c: from.c + chroma * step * s_c,
            h: from.h + (hue * step * s_h / from.c.max(1.0)).to_degrees(),
        }
    }
}

/// Points of the lattice through `start`, those near `centre` first, equals in random order.
fn lattice(start: Steps, centre: Steps, stream: &mut impl rand::Rng) -> Vec<Steps> {
    let steps = || -REACH..=REACH;
    let mut places: Vec<(f64, Steps)> = steps()
        .flat_map(|l| steps().flat_map(move |c| steps().map(move |h| [l, c, h])))
        .map(|place| {
            let at: Steps = std::array::from_fn(|i| start[i] + f64::from(place[i]));
            let off: f64 = (0..3).map(|i| (at[i] - 0.5 * centre[i]).powi(2)).sum();
            (off + 0.5 * stream.random::<f64>(), at)
        })
        .collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.into_iter().map(|(_, place)| place).collect()
}
