//! The items of every form: how hard, how telling, and which teeth were named instead.

use super::{CourseReportOptions, LEAST_CELL, optional};
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
        h2 { "Items" }
        p .note {
            "Right: share who answered right. r: correlation with the rest of the form. D27: share right "
            "among the upper 27 % less that among the lower 27 %. Flags: D27 below 0.20; r below 0.15; easy, "
            "more than 95 % right; hard, fewer than 10 % right. Under the teeth: how often each was named, "
            "from the viewer's left; the restored one is framed."
        }
        @for form in forms { (one_form(&data.forms[form.form], form, options)) }
    }
}

fn one_form(shown: &ShownForm, form: &FormReport, options: &CourseReportOptions<'_>) -> Markup {
    let flagged = form.items.iter().filter(|item| !item.flags.is_empty()).count();
    html! {
        h3 { "Form " (shown.id) }
        p .note { (flagged) " of " (form.items.len()) " items are flagged, of " (form.sittings) " sittings." }
        table {
            thead {
                tr {
                    th { "item" } th .words { "difference" } th { "ΔE00" } th { "right" } th { "r" } th { "D27" }
                    @for tooth in &shown.teeth { th { (tooth) } }
                    th { "none" }
                    th .words { "flags" }
                }
            }
            tbody { @for item in &form.items { (row(shown, item, form.sittings, options)) } }
        }
    }
}

fn row(
    shown: &ShownForm,
    item: &ItemReport,
    sittings: usize,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let signal = shown.items[item.item].as_ref().and_then(|item| item.signal);
    let target = signal.map_or(shown.teeth.len(), |(tooth, _, _)| tooth);
    let words: Vec<&str> = item.flags.iter().map(|flag| flag.short()).collect();
    html! {
        tr {
            td { (item.item + 1) }
            td .words { (signal.map_or("none", |(_, direction, _)| direction.name())) }
            td { (optional(signal.map(|(_, _, de00)| de00), 2)) }
            td { (format!("{:.0} %", 100.0 * item.figures.difficulty)) }
            td { (optional(item.figures.corrected_r, 2)) }
            td { (optional(item.figures.d27, 2)) }
            @for (place, count) in item.named.iter().enumerate() {
                @let share = f64::from(*count) / sittings.max(1) as f64;
                // Greys dark enough to see and light enough to read on.
                @let grey = 255.0 - 110.0 * share.sqrt();
                @let style = format!("background:rgb({grey:.0},{grey:.0},{grey:.0})");
                td class=(if place == target { "map target" } else { "map" }) style=(style) {
                    @if options.shared && *count > 0 && (*count as usize) < LEAST_CELL { "<5" }
                    @else if *count > 0 { (count) }
                }
            }
            td .flag { (words.join(", ")) }
        }
    }
}
