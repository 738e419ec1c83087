//! `case`: measured colours and room to a level.

use crate::app::cli::arguments::MakeLevel;
use crate::app::cli::exit::{ExitWith, NotWritten};
use crate::level::KnownMaterials;
use crate::level::clinic::{level_text, load_case};
use crate::level::load::parse_level;
use crate::play::content::shipped;
use crate::play::records::table_folder;
use crate::play::whole_file;
use std::path::Path;

pub(crate) fn run(arguments: &MakeLevel, materials: Option<&Path>) -> ExitWith {
    match make(arguments, materials) {
        Ok(said) => {
            say!("{said}");
            ExitWith::success()
        }
        Err(message) => ExitWith::failure(format!("{message}\nNothing was written.")),
    }
}

fn make(arguments: &MakeLevel, materials: Option<&Path>) -> Result<String, String> {
    let library = shipped::library(materials, table_folder()).map_err(|error| error.to_string())?;
    let loaded = load_case(&arguments.file, &library).map_err(|error| error.to_string())?;
    let case = loaded.value;
    let level = case.level(&library).map_err(|error| error.to_string())?;
    let remark =
        format!("Made by `second-glance case` from {}.", crate::printable::path(&arguments.file));
    let text = level_text(&level, &remark).map_err(|error| error.to_string())?;
    // The file must be one that the program takes, its name included.
    let known = KnownMaterials::of(&library);
    parse_level(&arguments.out, &text, &known).map_err(|error| error.to_string())?;
    whole_file::write(&arguments.out, &text, arguments.replace)
        .map_err(|e| NotWritten::from(e).to_string())?;
    let mut said: String = loaded.warnings.iter().map(|warning| format!("{warning}\n")).collect();
    said.push_str(&format!("wrote {}", crate::printable::path(&arguments.out)));
    Ok(said)
}
