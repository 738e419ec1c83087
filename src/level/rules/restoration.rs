//! What a kind of restoration in a level must be.

use super::exercise::can_be_in_view;
use crate::level::checker::Checker;
use crate::level::diagnostic::{nearest, one_of, one_of_ids};
use crate::level::format::{Exercise, Level, RestorationKind};
use crate::level::known::KnownMaterials;
use crate::level::limits::{CERAMIC_MM, DRIFT_MONTHS, MARGIN_MM};
use crate::material::own_tooth;
use crate::scene::{Ceramic, Preparation, Thickness, Tooth, Translucency};
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// Above the gum, and below the cusps with ceramic to speak of.
const MARGIN_HEIGHT: RangeInclusive<f64> = 0.15..=0.7;

const CEMENT_FILM_MM: RangeInclusive<f64> = 0.01..=0.2;

/// Common practice, no source: a labial veneer beyond this is a partial crown, a crown below it
/// breaks.
const THICK_VENEER_MM: f64 = 1.2;
const THIN_CROWN_MM: f64 = 0.8;

/// Drift is published for 0.3 to 0.8 mm; under more it is below what most people notice.
const THICK_FOR_DRIFT_MM: f64 = 0.8;

pub(super) fn check_restorations(level: &Level, known: &KnownMaterials, checker: &mut Checker<'_>) {
    let arch = level.exercise.arch();
    let arch = (checker.usable("exercise.arch") && can_be_in_view(level)).then_some(arch);
    for (index, kind) in level.restorations.iter().enumerate() {
        let path = format!("restorations[{index}]");
        check_teeth(&path, kind, arch, checker);
        check_thickness(&path, kind, checker);
        check_onlay(&path, level, kind, checker);
        check_materials(&path, kind, known, checker);
        check_block_shift(&path, kind, checker);
        let darker_share = level.difference.map(|difference| difference.darker_share);
        check_drift(&path, kind, darker_share, checker);
    }
    if level.exercise.restores() {
        check_shares(&level.restorations, checker);
    } else if !level.restorations.is_empty() && checker.usable("exercise") {
        let message = format!("restorations is given, but `{}` has none", level.exercise.name());
        let help = "remove it: patches and tabs stand on no tooth";
        checker.error("restorations", message, help);
    }
}

fn check_shares(kinds: &[RestorationKind], checker: &mut Checker<'_>) {
    if kinds.is_empty() {
        let help = "describe at least one kind of restoration";
        return checker.error("restorations", "restorations is empty", help);
    }
    let mut sound = checker.entire("restorations");
    for (index, kind) in kinds.iter().enumerate() {
        let path = format!("restorations[{index}].share");
        sound &= checker.usable(&path);
        if !(kind.share > 0.0 && kind.share <= 1.0) {
            sound = false;
            checker.error(
                &path,
                format!("share is {}, but must be above 0 and at most 1", kind.share),
                "give the part of the restored cases that are of this kind",
            );
        }
    }
    let sum: f64 = kinds.iter().map(|kind| kind.share).sum();
    if sound && (sum - 1.0).abs() > 1e-6 {
        let rounded = (sum * 1e6).round() / 1e6;
        checker.error(
            "restorations[0].share",
            format!("the shares sum to {rounded}, but must sum to 1"),
            "change them so that they do",
        );
    }
}

fn check_teeth(path: &str, kind: &RestorationKind, arch: Option<u8>, checker: &mut Checker<'_>) {
    let Some(teeth) = &kind.teeth else { return };
    if teeth.is_empty() {
        let help = "name teeth, or leave `teeth` out for all in view";
        checker.error(&format!("{path}.teeth"), "teeth is empty", help);
    }
    let mut seen = BTreeSet::new();
    for (index, number) in teeth.iter().enumerate() {
        let at = format!("{path}.teeth[{index}]");
        match Tooth::new(*number) {
            Err(error) => {
                let help = "use two digits: quadrant 1 or 2, then 1 (central) to 8";
                checker.error(&at, error.to_string(), help);
            }
            Ok(tooth) => {
                if let Some(arch) = arch.filter(|arch| tooth.position() > arch / 2) {
                    let last = arch / 2;
                    checker.error(
                        &at,
                        format!("tooth {tooth} is not among the {arch} teeth in view"),
                        format!("use 11 to 1{last} and 21 to 2{last}, or widen `arch`"),
                    );
                }
            }
        }
        if !seen.insert(number) {
            checker.error(&at, format!("tooth {number} is named twice"), "remove one");
        }
    }
}

fn check_thickness(path: &str, kind: &RestorationKind, checker: &mut Checker<'_>) {
    let Thickness { margin_mm, neck_mm, body_mm, incisal_mm } = kind.thickness_mm;
    let at = |field: &str| format!("{path}.thickness_mm.{field}");
    checker.within(&at("margin_mm"), margin_mm, MARGIN_MM, " mm");
    let margin_usable = checker.usable(&at("margin_mm"));
    for (field, value) in [("neck_mm", neck_mm), ("body_mm", body_mm), ("incisal_mm", incisal_mm)] {
        checker.within(&at(field), value, CERAMIC_MM, " mm");
        if margin_usable && value < margin_mm {
            checker.error(
                &at(field),
                format!("{field} is {value} mm, thinner than the margin of {margin_mm} mm"),
                format!("make it at least {margin_mm} mm or the margin thinner"),
            );
        }
        let odd = "leave it if it is meant";
        match kind.preparation {
            Preparation::Veneer if value > THICK_VENEER_MM && CERAMIC_MM.contains(&value) => {
                let message =
                    format!("{field} of a veneer is {value} mm, above {THICK_VENEER_MM} mm");
                checker.warning(&at(field), message, odd);
            }
            Preparation::Crown if value < THIN_CROWN_MM && CERAMIC_MM.contains(&value) => {
                let message = format!("{field} of a crown is {value} mm, below {THIN_CROWN_MM} mm");
                checker.warning(&at(field), message, odd);
            }
            Preparation::Veneer | Preparation::Crown | Preparation::Onlay { .. } => {}
        }
    }
    let film = format!("{path}.cement_film_mm");
    checker.within(&film, kind.cement_film_mm, CEMENT_FILM_MM, " mm");
}

/// Onlays stand on back teeth and end above the gum; a margin is hidden on an onlay only.
fn check_onlay(path: &str, level: &Level, kind: &RestorationKind, checker: &mut Checker<'_>) {
    let Preparation::Onlay { margin_height } = kind.preparation else {
        if matches!(level.exercise, Exercise::Margin { .. }) && checker.usable("exercise") {
            checker.error(
                &format!("{path}.preparation"),
                "only an onlay has a margin above the gum to hide",
                "write `preparation: onlay(margin_height: 0.45)`",
            );
        }
        return;
    };
    let at = format!("{path}.preparation");
    let height = format!("{at}.margin_height");
    checker.within(&height, margin_height, MARGIN_HEIGHT, " of the face's height");
    let front = |number: &u8| Tooth::new(*number).is_ok_and(|tooth| tooth.position() < 4);
    let fronts = kind.teeth.as_ref().map(|teeth| teeth.iter().any(front));
    if fronts.unwrap_or(true) {
        checker.error(
            &at,
            "an onlay stands on a premolar or molar",
            "name back teeth under `teeth`, such as 14 or 25",
        );
    }
}

fn check_materials(
    path: &str,
    kind: &RestorationKind,
    known: &KnownMaterials,
    checker: &mut Checker<'_>,
) {
    let mut check = |field: &str, what: &str, id: &str, ids: &BTreeSet<String>| {
        let own = field == "prepared_tooth" && own_tooth::colour(id).is_some();
        if own || ids.contains(id) {
            return;
        }
        let help = match nearest(id, ids.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None if ids.is_empty() => format!("no {what} is known: check the material files"),
            None => format!("write {}", one_of_ids(ids)),
        };
        checker.error(&format!("{path}.{field}"), format!("no {what} has the id \"{id}\""), help);
    };
    check("ceramic", "ceramic", &kind.ceramic, &known.ceramics);
    check("cement", "cement", &kind.cement, &known.cements);
    check("prepared_tooth", "prepared tooth", &kind.prepared_tooth, &known.prepared_teeth);
    if let Some(measured) = known.measured_ceramics.get(&kind.ceramic)
        && !measured.contains(&kind.translucency)
    {
        let words: Vec<String> = measured.iter().map(|t| word(*t).to_owned()).collect();
        checker.error(
            &format!("{path}.translucency"),
            format!(
                "\"{}\" was not measured in {} translucency",
                kind.ceramic,
                word(kind.translucency)
            ),
            format!("write {}", one_of(words.iter().map(String::as_str))),
        );
    }
    if kind.graded
        && known.ceramics.contains(&kind.ceramic)
        && !known.graded_ceramics.contains(&kind.ceramic)
    {
        let choices = one_of_ids(&known.graded_ceramics);
        checker.error(
            &format!("{path}.graded"),
            format!("\"{}\" does not come as a graded block", kind.ceramic),
            format!("write `graded: false`, or choose {choices}"),
        );
    }
}

/// The word that files use.
const fn word(translucency: Translucency) -> &'static str {
    match translucency {
        Translucency::Low => "low",
        Translucency::Medium => "medium",
        Translucency::High => "high",
    }
}

fn check_block_shift(path: &str, kind: &RestorationKind, checker: &mut Checker<'_>) {
    let Some(shift) = kind.block_shift else { return };
    let path = format!("{path}.block_shift");
    checker.within(&path, shift, Ceramic::BLOCK_SHIFT, " of the tooth's height");
    if !kind.graded {
        checker.error(
            &path,
            "a place in the block matters only when the block is graded".to_owned(),
            "write `graded: true`, or leave block_shift out",
        );
    }
}

fn check_drift(
    path: &str,
    kind: &RestorationKind,
    darker_share: Option<f64>,
    checker: &mut Checker<'_>,
) {
    let Some(drift) = kind.drift else { return };
    let path = format!("{path}.drift");
    checker.within(&format!("{path}.months"), drift.months, DRIFT_MONTHS, " months");
    if checker.usable("difference.darker_share")
        && let Some(darker_share) = darker_share.filter(|share| (0.0..1.0).contains(share))
    {
        checker.error(
            &path,
            format!("drift makes restorations darker, but darker_share is {darker_share}"),
            "write `darker_share: 1.0`, or give what drifts a level of its own",
        );
    }
    let body_mm = kind.thickness_mm.body_mm;
    if body_mm > THICK_FOR_DRIFT_MM && CERAMIC_MM.contains(&body_mm) {
        checker.warning(
            &path,
            format!("drift under {body_mm} mm of ceramic hardly shows"),
            format!("make body_mm at most {THICK_FOR_DRIFT_MM} mm, or leave drift out"),
        );
    }
}
