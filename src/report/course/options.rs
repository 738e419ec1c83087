//! How a report of a course is written.

use crate::level::course_format::{ClassLimits, Course, ToothNames};

/// Groups smaller than this are not shown in shared reports.
pub(super) const LEAST_CELL: usize = 5;

/// How a report is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CourseReportOptions<'a> {
    /// The course; left out, a title and the provisional limits stand in.
    pub course: Option<&'a Course>,
    /// Whether the report may leave the owner's hands.
    pub shared: bool,
    /// Whether every learner gets a page; each takes a fit of its own. Never in a shared report.
    pub pages: bool,
    /// The day it was made, UTC.
    pub day: &'a str,
}

impl CourseReportOptions<'_> {
    pub(super) fn limits(&self) -> ClassLimits {
        self.course.map(Course::class_limits).unwrap_or_default()
    }

    /// How teeth are named: as on the screen.
    pub(super) fn names(&self) -> ToothNames {
        self.course.map_or(ToothNames::Iso3950, |course| course.tooth_names)
    }
}
