//! What must hold in a course file.

use super::checker::Checker;
use super::course_format::{COURSE_FORMAT, Course, CourseMode, FormEntry, Phase, SEATS, Step};
use super::diagnostic::{nearest, one_of_ids};
use super::known::KnownMaterials;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

const EXPOSURE_S: RangeInclusive<f64> = 0.25..=8.0;
const RESPONSE_S: RangeInclusive<f64> = 2.0..=60.0;
const RESPONSE_FACTOR: RangeInclusive<f64> = 1.0..=10.0;
const COURSE_MINUTES: RangeInclusive<f64> = 1.0..=480.0;
const STEP_MINUTES: RangeInclusive<f64> = 0.5..=120.0;
const PER_CELL: RangeInclusive<u8> = 1..=3;
const TRIALS: RangeInclusive<u32> = 4..=400;
const THRESHOLD_DE00: RangeInclusive<f64> = 0.3..=7.5;
const SHARE: RangeInclusive<f64> = 0.0..=1.0;
/// Exposure at which thresholds are stated, s.
const STATED_EXPOSURE_S: f64 = 2.5;
/// Fixation, mask, gap and a usual time to answer of one smile of a form, s; a design estimate.
const AROUND_A_SMILE_S: f64 = 5.0;
/// The same of a smile of practice, where its debrief is read.
const AROUND_PRACTICE_S: f64 = 12.0;
/// The least around a smile of a form, for who answers at once, s: fixation, mask and gap.
const LEAST_AROUND_S: f64 = 1.8;
/// What a question of an exercise with options takes about, and at the least, s; design estimates.
const QUESTION_S: f64 = 30.0;
const LEAST_QUESTION_S: f64 = 5.0;
const QUESTIONS: RangeInclusive<u32> = 1..=400;

pub(super) fn check_course(course: &Course, known: &KnownMaterials, checker: &mut Checker<'_>) {
    checker.format(course.format, COURSE_FORMAT);
    checker.id("id", &course.id);
    if let Some(stem) = checker.file_stem().filter(|stem| *stem != course.id) {
        checker.error(
            "id",
            format!("id \"{}\" differs from the file name \"{stem}\"", course.id),
            format!("write `id: \"{stem}\"` or rename the file to \"{}.ron\"", course.id),
        );
    }
    checker.not_blank("title", &course.title);
    checker.not_blank("teaches", &course.teaches);
    checker.within("minutes", course.minutes, COURSE_MINUTES, " min");
    checker.within("exposure_s", course.exposure_s, EXPOSURE_S, " s");
    if (course.exposure_s - STATED_EXPOSURE_S).abs() > 1e-9
        && EXPOSURE_S.contains(&course.exposure_s)
    {
        checker.warning(
            "exposure_s",
            format!("thresholds are stated at {STATED_EXPOSURE_S} s; {} s needs a model of how sight builds up", course.exposure_s),
            format!("write {STATED_EXPOSURE_S} unless another time is the point"),
        );
    }
    checker.within("response_s", course.response_s, RESPONSE_S, " s");
    let factor = course.accommodation.most_response_factor;
    checker.within("accommodation.most_response_factor", factor, RESPONSE_FACTOR, "");
    check_forms(course, checker);
    check_steps(course, known, checker);
    check_phases(course, checker);
    check_judgement(course, checker);
    check_time(course, known, checker);
}

fn check_forms(course: &Course, checker: &mut Checker<'_>) {
    let at = |index: usize, field: &str| format!("forms[{index}].{field}");
    let mut seeds: BTreeSet<u64> = BTreeSet::new();
    for (index, form) in course.forms.iter().enumerate() {
        checker.id(&at(index, "id"), &form.id);
        if !PER_CELL.contains(&form.per_cell) {
            checker.error(
                &at(index, "per_cell"),
                format!("per_cell is {}, outside 1 to 3", form.per_cell),
                "write 1, 2 or 3 for forms of 21, 43 or 64 smiles",
            );
        }
        if !seeds.insert(form.seed) {
            checker.error(
                &at(index, "seed"),
                format!("seed {} is used by another form", form.seed),
                "forms of one seed show the same smiles: choose another",
            );
        }
        let sat = course.steps.iter().any(|step| match step {
            Step::Form { forms, .. } => forms.contains(&form.id),
            _ => false,
        });
        if !sat && checker.entire("steps") {
            checker.warning(
                &at(index, "id"),
                format!("form \"{}\" is used by no step", form.id),
                "leave it if it is a spare",
            );
        }
    }
    checker.unique(course.forms.iter().enumerate().map(|(i, f)| (at(i, "id"), f.id.as_str())));
}

fn check_steps(course: &Course, known: &KnownMaterials, checker: &mut Checker<'_>) {
    if course.steps.is_empty() {
        checker.error("steps", "steps is empty", "write at least one step");
    }
    for (index, step) in course.steps.iter().enumerate() {
        let path = format!("steps[{index}]");
        let at = |field: &str| format!("{path}.{field}");
        match step {
            Step::Talk { title, minutes } => {
                checker.not_blank(&at("title"), title);
                checker.within(&at("minutes"), *minutes, STEP_MINUTES, " min");
            }
            Step::Form { forms, .. } => check_form_step(course, forms, &at("forms"), checker),
            Step::Practice { level, trials } => {
                check_level(level, &at("level"), known, checker);
                if known.asks_questions(level) {
                    if let Some(trials) = trials.filter(|t| !QUESTIONS.contains(t)) {
                        checker.error(
                            &at("trials"),
                            format!("trials is {trials}, not a number of questions from 1 to 400"),
                            format!("\"{level}\" asks questions; write how many"),
                        );
                    }
                } else if let Some(trials) = trials.filter(|t| !TRIALS.contains(t) || t % 4 != 0) {
                    checker.error(
                        &at("trials"),
                        format!("trials is {trials}, not a multiple of 4 from 4 to 400"),
                        "a quarter of the smiles shows no restoration",
                    );
                }
            }
            Step::Measure { axes, minutes } => {
                let distinct: BTreeSet<_> = axes.iter().collect();
                if axes.is_empty() || distinct.len() != axes.len() {
                    checker.error(
                        &at("axes"),
                        "axes must name 1 to 4 axes, none twice",
                        "write some of Darker, Lighter, Chroma, Hue",
                    );
                }
                checker.within(&at("minutes"), *minutes, STEP_MINUTES, " min");
            }
            Step::FindIt { minutes } => {
                checker.within(&at("minutes"), *minutes, STEP_MINUTES, " min");
            }
        }
    }
}

fn check_form_step(course: &Course, forms: &[String], path: &str, checker: &mut Checker<'_>) {
    if forms.is_empty() {
        checker.error(path, "forms is empty", "name at least one form of the course");
    }
    let ids: BTreeSet<String> = course.forms.iter().map(|form| form.id.clone()).collect();
    let mut seen = BTreeSet::new();
    for (index, id) in forms.iter().enumerate() {
        let path = format!("{path}[{index}]");
        if !ids.contains(id) && checker.entire("forms") {
            let help = match nearest(id, ids.iter().map(String::as_str)) {
                Some(meant) => format!("did you mean \"{meant}\"?"),
                None if ids.is_empty() => "add it to `forms`".to_owned(),
                None => format!("write {}", one_of_ids(&ids)),
            };
            checker.error(&path, format!("the course has no form \"{id}\""), help);
        }
        if !seen.insert(id) {
            checker.error(&path, format!("form \"{id}\" is named twice"), "remove one");
        }
    }
}

fn check_level(level: &str, path: &str, known: &KnownMaterials, checker: &mut Checker<'_>) {
    if known.levels.contains(level) {
        return;
    }
    let help = match nearest(level, known.levels.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean \"{meant}\"?"),
        None if known.levels.is_empty() => "check the level files together with this".to_owned(),
        None => format!("write {}", one_of_ids(&known.levels)),
    };
    checker.error(path, format!("there is no level \"{level}\""), help);
}

fn check_phases(course: &Course, checker: &mut Checker<'_>) {
    let mut last: Option<Phase> = None;
    for (index, step) in course.steps.iter().enumerate() {
        let Step::Form { phase, .. } = step else { continue };
        let path = format!("steps[{index}].phase");
        match last {
            Some(before) if before == *phase => checker.error(
                &path,
                format!("phase {phase:?} has a form already"),
                "give every form a phase of its own: Pre, Post, Delayed",
            ),
            Some(before) if before > *phase || *phase == Phase::Only || before == Phase::Only => {
                checker.error(
                    &path,
                    format!("phase {phase:?} comes after {before:?}"),
                    "order them Pre, Post, Delayed; Only stands alone",
                );
            }
            _ => {}
        }
        last = Some(*phase);
    }
    check_alone(course, checker);
    // A smile seen twice measures memory. What repeats for one seat repeats within as many seats
    // as the product of two lists.
    let phases = course.phases();
    for (i, later) in phases.iter().enumerate() {
        for earlier in &phases[..i] {
            let same = |seat| {
                let form: Option<&FormEntry> = course.form_of(*earlier, seat);
                form.is_some() && form == course.form_of(*later, seat)
            };
            if (0..SEATS).any(same)
                && let Some(index) = course
                    .steps
                    .iter()
                    .position(|s| matches!(s, Step::Form { phase, .. } if phase == later))
            {
                checker.error(
                    &format!("steps[{index}].forms"),
                    format!("some seats sit the same form in {earlier:?} and {later:?}"),
                    "list the forms in another order: [\"a\", \"b\"] before, [\"b\", \"a\"] after",
                );
            }
        }
    }
}

/// A form before teaching is there to be compared with one after it, and the other way round.
fn check_alone(course: &Course, checker: &mut Checker<'_>) {
    let mut forms = course.steps.iter().enumerate().filter_map(|(index, step)| match step {
        Step::Form { phase, .. } => Some((index, *phase)),
        _ => None,
    });
    let (Some((index, phase)), None) = (forms.next(), forms.next()) else { return };
    if phase == Phase::Only || !checker.entire("steps") {
        return;
    }
    let other = if phase == Phase::Pre { "after" } else { "before" };
    let add = if phase == Phase::Pre { "Post" } else { "Pre" };
    checker.error(
        &format!("steps[{index}].phase"),
        format!("phase {phase:?} is the only one with a form: there is none {other} it to compare it with"),
        format!("add a step `Form(forms: [ … ], phase: {add})`, or write `phase: Only`"),
    );
}

fn check_judgement(course: &Course, checker: &mut Checker<'_>) {
    if let Some(pass) = course.pass {
        checker.within("pass.threshold_de00", pass.threshold_de00, THRESHOLD_DE00, "");
        checker.within("pass.false_alarms", pass.false_alarms, SHARE, "");
        if course.phases().is_empty() && checker.entire("steps") {
            checker.error("pass", "no step can be passed", "add a form, or leave `pass` out");
        }
        if course.mode == CourseMode::Lecture {
            checker.error(
                "pass",
                "answers in a lecture are not anyone's own",
                "leave `pass` out, or write `mode: Exam`",
            );
        }
    }
    let Some(limits) = course.classes else { return };
    let (asked, there) = (limits.least_catch_trials, course.catch_trials());
    let whole = checker.entire("steps") && checker.entire("forms") && !course.phases().is_empty();
    if asked > there && whole {
        checker.error(
            "classes.least_catch_trials",
            format!(
                "least_catch_trials is {asked}, but the forms that a learner sits have {there} smiles \
                 without a restoration: nobody could be given a class"
            ),
            format!("write {there} or fewer, some fewer for answers that do not come in time, or add forms"),
        );
    }
    checker.within("classes.fine_de00", limits.fine_de00, THRESHOLD_DE00, "");
    checker.within("classes.clinical_de00", limits.clinical_de00, THRESHOLD_DE00, "");
    checker.within("classes.developing_de00", limits.developing_de00, THRESHOLD_DE00, "");
    checker.within("classes.false_alarms", limits.false_alarms, SHARE, "");
    let rising =
        limits.fine_de00 < limits.clinical_de00 && limits.clinical_de00 < limits.developing_de00;
    if !rising {
        checker.error(
            "classes",
            "the limits of the classes do not rise",
            "write fine_de00 below clinical_de00 below developing_de00",
        );
    }
}

impl Course {
    /// Time the steps are expected to take, minutes. What a level without `trials` takes is
    /// counted as 20 smiles.
    #[must_use]
    pub fn expected_minutes(&self) -> f64 {
        self.minutes_of(&|_| false, AROUND_A_SMILE_S, AROUND_PRACTICE_S, QUESTION_S, 1.0)
    }

    /// The time of all steps with so many seconds around every smile of a form and of practice, and
    /// for every question; `share` of what a measurement may take.
    fn minutes_of(
        &self,
        asks_questions: &dyn Fn(&str) -> bool,
        around_smile_s: f64,
        around_practice_s: f64,
        question_s: f64,
        share: f64,
    ) -> f64 {
        let step = |step: &Step| match step {
            Step::Talk { minutes, .. } => *minutes,
            Step::Measure { minutes, .. } | Step::FindIt { minutes } => share * minutes,
            Step::Form { forms, .. } => {
                let longest = self
                    .forms
                    .iter()
                    .filter(|form| forms.contains(&form.id))
                    .map(|form| form.signals() + form.catch_trials())
                    .max()
                    .unwrap_or(0);
                f64::from(longest) * (self.exposure_s + around_smile_s) / 60.0
            }
            Step::Practice { trials, level } => {
                let each = if asks_questions(level) {
                    question_s
                } else {
                    self.exposure_s + around_practice_s
                };
                f64::from(trials.unwrap_or(20)) * each / 60.0
            }
        };
        self.steps.iter().map(step).sum()
    }
}

fn check_time(course: &Course, known: &KnownMaterials, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let asks = |level: &str| known.asks_questions(level);
    let minutes = |around, practice, question, share| {
        course.minutes_of(&asks, around, practice, question, share)
    };
    let least = minutes(LEAST_AROUND_S, LEAST_AROUND_S, LEAST_QUESTION_S, 0.0);
    let expected = minutes(AROUND_A_SMILE_S, AROUND_PRACTICE_S, QUESTION_S, 1.0);
    let help = "shorten the forms (per_cell) or the steps, or allow more time";
    if least > course.minutes {
        checker.error(
            "minutes",
            format!(
                "minutes is {}, but the steps take {:.0} min for who answers at once, and about \
                 {expected:.0}",
                course.minutes,
                least.ceil()
            ),
            help,
        );
    } else if expected > course.minutes {
        checker.warning(
            "minutes",
            format!("the steps take about {expected:.0} min, more than {} min", course.minutes),
            help,
        );
    }
}
