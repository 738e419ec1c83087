//! `form`, `roster` and `course simulate`.

use crate::app::cli::arguments::{FormArguments, Options, RosterArguments, Simulate};
use crate::app::cli::command::course_data::{bar, today, write_report};
use crate::app::cli::command::course_error::CourseError;
use crate::app::cli::exit::ExitWith;
use crate::course::{
    CourseData, Form, FormTruth, GroupReport, REFERENCE_DE00, Recovery, Roster, SimulatedGroup,
    SimulatedLearner, simulate_hand_ins_with_answers, told_classes,
};
use crate::exercise::{Learner, Question, Round, Times};
use crate::level::course_format::Course;
use crate::play::content::shipped;
use crate::play::content::shipped::Shipped;
use crate::play::content::{Content, ContentError};
use crate::play::records::table_folder;
use crate::report::CourseReportOptions;
use crate::results::{AnswerRow, Store, create_private, create_private_folder};
use crate::trial::InputDevice;
use crate::words::count;
use std::collections::hash_map::RandomState;
use std::fmt::Write;
use std::hash::{BuildHasher, Hasher};

pub(crate) fn form(arguments: &FormArguments) -> ExitWith {
    let form = match Form::new(arguments.seed, arguments.per_cell) {
        Ok(form) => form,
        Err(error) => return ExitWith::failure(error),
    };
    let (figures, design) = (form.figures(), form.design());
    say!(
        "form {}: {} with a restoration, {} without",
        form.seed,
        count(form.signals(), "smile", "smiles"),
        form.items.len() - form.signals()
    );
    for (k, tau) in REFERENCE_DE00.into_iter().enumerate() {
        say!(
            "expected score of a learner with threshold {tau}: {:.3} (design {:.3})",
            figures.expected_scores[k],
            design.expected_scores[k]
        );
    }
    say!(
        "information about ln τ at 1.8: {:.1} (design {:.1}), error of ln τ at best {:.3}",
        figures.information,
        design.information,
        figures.sem_ln_threshold()
    );
    let Some(seat) = arguments.order else { return ExitWith::success() };
    match form.order(seat) {
        Ok(order) => {
            for (place, (block, item)) in order.iter().enumerate() {
                let what = item.signal.map_or_else(
                    || "none".to_owned(),
                    |s| format!("{} {:.2} {}", s.tooth, s.de00, s.direction.name()),
                );
                say!("{:3}  block {block}  item {:2}  {what}", place + 1, item.number + 1);
            }
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}

pub(crate) fn roster(arguments: &RosterArguments) -> ExitWith {
    ExitWith::of(drawn(arguments))
}

fn drawn(arguments: &RosterArguments) -> Result<String, CourseError> {
    // Keys of the standard library's hash tables come from the system's source of randomness.
    let entropy = RandomState::new().build_hasher().finish();
    let roster = Roster::draw(entropy, arguments.learners);
    let out = &arguments.out;
    if out.exists() {
        return Err(CourseError::RosterThere(out.clone()));
    }
    let file = create_private(out).map_err(CourseError::refused("write", out))?;
    roster.write(file).map_err(|source| CourseError::Roster { path: out.clone(), source })?;
    let learners = count(arguments.learners, "learner", "learners");
    Ok(format!("{learners} in {}", crate::printable::path(out)))
}

pub(crate) fn simulate(arguments: &Simulate, options: &Options) -> ExitWith {
    ExitWith::of(simulated(arguments, options))
}

fn simulated(arguments: &Simulate, options: &Options) -> Result<String, CourseError> {
    let course = shipped::course(&arguments.course, &options.folders())?;
    if let Some(fault) = shipped::faults_of_forms(&course).into_iter().next() {
        return Err(CourseError::Form(fault));
    }
    let hand_ins = arguments.out.join("hand-ins");
    if arguments.out.exists() {
        return Err(CourseError::FolderThere(arguments.out.clone()));
    }
    let round = match &arguments.questions {
        Some(level) => Some(questions(level, options)?),
        None => None,
    };
    create_private_folder(&hand_ins).map_err(CourseError::refused("make", &hand_ins))?;
    let group = SimulatedGroup {
        learners: arguments.learners,
        seed: arguments.seed,
        ..SimulatedGroup::default()
    };
    let learners = group.draw(course.phases().len());
    let all = learners.len().max(1) as f64;
    let day = today();
    let answers = |learner: &SimulatedLearner| -> Vec<AnswerRow> {
        round.as_ref().map(|round| answers_to(round, learner)).unwrap_or_default()
    };
    let mut progress = |done| bar("sitting", done as f64 / all);
    let files = simulate_hand_ins_with_answers(
        &course,
        &learners,
        &answers,
        &day,
        &hand_ins,
        &mut progress,
    )?;
    let mut store = Store::open(&arguments.out.join("gathered"))?;
    let truth = FormTruth::new(vec![course.clone()]);
    let gathered = store.gather(&files, Some(&course.id), &truth, &mut |done| {
        bar("gathering", done as f64 / all);
    })?;
    if let Some((_, error)) = gathered.refused.into_iter().next() {
        return Err(error.into());
    }
    let data = CourseData::read(&store, Some(&course.id), &|share| bar("estimating", share))?;
    let report = arguments.out.join("report.html");
    let options =
        CourseReportOptions { course: Some(&course), shared: false, pages: true, day: &day };
    write_report(&data, &options, &report)?;
    let found = compared(&data, &course, &group, &learners);
    Ok(format!("{found}report in {}", crate::printable::path(&report)))
}

/// What was found beside what is true of the learners, a line each.
fn compared(
    data: &CourseData,
    course: &Course,
    group: &SimulatedGroup,
    learners: &[SimulatedLearner],
) -> String {
    let mut out = String::new();
    let told = told_classes(data, course, learners);
    let _ = writeln!(
        out,
        "classes: {} of {} learners are given one, {} of these rightly",
        told.total,
        learners.len(),
        told.successes
    );
    for (place, phase) in course.phases().iter().enumerate() {
        let Some(r) = Recovery::new(data, learners, *phase, place) else { continue };
        let inside = 100.0 * r.coverage.value().unwrap_or(0.0);
        let _ = writeln!(
            out,
            "{}: {}, ln τ off by {:+.3} ± {:.3}, RMSE {:.3} (stated {:.3}), 95 % intervals hold \
             the truth in {inside:.1} %, r {:.3}",
            phase.name(),
            count(r.sittings, "sitting", "sittings"),
            r.bias.0,
            r.bias.1,
            r.rmse,
            r.stated,
            r.correlation
        );
    }
    for change in &GroupReport::new(data).changes {
        let c = change.ln_threshold;
        let _ = writeln!(
            out,
            "change of ln τ {:+.3} ({:+.3} to {:+.3}); true mean {:+.3}",
            c.mean, c.interval.0, c.interval.1, group.change.0
        );
    }
    out
}

/// The questions of a level, the same for everyone.
fn questions(level: &str, options: &Options) -> Result<Round, ContentError> {
    let (levels, materials) = (options.levels.as_deref(), options.materials.as_deref());
    let content = Shipped::load_all(levels, materials, table_folder())?;
    content.round(level, content.level_seed(level)?, None)
}

/// What a simulated learner answers to a round. A time of 10 s each has no meaning; every row has one.
fn answers_to(round: &Round, learner: &SimulatedLearner) -> Vec<AnswerRow> {
    const ANSWER_S: f64 = 10.0;
    let sees = Learner {
        noise_de00: learner.chooser.noise_de00,
        value_bias: learner.chooser.value_bias,
        value_weight: learner.chooser.value_weight,
        lapse: learner.chooser.lapse,
    };
    let row = |question: &Question| {
        let answer = question.answer_of(&sees, round.seed ^ learner.seat);
        let mark = question.mark(&answer).ok()?;
        let shown_s = ANSWER_S * f64::from(question.number);
        let times = Times { shown_s, answer_s: shown_s + ANSWER_S, response_time_s: ANSWER_S };
        Some(round.row(question, "practice", &answer, &mark, times, InputDevice::Simulated))
    };
    round.questions.iter().filter_map(row).collect()
}
