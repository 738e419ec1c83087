//! Optics tables: `fresnel`, `kubelka_munk`, `kubelka_munk_stack`, `saunderson`, `km_inverse`,
//! `translucency`, `translucency_spectra`.
//!
//! Every expected value is read from the file named; the head of each file states its source
//! (mpmath 1.4.1 at 30 to 60 digits unless it says otherwise).

use crate::table::{Row, Table};
use second_glance::colorimetry::{
    Illuminant, Lab, Observer, contrast_ratio, translucency_parameter, white_point, xyz,
};
use second_glance::optics::inverse::{Recovered, TwoBackings, from_two_backings};
use second_glance::optics::{Interface, Layer, Slab, TwoFluxMedium, fresnel, kubelka_munk};
use second_glance::optics::{free_stack, internal_reflectance};
use second_glance::spectrum::Spectrum;

/// Within `relative` of the value or `absolute` of it, whichever is wider.
fn assert_near(row: &Row, what: &str, got: f64, expected: f64, relative: f64, absolute: f64) {
    let allowed = absolute.max(relative * expected.abs());
    let off = (got - expected).abs();
    assert!(off <= allowed, "{}: {what} {got} not {expected} (off {off:e})", row.place());
}

#[test]
fn fresnel_reflectances() {
    let table = Table::read("fresnel.csv");
    for row in table.rows() {
        let n = row.number("n");
        let near = |what: &str, got: f64| {
            assert_near(&row, what, got, row.number(what), 0.0, 1e-14);
        };
        near("R_normal", fresnel::normal_reflectance(n));
        near("R_ext_diffuse", fresnel::external_diffuse(n));
        near("R_int_diffuse", fresnel::internal_diffuse(n));
    }
}

#[test]
fn kubelka_munk_layers() {
    for row in Table::read("kubelka_munk.csv").rows() {
        let [k, s, x, rg] = ["K", "S", "X", "Rg"].map(|c| row.number(c));
        let near = |what: &str, got: f64| {
            assert_near(&row, what, got, row.number(what), 1e-12, 1e-14);
        };
        let layer = kubelka_munk::layer(k, s, x);
        near("T", layer.transmittance);
        near("R0", layer.reflectance);
        near("R", kubelka_munk::over(layer, rg));
        near("R", kubelka_munk::layer_over(k, s, x, rg));
        let r_infinity = kubelka_munk::r_infinity(k, s);
        if row.text("R_inf") == "nan" {
            // K = S = 0: undefined, so any number will do.
            assert!(r_infinity.is_finite(), "{}", row.place());
        } else {
            near("R_inf", r_infinity);
        }
    }
}

#[test]
fn kubelka_munk_stacks() {
    for row in Table::read("kubelka_munk_stack.csv").rows() {
        let n_layers = row.number("n_layers") as usize;
        let numbers: Vec<[f64; 3]> = (1..=n_layers)
            .map(|i| ["K", "S", "X"].map(|c| row.number(&format!("{c}{i}"))))
            .collect();
        let media: Vec<TwoFluxMedium> = numbers
            .iter()
            .map(|&[k, s, _]| {
                TwoFluxMedium::new(Spectrum::constant(k), Spectrum::constant(s), 1.5).unwrap()
            })
            .collect();
        let layers: Vec<Layer<TwoFluxMedium>> = media
            .iter()
            .zip(&numbers)
            .map(|(medium, &[.., thickness_mm])| Layer { medium, thickness_mm })
            .collect();
        let near = |what: &str, got: f64| {
            assert_near(&row, what, got, row.number(what), 1e-12, 1e-14);
        };
        let substrate = Spectrum::constant(row.number("Rg"));
        near("R", internal_reflectance(&layers, &substrate)[40]);
        let free = free_stack(&layers);
        near("R_top", free.r_top[40]);
        near("R_bottom", free.r_bottom[40]);
        near("T", free.t[40]);
        // The same stack joined from the back, and seen over the substrate as one slab.
        let slab = numbers.iter().rev().fold(Slab::CLEAR, |below, &[k, s, x]| {
            Slab::from(kubelka_munk::layer(k, s, x)).on(below)
        });
        near("R_top", slab.r_top);
        near("R_bottom", slab.r_bottom);
        near("T", slab.t);
        near("R", slab.over(row.number("Rg")));
    }
}

#[test]
fn saunderson_corrections() {
    for row in Table::read("saunderson.csv").rows() {
        let n = row.number("n");
        let interface = match row.text("k1_kind") {
            "normal" => Interface::between_air_and(n),
            "diffuse" => Interface::between_air_and_lit_diffusely(n),
            other => panic!("{}: unknown k1_kind {other}", row.place()),
        };
        let near = |what: &str, got: f64| {
            assert_near(&row, what, got, row.number(what), 0.0, 1e-14);
        };
        near("k1", interface.k1);
        near("k2", interface.k2);
        let internal = row.number("R_internal");
        near("R_sci", interface.included(internal));
        near("R_sce", interface.excluded(internal));
        near("R_internal", interface.internal_from_included(row.number("R_sci")));
        near("R_internal", interface.internal_from_excluded(row.number("R_sce")));
    }
}

#[test]
fn inverse_from_two_backings() {
    // The file holds reflectances rounded to doubles. Rounding alone moves K and S by `floor`
    // below; a row where that exceeds a quarter of 1e-6 is ill conditioned, and no solver in
    // double precision could answer for 1e-6 there. Every row, well or ill conditioned, must reach
    // what its inputs allow, or 1e-12 where they allow more.
    let table = Table::read("km_inverse.csv");
    let mut ill_conditioned = Vec::new();
    for row in table.rows() {
        let r = TwoBackings {
            over_white: row.number("Rw"),
            over_black: row.number("Rb"),
            white: row.number("Rg_white"),
            black: row.number("Rg_black"),
        };
        let Recovered { k, s, conditioning } = from_two_backings(r, row.number("X"))
            .unwrap_or_else(|e| panic!("{}: {e}", row.place()));
        let (k_true, s_true) = (row.number("K"), row.number("S"));
        let k_floor = f64::EPSILON * conditioning.k_per_reflectance / k_true;
        let s_floor = f64::EPSILON * conditioning.s_per_reflectance / s_true;
        assert_near(&row, "K", k, k_true, (4.0 * k_floor).max(1e-12), 0.0);
        assert_near(&row, "S", s, s_true, (4.0 * s_floor).max(1e-12), 0.0);
        if k_floor.max(s_floor) > 0.25e-6 {
            ill_conditioned.push(row.place());
        }
    }
    // computed: the largest floor in the table as shipped is below 1e-12, so 1e-6 holds everywhere.
    assert!(ill_conditioned.is_empty(), "cannot vouch for 1e-6: {ill_conditioned:?}");
}

/// The material of a row of `translucency.csv`: K and S at 31 wavelengths.
fn synthetic_material(material: &str) -> Vec<[f64; 2]> {
    Table::read("translucency_materials.csv")
        .rows()
        .filter(|row| row.text("material") == material)
        .map(|row| [row.number("K"), row.number("S")])
        .collect()
}

#[test]
fn translucency_spectra_from_coefficients() {
    // Same order of material, background and interface in both files; each spectrum row stands
    // for the rows of translucency.csv that have its material and background.
    let thickness = |material: &str, background: &str, interface: &str| {
        let table = Table::read("translucency.csv");
        let found = table.rows().find(|row| {
            row.text("material") == material
                && row.text("background") == background
                && row.text("interface") == interface
        });
        let row = found.unwrap_or_else(|| panic!("material {material} over {background}"));
        let rg = |over: &str| row.number(if over == "white" { "Rg_white" } else { "Rg_black" });
        (row.number("thickness_mm"), rg("white"), rg("black"))
    };
    let n15 = Interface::between_air_and(1.5);
    let mut checked = 0;
    for row in Table::read("translucency_spectra.csv").rows() {
        let [material, background, interface] =
            ["material", "background", "interface"].map(|c| row.text(c).to_owned());
        let (mm, white, black) = thickness(&material, &background, &interface);
        let rg = if row.text("over") == "white" { white } else { black };
        let bands = synthetic_material(&material);
        assert_eq!(bands.len(), 31, "{}", row.place());
        for (i, [k, s]) in bands.into_iter().enumerate() {
            let internal = kubelka_munk::layer_over(k, s, mm, rg);
            let seen = match interface.as_str() {
                "none" => internal,
                "saunderson" => n15.included(internal),
                other => panic!("{}: unknown interface {other}", row.place()),
            };
            let column = format!("r{}", 400 + 10 * i);
            assert_near(&row, &column, seen, row.number(&column), 1e-9, 1e-12);
            checked += 1;
        }
    }
    assert!(checked >= 31 * 20, "{checked}");
}

#[test]
fn translucency_from_coefficients() {
    // The whole way from K and S to TP, TP00 and CR, without the file's own spectra.
    let mut checked = 0;
    let table = Table::read("translucency.csv");
    for row in table.rows() {
        let bands = synthetic_material(row.text("material"));
        let surface = match row.text("interface") {
            "none" => Interface::NONE,
            "saunderson" => Interface::between_air_and(1.5),
            other => panic!("{}: unknown interface {other}", row.place()),
        };
        let observer = match row.text("observer") {
            "2deg" => Observer::Cie1931,
            "10deg" => Observer::Cie1964,
            other => panic!("{}: unknown observer {other}", row.place()),
        };
        assert_eq!(row.text("illuminant"), "D65", "{}", row.place());
        let seen = |rg: f64| {
            let mm = row.number("thickness_mm");
            let measured: Vec<f64> = bands
                .iter()
                .map(|&[k, s]| surface.included(kubelka_munk::layer_over(k, s, mm, rg)))
                .collect();
            // Ends held outside 400 to 700 nm, straight lines between: the file's method.
            let spectrum = Spectrum::from_regular(400.0, 10.0, &measured).unwrap();
            let colour = xyz(&spectrum, Illuminant::D65, observer);
            (Lab::from_xyz(colour, white_point(Illuminant::D65, observer)), colour.y)
        };
        let (white, y_white) = seen(row.number("Rg_white"));
        let (black, y_black) = seen(row.number("Rg_black"));
        let tp = translucency_parameter(white, black);
        assert_near(&row, "TP", tp.tp, row.number("TP"), 0.0, 1e-6);
        assert_near(&row, "TP00", tp.tp00, row.number("TP00"), 0.0, 1e-6);
        assert_near(&row, "CR", contrast_ratio(y_black, y_white), row.number("CR"), 0.0, 1e-6);
        checked += 1;
    }
    assert_eq!(checked, table.len());
}
