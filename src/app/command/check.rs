//! `check`: all faults of level and material files.

use super::ExitWith;
use crate::app::cli::Check;
use crate::app::shipped;
use std::path::Path;

pub(super) fn run(arguments: &Check, materials: Option<&Path>) -> ExitWith {
    match shipped::check(&arguments.paths, materials) {
        Ok(report) => {
            println!("{report}");
            ExitWith { code: u8::from(report.errors() > 0), message: None }
        }
        Err(error) => ExitWith::failure(error),
    }
}
