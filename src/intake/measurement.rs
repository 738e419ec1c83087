//! One spectrum file: a piece of known thickness over two backings.

use super::cells::{COLUMNS, Columns, cells, number};
use super::faults::{Faults, Place};
use super::header::{Header, HeaderLines, short};
use super::other_formats::other_format;
use crate::level::{Diagnostic, LoadError};
use std::path::{Path, PathBuf};

/// Largest spectrum file, bytes: 400 wavelengths take 20,000.
pub const MAX_BYTES: usize = 1 << 20;

const MUST_COVER_NM: (f64, f64) = (400.0, 700.0);
const COARSEST_NM: f64 = 20.0;
/// Wavelengths that are no slip of the unit.
const WAVELENGTHS_NM: std::ops::RangeInclusive<f64> = 200.0..=2500.0;
/// How far a step may be from the others, as a share of it.
const STEP_TOLERANCE: f64 = 0.02;
/// Above this a reflectance is no fraction with an error in it.
const HIGHEST: f64 = 1.2;
/// Below this a reflectance is no 0 with an error in it.
const LOWEST: f64 = -0.01;

/// A piece over two backings, as its file gives it: at least four rows at a regular step.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// The file.
    pub file: PathBuf,
    /// What its comment lines say.
    pub header: Header,
    /// Wavelength of the first row, nm.
    pub first_nm: f64,
    /// Distance between rows, nm.
    pub step_nm: f64,
    /// Reflectance over white and over black, row by row, specular as the file has it.
    pub over: [Vec<f64>; 2],
    /// Reflectance of the white and the black backing, row by row.
    pub backings: [Vec<f64>; 2],
    /// Line in the file of each row.
    pub lines: Vec<usize>,
}

/// A row whose numbers are all there.
struct Row {
    line: usize,
    /// Of each column, in the order of [`COLUMNS`].
    columns: [usize; 5],
    values: [f64; 5],
}

/// Reads a spectrum file from its bytes, of which at most [`MAX_BYTES`] are looked at.
///
/// # Errors
/// Every fault, up to twenty, with line and column.
pub fn read(file: &Path, bytes: &[u8]) -> Result<(Measurement, Vec<Diagnostic>), LoadError> {
    let mut faults = Faults::new(file);
    if bytes.len() > MAX_BYTES {
        faults.error(
            None,
            format!("the file is larger than {MAX_BYTES} bytes"),
            "no spectrum is that large: check what the file is",
        );
    }
    let bytes = &bytes[..bytes.len().min(MAX_BYTES)];
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let valid = std::str::from_utf8(&bytes[..error.valid_up_to()]).unwrap_or_default();
            // A character cut in two by the limit is none of the file's faults.
            if error.error_len().is_some() {
                let line = valid.matches('\n').count() + 1;
                let column = valid.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
                let byte = bytes[error.valid_up_to()];
                faults.error(
                    Some((line, column)),
                    format!("this is not text: byte 0x{byte:02x} starts no character"),
                    "save the spectrum as text with commas, in UTF-8",
                );
                return faults.finish(None);
            }
            valid
        }
    };
    let measurement = parse(file, text.trim_start_matches('\u{feff}'), &mut faults);
    faults.finish(measurement)
}

fn parse(file: &Path, text: &str, faults: &mut Faults) -> Option<Measurement> {
    if text.trim().is_empty() {
        faults.error(Some((1, 1)), "the file is empty", "give comment lines, columns and rows");
        return None;
    }
    if let Some((what, help)) = other_format(text) {
        faults.error(Some((1, 1)), what, help);
        return None;
    }
    let mut header = HeaderLines::default();
    let mut columns: Option<Option<Columns>> = None;
    let mut constant = [None; 2];
    let mut rows: Vec<Row> = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let number = index + 1;
        let trimmed = line.trim();
        if trimmed.is_empty() {
            continue;
        }
        if trimmed.starts_with('#') {
            header.take(line, number, faults);
            continue;
        }
        match &columns {
            None => {
                columns = Some(Columns::read(line, number, faults));
                constant = header.backings(faults);
            }
            Some(None) => break,
            Some(Some(columns)) => rows.extend(row(line, number, columns, constant, faults)),
        }
    }
    let heading = header.finish(faults);
    match columns {
        None => {
            let help = "write `wavelength_nm,over_white,over_black` and the rows below it";
            faults.error(None, "there are only comment lines", help);
            return None;
        }
        Some(None) => return None,
        Some(Some(ref columns)) => {
            for (i, name) in ["white", "black"].into_iter().enumerate() {
                if columns.at[3 + i].is_none() && !header.gives(name) {
                    faults.error(
                        Some((1, 1)),
                        format!("the reflectance of the {name} backing itself is missing"),
                        format!(
                            "write a line such as `# {name}: {}`, or add a column `{name}`",
                            ["0.88", "0.03"][i]
                        ),
                    );
                }
            }
        }
    }
    check_wavelengths(&rows, faults);
    let known = |i: usize| {
        let column = columns.as_ref().and_then(Option::as_ref).and_then(|c| c.at[3 + i]);
        column.is_some() || constant[i].is_some()
    };
    check_values(&rows, [known(0), known(1)], faults);
    let header = heading?;
    if faults.any() || rows.len() < 4 {
        return None;
    }
    let column = |i: usize| rows.iter().map(|row| row.values[i]).collect::<Vec<f64>>();
    let (first, last) = (rows[0].values[0], rows[rows.len() - 1].values[0]);
    Some(Measurement {
        file: file.to_owned(),
        header,
        first_nm: first,
        step_nm: (last - first) / (rows.len() - 1) as f64,
        over: [
            column(1).into_iter().map(|v| v.max(0.0)).collect(),
            column(2).into_iter().map(|v| v.max(0.0)).collect(),
        ],
        backings: [column(3), column(4)],
        lines: rows.iter().map(|row| row.line).collect(),
    })
}

fn row(
    line: &str,
    line_number: usize,
    columns: &Columns,
    constant: [Option<f64>; 2],
    faults: &mut Faults,
) -> Option<Row> {
    let cells = cells(line);
    if cells.len() != columns.count {
        let (found, wanted) = (cells.len(), columns.count);
        let help = if line.contains(';') || line.contains('\t') {
            "separate columns by commas, and write decimals with a point"
        } else if found > wanted {
            "write decimals with a point, and nothing after the last column"
        } else {
            "write one value for every column"
        };
        let message = format!("the row has {found} values, but there are {wanted} columns");
        faults.error(Some((line_number, 1)), message, help);
        return None;
    }
    let mut values = [Some(0.0); 5];
    let mut places = [1; 5];
    for (i, name) in COLUMNS.into_iter().enumerate() {
        values[i] = match columns.at[i] {
            Some(at) => {
                places[i] = cells[at].column;
                number(&cells[at], name, line_number, faults)
            }
            // A missing backing was said once; 0.5 keeps the rows in order.
            None => Some(constant[i - 3].unwrap_or(0.5)),
        };
    }
    let [Some(nm), Some(w), Some(b), Some(white), Some(black)] = values else { return None };
    Some(Row { line: line_number, columns: places, values: [nm, w, b, white, black] })
}

impl Row {
    fn place(&self, column: usize) -> Place {
        Some((self.line, self.columns[column]))
    }
}

fn check_wavelengths(rows: &[Row], faults: &mut Faults) {
    let nm: Vec<f64> = rows.iter().map(|row| row.values[0]).collect();
    if rows.len() < 4 {
        // Rows with faults were left out; only a file without them has too few.
        if !faults.any() {
            let message = format!("there are {} rows", rows.len());
            faults.error(None, message, "a spectrum from 400 to 700 nm has 16 rows or more");
        }
        return;
    }
    if let Some(row) = rows.iter().find(|row| !WAVELENGTHS_NM.contains(&row.values[0])) {
        let value = row.values[0];
        let help = if value > 0.2 && value < 2.5 {
            format!("write nanometres: {}", value * 1000.0)
        } else {
            "write the wavelength in nanometres".to_owned()
        };
        return faults.error(row.place(0), format!("a wavelength of {value} nm"), help);
    }
    let down = nm.windows(2).filter(|pair| pair[1] <= pair[0]).count();
    if down == nm.len() - 1 {
        let message = format!("the wavelengths run downwards, from {} nm", nm[0]);
        return faults.error(rows[0].place(0), message, "list them upwards");
    }
    let mut steps: Vec<f64> = nm.windows(2).map(|pair| pair[1] - pair[0]).collect();
    for (i, step) in steps.iter().enumerate().filter(|(_, step)| !(**step > 0.0)) {
        let message = if *step == 0.0 {
            format!("{} nm is there twice", nm[i])
        } else {
            format!("{} nm follows {} nm", nm[i + 1], nm[i])
        };
        faults.error(rows[i + 1].place(0), message, "list wavelengths upwards, each once");
    }
    if down > 0 {
        return;
    }
    let in_order = steps.clone();
    steps.sort_by(f64::total_cmp);
    let usual = steps[steps.len() / 2];
    for (i, step) in in_order.iter().enumerate() {
        if (step - usual).abs() > STEP_TOLERANCE * usual {
            let (from, to) = (nm[i], nm[i + 1]);
            let message = if *step > usual {
                format!("a gap: {from} nm is followed by {to} nm, elsewhere the step is {usual} nm")
            } else {
                format!("{from} nm is followed by {to} nm, elsewhere the step is {usual} nm")
            };
            faults.error(rows[i + 1].place(0), message, "give every wavelength of a regular step");
        }
    }
    if usual > COARSEST_NM {
        let message = format!("the step is {usual} nm");
        faults.error(rows[1].place(0), message, format!("measure every {COARSEST_NM} nm or finer"));
    }
    let (low, high) = MUST_COVER_NM;
    let (first, last) = (&rows[0], &rows[rows.len() - 1]);
    if first.values[0] > low {
        let message = format!("the spectrum begins at {} nm", first.values[0]);
        faults.error(first.place(0), message, format!("it must cover {low} to {high} nm"));
    }
    if last.values[0] < high {
        let message = format!("the spectrum ends at {} nm", last.values[0]);
        faults.error(last.place(0), message, format!("it must cover {low} to {high} nm"));
    }
}

/// What reflectances must be. Of a backing that is not known nothing is said but that it is missing.
fn check_values(rows: &[Row], known: [bool; 2], faults: &mut Faults) {
    let seen = |i: usize| rows.iter().map(move |row| (row, row.values[i]));
    // Percent is one slip, not as many as there are rows.
    let too_high = seen(1).chain(seen(2)).filter(|(_, value)| *value > HIGHEST).count();
    let percent = 2 * too_high > rows.len();
    if percent && let Some((row, value)) = seen(1).find(|(_, value)| *value > HIGHEST) {
        faults.error(
            row.place(1),
            format!("over_white is {value} at {} nm: this looks like percent", row.values[0]),
            "reflectances are fractions of 1: divide by 100",
        );
        return;
    }
    for (i, name) in [(1, "over_white"), (2, "over_black"), (3, "white"), (4, "black")] {
        if i >= 3 && !known[i - 3] {
            continue;
        }
        for (row, value) in seen(i) {
            let nm = row.values[0];
            let backing_too_high = i >= 3 && value > 1.0;
            if value > HIGHEST || backing_too_high {
                let message = format!("{name} is {value} at {nm} nm, above 1");
                faults.error(row.place(i), message, "nothing reflects more light than it gets");
            } else if value < LOWEST || (i >= 3 && value < 0.0) {
                let message = format!("{name} is {value} at {nm} nm, below 0");
                faults.error(row.place(i), message, "check the dark reading of the instrument");
            } else if value < 0.0 {
                let message = format!("{name} is {value} at {nm} nm; 0 is taken");
                faults.warning(row.place(i), message, "check the dark reading of the instrument");
            }
        }
    }
    let reversed: Vec<&Row> = rows.iter().filter(|row| row.values[2] > row.values[1]).collect();
    if 2 * reversed.len() > rows.len() {
        faults.error(
            reversed[0].place(2),
            "the piece reflects more over black than over white",
            "are the columns exchanged?",
        );
    } else {
        for row in reversed {
            let [nm, w, b, ..] = row.values;
            let message = format!("at {nm} nm the piece reflects {b} over black, {w} over white");
            faults.error(row.place(2), message, "over white it cannot be darker: check the row");
        }
    }
    if known == [true; 2]
        && let Some(row) = rows.iter().find(|row| row.values[3] <= row.values[4])
    {
        let [nm, _, _, white, black] = row.values;
        faults.error(
            row.place(3),
            format!("the white backing reflects {white} and the black one {black} at {nm} nm"),
            "the white one must reflect more",
        );
    }
}

impl Measurement {
    /// Text that names the material in messages: `own-ceramic, medium`.
    pub(super) fn material(&self) -> String {
        let word = match self.header.translucency {
            crate::scene::Translucency::Low => "low",
            crate::scene::Translucency::Medium => "medium",
            crate::scene::Translucency::High => "high",
        };
        let shade =
            self.header.shade.map_or_else(String::new, |shade| format!(" {}", shade.name()));
        format!("{} {word}{shade}", short(&self.header.class))
    }
}
