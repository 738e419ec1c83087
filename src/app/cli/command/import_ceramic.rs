//! `import-ceramic`: measured spectra to a material file.

use crate::app::cli::arguments::ImportCeramic;
use crate::app::cli::command::making::{MakeError, made};
use crate::app::cli::exit::ExitWith;
use crate::intake;
use crate::level::load::{parse_measured_ceramics, read_bytes};
use crate::play::content::shipped;
use crate::play::records::table_folder;
use crate::play::whole_file;

pub(crate) fn run(arguments: &ImportCeramic) -> ExitWith {
    made(import(arguments))
}

/// What to tell after writing the file.
fn import(arguments: &ImportCeramic) -> Result<String, MakeError> {
    let mut measurements = Vec::new();
    let mut faults = Vec::new();
    let mut said = String::new();
    for file in &arguments.files {
        let read =
            read_bytes(file, intake::MAX_BYTES as u64).and_then(|bytes| intake::read(file, &bytes));
        match read {
            Ok((measurement, warnings)) => {
                measurements.push(measurement);
                warnings.iter().for_each(|warning| said.push_str(&format!("{warning}\n")));
            }
            Err(error) => faults.push(error),
        }
    }
    if !faults.is_empty() {
        return Err(MakeError::Measurements(faults));
    }
    let library = shipped::library(None, table_folder())?;
    let import = intake::import(&library, &measurements)?;
    let text = import.to_ron()?;
    // The file must be one that the program takes.
    parse_measured_ceramics(&arguments.out, &text)?;
    whole_file::write(&arguments.out, &text, arguments.replace)?;
    said.push_str(&import.report());
    said.push_str(&format!("wrote {}", crate::printable::path(&arguments.out)));
    Ok(said)
}
