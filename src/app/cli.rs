//! The command line.

use crate::colorimetry::Illuminant;
use crate::scene::{Framing, Lamp};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Cautions, shown in the help text and on the first screen.
pub const CAUTIONS: &str = "\
Teaching software: not a medical device and not an instrument for taking shades in the clinic.
Practice on a screen does not prove clinical skill. The materials are invented and only resemble
their class; real ceramics follow their maker's instructions. A poor result says nothing certain
about colour vision: if in doubt, see an eye-care professional. Decisions about treatment belong
to licensed practitioners under local rules.";

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
    #[arg(long, global = true, value_name = "S", value_parser = seconds)]
    pub adaptation_s: Option<f64>,
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

/// A framing on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FramingName {
    /// The mouth among lips and skin.
    Conversation,
    /// Ten teeth, lips held away.
    Retracted,
    /// The six front teeth.
    CloseUp,
    /// Canine to molars of the patient's left.
    Posterior,
}

/// A lamp on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LampName {
    /// Two tall soft boxes.
    SoftBoxes,
    /// A ring round the lens.
    Ring,
}

impl From<FramingName> for Framing {
    fn from(name: FramingName) -> Self {
        match name {
            FramingName::Conversation => Self::Conversation,
            FramingName::Retracted => Self::Retracted,
            FramingName::CloseUp => Self::CloseUp,
            FramingName::Posterior => Self::Posterior,
        }
    }
}

impl From<LampName> for Lamp {
    fn from(name: LampName) -> Self {
        match name {
            LampName::SoftBoxes => Self::SoftBoxes,
            LampName::Ring => Self::Ring,
        }
    }
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

/// A light, by its CIE designation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Light {
    /// Daylight, 6504 K.
    #[value(name = "D65")]
    D65,
    /// Daylight, 5003 K.
    #[value(name = "D50")]
    D50,
    /// Incandescent lamp, 2856 K.
    #[value(name = "A")]
    A,
    /// Three-band fluorescent lamp, 4000 K.
    #[value(name = "FL11")]
    Fl11,
    /// LED lamp, 4103 K.
    #[value(name = "LED-B3", alias = "LED_B3")]
    LedB3,
}

impl From<Light> for Illuminant {
    fn from(light: Light) -> Self {
        match light {
            Light::D65 => Self::D65,
            Light::D50 => Self::D50,
            Light::A => Self::A,
            Light::Fl11 => Self::Fl11,
            Light::LedB3 => Self::LedB3,
        }
    }
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// Files, or folders whose .ron files are checked, besides those of --levels and --courses.
    #[arg(value_name = "PATH")]
    pub paths: Vec<PathBuf>,
}

fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if (0.0..=600.0).contains(&value) => Ok(value),
        _ => Err("a number of seconds from 0 to 600".to_owned()),
    }
}

fn size(text: &str) -> Result<(u32, u32), String> {
    let parse = |part: &str| part.parse::<u32>().ok().filter(|side| (64..=8192).contains(side));
    text.split_once('x')
        .and_then(|(width, height)| Some((parse(width)?, parse(height)?)))
        .ok_or_else(|| "width x height in pixels, each 64 to 8192, such as 1280x600".to_owned())
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
    fn sizes_and_seconds_have_bounds() {
        assert_eq!(size("1280x600"), Ok((1280, 600)));
        for bad in ["1280", "0x600", "1280x", "x", "9000x600", "12.5x600"] {
            assert!(size(bad).is_err(), "{bad}");
        }
        assert_eq!(seconds("2"), Ok(2.0));
        for bad in ["-1", "NaN", "601", ""] {
            assert!(seconds(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn no_command_opens_the_app() {
        let cli = Cli::try_parse_from(["second-glance", "--data-dir", "d"]).unwrap();
        assert!(cli.command.is_none());
        assert_eq!(cli.options.data_dir, Some(PathBuf::from("d")));
    }
}
