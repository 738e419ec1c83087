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
//!    hue, the prepared tooth is when its share is large enough to show and one of the natural
//!    tooth's own colour would take away half.
//! 5. What time has done to a restoration is known: the difference as it is, less what it was when
//!    seated. Where that makes up at least half of the leading part, drift is the cause and comes
//!    before any layer.
//! 6. Three causes are found by trying: the difference is computed again with one thing changed
//!    ([`WhatIf`]), and what the change takes away is charged to that thing. The neck is too thin
//!    where the cervical third is much further off than the middle and as much ceramic there as in
//!    the middle would take away half of it. The cement is the cause where clear cement would take
//!    away half. Too opaque is a result too light of which high translucency would take away half.
//! 7. A cause explains its effect: what is charged to it makes at least half of the leading part.
//!    Where nothing is charged with as much, the sentence says that none was singled out.
//!
//! The accounting is rough on purpose; it only has to name the right layer. The numbers shown are
//! those of the truth.

use crate::bake::{Truth, ZoneDifference};
use crate::colorimetry::{Lab, Lch, ciede2000_weights};
use crate::psychophysics::PERCEPTIBILITY_DE00;
use crate::scene::{Restoration, Tooth, ToothKind, Translucency};
use crate::words::{Part, count, is_nothing, lightness_compared};

/// Contribution from which anything counts as a cause: L* or C* of a layer, else ΔE00. Design
/// choice, about a third of a perceptible step.
const ENOUGH: f64 = 0.4;
/// Share of a part that a layer must be charged with to be its cause. Design choice: the larger half.
const EXPLAINS: f64 = 0.5;
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
    /// Over a prepared tooth of the natural tooth's own colour.
    pub like_tooth: Option<ZoneDifference>,
}

/// What a cause is judged from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CauseFacts<'a> {
    /// The difference.
    pub truth: &'a Truth,
    /// The restoration.
    pub restoration: &'a Restoration,
    /// Colour of the natural tooth's body.
    pub body: Lch,
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
    let mut what = lead.wrong(size);
    if second_size.abs() >= PERCEPTIBILITY_DE00.max(size.abs() / 2.0) {
        what.push_str(&format!(" and {}", second.wrong(second_size)));
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
    let size = lightness_compared(step, &format!("the {other_name}"));
    if is_nothing(step) {
        format!("{start}: it is {size}.")
    } else if kind == ToothKind::Central {
        format!("{start}: it is {size}, as natural pairs can be.")
    } else if step < 0.0 {
        format!(
            "{start}: it is {size}; value falls from central to canine, and darker is its normal \
             place."
        )
    } else {
        format!("{start}: it is {size}, as natural variation allows.")
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
            let charged = |contribution| explains(facts, part, contribution, size);
            if shows && charged(prepared) && prepared >= ceramic {
                let tone = if way < 0.0 { "" } else { "light " };
                format!("the {tone}prepared tooth shows through {}", layer(facts.restoration))
            } else if charged(ceramic) {
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
        Part::Chroma if explains(facts, part, way * (1.0 - share) * shade_c, size) => {
            let word = if way < 0.0 { "less" } else { "more" };
            format!("the ceramic's shade has {:.1} C* {word} chroma than the tooth", shade_c.abs())
        }
        Part::Chroma | Part::Hue if shows && beneath(facts, part, size) => {
            format!("colour of the prepared tooth comes through {}", layer(facts.restoration))
        }
        Part::Chroma | Part::Hue => nothing_alone(),
    }
}

const fn of(part: Part, difference: &ZoneDifference) -> f64 {
    match part {
        Part::Value => difference.dl00,
        Part::Chroma => difference.dc00,
        Part::Hue => difference.dh00,
    }
}

/// Whether a layer's contribution, L* or C* towards where a part went, is enough to be its cause.
fn explains(facts: &CauseFacts<'_>, part: Part, contribution: f64, size: f64) -> bool {
    let body = Lab::from(facts.body);
    let weights = ciede2000_weights(body, body);
    let per_unit = if part == Part::Value { weights.s_l } else { weights.s_c };
    contribution >= ENOUGH && contribution / per_unit >= EXPLAINS * size.abs()
}

/// Whether a prepared tooth of the natural tooth's own colour would take away the larger half.
fn beneath(facts: &CauseFacts<'_>, part: Part, size: f64) -> bool {
    facts.what_if.like_tooth.is_some_and(|like_tooth| {
        let taken = size.signum() * (size - of(part, &like_tooth));
        taken >= ENOUGH && taken >= CHANGE_LEADS * size.abs()
    })
}

/// A neck so thin that the tooth shows there, where that is the larger part of the matter.
fn thin_neck(facts: &CauseFacts<'_>, part: Part) -> Option<String> {
    let thicker = facts.what_if.thicker_neck?;
    if facts.restoration.drift.is_some() {
        return None;
    }
    let [neck, middle, _] = &facts.truth.zones;
    let size = of(part, neck);
    let way = size.signum();
    let leads = size.abs() >= PERCEPTIBILITY_DE00
        && size.abs() >= NECK_LEADS * (way * of(part, middle)).max(0.0);
    let taken = way * (size - of(part, &thicker));
    // Going as far off the other way is no cure.
    let cured = taken >= CHANGE_LEADS * size.abs()
        && of(part, &thicker).abs() <= (1.0 - CHANGE_LEADS) * size.abs();
    (leads && cured && taken >= ENOUGH).then(|| {
        format!(
            "{} at the neck: {} mm of ceramic is too thin there, and the prepared tooth shows \
             through.",
            part.wrong(size),
            millimetres(facts.restoration.thickness.neck_mm),
        )
    })
}

/// The cement, where clear cement would take away the larger half.
fn cement(facts: &CauseFacts<'_>, part: Part, size: f64) -> Option<String> {
    let clear = facts.what_if.clear_cement?;
    let way = size.signum();
    let taken = way * (size - of(part, &clear));
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
        format!(
            "too opaque: {} hides too much of what is beneath; in high translucency it would be {}",
            layer(facts.restoration),
            Part::Value.wrong(high.dl00)
        )
    })
}

/// What time has done, where that is the larger half of a part.
fn drift(facts: &CauseFacts<'_>, part: Part, size: f64) -> Option<String> {
    let (drift, seated) = (facts.restoration.drift?, facts.at_seating?);
    let before = of(part, &seated);
    let since = size.signum() * (size - before);
    (since >= ENOUGH && since >= DRIFT_LEADS * size.abs()).then(|| {
        let time = count(drift.months.round() as usize, "month", "months");
        let was = if is_nothing(before) {
            "it matched".to_owned()
        } else {
            format!("it was {}", part.wrong(before))
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
    "no single cause was found; ceramic, cement and prepared tooth add up to it".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
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
        let restoration =
            Restoration { drift: Some(drift), ..restoration(0.3, Translucency::High) };
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

    #[test]
    fn a_natural_tooth_taken_for_a_restoration() {
        let tooth = |number| Tooth::new(number).unwrap();
        let natural = [(tooth(12), 74.1), (tooth(11), 75.0), (tooth(21), 75.4), (tooth(22), 76.0)];
        for (chosen, expected) in [
            (
                12,
                "You chose a natural lateral incisor: it is 0.9 L* darker than the central on its side; value falls from central to canine, and darker is its normal place.",
            ),
            (
                11,
                "You chose a natural central incisor: it is 0.4 L* darker than the other central, as natural pairs can be.",
            ),
            (
                22,
                "You chose a natural lateral incisor: it is 0.6 L* lighter than the central on its side, as natural variation allows.",
            ),
            (13, "You chose a natural canine: natural teeth differ from each other too."),
        ] {
            assert_eq!(false_alarm_sentence(tooth(chosen), &natural), expected);
        }
    }
}
