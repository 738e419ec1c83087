//! A session of "Find it" in a few lines of plain text.

use super::session::rate;
use crate::measure::FindResult;
use crate::psychophysics::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00};
use crate::words::count;

/// The end of the course's look, s.
const LOOK_S: f64 = 2.5;
/// A difference that is hard to miss, ΔE00, beside the two published ones.
const PLAIN_DE00: f64 = 3.0;
/// Longest time to half found that is told, s.
const CAP_S: f64 = crate::measure::FIND_CAP_S;
/// Restored smiles needed before shares are shown: half a session. Design choice.
const ENOUGH: u32 = 24;

/// The summary of stored trials, one line per finding, each ending in a line break. False alarms
/// stand beside the times: who presses soon and wrongly is not fast.
#[must_use]
pub fn find_summary(result: &FindResult) -> String {
    let mut lines = Vec::new();
    match &result.times {
        Some(times) if times.found.total >= ENOUGH => {
            for de00 in [PERCEPTIBILITY_DE00, ACCEPTABILITY_DE00, PLAIN_DE00] {
                let (share, low, high) = times.found_by(LOOK_S, de00);
                let half = times.median_s(de00, CAP_S).map_or_else(
                    || format!("fewer than half within {CAP_S:.0} s"),
                    |t| format!("half within {t:.1} s"),
                );
                lines.push(format!(
                    "A difference of {de00:.1} ΔE00: {:.0} % found within {LOOK_S} s (95 %: \
                     {:.0}-{:.0} %); {half}.",
                    100.0 * share,
                    100.0 * low,
                    100.0 * high
                ));
            }
        }
        times => lines.push(format!(
            "Found within {LOOK_S} s: not yet measured; it takes {ENOUGH} restored smiles, and {} \
             answered.",
            count(times.as_ref().map_or(0, |t| t.found.total), "was", "were")
        )),
    }
    lines.push(format!(
        "False alarms: {}",
        rate(result.false_alarms, "smiles without a restoration")
    ));
    if result.missed > 0 {
        lines.push(format!(
            "{} not count: a picture stood for longer than 50 ms.",
            count(result.missed, "smile does", "smiles do")
        ));
    }
    lines.push("Times are those of this computer and its keyboard or mouse.".to_owned());
    lines.iter().map(|line| format!("{line}\n")).collect()
}
