use super::*;
use crate::scene::{Ceramic, Cure, Drift, Preparation, Thickness, Tooth};

fn restoration(body_mm: f64, translucency: Translucency) -> Restoration {
    Restoration {
        tooth: Tooth::new(11).unwrap(),
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: "lithium-disilicate".to_owned(),
            translucency,
            shade: Lch { l: 78.0, c: 14.0, h: 88.0 },
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm: 0.1, neck_mm: 0.3, body_mm, incisal_mm: 0.7 },
        cement: "clear".to_owned(),
        cement_film_mm: 0.05,
        prepared_tooth: "severely-dark".to_owned(),
        drift: None,
    }
}

fn truth(dl00: f64, dc00: f64, dh00: f64) -> Truth {
    let de00 = (dl00 * dl00 + dc00 * dc00 + dh00 * dh00).sqrt();
    let difference = ZoneDifference { de00, dl00, dc00, dh00 };
    Truth {
        tooth: Tooth::new(11).unwrap(),
        difference,
        zones: [difference; 3],
        percentiles: [de00; 3],
        contralateral: difference,
    }
}

/// A natural tooth: `S_L` is 1.37 there and `S_C` 1.72.
const BODY: Lch = Lch { l: 75.0, c: 16.0, h: 88.0 };

fn check(
    parts: (f64, f64, f64),
    recipe: (f64, Translucency),
    prepared: (f64, f64),
    shade_minus_body: (f64, f64),
    expected: &str,
) {
    check_with(WhatIf::default(), parts, recipe, prepared, shade_minus_body, expected);
}

fn check_with(
    what_if: WhatIf,
    parts: (f64, f64, f64),
    recipe: (f64, Translucency),
    (prepared_minus_body_lightness, prepared_share): (f64, f64),
    shade_minus_body: (f64, f64),
    expected: &str,
) {
    let truth = truth(parts.0, parts.1, parts.2);
    let restoration = restoration(recipe.0, recipe.1);
    let facts = CauseFacts {
        truth: &truth,
        restoration: &restoration,
        body: BODY,
        prepared_minus_body_lightness,
        prepared_share,
        shade_minus_body,
        at_seating: None,
        what_if,
    };
    assert_eq!(cause_sentence(&facts), expected);
}

// The expected layer of each case is common practice, no source.

#[test]
fn a_dark_tooth_shows_through_a_thin_translucent_veneer() {
    check(
        (-1.6, 0.3, -0.2),
        (0.5, Translucency::High),
        (-20.0, 0.35),
        (0.0, 0.0),
        "1.6 ΔL00 too dark: the prepared tooth shows through 0.5 mm of high-translucency ceramic.",
    );
    // Still the prepared tooth when a brighter shade did not make up for it.
    check(
        (-1.2, 0.0, 0.0),
        (0.35, Translucency::Medium),
        (-20.0, 0.35),
        (4.0, 0.0),
        "1.2 ΔL00 too dark: the prepared tooth shows through 0.35 mm of medium-translucency \
         ceramic.",
    );
}

#[test]
fn too_opaque_and_too_light() {
    check(
        (2.4, -0.5, 0.0),
        (1.0, Translucency::Low),
        (-15.0, 0.05),
        (4.0, -1.0),
        "2.4 ΔL00 too light: 1.0 mm of low-translucency ceramic hides what is beneath and its \
         shade is 4.0 L* lighter than the tooth.",
    );
}

#[test]
fn the_shade_itself_is_too_dark() {
    check(
        (-2.0, 0.0, 0.0),
        (0.8, Translucency::Medium),
        (1.0, 0.2),
        (-3.0, 0.0),
        "2.0 ΔL00 too dark: the ceramic's shade is 3.0 L* darker than the tooth.",
    );
}

#[test]
fn a_light_prepared_tooth_shows_through() {
    check(
        (1.1, 0.0, 0.0),
        (0.3, Translucency::High),
        (6.0, 0.5),
        (0.0, 0.0),
        "1.1 ΔL00 too light: the light prepared tooth shows through 0.3 mm of high-translucency \
         ceramic.",
    );
}

#[test]
fn right_value_wrong_chroma() {
    check(
        (0.2, -1.9, 0.1),
        (1.0, Translucency::Low),
        (-4.0, 0.1),
        (0.0, -5.0),
        "1.9 ΔC00 too weak in chroma: the ceramic's shade has 5.0 C* less chroma than the tooth.",
    );
    // Over a prepared tooth of its own colour a third of it would be left.
    let left = ZoneDifference { de00: 0.5, dl00: 0.0, dc00: 0.5, dh00: 0.0 };
    check_with(
        WhatIf { like_tooth: Some(left), ..WhatIf::default() },
        (-0.3, 1.5, 0.4),
        (0.4, Translucency::High),
        (-6.0, 0.4),
        (0.0, -2.0),
        "1.5 ΔC00 too strong in chroma: colour of the prepared tooth comes through 0.4 mm of \
         high-translucency ceramic.",
    );
}

#[test]
fn a_second_perceptible_part_is_named() {
    check(
        (-2.0, 1.2, 0.0),
        (0.5, Translucency::High),
        (-20.0, 0.35),
        (0.0, 0.0),
        "2.0 ΔL00 too dark and 1.2 ΔC00 too strong in chroma: the prepared tooth shows through 0.5 mm \
         of high-translucency ceramic.",
    );
}

#[test]
fn below_what_most_people_notice() {
    check(
        (-0.7, 0.0, 0.0),
        (0.5, Translucency::High),
        (-20.0, 0.35),
        (0.0, 0.0),
        "A restoration was there, below what most people notice: \"none\" was a fair call.",
    );
}

#[test]
fn no_layer_is_blamed_without_evidence() {
    // Too dark, yet the prepared tooth and the shade are both lighter.
    check(
        (-1.5, 0.0, 0.0),
        (0.5, Translucency::High),
        (5.0, 0.4),
        (2.0, 0.0),
        "1.5 ΔL00 too dark: no single cause was found; ceramic, cement and prepared tooth add \
         up to it.",
    );
}

#[test]
fn a_cause_explains_most_of_its_effect() {
    // A shade 0.7 C* or L* off is no cause of ten times as much, nor a prepared tooth that 1 L* of
    // is seen; worked by hand from the weights of the body: half of 8 ΔL00 is 5.5 L*.
    let nothing = "no single cause was found; ceramic, cement and prepared tooth add up to it.";
    let thick = (1.0, Translucency::Low);
    check(
        (-8.0, 0.0, 0.0),
        thick,
        (-10.0, 0.1),
        (-0.7, 0.0),
        &format!("8.0 ΔL00 too dark: {nothing}"),
    );
    check(
        (-8.0, 0.0, 0.0),
        thick,
        (-10.0, 0.5),
        (-0.7, 0.0),
        &format!("8.0 ΔL00 too dark: {nothing}"),
    );
    check(
        (0.0, -7.0, 0.0),
        thick,
        (0.0, 0.1),
        (0.0, -0.7),
        &format!("7.0 ΔC00 too weak in chroma: {nothing}"),
    );
    check(
        (0.0, 0.0, 2.0),
        thick,
        (-10.0, 0.4),
        (0.0, 0.0),
        &format!("2.0 ΔH00 too greenish: {nothing}"),
    );
    check(
        (-8.0, 0.0, 0.0),
        thick,
        (-10.0, 0.1),
        (-7.0, 0.0),
        "8.0 ΔL00 too dark: 1.0 mm of low-translucency ceramic hides what is beneath and its shade is \
         7.0 L* darker than the tooth.",
    );
}

#[test]
fn drift_is_named_when_it_is_the_larger_half() {
    let truth = truth(-2.0, 1.2, 0.1);
    let drift = Drift { months: 24.0, cure: Cure::LightCured, deviate: 0.0 };
    let restoration = Restoration { drift: Some(drift), ..restoration(0.3, Translucency::High) };
    let sentence = |dl00: f64| {
        cause_sentence(&CauseFacts {
            truth: &truth,
            restoration: &restoration,
            body: BODY,
            prepared_minus_body_lightness: -20.0,
            prepared_share: 0.35,
            shade_minus_body: (0.0, 0.0),
            at_seating: Some(ZoneDifference { de00: dl00.abs(), dl00, dc00: 0.0, dh00: 0.0 }),
            what_if: WhatIf::default(),
        })
    };
    assert_eq!(
        sentence(-0.4),
        "2.0 ΔL00 too dark and 1.2 ΔC00 too strong in chroma: the light-cured cement has changed colour \
         in 24 months and shows through 0.3 mm of high-translucency ceramic; at seating it \
         was 0.4 ΔL00 too dark."
    );
    assert!(sentence(0.0).ends_with("; at seating it matched."));
    // It was lighter than its twin and is darker now.
    assert!(sentence(0.5).ends_with("; at seating it was 0.5 ΔL00 too light."));
    // It was nearly as dark from the start.
    assert!(sentence(-1.5).contains("the prepared tooth shows through"), "{}", sentence(-1.5));
}
