//! Arguments of commands about courses: their forms, their learners and their sittings.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Commands about courses.
#[derive(Debug, Subcommand)]
pub enum CourseCommand {
    /// Simulate learners of known thresholds through a whole course: sittings, hand-ins, gathering
    /// and report, and compare with what is known.
    Simulate(Simulate),
    /// Open the window with a learner's seat in an exam.
    Sit(Sit),
    /// Open the window with a lecture, and serve the page that phones answer on.
    Lecture(LectureArguments),
}

/// Arguments of `course sit`.
#[derive(Debug, Args)]
pub struct Sit {
    /// A course's id or the path of a course file.
    #[arg(default_value = "student-practical")]
    pub course: String,
    /// The learner's random id; asked for in the window if it is left out.
    #[arg(long, value_name = "ID", default_value = "")]
    pub learner: String,
    /// The number of the seat; asked for in the window if it is left out.
    #[arg(long, value_name = "SEAT", default_value = "")]
    pub seat: String,
    /// Factor on the time to answer that was granted, 0 for unlimited time.
    #[arg(long, value_name = "FACTOR", default_value_t = 1.0)]
    pub response_factor: f64,
}

/// Arguments of `course lecture`.
#[derive(Debug, Args)]
pub struct LectureArguments {
    /// A course's id or the path of a course file.
    #[arg(default_value = "lecture-block")]
    pub course: String,
    /// Port of the page for phones; 0 for any free one.
    #[arg(long, default_value_t = 7878)]
    pub port: u16,
    /// Address of this computer that phones are sent to; the best of its networks if it is left out.
    #[arg(long, value_name = "ADDRESS")]
    pub address: Option<std::net::IpAddr>,
}

/// Arguments of `course simulate`.
#[derive(Debug, Args)]
pub struct Simulate {
    /// A course's id or the path of a course file.
    #[arg(default_value = "student-practical")]
    pub course: String,
    /// Learners.
    #[arg(long, default_value_t = 200, value_parser = clap::value_parser!(u32).range(2..=20_000))]
    pub learners: u32,
    /// Seed of the learners.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Let all of them answer the questions of this level, too, such as blend-value-first.
    #[arg(long, value_name = "LEVEL")]
    pub questions: Option<String>,
    /// A new folder for hand-ins, gathered results and report.
    #[arg(long, value_name = "DIR", default_value = "simulated-course")]
    pub out: PathBuf,
}

/// Arguments of `form`.
#[derive(Debug, Args)]
pub struct FormArguments {
    /// Seed of the form.
    pub seed: u64,
    /// Items of each kind and size of difference, 1 to 3.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=3))]
    pub per_cell: u8,
    /// List the items in the order of this seat. Who sees them must not sit the form.
    #[arg(long, value_name = "SEAT")]
    pub order: Option<u64>,
}

/// Arguments of `roster`.
#[derive(Debug, Args)]
pub struct RosterArguments {
    /// Number of learners.
    #[arg(value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub learners: u32,
    /// The CSV file; add names to it by hand and keep it apart from results.
    #[arg(long, value_name = "FILE", default_value = "roster.csv")]
    pub out: PathBuf,
}
