//! Answers to questions in a course: who chooses how well, and what each question does.

use super::course_answer::CourseAnswer;
use super::data::CourseData;
use super::flags::{ItemFlag, item_flags};
use super::profile::Ranged;
use crate::psychophysics::instrument::Interval;
use crate::psychophysics::{
    Answers, ItemFigures, OptionChoice, OptionChoiceFit, Proportion, mean_interval, mean_sd,
    regret_interval,
};
use std::collections::BTreeMap;

/// Fewer picks than this say too little about how somebody chooses. A setting of this program.
const LEAST_PICKS: usize = 8;
/// What scores can be.
const SCORES: (f64, f64) = (0.0, 100.0);

/// What one learner's answers in one exercise come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Choosing {
    /// The exercise, such as `blend`.
    pub exercise: String,
    /// Questions answered.
    pub answered: usize,
    /// Mean score, 0..100, with its 95 % interval.
    pub score: Option<Ranged>,
    /// Mean regret, ΔE00, with its 95 % interval.
    pub regret_de00: Option<Ranged>,
    /// Right answers, of those that are right or wrong.
    pub right: Proportion,
    /// Right answers to the exercise's catches.
    pub nothing: Proportion,
    /// Preferred departure in value, ΔL00, above 0 for lighter; `None` for too few picks.
    pub value_lean: Option<Interval>,
}

/// One exercise in the group.
#[derive(Debug, Clone, PartialEq)]
pub struct ExerciseReport {
    /// The exercise, such as `blend`.
    pub exercise: String,
    /// Learners who answered.
    pub learners: usize,
    /// Their answers.
    pub answered: usize,
    /// Mean of the learners' mean regrets, ΔE00, with its 95 % interval.
    pub regret_de00: Option<Ranged>,
    /// Standard deviation of the learners' mean regrets, ΔE00.
    pub regret_sd: Option<f64>,
    /// Mean of the learners' mean scores, 0..100, with its 95 % interval.
    pub score: Option<Ranged>,
    /// Right answers of all together.
    pub right: Proportion,
    /// Mean of the learners' leanings in value, ΔL00, with its 95 % interval.
    pub value_lean: Option<Ranged>,
}

/// A round whose questions more than one learner answered.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundReport {
    /// What names it: `level/seed/block`.
    pub round: String,
    /// The exercise.
    pub exercise: String,
    /// Learners who answered every question of it: those that the figures are of.
    pub learners: usize,
    /// Kuder-Richardson 20 of right answers.
    pub kr20: Option<f64>,
    /// Its questions, by number.
    pub questions: Vec<QuestionReport>,
}

/// One question in the group.
#[derive(Debug, Clone, PartialEq)]
pub struct QuestionReport {
    /// 0-based number.
    pub number: u32,
    /// Whether it is one of the exercise's catches.
    pub is_catch: bool,
    /// Difficulty and discrimination.
    pub figures: ItemFigures,
    /// Mean regret, ΔE00.
    pub regret_de00: Option<f64>,
    /// Differences of the options, ΔE00; none outside Blend.
    pub options_de00: Vec<f64>,
    /// How often each option was picked, and last how often none was; empty outside Blend.
    pub picked: Vec<u32>,
    /// What is wrong with it.
    pub flags: Vec<ItemFlag>,
}

fn tally<'a>(answers: impl Iterator<Item = &'a &'a CourseAnswer>) -> Proportion {
    let mut proportion = Proportion::default();
    for right in answers.filter_map(|answer| answer.right) {
        proportion.total += 1;
        proportion.successes += u32::from(right);
    }
    proportion
}

/// How somebody leans in value; `None` for too few picks or where the fit does not settle.
fn value_lean(answers: &[&CourseAnswer]) -> Option<Interval> {
    let choice = |answer: &&CourseAnswer| {
        Some(OptionChoice { options: answer.options.clone(), chosen: answer.picked? })
    };
    let choices: Vec<OptionChoice> = answers.iter().filter_map(choice).collect();
    if choices.len() < LEAST_PICKS {
        return None;
    }
    OptionChoiceFit::new(&choices).filter(|fit| fit.converged).map(|fit| fit.value_bias)
}

impl Choosing {
    fn of(exercise: &str, answers: &[&CourseAnswer]) -> Self {
        let of = |value: fn(&CourseAnswer) -> Option<f64>| -> Vec<f64> {
            answers.iter().filter_map(|answer| value(answer)).collect()
        };
        let regrets = of(|answer| answer.regret_de00);
        Self {
            exercise: exercise.to_owned(),
            answered: answers.len(),
            score: mean_interval(&of(|answer| answer.score), SCORES),
            regret_de00: regret_interval(&regrets),
            right: tally(answers.iter()),
            nothing: tally(answers.iter().filter(|answer| answer.is_catch)),
            value_lean: value_lean(answers),
        }
    }
}

impl CourseData {
    /// What every learner's answers come to, by learner and exercise.
    #[must_use]
    pub fn choosing(&self) -> BTreeMap<&str, Vec<Choosing>> {
        let mut answers: BTreeMap<&str, BTreeMap<&str, Vec<&CourseAnswer>>> = BTreeMap::new();
        for answer in &self.answers {
            let exercises = answers.entry(&answer.learner).or_default();
            exercises.entry(&answer.exercise).or_default().push(answer);
        }
        let mut choosing: BTreeMap<&str, Vec<Choosing>> = BTreeMap::new();
        for (learner, exercises) in answers {
            let of_learner = choosing.entry(learner).or_default();
            for (exercise, answers) in exercises {
                of_learner.push(Choosing::of(exercise, &answers));
            }
        }
        choosing
    }

    /// Every exercise with questions in the group.
    #[must_use]
    pub fn exercises(&self) -> Vec<ExerciseReport> {
        let mut by_exercise: BTreeMap<String, Vec<Choosing>> = BTreeMap::new();
        for choosing in self.choosing().into_values().flatten() {
            by_exercise.entry(choosing.exercise.clone()).or_default().push(choosing);
        }
        let report = |(exercise, learners): (String, Vec<Choosing>)| {
            let of = |value: fn(&Choosing) -> Option<f64>| -> Vec<f64> {
                learners.iter().filter_map(value).collect()
            };
            let regrets = of(|c| c.regret_de00.map(|r| r.0));
            let mut right = Proportion::default();
            for choosing in &learners {
                right.successes += choosing.right.successes;
                right.total += choosing.right.total;
            }
            ExerciseReport {
                exercise,
                learners: learners.len(),
                answered: learners.iter().map(|c| c.answered).sum(),
                regret_de00: regret_interval(&regrets),
                regret_sd: mean_sd(&regrets).map(|(_, sd)| sd),
                score: mean_interval(&of(|c| c.score.map(|s| s.0)), SCORES),
                right,
                value_lean: mean_interval(
                    &of(|c| c.value_lean.map(|lean| lean.value)),
                    (f64::NEG_INFINITY, f64::INFINITY),
                ),
            }
        };
        by_exercise.into_iter().map(report).collect()
    }

    /// Every round of questions that are right or wrong which two learners or more answered in
    /// full. Where somebody answered a question again, the first answer counts.
    #[must_use]
    pub fn rounds(&self) -> Vec<RoundReport> {
        let mut rounds: BTreeMap<&str, BTreeMap<&str, BTreeMap<u32, &CourseAnswer>>> =
            BTreeMap::new();
        for answer in self.answers.iter().filter(|answer| answer.right.is_some()) {
            let learners = rounds.entry(answer.round()).or_default();
            learners.entry(&answer.learner).or_default().entry(answer.number).or_insert(answer);
        }
        rounds.into_iter().filter_map(|(round, learners)| round_report(round, &learners)).collect()
    }
}

fn round_report(
    round: &str,
    learners: &BTreeMap<&str, BTreeMap<u32, &CourseAnswer>>,
) -> Option<RoundReport> {
    let most = learners.values().map(BTreeMap::len).max()?;
    let complete: Vec<&BTreeMap<u32, &CourseAnswer>> =
        learners.values().filter(|answers| answers.len() == most).collect();
    let first = *complete.first()?;
    if complete.len() < 2 || complete.iter().any(|answers| !answers.keys().eq(first.keys())) {
        return None;
    }
    let rows: Vec<Vec<bool>> = complete
        .iter()
        .map(|answers| answers.values().map(|answer| answer.right == Some(true)).collect())
        .collect();
    let answers = Answers::new(&rows)?;
    let questions = first.iter().zip(answers.items()).map(|((number, asked), figures)| {
        let given: Vec<&CourseAnswer> =
            complete.iter().filter_map(|answers| answers.get(number).copied()).collect();
        let regrets: Vec<f64> = given.iter().filter_map(|answer| answer.regret_de00).collect();
        let mut picked =
            vec![0; if asked.options.is_empty() { 0 } else { asked.options.len() + 1 }];
        for answer in &given {
            if let Some(count) = picked.get_mut(answer.picked.unwrap_or(asked.options.len())) {
                *count += 1;
            }
        }
        QuestionReport {
            number: *number,
            is_catch: asked.is_catch,
            flags: item_flags(&figures, complete.len(), first.len()),
            figures,
            regret_de00: (!regrets.is_empty())
                .then(|| regrets.iter().sum::<f64>() / regrets.len() as f64),
            options_de00: asked.options.iter().map(|option| option.distance(1.0, 0.0)).collect(),
            picked,
        }
    });
    Some(RoundReport {
        round: round.to_owned(),
        exercise: first.values().next()?.exercise.clone(),
        learners: complete.len(),
        kr20: answers.kr20(),
        questions: questions.collect(),
    })
}
