//! The report of a course: one HTML file with its charts inside, which needs nothing else and
//! prints well.
//!
//! A shared report holds no individuals: no learner pages, no points that are one person, and no
//! count below 5.

mod figures;
mod options;

use crate::course::{CourseData, GroupReport};
pub use items::darkest_cell;
use maud::{DOCTYPE, Markup, PreEscaped, html};
pub use options::CourseReportOptions;
use options::LEAST_CELL;

mod charts;
mod items;
mod learners;
mod left_out;
mod questions;
mod tables;

/// Sittings up to which every learner gets a page with a fit of their own.
const MOST_PAGES: usize = 1000;

/// Writes the report as HTML. `progress` is told the share that is done, 0..1.
#[must_use]
pub fn course_report(
    data: &CourseData,
    options: &CourseReportOptions<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> String {
    progress(0.0);
    let group = GroupReport::new(data);
    progress(0.3);
    let title = options.course.map_or("Course report", |course| course.title.as_str());
    let enough = !options.shared || group.learners >= LEAST_CELL;
    let pages = options.pages && !options.shared && data.sittings.len() <= MOST_PAGES;
    let learners = pages.then(|| learners::pages(data, &group, options, progress));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(include_str!("style.css"))) }
            }
            body {
                main {
                    (head(data, &group, options, title))
                    (left_out::left_out(data, options))
                    @if enough {
                        (tables::thresholds(data, &group, options))
                        (tables::classes(data, &group, options))
                        (tables::changes(data, &group, options))
                        (tables::reliability(data, &group, options))
                        (questions::group(data, options))
                        (items::items(data, &group, options))
                        (learners::sat_again(data, options))
                    } @else {
                        p { "Fewer than " (LEAST_CELL) " learners: nothing is shown." }
                    }
                    @if let Some(learners) = learners { (learners) }
                    @else if options.pages && !options.shared {
                        p .note {
                            "More than " (MOST_PAGES) " sittings: pages of single learners are left out."
                        }
                    }
                    (foot())
                }
            }
        }
    };
    progress(1.0);
    page.into_string()
}

fn head(
    data: &CourseData,
    group: &GroupReport,
    options: &CourseReportOptions<'_>,
    title: &str,
) -> Markup {
    let days = |pick: fn(&str, &str) -> bool| {
        let days = data.sittings.iter().map(|s| s.day.as_str());
        days.reduce(|a, b| if pick(a, b) { a } else { b }).unwrap_or("-")
    };
    let (first, last) = (days(|a, b| a <= b), days(|a, b| a >= b));
    let spoilt: u32 = data.sittings.iter().map(|s| s.spoilt).sum();
    let unlike: u32 = data.forms.iter().map(|f| f.unlike).sum();
    let uncounted = data.sittings.len() - data.counting().count();
    html! {
        h1 { (title) }
        p .note {
            @if options.shared { "Shared report. " }
            "Made " (options.day) ". "
            (group.learners) " learners, " (data.sittings.len()) " sittings"
            @if uncounted > 0 && !options.shared { " (" (uncounted) " of them do not count: see below)" }
            ", " (data.trials) " answers to smiles, "
            @if !data.answers.is_empty() { (data.answers.len()) " to questions, " }
             (first) @if first != last { " to " (last) } "."
        }
        @if let Some(course) = options.course { p { (course.teaches) } }
        p .caution {
            "Thresholds hold for the screens they were taken on. Classes are provisional until there "
            "are norms. Nothing here says anything certain about colour vision: a learner in doubt "
            "may consider an optometric test."
        }
        @if spoilt > 0 || unlike > 0 {
            p .note {
                (spoilt) " exposures did not hold and are left out; " (unlike)
                " answers were given to a smile that was not the same as at other seats."
            }
        }
    }
}

fn foot() -> Markup {
    html! {
        h2 { "How to read this" }
        p {
            "A threshold is the colour difference, in ΔE00, at which d′ is 2: seen clearly more often "
            "than not. Smaller is better. It is estimated from every answer of a form by an observer model with "
            "false alarms, lapses and natural variation in it; the interval is 95 %. "
            "A learner who sat in one phase more than once counts there with the sitting that holds the most "
            "smiles, and of equals with the first: smiles seen before measure memory. "
            "The score is the share of smiles answered right, with and without a restoration. "
            "A smallest real change is what one person's two results must differ by to be more than "
            "error of measuring, at 95 %."
        }
        p .note {
            "KR-20: Kuder & Richardson, Psychometrika 1937;2:151-160. Change: a mixed model with known "
            "errors (Paule & Mandel 1982; Hartung & Knapp, Stat Med 2001;20:1771-1782). "
            "g av: Lakens, Front Psychol 2013;4:863. Intervals of shares: Wilson, J Am Stat Assoc "
            "1927;22:209-212; of means of values that are all equal: Clopper & Pearson, Biometrika "
            "1934;26:404-413, others at the end of what they can be. 1.8 ΔE00, which half of all observers accept: Paravina et al., J Esthet "
            "Restor Dent 2015;27 Suppl 1:S1-S9."
        }
    }
}
