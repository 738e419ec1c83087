//! On the bench ceramic and cement fill what was prepared, in every level and in free play; only
//! where a level asks for the thickness, too, may it be thinner, and then that is said.

use crate::shared::levels::level;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use second_glance::exercise::{
    Answer, BenchAnswer, BenchSetup, BenchTask, FreeBench, Learner, Recipe, RecipePart, Task,
    lay_out,
};
use second_glance::level::KnownMaterials;
use second_glance::level::clinic::{CaseForm, CeramicChoice, level_text};
use second_glance::level::format::{BenchThickness, Exercise, Level};
use second_glance::level::load::parse_level;
use second_glance::material::Library;
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{Preparation, Space, Thickness, Translucency};

fn stream(seed: u64) -> ChaCha8Rng {
    StreamKey { form: "filled", seed, purpose: Purpose::Schedule, block: 0, trial: 0 }.stream()
}

fn heights(thickness: &Thickness) -> [f64; 4] {
    [thickness.margin_mm, thickness.neck_mm, thickness.body_mm, thickness.incisal_mm]
}

/// Thicknesses of a preparation: from little room for a veneer to a deep crown, mm.
fn drawn(preparation: Preparation, stream: &mut ChaCha8Rng) -> Thickness {
    let deeper = if preparation == Preparation::Crown { 2.0 } else { 1.0 };
    let neck_mm = deeper * stream.random_range(0.3..0.6);
    let body_mm = neck_mm + deeper * stream.random_range(0.0..0.3);
    let incisal_mm = body_mm + deeper * stream.random_range(0.1..0.4);
    Thickness { margin_mm: 0.5 * neck_mm, neck_mm, body_mm, incisal_mm }
}

/// Ceramic and cement are as thick as what was removed, on this film, mm.
#[track_caller]
fn fills(what: &str, recipe: &Recipe, reduction: &Thickness, film_mm: f64) {
    assert!((recipe.cement_film_mm - film_mm).abs() < 1e-9, "{what}: film {recipe:?}");
    for (ceramic, removed) in heights(&recipe.thickness).into_iter().zip(heights(reduction)) {
        let off = ceramic + film_mm - removed;
        assert!(off.abs() < 1e-9, "{what}: {off} mm of {removed} mm are off in {recipe:?}");
    }
}

/// The recipe to begin with, every one that was found, and every one that keys can reach.
fn recipes(task: &BenchTask) -> Vec<(&'static str, Recipe)> {
    let best = task.best.iter().map(|best| ("best", best.recipe.clone()));
    let found = task.reachable.iter().map(|reached| ("found", reached.recipe.clone()));
    let stepped = RecipePart::ALL.into_iter().flat_map(|part| {
        [-3, 3].map(|steps| ("stepped", task.start.stepped(part, steps, &task.limits)))
    });
    let start = [("start", task.start.clone())];
    start.into_iter().chain(best).chain(found).chain(stepped).collect()
}

/// A bench level over one kind of restoration with a drawn preparation.
fn drawn_level(seed: u64, thickness: BenchThickness) -> Level {
    let mut stream = stream(seed);
    let mut level = level("bench-light-tooth");
    level.exercise = Exercise::Bench { questions: 1, attempts: 3, arch: 6, thickness };
    level.seed = seed;
    level.restorations.truncate(1);
    let kind = &mut level.restorations[0];
    kind.share = 1.0;
    let crown = stream.random::<bool>();
    kind.preparation = if crown { Preparation::Crown } else { Preparation::Veneer };
    kind.thickness_mm = drawn(kind.preparation, &mut stream);
    kind.cement_film_mm = [0.03, 0.05, 0.08, 0.11][stream.random_range(0..4)];
    kind.prepared_tooth = ["light", "mid-yellow", "brown"][stream.random_range(0..3)].to_owned();
    level
}

#[test]
fn what_is_found_for_a_drawn_question_fills_the_preparation_on_the_film_of_its_level() {
    let library = Library::shipped().unwrap();
    for seed in 1..=12 {
        let level = drawn_level(seed, BenchThickness::Prepared);
        let kind = &level.restorations[0];
        let round = lay_out(&level, &library, seed, None).unwrap();
        let Task::Bench(task) = &round.questions[0].task else { panic!("a bench") };
        // Room varies with what is asked, in the proportions of the kind.
        let room = heights(&task.limits.reduction).map(|mm| mm - kind.cement_film_mm);
        let scale = room[2] / kind.thickness_mm.body_mm;
        for (room, stated) in room.into_iter().zip(heights(&kind.thickness_mm)) {
            assert!((room - scale * stated).abs() < 1e-9, "{room} of {stated}");
        }
        for (what, recipe) in recipes(task) {
            fills(what, &recipe, &task.limits.reduction, kind.cement_film_mm);
            assert_eq!(task.limits.problems(&recipe), []);
        }
        assert!(!task.thickness_is_free());
        let answer = round.questions[0].answer_of(&Learner { lapse: 1.0, ..Learner::IDEAL }, seed);
        let said = round.questions[0].mark(&answer).unwrap().sentences.join(" ");
        assert!(!said.contains("thicker than needed"), "{said}");
    }
}

#[test]
fn where_thickness_is_asked_what_has_to_be_prepared_is_said() {
    let library = Library::shipped().unwrap();
    let mut thinner = 0;
    for seed in 1..=6 {
        let level = drawn_level(seed, BenchThickness::Free);
        let film = level.restorations[0].cement_film_mm;
        let round = lay_out(&level, &library, seed, None).unwrap();
        let Task::Bench(task) = &round.questions[0].task else { panic!("a bench") };
        assert!(task.thickness_is_free());
        for (what, recipe) in recipes(task) {
            assert!((recipe.cement_film_mm - film).abs() < 1e-9, "{what}: {recipe:?}");
            for (ceramic, removed) in
                heights(&recipe.thickness).into_iter().zip(heights(&task.limits.reduction))
            {
                assert!(ceramic + film <= removed + 1e-9, "{what}: {recipe:?}");
            }
        }
        let best = &task.best.as_ref().unwrap().recipe;
        // As thick as there is room for.
        let parts = [RecipePart::Margin, RecipePart::Neck, RecipePart::Middle, RecipePart::Incisal];
        let full = parts
            .into_iter()
            .fold(task.start.clone(), |recipe, part| recipe.with_number(part, 9.0, &task.limits));
        fills("full", &full, &task.limits.reduction, film);
        let attempts = vec![task.reach(&full, &library).unwrap()];
        let answer = Answer::Bench(BenchAnswer { attempts, change_plan: false });
        let said = round.questions[0].mark(&answer).unwrap().sentences.join(" ");
        let [margin, neck, middle, incisal] = heights(&best.thickness).map(|mm| mm + film);
        let needed = format!(
            "With its cement that needs a preparation of {margin:.2} mm at the margin, {neck:.2} mm at \
             the neck, {middle:.2} mm at the middle, {incisal:.2} mm at the incisal third."
        );
        assert!(said.contains(&needed), "{needed}\n{said}");
        if full.thickness.body_mm - best.thickness.body_mm > 0.03 {
            thinner += 1;
            assert!(said.contains("So much more tooth would be prepared."), "{said}");
        }
    }
    assert!(thinner > 0, "no best was thinner than the room, so that nothing was tested");
}

#[test]
fn a_level_that_asks_for_thickness_says_so_before_it_begins() {
    let levels = crate::shared::levels::shipped_levels();
    let benches = levels.iter().filter_map(|level| match level.exercise {
        Exercise::Bench { thickness, .. } => Some((level, thickness)),
        _ => None,
    });
    let mut free = 0;
    for (level, thickness) in benches {
        let says = level.teaches.contains("thickness is yours to choose")
            && level.teaches.contains("what has to be prepared");
        assert_eq!(says, thickness == BenchThickness::Free, "{}", level.id);
        free += usize::from(says);
    }
    assert!(free > 0);
}

#[test]
fn a_measured_case_cannot_ask_for_the_thickness() {
    let library = Library::shipped().unwrap();
    let case = CaseForm::example().check(&library).case.unwrap();
    let known = KnownMaterials::of(&library);
    let text = level_text(&case.level(&library).unwrap(), "").unwrap();
    let free = text.replacen("attempts: 5,", "attempts: 5, thickness: free,", 1);
    assert_ne!(text, free);
    parse_level("discoloured-central.ron", &text, &known).unwrap();
    let said = parse_level("discoloured-central.ron", &free, &known).unwrap_err().to_string();
    assert!(said.contains("thickness is free, but"), "{said}");
}

#[test]
fn the_best_in_free_play_fills_what_was_set_up_on_the_film_at_hand() {
    let library = Library::shipped().unwrap();
    for seed in 1..=4 {
        let mut stream = stream(100 + seed);
        let crown = stream.random::<bool>();
        let preparation = if crown { Preparation::Crown } else { Preparation::Veneer };
        let reduction = drawn(preparation, &mut stream);
        let setup = BenchSetup { preparation, reduction, ..BenchSetup::default() };
        let bench = setup.set_up(&library).unwrap();
        let Task::Bench(task) = &bench.round.questions[0].task else { panic!("a bench") };
        let film = stream.random_range(0.02..0.12);
        let mut task = task.clone();
        task.find_best_filling(film, &library).unwrap();
        fills("best", &task.best.as_ref().unwrap().recipe, &reduction, film);
        for reached in &task.reachable {
            fills("found", &reached.recipe, &reduction, film);
        }
    }
}

#[test]
fn the_best_for_a_case_keeps_to_the_ticked_ceramics_and_the_typed_gap() {
    let library = Library::shipped().unwrap();
    let classes: Vec<String> = library.ceramics().classes.iter().map(|c| c.id.clone()).collect();
    for seed in 1..=6 {
        let mut stream = stream(200 + seed);
        let mut case = CaseForm::example().check(&library).case.unwrap();
        let gap = stream.random_range(0.02..0.15);
        let mut reduction = drawn(Preparation::Veneer, &mut stream);
        reduction.margin_mm += gap;
        case.space = Space { reduction, cement_gap_mm: gap };
        let ticked = |stream: &mut ChaCha8Rng| {
            let class = classes[stream.random_range(0..classes.len())].clone();
            let offered = library.translucencies(&class);
            let translucency: Translucency = offered[stream.random_range(0..offered.len())];
            CeramicChoice { class, translucency }
        };
        case.ceramics = vec![ticked(&mut stream), ticked(&mut stream)];
        let prepared = case.prepare(&library).unwrap();
        let bench = FreeBench::of_case(&prepared, case.light, seed, &library).unwrap();
        let Task::Bench(task) = &bench.round.questions[0].task else { panic!("a bench") };
        let mut task = task.clone();
        task.find_best_filling(task.start.cement_film_mm, &library).unwrap();
        let best = task.best.iter().map(|best| &best.recipe);
        for recipe in best.chain(task.reachable.iter().map(|reached| &reached.recipe)) {
            fills("found", recipe, &reduction, gap);
            let (class, translucency) = (recipe.ceramic.class.clone(), recipe.ceramic.translucency);
            let choice = CeramicChoice { class, translucency };
            assert!(case.ceramics.contains(&choice) && !recipe.ceramic.graded, "{choice:?}");
        }
    }
}
