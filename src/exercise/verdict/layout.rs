//! Laying out questions of Verdict.

use super::VerdictTask;
use crate::bake::{Estimator, ZoneDifference};
use crate::exercise::cases::Layout;
use crate::exercise::seeing::{flags, strata};
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::Exercise;
use crate::random::Purpose;
use crate::report::explain;
use crate::scene::{Case, Restoration, Tooth};
use crate::trial::Response;
use rand::RngExt;
use rayon::prelude::*;

/// Share of questions in which the marked tooth is natural. A setting of this program.
const NATURAL_SHARE: f64 = 0.25;
/// Smallest and largest difference of the restored cases, ΔE00, drawn evenly by ratio. A setting
/// of this program: half perceptible to far beyond acceptable.
const SIZES_DE00: (f64, f64) = (0.4, 4.0);
/// A restoration this near the wanted size, as a ratio, ends the search.
const NEAR_ENOUGH: f64 = 1.1;

/// What a question should be.
struct Wanted {
    tooth: Tooth,
    /// ΔE00; `None` for a natural tooth.
    size_de00: Option<f64>,
    darker: bool,
}

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Verdict { exposure_s, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    let teeth = layout.restorable();
    if teeth.is_empty() {
        return Err(layout.no_case(0, "no kind of restoration may stand on a tooth in view"));
    }
    let natural = flags(layout, NATURAL_SHARE);
    let restored = natural.iter().filter(|natural| !**natural).count();
    let places = strata(layout, teeth.len(), 0);
    let sizes = strata(layout, restored, 1);
    let signs = strata(layout, 2, 2);
    let mut next = sizes.iter().zip(&signs);
    let wanted: Vec<Wanted> = natural
        .iter()
        .zip(&places)
        .map(|(natural, place)| {
            let drawn = (!natural).then(|| next.next()).flatten();
            let size = |(part, _): (&usize, &usize)| {
                let (low, high) = SIZES_DE00;
                low * (high / low).powf((*part as f64 + 0.5) / restored as f64)
            };
            Wanted {
                tooth: teeth[*place],
                size_de00: drawn.map(size),
                darker: drawn.is_some_and(|(_, sign)| *sign == 0),
            }
        })
        .collect();
    // All of them, so that the fault that is said is the first and not the quickest.
    let laid_out: Vec<Result<_, ExerciseError>> = (0..layout.questions)
        .into_par_iter()
        .zip(wanted)
        .map(|(number, wanted)| question(layout, number, &wanted, exposure_s))
        .collect();
    laid_out.into_iter().collect()
}

fn question(
    layout: &Layout<'_>,
    number: u32,
    wanted: &Wanted,
    exposure_s: f64,
) -> Result<Question, ExerciseError> {
    let mut case = layout.natural_case(number)?;
    let tooth = wanted.tooth;
    let mut difference = ZoneDifference::default();
    let mut cause = None;
    if let Some(size_de00) = wanted.size_de00 {
        case.restorations = vec![find(layout, number, &case, wanted, size_de00)?];
        let scene = layout.bake_alone(number, &case, tooth)?;
        difference = scene.truth.as_ref().map(|truth| truth.difference).unwrap_or_default();
        cause = explain(&case, &scene, Response::Tooth(tooth), layout.library)
            .map_err(|source| layout.bake_error(number, source))?;
    }
    let is_natural = case.restorations.is_empty();
    Ok(Question {
        number,
        seed_key: layout.seed_key(number),
        catch: is_natural,
        sights: vec![Sight { name: "Smile".to_owned(), case }],
        task: Task::Verdict(VerdictTask { tooth, exposure_s, is_natural, difference, cause }),
    })
}

/// The restoration of the wanted size and direction, or the nearest there is: of the kind drawn by
/// share if that can have it, else of another.
fn find(
    layout: &Layout<'_>,
    number: u32,
    case: &Case,
    wanted: &Wanted,
    size_de00: f64,
) -> Result<Restoration, ExerciseError> {
    let wrap = |source| layout.bake_error(number, source);
    let natural = layout.natural(number, case, wanted.tooth)?;
    let estimator =
        Estimator::new(natural, case.seed, layout.level.light, layout.library).map_err(wrap)?;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let (kind_pick, factor_pick) = (stream.random(), stream.random());
    let mut best: Option<(f64, Restoration)> = None;
    let near_enough = |best: &Option<(f64, Restoration)>| {
        best.as_ref().is_some_and(|(miss, _)| *miss < NEAR_ENOUGH.ln())
    };
    for kind in layout.kinds_from(wanted.tooth, kind_pick) {
        for factor in layout.thickness_factors(factor_pick) {
            if near_enough(&best) {
                break;
            }
            for restoration in layout.shades_of(kind, wanted.tooth, number, factor) {
                let difference = match estimator.difference(&restoration) {
                    // A shade that its ceramic cannot have is not shown.
                    Err(error) if error.is_no_such_shade() => continue,
                    difference => difference.map_err(wrap)?,
                };
                let ratio = (difference.de00.max(1e-3) / size_de00).ln().abs();
                // Of the wrong direction only where nothing else comes near.
                let wrong = (difference.dl00 < 0.0) != wanted.darker;
                let miss = ratio + if wrong { 0.5 } else { 0.0 };
                if best.as_ref().is_none_or(|(least, _)| miss < *least) {
                    best = Some((miss, restoration));
                }
            }
        }
    }
    best.map(|(_, restoration)| restoration)
        .ok_or_else(|| layout.no_case(number, "the level has no kinds of restoration"))
}
