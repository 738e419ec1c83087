//! Archives, manifests and files that are not what a hand-in is.

use super::{
    Class, Entry, LONGEST, MANIFEST, RESULTS, archive, named, of_kind, plain, said_in_turn,
};
use second_glance::printable::path;
use second_glance::results::{LATEST_VERSION, Manifest};
use std::path::PathBuf;
use std::sync::mpsc;
use std::{fs, thread};

const OTHER: &str = "other than plain files";
const MORE: &str = "more than a manifest and results";

/// Hostile files, and what is said of each.
struct Containers<'a> {
    class: &'a Class,
    files: Vec<(PathBuf, &'static str)>,
}

impl Containers<'_> {
    fn first(&self) -> Entry {
        plain(MANIFEST, &serde_json::to_vec(&self.class.manifest).unwrap())
    }

    fn results(&self) -> Entry {
        plain(RESULTS, &self.class.results)
    }

    fn add(&mut self, name: &str, bytes: &[u8], said: &'static str) {
        self.files.push((self.class.written(name, bytes), said));
    }

    /// Adds an archive of these entries.
    fn hold(&mut self, name: &str, entries: &[Entry], said: &'static str) {
        self.add(name, &archive(entries), said);
    }
}

/// Containers that say they hold more, less, or something else.
pub fn containers(class: &Class) -> Vec<(PathBuf, &'static str)> {
    let mut made = Containers { class, files: Vec::new() };
    made.of_other_kinds();
    made.of_other_sizes_and_names();
    made.in_other_order();
    made.of_other_bytes();
    made.files
}

impl Containers<'_> {
    fn of_other_kinds(&mut self) {
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
        self.hold("sparse", &[self.first(), (sparse, Vec::new())], OTHER);
        // Sizes and names of an extended header overrule what follows.
        let pax = b"19 size=1400000000\n28 path=../../results.sqlite3\n";
        self.hold(
            "pax",
            &[of_kind("p", tar::EntryType::XHeader, pax), self.first(), self.results()],
            OTHER,
        );
        self.hold(
            "pax later",
            &[self.first(), of_kind("p", tar::EntryType::XHeader, pax), self.results()],
            OTHER,
        );
        self.hold(
            "global",
            &[of_kind("p", tar::EntryType::XGlobalHeader, pax), self.first()],
            OTHER,
        );
        self.hold(
            "long name",
            &[self.first(), of_kind("n", tar::EntryType::GNULongName, b"x"), self.results()],
            OTHER,
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
            self.hold(name, &[self.first(), of_kind(RESULTS, kind, b"")], OTHER);
        }
    }

    /// Sizes that are not true, and names that lead elsewhere.
    fn of_other_sizes_and_names(&mut self) {
        let mut large = plain(RESULTS, b"");
        large.0.set_size(1_400_000_000);
        large.0.set_cksum();
        self.hold("said large", &[self.first(), large], "1400000000 bytes, more than");
        // Sizes beyond eight octal digits are written in base 256.
        let mut huge = plain(RESULTS, b"");
        huge.0.set_size(u64::MAX - 1);
        huge.0.set_cksum();
        self.hold("said huge", &[self.first(), huge], "bytes, more than");
        let mut odd = plain(RESULTS, b"");
        odd.0.as_mut_bytes()[124..136].copy_from_slice(b"-0000000001\0");
        odd.0.set_cksum();
        self.hold("said odd", &[self.first(), odd], "is no number");
        let absolute = named(b"/tmp/results.sqlite3", &self.class.results);
        self.hold("absolute", &[self.first(), absolute], "it holds \"/tmp/results.sqlite3\"");
        let above = named(b"../results.sqlite3", &self.class.results);
        self.hold("above", &[self.first(), above], "it holds \"../results.sqlite3\"");
        let coloured = named(b"a\x1b[31mb", b"");
        self.hold("coloured", &[self.first(), coloured], "it holds \"a\\u{1b}[31mb\"");
    }

    fn in_other_order(&mut self) {
        self.hold("reversed", &[self.results(), self.first()], "where manifest.json should be");
        self.hold("twice", &[self.first(), self.results(), self.results()], MORE);
        self.hold(
            "manifest twice",
            &[self.first(), self.first(), self.results()],
            "where results.sqlite3 should be",
        );
        self.hold(
            "with a script",
            &[self.first(), self.results(), plain("run.sh", b"rm -r x")],
            MORE,
        );
    }

    /// What is cut off, goes on or is no archive.
    fn of_other_bytes(&mut self) {
        let whole = archive(&[self.first(), self.results()]);
        self.add("cut", &whole[..whole.len() / 2], "its results break off");
        self.add("cut early", &whole[..700], "does not begin with a manifest");
        self.add("cut after the manifest", &whole[..1024], "holds no results");
        let mut tail = whole.clone();
        tail.extend_from_slice(b"tail");
        self.add("tail", &tail, MORE);
        let mut long = whole.clone();
        long.resize(long.len() + (1 << 20), 0);
        self.add("long tail", &long, MORE);
        let mut sum = whole.clone();
        sum[148] ^= 1;
        self.add("header's sum", &sum, "it is no archive");
        self.add("empty", b"", "it is empty");
        self.add("zeros", &[0; 4096], "it is empty");
        self.hold(
            "thick manifest",
            &[plain(MANIFEST, &[b' '; 70_000])],
            "does not begin with a manifest",
        );
        let deep = "[".repeat(60_000);
        self.hold("deep manifest", &[plain(MANIFEST, deep.as_bytes())], "manifest cannot be read");
    }
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
