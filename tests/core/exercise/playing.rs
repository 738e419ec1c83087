//! Questions made by hand, and rounds of shipped levels as simulated learners play them.

use crate::shared::levels::shipped_levels;
use second_glance::exercise::*;
use second_glance::level::format::Level;
use second_glance::material::Library;

pub const NOISY: Learner = Learner { noise_de00: 1.2, ..Learner::IDEAL };

pub const LIKES_LIGHT: Learner = Learner { noise_de00: 0.3, value_bias: 1.0, ..Learner::IDEAL };

pub const RANDOM: Learner = Learner { lapse: 1.0, ..Learner::IDEAL };

pub fn levels_of(exercise: &str) -> Vec<Level> {
    let all = shipped_levels().into_iter();
    let levels: Vec<_> = all.filter(|level| level.exercise.name() == exercise).collect();
    assert!(levels.len() >= 2, "{exercise}: {} levels", levels.len());
    levels
}

pub fn question(task: Task) -> Question {
    Question { number: 0, seed_key: "hand/0/0/0".into(), catch: false, sights: Vec::new(), task }
}

pub fn score(question: &Question, answer: Answer) -> f64 {
    question.mark(&answer).unwrap().score.unwrap()
}

pub fn question_refuses(question: &Question, answer: Answer) -> String {
    question.mark(&answer).unwrap_err().to_string()
}

/// Mean score of a learner over a round.
pub fn play(round: &Round, learner: &Learner, seed: u64) -> RoundSummary {
    let answers: Vec<_> =
        round.questions.iter().map(|q| Some(q.answer_of(learner, seed))).collect();
    for (question, answer) in round.questions.iter().zip(&answers) {
        let answer = answer.as_ref().unwrap();
        let mark = question.mark(answer).unwrap();
        assert!(
            !mark.sentences.is_empty() && mark.truth.is_object() && answer.to_json().is_object()
        );
        for sentence in &mark.sentences {
            assert!(sentence.ends_with('.') && !sentence.contains("NaN"), "{sentence}");
        }
    }
    let summary = round.summary(&answers);
    assert_eq!(summary.answered, round.questions.len());
    summary
}

/// Lays out a round, twice, and says how long it took a question.
pub fn laid_out(level: &Level, library: &Library, seed: u64, questions: u32) -> Round {
    let start = std::time::Instant::now();
    let round = lay_out(level, library, seed, Some(questions)).unwrap();
    let took = start.elapsed().as_secs_f64() * 1e3 / f64::from(questions);
    println!("{}: {took:.0} ms a question", level.id);
    assert_eq!(round.questions.len(), questions as usize);
    round
}
