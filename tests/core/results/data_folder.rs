//! One data folder under bad conditions: two programs at once, no room left, read-only.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::sessions::{info, rows, sqlite, store_rows};
use second_glance::results::{Store, StoreError};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::tempdir;

const FOLDER: &str = "SECOND_GLANCE_TEST_FOLDER";
/// Trials that each of two programs stores.
const EACH: usize = 60;

fn folder() -> Option<PathBuf> {
    std::env::var_os(FOLDER).map(PathBuf::from)
}

/// This program again, for one test that is a process of its own.
fn process(test: &str) -> String {
    let program = std::env::current_exe().unwrap();
    format!("'{}' --exact results::data_folder::{test} --ignored --nocapture", program.display())
}

fn shell(folder: &Path, script: &str) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", script]).env(FOLDER, folder);
    command
}

fn said(output: &Output) -> String {
    let text = [&output.stdout[..], &output.stderr[..]].concat();
    String::from_utf8_lossy(&text).into_owned()
}

/// One of two programs: opens the folder, which may not exist yet, and stores a session trial by
/// trial.
#[test]
#[ignore = "a process of its own, started by the test below"]
fn one_program() {
    let Some(folder) = folder() else { return };
    let store = Store::open(&folder).unwrap();
    let (plan, trials) = rows(EACH);
    let recording = store.begin(&info(&plan)).unwrap();
    store_rows(&store, recording, &trials);
    store.finish(recording, "later").unwrap();
}

#[test]
fn two_programs_on_one_folder_do_not_disturb_each_other() {
    let dir = tempdir().unwrap();
    let folder = dir.path().join("made/by/whoever/comes/first");
    let mut programs: Vec<_> = (0..2)
        .map(|_| shell(&folder, &process("one_program")).stdout(Stdio::null()).spawn().unwrap())
        .collect();
    // A third one reads meanwhile and never sees half a session's trial.
    let reader = loop {
        match Store::open(&folder) {
            Ok(store) => break store,
            Err(StoreError::Busy(_)) => {}
            Err(error) => panic!("{error}"),
        }
    };
    while programs.iter_mut().any(|program| program.try_wait().unwrap().is_none()) {
        for session in reader.sessions().unwrap() {
            let trials = reader.trials(session.session).unwrap();
            assert!(trials.iter().enumerate().all(|(i, t)| t.outcome.trial as usize == i));
        }
    }
    assert!(programs.into_iter().all(|mut program| program.wait().unwrap().success()));
    let sessions = reader.sessions().unwrap();
    assert_eq!(sessions.len(), 2);
    let (_, trials) = rows(EACH);
    for session in sessions {
        assert_eq!(session.finished_at.as_deref(), Some("later"));
        assert_eq!(reader.trials(session.session).unwrap(), trials);
    }
    let verdict: String =
        sqlite(&folder).query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
    assert_eq!(verdict, "ok");
}

/// Transactions that look before they write wait for each other, too.
#[test]
fn whole_sessions_stored_at_once_wait_for_each_other() {
    let dir = tempdir().unwrap();
    let (plan, trials) = rows(20);
    drop(Store::open(dir.path()).unwrap());
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                let store = Store::open(dir.path()).unwrap();
                for _ in 0..10 {
                    let recording = store.begin(&info(&plan)).unwrap();
                    store.append_all(recording, &trials).unwrap();
                }
            });
        }
    });
    let sessions = Store::open(dir.path()).unwrap().sessions().unwrap();
    assert_eq!(sessions.len(), 40);
    assert!(sessions.iter().all(|session| session.stored_trials == 20));
}

/// Stores trials until there is no room, and then that is what it says.
#[test]
#[ignore = "a process of its own, started by the tests below"]
fn until_it_is_full() {
    let Some(folder) = folder() else { return };
    let store = Store::open(&folder).unwrap();
    let (plan, trials) = rows(400);
    let recording = store.begin(&info(&plan)).unwrap();
    let mut stored = 0;
    let error = trials
        .iter()
        .find_map(|row| {
            let result = store.append(recording, row);
            stored += usize::from(result.is_ok());
            result.err()
        })
        .unwrap();
    println!("said: {error}");
    assert!(matches!(error, StoreError::Full(_) | StoreError::Device { .. }), "{error:?}");
    assert!(error.to_string().contains("every answer stored so far is kept"), "{error}");
    // What was answered is there, for this process and for the next.
    assert!(stored > 20, "{stored}");
    assert_eq!(store.trials(recording.session).unwrap(), trials[..stored]);
    std::mem::forget(store);
    println!("stored: {stored}");
}

/// How many trials the process stored, by what it printed.
fn stored(output: &Output) -> usize {
    let text = said(output);
    assert!(output.status.success(), "{text}");
    let number = text.lines().find_map(|line| line.strip_prefix("stored: "));
    number.unwrap_or_else(|| panic!("{text}")).parse().unwrap()
}

fn goes_on_after(folder: &Path, kept: usize) {
    let (_, trials) = rows(400);
    let store = Store::open(folder).unwrap();
    assert_eq!(store.trials(1).unwrap(), trials[..kept]);
    let recording = store.resume(1).unwrap();
    assert_eq!(recording.next_trial as usize, kept);
    store.append(recording, &trials[kept]).unwrap();
    assert_eq!(store.trials(1).unwrap(), trials[..=kept]);
}

/// No file may grow beyond 1 MiB, as a quota has it; no privilege is needed for that.
#[cfg(target_os = "linux")]
#[test]
fn a_quota_that_is_used_up_keeps_what_was_answered() {
    let dir = tempdir().unwrap();
    let script = format!("trap '' XFSZ; ulimit -f 2000; exec {}", process("until_it_is_full"));
    let kept = stored(&shell(dir.path(), &script).output().unwrap());
    goes_on_after(dir.path(), kept);
}

/// Nothing can be stored in a folder that may only be read, and that is what is said.
#[test]
#[ignore = "a process of its own, started by the test below"]
fn read_only() {
    let Some(folder) = folder() else { return };
    let error = Store::open(&folder).unwrap_err();
    assert!(matches!(error, StoreError::Unwritable(_)), "{error:?}");
    assert!(error.to_string().contains("make it writable or choose another folder"), "{error}");
    println!("said: {error}");
}

/// A small disk of its own in a mount namespace of its own, which ends with the processes in it:
/// full first, then with room again, then read-only.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "needs a mount namespace, which not every system grants; .ci/run asks for it"]
fn a_full_disk_and_a_read_only_one_keep_what_was_answered() {
    let dir = tempdir().unwrap();
    let disk = dir.path().join("disk");
    let copy = dir.path().join("copy");
    std::fs::create_dir(&disk).unwrap();
    std::fs::create_dir(&copy).unwrap();
    let script = format!(
        "set -e; mount -t tmpfs -o size=1500k tmpfs '{disk}'; {full}
         cp '{disk}'/* '{copy}'; mount -o remount,ro '{disk}'; {read_only}; cat '{disk}'/* > /dev/null",
        disk = disk.display(),
        copy = copy.display(),
        full = process("until_it_is_full"),
        read_only = process("read_only"),
    );
    let quoted = script.replace('\'', r"'\''");
    let output = shell(&disk, &format!("unshare -rm sh -c '{quoted}'")).output().unwrap();
    println!("{}", said(&output));
    let kept = stored(&output);
    assert_eq!(said(&output).matches("said: ").count(), 2);
    // With room again, what was copied from the full disk goes on where it stopped.
    goes_on_after(&copy, kept);
}
