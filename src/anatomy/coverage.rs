//! What a viewer sees of a smile.

use super::raster::{Coverage, Covered};
use super::smile::Smile;
use super::view::View;

impl Coverage {
    /// What a viewer sees of a smile.
    #[must_use]
    pub fn of(smile: &Smile, view: &View) -> Self {
        let parts = smile.parts.iter().map(|part| (&part.surface, part.covered()));
        let crowns = smile
            .crowns
            .iter()
            .enumerate()
            .map(|(index, crown)| (&crown.surface, Covered::Crown(index as u8)));
        Self::of_surfaces(parts.chain(crowns), view)
    }
}
