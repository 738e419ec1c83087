//! Files of spectra that are faulty: each fault is named with line and column.

use super::{HEAD, faults, spectrum_file};
use second_glance::intake::{MAX_BYTES, read};
use std::path::Path;

fn good() -> String {
    spectrum_file(HEAD, |nm| (0.5 + nm / 10_000.0, 0.3), 10.0)
}

#[test]
fn a_good_file_has_no_faults() {
    let (measurement, warnings) = read(Path::new("disc.csv"), good().as_bytes()).unwrap();
    assert_eq!(warnings, []);
    assert_eq!((measurement.first_nm, measurement.step_nm), (400.0, 10.0));
    assert_eq!(measurement.header.thickness_mm, 0.8);
    // Other line ends, a mark in front and quotes are no faults.
    let other = format!("\u{feff}{}", good().replace('\n', "\r\n"))
        .replace("wavelength_nm", "\"wavelength_nm\"");
    assert_eq!(read(Path::new("disc.csv"), other.as_bytes()).unwrap().0, measurement);
}

/// A file, and parts of what is said of it.
type Fault = (String, Vec<&'static str>);

fn faults_of_the_head(good: &str) -> Vec<Fault> {
    vec![
        (
            good.replace("# thickness_mm: 0.8\n", ""),
            vec!["error: the thickness of the piece is missing", "`# thickness_mm: 1.02`"],
        ),
        (
            good.replace("# thickness_mm: 0.8", "# thicknes_mm: 0.8"),
            vec!["disc.csv:2:3: warning: `thicknes_mm`", "did you mean `thickness_mm`?"],
        ),
        (
            good.replace("# thickness_mm: 0.8", "# thickness_mm: 800"),
            vec!["disc.csv:2:17: error: thickness_mm is 800, outside 0.1 to 10", "then 0.8"],
        ),
        (
            good.replace("# white: 0.88\n", "# white: 88\n"),
            vec!["disc.csv:3:10: error: white is 88, outside 0 to 1", "write 0.88"],
        ),
        (
            good.replace("# white: 0.88\n", ""),
            vec!["error: the reflectance of the white backing itself is missing"],
        ),
        (
            good.replace("# black: 0.03\n", "# black: 0.9\n"),
            vec!["error: the white backing reflects 0.88 and the black one 0.9 at 400 nm"],
        ),
        (
            good.replace("# class: own-disc", "# class: Own Disc"),
            vec!["disc.csv:1:10: error: class is `Own Disc`"],
        ),
    ]
}

fn faults_of_the_columns(good: &str) -> Vec<Fault> {
    vec![
        (String::new(), vec!["disc.csv:1:1: error: the file is empty"]),
        (
            good.replace(",over_black", "")
                .lines()
                .map(|l| {
                    if l.starts_with('#') || l.starts_with('w') {
                        format!("{l}\n")
                    } else {
                        format!("{}\n", &l[..l.rfind(',').unwrap()])
                    }
                })
                .collect(),
            vec!["disc.csv:5:1: error: only one backing: the piece over black is missing"],
        ),
        (
            good.replace(',', ";"),
            vec!["disc.csv:5:14: error: the columns are separated by semicolons"],
        ),
        (good.replace(',', "\t"), vec!["error: the columns are separated by tabs"]),
        (
            good.replace("wavelength_nm,over_white,over_black\n", ""),
            vec!["disc.csv:5:1: error: the line of column names is missing"],
        ),
        (
            good.replace("over_white,over_black", "over_black,over_white"),
            vec!["error: the piece reflects more over black than over white", "exchanged"],
        ),
        (
            good.replace("over_black", "over_blak"),
            vec![
                "disc.csv:5:26: error: column `over_blak` is unknown",
                "did you mean `over_black`?",
            ],
        ),
        ("# class: own-disc\n".to_owned(), vec!["error: there are only comment lines"]),
    ]
}

fn faults_of_the_values(good: &str) -> Vec<Fault> {
    vec![
        (
            good.replace("500,0.550000000,0.300000000\n", ""),
            vec!["disc.csv:16:1: error: a gap: 490 nm is followed by 510 nm"],
        ),
        (
            good.replace("0.5", "55.").replace("0.300000000", "30.0"),
            vec![
                "disc.csv:6:5: error: over_white is 55.4 at 400 nm: this looks like percent",
                "divide by 100",
            ],
        ),
        (
            good.replace("500,0.550000000", "480,0.550000000"),
            vec!["disc.csv:16:1: error: 480 nm follows 490 nm"],
        ),
        (
            good.replace("500,0.550000000", "500,NaN"),
            vec!["disc.csv:16:5: error: over_white is `NaN`, not a finite number"],
        ),
        (
            good.replace("500,0.550000000", "500,").replace("510,", "510, x"),
            vec![
                "disc.csv:16:5: error: over_white is empty",
                "disc.csv:17:6: error: over_white is `x0.551000000`, which is no number",
            ],
        ),
        (
            good.replace("500,0.550000000,0.300000000", "500,0,55,0,3"),
            vec!["disc.csv:16:1: error: the row has 5 values, but there are 3 columns"],
        ),
        (
            good.replace("700,0.570000000,0.300000000\n", ""),
            vec!["disc.csv:35:1: error: the spectrum ends at 690 nm"],
        ),
        (
            good.lines()
                .filter(|l| {
                    !l.starts_with(|c: char| c.is_ascii_digit())
                        || l.starts_with("400")
                        || l.starts_with("500")
                        || l.starts_with("600")
                        || l.starts_with("700")
                })
                .map(|l| format!("{l}\n"))
                .collect(),
            vec!["error: the step is 100 nm"],
        ),
        (
            good.replace("500,0.550000000", "500,1.9"),
            vec!["disc.csv:16:5: error: over_white is 1.9 at 500 nm, above 1"],
        ),
    ]
}

#[test]
fn every_fault_is_named_with_line_and_column() {
    let good = good();
    let cases =
        [faults_of_the_head(&good), faults_of_the_columns(&good), faults_of_the_values(&good)];
    for (text, expected) in cases.concat() {
        let shown = faults(text.as_bytes());
        for part in expected {
            assert!(shown.contains(part), "`{part}` is not in:\n{shown}");
        }
    }
}

#[test]
fn all_faults_are_listed_up_to_a_limit() {
    // Two faults of different kinds are both named.
    let two = good().replace("# thickness_mm: 0.8\n", "").replace("500,0.550000000", "500,NaN");
    let shown = faults(two.as_bytes());
    assert!(shown.contains("thickness") && shown.contains("NaN"), "{shown}");
    let many = good().replace(",0.300000000", ",-");
    let shown = faults(many.as_bytes());
    assert_eq!(shown.matches("error: over_black is `-`").count(), 20, "{shown}");
    assert!(shown.contains("11 more faults are not listed"), "{shown}");
}

#[test]
fn noise_is_refused_quickly() {
    // A linear congruential generator (constants from memory, Numerical Recipes).
    let mut state = 1_u32;
    let mut byte = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    let bytes: Vec<u8> = (0..10 * MAX_BYTES).map(|_| byte()).collect();
    let shown = faults(&bytes);
    assert!(shown.contains("larger than 1048576 bytes"), "{shown}");
    assert!(shown.contains("disc.csv:1:") && shown.contains("starts no character"), "{shown}");
    // Printable noise is text, and no spectrum either.
    let text: Vec<u8> = bytes.iter().map(|b| b' ' + b % 95).collect();
    let shown = faults(&text);
    assert!(shown.lines().count() < 60, "{} lines", shown.lines().count());
    assert!(shown.lines().all(|line| line.chars().count() < 300), "{shown}");
    let lines: Vec<u8> = bytes.iter().map(|b| if *b < 8 { b'\n' } else { b' ' + b % 95 }).collect();
    assert!(faults(&lines).lines().count() < 60);
}

#[test]
fn nothing_false_is_said_of_a_backing_that_is_not_there() {
    let both = good().replace("# white: 0.88\n", "").replace("# black: 0.03\n", "");
    let shown = faults(both.as_bytes());
    for part in ["the white backing itself is missing", "the black backing itself is missing"] {
        assert!(shown.contains(part), "{shown}");
    }
    assert!(!shown.contains("0.5") && !shown.contains("must reflect more"), "{shown}");
    let unusable = faults(good().replace("# white: 0.88", "# white: 88").as_bytes());
    assert!(!unusable.contains("must reflect more"), "{unusable}");
}

#[test]
fn a_wide_table_is_one_fault_that_says_how_to_turn_it() {
    let nm: Vec<String> = (0..31).map(|i| format!("{}", 400 + 10 * i)).collect();
    let named = nm.iter().map(|nm| format!("R{nm} nm")).collect::<Vec<_>>().join(",");
    for columns in [format!("sample,{}", nm.join(",")), nm.join(","), format!("name,{named}")] {
        let row = ["0.5"; 31].join(",");
        let shown = faults(format!("{HEAD}{columns}\ndisc,{row}\n").as_bytes());
        assert_eq!(shown.matches("error:").count(), 1, "{shown}");
        assert!(shown.contains("disc.csv:5:1: error: the table is wide: 31 of its"), "{shown}");
        assert!(shown.contains("from 400 to 700 nm") && shown.contains("transpose"), "{shown}");
    }
    // Many columns of other names are one fault, too.
    let many = good().replace("over_black\n", "over_black,a,b,c,d,e,f\n");
    let shown = faults(many.as_bytes());
    assert!(shown.contains("6 columns are unknown: `a`, `b`, `c` and 3 more"), "{shown}");
}

#[test]
fn xml_is_called_what_it_is() {
    // The root of a file of the colour exchange format (ISO 17972-1) is `CxF`.
    for (text, said) in [
        (
            "<?xml version=\"1.0\"?>\n<!-- a -->\n<cc:CxF xmlns:cc=\"x\"><a/></cc:CxF>",
            "(ISO 17972)",
        ),
        ("<CxF>", "the file is CxF"),
        ("<!DOCTYPE html>\n<html>", "XML that holds `html`"),
        ("<", "the file is XML"),
    ] {
        let shown = faults(text.as_bytes());
        assert!(shown.contains(said) && shown.contains("one line a wavelength"), "{shown}");
        assert_eq!(shown.matches("error:").count(), 1, "{shown}");
        assert!(!shown.contains("separated"), "{shown}");
    }
}
