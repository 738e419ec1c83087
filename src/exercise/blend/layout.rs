//! From a level to questions.

use super::cause::cause;
use super::compose::{Composition, Unmet, Wanted, compose};
use super::options::{Candidate, Field};
use super::{BlendOption, BlendTask};
use crate::exercise::blend::marks::standings;
use crate::exercise::cases::Layout;
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::{Exercise, Level, RestorationKind};
use crate::material::Library;
use crate::random::Purpose;
use crate::scene::{Case, Tooth, ToothKind};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Share of the questions in which no option is acceptable.
pub const CATCH_SHARE: f64 = 0.2;
/// Times that candidates are drawn before a patient is given up.
const DRAWS: usize = 2;
/// Patients that are tried before a question is given up: not every tooth can be matched over every
/// prepared tooth.
const PATIENTS: u32 = 12;
/// Mouths that are tried for a stated case: shapes differ, and nothing that was measured.
const STATED_PATIENTS: u32 = 3;
/// Other rooms that are tried to say what would do, relative to the stated one, the nearest first.
const OTHER_ROOMS: [f64; 8] = [1.1, 0.9, 1.2, 0.8, 1.35, 1.5, 1.75, 2.0];
/// From the number of a question's patient to the next one tried for it: beyond all rounds.
const NEXT_PATIENT: u32 = 1_000_000;

/// What a single question is to be like, where it is not one of a round laid out before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlendAsked {
    /// 0-based number in the session; names the patient together with the seed.
    pub number: u32,
    /// Whether none is to be acceptable.
    pub catch: bool,
    /// Place of the nearest option in the order shown, 0-based.
    pub best_slot: usize,
    /// How much further off than the best the darker and the lighter option of the equal pair are to
    /// be, ΔE00; what comes nearest is taken.
    pub gap_de00: f64,
}

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let options = settings(layout)?.options;
    let count = layout.questions as usize;
    let mut stream = layout.stream(Purpose::Schedule, 0);
    let mut shuffle = |list: &mut Vec<usize>| {
        for i in (1..list.len()).rev() {
            list.swap(i, stream.random_range(0..=i));
        }
    };
    let mut order: Vec<usize> = (0..count).collect();
    shuffle(&mut order);
    // Every place is the best one equally often, give or take one.
    let mut slots: Vec<usize> = (0..options).collect();
    shuffle(&mut slots);
    let catches = (CATCH_SHARE * count as f64).round() as usize;
    let (low, high) = gaps(layout.level.difficulty);
    let mut asked: Vec<BlendAsked> = order
        .iter()
        .enumerate()
        .map(|(place, &number)| BlendAsked {
            number: number as u32,
            catch: place < catches,
            best_slot: slots[place % options],
            gap_de00: low + (high - low) * stream.random::<f64>(),
        })
        .collect();
    asked.sort_by_key(|asked| asked.number);
    // All of them, so that the fault that is said is the first and not the quickest.
    let laid_out: Vec<_> = asked.par_iter().map(|asked| question(layout, asked)).collect();
    laid_out.into_iter().collect()
}

/// Lays out one question, for sessions that choose each after the answer before.
///
/// A pure function of its arguments.
///
/// # Errors
/// [`ExerciseError`] when the level is of another exercise or its ranges leave no such question.
pub fn next_question(
    level: &Level,
    library: &Library,
    seed: u64,
    asked: &BlendAsked,
) -> Result<Question, ExerciseError> {
    question(&Layout::new(level, library, seed, Some(1))?, asked)
}

/// From the best to the pair in a level of this difficulty (1 to 10), ΔE00: smallest and largest.
/// A setting of this program.
fn gaps(difficulty: u8) -> (f64, f64) {
    let t = (f64::from(difficulty.clamp(1, 10)) - 1.0) / 9.0;
    let high = 3.6 + (1.1 - 3.6) * t;
    (0.4 * high + 0.6 * (1.0 - t), high)
}

struct Settings {
    options: usize,
    restored: u8,
}

fn settings(layout: &Layout<'_>) -> Result<Settings, ExerciseError> {
    match layout.level.exercise {
        Exercise::Blend { options, restored, .. } => {
            Ok(Settings { options: usize::from(options.max(3)), restored })
        }
        _ => Err(no_case(layout, 0, "the level is of another exercise".to_owned())),
    }
}

fn no_case(layout: &Layout<'_>, number: u32, why: String) -> ExerciseError {
    ExerciseError::NoCase { level: layout.level.id.clone(), number, why }
}

/// The teeth restored in a question, and the kinds of restoration that may stand on all of them.
fn restored<'a>(
    layout: &'a Layout<'_>,
    number: u32,
    count: u8,
    pick: f64,
) -> Result<(Vec<Tooth>, Vec<&'a RestorationKind>), ExerciseError> {
    let incisor = |tooth: &&Tooth| matches!(tooth.kind(), ToothKind::Central | ToothKind::Lateral);
    let incisors: Vec<Tooth> = layout.teeth.iter().filter(incisor).copied().collect();
    let teeth: Vec<Tooth> = match count {
        1 => {
            let allowed: Vec<Tooth> =
                incisors.into_iter().filter(|t| !layout.kinds_for(*t).is_empty()).collect();
            let place = (pick * allowed.len() as f64) as usize;
            allowed.get(place.min(allowed.len().saturating_sub(1))).copied().into_iter().collect()
        }
        2 => incisors.into_iter().filter(|t| t.kind() == ToothKind::Central).collect(),
        _ => incisors,
    };
    let on_all = |kind: &&RestorationKind| {
        let numbers = kind.teeth.as_ref();
        numbers.is_none_or(|numbers| teeth.iter().all(|t| numbers.contains(&t.number())))
    };
    let kinds: Vec<&RestorationKind> = layout.level.restorations.iter().filter(on_all).collect();
    if teeth.is_empty() || kinds.is_empty() {
        let why = format!("no kind of restoration may stand on {count} incisors alike");
        return Err(no_case(layout, number, why));
    }
    Ok((teeth, kinds))
}

/// The kinds over one colour of prepared tooth, drawn by share: options are for one patient.
fn over_one_prepared_tooth(kinds: Vec<&RestorationKind>, pick: f64) -> Vec<&RestorationKind> {
    let total: f64 = kinds.iter().map(|kind| kind.share).sum();
    let mut left = pick * total;
    let drawn = kinds.iter().find(|kind| {
        left -= kind.share;
        left < 0.0
    });
    let Some(prepared) = drawn.or(kinds.last()).map(|kind| kind.prepared_tooth.clone()) else {
        return kinds;
    };
    kinds.into_iter().filter(|kind| kind.prepared_tooth == prepared).collect()
}

fn question(layout: &Layout<'_>, asked: &BlendAsked) -> Result<Question, ExerciseError> {
    let Settings { options, restored: count } = settings(layout)?;
    let number = asked.number;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let (teeth, kinds) = restored(layout, number, count, stream.random())?;
    let kinds = over_one_prepared_tooth(kinds, stream.random());
    let wanted = Wanted {
        options,
        catch: asked.catch,
        gap_de00: asked.gap_de00,
        value_alone: layout.level.difficulty <= 2,
    };
    let is_stated = layout.level.is_stated();
    let mut unmet: Vec<Unmet> = Vec::new();
    for patient in 0..if is_stated { STATED_PATIENTS } else { PATIENTS } {
        let patient = number.wrapping_add(patient * NEXT_PATIENT);
        let field = Field::new(layout, patient, &teeth, kinds.clone())?;
        for _ in 0..DRAWS {
            let candidates = field.candidates(&mut stream)?;
            match compose(&field, candidates, &wanted, &mut stream)? {
                Ok(composition) => {
                    let order = order(&composition, asked.best_slot, &mut stream);
                    return finish(layout, &field, &composition, &order, asked);
                }
                Err(reason) => unmet.push(reason),
            }
        }
    }
    if is_stated {
        let field = Field::new(layout, number, &teeth, kinds)?;
        let why = why_not_as_stated(&field, unmet.first(), &wanted, &mut stream)?;
        return Err(no_case(layout, number, why));
    }
    let reasons: Vec<String> = unmet.iter().map(ToString::to_string).collect();
    Err(no_case(layout, number, format!("{} draws failed: {}", unmet.len(), reasons.join("; "))))
}

/// What keeps a stated case from being asked about, and the nearest room in which it could.
fn why_not_as_stated(
    field: &Field<'_>,
    unmet: Option<&Unmet>,
    wanted: &Wanted,
    stream: &mut ChaCha8Rng,
) -> Result<String, ExerciseError> {
    let mut why = "this cannot be asked about the case as it is stated".to_owned();
    if let Some(unmet) = unmet {
        why.push_str(&format!(": {unmet}"));
    }
    for factor in OTHER_ROOMS {
        let candidates = field.candidates_in(|_| vec![factor])?;
        if compose(field, candidates, wanted, &mut stream.clone())?.is_ok() {
            let mm: Vec<String> = field
                .kinds
                .iter()
                .map(|kind| format!("{:.2}", factor * kind.thickness_mm.body_mm))
                .collect();
            let mm = mm.first().map_or("", String::as_str);
            why.push_str(&format!(
                ". The nearest room in which it could is {factor} times as thick, {mm} mm of ceramic \
                 in the middle"
            ));
            return Ok(why);
        }
    }
    why.push_str(
        ". More or less room would not help: offer other ceramics, or compose it on the bench, where \
         the plan may be found to need a change",
    );
    Ok(why)
}

/// The order shown: the nearest in its slot, the others anyhow.
fn order(composition: &Composition, best_slot: usize, stream: &mut impl rand::Rng) -> Vec<usize> {
    let best = composition.best();
    let mut order: Vec<usize> = (0..composition.options.len()).filter(|i| *i != best).collect();
    for i in (1..order.len()).rev() {
        order.swap(i, stream.random_range(0..=i));
    }
    order.insert(best_slot.min(order.len()), best);
    order
}

fn finish(
    layout: &Layout<'_>,
    field: &Field<'_>,
    composition: &Composition,
    order: &[usize],
    asked: &BlendAsked,
) -> Result<Question, ExerciseError> {
    let shown: Vec<&Candidate> = order.iter().map(|&i| &composition.options[i]).collect();
    let de00: Vec<f64> = shown.iter().map(|candidate| candidate.difference().de00).collect();
    let wrap = |source| ExerciseError::Bake {
        level: layout.level.id.clone(),
        number: asked.number,
        source,
    };
    let options = shown
        .iter()
        .zip(standings(&de00))
        .map(|(candidate, standing)| {
            let (worst_light, robust_de00) = field.robust(candidate)?;
            Ok(BlendOption {
                teeth: field.tooth_differences(candidate),
                worst: candidate.worst(),
                robust_de00,
                worst_light,
                standing,
                cause: cause(field, candidate, layout.library).map_err(wrap)?,
            })
        })
        .collect::<Result<Vec<_>, ExerciseError>>()?;
    let sights = shown
        .iter()
        .enumerate()
        .map(|(k, candidate)| {
            let restorations =
                field.restored.iter().map(|n| field.restoration(candidate, n.tooth)).collect();
            let case = Case { restorations, ..field.case.clone() };
            Sight { name: format!("Option {}", k + 1), case }
        })
        .collect();
    let place = |option: usize| order.iter().position(|i| *i == option).unwrap_or(0);
    let task = BlendTask {
        teeth: field.restored.iter().map(|n| n.tooth).collect(),
        light: field.case.illuminant,
        options,
        best: place(composition.best()),
        pair: (place(composition.darker), place(composition.lighter)),
        measured: None,
    };
    Ok(Question {
        number: asked.number,
        seed_key: layout.seed_key(asked.number),
        catch: asked.catch,
        sights,
        task: Task::Blend(task),
    })
}
