//! Exercises with questions: how well the group and each learner choose, and what each question does.

use super::figures::{optional, share};
use super::options::{CourseReportOptions, LEAST_CELL};
use super::tables::suppressed;
use crate::course::{Choosing, CourseData, QuestionReport, Ranged, RoundReport};
use crate::level::format::catch_in_words;
use crate::psychophysics::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00, Proportion};
use maud::{Markup, html};

/// An exercise in words.
fn in_words(exercise: &str) -> &str {
    match exercise {
        "blend" => "Blend: which option disappears?",
        "ladder" => "Ladder: which is lighter?",
        "match" => "Match: which tab is nearest?",
        "two_lights" => "Two lights",
        "bench" => "Bench: compose a restoration",
        "try_in" => "Try-in: what does a cement do?",
        "bracket" => "Bracket: which two to make?",
        "margin" => "Margin: which one hides it?",
        "verdict" => "Verdict: accept or make again?",
        other => other,
    }
}

/// The exercise's name alone.
fn name(exercise: &str) -> &str {
    let words = in_words(exercise);
    words.split(':').next().unwrap_or(words)
}

fn ranged(value: Option<Ranged>, digits: usize, signed: bool) -> String {
    value.map_or_else(
        || "-".to_owned(),
        |(v, l, h)| {
            if signed {
                // A rounded nothing has no sign.
                let ten = 10_f64.powi(digits as i32);
                let [v, l, h] = [v, l, h].map(|value| (ten * value).round() / ten + 0.0);
                format!("{v:+.digits$} ({l:+.digits$} to {h:+.digits$})")
            } else {
                format!("{v:.digits$} ({l:.digits$}-{h:.digits$})")
            }
        },
    )
}

/// The group's part; nothing where no question was answered.
pub(super) fn group(data: &CourseData, options: &CourseReportOptions<'_>) -> Markup {
    let exercises = data.exercises();
    let rounds = data.rounds();
    html! {
        @if !exercises.is_empty() {
            h2 { "Choosing" }
            p .note {
                "Regret: by how much the restoration picked lies further from its natural tooth than the "
                "best that could be had, ΔE00. " (PERCEPTIBILITY_DE00) " is what half of all observers see, "
                (ACCEPTABILITY_DE00) " what half of them accept. Leaning: the departure in value that picks "
                "prefer, above 0 for lighter, over learners with 8 picks or more."
            }
            div .wide tabindex="0" role="region" aria-label="choosing in the group" {
                table {
                    caption { "Means over learners with 95 % intervals." }
                    thead {
                        tr {
                            th .words { "exercise" } th { "learners" } th { "answers" } th { "score, of 100" }
                            th { "regret, ΔE00" } th { "SD" } th { "right" } th { "leaning, ΔL00" }
                        }
                    }
                    tbody {
                        @for exercise in &exercises {
                            tr {
                                td .words { (name(&exercise.exercise)) }
                                @if options.shared && exercise.learners < LEAST_CELL {
                                    td colspan="7" .words { "fewer than " (LEAST_CELL) }
                                } @else {
                                    td { (exercise.learners) }
                                    td { (exercise.answered) }
                                    td { (ranged(exercise.score, 0, false)) }
                                    td { (ranged(exercise.regret_de00, 2, false)) }
                                    td { (optional(exercise.regret_sd, 2)) }
                                    td { (share(exercise.right)) }
                                    td { (ranged(exercise.value_lean, 2, true)) }
                                }
                            }
                        }
                    }
                }
            }
            @for round in rounds.iter().filter(|r| !options.shared || r.learners >= LEAST_CELL) {
                (one_round(round, options))
            }
        }
    }
}

fn one_round(round: &RoundReport, options: &CourseReportOptions<'_>) -> Markup {
    let most = round.questions.iter().map(|q| q.options_de00.len()).max().unwrap_or(0);
    html! {
        h3 { (in_words(&round.exercise)) " Questions of " (round.round) }
        p .note {
            (round.learners) " learners answered all " (round.questions.len()) " questions; KR-20 of right answers "
            (optional(round.kr20, 2)) ". Flags as below."
            @if most > 0 {
                " Under each option: its ΔE00 to the natural tooth and how often it was picked; the nearest is framed."
            }
        }
        div .wide tabindex="0" role="region" aria-label="questions" {
            table .keep {
                thead {
                    tr {
                        th { "question" } th { "right" } th { "r" } th { "D27" } th { "regret, ΔE00" }
                        @for option in 1..=most { th { "option " (option) } }
                        @if most > 0 { th { "none" } }
                        th .words { "flags" }
                    }
                }
                tbody { @for question in &round.questions { (row(question, round.learners, most, options)) } }
            }
        }
    }
}

fn row(
    question: &QuestionReport,
    learners: usize,
    most: usize,
    options: &CourseReportOptions<'_>,
) -> Markup {
    let least = question.options_de00.iter().copied().fold(f64::INFINITY, f64::min);
    let nearest = question.options_de00.iter().position(|de00| *de00 <= least);
    let none = question.options_de00.len();
    let target = if question.is_catch { Some(none) } else { nearest };
    let shown = if options.shared {
        suppressed(&question.picked)
    } else {
        question.picked.iter().copied().map(Some).collect()
    };
    let words: Vec<&str> = question.flags.iter().map(|flag| flag.short()).collect();
    let cell = |place: usize| -> Markup {
        let count = question.picked.get(place).copied().unwrap_or(0);
        html! {
            td class=(if target == Some(place) { "map target" } else { "map" })
                style=(super::items::grey(f64::from(count) / learners.max(1) as f64)) {
                @if let Some(de00) = question.options_de00.get(place) {
                    span .small { (format!("{de00:.1}")) } " "
                }
                @match shown.get(place) {
                    Some(Some(count)) => { (count) }
                    Some(None) => { "…" }
                    None => {}
                }
            }
        }
    };
    html! {
        tr {
            td { (question.number + 1) @if question.is_catch { " (none)" } }
            td { (super::items::right(question.figures.difficulty, learners, options)) }
            td { (optional(question.figures.corrected_r, 2)) }
            td { (optional(question.figures.d27, 2)) }
            td { (optional(question.regret_de00, 2)) }
            @for place in 0..most {
                @if place < none { (cell(place)) } @else { td {} }
            }
            @if most > 0 { (cell(none)) }
            td .flag { (words.join(", ")) }
        }
    }
}

/// One learner's part; nothing where they answered no question.
pub(super) fn learner(choosing: &[Choosing]) -> Markup {
    html! {
        @if !choosing.is_empty() {
            div .wide tabindex="0" role="region" aria-label="choosing" {
                table {
                    caption { "Choosing, with 95 % intervals." }
                    thead {
                        tr {
                            th .words { "exercise" } th { "answers" } th { "score, of 100" } th { "regret, ΔE00" }
                            th { "right" } th { "right at catches" } th { "leaning, ΔL00" }
                        }
                    }
                    tbody {
                        @for one in choosing {
                            @let lean = one.value_lean.map(|l| (l.value, l.low, l.high));
                            tr {
                                td .words { (name(&one.exercise)) }
                                td { (one.answered) }
                                td { (ranged(one.score, 0, false)) }
                                td { (ranged(one.regret_de00, 2, false)) }
                                td { (share(one.right)) }
                                td .words { (catches(one)) }
                                td { (ranged(lean, 1, true)) }
                            }
                        }
                    }
                }
            }
            @for advice in choosing.iter().filter_map(advice) { p { "To practise: " (advice) } }
        }
    }
}

/// How often the exercise's catches were answered rightly, and what they are.
fn catches(one: &Choosing) -> String {
    let Proportion { successes, total } = one.nothing;
    match catch_in_words(&one.exercise) {
        Some(words) if total > 0 => format!("{successes} of {total} {words}"),
        _ => "-".to_owned(),
    }
}

/// What to practise in an exercise; nothing where nothing stands out.
fn advice(choosing: &Choosing) -> Option<String> {
    let name = name(&choosing.exercise);
    if let Some(lean) = choosing.value_lean {
        if lean.low > 0.0 {
            return Some(format!("{name}: picks lean towards the lighter; compare value first."));
        }
        if lean.high < 0.0 {
            return Some(format!("{name}: picks lean towards the darker; compare value first."));
        }
    }
    // Half the perceptibility threshold of regret costs nothing in the exercises' scores either.
    let (mean, low, _) = choosing.regret_de00?;
    (low > 0.5 * PERCEPTIBILITY_DE00)
        .then(|| format!("{name}: picks lie {mean:.1} ΔE00 further off than they need."))
}
