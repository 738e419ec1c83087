//! Blend: every shipped question is fair, and simulated learners score as they should.

use crate::shared::blend::{ROUNDS, blend_levels, task, tasks};
use crate::shared::levels::LIBRARY;
use rand::RngExt;
use second_glance::exercise::blend::{
    APART_DE00, BlendAsked, BlendTask, MODEL_ERROR_DE00, NONE_ACCEPTABLE_DE00, PAIR_DE00, Standing,
    next_question, standings,
};
use second_glance::exercise::{
    Answer, AnswerError, BlendAnswer, Learner, Question, Wording, lay_out,
};
use second_glance::level::format::Exercise;
use second_glance::psychophysics::{OptionChoiceFit, OptionSession, OptionStop, OptionStopReason};
use second_glance::random::{Purpose, StreamKey};
use std::collections::BTreeSet;

#[test]
fn levels_run_from_easy_to_hard_and_say_what_they_teach() {
    let levels = blend_levels();
    assert!(levels.len() >= 5, "{} levels", levels.len());
    let difficulties: BTreeSet<u8> = levels.iter().map(|level| level.difficulty).collect();
    assert!(difficulties.len() >= 5 && difficulties.first() == Some(&1), "{difficulties:?}");
    let restored: BTreeSet<u8> = levels
        .iter()
        .filter_map(|level| match level.exercise {
            Exercise::Blend { restored, .. } => Some(restored),
            _ => None,
        })
        .collect();
    assert_eq!(restored, BTreeSet::from([1, 2, 4]));
    // The single central is the hardest.
    let hardest = levels.iter().max_by_key(|level| level.difficulty).unwrap();
    assert!(matches!(hardest.exercise, Exercise::Blend { restored: 1, .. }), "{}", hardest.id);
    assert!(hardest.restorations.iter().all(|kind| kind.teeth == Some(vec![11, 21])));
}

#[test]
fn questions_are_fair() {
    for (level, question, task) in tasks() {
        let name = &question.seed_key;
        let Exercise::Blend { options, restored, .. } = level.exercise else { continue };
        assert_eq!(task.options.len(), usize::from(options), "{name}");
        assert_eq!(question.sights.len(), task.options.len(), "{name}");
        assert_eq!(task.teeth.len(), usize::from(restored), "{name}");
        let de00: Vec<f64> = task.options.iter().map(|o| o.difference().de00).collect();
        println!("{name}: best {} pair {:?}", task.best, task.pair);
        for option in &task.options {
            let d = option.difference();
            println!(
                "    {:.2} ({:+.2}) {:?}, {:.2} in {}; {}",
                d.de00,
                d.dl00,
                option.standing,
                option.robust_de00,
                option.worst_light.name(),
                option.cause
            );
            assert!(option.teeth.iter().all(|t| t.difference.de00 <= d.de00), "{name}");
            assert!(option.robust_de00 >= d.de00, "{name}");
        }
        // One patient: nothing but the restorations differs, and they stand alike on their teeth.
        let first = &question.sights[0].case;
        let mut recipes = BTreeSet::new();
        for (k, sight) in question.sights.iter().enumerate() {
            let case = &sight.case;
            assert_eq!(sight.name, format!("Option {}", k + 1));
            assert_eq!((case.seed, &case.patient), (first.seed, &first.patient), "{name}");
            let teeth: Vec<_> = case.restorations.iter().map(|r| r.tooth).collect();
            assert_eq!(teeth, task.teeth, "{name}");
            for r in &case.restorations {
                assert_eq!(r.prepared_tooth, first.restorations[0].prepared_tooth, "{name}");
                assert_eq!(
                    (&r.ceramic, r.thickness, &r.cement),
                    (
                        &case.restorations[0].ceramic,
                        case.restorations[0].thickness,
                        &case.restorations[0].cement
                    ),
                    "{name}"
                );
            }
            recipes.insert(format!("{:?}", case.restorations[0]));
        }
        assert_eq!(recipes.len(), task.options.len(), "{name}: an option twice");
        // The darker and the lighter one of the pair.
        let (darker, lighter) =
            (task.options[task.pair.0].difference(), task.options[task.pair.1].difference());
        assert!(darker.dl00 < 0.0 && lighter.dl00 > 0.0, "{name}: {darker:?} {lighter:?}");
        assert!((darker.de00 - lighter.de00).abs() <= PAIR_DE00, "{name}");
        // The best is the nearest; none is acceptable just where that is the fair answer.
        let least = de00.iter().copied().fold(f64::INFINITY, f64::min);
        assert_eq!(de00[task.best], least, "{name}");
        assert_eq!(task.none_acceptable(), question.catch, "{name}");
        assert!(!question.catch || least >= NONE_ACCEPTABLE_DE00, "{name}: {least}");
        let standing: Vec<Standing> = task.options.iter().map(|o| o.standing).collect();
        assert_eq!(standing, standings(&de00), "{name}");
    }
}

#[test]
fn one_question_in_five_has_no_acceptable_option_and_the_best_stands_anywhere() {
    for (level, round) in ROUNDS.iter() {
        let count = round.questions.len();
        let catches = round.questions.iter().filter(|question| question.catch).count();
        assert_eq!(catches * 5, count, "{}", level.id);
        let numbers: Vec<u32> = round.questions.iter().map(|question| question.number).collect();
        assert!(numbers.iter().copied().eq(0..count as u32), "{}", level.id);
        let options = task(&round.questions[0]).options.len();
        let mut slots = vec![0_usize; options];
        round.questions.iter().for_each(|question| slots[task(question).best] += 1);
        let fair = count / options;
        assert!(slots.iter().all(|n| (fair..=fair + 1).contains(n)), "{}: {slots:?}", level.id);
    }
    // The pair is shown either way round.
    let darker_first = tasks().filter(|(_, _, task)| task.pair.0 < task.pair.1).count();
    let all = tasks().count();
    // Four standard deviations of an even coin over the shipped questions.
    let off = (darker_first as f64 - 0.5 * all as f64).abs();
    assert!(off <= 2.0 * (all as f64).sqrt(), "{darker_first} of {all}");
}

/// Standard normal from two uniforms (Box, Muller, Ann Math Stat 1958;29:610-611).
fn deviate(rng: &mut impl rand::Rng) -> f64 {
    let (u, v): (f64, f64) = (rng.random::<f64>().max(1e-12), rng.random());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

#[test]
fn no_answer_hangs_on_an_error_of_the_model() {
    let key =
        StreamKey { form: "model error", seed: 1, purpose: Purpose::Observer, block: 0, trial: 0 };
    let mut rng = key.stream();
    let (mut same, mut all, mut sets) = (0_u32, 0_u32, 0_u32);
    let draws = 40;
    for (_, question, task) in tasks() {
        for _ in 0..draws {
            let moved: Vec<f64> = task
                .options
                .iter()
                .map(|o| (o.difference().de00 + MODEL_ERROR_DE00 * deviate(&mut rng)).max(0.0))
                .collect();
            let found = standings(&moved);
            let kept = found.iter().zip(&task.options).filter(|(f, o)| **f == o.standing).count();
            same += kept as u32;
            all += task.options.len() as u32;
            sets += u32::from(kept == task.options.len());
        }
        let _ = question;
    }
    let share = f64::from(same) / f64::from(all);
    let whole = f64::from(sets) / (tasks().count() * draws) as f64;
    println!("{share:.4} of options keep their standing, {whole:.4} of sets are unchanged");
    assert!(share >= 0.95, "{share}");
    assert!(whole >= 0.90, "{whole}");
}

#[test]
fn options_differ_from_each_other_on_the_maps() {
    // The first question of each level, from full bakes.
    for (level, round) in ROUNDS.iter() {
        let question = &round.questions[0];
        let thirds: Vec<_> = question
            .sights
            .iter()
            .map(|sight| {
                let scene = second_glance::bake::bake(&sight.case, &LIBRARY).unwrap();
                let condition = second_glance::bake::Condition::Restored;
                let of = |t| scene.zone_labs(t, condition).unwrap();
                task(question).teeth.iter().map(|t| of(*t)).collect::<Vec<_>>()
            })
            .collect();
        for i in 0..thirds.len() {
            for j in 0..i {
                let apart = thirds[i]
                    .iter()
                    .zip(&thirds[j])
                    .map(|(a, b)| second_glance::bake::ZoneDifference::of_thirds(a, b).de00)
                    .fold(0.0, f64::max);
                assert!(apart >= APART_DE00, "{}: {i} and {j} are {apart} apart", level.id);
            }
        }
    }
}

fn answers(
    learner: &Learner,
    seed: u64,
) -> Vec<(&'static BlendTask, &'static Question, BlendAnswer)> {
    tasks()
        .map(|(_, question, task)| match question.answer_of(learner, seed) {
            Answer::Blend(answer) => (task, question, answer),
            other => panic!("an answer to {}", other.name()),
        })
        .collect()
}

fn mean_score(learner: &Learner, seed: u64) -> f64 {
    let all = answers(learner, seed);
    let score = |question: &Question, answer: &BlendAnswer| {
        question.mark(&Answer::Blend(answer.clone())).unwrap().score.unwrap()
    };
    all.iter().map(|(_, question, answer)| score(question, answer)).sum::<f64>() / all.len() as f64
}

#[test]
fn whoever_sees_the_truth_scores_100_and_ticks_the_acceptable_set() {
    for (task, question, answer) in answers(&Learner::IDEAL, 1) {
        let mark = question.mark(&Answer::Blend(answer.clone())).unwrap();
        assert_eq!((mark.score, mark.right), (Some(100.0), Some(true)), "{}", question.seed_key);
        assert_eq!(mark.regret_de00, Some(0.0), "{}", question.seed_key);
        assert_eq!(answer.best.is_none(), question.catch);
        if let Some(best) = answer.best {
            assert_eq!(best, task.best);
        }
        let f1 = task.marks(&answer).unwrap().set_f1;
        assert_eq!(f1, (!question.catch).then_some(1.0), "{}", question.seed_key);
        assert!(!mark.sentences.is_empty() && mark.sentences.iter().all(|s| s.ends_with('.')));
        // A room, in which everyone picked for themselves, is told what is true and no more.
        let room = Wording { to_room: true, ..Wording::default() };
        let none = Answer::Blend(BlendAnswer::none());
        let told = [Answer::Blend(answer.clone()), none]
            .map(|answer| question.mark_worded(&answer, room).unwrap().sentences);
        assert_eq!(told[0], told[1], "{}", question.seed_key);
        assert!(!told[0].join(" ").to_lowercase().contains("you"), "{told:?}");
        // What is stored reads back as the truth.
        let stored = &mark.truth;
        assert_eq!(stored["best"], task.best);
        assert_eq!(stored["none_acceptable"], question.catch);
        let options = stored["options"].as_array().unwrap();
        assert_eq!(options.len(), task.options.len());
        for (row, option) in options.iter().zip(&task.options) {
            assert_eq!(row["de00"].as_f64(), Some(option.difference().de00));
            assert_eq!(row["dl00"].as_f64(), Some(option.difference().dl00));
        }
    }
}

#[test]
fn noise_lowers_the_score_and_guessing_scores_low() {
    let noisy = |noise_de00: f64| Learner { noise_de00, ..Learner::IDEAL };
    let mean = |learner: &Learner| (0..5).map(|seed| mean_score(learner, seed)).sum::<f64>() / 5.0;
    let (fine, coarse) = (mean(&noisy(0.4)), mean(&noisy(2.0)));
    let guess = mean(&Learner { lapse: 1.0, ..Learner::IDEAL });
    println!("scores: noise 0.4 {fine:.1}, noise 2 {coarse:.1}, guessing {guess:.1}");
    assert!(fine > coarse + 10.0 && coarse > guess, "{fine} {coarse} {guess}");
    assert!(guess < 45.0, "{guess}");
    // Whoever always says "none" is right in one question of five.
    let none = Answer::Blend(BlendAnswer::none());
    let scores = tasks().map(|(_, question, _)| question.mark(&none).unwrap().score.unwrap());
    let always_none = scores.sum::<f64>() / tasks().count() as f64;
    assert!((always_none - 20.0).abs() < 1e-9, "{always_none}");
}

#[test]
fn a_learner_who_leans_one_way_is_found_to() {
    for bias in [-1.0, 0.0, 1.0] {
        let learner = Learner { noise_de00: 0.6, value_bias: bias, ..Learner::IDEAL };
        let choices: Vec<_> = (0..2)
            .flat_map(|seed| answers(&learner, seed))
            .filter_map(|(task, _, answer)| task.choice(&answer))
            .collect();
        let fit = OptionChoiceFit::new(&choices).unwrap();
        let found = fit.value_bias;
        println!("bias {bias}: found {found:?} from {} picks", fit.choices);
        assert!(fit.converged && fit.choices >= 40, "{fit:?}");
        assert!((found.low..=found.high).contains(&bias), "{bias}: {found:?}");
        assert!(bias == 0.0 || (found.low > 0.0) == (bias > 0.0) && found.low * found.high > 0.0);
        assert!(found.high - found.low < 1.2, "{found:?}");
    }
}

#[test]
fn answers_that_name_what_is_not_there_are_refused() {
    let question = &ROUNDS[0].1.questions[0];
    let count = task(question).options.len();
    let beyond = Answer::Blend(BlendAnswer { best: Some(count), acceptable: vec![] });
    assert!(matches!(question.mark(&beyond), Err(AnswerError::Impossible(_))));
}

#[test]
fn the_same_seed_gives_the_same_questions() {
    let (level, round) = &ROUNDS[0];
    let again = lay_out(level, &LIBRARY, level.seed, None).unwrap();
    assert_eq!(&again, round);
    let other = lay_out(level, &LIBRARY, level.seed + 1, Some(1)).unwrap();
    assert_ne!(other.questions[0].sights, round.questions[0].sights);
}

#[test]
fn a_session_asks_for_the_gap_it_wants_and_stops() {
    let level = blend_levels().into_iter().find(|level| level.id == "blend-thin-veneer").unwrap();
    let Exercise::Blend { options, .. } = level.exercise else { panic!("{level:?}") };
    let stop = OptionStop { max_questions: 4, ..OptionStop::default() };
    let mut session = OptionSession::new(usize::from(options), stop).unwrap();
    let learner = Learner { noise_de00: 0.3, ..Learner::IDEAL };
    while session.is_done().is_none() {
        let number = session.questions() as u32;
        let gap_de00 = session.next_gap_de00();
        let asked = BlendAsked { number, catch: number == 2, best_slot: 1, gap_de00 };
        let question = next_question(&level, &LIBRARY, 5, &asked).unwrap();
        let task = task(&question);
        assert_eq!((task.best, question.catch), (1, number == 2));
        let of = |k: usize| task.options[k].difference().de00;
        println!("gap asked {gap_de00:.2}, given {:.2}", of(task.pair.0) - of(task.best));
        let Answer::Blend(answer) = question.answer_of(&learner, 1) else { panic!() };
        session.record(task.choice(&answer).as_ref());
    }
    assert_eq!(session.is_done(), Some(OptionStopReason::Questions));
}
