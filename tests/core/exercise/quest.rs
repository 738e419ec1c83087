//! Ladder, Match, Two lights and Verdict: hand-worked scores, shipped levels, simulated learners.

use crate::shared::levels::shipped_levels;
use second_glance::bake::{ZoneDifference, bake};
use second_glance::colorimetry::{Illuminant, Lab, Lch, ciede2000};
use second_glance::exercise::*;
use second_glance::level::KnownMaterials;
use second_glance::level::format::Level;
use second_glance::level::load::parse_level;
use second_glance::material::Library;
use second_glance::psychophysics::{Proportion, SignalDetection};
use second_glance::scene::{Ceramic, Preparation, Restoration, Thickness, Tooth, Translucency};

const NOISY: Learner = Learner { noise_de00: 1.2, ..Learner::IDEAL };
const LIKES_LIGHT: Learner = Learner { noise_de00: 0.3, value_bias: 1.0, ..Learner::IDEAL };
const RANDOM: Learner = Learner { lapse: 1.0, ..Learner::IDEAL };

fn level(id: &str) -> Level {
    shipped_levels().into_iter().find(|level| level.id == id).unwrap()
}

fn levels_of(exercise: &str) -> Vec<Level> {
    let all = shipped_levels().into_iter();
    let levels: Vec<_> = all.filter(|level| level.exercise.name() == exercise).collect();
    assert!(levels.len() >= 2, "{exercise}: {} levels", levels.len());
    levels
}

fn question(task: Task) -> Question {
    Question { number: 0, seed_key: "hand/0/0/0".into(), catch: false, sights: Vec::new(), task }
}

fn score(question: &Question, answer: Answer) -> f64 {
    question.mark(&answer).unwrap().score.unwrap()
}

/// Neutral patches with these values, in steps so small that all pairs weigh alike.
fn ladder_of(values: &[f64]) -> Question {
    let patch = |value: &f64| {
        let colour = Lab { l: 70.0 + 0.01 * value, a: 0.0, b: 0.0 };
        Patch { colour, linear: colour.to_linear_srgb() }
    };
    question(Task::Ladder(LadderTask { patches: values.iter().map(patch).collect() }))
}

#[test]
fn ladder_scores_are_those_worked_by_hand() {
    // Worked example: pairs of 0-1-2-3-4 are 4 × 1 + 3 × 2 + 2 × 3 + 1 × 4 = 20 apart in all. The
    // middle pair (1, 2) swapped loses 1, the ends swapped lose 1 + 2 + 3 + 4 + 1 + 2 + 3 = 16.
    let question = ladder_of(&[0.0, 1.0, 2.0, 3.0, 4.0]);
    let order = |order: [usize; 5]| Answer::Ladder(LadderAnswer { order: order.to_vec() });
    for (given, wanted) in [
        ([4, 3, 2, 1, 0], 100.0),
        ([4, 3, 1, 2, 0], 95.0),
        ([0, 3, 2, 1, 4], 20.0),
        ([0, 1, 2, 3, 4], 0.0),
    ] {
        let score = score(&question, order(given));
        assert!((score - wanted).abs() < 0.01, "{given:?}: {score}, by hand {wanted}");
    }
    // A tie may stand either way round.
    let tied = ladder_of(&[0.0, 2.0, 2.0, 3.0, 4.0]);
    for given in [[4, 3, 2, 1, 0], [4, 3, 1, 2, 0]] {
        assert_eq!(score(&tied, order(given)), 100.0);
    }
    let Task::Ladder(task) = &tied.task else { panic!("a ladder") };
    assert_eq!(task.ties(), [(1, 2)]);
    for wrong in [vec![0, 1, 2, 3], vec![0, 1, 2, 3, 3], vec![0, 1, 2, 3, 5]] {
        let refused = question_refuses(&question, Answer::Ladder(LadderAnswer { order: wrong }));
        assert!(refused.contains("each of the 5 patches once"), "{refused}");
    }
}

fn question_refuses(question: &Question, answer: Answer) -> String {
    question.mark(&answer).unwrap_err().to_string()
}

/// A colour `dl00` lighter than the target by the value part of CIEDE2000 alone.
fn lighter(target: Lab, dl00: f64) -> Lab {
    let (mut low, mut high) = (target.l, target.l + 20.0);
    for _ in 0..60 {
        let l = 0.5 * (low + high);
        if ciede2000(target, Lab { l, ..target }).dl00 < dl00 { low = l } else { high = l }
    }
    Lab { l: low, ..target }
}

fn match_of(differences: &[f64]) -> Question {
    let target = Lab { l: 70.0, a: 0.0, b: 0.0 };
    let tab = |dl00: &f64| {
        let colour = lighter(target, *dl00);
        let zones = [colour; 3];
        Tab {
            shade: Lch::from(colour),
            zones,
            linear: zones.map(Lab::to_linear_srgb),
            difference: ZoneDifference::of_thirds(&[target; 3], &zones),
        }
    };
    let tabs = differences.iter().map(tab).collect();
    let tooth = Tooth::new(11).unwrap();
    question(Task::Match(MatchTask { tooth, target: [target; 3], tabs, exact: None }))
}

#[test]
fn match_scores_are_those_worked_by_hand() {
    // Worked example: D = {0.9, 1.2, 2.3, 4.1} has R = {0, 0.3, 1.4, 3.2} and scores 100, 100,
    // 100·(1 − 1/1.8) = 44 and 0.
    let question = match_of(&[0.9, 1.2, 2.3, 4.1]);
    for (tab, wanted) in [(0, 100.0), (1, 100.0), (2, 100.0 * (1.0 - 1.0 / 1.8)), (3, 0.0)] {
        let choice = MatchChoice::Tab(tab);
        let score = score(&question, Answer::Match(MatchAnswer { choice }));
        assert!((score - wanted).abs() < 0.01, "tab {tab}: {score}, by hand {wanted}");
    }
    // Between a tab 1.0 too light and one 1.0 too dark lies the target, but for the slight
    // change of the value weight along the way.
    let around = match_of(&[1.0, 3.0]);
    let Task::Match(mut task) = around.task.clone() else { panic!("a match") };
    let dark = Lab { l: 2.0 * 70.0 - task.tabs[0].zones[0].l, a: 0.0, b: 0.0 };
    task.tabs[1].zones = [dark; 3];
    task.tabs[1].difference = ZoneDifference::of_thirds(&task.target, &[dark; 3]);
    let between = MatchChoice::Between(0, 1);
    assert!(task.difference(between).unwrap().de00 < 1e-9);
    assert_eq!(task.best().unwrap().0, between);
    let refused =
        question_refuses(&around, Answer::Match(MatchAnswer { choice: MatchChoice::Tab(2) }));
    assert_eq!(refused, "there is no tab 3 among 2");
}

fn lit(first: f64, second: f64) -> LitOption {
    let value = |de00: f64| ZoneDifference { de00, dl00: -de00, dc00: 0.0, dh00: 0.0 };
    let restoration = Restoration {
        tooth: Tooth::new(21).unwrap(),
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: "zirconia".into(),
            translucency: Translucency::Low,
            shade: Lch { l: 76.0, c: 15.0, h: 90.0 },
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.6, incisal_mm: 0.8 },
        cement: "clear".into(),
        cement_film_mm: 0.05,
        prepared_tooth: "light".into(),
        drift: None,
    };
    let (first, second) = (value(first), value(second));
    LitOption { restoration, ceramic: "zirconia".into(), first, second }
}

#[test]
fn two_lights_scores_are_those_worked_by_hand() {
    let question = question(Task::TwoLights(TwoLightsTask {
        tooth: Tooth::new(21).unwrap(),
        first_light: Illuminant::D65,
        second_light: Illuminant::Fl11,
        options: vec![lit(0.8, 2.4), lit(1.5, 1.2), lit(1.6, 1.4)],
        second_sights: Vec::new(),
    }));
    let answer =
        |choice, keep| Answer::TwoLights(TwoLightsAnswer { choice, keep, second_choice: 1 });
    // Worked example: the pick is 2.4 in its worse light, the best there is 1.5: R = 0.9, S = 72.
    let mark = question.mark(&answer(0, false)).unwrap();
    assert!((mark.regret_de00.unwrap() - 0.9).abs() < 1e-9);
    assert_eq!(mark.score.unwrap().round(), 72.0);
    // By hand: option 1 is 1.2 worse than option 2 in the second light, option 3 only 0.2.
    // That is about the prediction; the choice itself is close, not right.
    assert_eq!(mark.right, Some(false));
    assert_eq!(mark.truth["prediction_right"], true);
    assert_eq!(question.mark(&answer(0, true)).unwrap().truth["prediction_right"], false);
    assert_eq!(question.mark(&answer(2, true)).unwrap().right, Some(true));
    assert_eq!(score(&question, answer(1, true)), 100.0);
    let refused = question_refuses(&question, answer(3, true));
    assert_eq!(refused, "there is no option 4 among 3");
}

#[test]
fn where_nothing_would_do_in_both_lights_it_is_said_with_the_least_bad() {
    let said = |options: Vec<LitOption>, choice: usize| {
        let task = TwoLightsTask {
            tooth: Tooth::new(21).unwrap(),
            first_light: Illuminant::D65,
            second_light: Illuminant::A,
            options,
            second_sights: Vec::new(),
        };
        let none = task.acceptable_in_both().is_empty();
        let answer = TwoLightsAnswer { choice, keep: true, second_choice: 0 };
        let mark = question(Task::TwoLights(task)).mark(&Answer::TwoLights(answer)).unwrap();
        (none, mark.sentences.join(" "))
    };
    // Acceptable up to 1.8 (Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9).
    let (none, words) = said(vec![lit(1.0, 1.8), lit(1.2, 2.9)], 1);
    assert!(!none && !words.contains("None would do"), "{words}");
    assert!(words.contains("safest over both lights is option 1: never more than 1.8"), "{words}");
    // Each fails in one light only.
    let (none, words) = said(vec![lit(0.9, 2.6), lit(1.95, 1.1)], 0);
    assert!(none && words.contains("None would do in both lights"), "{words}");
    assert!(words.contains("least bad is option 2: at most 1.95"), "{words}");
    // All fail in both.
    let (none, words) = said(vec![lit(2.3, 3.0), lit(2.6, 3.9)], 0);
    assert!(none && words.contains("None would do: in either light"), "{words}");
    assert!(words.contains("least bad is option 1, your choice: at most 3.00"), "{words}");
}

#[test]
fn a_verdict_near_the_limit_counts_neither_way() {
    let verdict = |de00: f64, accept: bool| {
        let difference = ZoneDifference { de00, dl00: -de00, dc00: 0.0, dh00: 0.0 };
        let tooth = Tooth::new(11).unwrap();
        let task =
            VerdictTask { tooth, exposure_s: 1.0, is_natural: false, difference, cause: None };
        question(Task::Verdict(task)).mark(&Answer::Verdict(VerdictAnswer { accept })).unwrap()
    };
    // Acceptable up to 1.8 (Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9), 0.2 to
    // either side not scored (a setting of this program).
    for (de00, accept, right) in [
        (0.5, true, Some(true)),
        (1.5, false, Some(false)),
        (1.7, false, None),
        (1.95, true, None),
        (2.1, true, Some(false)),
        (2.1, false, Some(true)),
    ] {
        let mark = verdict(de00, accept);
        assert_eq!(mark.right, right, "{de00} {accept}");
        assert_eq!(mark.score, right.map(|right| if right { 100.0 } else { 0.0 }));
    }
    // Worked example: 34 of 48 sent back rightly and 4 of 16 wrongly give d′ 1.17, c 0.05, standard
    // error 0.39, log-linear corrected.
    let (hits, false_alarms) =
        (Proportion { successes: 34, total: 48 }, Proportion { successes: 4, total: 16 });
    let indices = SignalDetection::yes_no(hits, false_alarms).unwrap();
    let error = SignalDetection::d_prime_standard_error(hits, false_alarms).unwrap();
    assert!((indices.d_prime - 1.17).abs() < 0.005, "{indices:?}");
    assert!((indices.criterion - 0.05).abs() < 0.005, "{indices:?}");
    assert!((error - 0.39).abs() < 0.005, "{error}");
}

/// Mean score of a learner over a round.
fn play(round: &Round, learner: &Learner, seed: u64) -> RoundSummary {
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
fn laid_out(level: &Level, library: &Library, seed: u64, questions: u32) -> Round {
    let start = std::time::Instant::now();
    let round = lay_out(level, library, seed, Some(questions)).unwrap();
    let took = start.elapsed().as_secs_f64() * 1e3 / f64::from(questions);
    println!("{}: {took:.0} ms a question", level.id);
    assert_eq!(round.questions.len(), questions as usize);
    round
}

#[test]
fn ladders_are_played() {
    let library = Library::shipped().unwrap();
    let mut noisy_scores = Vec::new();
    let mut levels = levels_of("ladder");
    levels.sort_by_key(|level| level.difficulty);
    for level in &levels {
        let round = laid_out(level, &library, 7, 40);
        assert_eq!(round, lay_out(level, &library, 7, Some(40)).unwrap());
        assert_ne!(round, lay_out(level, &library, 8, Some(40)).unwrap());
        // 15 % of 40.
        assert_eq!(round.questions.iter().filter(|q| q.catch).count(), 6);
        for question in &round.questions {
            let Task::Ladder(task) = &question.task else { panic!("a ladder") };
            assert_eq!(question.catch, task.ties().len() == 1, "{:?}", task.ties());
        }
        assert_eq!(play(&round, &Learner::IDEAL, 1).mean_score, Some(100.0));
        let random = play(&round, &RANDOM, 1).mean_score.unwrap();
        // A random order inverts half of everything; 40 orders of 5 scatter by about 5.
        assert!((random - 50.0).abs() < 15.0, "{}: random {random}", level.id);
        let noisy = play(&round, &NOISY, 1).mean_score.unwrap();
        assert!(noisy < 100.0 && noisy > random + 10.0, "{}: noisy {noisy}", level.id);
        noisy_scores.push(noisy);
    }
    println!("noisy learner: {noisy_scores:?}");
    assert!(noisy_scores.windows(2).all(|pair| pair[0] > pair[1]), "harder levels score less");
}

#[test]
fn matches_are_played() {
    let library = Library::shipped().unwrap();
    for level in levels_of("match") {
        let round = laid_out(&level, &library, 7, 10);
        assert_eq!(round.questions.iter().filter(|q| q.catch).count(), 3, "30 % of 10");
        for question in &round.questions {
            let Task::Match(task) = &question.task else { panic!("a match") };
            assert_eq!(task.exact.is_none(), question.catch);
            if let Some(exact) = task.exact {
                assert_eq!(task.tabs[exact].difference, ZoneDifference::default());
            }
            // What is shown as the target is what the bake gives.
            let case = &question.sights[0].case;
            let scene = bake(case, &library).unwrap();
            let shown = scene.zone_labs(task.tooth, second_glance::bake::Condition::Twin).unwrap();
            assert_eq!(shown, task.target);
            if question.number > 0 {
                break;
            }
        }
        let ideal = play(&round, &Learner::IDEAL, 1);
        assert_eq!(ideal.mean_score, Some(100.0), "{}", level.id);
        let noisy = play(&round, &NOISY, 1).mean_score.unwrap();
        let random = play(&round, &RANDOM, 1).mean_score.unwrap();
        println!("{}: noisy {noisy:.0}, random {random:.0}", level.id);
        assert!(random < noisy && noisy <= 100.0, "{}: {random} {noisy}", level.id);
        let biased = play(&round, &LIKES_LIGHT, 1);
        let lean = biased.values["mean_offset"]["dl00"].as_f64().unwrap();
        assert!(lean > 0.2, "{}: likes light, leans {lean}", level.id);
    }
    let level = level("nearest-tab");
    let round = lay_out(&level, &library, 3, Some(2)).unwrap();
    let again = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(round, again.install(|| lay_out(&level, &library, 3, Some(2)).unwrap()));
}

#[test]
fn verdicts_are_played() {
    let library = Library::shipped().unwrap();
    for level in levels_of("verdict") {
        let round = laid_out(&level, &library, 7, 24);
        let tasks: Vec<&VerdictTask> = round
            .questions
            .iter()
            .map(|q| match &q.task {
                Task::Verdict(task) => task,
                other => panic!("{other:?}"),
            })
            .collect();
        assert_eq!(tasks.iter().filter(|task| task.is_natural).count(), 6, "a quarter of 24");
        let mut sizes: Vec<f64> =
            tasks.iter().filter(|t| !t.is_natural).map(|t| t.difference.de00).collect();
        sizes.sort_by(f64::total_cmp);
        println!("{}: {sizes:.2?}", level.id);
        assert!(sizes[2] < 1.0 && sizes[15] > 2.5, "{}: {sizes:.1?}", level.id);
        let darker = tasks.iter().filter(|task| task.difference.dl00 < 0.0).count();
        assert!((5..=13).contains(&darker), "{}: {darker} of 18 darker", level.id);
        // The truth of a tooth baked by itself is that of the whole smile.
        let restored = round.questions.iter().find(|q| !q.catch).unwrap();
        let truth = bake(&restored.sights[0].case, &library).unwrap().truth.unwrap();
        let Task::Verdict(task) = &restored.task else { panic!("a verdict") };
        assert_eq!((truth.tooth, truth.difference), (task.tooth, task.difference));

        assert_eq!(play(&round, &Learner::IDEAL, 1).mean_score, Some(100.0), "{}", level.id);
        let noisy = play(&round, &NOISY, 1).mean_score.unwrap();
        let random = play(&round, &RANDOM, 1).mean_score.unwrap();
        println!("{}: noisy {noisy:.0}, random {random:.0}", level.id);
        assert!(noisy < 100.0 && noisy > random, "{}: {random} {noisy}", level.id);
        let strict = Learner { value_bias: 2.0, ..Learner::IDEAL };
        let false_alarms = play(&round, &strict, 1).values["false_alarms"]["successes"].clone();
        assert_eq!(false_alarms, 6, "who likes teeth lighter sends natural ones back");
    }
}

#[test]
fn two_lights_are_played() {
    let library = Library::shipped().unwrap();
    for level in levels_of("two_lights") {
        let round = laid_out(&level, &library, 7, 8);
        let (mut stable, mut unmet) = (0, 0);
        for question in &round.questions {
            let Task::TwoLights(task) = &question.task else { panic!("two lights") };
            assert_eq!(question.sights.len(), task.options.len());
            assert_eq!(task.second_sights.len(), task.options.len());
            assert!(task.second_sights.iter().all(|s| s.case.illuminant == task.second_light));
            stable += u32::from(question.catch);
            let keep = task.keep_is_right(task.best_in_first().unwrap());
            assert_eq!(keep, Some(question.catch), "{} {}", level.id, question.number);
            let gap =
                |option: &LitOption| format!("{:.2}/{:.2}", option.first.de00, option.second.de00);
            println!("{}", task.options.iter().map(gap).collect::<Vec<_>>().join("  "));
            // Where nothing would do in both lights the debrief says so, and nowhere else.
            let none = task.options.iter().all(|o| o.first.de00.max(o.second.de00) > 1.8);
            unmet += u32::from(none);
            for choice in 0..task.options.len() {
                let answer = TwoLightsAnswer { choice, keep: true, second_choice: choice };
                let mark = question.mark(&Answer::TwoLights(answer)).unwrap();
                let says_so = mark.sentences.iter().any(|s| s.starts_with("None would do"));
                assert_eq!(says_so, none, "{} {}: {mark:?}", level.id, question.number);
            }
        }
        println!("{}: nothing would do in both lights in {unmet} of 8", level.id);
        assert_eq!(stable, 2, "a quarter of 8");
        // The truth of an option is that of the whole smile.
        let question = &round.questions[0];
        let Task::TwoLights(task) = &question.task else { panic!("two lights") };
        let truth = |case| bake(case, &library).unwrap().truth.unwrap().difference;
        assert_eq!(truth(&question.sights[0].case), task.options[0].first);
        assert_eq!(truth(&task.second_sights[0].case), task.options[0].second);

        // Who sees everything foresees everything.
        let ideal = play(&round, &Learner::IDEAL, 1);
        assert_eq!(ideal.values["hits"], serde_json::json!({ "successes": 6, "total": 6 }));
        assert_eq!(ideal.values["false_alarms"], serde_json::json!({ "successes": 0, "total": 2 }));
        let noisy = play(&round, &NOISY, 1);
        let (ideal, noisy) = (ideal.values["d_prime"].as_f64(), noisy.values["d_prime"].as_f64());
        println!("{}: d′ ideal {ideal:?}, noisy {noisy:?}", level.id);
        assert!(noisy < ideal, "{}", level.id);
        play(&round, &RANDOM, 1);
    }
}

/// What `check` says of a shipped level after one change.
fn complaints(id: &str, old: &str, new: &str) -> Vec<String> {
    let library = Library::shipped().unwrap();
    let mut known = KnownMaterials::default();
    known.add_ceramics(library.ceramics());
    known.add_cements(library.cements());
    known.add_tissues(library.tissues());
    let path = format!("{}/levels/{id}.ron", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    assert!(old.is_empty() || text.contains(old), "{id} has no {old:?}");
    match parse_level(format!("levels/{id}.ron"), &text.replacen(old, new, 1), &known) {
        Ok(_) => Vec::new(),
        Err(error) => error.diagnostics.into_iter().map(|found| found.message).collect(),
    }
}

#[test]
fn levels_that_cannot_be_played_are_refused() {
    for level in ["ladder", "match", "verdict", "two_lights"].map(levels_of).into_iter().flatten() {
        assert_eq!(complaints(&level.id, "", ""), [""; 0], "{}", level.id);
    }
    for (id, old, new, wanted) in [
        (
            "value-ladder",
            "step: (2.5, 4.5)",
            "step: (2.5, 8.0)",
            "patches reach from L 54.0 to L 93.0",
        ),
        ("value-ladder", "patches: 5", "patches: 6", "patches is 6, but must be 5 or 7"),
        ("value-ladder", "light: D65", "light: FL11", "patches are screen colours under D65"),
        ("value-ladder", "light: D65,", "light: D65, restorations: [],\n", ""),
        ("nearest-tab", "spacing_de00: 3.0", "spacing_de00: 0.2", "outside 0.5 to 6"),
        ("under-the-bulb", "second_light: A", "second_light: D65", "both lights are D65"),
        (
            "under-the-bulb",
            "lithium-disilicate-orange-absorber",
            "lithium-disilicate-orange",
            "no ceramic has the id",
        ),
        ("at-a-glance", "exposure_s: 1.0", "exposure_s: 0.1", "outside 0.25 to 8"),
    ] {
        let found = complaints(id, old, new);
        if wanted.is_empty() {
            assert_eq!(found, [""; 0], "{id} {new}");
        } else {
            assert!(found.iter().any(|m| m.contains(wanted)), "{id} {new}: {found:?}");
        }
    }
    // Patches and tabs stand on no tooth; options need something to stand on.
    let kind = "restorations: [( share: 1.0, preparation: veneer, ceramic: \"zirconia\", \
                translucency: low, graded: false, thickness_mm: (margin_mm: 0.1, neck_mm: 0.4, \
                body_mm: 0.6, incisal_mm: 0.8), cement: \"clear\", cement_film_mm: 0.05, \
                prepared_tooth: \"light\" )],\n)";
    let found = complaints("seven-fine-steps", "light: D65,\n)", &format!("light: D65,\n{kind}"));
    assert_eq!(found, ["restorations is given, but `ladder` has none"]);
    let without = complaints("at-a-glance", "restorations: [", "teeth: [");
    assert!(without.iter().any(|m| m.contains("restorations")), "{without:?}");
}
