//! Who reads a command's lines may go away before the last: the command ends as it would have, and
//! without a word.

use super::program::{program, run};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::Stdio;

/// More than a pipe holds unread, so that the program is still writing when its reader goes away:
/// 64 KiB, pipe(7).
const PIPE: usize = 65_536;

/// Runs a command, reads so many lines of what it says, and closes the pipe; its exit code and what
/// it complained of.
fn cut_off(home: &Path, arguments: &[&str], lines: usize) -> (Option<i32>, String) {
    let mut running = program(home)
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::with_capacity(256, running.stdout.take().unwrap());
    for _ in 0..lines {
        let mut line = String::new();
        assert!(said.read_line(&mut line).unwrap() > 0, "nothing was said");
    }
    drop(said);
    let ended = running.wait_with_output().unwrap();
    (ended.status.code(), String::from_utf8(ended.stderr).unwrap())
}

#[test]
fn checking_ends_quietly_when_its_reader_goes_away() {
    let home = tempfile::tempdir().unwrap();
    let levels = Path::new(env!("CARGO_MANIFEST_DIR")).join("levels/first-look.ron");
    let level = levels.to_str().unwrap();
    for lines in [0, 1] {
        assert_eq!(cut_off(home.path(), &["check", level], lines), (Some(0), String::new()));
    }
    // Faults that fill the pipe more than once over: the exit code still says that there are some.
    fs::create_dir(home.path().join("faulty")).unwrap();
    for number in 0..400 {
        let file = home.path().join(format!("faulty/level-{number:04}.ron"));
        fs::write(file, "Level(format: 1, id: \"x\", title: \"\", teaches: \"\")").unwrap();
    }
    let whole = run(program(home.path()), &["check", "faulty"]);
    assert_eq!(whole.code, Some(1));
    assert!(whole.said.len() > 2 * PIPE, "{} bytes", whole.said.len());
    assert_eq!(cut_off(home.path(), &["check", "faulty"], 1), (Some(1), String::new()));
}

/// Reflectance of an invented disc over white and black, rising with the wavelength.
fn spectra() -> String {
    let mut text = "# class: own-disc\n# thickness_mm: 0.8\n# white: 0.88\n# black: 0.03\n\
                    wavelength_nm,over_white,over_black\n"
        .to_owned();
    for nm in (400..=700).step_by(10) {
        let over_white = 0.5 + f64::from(nm) / 10_000.0;
        text.push_str(&format!("{nm},{over_white},0.3\n"));
    }
    text
}

#[test]
fn importing_writes_its_file_though_its_reader_went_away() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("own.csv"), spectra()).unwrap();
    for (lines, out) in [(0, "none.ron"), (1, "one.ron")] {
        let arguments = ["import-ceramic", "own.csv", "--out", out];
        assert_eq!(cut_off(home.path(), &arguments, lines), (Some(0), String::new()));
        let text = fs::read_to_string(home.path().join(out)).unwrap();
        assert!(text.contains("MeasuredCeramics("), "{text}");
    }
}
