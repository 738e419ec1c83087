//! Reading files: the only place in levels that touches the disk.

use crate::level::diagnostic::{Diagnostic, LoadError, Severity};
use crate::level::source::Source;
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Far above any level or material file, far below what would stall the program.
const MAX_FILE_BYTES: u64 = 1 << 18;

/// A problem of a file or folder as a whole.
pub(super) fn whole(
    path: &Path,
    severity: Severity,
    message: impl Into<String>,
    help: impl Into<String>,
) -> Diagnostic {
    let (message, help) = (message.into(), help.into());
    Diagnostic { file: path.to_owned(), position: None, severity, message, help }
}

/// Reads a text file.
pub(in crate::level) fn read(path: &Path) -> Result<Source, LoadError> {
    let bytes = read_bytes(path, MAX_FILE_BYTES)?;
    if bytes.len() as u64 > MAX_FILE_BYTES {
        let help = "no level or material file is that large: check what it is";
        let message = format!("the file is larger than {MAX_FILE_BYTES} bytes");
        return Err(LoadError { diagnostics: vec![whole(path, Severity::Error, message, help)] });
    }
    match std::str::from_utf8(&bytes) {
        Ok(text) => Ok(Source::new(path, text)),
        Err(error) => {
            let valid = std::str::from_utf8(&bytes[..error.valid_up_to()]).unwrap_or_default();
            let source = Source::new(path, valid);
            let byte = bytes.get(error.valid_up_to()).copied().unwrap_or_default();
            let diagnostic = source.diagnostic(
                Severity::Error,
                source.text.len(),
                format!("the file is not UTF-8 text: byte 0x{byte:02x} starts no character"),
                "save the file as UTF-8",
            );
            Err(LoadError { diagnostics: vec![diagnostic] })
        }
    }
}

/// Reads a regular file up to one byte beyond `most`, so that a longer one shows by its length.
///
/// # Errors
/// Why it cannot be read.
pub fn read_bytes(path: &Path, most: u64) -> Result<Vec<u8>, LoadError> {
    let refuse = |message: String, help: &str| LoadError {
        diagnostics: vec![whole(path, Severity::Error, message, help)],
    };
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => {
            refuse("there is no such file".to_owned(), "check the spelling of the path")
        }
        std::io::ErrorKind::PermissionDenied => {
            refuse("the file may not be read".to_owned(), "change its permissions")
        }
        _ => refuse(format!("the file cannot be read: {error}"), "check the disk and the path"),
    };
    let metadata = fs::metadata(path).map_err(failed)?;
    if metadata.is_dir() {
        return Err(refuse("this is a folder, not a file".to_owned(), "name a file in it"));
    }
    // A pipe or device could block for ever.
    if !metadata.is_file() {
        return Err(refuse("this is not a regular file".to_owned(), "name a text file"));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(failed)?;
    file.take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(failed)?;
    Ok(bytes)
}

/// The files to check, each once: files in the order given, `.ron` files of folders by path.
pub(in crate::level) fn files_below(
    paths: &[PathBuf],
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut seen = BTreeSet::new();
    for path in paths {
        let mut found = Vec::new();
        if path.is_dir() {
            walk(path, &mut found, diagnostics);
            found.sort();
            if found.is_empty() {
                let help = "name a folder with level or material files";
                let message = "there is no .ron file in this folder";
                diagnostics.push(whole(path, Severity::Error, message, help));
            }
        } else {
            found.push(path.clone());
        }
        // A file named twice, or by itself and by its folder, would clash with itself.
        files.extend(
            found.into_iter().filter(|file| {
                seen.insert(fs::canonicalize(file).unwrap_or_else(|_| file.clone()))
            }),
        );
    }
    files
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>, diagnostics: &mut Vec<Diagnostic>) {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            let message = format!("the folder cannot be read: {error}");
            let help = "check its permissions";
            return diagnostics.push(whole(folder, Severity::Error, message, help));
        }
    };
    for entry in entries.flatten() {
        let path = entry.path();
        // The type of the entry itself: folders behind links are left alone, they may loop.
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            walk(&path, found, diagnostics);
        } else if path.extension().is_some_and(|extension| extension == "ron") && !path.is_dir() {
            found.push(path);
        }
    }
}
