//! Measured spectra of a ceramic become a material, and faulty files do not.

use second_glance::colorimetry::Lch;
use second_glance::intake::{Concern, Import, MAX_BYTES, Measurement, import, read};
use second_glance::level::LoadError;
use second_glance::level::load::parse_measured_ceramics;
use second_glance::material::Library;
use second_glance::optics::transport::{
    BandLayer, Base, CEMENT_JOINT, STREAMS_PER_BAND, over_backing, tabulated_reflectance,
};
use second_glance::optics::{Layer, Medium};
use second_glance::scene::Translucency;
use second_glance::spectrum::Spectrum;
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

/// A piece of a medium over the practical backings, by the tables.
fn piece(library: &Library, medium: &Medium, thickness_mm: f64) -> impl Fn(f64) -> (f64, f64) {
    let [white, black] = [0.88, 0.03].map(|rho| {
        let backing = Spectrum::constant(rho);
        let layer = Layer { medium, thickness_mm };
        tabulated_reflectance(library.tables(), &[layer], Base::Backing(&backing), CEMENT_JOINT)
    });
    move |nm| (white.at_nm(nm), black.at_nm(nm))
}

fn imported(library: &Library, measurements: &[Measurement]) -> Import {
    import(library, measurements).unwrap_or_else(|e| panic!("{e}"))
}

/// Largest relative difference over 400 to 700 nm.
fn off(found: &Spectrum, wanted: &Spectrum) -> f64 {
    (80..=140)
        .map(|i| 5.0 * f64::from(i))
        .map(|nm| (found.at_nm(nm) / wanted.at_nm(nm) - 1.0).abs())
        .fold(0.0, f64::max)
}

#[test]
fn a_ceramic_comes_back_from_its_own_spectra() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    let ceramic = library.ceramic("lithium-disilicate", Translucency::Low, shade).unwrap();
    for step_nm in [1.0, 5.0, 10.0, 20.0] {
        let head = |mm: f64| {
            format!(
                "# class: own-disc\n# thickness_mm: {mm}\n# white: 0.88\n# black: 0.03\n# refractive_index: 1.53\n"
            )
        };
        let pieces: Vec<Measurement> = [0.6, 1.2]
            .map(|mm| spectrum_file(&head(mm), piece(&library, &ceramic, mm), step_nm))
            .iter()
            .map(|text| measured(text))
            .collect();
        let import = imported(&library, &pieces);
        let fit = &import.fits[0];
        assert_eq!(import.concerns[0], [], "step {step_nm}");
        let (a, s) = (
            off(&fit.medium.absorption, &ceramic.absorption),
            off(&fit.medium.reduced_scattering, &ceramic.reduced_scattering),
        );
        println!("step {step_nm} nm: σa off {a:.5}, σs′ off {s:.5}");
        // The forward model of this program is the truth. Rows on the bands hold nine decimals and
        // coefficients six digits; between bands a polynomial stands in for the curve.
        let (most_a, most_s) = if step_nm == 5.0 { (5e-5, 5e-5) } else { (0.02, 0.004) };
        assert!(a < most_a && s < most_s, "step {step_nm} nm: {a} {s}");
        for piece in &fit.pieces {
            assert!(piece.de00[0] < 0.02 && piece.de00[1] < 0.02, "{piece:?}");
            assert!(piece.rms < 1e-3, "{piece:?}");
        }
        // The thick piece is the shade that it was designed to be.
        let named = import.file.classes[0].pieces[0].shade;
        assert_eq!(named.name(), shade.name());
    }
}

#[test]
fn the_material_file_reads_back_and_makes_the_same_ceramic() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 80.0, c: 15.0, h: 90.0 };
    let ceramic = library.ceramic("feldspathic", Translucency::High, shade).unwrap();
    let head =
        format!("{HEAD}# refractive_index: 1.515\n# translucency: high\n# name: disc \"A\"\n");
    let pieces = [measured(&spectrum_file(&head, piece(&library, &ceramic, 0.8), 5.0))];
    let import = imported(&library, &pieces);
    assert_eq!(import.concerns[0], [Concern::OneThickness]);
    let text = import.to_ron().unwrap();
    let loaded =
        parse_measured_ceramics("own.ron", &text).unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert_eq!(loaded.warnings, []);
    assert_eq!(loaded.value, import.file);
    let class = loaded.value.classes[0].id.clone();
    let own = Library::shipped().unwrap().with_measured(loaded.value);
    let shades = own.shades(&class, Translucency::High);
    assert_eq!(shades.len(), 1);
    assert!(own.shades(&class, Translucency::Low).is_empty());
    let medium = own.ceramic(&class, Translucency::High, shades[0]).unwrap();
    assert_eq!(*medium, import.fits[0].medium);
    assert!(own.ceramic(&class, Translucency::Low, shades[0]).is_err());
    let missing = own.ceramic(&class, Translucency::High, shade);
    // The shade is the one designed, unless it rounds otherwise.
    assert_eq!(missing.is_ok(), shade.name() == shades[0].name());
}

#[test]
fn coefficients_of_the_direct_solution_are_found() {
    // Truth: adding-doubling without tables, which tests/reference/transport.rs holds to 1e-4 of a
    // discrete-ordinate solver (tests/reference/adding_doubling.csv).
    let library = Library::shipped().unwrap();
    let (n, g) = (1.53, 0.7);
    let absorption = |nm: f64| 0.05 + 0.5 * (-(nm - 400.0) / 60.0).exp();
    let scattering = |nm: f64| 1.6 * (550.0 / nm).powf(1.2);
    let over = |nm: f64, mm: f64, rho: f64| {
        let layer = BandLayer {
            absorption: absorption(nm) * mm,
            scattering: scattering(nm) * mm / (1.0 - g),
            anisotropy: g,
            refractive_index: n,
        };
        // The joint below, as thin as nothing.
        let joint = BandLayer {
            absorption: 0.0,
            scattering: 0.0,
            anisotropy: 0.0,
            refractive_index: CEMENT_JOINT,
        };
        let r = over_backing(&[layer, joint], rho, STREAMS_PER_BAND);
        r.normal - r.specular
    };
    let head = "# class: own-disc\n# thickness_mm: 0.9\n# white: 0.88\n# black: 0.03\n# refractive_index: 1.53\n";
    let text = spectrum_file(head, |nm| (over(nm, 0.9, 0.88), over(nm, 0.9, 0.03)), 20.0);
    let fit = &imported(&library, &[measured(&text)]).fits[0];
    for nm in (400..=700).step_by(20).map(f64::from) {
        let (a, s) = (fit.medium.absorption.at_nm(nm), fit.medium.reduced_scattering.at_nm(nm));
        let (a_off, s_off) = (a - absorption(nm), s / scattering(nm) - 1.0);
        // What the tables are off by, 1e-4 in reflectance, times what a reflectance does to a
        // coefficient of such a piece, about 10 per mm.
        assert!(a_off.abs() < 2e-3, "{nm} nm: σa {a} not {}", absorption(nm));
        assert!(s_off.abs() < 5e-3, "{nm} nm: σs′ {s} not {}", scattering(nm));
    }
}

#[test]
fn a_piece_on_air_and_with_gloss_is_the_same_ceramic() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    let ceramic = library.ceramic("lithium-disilicate", Translucency::Medium, shade).unwrap();
    let on_air = |rho: f64| {
        let backing = Spectrum::constant(rho);
        let layer = Layer { medium: &*ceramic, thickness_mm: 0.8 };
        tabulated_reflectance(library.tables(), &[layer], Base::Backing(&backing), 1.0)
    };
    let (white, black) = (on_air(0.88), on_air(0.03));
    // Fresnel: ((n - 1)/(n + 1))² along the normal.
    let gloss = (0.53_f64 / 2.53).powi(2);
    let head = format!("{HEAD}# refractive_index: 1.53\n# contact: air\n# specular: included\n");
    let text = spectrum_file(&head, |nm| (white.at_nm(nm) + gloss, black.at_nm(nm) + gloss), 5.0);
    let import = imported(&library, &[measured(&text)]);
    let found = &import.fits[0].medium;
    assert!(off(&found.absorption, &ceramic.absorption) < 1e-4);
    assert!(off(&found.reduced_scattering, &ceramic.reduced_scattering) < 1e-4);
}

#[test]
fn doubtful_measurements_are_said_to_be() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    let ceramic = library.ceramic("lithium-disilicate", Translucency::Low, shade).unwrap();
    let head = |mm: f64| {
        format!(
            "# class: own-disc\n# thickness_mm: {mm}\n# white: 0.88\n# black: 0.03\n# refractive_index: 1.53\n"
        )
    };
    let found = |files: &[String]| {
        let measurements: Vec<Measurement> = files.iter().map(|text| measured(text)).collect();
        imported(&library, &measurements).concerns[0].clone()
    };
    let thin = piece(&library, &ceramic, 0.6);
    // More light than a clear piece of no absorption returns.
    let bright =
        found(&[spectrum_file(&head(0.6), |nm| (thin(nm).0 + 0.45, thin(nm).1 + 0.1), 10.0)]);
    assert!(bright.iter().any(|c| matches!(c, Concern::EnergyAboveOne { .. })), "{bright:?}");
    let thick = piece(&library, &ceramic, 1.6);
    let hidden = found(&[spectrum_file(&head(1.6), &thick, 10.0)]);
    assert!(hidden.iter().any(|c| matches!(c, Concern::LowContrast { .. })), "{hidden:?}");
    // Every second reading a hundredth off.
    let jump = |nm: f64| if (nm / 10.0) as i64 % 2 == 0 { 0.01 } else { -0.01 };
    let noisy = found(&[spectrum_file(&head(0.6), |nm| (thin(nm).0 + jump(nm), thin(nm).1), 10.0)]);
    assert!(noisy.iter().any(|c| matches!(c, Concern::Noisy { .. })), "{noisy:?}");
    // A second piece whose thickness is wrong.
    let other = piece(&library, &ceramic, 1.2);
    let misfit =
        found(&[spectrum_file(&head(0.6), &thin, 10.0), spectrum_file(&head(1.6), &other, 10.0)]);
    assert!(misfit.iter().any(|c| matches!(c, Concern::Misfit { .. })), "{misfit:?}");
    let sound =
        found(&[spectrum_file(&head(0.6), &thin, 10.0), spectrum_file(&head(1.2), &other, 10.0)]);
    assert_eq!(sound, []);
    // So thick that nothing is seen of what lies behind: no coefficients at all.
    let wall = piece(&library, &ceramic, 10.0);
    let text = spectrum_file(&head(10.0), |nm| (wall(nm).1 + 1e-4, wall(nm).1), 10.0);
    let refused = import(&library, &[measured(&text)]).unwrap_err().to_string();
    assert!(refused.contains("hides its backing"), "{refused}");
}

#[test]
fn a_class_of_the_program_is_not_taken() {
    let library = Library::shipped().unwrap();
    let text = spectrum_file(HEAD, |_| (0.6, 0.4), 10.0).replace("own-disc", "feldspathic");
    let refused = import(&library, &[measured(&text)]).unwrap_err().to_string();
    assert!(refused.contains("`feldspathic`"), "{refused}");
}

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

#[test]
fn every_fault_is_named_with_line_and_column() {
    let good = good();
    let cases: Vec<(String, Vec<&str>)> = vec![
        (String::new(), vec!["disc.csv:1:1: error: the file is empty"]),
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
            good.replace(',', ";"),
            vec!["disc.csv:5:14: error: the columns are separated by semicolons"],
        ),
        (good.replace(',', "\t"), vec!["error: the columns are separated by tabs"]),
        (
            good.replace("wavelength_nm,over_white,over_black\n", ""),
            vec!["disc.csv:5:1: error: the line of column names is missing"],
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
            good.replace("over_white,over_black", "over_black,over_white"),
            vec!["error: the piece reflects more over black than over white", "exchanged"],
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
        (
            good.replace("over_black", "over_blak"),
            vec![
                "disc.csv:5:26: error: column `over_blak` is unknown",
                "did you mean `over_black`?",
            ],
        ),
        (
            good.replace("# class: own-disc", "# class: Own Disc"),
            vec!["disc.csv:1:10: error: class is `Own Disc`"],
        ),
        ("# class: own-disc\n".to_owned(), vec!["error: there are only comment lines"]),
    ];
    for (text, expected) in cases {
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
