//! Eyes of a simulated observer: they read pixels.

use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::{BakedScene, Condition};
use crate::psychophysics::SeenDifference;
use std::sync::Arc;

/// Size of the pictures that are looked at, pixels.
const PICTURE_SIZE: (u32, u32) = (1024, 490);

/// What the pictures of a smile and of its twin show, after output coding to 8 bit: which tooth
/// differs most, by how much, and which way. Nothing is taken from the truth. `None` where no tooth
/// differs.
///
/// # Errors
/// [`RendererError`] when a picture cannot be drawn.
pub fn seen(
    renderer: &mut OffscreenRenderer,
    scene: &Arc<BakedScene>,
) -> Result<Option<SeenDifference>, RendererError> {
    let (width, height) = PICTURE_SIZE;
    let mut draw = |condition| {
        let (scene, lighting) = (scene.clone(), Lighting::Studio);
        renderer.render(&PictureRequest { scene, condition, width, height, lighting })
    };
    let (restored, twin) = (draw(Condition::Restored)?, draw(Condition::Twin)?);
    let differences = scene.teeth.iter().filter_map(|baked| {
        let difference = restored.difference_to(&twin, baked.tooth)?.shown;
        (difference.de00 > 0.0).then_some((baked.tooth, difference))
    });
    let largest = differences.max_by(|a, b| a.1.de00.total_cmp(&b.1.de00));
    Ok(largest.map(|(tooth, difference)| SeenDifference::of(tooth, &difference)))
}
