//! What an exercise of a level must be.

use crate::colorimetry::Illuminant;
use crate::level::checker::Checker;
use crate::level::format::{BenchThickness, Exercise, Level};
use crate::level::limits::{DRIFT_MONTHS, check_range};
use crate::scene::Framing;
use std::ops::RangeInclusive;

/// Between the darkest teeth and what a screen still shows with the chroma of teeth.
const LADDER_LIGHTNESS: RangeInclusive<f64> = 45.0..=92.0;

/// One trial in this many shows no restoration.
const CATCH_TRIALS_ONE_IN: u32 = 4;

const EXPOSURE_S: RangeInclusive<f64> = 0.25..=8.0;
const TRIALS: RangeInclusive<u32> = 4..=400;
const QUESTIONS: RangeInclusive<f64> = 1.0..=100.0;

pub(super) fn check_exercise(level: &Level, checker: &mut Checker<'_>) {
    if !can_be_in_view(level) {
        let arch = level.exercise.arch();
        let message = format!("arch is {arch}, but 6, 8 or 10 upper teeth can be in view");
        checker.error("exercise.arch", message, "choose 6, 8 or 10");
    }
    let Exercise::Glance { trials, exposure_s, .. } = &level.exercise else {
        return check_questions(&level.exercise, checker);
    };
    let lower = trials - trials % CATCH_TRIALS_ONE_IN;
    if !TRIALS.contains(trials) {
        checker.error(
            "exercise.trials",
            format!("trials is {trials}, outside {} to {}", TRIALS.start(), TRIALS.end()),
            "choose a multiple of 4; blocks of 20 are usual",
        );
    } else if lower != *trials {
        checker.error(
            "exercise.trials",
            format!("trials is {trials}, not a multiple of 4; a quarter must show no restoration"),
            format!("write {lower} or {}", lower + CATCH_TRIALS_ONE_IN),
        );
    }
    checker.within("exercise.exposure_s", *exposure_s, EXPOSURE_S, " s");
}

/// What exercises with questions must be.
fn check_questions(exercise: &Exercise, checker: &mut Checker<'_>) {
    checker.within("exercise.questions", f64::from(exercise.trials()), QUESTIONS, "");
    let mut options = |options: u8, limits: RangeInclusive<f64>| {
        checker.within("exercise.options", f64::from(options), limits, "");
    };
    match *exercise {
        Exercise::Glance { .. } => {}
        Exercise::Blend { options: n, restored, questions, .. } => {
            options(n, 3.0..=6.0);
            if ![1, 2, 4].contains(&restored) {
                let message = format!("restored is {restored}, but must be 1, 2 or 4 incisors");
                checker.error("exercise.restored", message, "write 1, 2 or 4");
            }
            if questions % 5 != 0 {
                let message = format!(
                    "questions is {questions}, not a multiple of 5; in a fifth none is acceptable"
                );
                let lower = questions - questions % 5;
                let help = match lower {
                    0 => "write 5".to_owned(),
                    lower => format!("write {lower} or {}", lower + 5),
                };
                checker.error("exercise.questions", message, help);
            }
        }
        Exercise::TwoLights { options: n, .. } | Exercise::Margin { options: n, .. } => {
            options(n, 3.0..=6.0);
        }
        Exercise::Ladder { patches, step, .. } => {
            if ![5, 7].contains(&patches) {
                let message = format!("patches is {patches}, but must be 5 or 7");
                checker.error("exercise.patches", message, "write 5 or 7");
            }
            check_range("exercise.step", step, 0.2..=8.0, " L*", checker);
        }
        Exercise::Match { tabs, spacing_de00, .. } => {
            checker.within("exercise.tabs", f64::from(tabs), 4.0..=12.0, "");
            checker.within("exercise.spacing_de00", spacing_de00, 0.5..=6.0, " ΔE00");
        }
        Exercise::Bench { attempts, .. } => {
            checker.within("exercise.attempts", f64::from(attempts), 1.0..=10.0, "");
        }
        Exercise::TryIn { months, .. } => {
            checker.within("exercise.months", months, DRIFT_MONTHS, " months");
        }
        Exercise::Bracket { options: n, thickness_sd_mm, prepared_sd, .. } => {
            options(n, 4.0..=8.0);
            checker.within("exercise.thickness_sd_mm", thickness_sd_mm, 0.0..=0.3, " mm");
            checker.within("exercise.prepared_sd", prepared_sd, 0.0..=6.0, " L*");
        }
        Exercise::Verdict { exposure_s, .. } => {
            checker.within("exercise.exposure_s", exposure_s, EXPOSURE_S, " s");
        }
    }
}

/// All patches of a ladder must be colours that a screen can show and a tooth can have.
pub(super) fn check_ladder(level: &Level, checker: &mut Checker<'_>) {
    let Exercise::Ladder { patches, step, .. } = level.exercise else { return };
    if checker.has_errors() {
        return;
    }
    let half = 0.5 * f64::from(patches.saturating_sub(1)) * step.high;
    let l = level.patient.central.l;
    let (low, high) = (l.low - half, l.high + half);
    if low < *LADDER_LIGHTNESS.start() || high > *LADDER_LIGHTNESS.end() {
        let (least, most) = (LADDER_LIGHTNESS.start(), LADDER_LIGHTNESS.end());
        checker.error(
            "exercise.step",
            format!(
                "with steps up to {} patches reach from L {low:.1} to L {high:.1}, outside {least} \
                 to {most}",
                step.high
            ),
            "make the steps smaller, or narrow or move `patient.central.L`",
        );
    }
    if level.light != Illuminant::D65 {
        let light = level.light.name();
        let message = format!("light is {light}, but patches are screen colours under D65");
        checker.error("light", message, "write `light: D65`");
    }
}

/// The second light must be another one, and options must have something to differ in.
pub(super) fn check_lights(level: &Level, checker: &mut Checker<'_>) {
    let Exercise::TwoLights { second_light, .. } = level.exercise else { return };
    if checker.usable("exercise.second_light")
        && checker.usable("light")
        && second_light == level.light
    {
        checker.error(
            "exercise.second_light",
            format!("both lights are {}", second_light.name()),
            "choose another second light, or another `light`",
        );
    }
}

/// Whether a smile of so many upper teeth can be shown; molars only where they are in the frame.
pub(super) fn can_be_in_view(level: &Level) -> bool {
    let arch = level.exercise.arch();
    [6, 8, 10].contains(&arch) || (arch == 12 && level.framing == Some(Framing::Posterior))
}

/// A measured case has the room that it has: there is no thickness to ask for.
pub(super) fn check_asked_thickness(level: &Level, checker: &mut Checker<'_>) {
    let Exercise::Bench { thickness: BenchThickness::Free, .. } = level.exercise else { return };
    if level.is_stated() {
        checker.error(
            "exercise.thickness",
            "thickness is free, but every colour of this case is measured, and so is its room",
            "leave `thickness` out",
        );
    }
}
