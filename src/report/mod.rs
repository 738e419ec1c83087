//! Numbers to text: what a session shows, and why a restoration stood out.
//!
//! Three causes are found by trying ([`WhatIf`]): "too opaque", "cement too light" and "too thin at
//! the neck" are named by computing the difference again with that one thing changed.

mod cause;
mod course;
mod explain;
mod false_alarm;
mod feedback;
mod find;
mod measurement;
mod session;

pub use cause::{CauseFacts, WhatIf, cause_sentence};
pub use course::{CourseReportOptions, course_report, darkest_cell};
pub use explain::{cause_of, explain};
pub use false_alarm::false_alarm_sentence;
pub use feedback::{Feedback, exam_feedback};
pub use find::find_summary;
pub use measurement::{
    AxisChart, MeasurementReport, Observed, PUBLISHED, Sensitivity, axis_in_words,
};
pub use session::session_summary;
