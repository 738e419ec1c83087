//! `draw`: a level's smiles as PNG files.

use crate::app::cli::arguments::Draw;
use crate::app::cli::command::rehearse::GLANCE;
use crate::app::cli::exit::ExitWith;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::Condition;
use crate::play::content::{Content, ContentError};
use crate::play::picture::Picture;
use crate::play::picture::edit::{SavePictureError, save_png, value_only};
use crate::trial::PlannedTrial;
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub(crate) fn run(arguments: &Draw, content: &dyn Content) -> ExitWith {
    let seed = match arguments.seed {
        Some(seed) => Ok(seed),
        None => content.level_seed(&arguments.level),
    };
    let seed = match seed {
        Ok(seed) => seed,
        Err(error) => return ExitWith::failure(error),
    };
    match content.exercise(&arguments.level) {
        Ok(GLANCE) => {}
        Ok(_) => return crate::app::cli::command::rounds::draw(arguments, seed, content),
        Err(error) => return ExitWith::failure(error),
    }
    let plan = match content.plan(&arguments.level, seed, Some(arguments.trials)) {
        Ok(plan) => plan,
        Err(error) => return ExitWith::failure(error),
    };
    let mut trials = plan.trials;
    for trial in &mut trials {
        trial.case.illuminant = arguments.light.map_or(trial.case.illuminant, Into::into);
        let staging = &mut trial.case.staging;
        staging.framing = arguments.framing.map_or(staging.framing, Into::into);
        staging.lamp = arguments.lamp.map_or(staging.lamp, Into::into);
    }
    let drawn = draw_trials(&trials, arguments.size, &arguments.out, content);
    match drawn {
        Ok(count) => {
            say!("{count} pictures in {}", crate::printable::path(&arguments.out));
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}

/// Draws each trial's smile restored, as its twin and value-only into `dir`, which is made if it
/// is not there. Returns the number of files.
///
/// # Errors
/// [`DrawError`] at the first picture that cannot be made.
pub(crate) fn draw_trials(
    trials: &[PlannedTrial],
    (width, height): (u32, u32),
    dir: &Path,
    content: &dyn Content,
) -> Result<usize, DrawError> {
    let mut renderer = OffscreenRenderer::new()?;
    let mut files = 0;
    for trial in trials {
        let scene = Arc::new(content.bake(&trial.case)?);
        let conditions: &[(Condition, &str)] = match scene.truth {
            Some(_) => &[(Condition::Restored, "restored"), (Condition::Twin, "twin")],
            None => &[(Condition::Restored, "natural")],
        };
        for (condition, name) in conditions {
            let picture = renderer.render(&PictureRequest {
                scene: scene.clone(),
                condition: *condition,
                width,
                height,
                lighting: Lighting::Studio,
            })?;
            files += save_both(&picture, dir, &format!("{:03}-{name}", trial.trial + 1))?;
        }
    }
    Ok(files)
}

/// Saves a picture in colour and value-only under `name` in `dir`, which is made only now that there
/// is something to put into it. Returns the number of files.
pub(crate) fn save_both(picture: &Picture, dir: &Path, name: &str) -> Result<usize, DrawError> {
    std::fs::create_dir_all(dir)
        .map_err(|source| DrawError::Folder { path: dir.to_owned(), source })?;
    save_png(picture, &dir.join(format!("{name}.png")))?;
    save_png(&value_only(picture), &dir.join(format!("{name}-value.png")))?;
    Ok(2)
}

/// Why pictures cannot be made.
#[derive(Debug, thiserror::Error)]
pub(crate) enum DrawError {
    /// There is nothing to draw with, or it failed.
    #[error(transparent)]
    Renderer(#[from] RendererError),
    /// The smile cannot be computed.
    #[error(transparent)]
    Content(#[from] ContentError),
    /// The folder cannot be made.
    #[error("cannot make the folder {}: {source}", crate::printable::path(path))]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file cannot be written.
    #[error(transparent)]
    File(#[from] SavePictureError),
}
