//! Measured spectra on their way to a material.

mod faulty_files;
mod own_ceramics;

use second_glance::intake::{Measurement, read};
use second_glance::level::LoadError;
use std::fmt::Write;
use std::path::Path;

const HEAD: &str = "# class: own-disc\n# thickness_mm: 0.8\n# white: 0.88\n# black: 0.03\n";

fn spectrum_file(head: &str, over: impl Fn(f64) -> (f64, f64), step_nm: f64) -> String {
    let mut text = format!("{head}wavelength_nm,over_white,over_black\n");
    let rows = (300.0 / step_nm).round() as usize;
    for i in 0..=rows {
        let nm = 400.0 + step_nm * i as f64;
        let (white, black) = over(nm);
        writeln!(text, "{nm},{white:.9},{black:.9}").unwrap();
    }
    text
}

fn measured(text: &str) -> Measurement {
    read(Path::new("disc.csv"), text.as_bytes()).unwrap_or_else(|e| panic!("{e}")).0
}

fn faults(text: &[u8]) -> String {
    let error: LoadError = read(Path::new("disc.csv"), text).unwrap_err();
    error.to_string()
}
