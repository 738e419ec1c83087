//! The table in itself, and no key written by hand beside it.

use super::{Asked, Key, KeyContext, actions, label, row, rows};
use crate::play::intents::{Act, ExerciseIntent, Intent};
use crate::trial::InputDevice;
use std::fs;
use std::path::{Path, PathBuf};

#[test]
fn no_context_has_a_key_twice() {
    for context in KeyContext::all() {
        let keys: Vec<Key> = rows(context).map(|row| row.key).collect();
        for (index, key) in keys.iter().enumerate() {
            assert!(!keys[..index].contains(key), "{context:?} has {key:?} twice");
        }
        assert!(keys.contains(&Key::Escape) && keys.contains(&Key::F11), "{context:?}");
    }
}

#[test]
fn a_control_asks_for_one_thing_and_says_which_key_does_too() {
    for context in KeyContext::all() {
        for row in rows(context).filter(|row| row.is_said()) {
            for is_on in [false, true] {
                let name = format!("  ({})", row.key.name());
                assert!(row.label(is_on).ends_with(&name), "{context:?}: {row:?}");
                assert!(!row.words(is_on).is_empty(), "{context:?}: {row:?}");
            }
            let intent = row.asks(InputDevice::Pointer).unwrap();
            assert_eq!(label(context, &intent, false), row.label(false), "{context:?}");
        }
    }
}

#[test]
fn every_step_of_a_question_can_be_answered_by_its_controls() {
    let confirm = ExerciseIntent::Act(Act::Confirm, InputDevice::Keyboard);
    let confirm = Intent::Exercise(confirm);
    for asked in Asked::ALL {
        let confirms = row(KeyContext::Question(asked), &confirm);
        assert!(confirms.is_some_and(|row| row.key == Key::Enter), "{asked:?}");
        assert!(actions(asked).count() > 1, "{asked:?}");
    }
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let files =
        entries.flat_map(|path| if path.is_dir() { files_below(&path) } else { vec![path] });
    files.collect()
}

/// The keys in brackets in the texts of a source file, as labels and hints name them.
fn named_in(text: &str) -> Vec<String> {
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    let literals = code.lines().filter(|line| !line.trim_start().starts_with("//"));
    let parts = literals.flat_map(|line| line.split('"').skip(1).step_by(2));
    let brackets = parts.flat_map(|part| part.split('(').skip(1).filter_map(|p| p.split_once(')')));
    let names: Vec<String> = KeyContext::all().flat_map(rows).map(|row| row.key.name()).collect();
    let looks_like_a_key = |word: &str| {
        let is_letter = word.len() == 1 && word.chars().all(|c| c.is_ascii_uppercase());
        is_letter || names.iter().any(|name| name == word)
    };
    brackets.map(|(word, _)| word.to_owned()).filter(|word| looks_like_a_key(word)).collect()
}

#[test]
fn no_screen_writes_a_key_by_hand() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for file in files_below(&source.join("app")) {
        let named = named_in(&fs::read_to_string(&file).unwrap());
        assert!(named.is_empty(), "{}: {named:?}", file.display());
    }
    // What is looked for is found where it is.
    assert_eq!(named_in("    big_button(ui, \"Done  (Enter)\");"), ["Enter"]);
}

#[test]
fn hints_name_keys_that_there_are() {
    let answers = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/play/answer");
    let questions = || Asked::ALL.into_iter().flat_map(|asked| rows(KeyContext::Question(asked)));
    let mut hints = 0;
    for file in files_below(&answers) {
        for name in named_in(&fs::read_to_string(&file).unwrap()) {
            hints += 1;
            assert!(questions().any(|row| row.key.name() == name), "{}: {name}", file.display());
        }
    }
    assert!(hints > 0);
}
