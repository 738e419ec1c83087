//! Where something stands in a file that was read before.

use super::read::{read, whole};
use crate::level::checker::locate;
use crate::level::diagnostic::{Diagnostic, Position, Severity};
use std::path::Path;

/// Where something stands in a file, such as `restorations`; `None` where it cannot be read.
#[must_use]
pub fn place_in(path: &Path, what: &str) -> Option<Position> {
    let source = read(path).ok()?;
    Some(source.position(locate(&source, what)))
}

/// A mistake in a file that was read before, at what a path such as `pass.threshold_de00` names in it:
/// for rules that go beyond what files say.
#[must_use]
pub fn mistake_in(
    file: &Path,
    path: &str,
    message: impl Into<String>,
    help: impl Into<String>,
) -> Diagnostic {
    match read(file) {
        Ok(source) => {
            let offset = locate(&source, path);
            source.diagnostic(Severity::Error, offset, message, help)
        }
        Err(_) => whole(file, Severity::Error, message, help),
    }
}
