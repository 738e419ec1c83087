//! The one-sentence cause on cases whose cause is known because they were built with it.
//!
//! Which layer is to blame in each is common practice, no source; every case is baked, and the
//! sentence is the one that a learner reads.

use second_glance::bake::{BakedScene, bake};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::material::Library;
use second_glance::report;
use second_glance::scene::{
    Case, Ceramic, Cure, Drift, NaturalTooth, Patient, Preparation, Restoration, Staging,
    Thickness, Tooth, Translucency,
};
use second_glance::trial::Response;

const TARGET: Lch = Lch { l: 75.0, c: 16.0, h: 88.0 };

fn tooth(number: u8) -> Tooth {
    Tooth::new(number).unwrap()
}

fn veneer(class: &str, translucency: Translucency, shade: Lch, mm: [f64; 4]) -> Restoration {
    let [margin_mm, neck_mm, body_mm, incisal_mm] = mm;
    Restoration {
        tooth: tooth(11),
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: class.to_owned(),
            translucency,
            shade,
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm, neck_mm, body_mm, incisal_mm },
        cement: "clear".to_owned(),
        cement_film_mm: 0.05,
        prepared_tooth: "mid-yellow".to_owned(),
        drift: None,
    }
}

fn case(restoration: Restoration) -> Case {
    case_of(TARGET, restoration)
}

fn case_of(body: Lch, restoration: Restoration) -> Case {
    let teeth = [11, 21]
        .map(|number| NaturalTooth {
            tooth: tooth(number),
            body,
            enamel_factor: 1.0,
            residual_de00: 0.0,
        })
        .to_vec();
    Case {
        seed: 5,
        patient: Patient { teeth, gingiva: Lch { l: 51.0, c: 33.0, h: 34.0 } },
        restorations: vec![restoration],
        shift: None,
        illuminant: Illuminant::D65,
        staging: Staging::default(),
    }
}

/// The colour that a restoration has in its middle third: on a tooth of that colour it is right.
fn middle_of(library: &Library, restoration: &Restoration) -> Lch {
    let natural = case(restoration.clone()).patient.teeth[0];
    let estimator =
        second_glance::bake::Estimator::new(&natural, 5, Illuminant::D65, library).unwrap();
    let body = Lch::from(estimator.zones(restoration).unwrap()[1]);
    let natural = NaturalTooth { body, ..natural };
    second_glance::bake::within_reach(&natural, 5, library).unwrap().body
}

fn told(library: &Library, restoration: Restoration) -> (BakedScene, String) {
    told_of(library, TARGET, restoration)
}

fn told_of(library: &Library, body: Lch, restoration: Restoration) -> (BakedScene, String) {
    let case = case_of(body, restoration);
    let scene = bake(&case, library).unwrap();
    let sentence = report::explain(&case, &scene, Response::None, library).unwrap().unwrap();
    println!("{sentence}\n    {:?}", scene.truth.as_ref().unwrap().zones);
    (scene, sentence)
}

/// The shade of the lattice that comes nearest in value in the middle third.
fn nearest_value(library: &Library, restoration: &Restoration) -> Restoration {
    let tooth = case(restoration.clone()).patient.teeth[0];
    let estimator =
        second_glance::bake::Estimator::new(&tooth, 5, Illuminant::D65, library).unwrap();
    let shades = library.shades(&restoration.ceramic.class, restoration.ceramic.translucency);
    shades
        .into_iter()
        .filter(|shade| (shade.c - 15.0).abs() < 1.0)
        .map(|shade| {
            let mut varied = restoration.clone();
            varied.ceramic.shade = shade;
            (estimator.differences(&varied).unwrap()[1].dl00.abs(), varied)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap()
        .1
}

#[test]
fn a_dark_prepared_tooth_shows_through() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    let thin = veneer("lithium-disilicate", Translucency::High, shade, [0.4, 0.5, 0.5, 0.6]);
    let dark = Restoration { prepared_tooth: "grey-brown".to_owned(), ..thin };
    let (_, sentence) = told(&library, dark);
    assert!(sentence.contains("too dark"), "{sentence}");
    assert!(
        sentence.contains("the prepared tooth shows through 0.5 mm of high-translucency ceramic"),
        "{sentence}"
    );
}

#[test]
fn too_opaque() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 78.0, c: 15.0, h: 90.0 };
    let class = "lithium-disilicate";
    let mut right = veneer(class, Translucency::High, shade, [0.4, 0.5, 0.5, 0.6]);
    right.prepared_tooth = "grey-brown".to_owned();
    let body = middle_of(&library, &right);
    // Right in high translucency, then milled from a block that hides more.
    let mut milled = right;
    milled.ceramic.translucency = Translucency::Low;
    let (_, sentence) = told_of(&library, body, milled);
    assert!(sentence.contains("too light"), "{sentence}");
    assert!(sentence.contains("too opaque: 0.5 mm of low-translucency ceramic"), "{sentence}");
}

#[test]
fn right_value_and_wrong_chroma() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 10.0, h: 94.0 };
    let mut crown = veneer("lithium-disilicate", Translucency::Low, shade, [0.6, 1.2, 1.5, 1.5]);
    crown.preparation = Preparation::Crown;
    let tuned = nearest_value(&library, &crown).ceramic.shade.l;
    crown.ceramic.shade.l = tuned;
    let (scene, sentence) = told(&library, crown);
    let truth = scene.truth.unwrap();
    assert!(truth.difference.dl00.abs() < truth.difference.dc00.abs(), "{truth:?}");
    assert!(sentence.contains("too weak in chroma: the ceramic's shade has"), "{sentence}");
}

#[test]
fn the_cement_is_too_light() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    let thin = veneer("feldspathic", Translucency::High, shade, [0.3, 0.3, 0.3, 0.5]);
    // Right on clear cement, then seated on the lightest one.
    let right = nearest_value(&library, &thin);
    let seated = Restoration { cement: "opaque-light".to_owned(), ..right };
    let (_, sentence) = told(&library, seated);
    assert!(
        sentence.contains("too light: the opaque light cement is too light under 0.3 mm")
            || sentence.contains(": the opaque light cement is too light under 0.3 mm"),
        "{sentence}"
    );
}

#[test]
fn too_thin_at_the_neck() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 78.0, c: 15.0, h: 90.0 };
    let class = "lithium-disilicate";
    let mut even = veneer(class, Translucency::Low, shade, [0.9, 0.9, 0.9, 0.9]);
    even.prepared_tooth = "grey-brown".to_owned();
    let body = middle_of(&library, &even);
    let mut thin = even.clone();
    thin.thickness.margin_mm = 0.05;
    thin.thickness.neck_mm = 0.15;
    let (_, sentence) = told_of(&library, body, thin);
    assert!(
        sentence.contains("too dark at the neck: 0.15 mm of ceramic is too thin there"),
        "{sentence}"
    );
    // As thick at the neck as elsewhere, the neck is not blamed.
    let (_, sentence) = told_of(&library, body, even);
    assert!(!sentence.contains("at the neck"), "{sentence}");
}

#[test]
fn drift() {
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    let thin = veneer("feldspathic", Translucency::High, shade, [0.3, 0.3, 0.3, 0.5]);
    let mut aged = nearest_value(&library, &thin);
    aged.drift = Some(Drift { months: 24.0, cure: Cure::LightCured, deviate: 0.8 });
    let (_, sentence) = told(&library, aged);
    assert!(
        sentence.contains("the light-cured cement has changed colour in 24 months"),
        "{sentence}"
    );
}

#[test]
fn a_shade_that_is_wrong_is_called_wrong() {
    // None of the new causes takes the place of the plain one.
    let library = Library::shipped().unwrap();
    let shade = Lch { l: 68.0, c: 15.0, h: 90.0 };
    let mut crown = veneer("lithium-disilicate", Translucency::Low, shade, [0.6, 1.2, 1.5, 1.5]);
    crown.preparation = Preparation::Crown;
    let (_, sentence) = told(&library, crown);
    assert!(
        sentence.contains("its shade is 7.0 L* darker than the tooth")
            || sentence.contains("the ceramic's shade is 7.0 L* darker"),
        "{sentence}"
    );
}
