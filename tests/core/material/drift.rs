//! Drift after seating: as large, as spread and as directed as published, through the real optics.

use crate::shared::levels::shipped_levels;
use rand::RngExt;
use rayon::prelude::*;
use second_glance::bake::{Estimator, bake};
use second_glance::colorimetry::{
    ACCEPTABILITY_DE00, Difference, Illuminant, Lab, Lch, Observer, ciede2000, de76,
};
use second_glance::level;
use second_glance::material::{Library, ageing::added_absorption_per_mm};
use second_glance::optics::transport::CEMENT_JOINT;
use second_glance::optics::{Engine, Layer};
use second_glance::random::{Purpose, StreamKey};
use second_glance::report::explain;
use second_glance::scene::{
    Ceramic, Cure, Drift, NaturalTooth, Preparation, Restoration, Thickness, Tooth, Translucency,
};
use second_glance::spectrum::Spectrum;
use second_glance::trial::Response;

/// Median and interquartile range, ΔE00, of 0.3 mm veneers after 24 months (n = 10 each):
/// Marchionatti et al., J Prosthet Dent 2017, PubMed 28385431. Quartiles themselves are not given.
const PUBLISHED: [(Cure, f64, f64); 2] =
    [(Cure::LightCured, 1.65, 2.34), (Cure::DualCured, 1.18, 0.25)];

/// The veneer that the model is calibrated on, with another thickness.
fn veneer(mm: f64, translucency: Translucency) -> Restoration {
    Restoration {
        tooth: Tooth::new(11).unwrap(),
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: "feldspathic".to_owned(),
            translucency,
            shade: Lch { l: 76.0, c: 15.0, h: 90.0 },
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm: 0.1, neck_mm: mm, body_mm: mm, incisal_mm: mm },
        cement: "clear".to_owned(),
        cement_film_mm: 0.05,
        prepared_tooth: "light".to_owned(),
        drift: None,
    }
}

fn estimator(library: &Library) -> Estimator<'_> {
    let natural = NaturalTooth {
        tooth: Tooth::new(11).unwrap(),
        body: Lch { l: 75.0, c: 16.0, h: 88.0 },
        enamel_factor: 1.0,
        residual_de00: 0.0,
    };
    Estimator::new(&natural, 1, Illuminant::D65, library).unwrap()
}

/// Colour of the body third of a central incisor.
fn body(estimator: &Estimator<'_>, veneer: &Restoration) -> Lab {
    estimator.zones(veneer).unwrap()[1]
}

/// Flat veneer, cement and 10 mm of prepared tooth before black, as many thicknesses as wanted.
struct Flat<'a> {
    library: &'a Library,
    seated: Restoration,
    at_seating: Lab,
}

impl<'a> Flat<'a> {
    fn new(library: &'a Library, seated: Restoration) -> Self {
        let at_seating = Self::colour(library, &seated);
        Self { library, seated, at_seating }
    }

    fn colour(library: &Library, veneer: &Restoration) -> Lab {
        let ceramic = library.ceramic_at(&veneer.ceramic, 0.5).unwrap();
        let cement = library.seated_cement(veneer).unwrap();
        let prepared = library.prepared_tooth(&veneer.prepared_tooth).unwrap();
        let layers = [
            Layer { medium: &ceramic, thickness_mm: veneer.thickness.body_mm },
            Layer { medium: &*cement, thickness_mm: veneer.cement_film_mm },
            Layer { medium: &*prepared, thickness_mm: 10.0 },
        ];
        let engine = Engine::RadiativeTransfer { tables: library.tables(), joint: CEMENT_JOINT };
        let reflectance = engine.reflectance(&layers, &Spectrum::constant(0.03));
        Lab::from_reflectance(&reflectance, Illuminant::D65, Observer::Cie1931)
    }

    fn later(&self, drift: Drift) -> Lab {
        Self::colour(self.library, &Restoration { drift: Some(drift), ..self.seated.clone() })
    }

    fn change(&self, drift: Drift) -> Difference {
        ciede2000(self.at_seating, self.later(drift))
    }
}

fn drawn(cure: Cure, case: u32) -> Drift {
    let key =
        StreamKey { form: "drift-test", seed: 7, purpose: Purpose::Drift, block: 0, trial: case };
    Drift::at_quantile(24.0, cure, key.stream().random())
}

/// The value a share of the way up a sorted list.
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

#[test]
fn thin_veneers_change_as_published_after_24_months() {
    let library = Library::shipped().unwrap();
    let reference = Flat::new(&library, veneer(0.3, Translucency::High));
    for (cure, median, spread) in PUBLISHED {
        let cases: Vec<Difference> =
            (0..1000).into_par_iter().map(|case| reference.change(drawn(cure, case))).collect();
        let mut sizes: Vec<f64> = cases.iter().map(|difference| difference.de00).collect();
        sizes.sort_by(f64::total_cmp);
        let [low, middle, high] = [0.25, 0.5, 0.75].map(|share| quantile(&sizes, share));
        println!("{cure:?}: {low:.3} {middle:.3} {high:.3}, to {:.2}", sizes[sizes.len() - 1]);
        // 1000 draws leave 4 % of standard error in the median and in the range (light-cured).
        assert!((middle / median - 1.0).abs() < 0.06, "{cure:?}: median {middle}");
        assert!(((high - low) / spread - 1.0).abs() < 0.08, "{cure:?}: {low} to {high}");
        // Low in value: common practice, no source. Yellower: Oper Dent 2019;44:648 (composites).
        assert!(cases.iter().all(|d| d.dl00 < 0.0 && d.dl00.abs() > d.dc00.abs()), "{cure:?}");
        assert!(cases.iter().all(|d| d.dc00 > 0.0), "{cure:?}");
        // On a tooth, the body third changes alike.
        let estimator = estimator(&library);
        let drift = Drift { months: 24.0, cure, deviate: 0.0 };
        let seated = veneer(0.3, Translucency::High);
        let now = Restoration { drift: Some(drift), ..seated.clone() };
        let on_tooth = ciede2000(body(&estimator, &seated), body(&estimator, &now));
        println!("on a tooth {on_tooth:.3?}");
        assert!((on_tooth.de00 / median - 1.0).abs() < 0.1, "{on_tooth:?}");
    }
}

#[test]
fn thicker_and_more_opaque_ceramic_drifts_less() {
    // Follows from where the pigment lies; common practice, no source.
    let library = Library::shipped().unwrap();
    for cure in [Cure::LightCured, Cure::DualCured] {
        let drift = Drift { months: 24.0, cure, deviate: 0.0 };
        let of = |mm: f64, translucency| {
            Flat::new(&library, veneer(mm, translucency)).change(drift).de00
        };
        let by_thickness = [0.3, 0.5, 0.8, 1.0, 1.5].map(|mm| of(mm, Translucency::High));
        println!("{cure:?}: {by_thickness:.3?}");
        assert!(by_thickness.is_sorted_by(|a, b| a > b), "{by_thickness:?}");
        assert!(by_thickness[3] < 0.6 * by_thickness[0], "{by_thickness:?}");
        let (low, high) = (of(0.5, Translucency::Low), of(0.5, Translucency::High));
        assert!(low < high, "{low} {high}");
        let zirconia = Restoration {
            ceramic: Ceramic {
                class: "zirconia".to_owned(),
                ..veneer(1.0, Translucency::Low).ceramic
            },
            ..veneer(1.0, Translucency::Low)
        };
        let opaque = Flat::new(&library, zirconia).change(drift).de00;
        assert!(opaque < by_thickness[3], "{opaque}");
    }
}

#[test]
fn change_grows_with_time() {
    let library = Library::shipped().unwrap();
    let flat = Flat::new(&library, veneer(0.5, Translucency::High));
    let sizes = [0.0, 1.0, 6.0, 12.0, 24.0, 36.0].map(|months| {
        let drift = Drift { months, cure: Cure::LightCured, deviate: 0.0 };
        de76(flat.at_seating, flat.later(drift))
    });
    println!("0.5 mm, ΔEab after 0, 1, 6, 12, 24, 36 months: {sizes:.2?}");
    assert!(sizes[0] < 1e-12 && sizes.is_sorted_by(|a, b| a < b), "{sizes:?}");
    // Most of it comes in the first month: 2.48 of 3.55 ΔEab, Pissaia et al., PLoS ONE
    // 2019;14:e0219183, 0.5 mm feldspathic, light-cured, in water. Only the ratio is compared.
    assert!((sizes[1] / sizes[5] / (2.48 / 3.55) - 1.0).abs() < 0.05, "{sizes:?}");
}

#[test]
fn the_shipped_level_shows_matches_that_drifted() {
    let library = Library::shipped().unwrap();
    let level = shipped_levels().into_iter().find(|level| level.id == "two-years-later").unwrap();
    let plan = level::lower(&level, &library, level.seed, Some(12)).unwrap();
    let (mut matched, mut signals, mut blamed) = (0, 0, 0);
    for case in plan.trials.iter().map(|trial| &trial.case) {
        let Some(restoration) = case.restoration() else { continue };
        assert!(restoration.drift.is_some());
        let tooth = case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth).unwrap();
        let estimator = Estimator::new(tooth, case.seed, level.light, &library).unwrap();
        let seated = Restoration { drift: None, ..restoration.clone() };
        let before = estimator.difference(&seated).unwrap();
        let now = estimator.difference(restoration).unwrap();
        assert!(now.dl00 < before.dl00, "{before:?} {now:?}");
        signals += 1;
        matched += u32::from(before.de00 <= ACCEPTABILITY_DE00);
        if signals == 1 {
            // The baked truth holds the drift too.
            let of = |restoration: &Restoration| {
                let restorations = vec![restoration.clone()];
                let case = second_glance::scene::Case { restorations, ..case.clone() };
                bake(&case, &library).unwrap()
            };
            let (fresh, drifted) = (of(&seated), of(restoration));
            assert!(fresh.truth.unwrap().difference.dl00 > drifted.truth.unwrap().difference.dl00);
        }
        if now.dl00 < -0.8 && now.dl00 < 2.5 * before.dl00 && blamed == 0 {
            let scene = bake(case, &library).unwrap();
            let sentence = explain(case, &scene, Response::None, &library).unwrap().unwrap();
            println!("{sentence}");
            assert!(sentence.contains("-cured cement has changed colour in 24 months"));
            blamed += 1;
        }
    }
    println!("{matched} of {signals} matched at seating");
    assert!(f64::from(matched) >= 0.9 * f64::from(signals), "{matched} of {signals}");
    assert_eq!(blamed, 1);
}

/// Prints the constants of `material::ageing` that go with the published numbers. For use after a
/// change of the reference veneer's optics.
#[test]
#[ignore = "prints a calibration"]
fn calibrate_drift() {
    let library = Library::shipped().unwrap();
    let reference = Flat::new(&library, veneer(0.3, Translucency::High));
    // Amount of pigment, its logarithm, against the change. The course of time widens the range.
    let mut curve = Vec::new();
    for (months, from) in [(1.0 / 730.5, -60), (24.0, -55)] {
        for i in from..=60 {
            let drift = Drift { months, cure: Cure::LightCured, deviate: f64::from(i) / 40.0 };
            let later = reference.later(drift);
            let difference = ciede2000(reference.at_seating, later);
            let amount = added_absorption_per_mm(&drift);
            if i % 20 == 0 {
                let was = reference.at_seating;
                let moved = [later.l - was.l, later.a - was.a, later.b - was.b];
                println!("{amount:.3}/mm: {:.2} ΔE00, Lab {moved:.2?}", difference.de00);
            }
            curve.push((amount.ln(), difference.de00));
        }
    }
    curve.sort_by(|a: &(f64, f64), b| a.0.total_cmp(&b.0));
    let size = |log: f64| {
        let i = curve.partition_point(|point| point.0 < log).clamp(1, curve.len() - 1);
        let ((x0, y0), (x1, y1)) = (curve[i - 1], curve[i]);
        y0 + (log - x0) / (x1 - x0) * (y1 - y0)
    };
    let bisect = |rises: &dyn Fn(f64) -> f64, mut low: f64, mut high: f64| {
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if rises(middle) < 0.0 { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    };
    // Quartiles of a normal deviate: definition.
    let quartile = 0.674_489_750_196_081_7;
    for (cure, median, spread) in PUBLISHED {
        let log = bisect(&|x| size(x) - median, curve[0].0, curve[curve.len() - 1].0);
        let sd =
            bisect(&|sd| size(log + quartile * sd) - size(log - quartile * sd) - spread, 0.0, 2.0);
        println!("{cure:?}: median {:.4}/mm, log SD {sd:.4}", log.exp());
    }
}
