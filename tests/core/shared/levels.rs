//! The levels and the library that ship.

use second_glance::level;
use second_glance::level::format::Level;
use second_glance::material::Library;
use std::path::PathBuf;
use std::sync::LazyLock;

/// The shipped level of this id.
pub fn level(id: &str) -> Level {
    shipped_levels().into_iter().find(|level| level.id == id).unwrap()
}

/// All shipped levels, by file name.
pub fn shipped_levels() -> Vec<Level> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("levels");
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    assert!(paths.len() >= 6, "at least six levels ship, found {}", paths.len());
    paths
        .iter()
        .map(|path| {
            let text = std::fs::read_to_string(path).unwrap();
            let parsed = level::format::ron_options().from_str(&text);
            parsed.unwrap_or_else(|e| panic!("{}: {e}", path.display()))
        })
        .collect()
}

/// The shipped materials, designed once for all tests.
pub static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::shipped().unwrap());
