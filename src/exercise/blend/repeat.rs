//! A question asked again: mirrored, its options in other places.
//!
//! Natural teeth and restorations change sides, no option keeps its place. Shapes and surface
//! texture stay those of the seed and tooth, so truth is found anew on the maps: options moved by
//! 0.001 to 0.006 ΔE00 in the test's question.

use super::marks::standings;
use super::{BlendOption, BlendTask, MeasuredAs, ToothDifference};
use crate::bake::{BakeError, Judge, within_reach};
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::material::Library;
use crate::scene::{Case, NaturalTooth};
use rayon::prelude::*;

/// The question mirrored, as number `number`; `places` says which option of it stands in each place.
///
/// Options are the same restorations on the teeth opposite, over the same colours. Their truth is
/// found anew on the maps that are drawn, as surface texture belongs to the tooth. Largest
/// differences over the lights, which a measurement shows to nobody, move along with the truth.
pub(in crate::exercise) fn mirrored(
    question: &Question,
    number: u32,
    places: &[usize],
    library: &Library,
) -> Result<Question, ExerciseError> {
    let level = || question.seed_key.clone();
    let no_case = |why: &str| ExerciseError::NoCase { level: level(), number, why: why.to_owned() };
    let bake = |source| ExerciseError::Bake { level: level(), number, source };
    let Task::Blend(task) = &question.task else {
        return Err(no_case("only questions of Blend are repeated"));
    };
    let no_mirror = || no_case("the smile has no mirror image");
    let cases = places
        .iter()
        .map(|&place| question.sights.get(place)?.case.mirrored())
        .collect::<Option<Vec<Case>>>()
        .ok_or_else(no_mirror)?;
    let cases = within(cases, library).map_err(bake)?;
    let differences = cases
        .first()
        .map_or_else(|| Ok(Vec::new()), |first| judged(task, first, &cases, library))
        .map_err(bake)?;
    let shown: Vec<(&BlendOption, usize, Vec<ToothDifference>)> = places
        .iter()
        .zip(differences)
        .map(|(&place, teeth)| {
            let de00 = |i: usize| teeth[i].difference.de00;
            let worst = (0..teeth.len()).max_by(|&a, &b| de00(a).total_cmp(&de00(b))).unwrap_or(0);
            Some((task.options.get(place)?, worst, teeth)).filter(|(_, _, teeth)| !teeth.is_empty())
        })
        .collect::<Option<_>>()
        .ok_or_else(no_mirror)?;
    let de00: Vec<f64> = shown.iter().map(|(_, worst, t)| t[*worst].difference.de00).collect();
    let options = shown
        .into_iter()
        .zip(standings(&de00))
        .map(|((option, worst, teeth), standing)| {
            let moved = teeth[worst].difference.de00 - option.difference().de00;
            let robust_de00 = (option.robust_de00 + moved).max(teeth[worst].difference.de00);
            BlendOption { teeth, worst, robust_de00, standing, ..option.clone() }
        })
        .collect();
    let place_of = |option: usize| places.iter().position(|place| *place == option).unwrap_or(0);
    let mirrored = BlendTask {
        teeth: task.teeth.iter().map(|tooth| tooth.contralateral()).collect(),
        light: task.light,
        options,
        best: (0..de00.len()).min_by(|&a, &b| de00[a].total_cmp(&de00[b])).unwrap_or(0),
        pair: (place_of(task.pair.0), place_of(task.pair.1)),
        measured: task.measured.as_ref().map(|measured| MeasuredAs {
            gap_de00: measured.gap_de00,
            repeat_of: Some(question.number),
            places: places.to_vec(),
        }),
    };
    let name = |place: usize| format!("Option {}", place + 1);
    let sights = cases.into_iter().enumerate();
    Ok(Question {
        number,
        seed_key: question.seed_key.clone(),
        catch: question.catch,
        sights: sights.map(|(place, case)| Sight { name: name(place), case }).collect(),
        task: Task::Blend(mirrored),
    })
}

/// The cases with natural teeth that can be had with their own edge: on another side a colour at
/// the limit may lie just beyond it.
fn within(cases: Vec<Case>, library: &Library) -> Result<Vec<Case>, BakeError> {
    let Some(first) = cases.first() else { return Ok(cases) };
    let teeth: Vec<NaturalTooth> = first
        .patient
        .teeth
        .par_iter()
        .map(|tooth| within_reach(tooth, first.seed, library))
        .collect::<Result<_, _>>()?;
    let all = cases.into_iter().map(|mut case| {
        case.patient.teeth.clone_from(&teeth);
        case
    });
    Ok(all.collect())
}

/// The difference of every restored tooth, option by option, in the order of the mirrored task.
fn judged(
    task: &BlendTask,
    first: &Case,
    cases: &[Case],
    library: &Library,
) -> Result<Vec<Vec<ToothDifference>>, BakeError> {
    let judges = task
        .teeth
        .par_iter()
        .filter_map(|tooth| {
            let tooth = tooth.contralateral();
            let natural = first.patient.teeth.iter().find(|own| own.tooth == tooth)?;
            let judge = Judge::new(natural, first.seed, first.illuminant, library);
            Some(judge.map(|judge| (tooth, judge)))
        })
        .collect::<Result<Vec<_>, BakeError>>()?;
    cases
        .par_iter()
        .map(|case| {
            let restored = judges.iter().filter_map(|(tooth, judge)| {
                let on = case.restorations.iter().find(|r| r.tooth == *tooth)?;
                let difference = judge.difference(on);
                Some(difference.map(|difference| ToothDifference { tooth: *tooth, difference }))
            });
            restored.collect()
        })
        .collect()
}
