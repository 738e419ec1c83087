//! `case`: measured colours and room to a level.

use crate::app::cli::arguments::MakeLevel;
use crate::app::cli::command::making::{MakeError, made};
use crate::app::cli::exit::ExitWith;
use crate::level::KnownMaterials;
use crate::level::clinic::{level_text, load_case};
use crate::level::load::parse_level;
use crate::play::content::shipped;
use crate::play::records::table_folder;
use crate::play::whole_file;
use std::path::Path;

pub(crate) fn run(arguments: &MakeLevel, materials: Option<&Path>) -> ExitWith {
    made(make(arguments, materials))
}

fn make(arguments: &MakeLevel, materials: Option<&Path>) -> Result<String, MakeError> {
    let library = shipped::library(materials, table_folder())?;
    let loaded = load_case(&arguments.file, &library)?;
    let case = loaded.value;
    let level = case.level(&library)?;
    let remark =
        format!("Made by `second-glance case` from {}.", crate::printable::path(&arguments.file));
    let text = level_text(&level, &remark)?;
    // The file must be one that the program takes, its name included.
    let known = KnownMaterials::of(&library);
    parse_level(&arguments.out, &text, &known)?;
    whole_file::write(&arguments.out, &text, arguments.replace)?;
    let mut said: String = loaded.warnings.iter().map(|warning| format!("{warning}\n")).collect();
    said.push_str(&format!("wrote {}", crate::printable::path(&arguments.out)));
    Ok(said)
}
