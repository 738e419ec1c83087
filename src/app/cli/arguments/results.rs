//! Arguments of commands about results: handed in, gathered, reported, exported, deleted.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Arguments of `hand-in`.
#[derive(Debug, Args)]
pub struct HandIn {
    /// The learner's id.
    pub learner: String,
    /// The course's id.
    pub course: String,
    /// Folder for the file [default: here].
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,
    /// Hand in practice too, if the learner agrees.
    #[arg(long)]
    pub with_practice: bool,
}

/// Arguments of `gather`.
#[derive(Debug, Args)]
pub struct Gather {
    /// Folder with hand-ins.
    pub folder: PathBuf,
    /// Refuse hand-ins of other courses than this.
    #[arg(long, value_name = "ID")]
    pub course: Option<String>,
}

/// Arguments of `report`.
#[derive(Debug, Args)]
pub struct ReportArguments {
    /// A course's id or the path of a course file. Needed where the results hold several courses.
    #[arg(long, value_name = "COURSE")]
    pub course: Option<String>,
    /// Leave out individuals and small groups, so that it can be passed on.
    #[arg(long)]
    pub shared: bool,
    /// Leave out the pages of single learners.
    #[arg(long)]
    pub no_pages: bool,
    /// The HTML file.
    #[arg(long, value_name = "FILE", default_value = "report.html")]
    pub out: PathBuf,
}

/// A format of `export`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    /// One CSV file.
    Csv,
    /// One Parquet file.
    Parquet,
    /// A folder of behavioural events in the Brain Imaging Data Structure.
    Bids,
    /// A Psych-DS folder.
    PsychDs,
    /// The data dictionary: every column, its unit and meaning.
    Dictionary,
}

/// Arguments of `export`.
#[derive(Debug, Args)]
pub struct Export {
    /// The format.
    #[arg(value_enum)]
    pub format: ExportFormat,
    /// The file, or a new folder.
    pub out: PathBuf,
    /// One learner only.
    #[arg(long, value_name = "ID")]
    pub learner: Option<String>,
    /// What a CSV or Parquet file holds; folders hold both.
    #[arg(long, value_enum, default_value_t = ExportTable::Trials)]
    pub table: ExportTable,
}

/// A table of `export`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportTable {
    /// Timed trials.
    Trials,
    /// Answers to questions.
    Answers,
}

/// Arguments of `forget`.
#[derive(Debug, Args)]
pub struct Forget {
    /// The learner's id.
    pub learner: String,
    /// Also delete this learner's hand-ins in this folder.
    #[arg(long, value_name = "DIR")]
    pub hand_ins: Option<PathBuf>,
    /// Do it. Without, only says what would go.
    #[arg(long)]
    pub yes: bool,
}
