//! Reads the shipped CIE table, once.

use super::{Illuminant, Observer};
use crate::spectrum::{N_BANDS, Spectrum, wavelength_nm};
use std::sync::LazyLock;
use thiserror::Error;

/// The table as shipped; its header carries the attribution.
const CIE_TABLES: &str = include_str!("tables/cie_tables.csv");

/// Columns in the order they are kept.
const COLUMNS: [&str; 11] =
    ["x2", "y2", "z2", "x10", "y10", "z10", "D65", "D50", "A", "FL11", "LED_B3"];

/// Why the table could not be read. Only a damaged build can meet this.
#[derive(Debug, Error)]
enum TableError {
    #[error("the table has no column {0}")]
    NoColumn(&'static str),
    #[error("band {band}: expected {expected_nm} nm, got {got:?}")]
    WrongWavelength { band: usize, expected_nm: f64, got: String },
    #[error("band {band}, column {column}: {got:?} is not a finite number of at least 0")]
    NotANumber { band: usize, column: &'static str, got: String },
    #[error("the table has {0} rows, not {N_BANDS}")]
    RowCount(usize),
    #[error(transparent)]
    Csv(#[from] csv::Error),
}

fn parse(text: &str) -> Result<[Spectrum; COLUMNS.len()], TableError> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let headers = reader.headers()?.clone();
    let position = |name: &'static str| {
        headers.iter().position(|h| h == name).ok_or(TableError::NoColumn(name))
    };
    let wavelength_at = position("wavelength_nm")?;
    let mut columns = [[0.0; N_BANDS]; COLUMNS.len()];
    let mut at = [0; COLUMNS.len()];
    for (slot, name) in at.iter_mut().zip(COLUMNS) {
        *slot = position(name)?;
    }
    let mut rows = 0;
    for (band, record) in reader.records().enumerate() {
        let record = record?;
        rows = band + 1;
        if rows > N_BANDS {
            continue;
        }
        let expected_nm = wavelength_nm(band);
        // The reader refuses ragged rows, so every field that a header names is there.
        if record[wavelength_at].parse() != Ok(expected_nm) {
            let got = record[wavelength_at].to_owned();
            return Err(TableError::WrongWavelength { band, expected_nm, got });
        }
        for ((values, &field), column) in columns.iter_mut().zip(&at).zip(COLUMNS) {
            values[band] = record[field]
                .parse()
                .ok()
                .filter(|v: &f64| v.is_finite() && *v >= 0.0)
                .ok_or_else(|| TableError::NotANumber {
                    band,
                    column,
                    got: record[field].to_owned(),
                })?;
        }
    }
    if rows != N_BANDS {
        return Err(TableError::RowCount(rows));
    }
    Ok(columns.map(Spectrum::from_bands))
}

struct Tables {
    observers: [[Spectrum; 3]; 2],
    illuminants: [Spectrum; 5],
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    let [x2, y2, z2, x10, y10, z10, d65, d50, a, fl11, led_b3] =
        parse(CIE_TABLES).expect("the table compiled into the program is well formed");
    Tables { observers: [[x2, y2, z2], [x10, y10, z10]], illuminants: [d65, d50, a, fl11, led_b3] }
});

impl Observer {
    /// The colour-matching functions x̄(λ), ȳ(λ), z̄(λ), dimensionless.
    #[must_use]
    pub fn colour_matching_functions(self) -> &'static [Spectrum; 3] {
        &TABLES.observers[self as usize]
    }
}

impl Illuminant {
    /// Relative spectral power distribution as tabulated by the CIE; only its shape has meaning.
    #[must_use]
    pub fn spectrum(self) -> &'static Spectrum {
        &TABLES.illuminants[self as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shipped_table_lands_in_the_right_columns() {
        // CIE 015:2018: x̄ at 380 nm, ȳ = 1 at 555 nm (2°), D65, D50 and A are 100 at 560 nm,
        // FL11 has its mercury line in the 545 nm row, LED-B3 is 0 at 380 nm.
        let [x2, y2, _] = Observer::Cie1931.colour_matching_functions();
        assert_eq!(x2[0], 0.001_368);
        assert_eq!(y2.at_nm(555.0), 1.0);
        assert_eq!(Observer::Cie1964.colour_matching_functions()[0][0], 0.000_159_952);
        for daylight_or_a in [Illuminant::D65, Illuminant::D50, Illuminant::A] {
            assert_eq!(daylight_or_a.spectrum().at_nm(560.0), 100.0);
        }
        assert!(Illuminant::A.spectrum()[0] < Illuminant::D50.spectrum()[0]);
        let fl11 = Illuminant::Fl11.spectrum();
        assert_eq!(fl11.max(), fl11.at_nm(545.0));
        assert_eq!(Illuminant::LedB3.spectrum()[0], 0.0);
    }

    #[test]
    fn refuses_a_damaged_table() {
        let cut = &CIE_TABLES[..CIE_TABLES.trim_end().rfind('\n').unwrap()];
        assert!(matches!(parse(cut), Err(TableError::RowCount(80))));
        let renamed = CIE_TABLES.replace(",LED_B3,", ",other,");
        assert!(matches!(parse(&renamed), Err(TableError::NoColumn("LED_B3"))));
        let shifted = CIE_TABLES.replace("\n385,", "\n386,");
        assert!(matches!(parse(&shifted), Err(TableError::WrongWavelength { band: 1, .. })));
        let text = CIE_TABLES.replace("\n380,0.001368,", "\n380,none,");
        assert!(matches!(parse(&text), Err(TableError::NotANumber { band: 0, column: "x2", .. })));
    }
}
