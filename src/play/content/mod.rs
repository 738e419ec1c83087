//! What there is to play: the boundary between the app and levels, materials and bakes.
//!
//! In the window a faulty file in the folder of own levels is listed with its faults and keeps
//! nobody from the rest (`Shipped::for_window`); commands still refuse it.

pub mod shipped;

use crate::bake::BakedScene;
use crate::bake::cross_section::CrossSection;
use crate::chart::BlendChart;
use crate::exercise::{ChoiceMeasurement, Round};
use crate::level::course_format::{Course, FormEntry};
use crate::material::Library;
use crate::measure::{ComposedSmile, FormPlan, SmileRequest};
use crate::scene::{Case, Restoration};
use crate::trial::{Plan, Response, Timing};
use std::path::PathBuf;
use std::sync::Arc;
use thiserror::Error;

/// Why content cannot be had.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ContentError {
    /// No level has this id and no file has this path.
    #[error("no level `{name}`; there are: {}", known.join(", "))]
    UnknownLevel {
        /// What was asked for.
        name: String,
        /// The ids that exist.
        known: Vec<String>,
    },
    /// No course has this id and no file has this path.
    #[error(
        "no course `{name}`; there are: {}; --courses DIR adds those in a folder", known.join(", ")
    )]
    UnknownCourse {
        /// What was asked for.
        name: String,
        /// The ids that exist.
        known: Vec<String>,
    },
    /// Files did not load. Each line names one fault and where it is.
    #[error("{0}")]
    Invalid(String),
    /// A case could not be turned into colours.
    #[error("the smile cannot be computed: {0}")]
    Bake(String),
}

/// One line of the level list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LevelEntry {
    /// Id.
    pub id: String,
    /// Title.
    pub title: String,
    /// What it teaches.
    pub teaches: String,
    /// 1 (easy) to 10 (hard).
    pub difficulty: u8,
    /// Trials or questions in a session.
    pub trials: u32,
    /// The exercise's name in results, such as `blend`.
    pub exercise: &'static str,
}

/// A file among one's own levels that cannot be played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultyFile {
    /// The file.
    pub file: PathBuf,
    /// Every fault, with its place and what to do.
    pub faults: Vec<String>,
}

/// The exercises: name in results, name on screen, and what is done, in the order of the level list.
pub const EXERCISES: [(&str, &str, &str); 10] = [
    ("glance", "Glance", "See a smile for a few seconds, then name the restored tooth, or none."),
    ("ladder", "Ladder", "Order patches from light to dark while chroma and hue mislead."),
    ("match", "Match", "Find the tab nearest a tooth."),
    ("verdict", "Verdict", "Accept a tooth, or have it made again."),
    ("blend", "Blend", "Compare options in the mouth: the best, all that pass, or none."),
    ("two_lights", "Two lights", "Choose in one light, predict, and see another."),
    ("bench", "Bench", "Compose a restoration over a prepared tooth."),
    ("try_in", "Try-in", "Predict what each cement does, then choose for the months ahead."),
    ("bracket", "Bracket", "Choose two to mill, so that one of them blends."),
    ("margin", "Margin", "Hide the margin of an onlay that ends above the gum."),
];

/// A guided first hour: level ids in order, and what each step is for. It goes from value alone to
/// a single dark central incisor.
pub const FIRST_HOUR: &[(&str, &str)] = &[
    ("value-ladder", "Value alone: order patches from light to dark."),
    ("strong-is-not-light", "Value behind chroma: a strong colour is not a light one."),
    ("first-look", "A glance at a whole smile, with differences that most people see."),
    ("accept-or-remake", "How much may a tooth be off before it should be made again?"),
    (
        "blend-value-first",
        "Choosing instead of finding: the option that disappears, by value first.",
    ),
    (
        "dark-tooth-thin-veneer",
        "A dark prepared tooth under a thin veneer: how it looks when it shows through.",
    ),
    (
        "blend-thin-veneer",
        "Thin veneers over a light tooth: the shade of the tooth itself is not the answer.",
    ),
    ("bench-light-tooth", "Compose a veneer yourself, over a light tooth."),
    (
        "blend-thin-over-dark",
        "The same over a dark tooth: what has to be hidden, and what brightens.",
    ),
    ("bench-dark-central", "Compose a crown for a single dark central incisor."),
    ("blend-single-dark-central", "The hardest one: choose it, with its neighbour beside it."),
];

impl LevelEntry {
    /// The difficulty in words.
    #[must_use]
    pub const fn difficulty_in_words(&self) -> &'static str {
        match self.difficulty {
            0..=2 => "easy",
            3..=4 => "fairly easy",
            5..=6 => "moderate",
            7..=8 => "hard",
            _ => "very hard",
        }
    }
}

/// Levels and what can be made of them. Implementations are pure: the same arguments give the
/// same result.
pub trait Content: Send + Sync + 'static {
    /// The levels, easy to hard.
    fn levels(&self) -> Vec<LevelEntry>;

    /// The materials.
    fn library(&self) -> &Library;

    /// The folder for levels of one's own, where there is one; it need not exist yet.
    fn own_folder(&self) -> Option<PathBuf> {
        None
    }

    /// The ids of levels of one's own.
    fn own_levels(&self) -> Vec<String> {
        Vec::new()
    }

    /// Files of one's own that cannot be played.
    fn faulty(&self) -> Vec<FaultyFile> {
        Vec::new()
    }

    /// Reads one's own levels again.
    fn look_again(&self) {}

    /// A session of a level (an id, or the path of a level file). `trials` shortens or lengthens
    /// it.
    ///
    /// # Errors
    /// [`ContentError`] when there is no such level or it has faults.
    fn plan(&self, level: &str, seed: u64, trials: Option<u32>) -> Result<Plan, ContentError>;

    /// The exercise of a level, as named in results.
    ///
    /// # Errors
    /// [`ContentError`] when there is no such level or it has faults.
    fn exercise(&self, level: &str) -> Result<&'static str, ContentError>;

    /// A round of a level with questions. `questions` shortens or lengthens it.
    ///
    /// # Errors
    /// [`ContentError`] when there is no such level, it has faults or has timed trials instead.
    fn round(&self, level: &str, seed: u64, questions: Option<u32>) -> Result<Round, ContentError>;

    /// A measurement of choosing, with a level that comes with the program.
    ///
    /// # Errors
    /// [`ContentError`] when there is no such level.
    fn choice_measurement(&self, seed: u64) -> Result<ChoiceMeasurement, ContentError>;

    /// The level's own seed.
    ///
    /// # Errors
    /// [`ContentError`] when there is no such level or it has faults.
    fn level_seed(&self, level: &str) -> Result<u64, ContentError>;

    /// The courses, in the order listed.
    fn courses(&self) -> Vec<Course>;

    /// A course by its id, or of the file at this path.
    ///
    /// # Errors
    /// [`ContentError`] when there is no such course or it has faults.
    fn course(&self, name: &str) -> Result<Course, ContentError>;

    /// A form in the order of a seat.
    ///
    /// # Errors
    /// [`ContentError`] when the form cannot be made.
    fn form(&self, form: &FormEntry, seat: u64, timing: Timing) -> Result<FormPlan, ContentError>;

    /// A smile that a measurement asks for.
    ///
    /// # Errors
    /// [`ContentError::Bake`] when nothing near it can be made.
    fn compose(&self, request: &SmileRequest) -> Result<ComposedSmile, ContentError>;

    /// The colours of a case.
    ///
    /// # Errors
    /// [`ContentError::Bake`] when the case names materials that do not exist.
    fn bake(&self, case: &Case) -> Result<BakedScene, ContentError>;

    /// The blend chart of a case's first restoration, called `name`, with others of its class
    /// marked; `None` where nothing is restored.
    ///
    /// # Errors
    /// [`ContentError::Bake`] when the case names materials that do not exist.
    fn chart(
        &self,
        case: &Case,
        name: &str,
        tried: &[(String, Restoration)],
    ) -> Result<Option<BlendChart>, ContentError>;

    /// The layers of a case's first restoration; `None` where nothing is restored.
    ///
    /// # Errors
    /// [`ContentError::Bake`] when the case names materials that do not exist.
    fn cross_section(&self, case: &Case) -> Result<Option<CrossSection>, ContentError>;

    /// One sentence on what made the restoration look as it does, or on the natural tooth that
    /// `response` took for one; `None` where there is nothing to explain.
    fn cause(&self, case: &Case, scene: &BakedScene, response: Response) -> Option<String>;
}

/// The content in use.
#[derive(Clone)]
pub struct ActiveContent(pub Arc<dyn Content>);
