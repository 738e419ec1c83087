//! Why a restoration stood out, in one sentence.
//!
//! # Rules
//! 1. Below [`PERCEPTIBILITY_DE00`] nothing is explained: "none" was a fair answer.
//! 2. The largest of the signed parts of the difference leads. A second part is named when it is
//!    perceptible by itself and at least half the first.
//! 3. For value, each layer is charged with what it would contribute if lightness mixed in
//!    proportion: the prepared tooth with its share in the result times its difference from the
//!    tooth's body, the ceramic with the remaining share times its shade's difference. Of those
//!    that push the way the result went, the larger is the cause.
//! 4. For chroma the ceramic is the cause when its shade differs that way; otherwise, and for
//!    hue, the prepared tooth is when its share is large enough to show.
//! 5. What time has done to a restoration is known: the difference as it is, less what it was when
//!    seated. Where that makes up at least half of the leading part, drift is the cause and comes
//!    before any layer.
//! 6. Three causes are found by trying: the difference is computed again with one thing changed
//!    ([`WhatIf`]), and what the change takes away is charged to that thing. The neck is too thin
//!    where the cervical third is much further off than the middle and as much ceramic there as in
//!    the middle would take away half of it. The cement is the cause where clear cement would take
//!    away half. Too opaque is a result too light of which high translucency would take away half.
//! 7. Where no layer is charged with enough, the sentence says so.
//!
//! The accounting is rough on purpose; it only has to name the right layer. The numbers shown are
//! those of the truth.

use crate::bake::{Truth, ZoneDifference};
use crate::psychophysics::PERCEPTIBILITY_DE00;
use crate::scene::{Restoration, Tooth, ToothKind, Translucency};

/// Contribution in L* or C* from which a layer counts as a cause. Design choice, about a third of
/// a perceptible step.
const ENOUGH: f64 = 0.4;
/// Share of a part from which drift is its cause. Design choice: the larger half.
const DRIFT_LEADS: f64 = 0.5;
/// Share of the prepared tooth from which its colour shows. Design choice.
const SHOWS_THROUGH: f64 = 0.15;

/// Difference of the cervical third over that of the middle from which the neck is looked at by
/// itself. Design choice.
const NECK_LEADS: f64 = 1.5;
/// Share of a part that a change must take away for what was changed to be the cause. Design
/// choice: the larger half.
const CHANGE_LEADS: f64 = 0.5;

/// The difference as it would be with one thing changed; `None` where that is as it is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WhatIf {
    /// On clear cement.
    pub clear_cement: Option<ZoneDifference>,
    /// In high translucency, same class and shade.
    pub high_translucency: Option<ZoneDifference>,
    /// The cervical third with as much ceramic at the neck as in the middle.
    pub thicker_neck: Option<ZoneDifference>,
}

/// What a cause is judged from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CauseFacts<'a> {
    /// The difference.
    pub truth: &'a Truth,
    /// The restoration.
    pub restoration: &'a Restoration,
    /// Lightness of the prepared tooth minus that of the natural tooth's body, L*.
    pub prepared_minus_body_lightness: f64,
    /// Share of the prepared tooth in the result, 0 (hidden) to 1 (nothing else seen).
    pub prepared_share: f64,
    /// Shade of the ceramic minus the natural tooth's body: L* and C*.
    pub shade_minus_body: (f64, f64),
    /// The difference when the restoration was seated, where it has drifted since.
    pub at_seating: Option<ZoneDifference>,
    /// What single changes would make of it.
    pub what_if: WhatIf,
}

/// A signed part of the difference.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    Value,
    Chroma,
    Hue,
}

/// One plain sentence on why the restoration stood out.
#[must_use]
pub fn cause_sentence(facts: &CauseFacts<'_>) -> String {
    let difference = facts.truth.difference;
    if difference.de00 < PERCEPTIBILITY_DE00 {
        return "A restoration was there, below what most people notice: \"none\" was a fair call."
            .to_owned();
    }
    let mut parts = [
        (Part::Value, difference.dl00),
        (Part::Chroma, difference.dc00),
        (Part::Hue, difference.dh00),
    ];
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let [(lead, size), (second, second_size), _] = parts;
    if let Some(sentence) = thin_neck(facts, lead) {
        return sentence;
    }
    let mut what = format!("{:.1} {}", size.abs(), direction(lead, size));
    if second_size.abs() >= PERCEPTIBILITY_DE00.max(size.abs() / 2.0) {
        let also = format!(" and {:.1} {}", second_size.abs(), direction(second, second_size));
        what.push_str(&also);
    }
    format!("{what}: {}.", cause(facts, lead, size))
}

/// One plain sentence on a natural tooth that was taken for a restoration. `natural_lightness`
/// holds the L* of the natural teeth in view.
#[must_use]
pub fn false_alarm_sentence(chosen: Tooth, natural_lightness: &[(Tooth, f64)]) -> String {
    let lightness = |tooth: Tooth| {
        natural_lightness.iter().find(|(t, _)| *t == tooth).map(|(_, lightness)| *lightness)
    };
    let kind = chosen.kind();
    let start = format!("You chose a natural {}", kind.name());
    let (other, other_name) = if kind == ToothKind::Central {
        (Some(chosen.contralateral()), "other central")
    } else {
        let central = if chosen.is_patients_right() { Tooth::new(11) } else { Tooth::new(21) };
        (central.ok(), "central on its side")
    };
    let (Some(own), Some(reference)) = (lightness(chosen), other.and_then(lightness)) else {
        return format!("{start}: natural teeth differ from each other too.");
    };
    let step = own - reference;
    if step.abs() < 0.05 {
        return format!("{start}: it is as light as the {other_name}.");
    }
    let size = format!("{:.1} {}", step.abs(), if step < 0.0 { "darker" } else { "lighter" });
    if kind == ToothKind::Central {
        format!("{start}: it is {size} than the {other_name}, as natural pairs can be.")
    } else if step < 0.0 {
        format!(
            "{start}: it is {size} than the {other_name}; value falls from central to canine, \
             and darker is its normal place."
        )
    } else {
        format!("{start}: it is {size} than the {other_name}, as natural variation allows.")
    }
}

const fn direction(part: Part, size: f64) -> &'static str {
    // Tooth hues lie near yellow, 70 to 95 degrees: a smaller angle is redder, a larger one
    // greener.
    match (part, size < 0.0) {
        (Part::Value, true) => "too dark",
        (Part::Value, false) => "too light",
        (Part::Chroma, true) => "too weak in chroma",
        (Part::Chroma, false) => "too strong in chroma",
        (Part::Hue, true) => "too reddish",
        (Part::Hue, false) => "too greenish",
    }
}

fn cause(facts: &CauseFacts<'_>, part: Part, size: f64) -> String {
    if let Some(sentence) = drift(facts, part, size).or_else(|| cement(facts, part, size)) {
        return sentence;
    }
    let share = facts.prepared_share.clamp(0.0, 1.0);
    let way = size.signum();
    let (shade_l, shade_c) = facts.shade_minus_body;
    let shows = share >= SHOWS_THROUGH;
    match part {
        Part::Value => {
            let prepared = way * share * facts.prepared_minus_body_lightness;
            let ceramic = way * (1.0 - share) * shade_l;
            if let Some(sentence) = too_opaque(facts, size) {
                return sentence;
            }
            if shows && prepared >= ENOUGH && prepared >= ceramic {
                let tone = if way < 0.0 { "" } else { "light " };
                format!("the {tone}prepared tooth shows through {}", layer(facts.restoration))
            } else if ceramic >= ENOUGH {
                let word = if way < 0.0 { "darker" } else { "lighter" };
                let shade = format!("shade is {:.1} L* {word} than the tooth", shade_l.abs());
                if shows {
                    format!("the ceramic's {shade}")
                } else {
                    format!("{} hides what is beneath and its {shade}", layer(facts.restoration))
                }
            } else {
                nothing_alone()
            }
        }
        Part::Chroma if way * (1.0 - share) * shade_c >= ENOUGH => {
            let word = if way < 0.0 { "less" } else { "more" };
            format!("the ceramic's shade has {:.1} {word} chroma than the tooth", shade_c.abs())
        }
        Part::Chroma | Part::Hue if shows => {
            format!("colour of the prepared tooth comes through {}", layer(facts.restoration))
        }
        Part::Chroma | Part::Hue => nothing_alone(),
    }
}

impl Part {
    const fn of(self, difference: &ZoneDifference) -> f64 {
        match self {
            Self::Value => difference.dl00,
            Self::Chroma => difference.dc00,
            Self::Hue => difference.dh00,
        }
    }
}

/// A neck so thin that the tooth shows there, where that is the larger part of the matter.
fn thin_neck(facts: &CauseFacts<'_>, part: Part) -> Option<String> {
    let thicker = facts.what_if.thicker_neck?;
    if facts.restoration.drift.is_some() {
        return None;
    }
    let [neck, middle, _] = &facts.truth.zones;
    let size = part.of(neck);
    let way = size.signum();
    let leads = size.abs() >= PERCEPTIBILITY_DE00
        && size.abs() >= NECK_LEADS * (way * part.of(middle)).max(0.0);
    let taken = way * (size - part.of(&thicker));
    // Going as far off the other way is no cure.
    let cured = taken >= CHANGE_LEADS * size.abs()
        && part.of(&thicker).abs() <= (1.0 - CHANGE_LEADS) * size.abs();
    (leads && cured && taken >= ENOUGH).then(|| {
        format!(
            "{:.1} {} at the neck: {} mm of ceramic is too thin there, and the prepared tooth \
             shows through.",
            size.abs(),
            direction(part, size),
            millimetres(facts.restoration.thickness.neck_mm),
        )
    })
}

/// The cement, where clear cement would take away the larger half.
fn cement(facts: &CauseFacts<'_>, part: Part, size: f64) -> Option<String> {
    let clear = facts.what_if.clear_cement?;
    let way = size.signum();
    let taken = way * (size - part.of(&clear));
    let leads = taken >= ENOUGH && taken >= CHANGE_LEADS * size.abs();
    leads.then(|| {
        let name = facts.restoration.cement.replace('-', " ");
        let layer = layer(facts.restoration);
        match (part, size > 0.0) {
            (Part::Value, true) => format!("the {name} cement is too light under {layer}"),
            (Part::Value, false) => format!("the {name} cement is too dark under {layer}"),
            _ => format!("the {name} cement shows through {layer}"),
        }
    })
}

/// A ceramic that hides too much, where letting more through would take away the larger half.
fn too_opaque(facts: &CauseFacts<'_>, size: f64) -> Option<String> {
    let high = facts.what_if.high_translucency?;
    let taken = size - high.dl00;
    let leads = size > 0.0
        && taken >= ENOUGH
        && taken >= CHANGE_LEADS * size
        && high.dl00.abs() <= (1.0 - CHANGE_LEADS) * size;
    leads.then(|| {
        let then = match (high.dl00 * 10.0).round() {
            0.0 => "it would match in value".to_owned(),
            tenths => {
                let word = direction(Part::Value, tenths);
                format!("it would be {:.1} {word}", high.dl00.abs())
            }
        };
        format!(
            "too opaque: {} hides too much of what is beneath; in high translucency {then}",
            layer(facts.restoration)
        )
    })
}

/// What time has done, where that is the larger half of a part.
fn drift(facts: &CauseFacts<'_>, part: Part, size: f64) -> Option<String> {
    let (drift, seated) = (facts.restoration.drift?, facts.at_seating?);
    let before = part.of(&seated);
    let since = size.signum() * (size - before);
    (since >= ENOUGH && since >= DRIFT_LEADS * size.abs()).then(|| {
        let time = match drift.months.round() {
            1.0 => "1 month".to_owned(),
            months => format!("{months:.0} months"),
        };
        let was = if before.abs() < 0.05 {
            "it matched".to_owned()
        } else {
            format!("it was {:.1} {}", before.abs(), direction(part, before))
        };
        format!(
            "the {} cement has changed colour in {time} and shows through {}; at seating {was}",
            drift.cure.name(),
            layer(facts.restoration),
        )
    })
}

fn layer(restoration: &Restoration) -> String {
    let ceramic = &restoration.ceramic;
    let translucency = match (ceramic.graded, ceramic.translucency) {
        (true, _) => "graded",
        (false, Translucency::Low) => "low-translucency",
        (false, Translucency::Medium) => "medium-translucency",
        (false, Translucency::High) => "high-translucency",
    };
    let mm = millimetres(restoration.thickness.body_mm);
    format!("{mm} mm of {translucency} ceramic")
}

/// One decimal, two where the second counts.
fn millimetres(mm: f64) -> String {
    let digits = if (mm * 10.0 - (mm * 10.0).round()).abs() < 0.05 { 1 } else { 2 };
    format!("{mm:.digits$}")
}

fn nothing_alone() -> String {
    "no single layer explains it; ceramic, cement and prepared tooth add up to it".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colorimetry::Lch;
    use crate::scene::{Ceramic, Cure, Drift, Preparation, Thickness};

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

    fn check(
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
            prepared_minus_body_lightness,
            prepared_share,
            shade_minus_body,
            at_seating: None,
            what_if: WhatIf::default(),
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
            "1.6 too dark: the prepared tooth shows through 0.5 mm of high-translucency ceramic.",
        );
        // Still the prepared tooth when a brighter shade did not make up for it.
        check(
            (-1.2, 0.0, 0.0),
            (0.35, Translucency::Medium),
            (-20.0, 0.35),
            (4.0, 0.0),
            "1.2 too dark: the prepared tooth shows through 0.35 mm of medium-translucency \
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
            "2.4 too light: 1.0 mm of low-translucency ceramic hides what is beneath and its \
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
            "2.0 too dark: the ceramic's shade is 3.0 L* darker than the tooth.",
        );
    }

    #[test]
    fn a_light_prepared_tooth_shows_through() {
        check(
            (1.1, 0.0, 0.0),
            (0.3, Translucency::High),
            (6.0, 0.5),
            (0.0, 0.0),
            "1.1 too light: the light prepared tooth shows through 0.3 mm of high-translucency \
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
            "1.9 too weak in chroma: the ceramic's shade has 5.0 less chroma than the tooth.",
        );
        check(
            (-0.3, 1.5, 0.4),
            (0.4, Translucency::High),
            (-6.0, 0.4),
            (0.0, -2.0),
            "1.5 too strong in chroma: colour of the prepared tooth comes through 0.4 mm of \
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
            "2.0 too dark and 1.2 too strong in chroma: the prepared tooth shows through 0.5 mm \
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
            "1.5 too dark: no single layer explains it; ceramic, cement and prepared tooth add \
             up to it.",
        );
    }

    #[test]
    fn drift_is_named_when_it_is_the_larger_half() {
        let truth = truth(-2.0, 1.2, 0.1);
        let drift = Drift { months: 24.0, cure: Cure::LightCured, deviate: 0.0 };
        let restoration =
            Restoration { drift: Some(drift), ..restoration(0.3, Translucency::High) };
        let sentence = |dl00: f64| {
            cause_sentence(&CauseFacts {
                truth: &truth,
                restoration: &restoration,
                prepared_minus_body_lightness: -20.0,
                prepared_share: 0.35,
                shade_minus_body: (0.0, 0.0),
                at_seating: Some(ZoneDifference { de00: dl00.abs(), dl00, dc00: 0.0, dh00: 0.0 }),
                what_if: WhatIf::default(),
            })
        };
        assert_eq!(
            sentence(-0.4),
            "2.0 too dark and 1.2 too strong in chroma: the light-cured cement has changed colour \
             in 24 months and shows through 0.3 mm of high-translucency ceramic; at seating it \
             was 0.4 too dark."
        );
        assert!(sentence(0.0).ends_with("; at seating it matched."));
        // It was lighter than its twin and is darker now.
        assert!(sentence(0.5).ends_with("; at seating it was 0.5 too light."));
        // It was nearly as dark from the start.
        assert!(sentence(-1.5).contains("the prepared tooth shows through"), "{}", sentence(-1.5));
    }

    #[test]
    fn a_natural_tooth_taken_for_a_restoration() {
        let tooth = |number| Tooth::new(number).unwrap();
        let natural = [(tooth(12), 74.1), (tooth(11), 75.0), (tooth(21), 75.4), (tooth(22), 76.0)];
        for (chosen, expected) in [
            (
                12,
                "You chose a natural lateral incisor: it is 0.9 darker than the central on its side; value falls from central to canine, and darker is its normal place.",
            ),
            (
                11,
                "You chose a natural central incisor: it is 0.4 darker than the other central, as natural pairs can be.",
            ),
            (
                22,
                "You chose a natural lateral incisor: it is 0.6 lighter than the central on its side, as natural variation allows.",
            ),
            (13, "You chose a natural canine: natural teeth differ from each other too."),
        ] {
            assert_eq!(false_alarm_sentence(tooth(chosen), &natural), expected);
        }
    }
}
