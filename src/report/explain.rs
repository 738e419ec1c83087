//! From a case and its baked scene to the sentence that explains it.

use super::cause::{CauseFacts, WhatIf, cause_sentence};
use super::false_alarm::false_alarm_sentence;
use crate::bake::{BakeError, BakedScene, Condition, Estimator, Truth, ZoneDifference};
use crate::material::{Library, own_tooth};
use crate::scene::{Case, NaturalTooth, Restoration, Translucency};
use crate::trial::Response;

/// One plain sentence on a finished trial: why the restoration looked as it did, or, where there
/// was none, how the tooth that was named differs from its fellows. `None` where there is nothing
/// to explain.
///
/// # Errors
/// [`BakeError`] when the case names a material that the library does not have.
pub fn explain(
    case: &Case,
    scene: &BakedScene,
    response: Response,
    library: &Library,
) -> Result<Option<String>, BakeError> {
    let worst = scene.truth.as_ref().and_then(|truth| {
        let restoration = case.restorations.iter().find(|r| r.tooth == truth.tooth)?;
        Some((restoration, truth))
    });
    let Some((restoration, truth)) = worst else {
        return Ok(match response {
            Response::Tooth(tooth) => Some(false_alarm_sentence(tooth, &lightness(scene))),
            Response::None | Response::Timeout => None,
        });
    };
    let Some(tooth) = case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth) else {
        return Ok(None);
    };
    cause_of(case, tooth, restoration, truth, library).map(Some)
}

/// One plain sentence on why a restoration of a natural tooth looks as its truth says.
///
/// # Errors
/// [`BakeError`] when the restoration names a material that the library does not have.
pub fn cause_of(
    case: &Case,
    tooth: &NaturalTooth,
    restoration: &Restoration,
    truth: &Truth,
    library: &Library,
) -> Result<String, BakeError> {
    Ok(cause_sentence(&facts(case, tooth, restoration, truth, library)?))
}

/// L* of the middle third of every natural tooth in view, as displayed.
fn lightness(scene: &BakedScene) -> Vec<(crate::scene::Tooth, f64)> {
    scene
        .teeth
        .iter()
        .filter_map(|baked| {
            let [_, body, _] = scene.zone_labs(baked.tooth, Condition::Twin)?;
            Some((baked.tooth, body.l))
        })
        .collect()
}

fn facts<'a>(
    case: &Case,
    tooth: &NaturalTooth,
    restoration: &'a Restoration,
    truth: &'a Truth,
    library: &Library,
) -> Result<CauseFacts<'a>, BakeError> {
    let prepared = library.prepared_tooth_entry(&restoration.prepared_tooth)?.colour.l;
    let shade = restoration.ceramic.shade;
    let estimator = Estimator::new(tooth, case.seed, case.illuminant, library)?;
    Ok(CauseFacts {
        truth,
        restoration,
        body: tooth.body,
        prepared_minus_body_lightness: prepared - tooth.body.l,
        prepared_share: prepared_share(restoration, &estimator, library)?,
        shade_minus_body: (shade.l - tooth.body.l, shade.c - tooth.body.c),
        at_seating: at_seating(restoration, &estimator)?,
        what_if: what_if(restoration, tooth, &estimator, library)?,
    })
}

/// Id of the cement that adds next to nothing.
const CLEAR: &str = "clear";

/// The restoration with one thing changed at a time.
fn what_if(
    restoration: &Restoration,
    tooth: &NaturalTooth,
    estimator: &Estimator<'_>,
    library: &Library,
) -> Result<WhatIf, BakeError> {
    let mut found = WhatIf::default();
    if restoration.cement != CLEAR && library.cement(CLEAR).is_ok() {
        let clear = Restoration { cement: CLEAR.to_owned(), ..restoration.clone() };
        found.clear_cement = Some(estimator.difference(&clear)?);
    }
    let ceramic = &restoration.ceramic;
    if ceramic.graded || ceramic.translucency != Translucency::High {
        let mut high = restoration.clone();
        high.ceramic.translucency = Translucency::High;
        high.ceramic.graded = false;
        // Not every class comes in it, in every shade.
        found.high_translucency = estimator.difference(&high).ok();
    }
    // A colour that no tissue can have, as a rule the lightest, is left out.
    let like_tooth =
        Restoration { prepared_tooth: own_tooth::id(tooth.body), ..restoration.clone() };
    found.like_tooth = estimator.difference(&like_tooth).ok();
    let thickness = restoration.thickness;
    if thickness.neck_mm < 0.95 * thickness.body_mm {
        let mut thicker = restoration.clone();
        thicker.thickness.neck_mm = thickness.body_mm;
        found.thicker_neck = Some(estimator.differences(&thicker)?[0]);
    }
    Ok(found)
}

/// The difference that a restoration with drift had when it was seated.
fn at_seating(
    restoration: &Restoration,
    estimator: &Estimator<'_>,
) -> Result<Option<ZoneDifference>, BakeError> {
    if restoration.drift.is_none() {
        return Ok(None);
    }
    let seated = Restoration { drift: None, ..restoration.clone() };
    estimator.difference(&seated).map(Some)
}

/// How much of a change in the prepared tooth's lightness arrives at the surface, 0..=1: the
/// restoration is computed once over its prepared tooth and once over the one that is least like
/// it.
fn prepared_share(
    restoration: &Restoration,
    estimator: &Estimator<'_>,
    library: &Library,
) -> Result<f64, BakeError> {
    let own = library.prepared_tooth_entry(&restoration.prepared_tooth)?.colour.l;
    let distance = |l: f64| (l - own).abs();
    let other = library
        .tissues()
        .prepared_teeth
        .iter()
        .max_by(|a, b| distance(a.colour.l).total_cmp(&distance(b.colour.l)));
    let Some(other) = other.filter(|other| distance(other.colour.l) > 1.0) else { return Ok(0.0) };
    let body = |restoration: &Restoration| estimator.zones(restoration).map(|zones| zones[1].l);
    let replaced = Restoration { prepared_tooth: other.id.clone(), ..restoration.clone() };
    let arrived = (body(&replaced)? - body(restoration)?) / (other.colour.l - own);
    Ok(arrived.clamp(0.0, 1.0))
}
