//! The command line.

mod course;
mod files;
mod names;
mod pictures;
mod rehearse;
mod results;
mod values;

pub use course::{CourseCommand, FormArguments, LectureArguments, RosterArguments, Simulate, Sit};
pub use files::{Check, ImportCeramic, MakeLevel};
pub use names::{FramingName, LampName, Light};
pub use pictures::{Draw, Frames, Sheet};
pub use rehearse::{MeasureKind, ObserverKind, Rehearse};
pub use results::{Export, ExportFormat, ExportTable, Forget, Gather, HandIn, ReportArguments};

use crate::play::cautions::CAUTIONS;
use crate::play::content::shipped::Folders;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// Trains the eye that chooses dental ceramics. Without a command, opens the app.
#[derive(Debug, Parser)]
#[command(name = "second-glance", version, after_help = CAUTIONS)]
pub struct Cli {
    /// What holds for every command.
    #[command(flatten)]
    pub options: Options,
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What holds for every command.
#[derive(Debug, Clone, Default, Args)]
pub struct Options {
    /// Folder for results [default: the platform's data folder].
    #[arg(long, global = true, value_name = "DIR")]
    pub data_dir: Option<PathBuf>,
    /// Folder with level files, instead of the built-in levels.
    #[arg(long, global = true, value_name = "DIR")]
    pub levels: Option<PathBuf>,
    /// Folder with material files of your own: measured ceramics are added, other kinds stand in for
    /// the built-in ones.
    #[arg(long, global = true, value_name = "DIR")]
    pub materials: Option<PathBuf>,
    /// Folder with course files and levels that they use; listed before the built-in courses.
    #[arg(long, global = true, value_name = "DIR")]
    pub courses: Option<PathBuf>,
    /// Folder that hand-ins are written to from the window [default: hand-ins, beside the results].
    #[arg(long, global = true, value_name = "DIR")]
    pub hand_ins_to: Option<PathBuf>,
    /// Length of the grey adaptation before a session, s. What was used is kept with the results.
    #[arg(long, global = true, value_name = "S", value_parser = values::seconds)]
    pub adaptation_s: Option<f64>,
}

impl Options {
    /// Folders with files of one's own.
    #[must_use]
    pub fn folders(&self) -> Folders {
        Folders {
            levels: self.levels.clone(),
            materials: self.materials.clone(),
            courses: self.courses.clone(),
        }
    }
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Run a whole session or round with a simulated observer, without a window, and print a summary.
    Rehearse(Rehearse),
    /// Draw a level's smiles to PNG files: restored (or every option), twin and value-only.
    Draw(Draw),
    /// Draw every framing, light and condition of a few smiles onto one contact sheet.
    Sheet(Sheet),
    /// Measure how long a frame takes to draw.
    Frames(Frames),
    /// Check level, course and material files; lists every fault with file, line and column.
    Check(Check),
    /// Print a form: its items, its expected scores and its information.
    Form(FormArguments),
    /// Write a roster of random learner ids.
    Roster(RosterArguments),
    /// Write one learner's results of a course to one file.
    HandIn(HandIn),
    /// Take hand-ins into the results of --data-dir. Doing it twice changes nothing.
    Gather(Gather),
    /// Write the report of gathered results as one HTML file.
    Report(ReportArguments),
    /// Write results in an open format.
    Export(Export),
    /// Delete everything of one learner from the results of --data-dir.
    Forget(Forget),
    /// Courses.
    #[command(subcommand)]
    Course(CourseCommand),
    /// Make a material file from measured reflectance spectra (CSV) of a ceramic over white and black.
    ImportCeramic(ImportCeramic),
    /// Make a level from a case of your own: measured colours of teeth, prepared tooth and room (RON).
    Case(MakeLevel),
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn no_command_opens_the_app() {
        let cli = Cli::try_parse_from(["second-glance", "--data-dir", "d"]).unwrap();
        assert!(cli.command.is_none());
        assert_eq!(cli.options.data_dir, Some(PathBuf::from("d")));
    }
}
