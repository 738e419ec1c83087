//! Thresholds, classes, change and reliability of a group.

use super::charts::{self, Series};
use super::figures::{de00, figure, in_words, optional, share};
use super::options::{CourseReportOptions, LEAST_CELL};
use crate::course::{CUT_DE00, Competency, CourseData, GroupReport, Verdict, borderline_band};
use crate::psychophysics::Change;
use maud::{Markup, html};

/// Edges of the bins of shared histograms, ΔE00.
const BINS_DE00: [f64; 9] = [0.4, 0.6, 0.85, 1.2, 1.8, 2.7, 3.8, 5.5, 8.0];

pub(super) fn thresholds(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let cut = options.course.and_then(|c| c.pass).map_or(CUT_DE00, |pass| pass.threshold_de00);
    let drawn = if options.shared {
        shared_charts(data, group)
    } else {
        own_charts(data, group, options, cut)
    };
    html! {
        h2 { "Thresholds" }
        (drawn)
        div .wide tabindex="0" role="region" aria-label="thresholds of the group" {
            table {
                caption { "Thresholds of the group. The true spread is what is left without errors of measuring." }
                thead {
                    tr {
                        th { "form sat" } th { "learners" } th { "geometric mean, ΔE00" }
                        th { "SD of ln τ" } th { "typical error" } th { "true SD" }
                        th { "false alarms" }
                    }
                }
                tbody {
                    @for phase in &group.phases {
                        tr {
                            td { (in_words(phase.phase)) }
                            @if options.shared && phase.learners < LEAST_CELL {
                                td colspan="6" .words { "fewer than " (LEAST_CELL) }
                            } @else {
                                td { (phase.learners) }
                                td { (optional(phase.ln_threshold.map(|m| m.0.exp()), 2)) }
                                td { (optional(phase.ln_threshold.map(|m| m.1), 3)) }
                                td { (format!("{:.3}", phase.sem)) }
                                td { (optional(phase.true_sd, 3)) }
                                td { (share(phase.false_alarms)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn own_charts(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
    cut: f64,
) -> Markup {
    let all: Vec<Series<'_>> = group
        .phases
        .iter()
        .map(|phase| Series {
            name: in_words(phase.phase),
            thresholds: data
                .of_phase(phase.phase)
                .values()
                .filter_map(|s| s.estimate)
                .map(|e| (e.ln_threshold.exp(), e.sd))
                .collect(),
        })
        .collect();
    let points: Vec<(f64, f64)> = data
        .counting()
        .filter_map(|s| {
            let share = data.false_alarms(s).value()?;
            Some((s.estimate?.ln_threshold.exp(), 100.0 * share))
        })
        .collect();
    let limit = 100.0 * options.limits().false_alarms;
    html! {
        (figure(
            charts::distribution(&all, cut),
            "Each learner's threshold with one standard error, in order. The grey line is the cut.",
        ))
        (figure(
            charts::false_alarms(&points, limit),
            "Threshold and false alarms of every sitting. Small differences seen count only with few \
             false alarms; above the grey line there are too many.",
        ))
    }
}

fn shared_charts(data: &CourseData, group: &GroupReport) -> Markup {
    html! {
        @for phase in &group.phases {
            @let values: Vec<f64> = data.of_phase(phase.phase).values()
                .filter_map(|s| s.estimate).map(|e| e.ln_threshold.exp()).collect();
            @let bins = bins(&values);
            (figure(
                charts::histogram(&bins),
                &format!("Thresholds {}. Low grey bars: fewer than {LEAST_CELL} learners.", in_words(phase.phase)),
            ))
        }
    }
}

/// Counts in bins; those below the least cell are left out, and with a single one the next smallest
/// too, or the total would give it away. Empty bins stay empty.
fn bins(values: &[f64]) -> Vec<(f64, f64, Option<u32>)> {
    let counts: Vec<u32> = BINS_DE00
        .windows(2)
        .map(|edge| {
            let last = edge[1] >= BINS_DE00[BINS_DE00.len() - 1];
            let first = edge[0] <= BINS_DE00[0];
            let inside = |v: &&f64| (first || **v >= edge[0]) && (last || **v < edge[1]);
            values.iter().filter(inside).count() as u32
        })
        .collect();
    let shown = suppressed(&counts);
    BINS_DE00.windows(2).zip(shown).map(|(edge, count)| (edge[0], edge[1], count)).collect()
}

/// Counts that may be shared.
pub(super) fn suppressed(counts: &[u32]) -> Vec<Option<u32>> {
    let small = |count: u32| count > 0 && (count as usize) < LEAST_CELL;
    let mut shown: Vec<Option<u32>> =
        counts.iter().map(|count| (!small(*count)).then_some(*count)).collect();
    if shown.iter().filter(|count| count.is_none()).count() == 1 {
        let next = (0..counts.len())
            .filter(|i| counts[*i] as usize >= LEAST_CELL)
            .min_by_key(|i| counts[*i]);
        if let Some(next) = next {
            shown[next] = None;
        }
    }
    shown
}

pub(super) fn classes(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let limits = options.limits();
    let last = data.last_sittings();
    let mut counts = [0_u32; Competency::ALL.len()];
    let mut judged = [0_u32; 4];
    for (sitting, false_alarms) in last.values() {
        let Some(estimate) = sitting.estimate else { continue };
        let threshold = estimate.threshold_de00();
        let class = Competency::of(threshold, *false_alarms, &limits);
        if let Some(place) = Competency::ALL.iter().position(|c| *c == class) {
            counts[place] += 1;
        }
        if let Some(pass) = options.course.and_then(|course| course.pass) {
            let place = match Verdict::of(&estimate, data.false_alarms(sitting), &pass) {
                Verdict::Passed => 0,
                Verdict::Borderline => 1,
                Verdict::ThresholdTooHigh => 2,
                Verdict::TooManyFalseAlarms => 3,
            };
            judged[place] += 1;
        }
    }
    let shown = |counts: &[u32]| -> Vec<String> {
        if !options.shared {
            return counts.iter().map(u32::to_string).collect();
        }
        let text = |count: Option<u32>| {
            count.map_or_else(|| "not shown".to_owned(), |count| count.to_string())
        };
        suppressed(counts).into_iter().map(text).collect()
    };
    html! {
        h2 { "Classes" }
        p .caution {
            "Provisional: there are no norms yet. A class is given where the threshold's 95 % interval says so. "
            "Fine: its upper end is at most " (limits.fine_de00) " ΔE00; clinical: at most " (limits.clinical_de00)
            "; developing: at most " (limits.developing_de00) "; not yet: its lower end is above that. What lies "
            "in between cannot be told from these forms, nor can a class from fewer than "
            (limits.least_catch_trials) " smiles without a restoration. Too many false alarms: the whole interval "
            "of their share lies above " (format!("{:.0}", 100.0 * limits.false_alarms)) " %. "
            "A class is no diagnosis of colour vision."
        }
        div .wide tabindex="0" role="region" aria-label="learners by class" {
            table .keep {
                caption { "Learners by class after their last form." }
                thead { tr { th { "class" } th { "learners" } } }
                tbody {
                    @for (class, count) in Competency::ALL.iter().zip(shown(&counts)) {
                        tr { td { (class.words()) } td { (count) } }
                    }
                }
            }
        }
        @if let Some(pass) = options.course.and_then(|course| course.pass) {
            @let (low, high) = borderline_band(pass.threshold_de00, group.sem());
            div .wide tabindex="0" role="region" aria-label="learners by result" {
                table .keep {
                    caption {
                        "Pass at " (pass.threshold_de00) " ΔE00 with at most "
                        (format!("{:.0}", 100.0 * pass.false_alarms))
                        " % false alarms. One form cannot decide between " (de00(low)) " and " (de00(high))
                        " ΔE00: borderline, sit another form."
                    }
                    thead { tr { th { "result" } th { "learners" } } }
                    tbody {
                        @for (words, count) in ["passed", "borderline: sit another form", "threshold too high",
                            "too many false alarms"].iter().zip(shown(&judged)) {
                            tr { td { (words) } td { (count) } }
                        }
                    }
                }
            }
        }
    }
}

fn percent(change: &Change) -> String {
    let at = |ln: f64| 100.0 * (ln.exp() - 1.0);
    format!(
        "{:+.0} % ({:+.0} to {:+.0} %)",
        at(change.mean),
        at(change.interval.0),
        at(change.interval.1)
    )
}

fn points(change: Option<Change>, scale: f64) -> String {
    change.map_or_else(
        || "-".to_owned(),
        |c| {
            let (low, high) = c.interval;
            // A rounded nothing has no sign.
            let rounded = |value: f64| (10.0 * scale * value).round() / 10.0 + 0.0;
            format!("{:+.1} ({:+.1} to {:+.1})", rounded(c.mean), rounded(low), rounded(high))
        },
    )
}

pub(super) fn changes(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let changes: Vec<_> = group
        .changes
        .iter()
        .filter(|c| !options.shared || c.ln_threshold.count >= LEAST_CELL)
        .collect();
    html! {
        @if !changes.is_empty() {
            h2 { "Change" }
            @for change in changes {
                @let (from, to) = change.phases;
                @if !options.shared {
                    @let (before, after) = (data.of_phase(from), data.of_phase(to));
                    @let pairs: Vec<(f64, f64)> = before.iter().filter_map(|(learner, b)| {
                        let a = after.get(learner)?.estimate?;
                        Some((b.estimate?.ln_threshold.exp(), a.ln_threshold.exp()))
                    }).collect();
                    (figure(
                        charts::before_after(&pairs, change.smallest_factor),
                        "Each learner's two thresholds. Inside the grey band a single learner's change may be error.",
                    ))
                }
                div .wide tabindex="0" role="region" aria-label="change" {
                    table .keep {
                        caption { "From " (in_words(from)) " to " (in_words(to)) ", " (change.ln_threshold.count) " learners, with 95 % intervals." }
                        tbody {
                            tr { td { "threshold" } td { (percent(&change.ln_threshold)) } }
                            tr { td { "effect size, Hedges' g av, of ln τ" } td { (optional(change.g_av, 2)) } }
                            tr { td { "score, points" } td { (points(change.score, 1.0)) } }
                            tr { td { "false alarms, points" } td { (points(change.false_alarms, 100.0)) } }
                            tr { td { "spread of true changes, SD of ln τ" } td { (format!("{:.3}", change.ln_threshold.sd_between)) } }
                            tr {
                                td { "smallest real change of one person" }
                                td { "×" (format!("{:.2}", change.smallest_factor)) " or ×" (format!("{:.2}", change.smallest_factor.recip())) }
                            }
                            @let (better, worse) = change.beyond;
                            @let shown = if options.shared { suppressed(&[better, worse]) } else { vec![Some(better), Some(worse)] };
                            tr { td { "learners beyond it: lower / higher" }
                                td {
                                    @for (i, count) in shown.iter().enumerate() {
                                        @if i > 0 { " / " }
                                        @match count { Some(count) => { (count) } None => { "not shown" } }
                                    }
                                }
                            }
                        }
                    }
                }
                (false_alarm_warning(change.false_alarms))
            }
            p .note {
                "A change between two forms of one sitting is not yet learning: a delayed form, two weeks later or "
                "more, with smiles never practised, is what shows that it lasts."
            }
        }
    }
}

fn false_alarm_warning(change: Option<Change>) -> Markup {
    html! {
        @if change.is_some_and(|change| change.interval.0 > 0.0) {
            p .caution { "False alarms rose too: part of the gain is calling more teeth, not seeing more." }
        }
    }
}

pub(super) fn reliability(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
) -> Markup {
    html! {
        h2 { "Reliability" }
        div .wide tabindex="0" role="region" aria-label="reliability" {
            table .keep {
                caption { "Of the forms as sat in full, by this group. A point is one percent of the smiles." }
                thead {
                    tr {
                        th { "form" } th { "sittings" } th { "mean score" } th { "SD" } th { "KR-20" }
                        th { "split half" } th { "error, points" } th { "smallest real change, points" }
                    }
                }
                tbody {
                    @for form in &group.forms {
                        tr {
                            td { (data.forms[form.form].id) }
                            @if options.shared && form.sittings < LEAST_CELL {
                                td colspan="7" .words { "fewer than " (LEAST_CELL) }
                            } @else {
                                td { (form.sittings) }
                                td { (optional(form.score.map(|s| s.0), 1)) }
                                td { (optional(form.score.map(|s| s.1), 1)) }
                                td { (optional(form.kr20, 2)) }
                                td { (optional(form.split_half, 2)) }
                                td { (optional(form.sem, 1)) }
                                td { (optional(form.sem.map(crate::psychophysics::smallest_real_change), 0)) }
                            }
                        }
                    }
                }
            }
        }
        @for change in &group.changes {
            @if !options.shared || change.ln_threshold.count >= LEAST_CELL {
                p {
                    "Parallel forms, " (in_words(change.phases.0)) " and " (in_words(change.phases.1))
                    ": thresholds correlate " (optional(change.parallel_r.0, 2)) ", scores "
                    (optional(change.parallel_r.1, 2)) ". Learners who change by different amounts make this lower."
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_cells_cannot_be_worked_out() {
        assert_eq!(suppressed(&[20, 3, 9, 0]), [Some(20), None, None, Some(0)]);
        assert_eq!(suppressed(&[20, 3, 2, 9]), [Some(20), None, None, Some(9)]);
        assert_eq!(suppressed(&[20, 5]), [Some(20), Some(5)]);
        assert_eq!(suppressed(&[4]), [None]);
        let values = [0.1, 0.5, 0.5, 0.5, 0.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 9.0, 9.0];
        let counts: Vec<Option<u32>> = bins(&values).iter().map(|b| b.2).collect();
        assert_eq!(counts[0], None, "five in the first bin are the next smallest");
        assert_eq!((counts[3], counts[7]), (Some(6), None));
    }
}
