//! The module map as a test: who may use whom, and what the core must never name.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// What each part of the core may use. Data flows one way; see DEVELOPERS.md.
const ALLOWED: [(&str, &[&str]); 21] = [
    ("words", &[]),
    ("spectrum", &[]),
    ("random", &[]),
    // Whatever prints names from outside.
    ("printable", &[]),
    ("colorimetry", &["spectrum"]),
    ("optics", &["spectrum", "colorimetry"]),
    ("scene", &["colorimetry"]),
    ("material", &["spectrum", "colorimetry", "optics", "scene"]),
    ("anatomy", &["random", "scene"]),
    ("lecture", &["psychophysics"]),
    ("bake", &["spectrum", "colorimetry", "optics", "material", "scene", "random"]),
    ("psychophysics", &["scene", "random", "colorimetry", "bake", "trial"]),
    ("trial", &["scene", "random", "psychophysics", "bake"]),
    (
        "level",
        &[
            "words",
            "spectrum",
            "colorimetry",
            "scene",
            "material",
            "optics",
            "bake",
            "random",
            "trial",
            "psychophysics",
        ],
    ),
    ("chart", &["colorimetry", "scene", "material", "bake"]),
    ("intake", &["spectrum", "colorimetry", "optics", "material", "scene", "level"]),
    (
        "exercise",
        &[
            "words",
            "spectrum",
            "colorimetry",
            "scene",
            "material",
            "optics",
            "bake",
            "random",
            "level",
            "trial",
            "psychophysics",
            "report",
            "results",
        ],
    ),
    (
        "measure",
        &[
            "scene",
            "trial",
            "bake",
            "colorimetry",
            "psychophysics",
            "material",
            "random",
            "level",
            "results",
            "course",
        ],
    ),
    (
        "course",
        &["scene", "random", "psychophysics", "results", "trial", "bake", "level", "printable"],
    ),
    ("results", &["scene", "trial", "bake", "colorimetry", "psychophysics", "printable"]),
    (
        "report",
        &[
            "words",
            "scene",
            "trial",
            "bake",
            "colorimetry",
            "psychophysics",
            "results",
            "material",
            "measure",
            "course",
            "level",
        ],
    ),
];

fn source_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(source_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

fn source() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src")
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
    for file in source_files(&source()) {
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
    for file in source_files(&source()) {
        let module = module_of(&file);
        let top = ["lib", "main", "app"].contains(&module.as_str());
        assert!(top || known.contains(&module.as_str()), "{module} is missing from the module map");
    }
}

#[test]
fn the_core_has_no_engine_clock_or_window() {
    let banned = ["bevy", "egui", "winit", "wgpu", "Instant::now", "SystemTime::now", "thread_rng"];
    for file in source_files(&source()) {
        if ["app", "main"].contains(&module_of(&file).as_str()) {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        for line in text.lines().filter(|line| !line.trim_start().starts_with("//")) {
            for word in banned {
                assert!(!line.contains(word), "{}: `{word}` in core: {line}", file.display());
            }
        }
    }
}

#[test]
fn only_level_loading_results_and_the_table_cache_touch_files() {
    for file in source_files(&source()) {
        let module = module_of(&file);
        let may = ["app", "main", "results"].contains(&module.as_str())
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
