//! The module map as a test: who may use whom, and what the core must never name.

mod imports;
mod map;
mod source;

use imports::Graph;
use map::{ALLOWED, HOUSE};
use source::{files_below, functions, package, tokens};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Lines that a file holds at most.
const LONGEST_FILE: usize = 400;
/// Lines that a function holds at most, braces included.
const LONGEST_FUNCTION: usize = 80;

fn source() -> PathBuf {
    package().join("src")
}

/// A file's path within the package, with `/` on every system.
fn shown(file: &Path) -> String {
    file.strip_prefix(package()).unwrap().to_string_lossy().replace('\\', "/")
}

/// All files of `src` and of tests: the rules on length hold for every one.
fn all_files() -> Vec<PathBuf> {
    let mut files = files_below(&source());
    files.extend(files_below(&package().join("tests")));
    let known = ["src/app/cli/mod.rs", "src/play/mod.rs", "src/optics/mod.rs", "tests/app/main.rs"];
    for name in known {
        assert!(files.iter().any(|file| shown(file) == name), "{name} is not among what is read");
    }
    files
}

/// The top-level module that a file belongs to.
fn module_of(file: &Path) -> String {
    let relative = file.strip_prefix(source()).unwrap();
    let first = relative.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
    first.trim_end_matches(".rs").to_owned()
}

/// Every `crate::name` in the code of a file, comments left out.
fn used_modules(text: &str) -> BTreeSet<String> {
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    code.flat_map(|line| line.match_indices("crate::").map(|(at, _)| &line[at + 7..]))
        .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect())
        .collect()
}

#[test]
fn modules_use_only_what_the_map_allows() {
    let mut wrong = Vec::new();
    for file in files_below(&source()) {
        let module = module_of(&file);
        let Some((_, allowed)) = ALLOWED.iter().find(|(name, _)| *name == module) else { continue };
        for used in used_modules(&fs::read_to_string(&file).unwrap()) {
            if used != module && !allowed.contains(&used.as_str()) {
                wrong.push(format!("{} uses crate::{used}", file.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let known = ALLOWED.map(|(name, _)| name);
    for file in files_below(&source()) {
        let module = module_of(&file);
        let top = ["lib", "main", "app"].contains(&module.as_str());
        assert!(top || known.contains(&module.as_str()), "{module} is missing from the module map");
    }
}

/// The part of the house that a file of `src` belongs to, as [`HOUSE`] names it; for rooms, which.
fn part_of(file: &str) -> Option<(&str, &str)> {
    let mut names = file.trim_end_matches(".rs").split('/');
    match (names.next()?, names.next(), names.next()) {
        ("play", ..) => Some(("play", "")),
        ("app", Some("room"), room) => Some(("room", room.unwrap_or("mod"))),
        ("app", None | Some("mod" | "naming"), _) => Some(("app", "")),
        ("app", Some(part), _) => Some((part, "")),
        _ => None,
    }
}

#[test]
fn the_house_knows_who_may_know_whom() {
    let uses = Graph::read(&source(), &[]).uses();
    let mut wrong = Vec::new();
    for (file, used) in &uses {
        let of = part_of(file);
        for other in used {
            let (ours, theirs) = match (of, part_of(other)) {
                // Nothing below knows the house.
                (None, Some(_)) => (("core", ""), ("", "")),
                (Some(ours), Some(theirs)) if ours != theirs => (ours, theirs),
                _ => continue,
            };
            let allowed =
                HOUSE.iter().find(|(name, _)| *name == ours.0).map(|(_, allowed)| *allowed);
            // `app` and `room/mod` list what they are put together from.
            let lists = ours.0 == "app" || ours == ("room", "mod") || file == "main.rs";
            let may = lists || allowed.is_some_and(|allowed| allowed.contains(&theirs.0));
            let is_main = file == "main.rs" || file == "lib.rs";
            if !may && !is_main {
                wrong.push(format!("{file} uses {other}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // What is checked is there.
    for (part, _) in HOUSE {
        assert!(uses.keys().any(|file| part_of(file).is_some_and(|(p, _)| p == part)), "{part}");
    }
}

#[test]
fn the_map_for_developers_says_the_same() {
    let map = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).unwrap();
    for (module, allowed) in ALLOWED {
        let row = map.lines().find(|line| line.starts_with(&format!("| `{module}` |")));
        let uses = row.and_then(|row| row.split('|').nth(3));
        let uses = uses.unwrap_or_else(|| panic!("DEVELOPERS.md has no row for {module}"));
        // Names stand between backticks.
        let written: BTreeSet<&str> = uses.split('`').skip(1).step_by(2).collect();
        let allowed: BTreeSet<&str> = allowed.iter().copied().collect();
        assert_eq!(written, allowed, "what {module} may use, in DEVELOPERS.md and here");
    }
}

#[test]
fn the_core_has_no_engine_clock_or_window() {
    let banned = ["bevy", "egui", "winit", "wgpu", "Instant::now", "SystemTime::now", "thread_rng"];
    for file in files_below(&source()) {
        if ["app", "main"].contains(&module_of(&file).as_str()) {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        for line in text.lines().filter(|line| !line.trim_start().starts_with("//")) {
            // The clock that rows are written by can be set, and how long work took is for the log.
            let is_clock = file.ends_with("play/clock.rs") || file.ends_with("play/work.rs");
            for word in banned.iter().filter(|word| !(is_clock && word.ends_with("::now"))) {
                assert!(!line.contains(word), "{}: `{word}` in core: {line}", file.display());
            }
        }
    }
}

#[test]
fn only_level_loading_results_and_the_table_cache_touch_files() {
    for file in files_below(&source()) {
        let module = module_of(&file);
        let may = ["app", "main", "play", "results"].contains(&module.as_str())
            || file.ends_with("level/load/read.rs")
            || file.ends_with("optics/transport/cache.rs");
        let text = fs::read_to_string(&file).unwrap();
        // Unit tests at the end of a file may use temporary files.
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        let touches = code.lines().any(|line| {
            !line.trim_start().starts_with("//")
                && (line.contains("std::fs") || line.contains("File::open"))
        });
        assert!(may || !touches, "{} touches files", file.display());
    }
}

#[test]
fn the_map_itself_has_no_circle() {
    let map: BTreeMap<String, BTreeSet<String>> = ALLOWED
        .iter()
        .map(|(name, used)| ((*name).to_owned(), used.iter().map(|u| (*u).to_owned()).collect()))
        .collect();
    assert_eq!(imports::circles(&map), Vec::<Vec<String>>::new());
}

#[test]
fn the_map_allows_nothing_that_is_not_used() {
    let mut used: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for file in files_below(&source()) {
        let found = used_modules(&fs::read_to_string(&file).unwrap());
        used.entry(module_of(&file)).or_default().extend(found);
    }
    for (name, allowed) in ALLOWED {
        for other in allowed {
            assert!(used[name].contains(*other), "{name} need not use {other}");
        }
    }
}

#[test]
fn no_import_circle_is_left() {
    let graph = Graph::read(&source(), &[]);
    let uses = graph.uses();
    let mut left = String::new();
    let circles = imports::circles(&uses);
    for circle in circles {
        left += &format!("a circle of {} files:\n", circle.len());
        for file in &circle {
            let others: Vec<&str> =
                uses[file].iter().filter(|f| circle.contains(f)).map(String::as_str).collect();
            left += &format!("  {file} uses {}\n", others.join(", "));
        }
    }
    assert!(left.is_empty(), "\n{left}");
}

/// What the test above would miss must not pass for having been checked: known uses, by every way
/// of naming them.
#[test]
fn uses_are_found_through_re_exports_globs_children_and_paths() {
    let folder = tempfile::tempdir().unwrap();
    let files = [
        ("lib.rs", "pub mod a;\npub mod b;\npub mod c;\n"),
        ("a/mod.rs", "mod leaf;\nmod user;\npub use leaf::{Leaf, helper};\npub use user::User;\n"),
        ("a/leaf.rs", "pub struct Leaf;\npub fn helper() { /* crate::b::Late */ }\n"),
        ("a/user.rs", "use super::*;\npub struct User(Leaf);\n"),
        // By a path in code, and by an imported module.
        (
            "b.rs",
            "use crate::a;\npub struct Late;\nfn f() { crate::c::deep::g(\"crate::a::User\"); a::helper(); }\n",
        ),
        // Passed on and used by itself.
        ("c/mod.rs", "pub mod deep;\npub use crate::b::Late;\npub fn make() -> Late { Late }\n"),
        (
            "c/deep.rs",
            "pub fn g(_: &str) {}\n#[cfg(test)]\nmod tests {\n    use crate::a::User;\n    use super::super::make;\n}\n",
        ),
    ];
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    let uses = Graph::read(folder.path(), &[]).uses();
    let of = |name: &str| uses[name].iter().map(String::as_str).collect::<Vec<_>>();
    assert_eq!(of("a/mod.rs"), Vec::<&str>::new());
    assert_eq!(of("a/leaf.rs"), Vec::<&str>::new());
    assert_eq!(of("a/user.rs"), ["a/leaf.rs"]);
    assert_eq!(of("b.rs"), ["a/leaf.rs", "c/deep.rs"]);
    assert_eq!(of("c/mod.rs"), ["b.rs"]);
    assert_eq!(of("c/deep.rs"), Vec::<&str>::new());
    assert!(imports::circles(&uses).is_empty());
    // `b` and `c` now use each other, by way of a name that `a` passes on.
    fs::write(folder.path().join("a/mod.rs"), "mod leaf;\npub use crate::c::make;\n").unwrap();
    fs::write(folder.path().join("b.rs"), "pub struct Late;\nfn f() { crate::a::make(); }\n")
        .unwrap();
    let graph = Graph::read(folder.path(), &["a"]);
    assert!(imports::circles(&graph.uses()).is_empty());
    let graph = Graph::read(folder.path(), &[]);
    assert_eq!(imports::circles(&graph.uses()), [["b.rs", "c/mod.rs"]]);
}

#[test]
fn no_file_above_400_lines() {
    let mut long = Vec::new();
    for file in all_files() {
        let name = shown(&file);
        let lines = fs::read_to_string(&file).unwrap().lines().count();
        if lines > LONGEST_FILE {
            long.push(format!("{name}: {lines}"));
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn no_function_above_80_lines() {
    let mut long = Vec::new();
    for file in all_files() {
        let text = fs::read_to_string(&file).unwrap();
        for (function, lines) in functions(&tokens(&text)) {
            if lines > LONGEST_FUNCTION {
                long.push(format!("{} {function}: {lines}", shown(&file)));
            }
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn functions_are_counted_from_fn_to_the_last_brace() {
    let text = "trait T { fn none(&self) -> [u8; 3]; }\nfn one() {}\nfn two(\n    a: fn() -> u8,\n) -> u8 {\n    let c = '{';\n    let s = \"}\";\n    // }\n    a()\n}\n";
    let found: Vec<(String, usize)> = functions(&tokens(text));
    assert_eq!(found, [("one".to_owned(), 1), ("two".to_owned(), 8)]);
}
