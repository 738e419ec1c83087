//! `case`: measured colours and room to a level.

use super::{ExitWith, not_written};
use crate::app::cli::MakeLevel;
use crate::app::persist;
use crate::app::{shipped, whole_file};
use crate::level::KnownMaterials;
use crate::level::clinic::{level_text, load_case};
use crate::level::load::parse_level;
use std::path::Path;

pub(super) fn run(arguments: &MakeLevel, materials: Option<&Path>) -> ExitWith {
    match make(arguments, materials) {
        Ok(said) => {
            say!("{said}");
            ExitWith::success()
        }
        Err(message) => ExitWith::failure(format!("{message}\nNothing was written.")),
    }
}

fn make(arguments: &MakeLevel, materials: Option<&Path>) -> Result<String, String> {
    let library =
        shipped::library(materials, persist::table_folder()).map_err(|error| error.to_string())?;
    let loaded = load_case(&arguments.file, &library).map_err(|error| error.to_string())?;
    let case = loaded.value;
    let level = case.level(&library).map_err(|error| error.to_string())?;
    let remark =
        format!("Made by `second-glance case` from {}.", crate::printable::path(&arguments.file));
    let text = level_text(&level, &remark).map_err(|error| error.to_string())?;
    // The file must be one that the program takes, its name included.
    let known = KnownMaterials::of(&library);
    parse_level(&arguments.out, &text, &known).map_err(|error| error.to_string())?;
    whole_file::write(&arguments.out, &text, arguments.replace).map_err(|e| not_written(&e))?;
    let mut said: String = loaded.warnings.iter().map(|warning| format!("{warning}\n")).collect();
    said.push_str(&format!("wrote {}", crate::printable::path(&arguments.out)));
    Ok(said)
}
