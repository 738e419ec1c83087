//! A session in a few lines of plain text.

use crate::psychophysics::{GlanceSummary, PooledGlance, Proportion};
use crate::words::{count, tenths};
use std::fmt::Write;

/// Confidence of every interval shown.
const CONFIDENCE: f64 = 0.95;
/// Catch trials needed before a score is shown: two blocks' worth. With fewer, the interval of
/// the false-alarm rate is wider than the scale it would be read on. Design choice.
const ENOUGH_CATCH: u32 = 10;
/// Signal trials needed before a score is shown: two blocks' worth. Design choice.
const ENOUGH_SIGNAL: u32 = 30;

/// The summary of a Glance session, one line per finding, each ending in a line break. Rates are
/// those of the session; the score is over `pooled`, the learner's practice of the level, this
/// session included, as one round is too short for it. It says how many sessions that is, and its
/// interval ([`GlanceSummary::score_interval`]).
///
/// Hits never stand without false alarms, nor a rate without its interval; what too few trials
/// cannot say is called "not yet measured".
#[must_use]
pub fn session_summary(summary: &GlanceSummary, pooled: &PooledGlance) -> String {
    let mut text = String::new();
    line(&mut text, &format!("Restorations found: {}", rate(summary.found, "restored smiles")));
    line(
        &mut text,
        &format!("False alarms: {}", rate(summary.false_alarms, "smiles without a restoration")),
    );
    line(
        &mut text,
        &format!(
            "Another tooth named: {}. Restoration there, \"none\" answered: {}. Out of time: {}.",
            summary.wrong_tooth, summary.missed, summary.timed_out
        ),
    );
    let all = &pooled.summary;
    let wanted = [
        (ENOUGH_SIGNAL.saturating_sub(all.found.total), "restored"),
        (ENOUGH_CATCH.saturating_sub(all.correctly_none.total), "without a restoration"),
    ];
    if wanted.iter().any(|(more, _)| *more > 0) {
        let more: Vec<String> = wanted
            .iter()
            .filter(|(more, _)| *more > 0)
            .map(|(more, kind)| format!("{more} {kind}"))
            .collect();
        line(
            &mut text,
            &format!(
                "Score: not yet measured; it takes {ENOUGH_SIGNAL} restored smiles and \
                 {ENOUGH_CATCH} without a restoration in practice of this level. {} more to come.",
                more.join(" and ")
            ),
        );
        return text;
    }
    if let (Some(score), Some((low, high))) = (all.score(), all.score_interval(CONFIDENCE)) {
        line(
            &mut text,
            &format!(
                "Score: {score:.0} of 100 (95 % interval {low:.0}-{high:.0}), over {} in {} of this \
                 level; always \"none\" and any tooth at random score about 0.",
                count(pooled.smiles(), "smile", "smiles"),
                count(pooled.sessions, "session", "sessions")
            ),
        );
    }
    match all.detection() {
        Some(detection) => line(
            &mut text,
            &format!(
                "Restored or not, whichever tooth, over the same smiles: d' {}, criterion {} ({}).",
                tenths(detection.d_prime),
                tenths(detection.criterion),
                leaning(detection.criterion)
            ),
        ),
        None => line(&mut text, "Restored or not, whichever tooth: not yet measured."),
    }
    text
}

fn line(text: &mut String, sentence: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{sentence}");
}

pub(super) fn rate(proportion: Proportion, of_what: &str) -> String {
    let Proportion { successes, total } = proportion;
    match (proportion.value(), proportion.wilson(CONFIDENCE)) {
        (Some(value), Some((low, high))) => format!(
            "{successes} of {total} {of_what} ({:.0} %; 95 % interval {:.0}-{:.0} %).",
            value * 100.0,
            low * 100.0,
            high * 100.0
        ),
        _ => format!("not yet measured, no {of_what} answered."),
    }
}

fn leaning(criterion: f64) -> &'static str {
    // A tenth is far inside the standard error of any one session.
    if criterion > 0.1 {
        "leans to \"none\""
    } else if criterion < -0.1 {
        "leans to naming a tooth"
    } else {
        "leans neither way"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Tooth;
    use crate::trial::{TrialKind, Verdict};

    fn summary(found: u32, missed: u32, none: u32, false_alarms: u32) -> GlanceSummary {
        let tooth = Tooth::new(12).unwrap();
        let mut summary = GlanceSummary::default();
        for (kind, verdict, count) in [
            (TrialKind::Signal, Verdict::Found, found),
            (TrialKind::Signal, Verdict::Missed, missed),
            (TrialKind::Catch, Verdict::CorrectlyNone, none),
            (TrialKind::Catch, Verdict::FalseAlarm(tooth), false_alarms),
        ] {
            for _ in 0..count {
                summary.add(kind, verdict);
            }
        }
        summary
    }

    fn alone(summary: GlanceSummary) -> String {
        session_summary(&summary, &PooledGlance::of_one(summary))
    }

    #[test]
    fn hits_stand_beside_false_alarms_with_intervals() {
        let text = alone(summary(29, 19, 12, 4));
        // 29/48 and 4/16: 0.4631-0.7298 and 0.1018-0.4950, by hand from the formula of Wilson,
        // J Am Stat Assoc 1927. Score 100 (29/48 + 12/16 - 1) = 35.4.
        assert!(text.contains("found: 29 of 48 restored smiles (60 %; 95 % interval 46-73 %)"));
        assert!(text.contains("False alarms: 4 of 16"), "{text}");
        assert!(text.contains("(25 %; 95 % interval 10-49 %)"), "{text}");
        // 29/48 - 4/16 with its interval by hand from the formula of Newcombe, Stat Med 1998.
        assert!(
            text.contains(
                "Score: 35 of 100 (95 % interval 7-55), over 64 smiles in 1 session of this"
            ),
            "{text}"
        );
        assert!(text.contains("leans to \"none\""), "{text}");
    }

    #[test]
    fn few_trials_give_no_score() {
        for few in [summary(10, 5, 4, 1), summary(30, 0, 9, 0), summary(29, 0, 10, 0)] {
            let text = alone(few);
            assert!(text.contains("Score: not yet measured"), "{text}");
            assert!(text.contains("False alarms: "), "{text}");
            assert!(!text.contains("d'"), "{text}");
        }
        assert!(alone(summary(30, 0, 10, 0)).contains("Score: 100"));
    }

    #[test]
    fn short_rounds_are_pooled_into_a_score() {
        // A round of 15 and 5 by itself, and with another of the same level.
        let round = summary(9, 6, 4, 1);
        let first = session_summary(&round, &PooledGlance::of_one(round));
        assert!(first.contains("15 restored and 5 without a restoration more to come."), "{first}");
        let pooled = PooledGlance { sessions: 2, summary: summary(18, 12, 8, 2) };
        let text = session_summary(&round, &pooled);
        assert!(text.contains("found: 9 of 15 restored smiles"), "{text}");
        // 18/30 + 8/10 - 1 = 0.4.
        assert!(text.contains("Score: 40 of 100 (95 % interval "), "{text}");
        assert!(text.contains("over 40 smiles in 2 sessions of this level"), "{text}");
        let few = PooledGlance { sessions: 2, summary: summary(30, 0, 9, 0) };
        let text = session_summary(&round, &few);
        assert!(text.contains("1 without a restoration more to come."), "{text}");
        assert!(!text.contains("restored and"), "{text}");
    }

    #[test]
    fn an_empty_session_measures_nothing() {
        let text = alone(GlanceSummary::default());
        assert_eq!(text.matches("not yet measured").count(), 3, "{text}");
        assert!(!text.contains("NaN"), "{text}");
    }
}
