//! Free play on the bench: what can be set up, and what comes of it.

use second_glance::bake::cross_section::{CutHeight, cross_section};
use second_glance::bake::{Condition, bake};
use second_glance::colorimetry::{Illuminant, Lab, Lch, ciede2000};
use second_glance::exercise::{
    BenchSetup, FreeBench, PreparedChoice, SetupPart, Sitting, Stage, Task,
};
use second_glance::level::clinic::{CaseForm, case_text, parse_case};
use second_glance::material::{Library, own_tooth};
use second_glance::scene::{Framing, Preparation};
use std::sync::Arc;

fn task(bench: &FreeBench) -> &second_glance::exercise::BenchTask {
    match &bench.round.questions[0].task {
        Task::Bench(task) => task,
        _ => panic!("a bench"),
    }
}

#[test]
fn free_play_has_no_attempts_no_score_and_can_be_composed_at_once() {
    let library = Library::shipped().unwrap();
    let bench = BenchSetup::default().set_up(&library).unwrap();
    assert_eq!(bench.remarks, [] as [String; 0]);
    let task = task(&bench);
    assert_eq!((task.attempts, &task.best), (None, &None));
    assert_eq!(task.limits.problems(&task.start), []);
    // 0.75 mm of tooth removed, 0.05 mm of it for the cement.
    assert!((task.start.thickness.body_mm - 0.70).abs() < 1e-9, "{:?}", task.start.thickness);
    // What the bench says of its first recipe is what baking it gives, give or take the coarse
    // grid of estimates (0.15 ΔE00, as stated for estimates).
    let truth = bake(&task.case_with(&task.start), &library).unwrap().truth.unwrap().difference;
    assert!((truth.de00 - task.uncompensated.de00).abs() < 0.15, "{truth:?}");
    let sitting = Sitting::new(Arc::new(bench.round.clone()), "practice", 0);
    assert_eq!(sitting.stage(), Stage::Preparing);
}

#[test]
fn every_part_moves_both_ways_and_stays_within_its_range() {
    let library = Library::shipped().unwrap();
    let first = BenchSetup::default();
    for part in SetupPart::ALL {
        // Only an onlay has a margin line to move.
        let steps = if part == SetupPart::MarginHeight { 2 } else { 0 };
        let start = first.stepped(SetupPart::Preparation, steps, &library);
        let (less, more) = (start.stepped(part, -1, &library), start.stepped(part, 1, &library));
        assert!(less != start || more != start, "{part:?} does not move");
        assert_ne!(less, more, "{part:?}");
        for far in [start.stepped(part, -500, &library), start.stepped(part, 500, &library)] {
            if let (Some((low, high)), Some(value)) = (part.range(), far.number(part, &library)) {
                assert!((low..=high).contains(&value), "{part:?}: {value}");
            }
            assert!(far.framing.shows(far.tooth), "{part:?}: {}", far.tooth);
        }
        assert!(!start.in_words(part, &library).is_empty(), "{part:?}");
    }
    let held = first.with_number(SetupPart::Middle, f64::NAN, &library);
    assert_eq!(held, first);
    assert_eq!(first.stepped(SetupPart::MarginHeight, 3, &library), first);
}

#[test]
fn an_onlay_stands_on_a_back_tooth_and_shows_its_margin_line() {
    let library = Library::shipped().unwrap();
    let setup = BenchSetup::default().stepped(SetupPart::Preparation, 2, &library);
    assert_eq!(setup.preparation, Preparation::Onlay { margin_height: 0.45 });
    assert_eq!((setup.framing, setup.tooth.number()), (Framing::Posterior, 24));
    for steps in 1..5 {
        let tooth = setup.stepped(SetupPart::Tooth, steps, &library).tooth;
        assert!(tooth.position() >= 4, "{tooth}");
    }
    // A premolar in view stays; close up none is in view, and the onlay becomes a crown.
    let at = |framing| Framing::ALL.iter().position(|f| *f == framing).unwrap() as i32;
    let to = |framing| at(framing) - at(Framing::Posterior);
    let front = setup.stepped(SetupPart::Framing, to(Framing::Retracted), &library);
    assert_eq!((front.tooth.number(), front.margin_height()), (24, Some(0.45)));
    let close = setup.stepped(SetupPart::Framing, to(Framing::CloseUp), &library);
    assert_eq!((close.preparation, close.framing.shows(close.tooth)), (Preparation::Crown, true));

    // Thickness counts from the margin line, and below it the tooth is its own twin.
    let thick = setup.with_number(SetupPart::Margin, 0.8, &library);
    let bench = thick.set_up(&library).unwrap();
    let case = task(&bench).case_with(&task(&bench).start);
    let scene = bake(&case, &library).unwrap();
    let truth = scene.truth.as_ref().unwrap();
    let margin = |setup: &BenchSetup, condition| {
        scene.margin(task(&bench).tooth, condition, setup.margin_height().unwrap()).unwrap().mean
    };
    let (restored, natural) =
        (margin(&thick, Condition::Restored), margin(&thick, Condition::Twin));
    assert!(restored.de00 > natural.de00 + 0.3, "{restored:?} {natural:?}");
    // The neck's third lies below the line: by itself it hardly differs.
    let zones = |condition| scene.zone_labs(task(&bench).tooth, condition).unwrap();
    let (of_restored, of_twin) = (zones(Condition::Restored), zones(Condition::Twin));
    let neck = ciede2000(of_twin[0], of_restored[0]).de00;
    let cusp = ciede2000(of_twin[2], of_restored[2]).de00;
    println!("whole {:?}, margin {restored:?}, neck {neck:.2}, cusp {cusp:.2}", truth.difference);
    assert!(neck < 0.3 && cusp > neck, "{neck} {cusp}");
    // The layers are cut where there is ceramic: middle and incisal third.
    let section = cross_section(&case, &case.restorations[0], &library).unwrap().unwrap();
    let heights: Vec<CutHeight> = section.cuts.iter().map(|cut| cut.height).collect();
    assert_eq!(heights, [CutHeight::Middle, CutHeight::Incisal]);
    // The best that is found makes it better.
    let mut found = task(&bench).clone();
    found.find_best_filling(found.start.cement_film_mm, &library).unwrap();
    let best = found.best.unwrap().difference.de00;
    assert!(best <= truth.difference.de00 + 1e-9, "{best}");
}

#[test]
fn a_listed_prepared_tooth_becomes_a_colour_of_ones_own_when_a_number_changes() {
    let library = Library::shipped().unwrap();
    let start = BenchSetup::default();
    let listed = start.prepared_colour(&library).unwrap();
    let darker = start.stepped(SetupPart::PreparedLightness, -8, &library);
    let Lch { l, c, h } = listed;
    assert_eq!(darker.prepared, PreparedChoice::Own(Lch { l: l - 8.0, c, h }));
    let bench = darker.set_up(&library).unwrap();
    let reached = own_tooth::colour(&task(&bench).prepared_tooth).unwrap();
    let off = ciede2000(Lab::from(Lch { l: l - 8.0, c, h }), Lab::from(reached)).de00;
    assert!(off < 0.2 || !bench.remarks.is_empty(), "{off}");
    // A darker prepared tooth makes the same recipe darker.
    let first = start.set_up(&library).unwrap();
    assert!(task(&bench).uncompensated.dl00 < task(&first).uncompensated.dl00 - 0.3);
}

#[test]
fn a_colour_that_no_tooth_has_is_replaced_and_said() {
    let library = Library::shipped().unwrap();
    let setup = BenchSetup { central: Lch { l: 84.0, c: 30.0, h: 98.0 }, ..BenchSetup::default() };
    let bench = setup.set_up(&library).unwrap();
    assert!(bench.remarks.iter().any(|r| r.contains("natural central incisor")), "{bench:?}");
}

#[test]
fn framings_show_the_tooth_that_is_restored() {
    let library = Library::shipped().unwrap();
    let start = BenchSetup::default();
    for framing in Framing::ALL {
        let first = BenchSetup { framing: Framing::ALL[0], ..start.clone() };
        let at = Framing::ALL.iter().position(|f| *f == framing).unwrap();
        let mut setup = first.stepped(SetupPart::Framing, at as i32, &library);
        setup.preparation = Preparation::Crown;
        setup.light = Illuminant::Fl11;
        let bench = setup.set_up(&library).unwrap();
        let task = task(&bench);
        assert!(task.natural.patient.teeth.iter().any(|t| t.tooth == task.tooth), "{framing:?}");
        assert_eq!(task.natural.staging.framing, framing);
        assert_eq!(task.natural.illuminant, Illuminant::Fl11);
    }
}

#[test]
fn a_case_from_the_clinic_comes_to_the_bench_with_its_room_and_gap() {
    let library = Library::shipped().unwrap();
    let case = CaseForm::example().check(&library).case.unwrap();
    // What the form makes is a case file like any other.
    let text = case_text(&case).unwrap();
    assert_eq!(parse_case("any.ron", &text, &library).unwrap().value, case);
    let prepared = case.prepare(&library).unwrap();
    let bench = FreeBench::of_case(&prepared, case.light, 1, &library).unwrap();
    let task = task(&bench);
    assert_eq!(task.tooth.number(), 21);
    // 0.80 mm removed less a gap of 0.08 mm.
    assert!((task.start.cement_film_mm - 0.08).abs() < 1e-9);
    assert!((task.start.thickness.body_mm - 0.72).abs() < 1e-9, "{:?}", task.start.thickness);
    assert_eq!(task.limits.problems(&task.start), []);
}
