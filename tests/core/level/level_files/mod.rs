//! Level and material files: what is accepted, and every word said about what is not.
//!
//! The expected texts lie beside the broken files. After a wanted change of wording run
//! `SECOND_GLANCE_BLESS=1 cargo test --no-default-features --test core level_files` and read the
//! difference.

mod accepted;
mod any_text;
mod mistakes;

use second_glance::level::format::Level;
use second_glance::level::load::{load_materials, parse_level};
use second_glance::level::{Diagnostic, KnownMaterials, LoadError};
use std::path::{Path, PathBuf};

const VALID: &str = include_str!("../../fixtures/levels/fixture-central.ron");

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/core/fixtures")
}

fn known() -> KnownMaterials {
    load_materials(&fixtures().join("materials")).unwrap().value.known()
}

fn parse(text: &str) -> Result<Level, LoadError> {
    parse_level("levels/fixture-central.ron", text, &known()).map(|loaded| loaded.value)
}

/// The diagnostics after replacing `old` by `new` in the valid level.
fn after(old: &str, new: &str) -> Vec<Diagnostic> {
    assert!(VALID.contains(old), "the valid level has no `{old}`");
    let text = VALID.replacen(old, new, 1);
    match parse_level("levels/fixture-central.ron", &text, &known()) {
        Ok(loaded) => loaded.warnings,
        Err(error) => error.diagnostics,
    }
}
