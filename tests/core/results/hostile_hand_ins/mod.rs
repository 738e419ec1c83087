//! Hand-ins that somebody made to do harm: each is refused by name and costs nothing, and honest
//! ones beside it are gathered.

mod containers;
mod cost;
mod databases;
mod honest;
mod values;

use crate::shared::courses::practical;
use rusqlite::Connection;
use second_glance::course::{FormTruth, SimulatedGroup, simulate_hand_ins};
use second_glance::printable::path;
use second_glance::results::{Gathered, Manifest, Store, hand_in_manifest};
use sha2::{Digest, Sha256};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::{TempDir, tempdir};

const RESULTS: &str = "results.sqlite3";
const MANIFEST: &str = "manifest.json";
/// Two forms of 64 smiles.
const TRIALS: u64 = 128;
/// Reading a few small files takes a second or two; more on a busy machine.
const LONGEST: Duration = Duration::from_secs(60);

/// A folder with three hand-ins of one course; the first is what others are made from.
struct Class {
    dir: TempDir,
    honest: Vec<PathBuf>,
    results: Vec<u8>,
    manifest: Manifest,
}

impl Class {
    fn new() -> Self {
        let dir = tempdir().unwrap();
        let learners = SimulatedGroup { learners: 3, ..SimulatedGroup::default() }.draw(2);
        let mut honest =
            simulate_hand_ins(&practical(), &learners, "2026-01-31", dir.path(), &mut |_| {})
                .unwrap();
        let model = honest.remove(0);
        let manifest = hand_in_manifest(&model).unwrap();
        let mut archive = tar::Archive::new(fs::File::open(&model).unwrap());
        let mut results = Vec::new();
        for entry in archive.entries().unwrap() {
            let mut entry = entry.unwrap();
            if entry.path().unwrap() == Path::new(RESULTS) {
                std::io::Read::read_to_end(&mut entry, &mut results).unwrap();
            }
        }
        fs::remove_file(model).unwrap();
        Self { dir, honest, results, manifest }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// A hand-in of the first learner with other results, whose manifest says so.
    fn altered(&self, name: &str, sql: &str) -> PathBuf {
        let file = self.path("altered.sqlite3");
        fs::write(&file, &self.results).unwrap();
        let connection = Connection::open(&file).unwrap();
        let triggers: Vec<(String, String)> = connection
            .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
            .unwrap()
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
            .unwrap()
            .map(Result::unwrap)
            .collect();
        connection.execute_batch("PRAGMA ignore_check_constraints = ON").unwrap();
        for (name, _) in &triggers {
            connection.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
        }
        connection.execute_batch(sql).unwrap_or_else(|error| panic!("{name}: {error}"));
        for (_, sql) in triggers {
            // Those of tables that are gone stay away.
            let _ = connection.execute_batch(&sql);
        }
        connection.close().unwrap();
        let results = fs::read(&file).unwrap();
        fs::remove_file(file).unwrap();
        self.packed(name, &results, |_| {})
    }

    fn packed(&self, name: &str, results: &[u8], change: impl FnOnce(&mut Manifest)) -> PathBuf {
        let mut manifest = Manifest {
            bytes: results.len() as u64,
            sha256: Sha256::digest(results).iter().map(|byte| format!("{byte:02x}")).collect(),
            ..self.manifest.clone()
        };
        change(&mut manifest);
        let text = serde_json::to_vec(&manifest).unwrap();
        let entries = [plain(MANIFEST, &text), plain(RESULTS, results)];
        self.written(name, &archive(&entries))
    }

    fn written(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.path(&format!("{}.handin", name.replace('/', "-")));
        fs::write(&path, bytes).unwrap();
        path
    }

    /// Gathers hostile files among the honest ones, and checks that these alone are in the store.
    fn gather(&self, hostile: &[PathBuf]) -> Vec<String> {
        let mut files = vec![self.honest[0].clone()];
        files.extend_from_slice(hostile);
        files.push(self.honest[1].clone());
        let folder = tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let gathered = gather(&mut store, &files);
        let taken: Vec<_> = gathered.taken.iter().map(|t| (&t.path, t.new_trials)).collect();
        assert_eq!(taken, self.honest.iter().map(|path| (path, TRIALS)).collect::<Vec<_>>());
        let refused: Vec<_> = gathered.refused.iter().map(|(path, _)| path.clone()).collect();
        assert_eq!(refused, hostile);
        let sessions = store.sessions().unwrap();
        assert_eq!(sessions.len(), 4);
        assert!(sessions.iter().all(|session| session.stored_trials == 64));
        let said: Vec<String> = gathered.refused.iter().map(|(_, e)| e.to_string()).collect();
        for said in &said {
            assert_eq!(path(Path::new(said)), *said);
        }
        said
    }
}

fn gather(store: &mut Store, files: &[PathBuf]) -> Gathered {
    let course = practical();
    let truth = FormTruth::new(vec![course.clone()]);
    store.gather(files, Some(&course.id), &truth, &mut |_| {}).unwrap()
}

/// A header and its content.
type Entry = (tar::Header, Vec<u8>);

fn plain(name: &str, content: &[u8]) -> Entry {
    let mut header = tar::Header::new_gnu();
    header.set_path(name).unwrap();
    header.set_size(content.len() as u64);
    header.set_mode(0o600);
    header.set_cksum();
    (header, content.to_vec())
}

/// An entry with any bytes as its name.
fn named(name: &[u8], content: &[u8]) -> Entry {
    let (mut header, content) = plain("x", content);
    header.as_mut_bytes()[..100].fill(0);
    header.as_mut_bytes()[..name.len()].copy_from_slice(name);
    header.set_cksum();
    (header, content)
}

fn of_kind(name: &str, kind: tar::EntryType, content: &[u8]) -> Entry {
    let (mut header, content) = plain(name, content);
    header.set_entry_type(kind);
    header.set_cksum();
    (header, content)
}

fn archive(entries: &[Entry]) -> Vec<u8> {
    let mut bytes = Vec::new();
    for (header, content) in entries {
        bytes.extend_from_slice(header.as_bytes());
        bytes.extend_from_slice(content);
        bytes.resize(bytes.len().div_ceil(512) * 512, 0);
    }
    bytes.resize(bytes.len() + 1024, 0);
    bytes
}

fn said_in_turn(said: &[String], expected: &[&str]) {
    assert_eq!(said.len(), expected.len(), "{said:#?}");
    for (said, expected) in said.iter().zip(expected) {
        assert!(said.contains(expected), "{said:?} does not say {expected:?}");
    }
}
