//! One page per learner.

use super::figures::{de00, figure, in_words, optional, share};
use super::options::CourseReportOptions;
use super::{charts, questions};
use crate::course::{
    CUT_DE00, Competency, CourseData, FormSitting, GroupReport, Practise, Profile, Verdict,
};
use crate::psychophysics::{Axis, Proportion};
use crate::report::axis_in_words;
use crate::results::Counted;
use maud::{Markup, html};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

pub(super) fn pages(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Markup {
    let last: Vec<(&str, (&FormSitting, Proportion))> = data.last_sittings().into_iter().collect();
    let choosing = data.choosing();
    let done = AtomicUsize::new(0);
    let pages: Vec<Markup> = last
        .par_iter()
        .map(|(learner, (sitting, false_alarms))| {
            let page = page(data, group, options, learner, sitting, *false_alarms);
            let own = choosing.get(learner).map_or(&[][..], Vec::as_slice);
            let page = html! { section .learner { (page) (questions::learner(own)) } };
            let count = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(0.3 + 0.7 * count as f64 / last.len() as f64);
            page
        })
        .collect();
    html! {
        h2 .own-page { "Learners" }
        p .note { "By random id. Names are in the roster, which is kept apart." }
        @for page in pages { (page) }
    }
}

fn page(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
    learner: &str,
    last: &FormSitting,
    pooled: Proportion,
) -> Markup {
    let own: Vec<&FormSitting> = data.counting().filter(|s| s.learner == learner).collect();
    let all: Vec<&FormSitting> = data.sittings.iter().filter(|s| s.learner == learner).collect();
    let profile = Profile::new(data, last);
    let cut = options.course.and_then(|c| c.pass).map_or(CUT_DE00, |pass| pass.threshold_de00);
    html! {
            h3 { "Learner " span .id { (learner) } }
            div .wide tabindex="0" role="region" aria-label="forms sat" {
                table {
                    thead {
                        tr {
                            th { "form" } th .words { "sat" } th { "score" } th { "found" } th { "false alarms" }
                            th { "threshold, ΔE00" } th { "right answers after, s" }
                        }
                    }
                    tbody {
                        @for sitting in &all {
                            tr {
                                td { (data.forms[sitting.form].id) }
                                td .words { (in_words(sitting.phase)) ", " (sitting.day)
                                @if !sitting.counted.counts() { ", does not count" } }
                                td { (format!("{:.0} %", data.score(sitting))) }
                                td { (share(data.found(sitting))) }
                                td { (share(data.false_alarms(sitting))) }
                                td { (threshold(sitting)) }
                                td { (optional(sitting.median_right_s, 2)) }
                            }
                        }
                    }
                }
            }
            @for sitting in own.iter().filter(|s| (s.response_factor - 1.0).abs() > 1e-9) {
                p .note {
                    "Time to answer " (in_words(sitting.phase)) ": "
                    @if sitting.response_factor > 0.0 { "× " (sitting.response_factor) } @else { "unlimited" }
                    ". The threshold is valid, the time is not."
                }
            }
            @for sitting in all.iter().filter(|s| s.counted != Counted::Only) {
                p .note { (again(data, sitting)) }
            }
            (verdict(data, options, last, pooled))
            (change(group, &own))
            @if let Some(profile) = &profile {
                @let rows: Vec<(String, f64, f64, f64)> = profile.axes.iter().map(|(axis, (v, l, h), measured)| {
                    let mark = if *measured { "" } else { " (not yet measured)" };
                    (format!("{}{mark}", axis_in_words(*axis)), *v, *l, *h)
                }).collect();
                (figure(charts::profile(&rows, cut), "Thresholds by kind of difference after the last form, with 95 % intervals. The grey line is the cut."))
                @if let Some((ratio, low, high)) = profile.value_bias {
                    p {
                        "Value: the threshold for darker teeth is × " (format!("{ratio:.2}"))
                        " that for lighter ones (95 %: " (format!("{low:.2}-{high:.2}")) ")"
                        @if low > 1.0 { ": too dark is missed more easily." }
                        @else if high < 1.0 { ": too light is missed more easily." }
                        @else { "; no leaning we can be sure of." }
                    }
                }
                p { "To practise: " (advice(profile.practise)) }
            }
    }
}

/// What counts and why, where a learner sat in one phase more than once.
fn again(data: &CourseData, sitting: &FormSitting) -> String {
    let form = &data.forms[sitting.form].id;
    let what = format!("Form {form}, {}, {}", in_words(sitting.phase), sitting.day);
    let shown = sitting.shown();
    match sitting.counted {
        Counted::Only => what,
        Counted::First { of } => format!(
            "{what}: counts, with {shown} smiles the fullest of {of} sittings, or the first of the fullest."
        ),
        Counted::SeenBefore { .. } => format!(
            "{what}: does not count; the learner had sat in this phase before, and smiles seen before \
             measure memory."
        ),
        Counted::BrokenOff { .. } => {
            format!("{what}: does not count; it broke off after {shown} smiles, another has more.")
        }
    }
}

/// Everyone who sat in one phase more than once; nothing in a report to pass on.
pub(super) fn sat_again(data: &CourseData, options: &CourseReportOptions<'_>) -> Markup {
    let again_sat: Vec<&FormSitting> =
        data.sittings.iter().filter(|s| s.counted != Counted::Only).collect();
    html! {
        @if !again_sat.is_empty() && !options.shared {
            h2 { "Sat more than once" }
            p .note { "All sittings are kept and exported; one of each phase counts." }
            ul {
                @for sitting in again_sat {
                    li { span .id { (sitting.learner) } " " (again(data, sitting)) }
                }
            }
        }
    }
}

fn threshold(sitting: &FormSitting) -> String {
    sitting.estimate.map_or_else(
        || "-".to_owned(),
        |estimate| {
            let (value, low, high) = estimate.threshold_de00();
            format!("{} ({}-{})", de00(value), de00(low), de00(high))
        },
    )
}

fn verdict(
    data: &CourseData,
    options: &CourseReportOptions<'_>,
    last: &FormSitting,
    pooled: Proportion,
) -> Markup {
    let Some(estimate) = last.estimate else { return html! {} };
    let class = Competency::of(estimate.threshold_de00(), pooled, &options.limits());
    let pass = options.course.and_then(|course| course.pass);
    html! {
        p {
            "Class, provisional: " strong { (class.words()) }
            " (false alarms over all forms " (share(pooled)) ")."
            @if let Some(pass) = pass {
                " Result: "
                strong {
                    @match Verdict::of(&estimate, data.false_alarms(last), &pass) {
                        Verdict::ThresholdTooHigh => "not passed",
                        Verdict::TooManyFalseAlarms => "not passed: too many false alarms",
                        Verdict::Borderline => "borderline, sit another form",
                        Verdict::Passed => "passed",
                    }
                }
                "."
            }
        }
    }
}

fn change(group: &GroupReport, own: &[&FormSitting]) -> Markup {
    let (Some(first), Some(last)) = (own.first(), own.last()) else { return html! {} };
    if own.len() < 2 {
        return html! {};
    }
    let (Some(before), Some(after)) = (first.estimate, last.estimate) else { return html! {} };
    let sem = (0.5 * (before.sd.powi(2) + after.sd.powi(2))).sqrt().max(0.5 * group.sem());
    let smallest = crate::psychophysics::smallest_real_change(sem);
    let by = after.ln_threshold - before.ln_threshold;
    html! {
        p {
            "From first to last form: threshold × " (format!("{:.2}", by.exp())) ". "
            @if by < -smallest { "Smaller differences were seen." }
            @else if by > smallest { "Only larger differences were seen." }
            @else { "No change we can be sure of for one person (that takes × " (format!("{:.2}", (-smallest).exp())) ")." }
        }
    }
}

fn advice(practise: Practise) -> String {
    match practise {
        Practise::Axis(axis) => {
            let what = match axis {
                Axis::Darker => "restorations that are too dark",
                Axis::Lighter => "restorations that are too light",
                Axis::Chroma => "errors of chroma",
                Axis::Hue => "errors of hue",
            };
            format!("{what}, where the threshold is highest.")
        }
        Practise::FewerFalseAlarms => {
            "saying \"none\": more than a quarter of the smiles without a restoration were called."
                .to_owned()
        }
        Practise::Keep => "nothing stands out; keep what you have.".to_owned(),
    }
}
