//! Choosing, measured: what is asked follows from the seed and from the answers, and goes on from
//! what is stored.

use crate::shared::answers;
use crate::shared::choosing::{
    chooser, endless, level, measured_by, measurement, picked, row, taken,
};
use second_glance::bake::bake;
use second_glance::exercise::{
    Answer, BlendAnswer, CHOICE_ID, ChoiceAsked, ChoiceMeasurement, Question, ResumeError, Sitting,
    Stage, Task, Times,
};
use second_glance::level::format::ron_options;
use second_glance::material::Library;
use second_glance::psychophysics::{Chooser, OptionStop, OptionStopReason};
use second_glance::results::{AnswerRow, Selection, SessionInfo, Store, Table};
use second_glance::trial::InputDevice;
use serde_json::json;
use std::sync::Arc;

/// The most questions of a measurement.
const MOST: u32 = 40;

#[test]
fn one_new_question_in_five_has_nothing_acceptable_and_every_place_is_the_best_one_alike() {
    for seed in 0..20 {
        let mut measured = endless(seed);
        let none = Answer::Blend(BlendAnswer::none());
        assert!(measured.round().questions.is_empty());
        let mut asked = Vec::new();
        for number in 0..MOST {
            let next = measured.next();
            assert_eq!((next.number, &next), (number, &measured.next()));
            asked.push(next);
            // An answer of another kind teaches nothing, but counts.
            measured.record(&placeholder(), &none);
        }
        let new: Vec<&ChoiceAsked> = asked.iter().filter(|a| a.places.is_none()).collect();
        assert_eq!(new.len(), 35, "one in eight is a repeat");
        for five in new.chunks(5) {
            assert_eq!(five.iter().filter(|a| a.blend.catch).count(), 1, "seed {seed}");
        }
        for three in new.chunks_exact(3) {
            let mut places: Vec<usize> = three.iter().map(|a| a.blend.best_slot).collect();
            places.sort_unstable();
            assert_eq!(places, [0, 1, 2], "seed {seed}");
        }
    }
    let order = |seed| (0..5).map(|_| measurement(seed).next().blend.catch).collect::<Vec<_>>();
    assert_eq!(order(1), order(1));
}

#[test]
fn one_question_in_eight_repeats_an_earlier_one_four_others_between() {
    let mut gaps_between = Vec::new();
    for seed in 0..60 {
        let none = BlendAnswer::none();
        let rows = measured_by(seed, |_, _| none.clone());
        let mut measured = endless(seed);
        let (mut repeated, mut new) = (Vec::new(), Vec::new());
        for row in &rows {
            let asked = measured.next();
            match &asked.places {
                None => new.push(asked.number),
                Some(places) => {
                    let of = asked.blend.number;
                    // As it was laid out then, though the gap may have moved since.
                    assert!(new.contains(&of), "a repeat repeats a new question");
                    assert!(!repeated.contains(&of), "none comes three times");
                    assert!(asked.number >= of + 5, "{of} again as {}", asked.number);
                    assert!(places.iter().enumerate().all(|(place, from)| place != *from));
                    let block = asked.number / 8;
                    assert!(repeated.len() == block as usize, "one in every eight");
                    gaps_between.push(asked.number - of - 1);
                    repeated.push(of);
                }
            }
            measured = taken(measured, row);
        }
        assert_eq!(repeated.len(), 5, "seed {seed}");
    }
    assert_eq!(gaps_between.iter().min(), Some(&4));
}

/// A question that is no question of Blend.
fn placeholder() -> Question {
    static BENCH: std::sync::LazyLock<Question> = std::sync::LazyLock::new(|| {
        let library = Library::shipped().unwrap();
        let bench = second_glance::exercise::BenchSetup::default().set_up(&library).unwrap();
        bench.round.questions[0].clone()
    });
    BENCH.clone()
}

#[test]
fn questions_are_laid_out_as_asked_and_gaps_shrink_for_a_sharp_eye() {
    let library = Library::shipped().unwrap();
    let mut measured = measurement(5);
    let mut sitting = Sitting::open_ended(Arc::new(measured.round()), "measure", 0);
    let first_gap = measured.next().blend.gap_de00;
    for number in 0..3 {
        assert_eq!((sitting.stage(), sitting.question().is_none()), (Stage::Preparing, true));
        let asked = measured.next();
        let question = measured.lay_out(&library).unwrap();
        assert_eq!((question.number, question.catch), (number, asked.blend.catch));
        let Task::Blend(task) = &question.task else { panic!("a question of Blend") };
        assert_eq!(task.best, asked.blend.best_slot);
        let answer = right_answer(&question);
        sitting.append(question.clone());
        sitting.show();
        let row = sitting.answer(answer.clone(), InputDevice::Keyboard).unwrap().unwrap();
        assert_eq!((row.number, row.mode.as_str()), (number, "measure"));
        measured.record(&question, &answer);
        sitting.go_on();
        assert_eq!(measured.is_done(), None);
    }
    let gap = measured.next().blend.gap_de00;
    assert!(gap < first_gap, "{first_gap} {gap}");
    sitting.stop();
    assert_eq!((sitting.stage(), sitting.answered()), (Stage::Finished, 3));
}

fn right_answer(question: &Question) -> Answer {
    let Task::Blend(task) = &question.task else { panic!("a question of Blend") };
    Answer::Blend(if task.none_acceptable() { BlendAnswer::none() } else { picked(task.best) })
}

#[test]
fn it_ends_at_its_most_questions_and_needs_a_level_of_blend() {
    let stop = OptionStop { max_questions: 2, ..OptionStop::default() };
    let mut measured = ChoiceMeasurement::new(level(), 1, stop).unwrap();
    assert_eq!(measured.most_questions(), 2);
    let (question, answer) = (placeholder(), Answer::Blend(BlendAnswer::none()));
    measured.record(&question, &answer);
    assert_eq!(measured.is_done(), None);
    measured.record(&question, &answer);
    assert_eq!(measured.is_done(), Some(OptionStopReason::Questions));
    let ladder = ron_options().from_str(include_str!("../../../levels/value-ladder.ron")).unwrap();
    assert!(ChoiceMeasurement::new(ladder, 1, stop).is_err());
}

#[test]
fn repeats_do_not_count_as_evidence_for_the_end_or_the_gap() {
    // Always the best one: no regret at all, which is known from twelve picks on.
    let (mut measured, mut new) = (measurement(3), 0);
    while measured.is_done().is_none() {
        let asked = measured.next();
        let row = row(&measured, 3, &picked(best_place(&asked)));
        let before = asked.places.is_some().then(|| measured.clone());
        measured = taken(measured, &row);
        new += usize::from(asked.places.is_none());
        if let Some(before) = before.filter(|_| measured.next().places.is_none()) {
            // A repeat leaves the gap as it was.
            assert_eq!(measured.next().blend.gap_de00, gap_of_new(&before));
        }
    }
    assert_eq!((new, measured.is_done()), (12, Some(OptionStopReason::Precise)));
    assert!(measured.questions() > 12);
}

fn best_place(asked: &ChoiceAsked) -> usize {
    let slot = asked.blend.best_slot;
    asked.places.as_ref().map_or(slot, |places| places.iter().position(|p| *p == slot).unwrap())
}

/// The gap that a new question would have: that of the same answers to a measurement that asks none
/// again.
fn gap_of_new(measured: &ChoiceMeasurement) -> f64 {
    // A repeat answered by a question of another kind teaches nothing, whatever the rules are.
    let mut passed = measured.clone();
    passed.record(&placeholder(), &Answer::Blend(BlendAnswer::none()));
    passed.next().blend.gap_de00
}

#[test]
fn a_measurement_taken_up_asks_what_it_would_have_asked() {
    let sharp = Chooser { noise_de00: 0.3, value_weight: 1.2, value_bias: 0.4, lapse: 0.0 };
    for seed in 0..2 {
        let rows = measured_by(seed, chooser(sharp, seed));
        // Through the file and back, as after a crash.
        let dir = tempfile::tempdir().unwrap();
        let store = Store::open(dir.path()).unwrap();
        let info = SessionInfo { level: CHOICE_ID.to_owned(), ..answers::info(MOST) };
        let recording = store.begin(&info).unwrap();
        answers::store_rows(&store, recording, &rows);
        let stored = store.answers(recording.session).unwrap();
        assert_eq!(exported_repeats(&store, dir.path()), repeats_of(&rows));
        let mut straight = endless(seed);
        for count in 0..rows.len() {
            let taken_up = endless(seed).resumed(&stored[..count]).unwrap();
            assert_eq!(format!("{:?}", taken_up.next()), format!("{:?}", straight.next()));
            straight = taken(straight, &rows[count]);
        }
        assert_eq!(endless(seed).resumed(&stored).unwrap().is_done(), straight.is_done());
    }
}

/// What each row repeats, as the exports say it; the Parquet file can be written, too.
fn exported_repeats(store: &Store, folder: &std::path::Path) -> Vec<String> {
    let file = std::fs::File::create(folder.join("answers.parquet")).unwrap();
    store.export_parquet(Table::Answers, Selection::default(), file).unwrap();
    let mut csv = Vec::new();
    store.export_answers_csv(None, &mut csv).unwrap();
    let mut reader = csv::Reader::from_reader(csv.as_slice());
    let column = reader.headers().unwrap().iter().position(|name| name == "repeat_of").unwrap();
    reader.records().map(|record| record.unwrap()[column].to_owned()).collect()
}

fn repeats_of(rows: &[AnswerRow]) -> Vec<String> {
    let of = |row: &AnswerRow| row.truth["measured"]["repeat_of"].as_u64();
    rows.iter().map(|row| of(row).map_or("n/a".to_owned(), |of| of.to_string())).collect()
}

#[test]
fn what_does_not_follow_is_refused_with_its_question_and_reason() {
    let rows = measured_by(2, |asked, _| picked(best_place(asked)));
    let repeat = rows.iter().position(|r| r.truth["measured"]["repeat_of"].is_u64()).unwrap();
    let refused = |change: &dyn Fn(&mut Vec<AnswerRow>)| {
        let mut changed = rows[..10].to_vec();
        change(&mut changed);
        endless(2).resumed(&changed).unwrap_err().to_string()
    };
    for (change, words) in [
        (
            &(|rows: &mut Vec<AnswerRow>| rows[3].answer = json!({ "best": 7 }))
                as &dyn Fn(&mut Vec<AnswerRow>),
            "answer 4 cannot be read: the answer is no answer to it",
        ),
        (
            &|rows: &mut Vec<AnswerRow>| rows[3].answer = json!({ "best": 7, "acceptable": [] }),
            "answer 4 cannot be read: the answer names an option that is not there",
        ),
        (
            &|rows: &mut Vec<AnswerRow>| rows[4].truth["options"] = json!("?"),
            "answer 5 cannot be read: its truth does not say how the options differ",
        ),
        (
            &|rows: &mut Vec<AnswerRow>| drop(rows.remove(2)),
            "question 4 is not what the answers before it lead to",
        ),
        (&|rows: &mut Vec<AnswerRow>| rows[6].seed_key = "other/2/0/6".to_owned(), "(its seed)"),
        (
            &|rows: &mut Vec<AnswerRow>| rows[6].is_catch = !rows[6].is_catch,
            "(whether anything is acceptable)",
        ),
        // One bit of a gap.
        (
            &|rows: &mut Vec<AnswerRow>| {
                let gap = rows[6].truth["measured"]["gap_de00"].as_f64().unwrap();
                rows[6].truth["measured"]["gap_de00"] = json!(f64::from_bits(gap.to_bits() + 1));
            },
            "question 7 is not what the answers before it lead to (its gap)",
        ),
        // As earlier versions stored it.
        (
            &|rows: &mut Vec<AnswerRow>| {
                drop(rows[0].truth.as_object_mut().unwrap().remove("measured"));
            },
            "question 1 is not what the answers before it lead to (its gap was not kept)",
        ),
        (
            &|rows: &mut Vec<AnswerRow>| rows[0].task = "ladder".to_owned(),
            "it is of the exercise `ladder`",
        ),
    ] {
        let said = refused(change);
        assert!(said.contains(words), "{said}\n{words}");
    }
    let said = refused(&|rows| rows[repeat].truth["measured"]["places"] = json!([0, 1, 2]));
    assert!(said.contains("(its places)"), "{said}");
    // More than would have been asked.
    let sure = measured_by(2, |asked, _| picked(best_place(asked)));
    let error = measurement(2).resumed(&sure).unwrap_err();
    assert!(matches!(error, ResumeError::Over(_)), "{error}");
}

/// A seed whose sixth question repeats the first.
fn early_repeat() -> u64 {
    let first_is_sixth = |seed: &u64| {
        let mut measured = endless(*seed);
        for _ in 0..5 {
            measured.record(&placeholder(), &Answer::Blend(BlendAnswer::none()));
        }
        let asked = measured.next();
        asked.places.is_some() && asked.blend.number == 0 && !asked.blend.catch
    };
    (0..500).find(first_is_sixth).unwrap()
}

#[test]
fn a_repeat_is_the_question_mirrored_with_its_own_truth_and_the_same_after_a_crash() {
    let library = Library::shipped().unwrap();
    let seed = early_repeat();
    let start = measurement(seed);
    let first = start.lay_out(&library).unwrap();
    let answer = right_answer(&first);
    let mark = first.mark(&answer).unwrap();
    let device = InputDevice::Keyboard;
    let stored = start.round().row(&first, "measure", &answer, &mark, Times::default(), device);
    let mut straight = start.clone();
    straight.record(&first, &answer);
    let mut rows = vec![stored];
    for _ in 1..5 {
        let next = row(&straight, seed, &BlendAnswer::none());
        straight = taken(straight, &next);
        rows.push(next);
    }
    // The latest new question that was really laid out is the first.
    straight.check(&rows[..1], &library).unwrap();
    let taken_up = measurement(seed).resumed(&rows).unwrap();
    let again = taken_up.lay_out(&library).unwrap();
    assert_eq!(again, straight.lay_out(&library).unwrap(), "not a byte otherwise");
    // What was stored is laid out again on taking up, and must be the same.
    for change in [
        |row: &mut AnswerRow| row.truth["options"][1]["de00"] = json!(1.0),
        |row: &mut AnswerRow| row.sights[0]["scene_seed"] = json!("1"),
    ] {
        let mut changed = rows[..1].to_vec();
        change(&mut changed[0]);
        let error = straight.check(&changed, &library).unwrap_err();
        assert!(matches!(error, ResumeError::Other { number: 0, .. }), "{error}");
    }

    let (Task::Blend(before), Task::Blend(after)) = (&first.task, &again.task) else {
        panic!("questions of Blend");
    };
    let how = after.measured.as_ref().unwrap();
    assert_eq!((again.number, how.repeat_of), (5, Some(0)));
    assert_eq!(after.teeth[0], before.teeth[0].contralateral());
    for (place, from) in how.places.iter().enumerate() {
        let (new, old) = (&again.sights[place].case, &first.sights[*from].case);
        assert_ne!(place, *from);
        assert_eq!(again.sights[place].name, format!("Option {}", place + 1));
        let (new_on, old_on) = (&new.restorations[0], &old.restorations[0]);
        assert_eq!(new_on.tooth, old_on.tooth.contralateral());
        assert_eq!((&new_on.ceramic, &new_on.cement), (&old_on.ceramic, &old_on.cement));
        for tooth in &new.patient.teeth {
            let opposite =
                |t: &&second_glance::scene::NaturalTooth| t.tooth == tooth.tooth.contralateral();
            assert_eq!(tooth.body, old.patient.teeth.iter().find(opposite).unwrap().body);
        }
        // What is drawn is what is marked.
        let truth = bake(new, &library).unwrap().truth.unwrap();
        let stated = after.options[place].difference();
        assert!((truth.difference.de00 - stated.de00).abs() < 1e-9, "{stated:?}");
        // On the other side only the surface is another: below an error of the model.
        let was = before.options[*from].difference();
        println!(
            "{:.3} {:.3} ΔE00, {:+.3} {:+.3} ΔL00",
            was.de00, stated.de00, was.dl00, stated.dl00
        );
        assert!((was.de00 - stated.de00).abs() < 0.065, "{was:?} {stated:?}");
        assert_eq!(before.options[*from].standing, after.options[place].standing);
    }
    assert_eq!(how.places[after.best], before.best);
    assert_eq!((how.places[after.pair.0], how.places[after.pair.1]), before.pair);
}
