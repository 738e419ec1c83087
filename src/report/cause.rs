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
use crate::scene::{Restoration, Translucency};
use crate::words::{Part, count, is_nothing};

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
mod tests;
