//! What is said about an answer.

use super::{BlendAnswer, BlendMarks, BlendTask, Standing, value_first_cost};
use crate::bake::ZoneDifference;
use crate::words::{Part, de00};

/// Errors towards the dark below this are none, ΔL00.
const AS_LIGHT: f64 = 0.15;

/// `1.4 ΔE00 from the natural tooth, 1.2 ΔL00 darker`.
pub(super) fn place(difference: &ZoneDifference) -> String {
    let value = Part::Value.differs(difference.dl00);
    format!("{} from the natural tooth, {value}", de00(difference.de00))
}

fn listed(options: &[usize]) -> String {
    let numbers: Vec<String> = options.iter().map(|k| (k + 1).to_string()).collect();
    match numbers.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => numbers.concat(),
    }
}

/// The debrief, in plain sentences: the nearest option, the pick, its value, the ticks.
pub(super) fn sentences(task: &BlendTask, answer: &BlendAnswer, marks: &BlendMarks) -> Vec<String> {
    let mut said = Vec::new();
    let best = &task.options[task.best];
    let none = task.none_acceptable();
    said.push(format!("Option {} is the nearest: {}.", task.best + 1, place(&best.difference())));
    if none {
        said.push(format!(
            "None is acceptable: {}.",
            if answer.best.is_none() {
                "you were right to ask for another one"
            } else {
                "another one is needed"
            }
        ));
    } else if answer.best.is_none() {
        said.push("You accepted none, but one would have blended.".to_owned());
    }
    if let Some(pick) = answer.best
        && pick != task.best
    {
        let option = &task.options[pick];
        let regret = marks.regret_de00.unwrap_or_default();
        let close = if marks.right { ", which nobody would tell from the best" } else { "" };
        said.push(format!(
            "You picked option {}: {}. That is {} further off than the nearest{close}.",
            pick + 1,
            place(&option.difference()),
            de00(regret),
        ));
        said.push(format!("Option {}: {}", pick + 1, option.cause));
        let (picked, nearest) = (option.difference(), best.difference());
        if picked.dl00 < -AS_LIGHT && nearest.dl00 > picked.dl00 {
            said.push(format!(
                "It errs towards the dark. Put value first and it costs {}, the nearest {}.",
                de00(value_first_cost(picked.de00, picked.dl00)),
                de00(value_first_cost(nearest.de00, nearest.dl00)),
            ));
        }
    }
    // Those that may hold a lesson: the nearest where it was missed is explained by its place.
    let told = answer.best.filter(|pick| *pick != task.best);
    said.extend(furthest(task, told));
    said.extend(ticks(task, answer));
    said
}

/// The debrief to a room, in which everyone picked for themselves: the nearest option, those that
/// are acceptable, the furthest off.
pub(super) fn to_room(task: &BlendTask) -> Vec<String> {
    let best = &task.options[task.best];
    let mut said =
        vec![format!("Option {} is the nearest: {}.", task.best + 1, place(&best.difference()))];
    let acceptable = task.acceptable();
    said.push(match acceptable.len() {
        0 => "None is acceptable: another one is needed.".to_owned(),
        1 => format!("Acceptable is option {}.", listed(&acceptable)),
        _ => format!("Acceptable are options {}.", listed(&acceptable)),
    });
    said.extend(furthest(task, None));
    said
}

/// Why the option furthest off is so, unless it is the nearest or `told` of already.
fn furthest(task: &BlendTask, told: Option<usize>) -> Option<String> {
    let of = |k: usize| task.options[k].difference().de00;
    let furthest = (0..task.options.len())
        .max_by(|&a, &b| of(a).total_cmp(&of(b)))
        .filter(|furthest| Some(*furthest) != told && *furthest != task.best)?;
    Some(format!("Option {} is the furthest off: {}", furthest + 1, task.options[furthest].cause))
}

fn ticks(task: &BlendTask, answer: &BlendAnswer) -> Option<String> {
    let ticked = |k: usize| answer.best == Some(k) || answer.acceptable.contains(&k);
    let of = |standing: Standing, was: bool| -> Vec<usize> {
        (0..task.options.len())
            .filter(|&k| task.options[k].standing == standing && ticked(k) == was)
            .collect()
    };
    let (missed, wrong) = (of(Standing::Acceptable, false), of(Standing::Unacceptable, true));
    let be = |options: &[usize]| if options.len() == 1 { "is" } else { "are" };
    match (missed.is_empty(), wrong.is_empty()) {
        _ if answer.best.is_none() => None,
        (true, true) => Some("You ticked just what is acceptable.".to_owned()),
        (false, true) => Some(format!("Also acceptable: {}.", listed(&missed))),
        (true, false) => {
            Some(format!("Ticked, but {} too far off: {}.", be(&wrong), listed(&wrong)))
        }
        (false, false) => Some(format!(
            "Also acceptable: {}. Ticked, but {} too far off: {}.",
            listed(&missed),
            be(&wrong),
            listed(&wrong)
        )),
    }
}
