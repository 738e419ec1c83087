//! `draw`: a level's smiles as PNG files.

use super::offscreen::{Offscreen, OffscreenError};
use super::{ExitWith, png};
use crate::app::cli::Draw;
use crate::app::content::Content;
use crate::app::effects::value_only;
use crate::bake::Condition;
use crate::trial::PlannedTrial;
use std::path::Path;
use std::sync::Arc;

pub(super) fn run(arguments: &Draw, content: &dyn Content) -> ExitWith {
    let seed = match arguments.seed {
        Some(seed) => Ok(seed),
        None => content.level_seed(&arguments.level),
    };
    let plan = match seed.and_then(|s| content.plan(&arguments.level, s, Some(arguments.trials))) {
        Ok(plan) => plan,
        Err(error) => return ExitWith::failure(error),
    };
    let drawn = draw_trials(&plan.trials, arguments.size, &arguments.out, content);
    match drawn {
        Ok(count) => {
            println!("{count} pictures in {}", arguments.out.display());
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}

/// Draws each trial's smile restored, as its twin and value-only into `dir`. Returns the number
/// of files.
///
/// # Errors
/// [`DrawError`] at the first picture that cannot be made.
pub(super) fn draw_trials(
    trials: &[PlannedTrial],
    size: (u32, u32),
    dir: &Path,
    content: &dyn Content,
) -> Result<usize, DrawError> {
    let mut offscreen = Offscreen::open()?;
    png::make_folder(dir).map_err(DrawError::File)?;
    let mut files = 0;
    for trial in trials {
        let scene = Arc::new(
            content.bake(&trial.case).map_err(|error| DrawError::Content(error.to_string()))?,
        );
        let conditions: &[(Condition, &str)] = match scene.truth {
            Some(_) => &[(Condition::Restored, "restored"), (Condition::Twin, "twin")],
            None => &[(Condition::Restored, "natural")],
        };
        for (condition, name) in conditions {
            let picture = offscreen.draw(&scene, *condition, size)?;
            let number = trial.trial + 1;
            let file = |suffix: &str| dir.join(format!("{number:03}-{name}{suffix}.png"));
            png::write(&picture, &file("")).map_err(DrawError::File)?;
            png::write(&value_only(&picture), &file("-value")).map_err(DrawError::File)?;
            files += 2;
        }
    }
    Ok(files)
}

/// Why pictures cannot be made.
#[derive(Debug, thiserror::Error)]
pub(super) enum DrawError {
    /// There is nothing to draw with.
    #[error(transparent)]
    Offscreen(#[from] OffscreenError),
    /// The smile cannot be computed.
    #[error("{0}")]
    Content(String),
    /// A file cannot be written.
    #[error("{0}")]
    File(String),
}
