//! What a level must be beyond well-formed.

mod exercise;
mod patient;
mod restoration;

use super::checker::Checker;
use super::format::{Exercise, LEVEL_FORMAT, Level};
use super::known::KnownMaterials;
use super::limits::check_range;
use crate::random::{Purpose, StreamKey};
use crate::scene::Tooth;
use crate::trial::schedule;
use exercise::{check_asked_thickness, check_exercise, check_ladder, check_lights};
use patient::check_patient;
use restoration::check_restorations;
use std::ops::RangeInclusive;

const DIFFICULTY: RangeInclusive<u8> = 1..=10;

const DIFFERENCE_DE00: RangeInclusive<f64> = 0.3..=12.0;

pub(super) fn check_level(level: &Level, known: &KnownMaterials, checker: &mut Checker<'_>) {
    checker.format(level.format, LEVEL_FORMAT);
    checker.id("id", &level.id);
    if let Some(stem) = checker.file_stem().filter(|stem| *stem != level.id) {
        checker.error(
            "id",
            format!("id \"{}\" differs from the file name \"{stem}\"", level.id),
            format!("write `id: \"{stem}\"` or rename the file to \"{}.ron\"", level.id),
        );
    }
    checker.not_blank("title", &level.title);
    checker.not_blank("teaches", &level.teaches);
    if !DIFFICULTY.contains(&level.difficulty) {
        let message = format!("difficulty is {}, outside 1 to 10", level.difficulty);
        checker.error("difficulty", message, "choose 1 (easy) to 10 (hard)");
    }
    check_exercise(level, checker);
    check_patient(&level.patient, checker);
    check_restorations(level, known, checker);
    check_difference(level, checker);
    check_framing(level, checker);
    check_schedule(level, checker);
    check_ladder(level, checker);
    check_lights(level, checker);
    check_asked_thickness(level, checker);
}

/// What cannot be seen cannot be found.
fn check_framing(level: &Level, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let in_view = Tooth::arch(usize::from(level.exercise.arch()));
    let hidden: Vec<String> = restorable_teeth(level, &in_view)
        .into_iter()
        .filter(|tooth| !level.staging().framing.shows(*tooth))
        .map(|tooth| tooth.to_string())
        .collect();
    if !hidden.is_empty() {
        checker.error(
            "framing",
            format!(
                "the framing {} hides teeth that may be restored: {}",
                level.staging().framing.name(),
                hidden.join(", ")
            ),
            "list only visible teeth under `teeth`, lower the arch, or choose another framing",
        );
    }
}

/// Lays out a session to see that the teeth allow one; only worth it when all that it takes is
/// right so far.
fn check_schedule(level: &Level, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let in_view = level.teeth();
    let restorable = restorable_teeth(level, &in_view);
    let purpose = Purpose::Schedule;
    let key = StreamKey { form: &level.id, seed: level.seed, purpose, block: 0, trial: 0 };
    let trials = level.exercise.trials() as usize;
    let Some(difference) = level.difference else { return };
    if let Err(error) = schedule(key, trials, &restorable, difference.darker_share) {
        let help = "allow restorations on more teeth, on both sides alike";
        checker.error("restorations", error.to_string(), help);
    }
}

/// The teeth in view that some kind of restoration may stand on.
fn restorable_teeth(level: &Level, in_view: &[Tooth]) -> Vec<Tooth> {
    let allowed = |tooth: &&Tooth| {
        let names_it = |teeth: &Vec<u8>| teeth.contains(&tooth.number());
        level.restorations.iter().any(|kind| kind.teeth.as_ref().is_none_or(names_it))
    };
    in_view.iter().filter(allowed).copied().collect()
}

fn check_difference(level: &Level, checker: &mut Checker<'_>) {
    let is_glance = matches!(level.exercise, Exercise::Glance { .. });
    let Some(difference) = level.difference else {
        if is_glance && checker.usable("exercise") {
            let message = "field `difference` of `Level` is missing";
            checker.error(
                "difference",
                message,
                "add `difference: (de00: (…, …), darker_share: …)`",
            );
        }
        return;
    };
    if !is_glance {
        let message = format!("difference is given, but `{}` has none", level.exercise.name());
        return checker.error("difference", message, "remove it: here the learner brings it about");
    }
    check_range("difference.de00", difference.de00, DIFFERENCE_DE00, "", checker);
    checker.within("difference.darker_share", difference.darker_share, 0.0..=1.0, "");
}
