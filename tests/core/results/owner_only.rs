//! What holds answers can be read by its owner alone, whatever the system would permit for new
//! files.

#![cfg(unix)]

use crate::shared::sessions::{exam, info, rows, store_rows};
use second_glance::results::{
    FILE_NAME, HandInRequest, Selection, Store, Table, create_private, write_private,
};
use std::collections::BTreeMap;
use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

const FOLDER: &str = "SECOND_GLANCE_OWNER_FOLDER";

/// Every file and folder below a folder with its rights, by path.
fn rights_below(top: &Path) -> BTreeMap<PathBuf, u32> {
    let mut found = BTreeMap::new();
    let mut folders = vec![top.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let about = fs::symlink_metadata(&path).unwrap();
            found.insert(path.clone(), about.permissions().mode() & 0o777);
            if about.is_dir() {
                folders.push(path);
            }
        }
    }
    found
}

/// Files are 0600 and folders 0700.
fn are_the_owners(rights: &BTreeMap<PathBuf, u32>) {
    for (path, mode) in rights {
        let wanted = if path.is_dir() { 0o700 } else { 0o600 };
        assert_eq!(*mode, wanted, "{} has {mode:o}", path.display());
    }
}

/// Writes whatever the core writes, with a mask that takes no rights away.
#[test]
#[ignore = "a process of its own, started by the test below"]
fn writes_everything() {
    let Some(folder) = std::env::var_os(FOLDER).map(PathBuf::from) else { return };
    fs::write(folder.join("probe"), "").unwrap();
    let probe = fs::metadata(folder.join("probe")).unwrap().permissions().mode() & 0o777;
    assert_eq!(probe, 0o666, "the mask is not in force, and nothing would be tested");
    let kept = folder.join("kept");
    let store = Store::open(&kept.join("results")).unwrap();
    let (plan, trials) = rows(30);
    let learner = "00aa11bb22cc";
    let recording = store.begin(&exam(learner, "course", "pre")).unwrap();
    store_rows(&store, recording, &trials);
    store.finish(recording, "later").unwrap();
    let recording = store.begin(&info(&plan)).unwrap();
    store_rows(&store, recording, &trials);
    let request = HandInRequest {
        learner,
        course: "course",
        day: "2026-03-01",
        build: "test",
        with_practice: false,
    };
    let hand_in = kept.join("one.handin");
    store.hand_in(&request, &hand_in).unwrap();
    store.export_bids(&kept.join("bids"), None, "test").unwrap();
    store.export_psych_ds(&kept.join("psych"), None, "test").unwrap();
    let (all, csv) = (Selection::default(), create_private(&kept.join("trials.csv")).unwrap());
    store.export_table(Table::Trials, all, b',', csv).unwrap();
    let parquet = create_private(&kept.join("trials.parquet")).unwrap();
    store.export_parquet(Table::Trials, all, parquet).unwrap();
    write_private(&kept.join("report.html"), b"report").unwrap();
    let rights = rights_below(&kept);
    // The store is open: what it has not yet put in its place lies beside it.
    for end in ["", "-wal", "-shm"] {
        let path = kept.join("results").join(format!("{FILE_NAME}{end}"));
        assert!(rights.contains_key(&path), "{} is missing: {rights:?}", path.display());
    }
    assert!(rights.len() > 15, "{rights:?}");
    are_the_owners(&rights);
    let gathered = kept.join("gathered");
    let mut gather = Store::open(&gathered).unwrap();
    let truth = second_glance::course::FormTruth::new(Vec::new());
    gather.gather(&[hand_in], None, &truth, &mut |_| {}).unwrap();
    are_the_owners(&rights_below(&kept));
    println!("wrote {}", rights.len());
}

#[test]
fn nobody_else_may_read_what_was_written_under_a_mask_that_permits_everything() {
    let dir = tempfile::tempdir().unwrap();
    let script = "umask 000; exec \"$0\" \"$@\"";
    let output = Command::new("sh")
        .args(["-c", script])
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "results::owner_only::writes_everything", "--ignored", "--nocapture"])
        .env(FOLDER, dir.path())
        .output()
        .unwrap();
    let said =
        String::from_utf8_lossy(&[&output.stdout[..], &output.stderr[..]].concat()).into_owned();
    assert!(output.status.success() && said.contains("wrote "), "{said}");
}

#[test]
fn what_a_run_that_broke_off_left_open_to_others_is_closed_to_them_on_opening() {
    let dir = tempfile::tempdir().unwrap();
    let (first, copy) = (dir.path().join("first"), dir.path().join("copy"));
    let store = Store::open(&first).unwrap();
    let (plan, trials) = rows(20);
    let recording = store.begin(&info(&plan)).unwrap();
    store_rows(&store, recording, &trials);
    // As after a crash of an earlier time: all three files are there, and everyone may read them.
    fs::create_dir(&copy).unwrap();
    for end in ["", "-wal", "-shm"] {
        let name = format!("{FILE_NAME}{end}");
        fs::copy(first.join(&name), copy.join(&name)).unwrap();
        fs::set_permissions(copy.join(&name), Permissions::from_mode(0o644)).unwrap();
    }
    let again = Store::open(&copy).unwrap();
    assert_eq!(again.trials(recording.session).unwrap(), trials);
    for end in ["", "-wal", "-shm"] {
        let path = copy.join(format!("{FILE_NAME}{end}"));
        let mode = fs::metadata(&path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600, "{} has {mode:o}", path.display());
    }
}
