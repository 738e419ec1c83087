//! What hostile files cost: neither disk nor memory.

use super::containers::containers;
use super::{Class, gather};
use second_glance::results::Store;
use std::fs;
use std::path::PathBuf;

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
        .args(["--exact", "results::hostile_hand_ins::cost::gathers_and_says_what_it_cost"])
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
