//! Recipes: what limits them, and drafts of them.

use super::{limits, recipe, stream};
use second_glance::colorimetry::Lch;
use second_glance::exercise::{Drafts, RecipePart, RecipeProblem, Slot};
use second_glance::material::Library;
use second_glance::scene::Translucency;

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
