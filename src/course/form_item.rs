//! The items of forms.

use crate::psychophysics::Direction;
use crate::scene::Tooth;

/// The name that forms have instead of a level's id in random streams and results. Ids of levels
/// hold no colon, so no seed of practice names a stream of an exam.
pub const EXAM_SPACE: &str = "exam:form";
/// Nominal differences of the signal items, ΔE00. Design choice.
pub const LEVELS_DE00: [f64; 4] = [0.8, 1.3, 2.0, 3.2];
/// Largest jitter of a difference, as a share of it.
pub const JITTER: f64 = 0.10;

/// Teeth in view.
pub const TEETH: usize = 10;
/// Exposure, s.
pub(super) const EXPOSURE_S: f64 = 2.5;

/// One smile of a form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    /// 0-based number in the form, the same at every seat. Signals come first, by axis, level and
    /// place; then the smiles without a restoration.
    pub number: u32,
    /// What is to be found; `None` where nothing is restored.
    pub signal: Option<ItemSignal>,
}

/// What an item hides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ItemSignal {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The direction of its difference.
    pub direction: Direction,
    /// Size of the difference that is asked for, ΔE00.
    pub de00: f64,
    /// Index into [`LEVELS_DE00`] of the level it was jittered from.
    pub level: usize,
}
