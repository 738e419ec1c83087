//! Arguments of commands that read and make files of one's own.

use clap::Args;
use std::path::PathBuf;

/// Arguments of `import-ceramic`.
#[derive(Debug, Args)]
pub struct ImportCeramic {
    /// Spectrum files; several thicknesses of one material are fitted together.
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// The material file to write.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Overwrite the material file if there is one.
    #[arg(long)]
    pub replace: bool,
}

/// Arguments of `case`.
#[derive(Debug, Args)]
pub struct MakeLevel {
    /// The case file.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The level file to write; its name must be the case's id.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Overwrite the level file if there is one.
    #[arg(long)]
    pub replace: bool,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// Files, or folders whose .ron files are checked, besides those of --levels and --courses.
    #[arg(value_name = "PATH")]
    pub paths: Vec<PathBuf>,
}
