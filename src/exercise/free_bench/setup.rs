//! What a bench is set up with.

use crate::colorimetry::{Illuminant, Lch};
use crate::scene::{Framing, Lamp, Preparation, Thickness, Tooth};

/// Teeth in view where the framing shows both sides.
pub(super) const FRONT_ARCH: usize = 10;
/// Teeth in view from the cheek.
pub(super) const SIDE_ARCH: usize = 12;
/// Height of an onlay's margin line to begin with, as in the first levels about margins.
pub(super) const MARGIN_HEIGHT: f64 = 0.45;

/// What lies beneath the restoration.
#[derive(Debug, Clone, PartialEq)]
pub enum PreparedChoice {
    /// An entry of the material library, by its id.
    Listed(String),
    /// A colour of one's own: CIELAB LCh under D65/2°, middle third.
    Own(Lch),
}

/// A bench to be set up.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchSetup {
    /// The tooth to restore.
    pub tooth: Tooth,
    /// Veneer, crown or, on a premolar or molar, onlay.
    pub preparation: Preparation,
    /// What lies beneath.
    pub prepared: PreparedChoice,
    /// How much tooth was removed: room for ceramic and cement together, mm.
    pub reduction: Thickness,
    /// Colour of the central incisors; the other teeth lie their usual steps from it.
    pub central: Lch,
    /// The light.
    pub light: Illuminant,
    /// What is in the frame.
    pub framing: Framing,
    /// What makes the highlights.
    pub lamp: Lamp,
    /// Which mouth: seed of its shapes.
    pub mouth: u32,
}

impl Default for BenchSetup {
    /// A veneer on a single central incisor over the third of the listed prepared teeth.
    fn default() -> Self {
        Self {
            tooth: Tooth::arch(2)[1],
            preparation: Preparation::Veneer,
            prepared: PreparedChoice::Listed("warm-yellow".to_owned()),
            reduction: Thickness { margin_mm: 0.25, neck_mm: 0.55, body_mm: 0.75, incisal_mm: 1.0 },
            central: Lch { l: 76.0, c: 16.0, h: 88.0 },
            light: Illuminant::D65,
            framing: Framing::Retracted,
            lamp: Lamp::SoftBoxes,
            mouth: 1,
        }
    }
}
