//! Laying out questions of Margin.

use super::{MarginOption, MarginTask};
use crate::bake::{BakeError, Condition, Estimator};
use crate::colorimetry::{ACCEPTABILITY_DE00, Lch};
use crate::exercise::cases::{Layout, restoration};
use crate::exercise::choosing::{OneTooth, kind_by_share};
use crate::exercise::mark::accepts;
use crate::exercise::recipe::Recipe;
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::{Exercise, RestorationKind};
use crate::random::Purpose;
use crate::scene::{NaturalTooth, Preparation, Restoration};
use rand::RngExt;

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

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
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
