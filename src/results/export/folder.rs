//! The files and folders of an export.

use super::export_error::ExportError;
use crate::results::files::{create_private, create_private_folder};
use std::io::Write;
use std::path::Path;

fn io(path: &Path) -> impl Fn(std::io::Error) -> ExportError {
    move |source| ExportError::Io { path: path.to_owned(), source }
}

/// Makes a folder for an export, or takes an empty one.
pub(super) fn fresh(folder: &Path) -> Result<(), ExportError> {
    create_private_folder(folder).map_err(io(folder))?;
    let mut entries = std::fs::read_dir(folder).map_err(io(folder))?;
    if entries.next().is_some() {
        return Err(ExportError::NotEmpty(folder.to_owned()));
    }
    Ok(())
}

pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), ExportError> {
    if let Some(folder) = path.parent() {
        create_private_folder(folder).map_err(io(folder))?;
    }
    create_private(path).and_then(|mut file| file.write_all(bytes)).map_err(io(path))
}

pub(super) fn write_json(path: &Path, value: &serde_json::Value) -> Result<(), ExportError> {
    let mut text = serde_json::to_vec_pretty(value).unwrap_or_default();
    text.push(b'\n');
    write(path, &text)
}
