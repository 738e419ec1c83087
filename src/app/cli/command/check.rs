//! `check`: all faults of level, course and material files, and of the forms of courses.

use crate::app::cli::arguments::{Check, Options};
use crate::app::cli::exit::ExitWith;
use crate::play::content::shipped;

pub(crate) fn run(arguments: &Check, options: &Options) -> ExitWith {
    let mut paths = arguments.paths.clone();
    // A folder that is named to be used is checked too.
    paths.extend([&options.levels, &options.courses].into_iter().flatten().cloned());
    if paths.is_empty() {
        return ExitWith::failure("name files or folders to check, or --levels or --courses");
    }
    match shipped::check(&paths, options.materials.as_deref(), options.levels.as_deref()) {
        Ok(report) => {
            say!("{report}");
            ExitWith { code: u8::from(report.errors() > 0), message: None }
        }
        Err(error) => ExitWith::failure(error),
    }
}
