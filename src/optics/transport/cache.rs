//! Tables solved before, kept in a folder: one file each, named by everything that it depends on.
//!
//! A file is what `Tables::to_bytes` makes of a single table: the recipe, the table's name and a
//! checksum. It is written beside its place and then moved there, so a reader finds a whole file or
//! none, whoever else is writing. What cannot be read is solved again and written anew.

use super::codec::{self, Held};
use super::table::RECIPE;
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// More than any table needs; a longer file is none of ours.
const LONGEST_FILE: u64 = 1 << 20;

/// Where a table came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// It was there from the start: shipped, or read with `Tables::from_bytes`.
    Given,
    /// From the folder of tables solved before.
    Cached,
    /// Solved on this occasion.
    Solved,
}

/// Why the folder of tables was of no use for once. The table itself is right all the same.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CacheWarning {
    /// A file is cut short, changed or not what its name says.
    #[error("{}: damaged table, solved again", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
    },
    /// A file is there and cannot be read.
    #[error("{}: cannot be read ({reason}), table solved again", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        reason: String,
    },
    /// A table could not be kept.
    #[error("{}: cannot be written ({reason}), the table will be solved again next time",
        path.display())]
    NotKept {
        /// The file.
        path: PathBuf,
        /// What the system says.
        reason: String,
    },
}

/// File of the table with this name: SHA-256 of the recipe and the name, which spells out place,
/// refractive indices, anisotropy and mouth in all digits.
pub(super) fn file(folder: &Path, key: &str) -> PathBuf {
    let mut hash = Sha256::new();
    hash.update(RECIPE);
    hash.update(key);
    let name: String = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    folder.join(name + ".table")
}

/// The table with this name, `None` where there is no file for it.
pub(super) fn load(folder: &Path, key: &str) -> Result<Option<Held>, CacheWarning> {
    let path = file(folder, key);
    let mut bytes = Vec::new();
    let read = fs::File::open(&path)
        .and_then(|opened| opened.take(LONGEST_FILE + 1).read_to_end(&mut bytes));
    match read {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(CacheWarning::Unreadable { path, reason: error.to_string() }),
        Ok(_) => match codec::read(&bytes).and_then(|mut tables| tables.remove(key)) {
            Some(table) => Ok(Some(table)),
            None => Err(CacheWarning::Damaged { path }),
        },
    }
}

/// Keeps a table.
pub(super) fn store(folder: &Path, key: &str, table: &Held) -> Result<(), CacheWarning> {
    let path = file(folder, key);
    let bytes = codec::write(std::iter::once((key, table)));
    write_whole(folder, &path, &bytes)
        .map_err(|error| CacheWarning::NotKept { path, reason: error.to_string() })
}

fn write_whole(folder: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let mut beside = tempfile::NamedTempFile::new_in(folder)?;
    beside.write_all(bytes)?;
    beside.as_file().sync_data()?;
    beside.persist(path)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::modes::Place;
    use super::super::sampled::CEMENT_JOINT;
    use super::super::tables::Tables;
    use super::*;

    const PLACE: Place = Place::Inner { joint: CEMENT_JOINT };

    /// A ready table, to stand for one that took long to solve.
    fn ready() -> Held {
        let shipped = Tables::shipped();
        let key = shipped.held().into_iter().find(|key| key.starts_with("inner")).unwrap();
        codec::read(&shipped.to_bytes()).unwrap().remove(&key).unwrap()
    }

    /// Asks for a foreign table; says where it came from and what was warned of.
    fn ask(tables: &Tables, ready: &Held) -> (Vec<u8>, Origin, Vec<CacheWarning>) {
        tables.get(1.57, 0.31, PLACE, |_| ready.clone());
        let origins = tables.origins();
        assert_eq!(origins.len(), 1);
        (tables.to_bytes(), origins[0].1, tables.take_warnings())
    }

    fn only_file(folder: &Path) -> PathBuf {
        let mut files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let file = files.next().unwrap();
        // Nothing is left over from writing.
        assert_eq!(files.next(), None);
        file
    }

    #[test]
    fn a_table_is_solved_once_and_read_afterwards() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("not/yet/there");
        let ready = ready();
        let (bytes, origin, warnings) = ask(&Tables::default().with_cache(&folder), &ready);
        assert_eq!((origin, warnings), (Origin::Solved, vec![]));
        let path = only_file(&folder);
        let name = path.file_stem().unwrap().to_str().unwrap();
        assert!(name.len() == 64 && name.chars().all(|c| c.is_ascii_hexdigit()), "{name}");
        let again = ask(&Tables::default().with_cache(&folder), &ready);
        assert_eq!(again, (bytes.clone(), Origin::Cached, vec![]));
        // Without the folder it is solved; another table has another name.
        assert_eq!(ask(&Tables::default(), &ready), (bytes, Origin::Solved, vec![]));
        let other = Tables::default().with_cache(&folder);
        other.get(1.570_000_000_000_001, 0.31, PLACE, |_| ready.clone());
        assert_eq!(other.origins()[0].1, Origin::Solved);
        // What ships is neither read from the folder nor written to it.
        let shipped = Tables::shipped().with_cache(parent.path().join("none"));
        assert!(shipped.origins().iter().all(|(_, origin)| *origin == Origin::Given));
        assert!(!parent.path().join("none").exists());
    }

    #[test]
    fn damaged_files_are_solved_again_and_written_anew() {
        let folder = tempfile::tempdir().unwrap();
        let ready = ready();
        let (bytes, ..) = ask(&Tables::default().with_cache(folder.path()), &ready);
        let path = only_file(folder.path());
        let sound = fs::read(&path).unwrap();
        let mut flipped = sound.clone();
        flipped[sound.len() / 2] ^= 1;
        let cut = sound[..sound.len() / 2].to_vec();
        // Sound by its checksum, but another table.
        let other = codec::write(std::iter::once(("inner n1.5 g0 joint1.5", &ready)));
        let long = vec![0; LONGEST_FILE as usize + 10];
        for broken in [flipped, cut, Vec::new(), other, long] {
            fs::write(&path, &broken).unwrap();
            let found = ask(&Tables::default().with_cache(folder.path()), &ready);
            let warning = CacheWarning::Damaged { path: path.clone() };
            assert!(warning.to_string().ends_with("damaged table, solved again"));
            assert_eq!(found, (bytes.clone(), Origin::Solved, vec![warning]));
            assert!(fs::read(only_file(folder.path())).unwrap() == sound, "whole again");
        }
    }

    #[test]
    fn a_useless_folder_is_a_warning() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "no folder").unwrap();
        let (_, origin, warnings) = ask(&Tables::default().with_cache(&file), &ready());
        assert_eq!(origin, Origin::Solved);
        assert!(matches!(warnings.last(), Some(CacheWarning::NotKept { .. })), "{warnings:?}");
    }

    #[test]
    fn a_reader_beside_writers_finds_whole_tables() {
        let folder = tempfile::tempdir().unwrap();
        let ready = ready();
        let key = "inner n1.57 g0.31 joint1.52";
        let bytes = codec::write(std::iter::once((key, &ready)));
        let finished = std::sync::atomic::AtomicUsize::new(0);
        let counted = std::sync::atomic::Ordering::SeqCst;
        store(folder.path(), key, &ready).unwrap();
        std::thread::scope(|scope| {
            for _ in 0..2 {
                scope.spawn(|| {
                    let kept = (0..25).map(|_| store(folder.path(), key, &ready));
                    let kept: Vec<_> = kept.filter(Result::is_err).collect();
                    finished.fetch_add(1, counted);
                    assert_eq!(kept, []);
                });
            }
            while finished.load(counted) < 2 {
                let found = load(folder.path(), key).unwrap().unwrap();
                assert!(codec::write(std::iter::once((key, &found))) == bytes);
            }
        });
        only_file(folder.path());
    }
}
