//! Answers to questions in a course: handed in, gathered, reported, deleted.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::answers;
use crate::shared::courses::practical;
use rand::RngExt;
use second_glance::course::{
    CourseData, FormTruth, ItemFlag, SimulatedGroup, SimulatedLearner,
    simulate_hand_ins_with_answers,
};
use second_glance::psychophysics::{Chooser, SeenOption};
use second_glance::random::{Purpose, StreamKey};
use second_glance::report::{CourseReportOptions, course_report};
use second_glance::results::{
    AnswerRow, Forgotten, HandInError, HandInRequest, SessionInfo, Store,
};
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::tempdir;

const QUESTIONS: u32 = 20;

/// Three options, of which one is nearest and two lie as far off towards dark and light; every
/// fifth question has nothing acceptable.
fn options(number: u32) -> Vec<SeenOption> {
    let spread = 0.6 + 0.1 * f64::from(number % 8);
    let off = if number % 5 == 4 { 3.0 } else { 0.5 };
    let mut options = vec![
        SeenOption { value: 0.1, rest: off },
        SeenOption { value: -spread - off, rest: 0.4 },
        SeenOption { value: spread + off, rest: 0.4 },
    ];
    options.rotate_left(number as usize % 3);
    options
}

/// What somebody answers, as Blend stores it.
fn answer(learner: &str, chooser: &Chooser, number: u32) -> AnswerRow {
    let options = options(number);
    let key =
        StreamKey { form: learner, seed: 9, purpose: Purpose::Observer, block: 3, trial: number };
    let de00 = |option: &SeenOption| option.distance(1.0, 0.0);
    let least = options.iter().map(de00).fold(f64::INFINITY, f64::min);
    let best = options.iter().position(|o| de00(o) <= least).unwrap();
    let is_catch = number % 5 == 4;
    let pick = chooser.pick(&options, key.stream().random::<f64>());
    // Who sees that the pick is far off says "none".
    let none = is_catch && pick == best;
    let regret = if none { 0.0 } else { de00(&options[pick]) - least };
    let stored: Vec<Value> =
        options.iter().map(|o| json!({ "de00": de00(o), "dl00": o.value })).collect();
    AnswerRow {
        number,
        seed_key: format!("blend-test/7/0/{number}"),
        is_catch,
        truth: json!({ "options": stored, "best": best }),
        answer: json!({ "best": if none { None } else { Some(pick) }, "acceptable": [] }),
        score: Some(if is_catch && !none { 0.0 } else { 100.0 - 40.0 * regret.min(2.5) }),
        regret_de00: Some(regret),
        correct: Some(if is_catch { none } else { pick == best }),
        mode: "practice".to_owned(),
        ..answers::rows(1).remove(0)
    }
}

fn round(learner: &SimulatedLearner) -> Vec<AnswerRow> {
    let of = |number| answer(learner.learner.as_str(), &learner.chooser, number);
    (0..QUESTIONS).map(of).collect()
}

fn run(learners: u32, folder: &Path) -> (CourseData, Vec<SimulatedLearner>) {
    let course = practical();
    let learners = SimulatedGroup { learners, ..SimulatedGroup::default() }.draw(2);
    let files = simulate_hand_ins_with_answers(
        &course,
        &learners,
        &round,
        "2026-01-31",
        folder,
        &mut |_| {},
    )
    .unwrap();
    let mut store = Store::open(&folder.join("gathered")).unwrap();
    let gathered = store
        .gather(&files, Some(&course.id), &FormTruth::new(vec![course.clone()]), &mut |_| {})
        .unwrap();
    assert_eq!((gathered.taken.len(), gathered.refused.len()), (learners.len(), 0));
    (CourseData::read(&store, Some(&course.id), &|_| {}).unwrap(), learners)
}

#[test]
fn who_chooses_how_well_is_found_and_reported() {
    let dir = tempdir().unwrap();
    let (data, learners) = run(24, dir.path());
    assert_eq!(data.answers.len(), 24 * QUESTIONS as usize);
    // By hand from the rows themselves.
    let choosing = data.choosing();
    let mut held = 0;
    for learner in &learners {
        let rows = round(learner);
        let [one] = &choosing[learner.learner.as_str()][..] else { panic!("one exercise") };
        let mean = rows.iter().filter_map(|r| r.regret_de00).sum::<f64>() / f64::from(QUESTIONS);
        let (found, low, high) = one.regret_de00.unwrap();
        assert!((found - mean).abs() < 1e-12 && low <= found && found <= high && low >= 0.0);
        let right = rows.iter().filter(|r| r.correct == Some(true)).count();
        assert_eq!((one.right.successes as usize, one.right.total), (right, QUESTIONS));
        assert_eq!((one.answered, one.nothing.total), (20, 4));
        let lean = one.value_lean.unwrap();
        held += u32::from(
            lean.low <= learner.chooser.value_bias && learner.chooser.value_bias <= lean.high,
        );
    }
    // 95 % intervals; below 19 of 24 with a chance of 0.1 % (binomial by hand: 24 × 0.95 = 22.8, SD
    // 1.07).
    println!("{held} of 24 intervals hold the leaning");
    assert!(held >= 19, "{held}");
    let [exercise] = &data.exercises()[..] else { panic!("one exercise") };
    assert_eq!((exercise.learners, exercise.answered), (24, 480));
    let means: Vec<f64> = choosing.values().map(|c| c[0].regret_de00.unwrap().0).collect();
    let mean = means.iter().sum::<f64>() / 24.0;
    assert!((exercise.regret_de00.unwrap().0 - mean).abs() < 1e-12);

    let [round] = &data.rounds()[..] else { panic!("one round") };
    assert_eq!((round.learners, round.questions.len()), (24, 20));
    assert!(round.kr20.is_some());
    for question in &round.questions {
        let of: Vec<_> = data.answers.iter().filter(|a| a.number == question.number).collect();
        let right = of.iter().filter(|a| a.right == Some(true)).count() as f64 / 24.0;
        assert!((question.figures.difficulty - right).abs() < 1e-12);
        // Twenty-four people cannot show that more than 95 % are right.
        assert!(!question.flags.contains(&ItemFlag::TooEasy), "{right}");
        assert_eq!(question.picked.iter().sum::<u32>(), 24);
        let none = of.iter().filter(|a| a.picked.is_none()).count();
        assert_eq!(question.picked[3] as usize, none);
        assert_eq!(question.options_de00.len(), 3);
    }
    let course = practical();
    let own = CourseReportOptions {
        course: Some(&course),
        shared: false,
        pages: true,
        day: "2026-02-01",
    };
    let html = course_report(&data, &own, &|_| {});
    if let Some(folder) = std::env::var_os("SECOND_GLANCE_KEEP") {
        fs::write(Path::new(&folder).join("choosing.html"), &html).unwrap();
    }
    for words in ["Choosing", "Questions of blend-test/7/0", "Blend: which option disappears?"] {
        assert!(html.contains(words), "{words}");
    }
    assert_eq!(html.matches("Choosing, with 95 % intervals.").count(), 24, "one a learner");
    // In a report to pass on nothing below 5 is said, nor what would give it away.
    let shared = course_report(&data, &CourseReportOptions { shared: true, ..own }, &|_| {});
    let table = &shared[shared.find("Questions of blend-test").unwrap()..];
    let table = &table[..table.find("</table>").unwrap()];
    assert!(table.contains("…"), "small counts are left out");
    let small = ["1", "2", "3", "4"].map(|n| format!("</span> {n}</td>"));
    assert!(small.iter().all(|cell| !table.contains(cell.as_str())), "{table}");
}

#[test]
fn four_people_share_no_questions() {
    let dir = tempdir().unwrap();
    let (mut data, learners) = run(6, dir.path());
    // Six sat the forms, four answered questions.
    let gone = [learners[0].learner.as_str(), learners[1].learner.as_str()];
    data.answers.retain(|answer| !gone.contains(&answer.learner.as_str()));
    let options =
        CourseReportOptions { course: None, shared: true, pages: true, day: "2026-02-01" };
    let html = course_report(&data, &options, &|_| {});
    let part = &html[html.find("Choosing</h2>").unwrap()..];
    let part = &part[..part.find("Items</h2>").unwrap()];
    assert!(part.contains("fewer than 5") && !part.contains("Questions of"), "{part}");
}

fn of_course(learner: &str) -> SessionInfo {
    let whose = json!({ "course": "practical", "learner": learner, "seat": 0 });
    SessionInfo { settings: json!({ "course": whose }), ..answers::info(10) }
}

/// A seat with a round of questions, and its hand-in.
fn seat(folder: &Path, learner: &str, rows: &[AnswerRow]) -> PathBuf {
    let store = Store::open(&folder.join(learner)).unwrap();
    let recording = store.begin(&of_course(learner)).unwrap();
    answers::store_rows(&store, recording, rows);
    let file = folder.join(format!("{learner}.handin"));
    let request = HandInRequest {
        learner,
        course: "practical",
        day: "2026-01-31",
        build: "0.1.0",
        with_practice: true,
    };
    let manifest = store.hand_in(&request, &file).unwrap();
    assert_eq!((manifest.trials, manifest.answers), (0, rows.len() as u64));
    // Practice is private unless the learner agrees.
    let private = HandInRequest { with_practice: false, ..request };
    let refused = store.hand_in(&private, &folder.join("private.handin"));
    assert!(matches!(refused, Err(HandInError::Nothing { .. })));
    file
}

#[test]
fn answers_are_gathered_once_and_deleted_wholly() {
    let dir = tempdir().unwrap();
    let mut rows = answers::rows(10);
    rows.iter_mut().for_each(|row| row.answer = json!({ "best": 1, "note": "unmistakable" }));
    let file = seat(dir.path(), "0000000a", &rows);
    let other = seat(dir.path(), "0000000b", &answers::rows(6));
    let mut all = Store::open(&dir.path().join("all")).unwrap();
    let mut gather = |file: &PathBuf| {
        let gathered = all
            .gather(std::slice::from_ref(file), None, &FormTruth::default(), &mut |_| {})
            .unwrap();
        let taken = gathered.taken.first().map(|t| (t.new_trials, t.known_trials));
        (taken, gathered.refused.into_iter().map(|(_, error)| error).next())
    };
    assert!(matches!(gather(&file), (Some((10, 0)), None)));
    assert!(matches!(gather(&file), (Some((0, 10)), None)), "again changes nothing");
    assert!(matches!(gather(&other), (Some((6, 0)), None)));
    // A stored answer that was altered is refused for what it is.
    rows[3].score = Some(100.0);
    fs::remove_dir_all(dir.path().join("0000000a")).unwrap();
    let altered = seat(dir.path(), "0000000a", &rows);
    let (taken, refused) = gather(&altered);
    assert!(taken.is_none());
    assert!(matches!(refused, Some(HandInError::Contradicts { trials: 1, .. })), "{refused:?}");

    let gone = all.forget("0000000a").unwrap();
    assert_eq!(gone, Forgotten { sessions: 1, trials: 0, answers: 10 });
    let left = all.sessions().unwrap();
    assert_eq!(left.len(), 1);
    assert_eq!(all.answers(left[0].session).unwrap(), answers::rows(6));
    drop(all);
    for entry in fs::read_dir(dir.path().join("all")).unwrap() {
        let bytes = fs::read(entry.unwrap().path()).unwrap();
        for trace in [&b"unmistakable"[..], b"0000000a"] {
            assert!(!bytes.windows(trace.len()).any(|w| w == trace), "a trace is left in the file");
        }
    }
}
