//! Files that hold learners' answers or names: nobody but their owner may read them, and where the
//! system refuses, it is said what was tried and what to do.
//!
//! On Unix, files are made with mode 0600 and folders with 0700; elsewhere the folder's own rules
//! hold. What is there already keeps the rights that its owner gave it, but for the result file, which
//! is tightened on opening.

use crate::printable;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use tempfile::NamedTempFile;

fn options() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

/// A new file that only its owner may read.
///
/// # Errors
/// What the system says; a file that is there already is left alone.
pub fn create_private(path: &Path) -> io::Result<File> {
    options().create_new(true).open(path)
}

/// Makes a file that only its owner may read; one that others may read is closed to them.
pub(super) fn touch_private(path: &Path) -> io::Result<()> {
    match create_private(path) {
        Err(error) if error.kind() == ErrorKind::AlreadyExists => tighten(path),
        other => other.map(drop),
    }
}

/// Closes a file to all but its owner, should there be one.
pub(super) fn tighten_if_there(path: &Path) -> io::Result<()> {
    match tighten(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        other => other,
    }
}

/// Takes the rights of everyone but the owner away.
#[cfg(unix)]
fn tighten(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = fs::metadata(path)?.permissions().mode();
    if mode & 0o077 == 0 {
        return Ok(());
    }
    fs::set_permissions(path, fs::Permissions::from_mode(mode & 0o700))
}

#[cfg(not(unix))]
fn tighten(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Makes a folder, and those above it, that only their owner may look into. A folder that is there
/// already stays as it is.
///
/// # Errors
/// What the system says.
pub fn create_private_folder(path: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

/// Writes a file that only its owner may read, whole or not at all; one of that name is replaced.
///
/// # Errors
/// What the system says.
pub fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    // Temporary files are made for their owner alone.
    let mut file = NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

/// What the system refused, in words: what was tried, with which file, why not, and what to do.
/// `tried` is a verb, such as `write`.
#[must_use]
pub fn refusal(tried: &str, path: &Path, error: &io::Error) -> String {
    let (why, help) = match error.kind() {
        ErrorKind::NotFound if tried == "read" => {
            ("there is no such file or folder", "check the spelling of the path")
        }
        ErrorKind::NotFound => ("there is no such folder", "make the folder, or choose another"),
        ErrorKind::PermissionDenied => {
            ("the system does not permit it", "change the rights of the folder, or choose another")
        }
        ErrorKind::AlreadyExists => {
            ("it is there already, and nothing is written over", "choose another name")
        }
        ErrorKind::IsADirectory => ("it is a folder", "name a file"),
        ErrorKind::NotADirectory => ("a part of its path is a file", "choose another folder"),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            ("there is no room left", "make room, or choose another folder")
        }
        ErrorKind::ReadOnlyFilesystem => {
            ("the disk can only be read", "choose a folder on another disk")
        }
        ErrorKind::InvalidFilename => ("its name is not allowed there", "choose another name"),
        _ => {
            let path = printable::path(path);
            return format!("cannot {tried} {path} ({error}): look at the disk, or choose another");
        }
    };
    format!("cannot {tried} {}: {why}; {help}", printable::path(path))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_system_refuses_is_said_in_words() {
        let folder = tempfile::tempdir().unwrap();
        let nowhere = folder.path().join("no/such/report.html");
        let error = write_private(&nowhere, b"x").unwrap_err();
        let said = refusal("write", &nowhere, &error);
        assert!(said.contains("report.html") && said.contains("make the folder"), "{said}");
        assert!(!said.contains("os error"), "{said}");
        let error = File::open(&nowhere).unwrap_err();
        assert!(refusal("read", &nowhere, &error).contains("check the spelling"));
        let taken = folder.path().join("taken");
        fs::write(&taken, "x").unwrap();
        let error = create_private(&taken).unwrap_err();
        assert!(refusal("write", &taken, &error).contains("choose another name"));
        let error = create_private_folder(&taken.join("below")).unwrap_err();
        assert!(!refusal("make", &taken, &error).contains("os error"));
    }

    #[cfg(unix)]
    #[test]
    fn only_the_owner_may_read() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let inner = folder.path().join("a/b");
        create_private_folder(&inner).unwrap();
        assert_eq!((mode(&inner), mode(&folder.path().join("a"))), (0o700, 0o700));
        let file = inner.join("x");
        create_private(&file).unwrap();
        assert_eq!(mode(&file), 0o600);
        // So is a result file of an earlier time, on opening.
        let store = inner.join("results");
        let path = crate::results::Store::open(&store).unwrap().path().to_owned();
        assert_eq!(mode(&path), 0o600);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
        crate::results::Store::open(&store).unwrap();
        assert_eq!(mode(&path), 0o600);
        // A report that everyone could read is replaced by one that its owner alone can.
        let report = inner.join("report.html");
        fs::write(&report, "old").unwrap();
        fs::set_permissions(&report, fs::Permissions::from_mode(0o644)).unwrap();
        write_private(&report, b"new").unwrap();
        assert_eq!((mode(&report), fs::read(&report).unwrap()), (0o600, b"new".to_vec()));
    }
}
