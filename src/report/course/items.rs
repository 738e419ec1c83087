//! The items of every form: how hard, how telling, and which teeth were named instead.

use super::figures::optional;
use super::options::{CourseReportOptions, LEAST_CELL};
use super::tables::suppressed;
use crate::course::{CourseData, FormReport, GroupReport, ItemReport, ShownForm};
use maud::{Markup, html};

pub(super) fn items(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let forms = group
        .forms
        .iter()
        .filter(|form| form.sittings > 1 && (!options.shared || form.sittings >= LEAST_CELL));
    html! {
        h2 .own-page { "Items" }
        p .note {
            "Right: share who answered right. r: correlation with the rest of the form. D27: share right "
            "among the upper 27 % less that among the lower 27 %. An item is flagged where the whole interval "
            "of a figure lies beyond its bound: D27 below 0.20; r below 0.15; easy, more than 95 % right; hard, "
            "fewer than 10 % right. The intervals allow for all comparisons of a form together, so that of "
            "twenty forms without an odd item one has a flag; a small group can tell of few. Under the teeth: "
            "how often each was named, from the viewer's left; the restored one is framed."
            @if options.shared {
                " … stands for counts below " (LEAST_CELL) " and for those that would give them away."
            }
        }
        @for (index, form) in forms.enumerate() {
            (one_form(index, &data.forms[form.form], form, options))
        }
    }
}

fn one_form(
    index: usize,
    shown: &ShownForm,
    form: &FormReport,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let flagged = form.items.iter().filter(|item| !item.flags.is_empty()).count();
    html! {
        h3 .own-page[index > 0] { "Form " (shown.id) }
        p .note { (flagged) " of " (form.items.len()) " items are flagged, of " (form.sittings) " sittings." }
        div .wide tabindex="0" role="region" aria-label={ "Items of form " (shown.id) } {
        table .items {
            thead {
                tr {
                    th { "item" } th .words { "difference" } th { "ΔE00" } th { "right" } th { "r" } th { "D27" }
                    @for tooth in options.names().all(&shown.teeth) { th { (tooth) } }
                    th { "none" }
                    th .words { "flags" }
                }
            }
            tbody { @for item in &form.items { (row(shown, item, form.sittings, options)) } }
        }
        }
    }
}

/// A background that says how large a share is: dark enough to see, light enough to read on.
pub(super) fn grey(share: f64) -> String {
    let grey = 255.0 - 100.0 * share.clamp(0.0, 1.0).sqrt();
    format!("background:rgb({grey:.0},{grey:.0},{grey:.0})")
}

/// The darkest background that `grey` gives: what is written in a cell must be legible on it.
#[must_use]
pub fn darkest_cell() -> String {
    grey(1.0)
}

/// A share right of so many people. In a shared report it is not shown where it would say that fewer
/// than five were right, or wrong.
pub(super) fn right(difficulty: f64, people: usize, options: &CourseReportOptions<'_>) -> String {
    let right = (difficulty * people as f64).round() as usize;
    let small = |count: usize| count > 0 && count < LEAST_CELL;
    if options.shared && (small(right) || small(people - right.min(people))) {
        return "…".to_owned();
    }
    format!("{:.0} %", 100.0 * difficulty)
}

fn row(
    form: &ShownForm,
    item: &ItemReport,
    sittings: usize,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let signal = form.items[item.item].as_ref().and_then(|item| item.signal);
    let target = signal.map_or(form.teeth.len(), |(tooth, _, _)| tooth);
    let shown = if options.shared {
        suppressed(&item.named)
    } else {
        item.named.iter().copied().map(Some).collect()
    };
    let words: Vec<&str> = item.flags.iter().map(|flag| flag.short()).collect();
    html! {
        tr {
            td { (item.item + 1) }
            td .words { (signal.map_or("none", |(_, direction, _)| direction.name())) }
            td { (optional(signal.map(|(_, _, de00)| de00), 2)) }
            td { (right(item.figures.difficulty, sittings, options)) }
            td { (optional(item.figures.corrected_r, 2)) }
            td { (optional(item.figures.d27, 2)) }
            @for (place, count) in item.named.iter().enumerate() {
                td class=(if place == target { "map target" } else { "map" })
                    style=(grey(f64::from(*count) / sittings.max(1) as f64)) {
                    @match shown[place] {
                        Some(0) => {}
                        Some(count) => { (count) }
                        None => { "…" }
                    }
                }
            }
            td .flag { (words.join(", ")) }
        }
    }
}
