//! `check`: all faults of level and material files.

use super::ExitWith;
use crate::app::cli::Check;
use crate::app::shipped;

pub(super) fn run(arguments: &Check) -> ExitWith {
    match shipped::check(&arguments.paths) {
        Ok(report) => {
            println!("{report}");
            ExitWith { code: u8::from(report.errors() > 0), message: None }
        }
        Err(error) => ExitWith::failure(error),
    }
}
