//! Files that are written whole or not at all.

use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// There is a file of that name.
    #[error("{}: the file is there already", crate::printable::path(.0))]
    Taken(PathBuf),
    /// The system refused.
    #[error("{}: cannot be written: {source}", crate::printable::path(path))]
    Failed {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
}

/// Writes a text to a file: beside it first, then moved into place. A file that is there already is
/// kept unless it shall be replaced.
///
/// # Errors
/// Why nothing was written.
pub fn write(path: &Path, text: &str, replace: bool) -> Result<(), WriteError> {
    let taken = || WriteError::Taken(path.to_owned());
    if path.exists() && !replace {
        return Err(taken());
    }
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let failed = |source: std::io::Error| WriteError::Failed { path: path.to_owned(), source };
    let mut file = NamedTempFile::new_in(folder).map_err(failed)?;
    file.write_all(text.as_bytes()).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    let kept = if replace {
        file.persist(path)
    } else {
        // Refuses where somebody made the file since.
        file.persist_noclobber(path)
    };
    match kept {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => Err(taken()),
        Err(error) => Err(failed(error.error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_only_replaced_when_asked() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x.ron");
        write(&path, "one", false).unwrap();
        assert!(matches!(write(&path, "two", false), Err(WriteError::Taken(_))));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "one");
        write(&path, "two", true).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "two");
        // Nothing is left beside it.
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        assert!(write(&folder.path().join("no/x.ron"), "", false).is_err());
    }
}
