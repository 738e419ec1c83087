//! Lines of a spectrum file, taken apart into cells with their columns.
//!
//! Written out because every fault must name its column, which readers of such files do not give.

use super::faults::Faults;
use super::header::short;
use super::other_formats::wide_table;

/// One cell and the column of its first character, from 1.
pub(super) struct Cell<'a> {
    pub text: &'a str,
    pub column: usize,
}

/// Cells of a line between commas, without blanks and quotes around them.
pub(super) fn cells(line: &str) -> Vec<Cell<'_>> {
    let mut at = 1;
    line.split(',')
        .map(|raw| {
            let lead = raw.chars().take_while(|c| c.is_whitespace() || *c == '"').count();
            let cell = Cell {
                text: raw.trim_matches(|c: char| c.is_whitespace() || c == '"'),
                column: at + lead,
            };
            at += raw.chars().count() + 1;
            cell
        })
        .collect()
}

/// The columns that count.
pub(super) const COLUMNS: [&str; 5] =
    ["wavelength_nm", "over_white", "over_black", "white", "black"];

/// Unknown columns that are named one by one.
const FEW: usize = 3;

/// Where each of [`COLUMNS`] stands, and how many columns there are.
pub(super) struct Columns {
    pub at: [Option<usize>; 5],
    pub count: usize,
}

impl Columns {
    /// Reads the line of column names; `None` after saying why it is none.
    pub fn read(line: &str, number: usize, faults: &mut Faults) -> Option<Self> {
        if let Some(separator) = wrong_separator(line) {
            let at = line.chars().position(|c| c == separator.0).map_or(1, |i| i + 1);
            faults.error(
                Some((number, at)),
                format!("the columns are separated by {}", separator.1),
                "separate them by commas, and write decimals with a point",
            );
            return None;
        }
        let cells = cells(line);
        let names: Vec<&str> = cells.iter().map(|cell| cell.text).collect();
        if let Some((message, help)) = wide_table(&names) {
            faults.error(Some((number, 1)), message, help);
            return None;
        }
        if cells.first().is_some_and(|cell| cell.text.parse::<f64>().is_ok()) {
            faults.error(
                Some((number, 1)),
                "the line of column names is missing",
                "write `wavelength_nm,over_white,over_black` above the first row",
            );
            return None;
        }
        let mut at = [None; 5];
        let mut unknown: Vec<(usize, String, String)> = Vec::new();
        for (index, cell) in cells.iter().enumerate() {
            let name = cell.text.to_lowercase();
            let place = Some((number, cell.column));
            match COLUMNS.iter().position(|known| *known == name) {
                Some(i) if at[i].is_some() => {
                    let message = format!("column `{name}` is there twice");
                    faults.error(place, message, "remove one");
                }
                Some(i) => at[i] = Some(index),
                None => {
                    let near = COLUMNS.iter().enumerate().find(|(i, known)| {
                        at[*i].is_none()
                            && name.len() <= 32
                            && strsim::damerau_levenshtein(known, &name) <= 3
                    });
                    let help = near.map_or_else(
                        || format!("the columns that count are {}", COLUMNS.join(", ")),
                        |(_, known)| format!("did you mean `{known}`?"),
                    );
                    unknown.push((cell.column, short(cell.text), help));
                }
            }
        }
        say_unknown(&unknown, number, faults);
        let mut complete = true;
        for (i, name, why) in [
            (0, "wavelength_nm", "the wavelengths are missing"),
            (1, "over_white", "only one backing: the piece over white is missing"),
            (2, "over_black", "only one backing: the piece over black is missing"),
        ] {
            if at[i].is_none() {
                complete = false;
                let help = match i {
                    0 => format!("add a column `{name}`"),
                    _ => format!(
                        "measure the piece over both backings and add a column `{name}`: one \
                         alone cannot tell absorption from scattering"
                    ),
                };
                faults.error(Some((number, 1)), why, help);
            }
        }
        complete.then_some(Self { at, count: cells.len() })
    }
}

/// Names columns that are not known: each by itself where they are few, or all in one line.
fn say_unknown(unknown: &[(usize, String, String)], line: usize, faults: &mut Faults) {
    if unknown.len() <= FEW {
        for (column, name, help) in unknown {
            faults.error(Some((line, *column)), format!("column `{name}` is unknown"), help);
        }
        return;
    }
    let names: Vec<String> = unknown.iter().take(FEW).map(|(_, n, _)| format!("`{n}`")).collect();
    let message = format!(
        "{} columns are unknown: {} and {} more",
        unknown.len(),
        names.join(", "),
        unknown.len() - FEW
    );
    let help = format!("remove them: the columns that count are {}", COLUMNS.join(", "));
    faults.error(Some((line, unknown[0].0)), message, help);
}

/// A separator other than a comma that a line seems to use, and its name.
fn wrong_separator(line: &str) -> Option<(char, &'static str)> {
    if line.contains(',') && !line.contains(';') {
        return None;
    }
    [(';', "semicolons"), ('\t', "tabs"), ('|', "bars")]
        .into_iter()
        .find(|(separator, _)| line.contains(*separator))
        .or_else(|| {
            let several = line.split_whitespace().count() > 1;
            (several && !line.contains(',')).then_some((' ', "blanks"))
        })
}

/// A finite number in a cell, or `None` after saying what stands there.
pub(super) fn number(cell: &Cell<'_>, name: &str, line: usize, faults: &mut Faults) -> Option<f64> {
    let place = Some((line, cell.column));
    if cell.text.is_empty() {
        faults.error(place, format!("{name} is empty"), "write the measured value");
        return None;
    }
    match cell.text.parse::<f64>() {
        Ok(value) if value.is_finite() => Some(value),
        Ok(_) => {
            let message = format!("{name} is `{}`, not a finite number", short(cell.text));
            faults.error(place, message, "write the measured value");
            None
        }
        Err(_) => {
            let percent = cell.text.ends_with('%');
            let message = format!("{name} is `{}`, which is no number", short(cell.text));
            let help = if percent {
                "reflectances are fractions of 1, without a sign"
            } else {
                "write a number such as 0.512, with a point for decimals"
            };
            faults.error(place, message, help);
            None
        }
    }
}
