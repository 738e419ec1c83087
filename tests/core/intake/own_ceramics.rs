//! Measured spectra of a ceramic become a material, and faulty files do not.

use super::{HEAD, measured, spectrum_file};
use second_glance::colorimetry::Lch;
use second_glance::intake::{Concern, Import, Measurement, import};
use second_glance::level::load::parse_measured_ceramics;
use second_glance::material::Library;
use second_glance::optics::transport::{
    BandLayer, Base, CEMENT_JOINT, STREAMS_PER_BAND, over_backing, tabulated_reflectance,
};
use second_glance::optics::{Layer, Medium};
use second_glance::scene::Translucency;
use second_glance::spectrum::Spectrum;

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
