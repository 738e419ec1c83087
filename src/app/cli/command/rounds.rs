//! `rehearse` and `draw` for exercises with questions.

use crate::app::cli::arguments::{Draw, ObserverKind, Options, Rehearse};
use crate::app::cli::command::draw::{DrawError, save_both};
use crate::app::cli::command::rehearse::in_words;
use crate::app::cli::exit::ExitWith;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::Condition;
use crate::exercise::{
    Answer, AnswerError, Learner, Mark, Question, Round, RoundTally, Sight, Task, Times,
    catch_in_words, fits,
};
use crate::play::content::Content;
use crate::play::records::Records;
use crate::results::AnswerRow;
use crate::trial::InputDevice;
use std::path::Path;
use std::sync::Arc;

/// The mode of rehearsals in results.
const REHEARSAL: &str = "rehearsal";
/// Refresh rate of the simulated display, Hz.
const REFRESH_HZ: f64 = 60.0;
/// Time that a simulated learner takes for a question, s. It has no meaning; every row has one.
const ANSWER_S: f64 = 10.0;
/// Questions whose smiles get pictures.
const PICTURED: usize = 1;
/// Size of those pictures, pixels.
const PICTURE_SIZE: (u32, u32) = (1280, 600);

/// The simulated learner that an observer is in exercises with questions.
const fn learner(kind: ObserverKind) -> Option<Learner> {
    let noisy = Learner { noise_de00: 0.6, value_bias: 0.0, value_weight: 1.0, lapse: 0.02 };
    match kind {
        ObserverKind::Noisy => Some(noisy),
        ObserverKind::Biased => Some(Learner { value_bias: 0.6, ..noisy }),
        ObserverKind::Ideal | ObserverKind::AlwaysRight => Some(Learner::IDEAL),
        ObserverKind::Random => Some(Learner { lapse: 1.0, ..noisy }),
        _ => None,
    }
}

/// Plays a round with a simulated learner.
pub(crate) fn rehearse(
    level: &str,
    seed: u64,
    arguments: &Rehearse,
    options: &Options,
    content: &dyn Content,
) -> ExitWith {
    let Some(learner) = learner(arguments.observer) else {
        return ExitWith::failure(
            "this observer answers timed levels only; for questions choose noisy, biased, ideal, \
             always-right or random",
        );
    };
    let round = match content.round(level, seed, arguments.trials) {
        Ok(round) => round,
        Err(error) => return ExitWith::failure(error),
    };
    let given = match answers(&round, &learner) {
        Ok(given) => given,
        Err(error) => return ExitWith::failure(error),
    };
    say!("{}\nseed {seed}, learner: {}\n", round.title, in_words(arguments.observer));
    for (question, _, mark) in &given {
        say!("{}", line(question, mark));
    }
    let rows: Vec<AnswerRow> =
        given.iter().map(|(question, answer, mark)| row(&round, question, answer, mark)).collect();
    say!("\n{}", RoundTally::of(&rows).sentences().join("\n"));
    let all: Vec<Option<Answer>> =
        given.iter().map(|(_, answer, _)| Some(answer.clone())).collect();
    for sentence in round.summary(&all).sentences {
        say!("{sentence}");
    }
    let pairs: Vec<(Question, Answer)> =
        given.into_iter().map(|(question, answer, _)| (question.clone(), answer)).collect();
    for sentence in fits(&pairs) {
        say!("{sentence}");
    }
    if options.data_dir.is_some()
        && let Err(error) = keep(&round, &rows, options)
    {
        return ExitWith::failure(error);
    }
    pictures(&round, &arguments.out, content)
}

fn answers<'a>(
    round: &'a Round,
    learner: &Learner,
) -> Result<Vec<(&'a Question, Answer, Mark)>, AnswerError> {
    let one = |question: &'a Question| {
        let answer = question.answer_of(learner, round.seed);
        let mark = question.mark(&answer)?;
        Ok((question, answer, mark))
    };
    round.questions.iter().map(one).collect()
}

fn row(round: &Round, question: &Question, answer: &Answer, mark: &Mark) -> AnswerRow {
    let shown_s = ANSWER_S * f64::from(question.number);
    let times = Times { shown_s, answer_s: shown_s + ANSWER_S, response_time_s: ANSWER_S };
    round.row(question, REHEARSAL, answer, mark, times, InputDevice::Simulated)
}

fn line(question: &Question, mark: &Mark) -> String {
    let score = mark.score.map_or("  -".to_owned(), |score| format!("{score:3.0}"));
    let regret = mark.regret_de00.map_or(String::new(), |r| format!("  regret {r:.2}"));
    let catch = catch_in_words(question.task.name())
        .filter(|_| question.catch)
        .map_or_else(String::new, |words| format!("  ({words})"));
    let said = mark.sentences.first().map_or("", String::as_str);
    format!("{:3}  score {score}{regret}{catch}  {said}", question.number + 1)
}

fn keep(round: &Round, rows: &[AnswerRow], options: &Options) -> Result<(), String> {
    let records = Records::open(options.data_dir.as_deref()).map_err(|e| e.to_string())?;
    let questions = round.questions.len();
    let begun = records.begin_round(round, REHEARSAL, REFRESH_HZ, questions, None);
    let stored = begun.and_then(|recording| {
        for row in rows {
            records.append_answer(recording, row)?;
        }
        records.finish(recording)
    });
    stored.map_err(|error| error.to_string())?;
    say!("stored in {}", records.location());
    Ok(())
}

/// Pictures are an extra: without an adapter the rehearsal still counts.
fn pictures(round: &Round, dir: &Path, content: &dyn Content) -> ExitWith {
    let first = &round.questions[..round.questions.len().min(PICTURED)];
    match draw_questions(first, |_| {}, PICTURE_SIZE, dir, content) {
        Ok(0) => ExitWith::success(),
        Ok(count) => {
            say!("{count} pictures in {}", crate::printable::path(dir));
            ExitWith::success()
        }
        Err(DrawError::Renderer(error)) => {
            say!("No pictures: {error}.");
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}

/// Draws the smiles of a round's questions.
pub(crate) fn draw(arguments: &Draw, seed: u64, content: &dyn Content) -> ExitWith {
    let round = match content.round(&arguments.level, seed, Some(arguments.trials)) {
        Ok(round) => round,
        Err(error) => return ExitWith::failure(error),
    };
    let change = |sight: &mut Sight| {
        let case = &mut sight.case;
        case.illuminant = arguments.light.map_or(case.illuminant, Into::into);
        case.staging.framing = arguments.framing.map_or(case.staging.framing, Into::into);
        case.staging.lamp = arguments.lamp.map_or(case.staging.lamp, Into::into);
    };
    match draw_questions(&round.questions, change, arguments.size, &arguments.out, content) {
        Ok(0) => ExitWith::failure("these questions have no smiles to draw, only patches"),
        Ok(count) => {
            say!("{count} pictures in {}", crate::printable::path(&arguments.out));
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}

/// Every smile that can be looked at in a question.
fn sights(question: &Question) -> Vec<Sight> {
    let mut sights = question.sights.clone();
    match &question.task {
        Task::TwoLights(task) => sights.extend(task.second_sights.iter().map(|sight| Sight {
            name: format!("{} {}", sight.name, task.second_light.name()),
            case: sight.case.clone(),
        })),
        Task::Bench(task) => {
            sights.push(Sight { name: "start".to_owned(), case: task.case_with(&task.start) });
        }
        _ => {}
    }
    sights
}

/// Draws each question's smiles, in colour and value only, and once the mouth with every tooth
/// natural, into `dir`. Returns the number of files.
fn draw_questions(
    questions: &[Question],
    change: impl Fn(&mut Sight),
    (width, height): (u32, u32),
    dir: &Path,
    content: &dyn Content,
) -> Result<usize, DrawError> {
    if questions.iter().all(|question| sights(question).is_empty()) {
        return Ok(0);
    }
    let mut renderer = OffscreenRenderer::new()?;
    let mut files = 0;
    for question in questions {
        for (index, mut sight) in sights(question).into_iter().enumerate() {
            change(&mut sight);
            let scene = Arc::new(content.bake(&sight.case)?);
            let name = sight.name.to_lowercase().replace(|c: char| !c.is_alphanumeric(), "-");
            let mut conditions = vec![(Condition::Restored, name)];
            if index == 0 && scene.truth.is_some() {
                conditions.push((Condition::Twin, "natural".to_owned()));
            }
            for (condition, name) in conditions {
                let picture = renderer.render(&PictureRequest {
                    scene: scene.clone(),
                    condition,
                    width,
                    height,
                    lighting: Lighting::Studio,
                })?;
                files += save_both(&picture, dir, &format!("{:03}-{name}", question.number + 1))?;
            }
        }
    }
    Ok(files)
}
