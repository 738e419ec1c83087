//! Hand-ins that somebody made to do harm: each is refused by name and costs nothing, and honest
//! ones beside it are gathered.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::courses::practical;
use rusqlite::Connection;
use second_glance::bake::bake;
use second_glance::course::{CourseData, Form, FormTruth, SimulatedGroup, simulate_hand_ins};
use second_glance::material::Library;
use second_glance::measure::SmileRequest;
use second_glance::printable::path;
use second_glance::report::{CourseReportOptions, course_report};
use second_glance::results::{
    Gathered, ItemClaim, ItemTruth, LATEST_VERSION, Manifest, Selection, Store, Table,
    hand_in_manifest,
};
use second_glance::scene::Tooth;
use sha2::{Digest, Sha256};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
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

#[test]
fn values_that_no_sitting_leaves_behind_are_refused_with_their_place() {
    let class = Class::new();
    let one = "WHERE session = 1 AND trial = 5";
    let set = |what: &str| format!("UPDATE trial SET {what} {one}");
    let session = |what: &str| format!("UPDATE session SET {what} WHERE id = 1");
    let signal = "WHERE session = 1 AND trial = (SELECT min(trial) FROM trial
        WHERE session = 1 AND trial_kind = 'signal')";
    let of_signal = |what: &str| format!("UPDATE trial SET {what} {signal}");
    let deep = "'[' || replace(hex(zeroblob(50000)), '0', '[')";
    let cases: Vec<(String, &str)> = vec![
        (set("n_teeth = -1"), "session 1, trial 5: n_teeth is -1, not a whole number from 1 to 32"),
        (set("n_teeth = 2000000000"), "trial 5: n_teeth is 2000000000"),
        (set("target_pos = 4294967297"), "target_pos is 4294967297"),
        (set("block = 9223372036854775807"), "block is 9223372036854775807"),
        (of_signal("x_de00 = -5"), "x_de00 is -5e0, not a number from 0 to 200"),
        (of_signal("x_de00 = 1e308"), "x_de00 is 1e308"),
        (of_signal("x_de00 = 5e-324"), "x_de00 is 5e-324"),
        (of_signal("dl00 = -9e999"), "dl00 is -inf"),
        (set("t_on = 9e999"), "t_on is inf"),
        (set("t_fix = -0.5"), "t_fix is -5e-1"),
        (set("t_mask = t_on - 1"), "its times run backwards"),
        (set("exposure_actual = -150"), "exposure_actual is -150"),
        (set("dropped = -1"), "dropped is -1"),
        (set("refresh_hz = 0"), "refresh_hz is 0e0"),
        (set("u_resid = '[0.5, 1'"), "u_resid is not what it can be: EOF"),
        (set("u_resid = '[NaN]'"), "u_resid is not what it can be"),
        (set("u_resid = '[1e999]'"), "u_resid is not what it can be: number out of range"),
        (set("u_resid = '[1,2]'"), "a form shows 10 teeth"),
        (set(&format!("u_resid = {deep}")), "u_resid is not what it can be: it is"),
        (set(&format!("recipe = substr({deep}, 1, 9000)")), "recursion limit"),
        (set("recipe = '{\"a\": 1, \"a\": 2}'"), "two fields of one name"),
        (set("recipe = hex(zeroblob(100000))"), "recipe is 200000 bytes long"),
        (set("recipe = hex(zeroblob(3000000))"), "larger than any of this program"),
        (set("light = 'D65' || char(27) || '[2J'"), "light is \"D65\\u{1b}[2J\""),
        (set("light = CAST(x'ff4142' AS TEXT)"), "light is"),
        (set("seed_key = seed_key || char(10)"), "seed_key is"),
        (set("scene_seed = '18446744073709551616'"), "scene_seed is"),
        (set("response = 'maybe'"), "CHECK constraint failed in trial"),
        (set("verdict = CASE verdict WHEN 'missed' THEN 'found' ELSE 'missed' END"), "its verdict"),
        (set("timeout = 1 - timeout"), "timed out and answered"),
        (set("response_pos = 11, n_teeth = 10, response = 'tooth'"), "trial 5: "),
        (set("input_device = 'telepathy'"), "input_device is \"telepathy\""),
        // What an item shows follows from its form.
        (of_signal("x_de00 = x_de00 + 1"), "of its form is"),
        (of_signal("dl00 = -dl00, dc00 = -dc00, dh00 = -dh00"), "of its form is"),
        (of_signal("x_de00 = NULL, dl00 = NULL, dc00 = NULL, dh00 = NULL"), "not nothing"),
        (
            of_signal(
                "target_pos = 1 + target_pos % 10, target_tooth = CASE target_pos WHEN 10 THEN 15
                 WHEN 5 THEN 21 ELSE target_tooth + CASE WHEN target_pos < 5 THEN -1 ELSE 1 END END,
                 response = 'none', response_pos = NULL, response_tooth = NULL, verdict = 'missed',
                 timeout = 0",
            ),
            "of its form restores tooth",
        ),
        (
            "UPDATE trial SET seed_key = (SELECT seed_key FROM trial WHERE session = 1 AND
                trial_kind = 'catch' AND trial.block = 0 LIMIT 1)
             WHERE session = 1 AND block = 0 AND trial_kind = 'catch'"
                .to_owned(),
            "of its form was shown before",
        ),
        (set("seed_key = 'exam:form/7/' || block || '/3'"), "of form seed 7, and its session of"),
        (set("seed_key = 'exam:form/+1/0/3', block = 0"), "seed key names no item"),
        (set("seed_key = 'first-look/1/0/3'"), "seed key names no item"),
        (session("seed = '12345'"), "its session of 12345"),
        (session("planned_trials = 63"), "no form has the 63 items"),
        (session("started_at = 'yesterday'"), "started_at is \"yesterday\""),
        (session("finished_at = '2026-01-31'"), "finished_at is \"2026-01-31\""),
        (session("planned_trials = -1"), "session 1: planned_trials is -1"),
        (session("settings = '{'"), "session 1: settings is not what it can be"),
        (session("settings = '{}'"), "it says nothing of a course"),
        (
            session("settings = json_set(settings, '$.course.learner', '00000000ffff')"),
            "session 1: it is not of the learner and course of the manifest",
        ),
        (
            // The first of two fields would be read by SQLite, the last by others.
            session("settings = '{\"course\":{\"learner\":\"00000000ffff\"},' || substr(settings, 2)"),
            "two fields of one name",
        ),
        (
            session("settings = json_set(settings, '$.course.response_factor', 1e6)"),
            "its time to answer is 1e6 times",
        ),
        (
            session("settings = json_set(settings, '$.course.form', 'z')"),
            "has no form \"z\"",
        ),
        (
            session("settings = json_set(settings, '$.course.phase', 'whenever')"),
            "its phase is none of",
        ),
        (
            "INSERT INTO session (started_at, finished_at, build, task, mode, level, seed, refresh_hz,
                planned_trials, settings)
             SELECT started_at, finished_at, build, task, mode, level, seed, refresh_hz,
                planned_trials, settings FROM session WHERE id = 1"
                .to_owned(),
            "session 3: it is there twice",
        ),
        ("PRAGMA foreign_keys = OFF; UPDATE trial SET session = 99 WHERE session = 1".to_owned(),
            "session 99, trial 0: there is no such session"),
        ("DELETE FROM trial WHERE session = 1 AND trial > 9".to_owned(), "and its manifest says"),
        (
            "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n LIMIT 99999)
             INSERT INTO sitting_log SELECT 1, i, '2026-01-31T09:00:00Z', 'shown', NULL, NULL FROM n"
                .to_owned(),
            "more than 100000 rows",
        ),
    ];
    let files: Vec<PathBuf> = cases
        .iter()
        .enumerate()
        .map(|(i, (sql, _))| class.altered(&format!("case {i}"), sql))
        .collect();
    let expected: Vec<&str> = cases.iter().map(|(_, said)| *said).collect();
    said_in_turn(&class.gather(&files), &expected);
}

#[test]
fn databases_with_a_schema_of_their_own_are_refused_before_they_run() {
    let class = Class::new();
    let endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)";
    let columns = "'2026' AS started_at, NULL AS finished_at, '' AS build, '' AS task, '' AS mode,
        '' AS level, '1' AS seed, 60.0 AS refresh_hz, 1 AS planned_trials, '{}' AS settings";
    let schema =
        |change: &str| format!("PRAGMA writable_schema = ON; UPDATE sqlite_schema SET {change}");
    let mut cases: Vec<(String, &str)> = vec![
        (
            format!(
                "PRAGMA foreign_keys = OFF; DROP TABLE session;
                CREATE VIEW session AS {endless} SELECT i AS id, {columns} FROM n"
            ),
            "view session",
        ),
        (
            "CREATE TRIGGER more AFTER INSERT ON session BEGIN
            INSERT INTO trial SELECT * FROM trial; END"
                .to_owned(),
            "trigger more",
        ),
        ("CREATE VIRTUAL TABLE words USING fts3(a)".to_owned(), "words"),
        (
            "ALTER TABLE trial ADD COLUMN made BLOB AS (zeroblob(1000000000))".to_owned(),
            "table trial",
        ),
        ("CREATE INDEX odd ON trial (json_extract(u_resid, '$[0]'))".to_owned(), "index odd"),
        ("CREATE INDEX partly ON trial (block) WHERE block > 0".to_owned(), "index partly"),
        ("CREATE TABLE remark (session INTEGER, x TEXT)".to_owned(), "table remark"),
        ("DROP TABLE sitting_log".to_owned(), "lack the"),
        ("ALTER TABLE trial DROP COLUMN light".to_owned(), "table trial"),
        (schema("sql = replace(sql, 'STRICT', '') WHERE name = 'answer'"), "table answer"),
        (schema("sql = replace(sql, 'NOT NULL', '') WHERE name = 'trial'"), "table trial"),
        (format!("CREATE TABLE \"a{}[2J\" (x)", '\u{1b}'), "table a\\u{1b}[2J, which no version"),
        ("PRAGMA journal_mode = WAL".to_owned(), "are not stored as a hand-in's are"),
        ("PRAGMA user_version = 0".to_owned(), "no schema version"),
        ("PRAGMA user_version = 7777".to_owned(), "newer program (schema version 7777"),
        ("PRAGMA user_version = 1".to_owned(), "which no version of this program makes"),
        ("PRAGMA application_id = 1".to_owned(), "database of another program"),
    ];
    cases.push((
        (0..100).map(|i| format!("CREATE TABLE t{i} (x);")).collect(),
        "which no version of this program makes",
    ));
    let mut files: Vec<PathBuf> = cases
        .iter()
        .enumerate()
        .map(|(i, (sql, _))| class.altered(&format!("case {i}"), sql))
        .collect();
    let mut expected: Vec<&str> = cases.iter().map(|(_, said)| *said).collect();
    // Pages that are used twice or are none: scans of them run in circles or nowhere.
    let page = usize::from(u16::from_be_bytes([class.results[16], class.results[17]]));
    let pages = class.results.len() / page;
    for from in [1, pages / 2] {
        let mut bytes = class.results.clone();
        let copied = bytes[from * page..(from + 1) * page].to_vec();
        for to in 2..pages {
            bytes[to * page..(to + 1) * page].copy_from_slice(&copied);
        }
        files.push(class.packed(&format!("pages {from}"), &bytes, |_| {}));
        expected.push("is damaged");
    }
    files.push(class.packed("cut", &class.results[..class.results.len() - 100], |_| {}));
    expected.push("break off within a page");
    files.push(class.packed("short", &class.results[..page], |_| {}));
    expected.push("is damaged");
    files.push(class.packed("text", &b"SELECT 1; ".repeat(99), |_| {}));
    expected.push("no results file");
    files.push(class.packed("nothing", b"", |_| {}));
    expected.push("no results file");
    said_in_turn(&class.gather(&files), &expected);
}

/// Containers that say they hold more, less, or something else.
fn containers(class: &Class) -> Vec<(PathBuf, &'static str)> {
    let manifest = serde_json::to_vec(&class.manifest).unwrap();
    let first = || plain(MANIFEST, &manifest);
    let results = || plain(RESULTS, &class.results);
    let mut files = Vec::new();
    let mut add = |name: &str, bytes: &[u8], said: &'static str| {
        files.push((class.written(name, bytes), said));
    };
    let other = "other than plain files";
    let more = "more than a manifest and results";

    // A file with a hole: 1.4 GB in a header, no byte of it in the archive.
    let mut sparse = tar::Header::new_gnu();
    sparse.set_path(RESULTS).unwrap();
    sparse.set_entry_type(tar::EntryType::GNUSparse);
    sparse.set_size(0);
    let gnu = sparse.as_gnu_mut().unwrap();
    gnu.realsize.copy_from_slice(b"12346545000\0");
    gnu.sparse[0].offset.copy_from_slice(b"12346545000\0");
    gnu.sparse[0].numbytes.copy_from_slice(b"00000000000\0");
    sparse.set_cksum();
    add("sparse", &archive(&[first(), (sparse, Vec::new())]), other);
    // Sizes and names of an extended header overrule what follows.
    let pax = b"19 size=1400000000\n28 path=../../results.sqlite3\n";
    add("pax", &archive(&[of_kind("p", tar::EntryType::XHeader, pax), first(), results()]), other);
    add(
        "pax later",
        &archive(&[first(), of_kind("p", tar::EntryType::XHeader, pax), results()]),
        other,
    );
    add("global", &archive(&[of_kind("p", tar::EntryType::XGlobalHeader, pax), first()]), other);
    add(
        "long name",
        &archive(&[first(), of_kind("n", tar::EntryType::GNULongName, b"x"), results()]),
        other,
    );
    for (name, kind) in [
        ("link", tar::EntryType::Symlink),
        ("hard link", tar::EntryType::Link),
        ("device", tar::EntryType::Char),
        ("disk", tar::EntryType::Block),
        ("pipe", tar::EntryType::Fifo),
        ("folder", tar::EntryType::Directory),
        ("contiguous", tar::EntryType::Continuous),
    ] {
        add(name, &archive(&[first(), of_kind(RESULTS, kind, b"")]), other);
    }
    let mut large = plain(RESULTS, b"");
    large.0.set_size(1_400_000_000);
    large.0.set_cksum();
    add("said large", &archive(&[first(), large]), "1400000000 bytes, more than");
    // Sizes beyond eight octal digits are written in base 256.
    let mut huge = plain(RESULTS, b"");
    huge.0.set_size(u64::MAX - 1);
    huge.0.set_cksum();
    add("said huge", &archive(&[first(), huge]), "bytes, more than");
    let mut odd = plain(RESULTS, b"");
    odd.0.as_mut_bytes()[124..136].copy_from_slice(b"-0000000001\0");
    odd.0.set_cksum();
    add("said odd", &archive(&[first(), odd]), "is no number");
    let absolute = named(b"/tmp/results.sqlite3", &class.results);
    add("absolute", &archive(&[first(), absolute]), "it holds \"/tmp/results.sqlite3\"");
    let above = named(b"../results.sqlite3", &class.results);
    add("above", &archive(&[first(), above]), "it holds \"../results.sqlite3\"");
    let coloured = named(b"a\x1b[31mb", b"");
    add("coloured", &archive(&[first(), coloured]), "it holds \"a\\u{1b}[31mb\"");
    add("reversed", &archive(&[results(), first()]), "where manifest.json should be");
    add("twice", &archive(&[first(), results(), results()]), more);
    add(
        "manifest twice",
        &archive(&[first(), first(), results()]),
        "where results.sqlite3 should be",
    );
    add("with a script", &archive(&[first(), results(), plain("run.sh", b"rm -r x")]), more);
    let whole = archive(&[first(), results()]);
    add("cut", &whole[..whole.len() / 2], "its results break off");
    add("cut early", &whole[..700], "does not begin with a manifest");
    add("cut after the manifest", &whole[..1024], "holds no results");
    let mut tail = whole.clone();
    tail.extend_from_slice(b"tail");
    add("tail", &tail, more);
    let mut long = whole.clone();
    long.resize(long.len() + (1 << 20), 0);
    add("long tail", &long, more);
    let mut sum = whole.clone();
    sum[148] ^= 1;
    add("header's sum", &sum, "it is no archive");
    add("empty", b"", "it is empty");
    add("zeros", &[0; 4096], "it is empty");
    add(
        "thick manifest",
        &archive(&[plain(MANIFEST, &[b' '; 70_000])]),
        "does not begin with a manifest",
    );
    let deep = "[".repeat(60_000);
    add("deep manifest", &archive(&[plain(MANIFEST, deep.as_bytes())]), "manifest cannot be read");
    files
}

#[test]
fn containers_are_refused_before_anything_is_unpacked() {
    let class = Class::new();
    let (files, expected): (Vec<PathBuf>, Vec<&str>) = containers(&class).into_iter().unzip();
    said_in_turn(&class.gather(&files), &expected);
}

#[test]
fn manifests_that_say_what_is_not_so_are_refused() {
    let class = Class::new();
    let make = |name: &str, change: &dyn Fn(&mut Manifest)| {
        class.packed(name, &class.results, |manifest| change(manifest))
    };
    let files = [
        make("sum", &|m| m.sha256 = "00".repeat(32)),
        make("size", &|m| m.bytes += 1),
        make("count", &|m| m.trials += 1),
        make("sessions", &|m| m.sessions = 1),
        make("another's", &|m| m.learner = "0123456789ab".to_owned()),
        make("nobody's", &|m| m.learner = "x\u{1b}]0;title\u{7}".to_owned()),
        make("path", &|m| m.learner = "../../../etc".to_owned()),
        make("course", &|m| m.course = "a\u{1b}[2Jb".to_owned()),
        make("day", &|m| m.day = "today\n".to_owned()),
        make("schema", &|m| m.schema = LATEST_VERSION + 1),
    ];
    said_in_turn(
        &class.gather(&files),
        &[
            "do not have the checksum",
            "do not have the size",
            "and its manifest says",
            "and its manifest says",
            "it is not of the learner and course of the manifest",
            "names no learner",
            "names no learner",
            "names no learner",
            "names no learner",
            "newer program (schema version",
        ],
    );
}

#[test]
fn a_hand_in_counts_once_however_often_and_under_whatever_name_it_comes() {
    let class = Class::new();
    let mine = class.packed("mine", &class.results, |_| {});
    let again = class.packed("again", &class.results, |_| {});
    let changed = class.altered(
        "changed",
        "UPDATE trial SET response_time = response_time + 1 WHERE session = 1 AND trial < 3;
         UPDATE session SET build = '0.0.0' WHERE id = 2",
    );
    let folder = tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let gathered = gather(&mut store, &[mine.clone(), again, changed, mine]);
    let counts: Vec<_> = gathered.taken.iter().map(|t| (t.new_trials, t.known_trials)).collect();
    assert_eq!(counts, [(TRIALS, 0), (0, TRIALS), (0, TRIALS)]);
    let said: Vec<String> = gathered.refused.iter().map(|(_, e)| e.to_string()).collect();
    said_in_turn(&said, &["4 of its trials differ from those gathered before"]);
    let trials = store.trials(1).unwrap();
    assert!(trials.iter().all(|t| t.outcome.response_time_s.is_none_or(|s| s < 2.3)));
    assert!(store.sessions().unwrap().iter().all(|s| s.info.build != "0.0.0"));
}

/// Versions of the schema that the store has accepted since: their tables and columns that were not
/// there yet come on the way.
#[test]
fn hand_ins_of_earlier_versions_are_read() {
    let class = Class::new();
    let without = |name: &str, version: u32, tables: &[&str]| {
        let drop: String = tables.iter().map(|table| format!("DROP TABLE {table};")).collect();
        let path = class.altered(name, &format!("{drop} PRAGMA user_version = {version}"));
        // The manifest of that version says so.
        let mut archive = tar::Archive::new(fs::File::open(&path).unwrap());
        let mut results = Vec::new();
        let mut entry = archive.entries().unwrap().nth(1).unwrap().unwrap();
        std::io::Read::read_to_end(&mut entry, &mut results).unwrap();
        class.packed(name, &results, |manifest| manifest.schema = version)
    };
    for file in [
        without("5", 5, &["sitting_log"]),
        without("4", 4, &["sitting_log", "answer"]),
        without("3", 3, &["sitting_log", "answer", "measured_trial", "measurement"]),
    ] {
        let folder = tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let gathered = gather(&mut store, &[file]);
        assert!(gathered.refused.is_empty(), "{:?}", gathered.refused);
        assert_eq!(gathered.taken[0].new_trials, TRIALS);
        assert_eq!(store.trials(1).unwrap().len(), 64);
    }
}

#[cfg(unix)]
#[test]
fn what_is_no_plain_file_is_refused_without_waiting_for_it() {
    let class = Class::new();
    let pipe = class.path("a\u{1b}[2J\u{202e}pipe.handin");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let endless = class.path("endless.handin");
    std::os::unix::fs::symlink("/dev/zero", &endless).unwrap();
    let nowhere = class.path("nowhere.handin");
    std::os::unix::fs::symlink("nothing-there", &nowhere).unwrap();
    let folder = class.path("folder.handin");
    fs::create_dir(&folder).unwrap();
    let found = second_glance::results::hand_ins_below(class.dir.path()).unwrap();
    for file in [&pipe, &endless, &nowhere] {
        assert!(found.contains(file), "{} is listed", path(file));
    }
    // Reading a pipe that nobody writes into would wait for ever, and this test with it.
    let (tell, told) = mpsc::channel();
    thread::spawn(move || tell.send(class.gather(&[pipe, endless, nowhere, folder])));
    let said = told.recv_timeout(LONGEST).expect("it waits for what is no plain file");
    said_in_turn(
        &said,
        &[
            "a\\u{1b}[2J\\u{202e}pipe.handin is not",
            "not a plain file",
            "nowhere",
            "not a plain file",
        ],
    );
}

/// Rows that got into a store all the same: from an earlier version, or by somebody's hand.
#[test]
fn a_report_names_stored_rows_that_cannot_be_and_goes_on_with_the_others() {
    let class = Class::new();
    let folder = tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    gather(&mut store, &class.honest);
    let course = practical();
    let read = |store: &Store| CourseData::read(store, Some(&course.id), &|_| {}).unwrap();
    let sound = read(&store);
    assert_eq!((sound.sittings.len(), sound.left_out.len()), (4, 0));
    let learner = sound.sittings.iter().find(|s| s.session == 1).unwrap().learner.clone();
    let unhurt: Vec<_> = sound.sittings.iter().filter(|s| s.learner != learner).collect();
    let connection = Connection::open(folder.path().join(RESULTS)).unwrap();
    connection
        .execute_batch(
            "DROP TRIGGER trial_rows_stand; PRAGMA ignore_check_constraints = ON;
             UPDATE trial SET n_teeth = -1 WHERE session = 1 AND trial = 5;
             UPDATE trial SET n_teeth = 2000000000 WHERE session = 1 AND trial = 6;
             UPDATE trial SET x_de00 = 1e308 WHERE session = 1 AND trial IN
                (SELECT trial FROM trial WHERE session = 1 AND trial_kind = 'signal' AND trial > 6
                 ORDER BY trial LIMIT 1);
             UPDATE trial SET u_resid = '[' WHERE session = 1 AND trial = 40;
             UPDATE trial SET response_time = 9e999 WHERE session = 1 AND trial = 41;
             INSERT INTO answer (session, run, number, task, mode, level, seed_key, is_catch, sights,
                truth, answer, score, t_shown, t_answer, response_time, input_device)
             VALUES (1, 1, 0, 'blend', 'practice', 'l', 'l/1/0/0', 0, '[]', '{', '{}', 1e308, 0.0, 1.0,
                1.0, 'pointer');
             UPDATE session SET settings = '{' WHERE id = 2",
        )
        .unwrap();
    let data = read(&store);
    let said: Vec<String> = data.left_out.iter().map(ToString::to_string).collect();
    let trial = |rest: &str| format!("learner {learner}, session 1, {rest}");
    assert_eq!(said.len(), 7, "{said:#?}");
    assert!(said[0].starts_with("learner unknown, session 2: "), "{}", said[0]);
    assert_eq!(said[1], trial("trial 5: n_teeth is -1, not a whole number from 1 to 32"));
    assert!(said[2].starts_with(&trial("trial 6: n_teeth is 2000000000")), "{}", said[2]);
    assert!(said[3].contains("x_de00 is 1e308"), "{}", said[3]);
    assert!(said[4].starts_with(&trial("trial 40: u_resid")), "{}", said[4]);
    assert!(said[5].starts_with(&trial("trial 41: response_time is inf")), "{}", said[5]);
    assert!(said[6].starts_with(&trial("question 0: ")), "{}", said[6]);
    // The others are as they were.
    let left: Vec<_> = data.sittings.iter().filter(|s| s.learner != learner).collect();
    assert_eq!(left, unhurt);
    assert_eq!(data.sittings.iter().find(|s| s.session == 1).unwrap().shown(), 64 - 5);
    let options = CourseReportOptions {
        course: Some(&course),
        shared: false,
        pages: false,
        day: "2026-02-01",
    };
    let page = course_report(&data, &options, &|_| {});
    assert!(page.contains(&said[1]) && page.contains("gather the hand-in again"), "remedy");
    let shared = course_report(&data, &CourseReportOptions { shared: true, ..options }, &|_| {});
    assert!(!shared.contains(&learner), "a shared report names nobody");
    // Exports go on, and the learner can be forgotten whole, whatever the rows hold.
    let mut table = Vec::new();
    let rows = store.export_table(Table::Trials, Selection::default(), b',', &mut table).unwrap();
    assert_eq!(rows, 256);
    let gone = store.forget(&learner).unwrap();
    assert_eq!((gone.sessions, gone.trials, gone.answers), (2, 128, 1));
    assert_eq!(read(&store).left_out, []);
}

/// What one seat says about a smile decides nothing for the others.
#[test]
fn what_most_seats_saw_is_what_an_item_was() {
    let class = Class::new();
    // First in the store, and unlike everybody: residuals and exposures of its own.
    let odd = class.altered(
        "odd",
        "UPDATE trial SET u_resid = '[9,9,9,9,9,9,9,9,9,9]', t_mask = t_on + 9000, t_resp = t_on + 9001",
    );
    let folder = tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let files = [vec![odd], class.honest.clone()].concat();
    assert_eq!(gather(&mut store, &files).refused.len(), 0);
    let data = CourseData::read(&store, None, &|_| {}).unwrap();
    assert_eq!(data.forms.len(), 2);
    for form in &data.forms {
        assert!(form.items.iter().flatten().all(|item| item.exposure_s == 2.5));
        assert!(form.items.iter().flatten().all(|item| item.residuals_de00[0] != 9.0));
        assert_eq!(form.unlike, 64, "the odd one's");
    }
}

/// A smile as the program makes it is what its form says; the tolerances hold for real ones.
#[test]
fn smiles_made_for_a_form_are_believed() {
    let library = Library::shipped().unwrap();
    let form = Form::new(1, 1).unwrap();
    let truth = FormTruth::default();
    let signals = form.items.iter().filter(|item| item.signal.is_some());
    for item in signals.step_by(7) {
        let request = SmileRequest::exam(form.stimulus(0, item), form.seed);
        let smile = request.compose(&library).unwrap();
        let signal = item.signal.unwrap();
        let found = bake(&smile.planned.case, &library).unwrap().truth.unwrap();
        let at = Tooth::arch(10).iter().position(|t| *t == found.tooth).unwrap() as u32 + 1;
        let key = form.seed_key(0, item);
        let claim = ItemClaim {
            course: "c",
            form: Some("a"),
            session_seed: form.seed,
            planned: 21,
            trial: 3,
            block: 0,
            seed_key: &key,
            n_teeth: 10,
            target: at,
            tooth: Some(found.tooth),
            named: None,
            difference: Some(found.difference),
            residuals: 10,
        };
        assert_eq!(truth.item(&claim), Ok(item.number), "{signal:?} {:?}", found.difference);
    }
}

const FOLDER: &str = "SECOND_GLANCE_TEST_FOLDER";

/// What this process has written so far, bytes, and the most memory it had, KiB.
#[cfg(target_os = "linux")]
fn written_and_held() -> (u64, u64) {
    let number = |file: &str, key: &str| -> u64 {
        let text = fs::read_to_string(file).unwrap();
        let line = text.lines().find(|line| line.starts_with(key)).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    };
    (number("/proc/self/io", "wchar:"), number("/proc/self/status", "VmHWM:"))
}

#[cfg(target_os = "linux")]
#[test]
#[ignore = "a process of its own, started by the test below"]
fn gathers_and_says_what_it_cost() {
    let Some(folder) = std::env::var_os(FOLDER).map(PathBuf::from) else { return };
    let files = second_glance::results::hand_ins_below(&folder).unwrap();
    let mut store = Store::open(&folder.join("gathered")).unwrap();
    let before = written_and_held();
    let gathered = gather(&mut store, &files);
    let after = written_and_held();
    println!("taken: {}", gathered.taken.len());
    println!("written: {}", after.0 - before.0);
    println!("held: {}", after.1.saturating_sub(before.1));
}

/// Ten kilobytes that say they are 1.4 GB cost what ten kilobytes cost.
#[cfg(target_os = "linux")]
#[test]
fn hostile_files_cost_neither_disk_nor_memory() {
    let class = Class::new();
    containers(&class);
    class.altered(
        "view",
        "PRAGMA foreign_keys = OFF; DROP TABLE session; CREATE VIEW session AS
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS id FROM n",
    );
    let output = std::process::Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "results::hostile_hand_ins::gathers_and_says_what_it_cost"])
        .args(["--ignored", "--nocapture"])
        .env(FOLDER, class.dir.path())
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{text}");
    let number = |key: &str| -> u64 {
        let line = text.lines().find_map(|line| line.strip_prefix(key));
        line.unwrap_or_else(|| panic!("{text}")).trim().parse().unwrap()
    };
    assert_eq!(number("taken:"), 2);
    // Two honest hand-ins of 0.2 MB each go through a log into the store.
    let (written, held) = (number("written:"), number("held:"));
    println!("{written} bytes written, {held} KiB more held");
    assert!(written < 4 << 20, "{written} bytes written");
    assert!(held < 64 << 10, "{held} KiB held");
}
