//! Colour tables.

use crate::table::{Row, Table};
use second_glance::colorimetry::{
    Adaptation, Illuminant, Lab, Observer, Summation, TristimulusWeights, Xyz, ciede2000,
    contrast_ratio, de76, is_displayable, linear_srgb_to_xyz, to_display, to_display_8bit,
    to_display_unclamped, translucency_parameter, white_point, wi_d, xyz as tristimulus,
    xyz_to_linear_srgb, xyz_to_linear_srgb_iec_rounded,
};
use second_glance::spectrum::{N_BANDS, Spectrum, wavelength_nm};
use std::collections::{BTreeMap, BTreeSet};

/// One absolute comparison with the row and quantity in its message.
fn check(row: &Row<'_>, what: &str, got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance,
        "{}: {what} is {got}, expected {want} within {tolerance:e}",
        row.place()
    );
}

fn check_columns(row: &Row<'_>, columns: [&str; 3], got: [f64; 3], tolerance: f64) {
    for (column, value) in columns.iter().zip(got) {
        check(row, column, value, row.number(column), tolerance);
    }
}

fn xyz(row: &Row<'_>, columns: [&str; 3]) -> Xyz {
    let [x, y, z] = columns.map(|c| row.number(c));
    Xyz { x, y, z }
}

fn lab(row: &Row<'_>, columns: [&str; 3]) -> Lab {
    let [l, a, b] = columns.map(|c| row.number(c));
    Lab { l, a, b }
}

fn values(xyz: Xyz) -> [f64; 3] {
    [xyz.x, xyz.y, xyz.z]
}

fn illuminant(row: &Row<'_>) -> Illuminant {
    let name = row.text("illuminant");
    Illuminant::ALL
        .into_iter()
        .find(|i| i.name() == name)
        .unwrap_or_else(|| panic!("{}: no illuminant {name}", row.place()))
}

fn observer(row: &Row<'_>) -> Observer {
    match row.text("observer") {
        "2deg" => Observer::Cie1931,
        "10deg" => Observer::Cie1964,
        other => panic!("{}: no observer {other}", row.place()),
    }
}

/// The reflectance at columns r400, r410, .. r700.
fn samples_10nm(row: &Row<'_>) -> Vec<f64> {
    (0..31).map(|i| row.number(&format!("r{}", 400 + 10 * i))).collect()
}

/// The 10 nm samples on the full grid: linear in between, ends held.
fn hold5(row: &Row<'_>) -> Spectrum {
    Spectrum::from_regular(400.0, 10.0, &samples_10nm(row)).expect("samples are finite")
}

#[test]
fn ciede2000_reproduces_the_published_pairs() {
    // Sharma, Wu, Dalal 2005, Table 1.
    let table = Table::read("ciede2000_sharma.csv");
    for row in table.rows() {
        let reference = lab(&row, ["L1", "a1", "b1"]);
        let sample = lab(&row, ["L2", "a2", "b2"]);
        let got = ciede2000(reference, sample).de00;
        check(&row, "dE00_published", got, row.number("dE00_published"), 1e-4);
        check(&row, "dE00_exact", got, row.number("dE00_exact"), 1e-9);
    }
}

#[test]
fn ciede2000_reproduces_random_pairs() {
    let table = Table::read("ciede2000_random.csv");
    for row in table.rows() {
        let reference = lab(&row, ["L1", "a1", "b1"]);
        let sample = lab(&row, ["L2", "a2", "b2"]);
        check(&row, "dE00", ciede2000(reference, sample).de00, row.number("dE00"), 1e-9);
        check(&row, "dE76", de76(reference, sample), row.number("dE76"), 1e-9);
    }
}

#[test]
fn spectra_give_their_xyz_and_lab_by_every_method() {
    const TOLERANCE: f64 = 1e-6;
    let fine_table = Table::read("spectrum_to_lab_spectra_5nm.csv");
    let fine: BTreeMap<String, Spectrum> = fine_table
        .rows()
        .map(|row| {
            let bands =
                std::array::from_fn(|band| row.number(&format!("r{}", wavelength_nm(band))));
            (row.text("id").to_owned(), Spectrum::from_bands(bands))
        })
        .collect();
    let coarse_table = Table::read("spectrum_to_lab_spectra_10nm.csv");
    let coarse: BTreeMap<String, Spectrum> =
        coarse_table.rows().map(|row| (row.text("id").to_owned(), hold5(&row))).collect();

    let table = Table::read("spectrum_to_lab.csv");
    let mut used = BTreeSet::new();
    for row in table.rows() {
        let id = row.text("id");
        let (reflectance, summation) = match row.text("method") {
            "full5" => (fine[id], Summation::Full5),
            // Both files carry the 31 bands; the coarse one is what published data look like.
            "part10" => (coarse[id], Summation::Part10),
            "hold5" => (coarse[id], Summation::Full5),
            other => panic!("{}: no method {other}", row.place()),
        };
        used.insert(id.to_owned());
        let weights = TristimulusWeights::of(illuminant(&row), observer(&row), summation);
        let got = weights.xyz(&reflectance);
        check_columns(&row, ["X", "Y", "Z"], values(got), TOLERANCE);
        check_columns(&row, ["Xn", "Yn", "Zn"], values(weights.white()), TOLERANCE);
        let Lab { l, a, b } = Lab::from_xyz(got, weights.white());
        check_columns(&row, ["L", "a", "b"], [l, a, b], TOLERANCE);
        if row.text("method") == "part10" {
            check_columns(&row, ["X", "Y", "Z"], values(weights.xyz(&fine[id])), TOLERANCE);
        }
    }
    assert!(fine.keys().chain(coarse.keys()).all(|id| used.contains(id)), "a spectrum is not used");
}

/// A column of the shipped CIE table, for illuminants that are not offered as lights.
fn shipped_column(name: &str) -> Spectrum {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/colorimetry/tables/cie_tables.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).expect(path);
    let at = reader
        .headers()
        .expect("header row")
        .iter()
        .position(|h| h == name)
        .unwrap_or_else(|| panic!("no column {name}"));
    let column: Vec<f64> =
        reader.records().map(|r| r.expect("row")[at].parse().expect("number")).collect();
    Spectrum::from_bands(<[f64; N_BANDS]>::try_from(column).expect("81 bands"))
}

#[test]
fn whites_are_those_of_the_table() {
    let table = Table::read("cie_white_points.csv");
    for row in table.rows() {
        let observer = observer(&row);
        let white = if row.text("illuminant") == "LED-B4" {
            TristimulusWeights::new(&shipped_column("LED_B4"), observer, Summation::Full5).white()
        } else {
            white_point(illuminant(&row), observer)
        };
        check_columns(&row, ["X", "Y", "Z"], values(white), 1e-9);
        let sum = white.x + white.y + white.z;
        let (x, y) = (white.x / sum, white.y / sum);
        check(&row, "x", x, row.number("x"), 1e-12);
        check(&row, "y", y, row.number("y"), 1e-12);
        // CIE 015:2018 chromaticities: rounded, over other ranges; `nan` where none is published.
        for (got, column) in [(x, "published_x"), (y, "published_y")] {
            let published = row.number(column);
            if !published.is_nan() {
                check(&row, column, got, published, 2e-4);
            }
        }
    }
}

#[test]
fn srgb_by_the_derived_and_by_the_rounded_matrix() {
    const TOLERANCE: f64 = 1e-9;
    let table = Table::read("srgb.csv");
    for row in table.rows() {
        let source = xyz(&row, ["X", "Y", "Z"]);
        for (prefix, linear) in
            [("der", xyz_to_linear_srgb(source)), ("iec", xyz_to_linear_srgb_iec_rounded(source))]
        {
            let eight_bit = to_display_8bit(linear).map(f64::from);
            for (kind, got, tolerance) in [
                ("lin", linear, TOLERANCE),
                ("enc", to_display_unclamped(linear), TOLERANCE),
                ("clip", to_display(linear), TOLERANCE),
                ("8bit", eight_bit, 0.0),
            ] {
                for (channel, value) in ["r", "g", "b"].iter().zip(got) {
                    let column = format!("{prefix}_{kind}_{channel}");
                    check(&row, &column, value, row.number(&column), tolerance);
                }
            }
        }
        let displayable = is_displayable(xyz_to_linear_srgb(source));
        assert_eq!(row.number("in_gamut") == 1.0, displayable, "{}", row.place());
        let back = linear_srgb_to_xyz(xyz_to_linear_srgb(source));
        check_columns(&row, ["X", "Y", "Z"], values(back), TOLERANCE);
    }
}

#[test]
fn colours_adapt_by_bradford_and_by_cat16() {
    const TOLERANCE: f64 = 1e-9;
    let table = Table::read("chromatic_adaptation.csv");
    for row in table.rows() {
        let source = xyz(&row, ["X", "Y", "Z"]);
        let from = xyz(&row, ["Xs", "Ys", "Zs"]);
        let to = xyz(&row, ["Xd", "Yd", "Zd"]);
        for (adaptation, columns) in [
            (Adaptation::Bradford, ["X_bradford", "Y_bradford", "Z_bradford"]),
            (Adaptation::Cat16, ["X_cat16", "Y_cat16", "Z_cat16"]),
        ] {
            check_columns(&row, columns, values(adaptation.adapt(source, from, to)), TOLERANCE);
        }
        let name = row.text("source_white");
        let listed = Illuminant::ALL.into_iter().find(|i| i.name() == name);
        let listed = listed.unwrap_or_else(|| panic!("{}: no white {name}", row.place()));
        let white = white_point(listed, Observer::Cie1931);
        check_columns(&row, ["Xs", "Ys", "Zs"], values(white), TOLERANCE);
    }
}

#[test]
fn whiteness_index() {
    let table = Table::read("whiteness.csv");
    for row in table.rows() {
        check(&row, "WI_D", wi_d(lab(&row, ["L", "a", "b"])), row.number("WI_D"), 1e-9);
    }
}

#[test]
fn translucency_from_spectra_over_both_backings() {
    const TOLERANCE: f64 = 1e-9;
    let spectra_table = Table::read("translucency_spectra.csv");
    let key = |row: &Row<'_>, over: &str| {
        [row.text("material"), row.text("background"), row.text("interface"), over]
            .map(str::to_owned)
    };
    let spectra: BTreeMap<[String; 4], Spectrum> =
        spectra_table.rows().map(|row| (key(&row, row.text("over")), hold5(&row))).collect();
    assert_eq!(spectra.len(), spectra_table.len(), "two spectra share a key");

    let table = Table::read("translucency.csv");
    let mut used = BTreeSet::new();
    for row in table.rows() {
        let (illuminant, observer) = (illuminant(&row), observer(&row));
        let mut over = |name: &str, xyz_columns, lab_columns| {
            let key = key(&row, name);
            let reflectance = &spectra[&key];
            used.insert(key);
            let got = tristimulus(reflectance, illuminant, observer);
            check_columns(&row, xyz_columns, values(got), TOLERANCE);
            let lab = Lab::from_reflectance(reflectance, illuminant, observer);
            check_columns(&row, lab_columns, [lab.l, lab.a, lab.b], TOLERANCE);
            (got.y, lab)
        };
        let (y_white, white) = over("white", ["Xw", "Yw", "Zw"], ["Lw", "aw", "bw"]);
        let (y_black, black) = over("black", ["Xb", "Yb", "Zb"], ["Lb", "ab", "bb"]);
        let parameter = translucency_parameter(white, black);
        check(&row, "TP", parameter.tp, row.number("TP"), TOLERANCE);
        check(&row, "TP00", parameter.tp00, row.number("TP00"), TOLERANCE);
        check(&row, "CR", contrast_ratio(y_black, y_white), row.number("CR"), TOLERANCE);
    }
    assert_eq!(used.len(), spectra.len(), "a spectrum is not used");
}
