//! The framings that commands go through.

use crate::app::viewport::{Lighting, PictureRequest};
use crate::bake::{BakedScene, Condition};
use crate::scene::Tooth;
use std::sync::Arc;

/// How near and from where a smile is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Framing {
    /// Lips held back.
    #[default]
    Retracted,
}

impl Framing {
    pub(super) const ALL: [Self; 1] = [Self::Retracted];

    pub(super) const fn name(self) -> &'static str {
        "retracted"
    }

    /// Whether the restored tooth can be judged in this framing.
    pub(super) const fn shows(self, tooth: Tooth) -> bool {
        tooth.position() <= 5
    }

    /// The request for a picture in this framing under the studio light.
    pub(super) fn request(
        self,
        scene: &Arc<BakedScene>,
        condition: Condition,
        (width, height): (u32, u32),
    ) -> PictureRequest {
        let lighting = Lighting::Studio;
        PictureRequest { scene: scene.clone(), condition, width, height, lighting }
    }
}
