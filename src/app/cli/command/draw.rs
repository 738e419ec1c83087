//! `draw`: a level's smiles as PNG files.

use crate::app::cli::arguments::Draw;
use crate::app::cli::command::pictures::{DrawError, save_both, stage, written};
use crate::app::cli::command::round_pictures;
use crate::app::cli::exit::ExitWith;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::Condition;
use crate::play::content::Content;
use crate::trial::PlannedTrial;
use std::path::Path;
use std::sync::Arc;

/// The exercise with timed trials.
pub(crate) const GLANCE: &str = "glance";

pub(crate) fn run(arguments: &Draw, content: &dyn Content) -> ExitWith {
    ExitWith::of(drawn(arguments, content).map(|count| written(count, &arguments.out)))
}

/// Returns the number of files.
fn drawn(arguments: &Draw, content: &dyn Content) -> Result<usize, DrawError> {
    let seed = match arguments.seed {
        Some(seed) => seed,
        None => content.level_seed(&arguments.level)?,
    };
    if content.exercise(&arguments.level)? != GLANCE {
        return round_pictures::draw(arguments, seed, content);
    }
    let mut trials = content.plan(&arguments.level, seed, Some(arguments.trials))?.trials;
    for trial in &mut trials {
        stage(&mut trial.case, arguments);
    }
    draw_trials(&trials, arguments.size, &arguments.out, content)
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
