//! Keys in exercises, in a measurement of choosing and in free play do what their labels say.

use super::{LARGE, act, check, check_debrief, hands_in, stage, to};
use crate::stage::{Hands, pointer_play};
use second_glance::app::shell::state::Screen;
use second_glance::exercise::{CHOICE_ID, Stage};
use second_glance::play::answer::Draft;
use second_glance::play::intents::{Act, ExerciseIntent, Intent, Page, SetupIntent};

/// What is done at each step of a question, and keys that labels must name after it.
type Script = &'static [(&'static [Act], &'static [&'static str])];

const SCRIPTS: &[(&str, Script)] = &[
    ("value-ladder", &[(&[], &["1", "2", "3", "4", "5", "Enter", "Space"])]),
    ("nearest-tab", &[(&[], &["Enter", "O", "Space", "V"]), (&[Act::Tick], &[])]),
    (
        "blend-value-first",
        &[(&[], &["B", "Enter", "G", "N", "O", "Space", "V"]), (&[Act::Pick], &[])],
    ),
    (
        "office-light",
        &[
            (&[], &["B", "Enter", "G", "O", "V"]),
            (&[Act::Pick, Act::Confirm], &["C", "Enter", "G", "K", "O", "V"]),
            (&[Act::Yes, Act::Confirm], &["B", "Enter", "G", "O", "V"]),
            (&[Act::Pick], &[]),
        ],
    ),
    (
        "bench-light-tooth",
        &[
            (&[], &["Enter", "F", "L", "N", "O", "R", "Shift A", "Shift B", "U", "V"]),
            (&[Act::Keep(0), Act::Move(1)], &["A", "Shift A"]),
            (&[Act::Compare(0)], &["A", "Shift B"]),
            (&[Act::Compare(0), Act::Confirm], &[]),
        ],
    ),
    ("try-in-first", &[(&[], &["1", "2", "3", "4", "Enter", "Left", "O", "Right", "V"])]),
    (
        "bracket-two-veneers",
        &[
            (&[], &["B", "Enter", "G", "O", "V"]),
            (
                &[Act::Pick, Act::Move(1), Act::Pick, Act::Confirm],
                &["Enter", "Left", "N", "Right", "U"],
            ),
        ],
    ),
    ("margin-premolars", &[(&[], &["B", "Enter", "G", "N", "O", "V"]), (&[Act::Pick], &[])]),
    ("at-a-glance", &[(&[], &["A", "R"])]),
];

#[test]
fn in_exercises() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    for (level, script) in SCRIPTS {
        hands.walk.intend(Intent::StartLevel((*level).to_owned()));
        hands.walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
        hands.frame();
        check(&mut hands, &format!("{level}, instructions"));
        pointer_play::begin(&mut hands);
        for (number, (acts, wanted)) in script.iter().enumerate() {
            acts.iter().for_each(|one| act(&mut hands, *one));
            if stage(&hands) != Stage::Asked {
                break;
            }
            hands.walk.until("smiles", |walk| walk.exercising().is_up_to_date(walk.preparation()));
            let keys = check(&mut hands, &format!("{level}, {number}"));
            for key in *wanted {
                assert!(
                    keys.iter().any(|known| known == key),
                    "{level}, {number}: no {key}: {keys:?}"
                );
            }
        }
        if *level == "blend-value-first" {
            hands.walk.intend(Intent::Exercise(ExerciseIntent::ToggleSheet));
            hands.walk.frames(2);
            check(&mut hands, "a sheet of small smiles");
        }
        if *level == "at-a-glance" {
            hands.walk.until("the end of the view", |walk| !walk.exercising().may_look());
            check(&mut hands, "a smile that is gone");
        }
        // The rest of the answer, however it stands.
        if *level == "try-in-first" {
            while !matches!(hands.walk.exercising().draft(), Some(Draft::TryIn(d)) if d.may_see()) {
                act(&mut hands, Act::Confirm);
            }
            hands.walk.frames(2);
            assert!(check(&mut hands, "cements to seat with").contains(&"B".to_owned()));
            act(&mut hands, Act::Pick);
        }
        act(&mut hands, if *level == "at-a-glance" { Act::Yes } else { Act::Confirm });
        while stage(&hands) == Stage::Asked {
            // Attempts on the bench.
            hands.walk.until("the attempt", |walk| match walk.exercising().draft() {
                Some(Draft::Bench(draft)) => !draft.awaits,
                _ => true,
            });
            act(&mut hands, Act::Yes);
        }
        check_debrief(&mut hands, level);
        hands.walk.intend(Intent::Pause);
        hands.walk.frames(2);
        assert!(check(&mut hands, "pause over a debrief").is_empty());
        hands.walk.intend(Intent::StopSession);
        hands.walk.until("summary", |walk| walk.screen() == Screen::Summary);
        to(&mut hands, Intent::BackToTitle, Screen::Title);
    }
}

#[test]
fn in_a_measurement_of_choosing() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    hands.walk.intend(Intent::StartLevel(CHOICE_ID.to_owned()));
    hands.walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
    pointer_play::begin(&mut hands);
    hands.walk.until("smiles", |walk| walk.exercising().is_up_to_date(walk.preparation()));
    let keys = check(&mut hands, "a measured question");
    assert!(!keys.contains(&"V".to_owned()), "nothing that changes what is measured: {keys:?}");
}

#[test]
fn on_the_bench_in_free_play() {
    for size in [LARGE, [832, 600]] {
        let folder = tempfile::tempdir().unwrap();
        let mut hands = Hands::new(folder.path(), size);
        to(&mut hands, Intent::OpenBenchSetup, Screen::BenchSetup);
        hands.walk.intend(Intent::Setup(SetupIntent::Start));
        hands.walk.until("the bench", |walk| walk.screen() == Screen::Exercise);
        hands.walk.until_asked();
        hands.walk.until("smiles", |walk| walk.exercising().is_up_to_date(walk.preparation()));
        // In the small window some controls have to be scrolled to: only what is wholly new is
        // checked.
        if size == LARGE {
            let keys = check(&mut hands, "free play");
            for key in ["C", "E", "F", "L", "M", "S", "Space", "X"] {
                assert!(keys.iter().any(|known| known == key), "no {key}: {keys:?}");
            }
            act(&mut hands, Act::Keep(0));
            act(&mut hands, Act::Compare(0));
            assert!(check(&mut hands, "a kept recipe").contains(&"A".to_owned()));
            act(&mut hands, Act::Compare(0));
        }
        for (page, key) in [(Page::Chart, "C"), (Page::Layers, "X")] {
            let toggle = Intent::Exercise(ExerciseIntent::TogglePage(page));
            hands.walk.intend(toggle.clone());
            let keys = check(&mut hands, &format!("free play, {page:?}, {size:?}"));
            assert!(keys.contains(&key.to_owned()) && !keys.contains(&"M".to_owned()), "{keys:?}");
            assert_eq!(keys.len() == 1, size != LARGE, "{keys:?}");
            hands.walk.intend(toggle);
        }
    }
}
