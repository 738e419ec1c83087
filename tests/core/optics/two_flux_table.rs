//! How far two-flux is from radiative transfer, as the table in the documentation of
//! `second_glance::optics::engine`.
//!
//! `SECOND_GLANCE_BLESS=1 cargo test --no-default-features --test core two_flux_table` writes the
//! table anew; otherwise the committed numbers are compared with those that the code computes.

use second_glance::colorimetry::{Illuminant, Lab, Lch, Observer, ciede2000};
use second_glance::material::Library;
use second_glance::optics::inverse::{InverseError, TwoBackings, from_two_backings};
use second_glance::optics::translucency::{PRACTICAL_BLACK, PRACTICAL_WHITE};
use second_glance::optics::transport::CEMENT_JOINT;
use second_glance::optics::{Engine, Interface, Layer, Medium, ReflectanceShape, TwoFluxMedium};
use second_glance::scene::Translucency;
use second_glance::spectrum::{N_BANDS, Spectrum};

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/optics/two_flux_table.md");
/// What the file begins with; the blank lines part it from what the documentation says before.
const HEAD: &str = "\n<!-- Written by tests/core/optics/two_flux_table.rs. -->\n\n";

const THICKNESSES_MM: [f64; 6] = [0.3, 0.5, 0.8, 1.0, 1.5, 2.0];
/// Thickness that the fit by two backings is made at.
const FITTED_MM: f64 = 1.0;
const TRANSLUCENCIES: [(Translucency, &str); 3] =
    [(Translucency::Low, "low"), (Translucency::Medium, "medium"), (Translucency::High, "high")];
/// One of the shipped shades.
const SHADE: Lch = Lch { l: 76.0, c: 15.0, h: 90.0 };

/// The same ceramic as two-flux takes it from its own radiative transfer over white and black, and
/// how many bands had no answer without a coefficient below zero (it is then taken as zero).
fn fitted(medium: &Medium, truth: &Engine) -> (Medium, usize) {
    let surface = Interface::between_air_and(medium.refractive_index);
    let layer = [Layer { medium, thickness_mm: FITTED_MM }];
    let over = |backing: f64| {
        truth
            .reflectance(&layer, &Spectrum::constant(backing))
            .map(|r| surface.internal_from_excluded(r))
    };
    let (over_white, over_black) = (over(PRACTICAL_WHITE), over(PRACTICAL_BLACK));
    let (mut k, mut s, mut held) = ([0.0; N_BANDS], [0.0; N_BANDS], 0);
    for band in 0..N_BANDS {
        let r = TwoBackings {
            over_white: over_white[band],
            over_black: over_black[band],
            white: PRACTICAL_WHITE,
            black: PRACTICAL_BLACK,
        };
        (k[band], s[band]) = match from_two_backings(r, FITTED_MM) {
            Ok(found) => (found.k, found.s),
            Err(InverseError::Unphysical { k, s }) => {
                held += 1;
                (k.max(0.0), s.max(0.0))
            }
            Err(other) => panic!("{other}"),
        };
    }
    let index = medium.refractive_index;
    let two_flux =
        TwoFluxMedium::new(Spectrum::from_bands(k), Spectrum::from_bands(s), index).unwrap();
    (Medium::from_two_flux(&two_flux, medium.anisotropy), held)
}

fn lab(reflectance: &Spectrum) -> Lab {
    Lab::from_reflectance(reflectance, Illuminant::D65, Observer::Cie1931)
}

/// Internal reflectances of the shipped prepared teeth.
fn prepared_teeth(library: &Library) -> Vec<Spectrum> {
    // A prepared tooth is dentin: Meng et al., J Biomed Opt 2009;14:034010.
    let surface = Interface::between_air_and(1.54);
    library
        .tissues()
        .prepared_teeth
        .iter()
        .map(|entry| {
            let measured = ReflectanceShape::fit(entry.colour).unwrap().spectrum();
            measured.map(|r| surface.internal_from_excluded(r))
        })
        .collect()
}

/// Median and largest.
fn summary(mut differences: Vec<f64>) -> (f64, f64) {
    differences.sort_by(f64::total_cmp);
    let n = differences.len();
    (0.5 * (differences[(n - 1) / 2] + differences[n / 2]), differences[n - 1])
}

fn table() -> String {
    let library = Library::shipped().unwrap();
    let truth = Engine::RadiativeTransfer { tables: library.tables(), joint: CEMENT_JOINT };
    let prepared = prepared_teeth(&library);
    let header = THICKNESSES_MM.map(|mm| format!(" {mm:.1} mm |")).concat();
    let mut out = format!("| ceramic | fit |{header}\n|---|---|{}\n", "---|".repeat(6));
    let mut all: [Vec<f64>; 2] = Default::default();
    let mut held_bands = 0;
    for class in &library.ceramics().classes {
        for (translucency, name) in TRANSLUCENCIES {
            let medium = library.ceramic(&class.id, translucency, SHADE).unwrap();
            let (by_backings, held) = fitted(&medium, &truth);
            held_bands += held;
            for (fit, (letter, seen)) in [("a", &by_backings), ("b", &*medium)].iter().enumerate() {
                let cells = THICKNESSES_MM.map(|thickness_mm| {
                    let differences: Vec<f64> = prepared
                        .iter()
                        .map(|backing| {
                            let of = |engine: &Engine, medium: &Medium| {
                                let layer = Layer { medium, thickness_mm };
                                lab(&engine.reflectance(&[layer], backing))
                            };
                            ciede2000(of(&truth, &medium), of(&Engine::TwoFlux, seen)).de00
                        })
                        .collect();
                    all[fit].extend(&differences);
                    let (median, worst) = summary(differences);
                    format!(" {median:.2} / {worst:.2} |")
                });
                out += &format!("| {} {name} | {letter} |{}\n", class.id, cells.concat());
            }
        }
    }
    let [(a, worst_a), (b, worst_b)] = all.map(summary);
    out += &format!(
        "\nMedian / worst over {} prepared-tooth colours. Over the whole table: fit a {a:.2} / \
         {worst_a:.2} and fit b {b:.2} / {worst_b:.2}. Bands of fit a where two-flux has no \
         answer without a coefficient below zero: {held_bands} of {}.\n",
        prepared.len(),
        3 * library.ceramics().classes.len() * N_BANDS,
    );
    out
}

/// The text with every number taken out, and the numbers.
fn numbers(text: &str) -> (String, Vec<f64>) {
    let mut layout = String::new();
    let mut found = Vec::new();
    for word in text.split_inclusive(char::is_whitespace) {
        let bare = word.trim_end().trim_end_matches('.');
        match bare.parse::<f64>() {
            Ok(number) => {
                found.push(number);
                layout.push('#');
                layout.push_str(&word[bare.len()..]);
            }
            Err(_) => layout.push_str(word),
        }
    }
    (layout, found)
}

#[test]
fn two_flux_table() {
    let computed = format!("{HEAD}{}", table());
    if std::env::var_os("SECOND_GLANCE_BLESS").is_some() {
        std::fs::write(FILE, computed).unwrap();
        return;
    }
    let committed = std::fs::read_to_string(FILE).unwrap().replace("\r\n", "\n");
    let ((layout, written), (wanted, now)) = (numbers(&committed), numbers(&computed));
    assert_eq!(layout, wanted);
    assert_eq!(written.len(), now.len());
    for (written, now) in written.iter().zip(&now) {
        // Printed digits; other processors round the last of them otherwise.
        assert!((written - now).abs() < 0.0101, "committed {written}, computed {now}");
    }
}

#[test]
fn two_flux_meets_radiative_transfer_where_it_was_fitted() {
    // What fit a means: both backings at 1 mm come back. Exact up to rounding.
    let library = Library::shipped().unwrap();
    let truth = Engine::RadiativeTransfer { tables: library.tables(), joint: CEMENT_JOINT };
    for class in &library.ceramics().classes {
        let medium = library.ceramic(&class.id, Translucency::Medium, SHADE).unwrap();
        let (two_flux, held) = fitted(&medium, &truth);
        assert_eq!(held, 0, "{}", class.id);
        for backing in [PRACTICAL_WHITE, PRACTICAL_BLACK].map(Spectrum::constant) {
            let of = |engine: &Engine, medium: &Medium| {
                engine.reflectance(&[Layer { medium, thickness_mm: FITTED_MM }], &backing)
            };
            let gap = (of(&truth, &medium) - of(&Engine::TwoFlux, &two_flux)).map(f64::abs).max();
            assert!(gap < 1e-9, "{}: {gap}", class.id);
        }
    }
}

#[test]
fn both_engines_show_a_bare_backing_as_it_is() {
    let library = Library::shipped().unwrap();
    let backing = Spectrum::from_fn(|nm| nm / 800.0);
    let transfer = Engine::RadiativeTransfer { tables: library.tables(), joint: CEMENT_JOINT };
    for engine in [Engine::TwoFlux, transfer] {
        assert_eq!(engine.reflectance(&[], &backing), backing);
    }
}
