//! `sheet`: every framing, light and condition of a few smiles side by side in one picture.

use crate::app::cli::arguments::Sheet;
use crate::app::cli::command::pictures::{DrawError, written};
use crate::app::cli::exit::ExitWith;
use crate::app::picture::canvas::Canvas;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::{BakedScene, Condition};
use crate::colorimetry::Illuminant;
use crate::play::content::Content;
use crate::scene::{Case, Framing, Staging};
use std::sync::Arc;

/// Captions: height of a line and of its letters, pixels.
const LINE: usize = 17;
const LETTERS: f32 = 14.0;
/// Width of the captions at the left, pixels.
const MARGIN: usize = 118;
/// Gap between pictures, pixels.
const GAP: usize = 4;
/// The ground of the sheet, the adaptation grey of the screens, and its ink.
const GROUND: u8 = 119;
const INK: u8 = 10;
/// Planned trials that are looked through for smiles that suit a framing.
const TRIALS: u32 = 48;

pub(crate) fn run(arguments: &Sheet, content: &dyn Content) -> ExitWith {
    ExitWith::of(sheet(arguments, content).map(|count| written(count, &arguments.out)))
}

/// Draws and saves the sheet; returns the number of pictures on it.
fn sheet(arguments: &Sheet, content: &dyn Content) -> Result<usize, DrawError> {
    let (width, height) = arguments.size;
    let (tile_width, tile_height) = (width as usize, height as usize);
    let lights = Illuminant::ALL;
    let rows = Framing::ALL.len() * arguments.smiles as usize;
    let top = 2 * LINE + GAP;
    let mut canvas = Canvas::new(
        MARGIN + 2 * lights.len() * (tile_width + GAP),
        top + rows * (tile_height + GAP),
        GROUND,
    );
    let left_of = |column: usize| MARGIN + column * (tile_width + GAP);
    for (index, light) in lights.iter().enumerate() {
        let x = |column| left_of(column) as f32;
        canvas.write(light.name(), [x(2 * index), 2.0], LETTERS, INK);
        canvas.write("restored", [x(2 * index), (LINE + 2) as f32], LETTERS, INK);
        canvas.write("natural twin", [x(2 * index + 1), (LINE + 2) as f32], LETTERS, INK);
    }
    let mut renderer = OffscreenRenderer::new()?;
    let mut row = 0;
    for framing in Framing::ALL {
        for case in cases(arguments, framing, content)? {
            let y = top + row * (tile_height + GAP);
            for (index, light) in lights.into_iter().enumerate() {
                let staging = Staging { framing, ..case.staging };
                let case = Case { illuminant: light, staging, ..case.clone() };
                let scene = Arc::new(content.bake(&case)?);
                if index == 0 {
                    caption(&mut canvas, y, framing, &scene);
                }
                for (column, condition) in
                    [(2 * index, Condition::Restored), (2 * index + 1, Condition::Twin)]
                {
                    let request = PictureRequest {
                        scene: scene.clone(),
                        condition,
                        width,
                        height,
                        lighting: Lighting::Studio,
                    };
                    canvas.paste(&*renderer.render(&request)?, left_of(column), y);
                }
            }
            row += 1;
        }
    }
    canvas.save_png(&arguments.out)?;
    Ok(2 * rows * lights.len())
}

/// The first restored smiles of the level whose restored tooth a framing shows.
fn cases(
    arguments: &Sheet,
    framing: Framing,
    content: &dyn Content,
) -> Result<Vec<Case>, DrawError> {
    let level = match &arguments.level {
        Some(level) => level.clone(),
        // The last level with timed trials has the most teeth.
        None => {
            let mut levels = content.levels();
            levels.retain(|level| level.exercise == "glance");
            levels.pop().map(|level| level.id).unwrap_or_default()
        }
    };
    let seed = content.level_seed(&level)?;
    let plan = content.plan(&level, seed, Some(TRIALS))?;
    let cases = plan.trials.into_iter().map(|trial| trial.case);
    Ok(cases
        .filter(|case| {
            let restored = case.restoration().map(|restoration| restoration.tooth);
            restored.is_some_and(|tooth| framing.shows(tooth))
        })
        .take(arguments.smiles as usize)
        .collect())
}

fn caption(canvas: &mut Canvas, y: usize, framing: Framing, scene: &BakedScene) {
    let mut lines = vec![framing.name().replace('_', " ")];
    if let Some(truth) = &scene.truth {
        lines.push(format!("tooth {}", truth.tooth));
        lines.push(format!("ΔE00 {:.1}", truth.difference.de00));
        lines.push(format!("value {:+.1}", truth.difference.dl00));
    }
    for (line, text) in lines.iter().enumerate() {
        canvas.write(text, [6.0, (y + line * LINE) as f32], LETTERS, INK);
    }
}
