//! Arguments of `rehearse`.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Arguments of `rehearse`.
#[derive(Debug, Args)]
pub struct Rehearse {
    /// A level's id or the path of a level file [default: the easiest level of Glance].
    pub level: Option<String>,
    /// Seed of the session [default: the level's own].
    #[arg(long)]
    pub seed: Option<u64>,
    /// Number of trials or questions [default: the level's own].
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub trials: Option<u32>,
    /// Who answers.
    #[arg(long, value_enum, default_value_t = ObserverKind::Noisy)]
    pub observer: ObserverKind,
    /// Rehearse a measurement instead of a level, and print true and found values.
    #[arg(long, value_enum, value_name = "WHAT", conflicts_with = "level")]
    pub measure: Option<MeasureKind>,
    /// In a measurement, let the observer read drawn pictures instead of the truth.
    #[arg(long, requires = "measure")]
    pub look: bool,
    /// Folder for pictures of the first smiles.
    #[arg(long, value_name = "DIR", default_value = "rehearsal")]
    pub out: PathBuf,
}

/// A simulated observer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ObserverKind {
    /// Sees differences through noise, as people do.
    Noisy,
    /// Sees through noise, names one side more readily, takes natural variation for a restoration.
    Biased,
    /// As noisy, but sees only what is too dark.
    DarkOnly,
    /// Reads everything but colour.
    Shortcut,
    /// Always names a central incisor.
    AlwaysCentral,
    /// As noisy, with thresholds that fall while it practises.
    Learner,
    /// As noisy, with more and more lapses.
    Tiring,
    /// Sees through very little noise and knows every natural tooth.
    Ideal,
    /// Always right.
    AlwaysRight,
    /// Names any tooth, without looking.
    Random,
    /// Always says that nothing is restored.
    AlwaysNone,
}

/// What to measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MeasureKind {
    /// Darker and lighter.
    Value,
    /// Darker, lighter, chroma and hue.
    All,
}
