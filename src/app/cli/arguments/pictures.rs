//! Arguments of commands that draw.

use crate::app::cli::arguments::names::{FramingName, LampName, Light};
use crate::app::cli::arguments::values::size;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `draw`.
#[derive(Debug, Args)]
pub struct Draw {
    /// A level's id or the path of a level file.
    pub level: String,
    /// Folder for the pictures; made if it is not there.
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Number of smiles or questions.
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub trials: u32,
    /// Seed of the session [default: the level's own].
    #[arg(long)]
    pub seed: Option<u64>,
    /// See the same smiles in this light instead of the level's.
    #[arg(long, value_enum, ignore_case = true)]
    pub light: Option<Light>,
    /// Size of the pictures, pixels.
    #[arg(long, default_value = "1280x600", value_name = "WxH", value_parser = size)]
    pub size: (u32, u32),
    /// What is in the frame [default: the level's own].
    #[arg(long, value_enum)]
    pub framing: Option<FramingName>,
    /// What makes the highlights [default: the level's own].
    #[arg(long, value_enum)]
    pub lamp: Option<LampName>,
}

/// Arguments of `sheet`.
#[derive(Debug, Args)]
pub struct Sheet {
    /// A level's id or the path of a level file [default: the last level].
    pub level: Option<String>,
    /// The PNG file.
    #[arg(long, value_name = "FILE", default_value = "sheet.png")]
    pub out: PathBuf,
    /// Smiles for each framing.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=12))]
    pub smiles: u32,
    /// Size of each picture, pixels.
    #[arg(long, default_value = "320x180", value_name = "WxH", value_parser = size)]
    pub size: (u32, u32),
}

/// Arguments of `frames`.
#[derive(Debug, Args)]
pub struct Frames {
    /// Frames to draw for each framing.
    #[arg(long, default_value_t = 240, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub count: u32,
    /// Size of the pictures, pixels.
    #[arg(long, default_value = "1920x1080", value_name = "WxH", value_parser = size)]
    pub size: (u32, u32),
    /// Also write the figures to this CSV file.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Instead, play this many smiles at 60 frames a second, answer each after 1.5 s, read each
    /// debrief for 2 s, and measure how long the next smile is waited for.
    #[arg(long, value_name = "SMILES", value_parser = clap::value_parser!(u32).range(4..=400))]
    pub waits: Option<u32>,
    /// Instead, move every control of the bench this many times, in free play and in its first
    /// level, in a window of this size that is not shown, and measure how long the new smile takes.
    #[arg(long, value_name = "TIMES", conflicts_with = "waits",
        value_parser = clap::value_parser!(u32).range(1..=100))]
    pub bench: Option<u32>,
}
