//! What comes of a level in use: it is laid out as a session would be.

use super::lay_out;
use crate::level::format::{Exercise, Level};
use crate::level::lower;
use crate::material::{Library, LibraryError};

/// What keeps a level from being played, in words, with the field of the file that it lies with;
/// `None` where its session at its own seed can be laid out whole. Takes as long as opening it.
#[must_use]
pub fn fault_in_use(level: &Level, library: &Library) -> Option<(String, String)> {
    for (index, kind) in level.restorations.iter().enumerate() {
        let at = |field: &str| format!("restorations[{index}].{field}");
        let said = |error: LibraryError| error.to_string();
        if let Err(error) = library.cement(&kind.cement) {
            return Some((at("cement"), said(error)));
        }
        if let Err(error) = library.prepared_tooth(&kind.prepared_tooth) {
            return Some((at("prepared_tooth"), said(error)));
        }
        let shades = library.shades(&kind.ceramic, kind.translucency);
        let made = |shade: &_| library.ceramic(&kind.ceramic, kind.translucency, *shade).is_ok();
        if !shades.iter().any(made) {
            let message = format!("ceramic `{}` comes in no shade that can be had", kind.ceramic);
            return Some((at("ceramic"), message));
        }
    }
    let fault = match level.exercise {
        Exercise::Glance { .. } => {
            lower(level, library, level.seed, None).err().map(|error| error.to_string())
        }
        _ => lay_out(level, library, level.seed, None).err().map(|error| error.to_string()),
    };
    let at = if level.exercise.restores() { "restorations" } else { "exercise" };
    fault.map(|fault| (at.to_owned(), fault))
}
