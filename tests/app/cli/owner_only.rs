//! What commands write about learners and cases can be read by its owner alone, whatever the system
//! would permit for new files.

use super::program::{open_handed, run};
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

/// Every file and folder below a folder, and itself.
fn below(top: PathBuf) -> Vec<PathBuf> {
    let mut found = vec![top];
    let mut next = 0;
    while next < found.len() {
        if found[next].is_dir() {
            let entries = fs::read_dir(&found[next]).unwrap();
            found.extend(entries.map(|entry| entry.unwrap().path()));
        }
        next += 1;
    }
    found
}

/// Its rights.
fn mode(path: &Path) -> u32 {
    fs::metadata(path).unwrap().permissions().mode() & 0o777
}

#[test]
fn rosters_stores_reports_exports_and_hand_ins_are_their_owners() {
    let home = tempfile::tempdir().unwrap();
    let home = home.path();
    let does = |arguments: &[&str]| {
        let ran = run(open_handed(home), arguments);
        assert_eq!(ran.code, Some(0), "{arguments:?}: {ran:?}");
    };
    does(&["roster", "3"]);
    does(&["course", "simulate", "--learners", "2", "--out", "simulated"]);
    let data = ["--data-dir", "simulated/gathered"];
    let with_data = |arguments: &[&str]| does(&[arguments, &data].concat());
    with_data(&["report", "--course", "student-practical"]);
    with_data(&["report", "--course", "student-practical", "--shared", "--out", "shared.html"]);
    with_data(&["export", "csv", "trials.csv"]);
    with_data(&["export", "parquet", "trials.parquet"]);
    with_data(&["export", "dictionary", "dictionary.json"]);
    with_data(&["export", "bids", "bids"]);
    with_data(&["export", "psych-ds", "psych"]);
    let hand_ins = fs::read_dir(home.join("simulated/hand-ins")).unwrap();
    let files: Vec<PathBuf> = hand_ins.map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), 2, "{files:?}");
    let learner = files[0].file_stem().unwrap().to_str().unwrap();
    with_data(&["hand-in", learner, "student-practical", "--out", "handed/in"]);
    does(&["gather", "handed", "--data-dir", "second/store"]);
    fs::write(home.join("case.ron"), include_str!("../../core/fixtures/cases/dark-central.ron"))
        .unwrap();
    does(&["case", "case.ron", "--out", "dark-central.ron"]);

    let written = [
        "roster.csv",
        "simulated",
        "report.html",
        "shared.html",
        "trials.csv",
        "trials.parquet",
        "dictionary.json",
        "bids",
        "psych",
        "handed",
        "second",
        "dark-central.ron",
    ];
    let all: Vec<PathBuf> = written.iter().flat_map(|name| below(home.join(name))).collect();
    assert!(all.len() > 30, "{all:?}");
    for path in all {
        let wanted = if path.is_dir() { 0o700 } else { 0o600 };
        assert_eq!(mode(&path), wanted, "{} has {:o}", path.display(), mode(&path));
    }
    // The mask was in force: what holds nothing private has the rights that the system gives.
    let probe = std::process::Command::new("sh")
        .args(["-c", "umask 000; : > probe"])
        .current_dir(home)
        .status()
        .unwrap();
    assert!(probe.success());
    assert_eq!(mode(&home.join("probe")), 0o666);
}
