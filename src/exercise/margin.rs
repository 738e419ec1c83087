//! Margin: hide the margin of an onlay that ends above the gum.
//!
//! An onlay ([`Preparation::Onlay`](crate::scene::Preparation)) is natural tooth below its margin
//! line and ceramic above it. How plainly the line shows is measured on the maps
//! ([`bake`](mod@crate::bake)).

use super::cases::{Layout, restoration};
use super::choosing::{OneTooth, kind_by_share};
use super::mark::{accepts, score_of_regret};
use super::recipe::Recipe;
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight, Task};
use crate::bake::{BakeError, Condition, Estimator, MarginContrast, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Lch};
use crate::level::format::{Exercise, RestorationKind};
use crate::random::Purpose;
use crate::scene::{NaturalTooth, Preparation, Restoration, Tooth, Translucency};
use crate::words::{Part, count, de00};
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One onlay that could be seated.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginOption {
    /// What it is made of.
    pub recipe: Recipe,
    /// Contrast along the margin line: ceramic just above it minus natural tooth just below.
    pub contrast: MarginContrast,
    /// Difference of the whole tooth to its twin, zone-weighted.
    pub whole: ZoneDifference,
    /// Value steps (2 L*) of the shade above the tooth's own body.
    pub steps_above: f64,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Height of the margin line: 0 at the gum, 1 at the cusp tip.
    pub margin_height: f64,
    /// What the natural twin changes across the same line.
    pub natural: MarginContrast,
    /// The options. The question's sights are these, in the same order.
    pub options: Vec<MarginOption>,
    /// Places of the options whose margin is acceptable; empty when there is none.
    pub acceptable: Vec<usize>,
    /// Place of the option with the least contrast.
    pub best: usize,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarginAnswer {
    /// The option that hides its margin best, by its place; `None` for "none hides it".
    pub choice: Option<usize>,
}

/// One question in this many has no margin that is hidden.
const NONE_ONE_IN: u32 = 5;
/// What keeps a hidden margin and one that shows apart from the model's own error, ΔE00.
const CLEAR_DE00: f64 = 0.2;
/// Draws until a question is of the wanted kind.
const DRAWS: u32 = 8;
/// One value step, L*.
const VALUE_STEP: f64 = 2.0;
/// Value steps above the tooth's own body that are tried.
const STEPS: std::ops::RangeInclusive<i32> = -2..=5;

impl MarginAnswer {
    pub(super) fn to_json(self) -> Value {
        json!(self)
    }
}

impl MarginOption {
    /// Plain words: translucency, steps above the tooth, cement.
    #[must_use]
    pub fn in_words(&self) -> String {
        let steps = self.steps_above;
        let value = if steps.abs() < 0.25 {
            "the tooth's own value".to_owned()
        } else {
            let way = if steps > 0.0 { "brighter" } else { "darker" };
            let steps = count(steps.abs().round().max(1.0) as usize, "step", "steps");
            format!("{steps} {way} than the tooth")
        };
        let translucency = super::translucency_name(self.recipe.ceramic.translucency);
        let cement = self.recipe.cement.replace('-', " ");
        format!("{translucency} translucency, {value}, {cement} cement")
    }
}

impl MarginTask {
    pub(super) fn mark(&self, answer: &MarginAnswer) -> Result<Mark, AnswerError> {
        let best = &self.options[self.best];
        let hidden = !self.acceptable.is_empty();
        let truth = json!({
            "options": self.options.iter().map(|option| json!({
                "recipe": option.recipe,
                "steps_above": option.steps_above,
                "contrast": option.contrast.mean,
                "worst_de00": option.contrast.worst_de00,
                "whole": option.whole,
            })).collect::<Vec<_>>(),
            "natural_de00": self.natural.mean.de00,
            "acceptable": self.acceptable,
            "best": self.best,
        });
        let mut sentences = Vec::new();
        let Some(place) = answer.choice else {
            sentences.push(if hidden {
                format!(
                    "Option {} hides its margin: the ceramic differs from the tooth below it by {}.",
                    self.best + 1,
                    de00(best.contrast.mean.de00)
                )
            } else {
                format!(
                    "None hides it: the nearest, option {}, still differs by {} along the margin.",
                    self.best + 1,
                    de00(best.contrast.mean.de00)
                )
            });
            sentences.extend(self.teaching());
            let score = if hidden { 0.0 } else { 100.0 };
            return Ok(Mark::new(Some(score), None, sentences, truth));
        };
        let Some(chosen) = self.options.get(place) else {
            return Err(AnswerError::Impossible(format!("there is no option {}", place + 1)));
        };
        let regret = (chosen.contrast.mean.de00 - best.contrast.mean.de00).max(0.0);
        let mean = &chosen.contrast.mean;
        // That none would do comes first: all else is about the least bad.
        if !hidden {
            sentences.push("None of these hides the margin.".to_owned());
        }
        sentences.push(format!(
            "Just above the margin your ceramic is {}, {} off in all and {} at the worst place; the \
             natural tooth changes by {} there.",
            Part::Value.compared(mean.dl00, "the tooth just below"),
            de00(mean.de00),
            de00(chosen.contrast.worst_de00),
            de00(self.natural.mean.de00)
        ));
        if place != self.best {
            sentences.push(format!(
                "Option {} ({}) differs by {}.",
                self.best + 1,
                best.in_words(),
                de00(best.contrast.mean.de00)
            ));
        }
        sentences.extend(self.teaching());
        let score = if hidden { score_of_regret(regret) } else { 0.0 };
        Ok(Mark::new(Some(score), Some(regret), sentences, truth))
    }

    /// What the best option shows about hiding margins.
    fn teaching(&self) -> Option<String> {
        let best = &self.options[self.best];
        (best.recipe.ceramic.translucency == Translucency::High && best.steps_above > 0.5).then(|| {
            "Translucent ceramic lets what lies beneath show; made brighter, it makes up for the value \
             that is lost."
                .to_owned()
        })
    }

    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> MarginAnswer {
        let contrasts = || self.options.iter().map(|option| &option.contrast.mean);
        if learner.lapses(stream) {
            let choice = stream.random_range(0..=self.options.len());
            return MarginAnswer { choice: (choice < self.options.len()).then_some(choice) };
        }
        let place = learner.nearest(contrasts(), stream);
        let seen = learner.seems(&self.options[place].contrast.mean, stream);
        let shows = seen > ACCEPTABILITY_DE00;
        MarginAnswer { choice: (!shows).then_some(place) }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Margin { options, .. } = layout.level.exercise else { return Ok(Vec::new()) };
    (0..layout.questions).map(|number| question(layout, number, usize::from(options))).collect()
}

/// One onlay that may become an option, with its estimated contrast.
struct Candidate {
    restoration: Restoration,
    steps_above: f64,
    de00: f64,
}

/// Every translucency, value step and cement on a tooth: the shade has the tooth's own chroma and
/// hue as far as a ceramic can. A measured ceramic comes in its own shades.
fn candidates(
    layout: &Layout<'_>,
    own: &NaturalTooth,
    estimator: &Estimator<'_>,
    kind: &RestorationKind,
) -> Result<Vec<Candidate>, BakeError> {
    let library = layout.library;
    let is_measured = library.measured_class(&kind.ceramic).is_some();
    let mut found = Vec::new();
    for translucency in library.translucencies(&kind.ceramic) {
        let shades: Vec<(Lch, f64)> = if is_measured {
            let shades = library.shades(&kind.ceramic, translucency).into_iter();
            shades.map(|shade| (shade, (shade.l - own.body.l) / VALUE_STEP)).collect()
        } else {
            let at = |steps| Lch {
                l: own.body.l + VALUE_STEP * steps,
                c: own.body.c.clamp(8.0, 20.0),
                h: own.body.h.clamp(82.0, 94.0),
            };
            STEPS.map(f64::from).map(|steps| (at(steps), steps)).collect()
        };
        for (shade, steps) in shades {
            for cement in ["clear", "warm", "very-warm", "light"] {
                if library.cement(cement).is_err() {
                    continue;
                }
                let mut restoration = restoration(kind, own.tooth, shade, 1.0);
                restoration.ceramic.translucency = translucency;
                restoration.ceramic.graded = false;
                restoration.ceramic.block_shift = 0.0;
                restoration.cement = cement.to_owned();
                // Shades that cannot be made are not offered.
                let Ok(Some(contrast)) = estimator.margin(&restoration) else { continue };
                let de00 = contrast.mean.de00;
                found.push(Candidate { restoration, steps_above: steps, de00 });
            }
        }
    }
    Ok(found)
}

/// Some candidates: one of the nearest, and others ever further off, as far as there are any.
fn pick(
    mut candidates: Vec<Candidate>,
    wanted: usize,
    hidden: bool,
    stream: &mut impl rand::Rng,
) -> Option<Vec<Candidate>> {
    let line = ACCEPTABILITY_DE00;
    candidates.sort_by(|a, b| a.de00.total_cmp(&b.de00));
    if !hidden {
        candidates.retain(|c| c.de00 > line + CLEAR_DE00);
    }
    // One of the best few, so that the best option is not always the best of all.
    let first = stream.random_range(0..candidates.len().clamp(1, 4));
    if first >= candidates.len() || (hidden && candidates[first].de00 > line - CLEAR_DE00) {
        return None;
    }
    let mut chosen = vec![candidates.remove(first)];
    // Further ones, at least 0.5 apart; where there are none, the furthest.
    while chosen.len() < wanted {
        let last = chosen.iter().map(|c| c.de00).fold(0.0, f64::max);
        let aim = last + stream.random_range(0.5..1.0);
        let next = candidates
            .iter()
            .position(|c| c.de00 >= aim && (c.de00 - line).abs() > CLEAR_DE00)
            .or_else(|| candidates.len().checked_sub(1))?;
        chosen.push(candidates.remove(next));
    }
    for i in (1..chosen.len()).rev() {
        chosen.swap(i, stream.random_range(0..=i));
    }
    Some(chosen)
}

fn question(layout: &Layout<'_>, number: u32, wanted: usize) -> Result<Question, ExerciseError> {
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let natural = layout.natural_case(number)?;
    let run = number / NONE_ONE_IN;
    let place = layout.stream(Purpose::Schedule, run).random_range(0..NONE_ONE_IN);
    let hidden = number % NONE_ONE_IN != place;
    let mut stream = layout.stream(Purpose::Restoration, number);
    for _ in 0..DRAWS {
        let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
        let Preparation::Onlay { margin_height } = kind.preparation else { continue };
        let Some(own) = natural.patient.teeth.iter().find(|t| t.tooth == tooth) else { continue };
        let estimator =
            Estimator::new(own, natural.seed, natural.illuminant, layout.library).map_err(wrap)?;
        let all = candidates(layout, own, &estimator, kind).map_err(wrap)?;
        let Some(chosen) = pick(all, wanted, hidden, &mut stream) else { continue };
        let mut alone = OneTooth::new(&natural, tooth, layout.library).map_err(wrap)?;
        let mut options = Vec::new();
        let mut across = None;
        for candidate in &chosen {
            let whole = alone.difference(&candidate.restoration).map_err(wrap)?;
            let scene = alone.restored(&candidate.restoration).map_err(wrap)?;
            let of = |condition| scene.margin(tooth, condition, margin_height);
            let (Some(contrast), Some(twin)) = (of(Condition::Restored), of(Condition::Twin))
            else {
                continue;
            };
            across = Some(twin);
            options.push(MarginOption {
                recipe: Recipe::of(&candidate.restoration),
                contrast,
                whole,
                steps_above: candidate.steps_above,
            });
        }
        let (Some(across), true) = (across, options.len() == wanted) else { continue };
        let off = |i: usize| options[i].contrast.mean.de00;
        let best = (0..wanted).min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or(0);
        let acceptable: Vec<usize> = (0..wanted)
            .filter(|&i| off(best) <= ACCEPTABILITY_DE00 && accepts(off(i), off(best)))
            .collect();
        // The finished maps may say otherwise than the estimate.
        if acceptable.is_empty() == hidden {
            continue;
        }
        let sights = chosen.iter().enumerate().map(|(place, candidate)| {
            let mut case = natural.clone();
            case.restorations = vec![candidate.restoration.clone()];
            Sight { name: format!("Option {}", place + 1), case }
        });
        return Ok(Question {
            number,
            seed_key: layout.seed_key(number),
            catch: !hidden,
            sights: sights.collect(),
            task: Task::Margin(MarginTask {
                tooth,
                margin_height,
                natural: across,
                options,
                acceptable,
                best,
            }),
        });
    }
    let what = if hidden { "hides" } else { "fails to hide" };
    let why = format!("no set of {wanted} onlays of which one {what} its margin");
    Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why })
}
