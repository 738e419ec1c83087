//! The bench: recipes and their limits, drafts, quick updates, the best that can be reached.

use crate::shared::learners::{LEARNERS, plays};
use crate::shared::levels::level;
use rand_chacha::ChaCha8Rng;
use second_glance::bake::{BakedScene, ReflectanceMap, bake};
use second_glance::colorimetry::{ACCEPTABILITY_DE00, Illuminant, Lch};
use second_glance::exercise::{
    Answer, BenchAnswer, BenchTask, Drafts, Reached, Recipe, RecipeLimits, RecipePart,
    RecipeProblem, Round, Slot, Task, compensation, lay_out,
};
use second_glance::material::Library;
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Thickness, Tooth, Translucency,
};
use std::sync::OnceLock;
use std::time::Instant;

fn stream(seed: u64) -> ChaCha8Rng {
    StreamKey { form: "test", seed, purpose: Purpose::Observer, block: 0, trial: 0 }.stream()
}

fn case(preparation: Preparation, number: u8) -> Case {
    let body = Lch { l: 75.0, c: 16.0, h: 88.0 };
    let tooth = |tooth| NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    Case {
        seed: 5,
        patient: Patient {
            teeth: Tooth::arch(10).into_iter().map(tooth).collect(),
            gingiva: Lch { l: 55.0, c: 25.0, h: 25.0 },
        },
        restorations: vec![Restoration {
            tooth: Tooth::new(number).unwrap(),
            preparation,
            ceramic: Ceramic {
                class: "feldspathic".to_owned(),
                translucency: Translucency::High,
                shade: body,
                graded: false,
                block_shift: 0.0,
            },
            thickness: Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.6, incisal_mm: 0.8 },
            cement: "clear".to_owned(),
            cement_film_mm: 0.05,
            prepared_tooth: "brown".to_owned(),
            drift: None,
        }],
        shift: None,
        illuminant: Illuminant::D65,
        staging: second_glance::scene::Staging::default(),
    }
}

fn bytes(scene: &BakedScene) -> Vec<u8> {
    let map = |map: &ReflectanceMap| -> Vec<u8> {
        map.texels.iter().flatten().flat_map(|v| v.to_le_bytes()).collect()
    };
    let maps = scene.teeth.iter().flat_map(|t| [Some(&*t.natural), t.restored.as_deref()]);
    maps.flatten().flat_map(map).collect()
}

#[test]
fn one_tooth_baked_anew_is_the_whole_bake() {
    let library = Library::shipped().unwrap();
    for preparation in
        [Preparation::Veneer, Preparation::Crown, Preparation::Onlay { margin_height: 0.4 }]
    {
        let mut case = case(preparation, 14);
        let before = bake(&case, &library).unwrap();
        case.restorations[0].ceramic.shade.l = 80.0;
        case.restorations[0].cement = "warm".to_owned();
        let started = Instant::now();
        let whole = bake(&case, &library).unwrap();
        let full = started.elapsed();
        let mut anew = before.clone();
        let started = Instant::now();
        anew.rebake(&case, case.restorations[0].tooth, &library).unwrap();
        println!("{preparation:?}: whole {full:?}, one tooth {:?}", started.elapsed());
        assert!(bytes(&whole) != bytes(&before));
        assert!(bytes(&whole) == bytes(&anew));
        assert_eq!(whole, anew);
        let other = Tooth::new(11).unwrap();
        assert!(anew.rebake(&case, other, &library).is_err());
        assert_eq!(whole, anew);
    }
}

#[test]
fn below_its_margin_an_onlay_is_the_natural_tooth() {
    let library = Library::shipped().unwrap();
    let mut case = case(Preparation::Onlay { margin_height: 0.5 }, 14);
    case.restorations[0].ceramic.shade.l = 84.0;
    let scene = bake(&case, &library).unwrap();
    let tooth = scene.tooth(case.restorations[0].tooth).unwrap();
    let restored = tooth.restored.as_ref().unwrap();
    let row = |y: usize| {
        let width = restored.width;
        (0..width).map(|x| (restored.texel(x, y), tooth.natural.texel(x, y))).collect::<Vec<_>>()
    };
    // Light spreads by 0.45 mm; the bake's kernel reaches a little over three times that.
    let length_mm = tooth.tooth.kind().crown_dimensions().length_mm;
    let clear = ((0.5 - 1.8 / length_mm) * restored.height as f64) as usize;
    for y in 0..clear {
        assert!(row(y).iter().all(|(restored, natural)| restored == natural), "row {y}");
    }
    let above = ((0.5 + 0.3 / length_mm) * restored.height as f64) as usize;
    assert!(row(above).iter().all(|(restored, natural)| restored != natural));
}

fn limits(library: &Library) -> RecipeLimits {
    let reduction = Thickness { margin_mm: 0.2, neck_mm: 0.5, body_mm: 0.7, incisal_mm: 1.0 };
    RecipeLimits::new(library, Preparation::Veneer, reduction)
}

fn recipe() -> Recipe {
    Recipe::of(&case(Preparation::Veneer, 11).restorations[0]).held_for_test()
}

trait Held {
    fn held_for_test(self) -> Self;
}

impl Held for Recipe {
    fn held_for_test(mut self) -> Self {
        self.thickness = Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.5, incisal_mm: 0.7 };
        self
    }
}

#[test]
fn the_room_for_ceramic_is_the_reduction_less_the_cement() {
    // Common practice, no source: total reduction minus cement gap.
    let library = Library::shipped().unwrap();
    let limits = limits(&library);
    for (part, film, room) in [
        (RecipePart::Middle, 0.05, 0.65),
        (RecipePart::Middle, 0.1, 0.6),
        (RecipePart::Margin, 0.05, 0.15),
        (RecipePart::Incisal, 0.02, 0.98),
    ] {
        assert!((limits.room_mm(part, film) - room).abs() < 1e-12, "{part:?}");
    }
    let full = recipe().with_number(RecipePart::Middle, 3.0, &limits);
    assert!((full.thickness.body_mm - 0.65).abs() < 1e-12, "{full:?}");
    // A thicker film takes the room away.
    let thick_film = full.with_number(RecipePart::Film, 0.1, &limits);
    assert!((thick_film.thickness.body_mm - 0.6).abs() < 1e-12, "{thick_film:?}");
    assert!(limits.problems(&thick_film).is_empty());
}

#[test]
fn problems_are_said_in_plain_words() {
    let library = Library::shipped().unwrap();
    let limits = limits(&library);
    assert_eq!(limits.problems(&recipe()), Vec::new());
    let mut wrong = recipe();
    wrong.thickness.body_mm = 0.9;
    wrong.cement = "nothing".to_owned();
    wrong.ceramic.class = "lithium-disilicate".to_owned();
    wrong.ceramic.graded = true;
    wrong.ceramic.shade.l = 95.0;
    let said: Vec<String> = limits.problems(&wrong).iter().map(ToString::to_string).collect();
    for expected in [
        "lithium disilicate glass-ceramic does not come as a graded block: choose a uniform one or \
         another class",
        "no cement is called \"nothing\" here: choose another",
        "lightness is 95.00, but must lie between 66.00 and 88.00",
        "at the middle, 0.90 mm of ceramic and 0.05 mm of cement need more than the 0.70 mm that \
         were prepared",
    ] {
        assert!(said.iter().any(|s| s == expected), "{expected}\n{said:?}");
    }
    assert!(limits.problems(&wrong.held(&limits)).is_empty());
    // Above L* 82 the lattice has no strong chroma.
    let mut light = recipe();
    light.ceramic.shade = Lch { l: 86.0, c: 19.0, h: 90.0 };
    let problems = limits.problems(&light);
    assert!(matches!(problems[..], [RecipeProblem::Outside { part: RecipePart::Chroma, .. }]));
}

#[test]
fn steps_stay_within_limits_and_can_be_made() {
    let library = Library::shipped().unwrap();
    let limits = limits(&library);
    let mut recipe = recipe();
    let mut stream = stream(1);
    for _ in 0..300 {
        use rand::RngExt;
        let part = RecipePart::ALL[stream.random_range(0..RecipePart::ALL.len())];
        recipe = recipe.stepped(part, stream.random_range(-6..=6), &limits);
        assert_eq!(limits.problems(&recipe), Vec::new(), "{part:?} {recipe:?}");
    }
    let up = recipe.stepped(RecipePart::Cement, -100, &limits);
    assert_eq!(up.cement, limits.cements[0].id);
    let graded =
        recipe.stepped(RecipePart::Class, -100, &limits).stepped(RecipePart::Graded, 1, &limits);
    assert!(graded.ceramic.graded);
    let shifted = graded.stepped(RecipePart::BlockShift, 3, &limits);
    assert!((shifted.ceramic.block_shift - 0.15).abs() < 1e-12 || shifted != graded);
    // The shades at the corners of the limits are ones that a material can have.
    for class in &limits.classes {
        for translucency in [Translucency::Low, Translucency::High] {
            for l in [66.0, 75.0, 82.0, 88.0] {
                let mut corner = recipe.clone();
                corner.ceramic.class.clone_from(&class.id);
                corner.ceramic.graded = false;
                corner.ceramic.translucency = translucency;
                corner.ceramic.shade.l = l;
                for (c, h) in [(0.0, 0.0), (0.0, 360.0), (99.0, 0.0), (99.0, 360.0)] {
                    corner.ceramic.shade.c = c;
                    corner.ceramic.shade.h = h;
                    let held = corner.held(&limits);
                    let made = library.ceramic_at(&held.ceramic, 0.5);
                    assert!(made.is_ok(), "{} {made:?}", held.ceramic.shade.name());
                }
            }
        }
    }
}

#[test]
fn drafts_go_back_and_forth() {
    let library = Library::shipped().unwrap();
    let limits = limits(&library);
    let start = recipe();
    let lighter = start.stepped(RecipePart::Lightness, 2, &limits);
    let thicker = lighter.stepped(RecipePart::Middle, 1, &limits);
    let mut drafts = Drafts::new(start.clone());
    assert!(!drafts.undo() && !drafts.redo() && !drafts.change(start.clone()));
    drafts.keep(Slot::A);
    assert!(drafts.change(lighter.clone()) && drafts.change(thicker.clone()));
    assert!(drafts.undo());
    assert_eq!(*drafts.current(), lighter);
    assert!(drafts.redo());
    assert_eq!(*drafts.current(), thicker);
    assert!(drafts.undo() && drafts.undo() && !drafts.undo());
    assert_eq!(*drafts.current(), start);
    assert!(drafts.can_redo());
    // Another way from here: what had been undone is gone.
    assert!(drafts.change(thicker.clone()) && !drafts.can_redo());
    // A drag is one change.
    assert!(
        drafts.change(lighter.clone())
            && drafts.adjust(start.stepped(RecipePart::Chroma, 1, &limits))
    );
    assert!(drafts.undo());
    assert_eq!(*drafts.current(), thicker);
    drafts.keep(Slot::B);
    assert_eq!(drafts.kept(Slot::A), Some(&start));
    assert!(drafts.take_up(Slot::A) && *drafts.current() == start);
    assert!(drafts.undo() && *drafts.current() == thicker);
}

/// A round that several tests look at.
fn dark_round() -> &'static (Library, Round) {
    static ROUND: OnceLock<(Library, Round)> = OnceLock::new();
    ROUND.get_or_init(|| {
        let library = Library::shipped().unwrap();
        let level = level("bench-dark-central");
        let started = Instant::now();
        let round = lay_out(&level, &library, level.seed, Some(5)).unwrap();
        println!("five questions laid out in {:?}", started.elapsed());
        (library, round)
    })
}

fn tasks(round: &Round) -> impl Iterator<Item = &BenchTask> {
    round.questions.iter().map(|question| match &question.task {
        Task::Bench(task) => task,
        other => panic!("{}", other.name()),
    })
}

#[test]
fn nothing_tried_beats_the_best_by_more_than_the_search_can_miss() {
    let (library, round) = dark_round();
    let mut stream = stream(2);
    for task in tasks(round).take(3) {
        use rand::RngExt;
        let best = task.best.as_ref().unwrap();
        assert_eq!(task.limits.problems(&best.recipe), Vec::new());
        assert_eq!(task.limits.problems(&task.start), Vec::new());
        println!(
            "{} over {}: best {:.2} with {}; {:.2} needed",
            task.tooth,
            task.prepared_tooth,
            best.difference.de00,
            task.in_words(&best.recipe),
            task.masking_needed()
        );
        // Steps around the best, and anywhere.
        for i in 0..6 {
            let mut recipe = if i % 2 == 0 { best.recipe.clone() } else { task.start.clone() };
            for _ in 0..3 {
                let part = RecipePart::ALL[stream.random_range(0..RecipePart::ALL.len())];
                recipe = recipe.stepped(part, stream.random_range(-2..=2), &task.limits);
            }
            let Ok(reached) = task.reach(&recipe, library) else { continue };
            // The search looks at a coarse face, held to 0.15 of the baked one.
            let lead = best.difference.de00 - reached.difference.de00;
            assert!(lead < 0.3, "{lead} better than {:?}: {recipe:?}", best.recipe);
        }
    }
}

#[test]
fn a_question_is_catch_when_nothing_is_acceptable() {
    let (_, round) = dark_round();
    let unmet: Vec<bool> = tasks(round).map(|task| task.can_be_met() == Some(false)).collect();
    let catch: Vec<bool> = round.questions.iter().map(|q| q.catch).collect();
    assert_eq!(unmet, catch);
    // One in seven, about the 15 % that are meant not to be met, lies among the first five here.
    assert_eq!(catch.iter().filter(|c| **c).count(), 1);
    for task in tasks(round) {
        let best = task.best.as_ref().unwrap().difference.de00;
        assert!((best - ACCEPTABILITY_DE00).abs() >= 0.3, "{best} hangs on the model's error");
        let step =
            (task.start.ceramic.shade.l - task.best.as_ref().unwrap().recipe.ceramic.shade.l).abs();
        assert!(step >= 3.0, "begins {step} L* from the best");
    }
}

#[test]
fn learners_compose_as_well_as_they_see() {
    let (_, round) = dark_round();
    let results = LEARNERS.map(|learner| plays(round, &learner, 8));
    println!("{results:?}");
    let [ideal, noisy, biased, random] = results;
    assert!(ideal.0 > 95.0 && ideal.1 < 0.3, "{ideal:?}");
    assert!(ideal.0 > noisy.0 && noisy.0 > random.0);
    assert!(ideal.1 < noisy.1 && noisy.1 < random.1);
    assert!(biased.0 < ideal.0 && biased.1 > ideal.1);
}

#[test]
fn compensation_is_one_for_who_sees_and_less_for_who_lets_it_through() {
    let (_, round) = dark_round();
    let slope = |answer_of: &dyn Fn(&BenchTask) -> Reached| {
        let answers: Vec<(&BenchTask, BenchAnswer)> = tasks(round)
            .filter(|task| task.can_be_met() == Some(true))
            .map(|task| {
                let attempts = vec![answer_of(task)];
                (task, BenchAnswer { attempts, change_plan: false })
            })
            .collect();
        let pairs: Vec<_> = answers.iter().map(|(task, answer)| (*task, answer)).collect();
        compensation(&pairs).unwrap()
    };
    let best = slope(&|task| task.best.clone().unwrap());
    let half = slope(&|task| {
        // Makes up for half of what the best does.
        let mut reached = task.best.clone().unwrap();
        reached.difference.dl00 = task.uncompensated.dl00 + 0.5 * task.masking_needed();
        reached
    });
    let none = slope(&|task| {
        let mut reached = task.best.clone().unwrap();
        reached.difference = task.uncompensated;
        reached
    });
    println!("{best:?} {half:?} {none:?}");
    // By hand: chosen = needed, needed / 2 and nothing on every question.
    assert!((best.slope - 1.0).abs() < 1e-9, "{best:?}");
    assert!((half.slope - 0.5).abs() < 1e-9, "{half:?}");
    assert!(none.slope.abs() < 1e-9, "{none:?}");
    assert!(compensation(&[]).is_none());
}

fn attempt(task: &BenchTask, de00: f64) -> Reached {
    let mut reached = task.best.clone().unwrap();
    reached.difference.de00 = de00;
    reached
}

#[test]
fn marks_are_those_worked_by_hand() {
    let (_, round) = dark_round();
    let question = round.questions.iter().find(|q| !q.catch).unwrap();
    let Task::Bench(task) = &question.task else { panic!() };
    let mut question = question.clone();
    // 2.1 where 0.9 can be reached is a regret of 1.2: 100 (1 - (1.2 - 0.4) / 1.8) = 56.
    let mut fixed = task.clone();
    fixed.best.as_mut().unwrap().difference.de00 = 0.9;
    question.task = Task::Bench(fixed.clone());
    let answer =
        |attempts: Vec<Reached>, change_plan| Answer::Bench(BenchAnswer { attempts, change_plan });
    let mark =
        question.mark(&answer(vec![attempt(&fixed, 2.1), attempt(&fixed, 1.5)], false)).unwrap();
    assert!((mark.regret_de00.unwrap() - 1.2).abs() < 1e-12);
    assert_eq!(mark.score.unwrap().round(), 56.0);
    // Marked by the first attempt, as the score is.
    assert_eq!((mark.right, mark.headline().as_str()), (Some(false), "Close: 56 of 100"));
    assert_eq!(mark.truth["attempts_to_acceptable"], 2);
    assert!(mark.sentences.iter().any(|s| s == "Attempt 2 is acceptable."), "{mark:?}");
    // What can be met is not to be given up.
    assert_eq!(question.mark(&answer(Vec::new(), true)).unwrap().score, Some(0.0));
    assert!(question.mark(&answer(Vec::new(), false)).is_err());
    let four = vec![attempt(&fixed, 2.1); 4];
    assert!(question.mark(&answer(four, false)).is_err());
    let mut too_thick = attempt(&fixed, 1.0);
    too_thick.recipe.thickness.body_mm = 4.0;
    assert!(question.mark(&answer(vec![too_thick], false)).is_err());
    // What cannot be met: changing the plan is right.
    let catch = round.questions.iter().find(|q| q.catch).unwrap();
    let given_up = catch.mark(&answer(Vec::new(), true)).unwrap();
    assert_eq!((given_up.score, given_up.right), (Some(100.0), Some(true)));
    // And nothing else is, however near the least bad.
    let Task::Bench(task) = &catch.task else { panic!() };
    let least_bad = vec![task.best.clone().unwrap()];
    let tried = catch.mark(&answer(least_bad, false)).unwrap();
    assert_eq!((tried.score, tried.right), (Some(0.0), Some(false)));
}

#[test]
fn free_play_is_the_same_without_a_score() {
    let library = Library::shipped().unwrap();
    let mut natural = case(Preparation::Veneer, 11);
    natural.restorations.clear();
    let tooth = Tooth::new(11).unwrap();
    let reduction = Thickness { margin_mm: 0.2, neck_mm: 0.5, body_mm: 0.7, incisal_mm: 1.0 };
    let task =
        BenchTask::free(natural, tooth, Preparation::Veneer, "light", reduction, &library).unwrap();
    assert_eq!(task.limits.problems(&task.start), Vec::new());
    let reached = task.reach(&task.start, &library).unwrap();
    let whole = bake(&task.case_with(&task.start), &library).unwrap().truth.unwrap();
    assert_eq!(reached.difference, whole.difference);
    let question = second_glance::exercise::Question {
        number: 0,
        seed_key: "free".to_owned(),
        catch: false,
        sights: Vec::new(),
        task: Task::Bench(task),
    };
    let answer = Answer::Bench(BenchAnswer { attempts: vec![reached; 12], change_plan: false });
    let mark = question.mark(&answer).unwrap();
    assert_eq!((mark.score, mark.regret_de00, mark.right), (None, None, None));
}
