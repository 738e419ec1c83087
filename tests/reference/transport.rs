//! Radiative transfer tables: `adding_doubling`, `adding_doubling_stack`,
//! `adding_doubling_published`.
//!
//! Expected values come from the files, whose heads state their sources: a discrete-ordinate
//! solver, published tables, and exact theory. Tolerance 1e-4, as the files suggest.

use crate::table::{Row, Table};
use second_glance::optics::transport::{BandLayer, STREAMS_PER_BAND, free, over_backing};

const TOLERANCE: f64 = 1e-4;

#[track_caller]
fn near(row: &Row, what: &str, got: f64, expected: f64) {
    let off = (got - expected).abs();
    assert!(off <= TOLERANCE, "{}: {what} {got} not {expected} (off {off:e})", row.place());
}

/// Layer of albedo `a`, optical depth `b` and anisotropy `g`.
fn layer(a: f64, b: f64, anisotropy: f64, refractive_index: f64) -> BandLayer {
    BandLayer { absorption: (1.0 - a) * b, scattering: a * b, anisotropy, refractive_index }
}

#[test]
fn slabs() {
    let table = Table::read("adding_doubling.csv");
    assert!(table.len() >= 100);
    for row in table.rows() {
        let [n, g, a, b] = ["n", "g", "a", "b"].map(|c| row.number(c));
        let layers = [layer(a, b, g, n)];
        let near = |what: &str, got: f64| near(&row, what, got, row.number(what));
        if row.text("Rg").is_empty() {
            let slab = free(&layers, STREAMS_PER_BAND);
            near("UR1", slab.reflectance.normal);
            near("URU", slab.reflectance.diffuse);
            near("UT1", slab.transmittance_normal);
            near("UTU", slab.transmittance_diffuse);
        } else {
            let r = over_backing(&layers, row.number("Rg"), STREAMS_PER_BAND);
            near("UR1", r.normal);
            near("URU", r.diffuse);
        }
    }
}

#[test]
fn stacks() {
    let table = Table::read("adding_doubling_stack.csv");
    assert!(table.len() >= 30);
    for row in table.rows() {
        let n = row.number("n");
        let layers: Vec<BandLayer> = (1..=row.number("n_layers") as usize)
            .map(|i| {
                let [a, b, g] = ["a", "b", "g"].map(|c| row.number(&format!("{c}{i}")));
                layer(a, b, g, n)
            })
            .collect();
        let r = over_backing(&layers, row.number("Rg"), STREAMS_PER_BAND);
        near(&row, "UR1", r.normal, row.number("UR1"));
        near(&row, "URU", r.diffuse, row.number("URU"));
    }
}

#[test]
fn published_values() {
    let table = Table::read("adding_doubling_published.csv");
    assert!(table.len() >= 15);
    for row in table.rows() {
        let [n, g, a, b] = ["n", "g", "a", "b"].map(|c| row.number(c));
        let slab = free(&[layer(a, b, g, n)], STREAMS_PER_BAND);
        let got = match row.text("quantity") {
            "UR1" => slab.reflectance.normal,
            "URU" => slab.reflectance.diffuse,
            "UT1" => slab.transmittance_normal,
            "UTU" => slab.transmittance_diffuse,
            other => panic!("{}: unknown quantity {other}", row.place()),
        };
        // Giovanelli's value is printed to two decimals.
        let printed = if row.text("source") == "Giovanelli_1955" { 5e-3 } else { 0.0 };
        let expected = row.number("reference");
        let off = (got - expected).abs();
        assert!(off <= TOLERANCE + printed, "{}: {got} not {expected}", row.place());
    }
}
