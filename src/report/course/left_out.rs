//! What is stored and was counted nowhere.

use super::options::CourseReportOptions;
use crate::course::CourseData;
use maud::{Markup, html};

/// Lines that are listed one by one.
const MOST_LINES: usize = 50;

/// The rows that were left out, and what to do; individuals are not named in shared reports.
pub(super) fn left_out(data: &CourseData, options: &CourseReportOptions<'_>) -> Markup {
    let rows = &data.left_out;
    html! {
        @if !rows.is_empty() {
            h2 { "Left out" }
            p .note {
                (rows.len()) " stored rows hold what no sitting leaves behind, and are counted nowhere. To mend it, "
                "delete the learner's results (" code { "forget" } ") and gather the hand-in again."
            }
            @if !options.shared {
                ul { @for row in rows.iter().take(MOST_LINES) { li { (row) } } }
                @if rows.len() > MOST_LINES { p { "and " (rows.len() - MOST_LINES) " more" } }
            }
        }
    }
}
