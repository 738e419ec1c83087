//! A measured ceramic of one's own in every exercise: only in the shades that were measured.

use crate::shared::learners::LEARNERS;
use crate::shared::levels::level;
use second_glance::chart::{ChartCase, blend_chart};
use second_glance::colorimetry::Lch;
use second_glance::exercise::{FreeBench, RecipePart, Task, fault_in_use, lay_out, plain_classes};
use second_glance::level::clinic::{CaseExercise, CaseForm, CeramicChoice, level_text};
use second_glance::level::format::{Exercise, Level};
use second_glance::level::load::parse_level;
use second_glance::level::{KnownMaterials, lower};
use second_glance::material::Library;
use second_glance::material::format::{
    MATERIAL_FORMAT, MeasuredCeramics, MeasuredClass, MeasuredPiece,
};
use second_glance::scene::Translucency;
use second_glance::spectrum::{FIRST_NM, RegularSamples, STEP_NM};

/// The shipped library with a ceramic of one's own that was measured in these shades.
fn with_own(shades: &[Lch]) -> Library {
    with_own_like("lithium-disilicate", shades)
}

/// The same, pigmented as a ceramic that ships.
fn with_own_like(like: &str, shades: &[Lch]) -> Library {
    let library = Library::shipped().unwrap();
    let samples = |spectrum: &second_glance::spectrum::Spectrum| RegularSamples {
        first_nm: FIRST_NM,
        step_nm: STEP_NM,
        values: spectrum.bands().to_vec(),
    };
    let piece = |shade: &Lch| {
        let medium = library.ceramic(like, Translucency::Medium, *shade).unwrap();
        MeasuredPiece {
            translucency: Translucency::Medium,
            shade: *shade,
            absorption: samples(&medium.absorption),
            reduced_scattering: samples(&medium.reduced_scattering),
        }
    };
    let class = MeasuredClass {
        id: "own-disc".to_owned(),
        name: "own disc".to_owned(),
        refractive_index: 1.53,
        anisotropy: 0.7,
        pieces: shades.iter().map(piece).collect(),
        basis: "as designed".to_owned(),
    };
    let pieces = MeasuredCeramics { format: MATERIAL_FORMAT, classes: vec![class] };
    Library::shipped().unwrap().with_measured(pieces)
}

fn shade(l: f64, c: f64) -> Lch {
    Lch { l, c, h: 90.0 }
}

const OWN: [Lch; 3] = [
    Lch { l: 74.0, c: 15.0, h: 90.0 },
    Lch { l: 78.0, c: 15.0, h: 90.0 },
    Lch { l: 80.0, c: 20.0, h: 90.0 },
];

/// A level with the own ceramic in all its kinds.
fn of_own(id: &str) -> Level {
    let mut level = level(id);
    for kind in &mut level.restorations {
        kind.ceramic = "own-disc".to_owned();
        kind.translucency = Translucency::Medium;
        (kind.graded, kind.block_shift) = (false, None);
    }
    level
}

#[test]
fn an_own_ceramic_is_at_hand_and_goes_from_piece_to_piece() {
    let library = with_own(&OWN);
    let own = plain_classes(&library).into_iter().find(|class| class.id == "own-disc").unwrap();
    assert_eq!(own.translucencies, [Translucency::Medium]);
    assert_eq!(own.piece_shades(Translucency::Medium).unwrap(), OWN);
    assert_eq!(library.ceramic_name("own-disc"), "own disc");
    let mut case = CaseForm::example().check(&library).case.unwrap();
    case.ceramics =
        vec![CeramicChoice { class: "own-disc".to_owned(), translucency: Translucency::Medium }];
    let prepared = case.prepare(&library).unwrap();
    let bench = FreeBench::of_case(&prepared, case.light, 1, &library).unwrap();
    let Task::Bench(task) = &bench.round.questions[0].task else { panic!("a bench") };
    let mut task = task.clone();
    let limits = &task.limits;
    assert_eq!(limits.classes.len(), 1);
    let mut recipe = task.start.clone();
    for (part, steps, at) in [
        (RecipePart::Lightness, -9, OWN[0]),
        (RecipePart::Lightness, 1, OWN[1]),
        (RecipePart::Lightness, 1, OWN[2]),
        (RecipePart::Lightness, 1, OWN[2]),
        (RecipePart::Chroma, -1, OWN[1]),
    ] {
        recipe = recipe.stepped(part, steps, limits);
        assert_eq!(recipe.ceramic.shade, at, "{part:?} {steps}");
        assert_eq!(limits.problems(&recipe), []);
        assert!(task.reach(&recipe, &library).is_ok());
    }
    recipe = recipe.with_number(RecipePart::Lightness, 75.0, limits);
    assert_eq!(recipe.ceramic.shade, OWN[0]);
    let mut none = recipe.clone();
    none.ceramic.shade = shade(66.0, 10.0);
    assert!(limits.problems(&none)[0].to_string().contains("own disc was not measured in L66"));
    task.find_best_filling(0.08, &library).unwrap();
    assert!(OWN.contains(&task.best.as_ref().unwrap().recipe.ceramic.shade));
    // Its chart has the one translucency that was measured.
    let smile = task.case_with(&task.start);
    let chart = blend_chart(&ChartCase::of(&smile).unwrap(), "it", &[], &library).unwrap();
    assert_eq!(chart.panels.len(), 1);
}

#[test]
fn exercises_use_only_the_shades_that_were_measured() {
    let library = with_own(&OWN);
    for id in
        ["bracket-first", "try-in-first", "margin-first", "accept-or-remake", "blend-value-first"]
    {
        let level = of_own(id);
        match lay_out(&level, &library, level.seed, Some(1)) {
            Ok(round) => {
                let restorations = || {
                    let sights = round.questions.iter().flat_map(|q| &q.sights);
                    sights.flat_map(|sight| &sight.case.restorations)
                };
                assert!(restorations().all(|r| OWN.contains(&r.ceramic.shade)), "{id}");
            }
            // Few shades may hold no question, which is said as such.
            Err(error) => {
                let said = error.to_string();
                println!("{said}");
                assert!(!said.contains("was not measured"), "{said}");
            }
        }
    }
    let level = of_own("first-look");
    let plan = lower(&level, &library, 1, Some(4)).unwrap();
    let restored = plan.trials.iter().filter_map(|trial| trial.case.restoration());
    assert!(restored.into_iter().all(|r| OWN.contains(&r.ceramic.shade)));
}

/// Nine shades, as a maker's guide may have them.
fn nine() -> Vec<Lch> {
    [72.0, 75.0, 78.0].into_iter().flat_map(|l| [12.0, 15.0, 18.0].map(|c| shade(l, c))).collect()
}

/// Two lights over the kinds of a shipped level, the own ceramic in the first so many of them.
fn two_lights(kinds_of_own: usize) -> Level {
    let mut level = level("office-light");
    if let Exercise::TwoLights { questions, .. } = &mut level.exercise {
        *questions = 3;
    }
    for kind in level.restorations.iter_mut().take(kinds_of_own) {
        kind.ceramic = "own-disc".to_owned();
        kind.translucency = Translucency::Medium;
    }
    level
}

#[test]
fn two_lights_with_an_own_ceramic_can_be_played_where_checking_passes_and_only_there() {
    let (mut played, mut refused, mut sights_of_own) = (0, 0, 0);
    for (like, shades, kinds_of_own) in [
        ("lithium-disilicate", nine(), 2),
        ("lithium-disilicate-red-absorber", nine(), 1),
        ("lithium-disilicate-red-absorber", OWN.to_vec(), 1),
        // One ceramic in one pigment fails in no other light, or too few shades leave no options.
        ("lithium-disilicate", nine(), 5),
        ("lithium-disilicate", OWN[..1].to_vec(), 5),
    ] {
        let library = with_own_like(like, &shades);
        let what = format!("{kinds_of_own} kinds like {like} in {} shades", shades.len());
        // As from its file.
        let text = level_text(&two_lights(kinds_of_own), "").unwrap();
        let level = parse_level("office-light.ron", &text, &KnownMaterials::of(&library));
        let level = level.unwrap_or_else(|error| panic!("{error}")).value;
        let fault = fault_in_use(&level, &library);
        let round = match lay_out(&level, &library, level.seed, None) {
            Ok(round) => round,
            Err(error) => {
                println!("{what}: {error}");
                assert_eq!(fault, Some(("restorations".to_owned(), error.to_string())), "{what}");
                assert!(error.to_string().contains("no 3 options"), "{error}");
                refused += 1;
                continue;
            }
        };
        assert_eq!(fault, None, "{what}");
        played += 1;
        let mut own = 0;
        for question in &round.questions {
            let Task::TwoLights(task) = &question.task else { panic!("two lights") };
            let sights = question.sights.iter().chain(&task.second_sights);
            let restorations = sights.flat_map(|sight| &sight.case.restorations);
            for ceramic in restorations.map(|restoration| &restoration.ceramic) {
                if ceramic.class == "own-disc" {
                    own += 1;
                    assert!(shades.contains(&ceramic.shade), "{what}: {ceramic:?}");
                }
            }
            for option in &task.options {
                let is_own = option.restoration.ceramic.class == "own-disc";
                assert_eq!(option.ceramic == "own disc", is_own, "{what}: {option:?}");
            }
            for learner in LEARNERS {
                let answer = question.answer_of(&learner, 7);
                let mark = question.mark(&answer).unwrap();
                assert!(mark.regret_de00.is_some() && !mark.sentences.is_empty(), "{what}");
            }
        }
        println!("{what}: {own} sights of its own");
        sights_of_own += own;
        // With another seed there may be no case, but nothing else goes wrong.
        for seed in 1..=2 {
            if let Err(error) = lay_out(&level, &library, seed, None) {
                assert!(error.to_string().contains("no 3 options"), "{what}: {error}");
            }
        }
    }
    assert!(played >= 2 && refused >= 1, "{played} played, {refused} refused");
    // Nine shades in one kind of five are few of what options are drawn from: not every round has
    // one.
    assert!(sights_of_own > 0, "the own ceramic stands in no option");
}

#[test]
fn a_level_that_one_shade_cannot_fill_is_refused_before_it_is_played() {
    let library = with_own(&OWN[..1]);
    let mut case = CaseForm::example().check(&library).case.unwrap();
    case.ceramics =
        vec![CeramicChoice { class: "own-disc".to_owned(), translucency: Translucency::Medium }];
    case.exercise = CaseExercise::Blend;
    let level = case.level(&library).unwrap();
    let played = lay_out(&level, &library, level.seed, None);
    let (_, fault) = fault_in_use(&level, &library).unwrap();
    assert_eq!(played.unwrap_err().to_string(), fault);
    assert!(fault.contains("as it is stated"), "{fault}");
    case.exercise = CaseExercise::Bench;
    assert_eq!(fault_in_use(&case.level(&library).unwrap(), &library), None);
    // An entry that cannot be had is named at its own place.
    let mut unknown = case.level(&library).unwrap();
    unknown.restorations[0].cement = "none".to_owned();
    let (at, fault) = fault_in_use(&unknown, &library).unwrap();
    assert_eq!(at, "restorations[0].cement");
    assert!(fault.contains("`none`"), "{fault}");
}
