//! `check`: all faults of level, course and material files, and of the forms of courses.

use super::ExitWith;
use crate::app::cli::Check;
use crate::app::shipped;
use std::path::Path;

pub(super) fn run(arguments: &Check, materials: Option<&Path>) -> ExitWith {
    match shipped::check(&arguments.paths, materials) {
        Ok(report) => {
            say!("{report}");
            let courses = report.courses.iter().map(|(_, course)| course);
            let forms: Vec<String> = courses.flat_map(shipped::faults_of_forms).collect();
            for fault in &forms {
                say!("{fault}");
            }
            let is_faulty = report.errors() > 0 || !forms.is_empty();
            ExitWith { code: u8::from(is_faulty), message: None }
        }
        Err(error) => ExitWith::failure(error),
    }
}
