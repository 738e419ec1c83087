//! The container of a hand-in: a tar archive of just two plain files.
//!
//! Tar has many ways to say that something is larger than it looks, or elsewhere: sparse files,
//! extended headers, links, devices, absolute paths. A hand-in uses none of them, so none is read:
//! every byte of the file is accounted for before a byte of its results is used, and nothing is
//! unpacked to disk.

use super::guard::{Guard, MOST_BYTES, Unfit};
use super::hand_in_error::{HandInError, io};
use super::manifest::{HAND_IN_FORMAT, KIND, MANIFEST, Manifest};
use super::moment::is_day;
use super::schema::LATEST_VERSION;
use super::store::FILE_NAME as RESULTS;
use rusqlite::Connection;
use sha2::{Digest, Sha256};
use std::fs::{File, OpenOptions};
use std::io::{self as std_io, Read};
use std::path::Path;

/// Far above any manifest.
const MOST_MANIFEST_BYTES: u64 = 1 << 16;
const BLOCK: u64 = 512;
/// Blocks of zeros that may end an archive: tools fill up to twenty blocks.
const MOST_PADDING: u64 = 2 * 20 * BLOCK;
/// Hexadecimal digits of a learner's id.
const ID_DIGITS: std::ops::RangeInclusive<usize> = 8..=32;

/// A hand-in whose two files are where they should be; its results are not read yet.
pub(super) struct Archive<'a> {
    path: &'a Path,
    file: File,
    pub manifest: Manifest,
    /// Bytes of the whole file.
    whole: u64,
    /// Bytes of the manifest's part of it.
    before: u64,
}

/// Opens a file that must be a plain one. Anything else would be waited for, or has no end.
fn open_plain(path: &Path) -> Result<(File, u64), HandInError> {
    let not_plain = || HandInError::Foreign {
        path: path.to_owned(),
        detail: "it is not a plain file".to_owned(),
    };
    let about = std::fs::metadata(path).map_err(io(path))?;
    if about.is_dir() {
        // A folder that may not be looked into says so.
        std::fs::read_dir(path).map_err(io(path))?;
    }
    if !about.is_file() {
        return Err(not_plain());
    }
    let mut options = OpenOptions::new();
    options.read(true);
    // Should it have become a pipe in between, opening it does not wait.
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::custom_flags(&mut options, libc::O_NONBLOCK);
    let file = options.open(path).map_err(io(path))?;
    let about = file.metadata().map_err(io(path))?;
    if about.is_file() { Ok((file, about.len())) } else { Err(not_plain()) }
}

/// The size of the plain file whose header comes next; `None` at the end of the archive.
fn header(file: &mut File, name: &str) -> Result<Option<u64>, String> {
    let mut header = tar::Header::new_old();
    let bytes = header.as_mut_bytes();
    file.read_exact(bytes).map_err(|_| "it is no archive".to_owned())?;
    if bytes.iter().all(|byte| *byte == 0) {
        return Ok(None);
    }
    // The sum is taken with its own field blank.
    let sum: u32 = bytes
        .iter()
        .enumerate()
        .map(|(i, b)| if (148..156).contains(&i) { 32 } else { u32::from(*b) })
        .sum();
    if header.cksum().ok() != Some(sum) {
        return Err("it is no archive".to_owned());
    }
    let kind = header.entry_type();
    if !kind.is_file() {
        return Err(format!(
            "it holds something other than plain files (a tar entry of type \"{}\")",
            kind.as_byte().escape_ascii()
        ));
    }
    if &*header.path_bytes() != name.as_bytes() || header.link_name_bytes().is_some() {
        return Err(format!(
            "it holds \"{}\" where {name} should be",
            crate::printable::printable(&String::from_utf8_lossy(&header.path_bytes()))
        ));
    }
    header.entry_size().map(Some).map_err(|_| format!("the size of its {name} is no number"))
}

fn padded(bytes: u64) -> u64 {
    bytes.div_ceil(BLOCK) * BLOCK
}

impl<'a> Archive<'a> {
    /// Opens a hand-in and reads its manifest.
    pub fn open(path: &'a Path) -> Result<Self, HandInError> {
        let foreign = |detail: String| HandInError::Foreign { path: path.to_owned(), detail };
        let (mut file, whole) = open_plain(path)?;
        if whole == 0 {
            return Err(foreign("it is empty".to_owned()));
        }
        let size = header(&mut file, MANIFEST).map_err(foreign)?;
        let size = size.ok_or_else(|| foreign("it is empty".to_owned()))?;
        let before = BLOCK + padded(size.min(MOST_MANIFEST_BYTES));
        if size > MOST_MANIFEST_BYTES || before > whole {
            return Err(foreign("it does not begin with a manifest".to_owned()));
        }
        let mut text = vec![0; size as usize];
        file.read_exact(&mut text).map_err(io(path))?;
        std_io::copy(&mut (&mut file).take(padded(size) - size), &mut std_io::sink())
            .map_err(io(path))?;
        let manifest = manifest(&text, path)?;
        Ok(Self { path, file, manifest, whole, before })
    }

    /// The results, in memory, checked against the manifest; what their rows hold is not.
    pub fn results(mut self, guard: &Guard) -> Result<(Manifest, Connection), HandInError> {
        let path = self.path;
        let foreign = |detail: String| HandInError::Foreign { path: path.to_owned(), detail };
        let damaged = |detail: String| HandInError::Damaged { path: path.to_owned(), detail };
        let size = match self.whole.checked_sub(self.before + BLOCK) {
            Some(_) => header(&mut self.file, RESULTS).map_err(foreign)?,
            None => None,
        };
        let size = size.ok_or_else(|| damaged(format!("it holds no {RESULTS}")))?;
        if size > MOST_BYTES {
            return Err(foreign(format!(
                "its results are said to be {size} bytes, more than the {MOST_BYTES} of any hand-in"
            )));
        }
        let expected = self.before + BLOCK + padded(size);
        if self.whole < expected {
            return Err(damaged("its results break off".to_owned()));
        }
        if self.whole > expected + MOST_PADDING {
            return Err(foreign("it holds more than a manifest and results".to_owned()));
        }
        if size != self.manifest.bytes {
            return Err(damaged("its results do not have the size of its manifest".to_owned()));
        }
        let mut hashed = Hashed { hash: Sha256::new(), from: (&mut self.file).take(size) };
        let connection = guard.read(size, &mut hashed);
        if hashed.from.limit() > 0 {
            return Err(damaged("its results cannot be read".to_owned()));
        }
        let digest = hashed.hash.finalize();
        let sum: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        if sum != self.manifest.sha256 {
            return Err(damaged("its results do not have the checksum of its manifest".to_owned()));
        }
        let connection = connection.map_err(|unfit| match unfit {
            Unfit::Foreign(detail) => foreign(detail),
            Unfit::Damaged(detail) => damaged(detail),
            Unfit::Newer(found) => newer(path, "schema version", u64::from(found), LATEST_VERSION),
        })?;
        let mut rest = Vec::new();
        let most = MOST_PADDING + BLOCK;
        (&mut self.file).take(most).read_to_end(&mut rest).map_err(io(path))?;
        if rest.iter().any(|byte| *byte != 0) {
            return Err(foreign("it holds more than a manifest and results".to_owned()));
        }
        Ok((self.manifest, connection))
    }
}

fn newer(path: &Path, what: &'static str, found: u64, known: u32) -> HandInError {
    let found = u32::try_from(found).unwrap_or(u32::MAX);
    HandInError::Newer { path: path.to_owned(), what, found, known }
}

fn manifest(text: &[u8], path: &Path) -> Result<Manifest, HandInError> {
    let foreign = |detail: String| HandInError::Foreign { path: path.to_owned(), detail };
    let unread = || foreign("its manifest cannot be read".to_owned());
    let text = std::str::from_utf8(text).map_err(|_| unread())?;
    super::strict_json::check(text).map_err(|_| unread())?;
    // A newer format may have other fields; it is refused for its number, not for them.
    let value: serde_json::Value = serde_json::from_str(text).map_err(|_| unread())?;
    let number = |field: &str| value.get(field).and_then(serde_json::Value::as_u64).unwrap_or(0);
    if value.get("kind").and_then(serde_json::Value::as_str) != Some(KIND) {
        return Err(foreign("its manifest is of another program".to_owned()));
    }
    if number("format") > u64::from(HAND_IN_FORMAT) {
        return Err(newer(path, "format", number("format"), HAND_IN_FORMAT));
    }
    if number("schema") > u64::from(LATEST_VERSION) {
        return Err(newer(path, "schema version", number("schema"), LATEST_VERSION));
    }
    let manifest: Manifest = serde_json::from_value(value).map_err(|error| {
        let error = error.to_string();
        foreign(format!("its manifest is not complete ({})", crate::printable::printable(&error)))
    })?;
    let id = &manifest.learner;
    let hexadecimal =
        |text: &str| text.bytes().all(|c| c.is_ascii_digit() || (b'a'..=b'f').contains(&c));
    let sound = ID_DIGITS.contains(&id.len())
        && hexadecimal(id)
        && super::examine::is_name(&manifest.course)
        && super::examine::is_name(&manifest.build)
        && is_day(&manifest.day)
        && manifest.sha256.len() == 64
        && hexadecimal(&manifest.sha256);
    if sound {
        return Ok(manifest);
    }
    Err(foreign(
        "its manifest names no learner by 8 to 32 digits, or its course, day, build or checksum is \
         none"
        .to_owned(),
    ))
}

/// Passes bytes on and sums them up.
struct Hashed<R> {
    hash: Sha256,
    from: R,
}

impl<R: Read> Read for Hashed<R> {
    fn read(&mut self, to: &mut [u8]) -> std_io::Result<usize> {
        let count = self.from.read(to)?;
        self.hash.update(&to[..count]);
        Ok(count)
    }
}
