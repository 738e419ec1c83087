//! `draw` for exercises with questions.

use crate::app::cli::arguments::Draw;
use crate::app::cli::command::pictures::{DrawError, save_both, stage};
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::Condition;
use crate::exercise::{Question, Sight, Task};
use crate::play::content::Content;
use std::path::Path;
use std::sync::Arc;

/// Draws the smiles of a round's questions. Returns the number of files.
pub(crate) fn draw(arguments: &Draw, seed: u64, content: &dyn Content) -> Result<usize, DrawError> {
    let round = content.round(&arguments.level, seed, Some(arguments.trials))?;
    let change = |sight: &mut Sight| stage(&mut sight.case, arguments);
    match draw_questions(&round.questions, change, arguments.size, &arguments.out, content)? {
        0 => Err(DrawError::NoSmiles),
        count => Ok(count),
    }
}

/// Every smile that can be looked at in a question.
fn sights(question: &Question) -> Vec<Sight> {
    let mut sights = question.sights.clone();
    match &question.task {
        Task::TwoLights(task) => sights.extend(task.second_sights.iter().map(|sight| Sight {
            name: format!("{} {}", sight.name, task.second_light.name()),
            case: sight.case.clone(),
        })),
        Task::Bench(task) => {
            sights.push(Sight { name: "start".to_owned(), case: task.case_with(&task.start) });
        }
        _ => {}
    }
    sights
}

/// Draws each question's smiles, in colour and value only, and once the mouth with every tooth
/// natural, into `dir`. Returns the number of files.
pub(crate) fn draw_questions(
    questions: &[Question],
    change: impl Fn(&mut Sight),
    (width, height): (u32, u32),
    dir: &Path,
    content: &dyn Content,
) -> Result<usize, DrawError> {
    if questions.iter().all(|question| sights(question).is_empty()) {
        return Ok(0);
    }
    let mut renderer = OffscreenRenderer::new()?;
    let mut files = 0;
    for question in questions {
        for (index, mut sight) in sights(question).into_iter().enumerate() {
            change(&mut sight);
            let scene = Arc::new(content.bake(&sight.case)?);
            let name = sight.name.to_lowercase().replace(|c: char| !c.is_alphanumeric(), "-");
            let mut conditions = vec![(Condition::Restored, name)];
            if index == 0 && scene.truth.is_some() {
                conditions.push((Condition::Twin, "natural".to_owned()));
            }
            for (condition, name) in conditions {
                let picture = renderer.render(&PictureRequest {
                    scene: scene.clone(),
                    condition,
                    width,
                    height,
                    lighting: Lighting::Studio,
                })?;
                files += save_both(&picture, dir, &format!("{:03}-{name}", question.number + 1))?;
            }
        }
    }
    Ok(files)
}
