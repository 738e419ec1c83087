//! `check`: all faults of level and material files.

use super::ExitWith;
use crate::app::cli::Check;
use crate::app::shipped;

pub(super) fn run(arguments: &Check) -> ExitWith {
    let report = shipped::check(&arguments.paths);
    println!("{}", report.text);
    ExitWith { code: u8::from(report.errors > 0), message: None }
}
