//! The case file: one `ClinicCase(...)`.

use crate::colorimetry::{Illuminant, Lab, Lch};
use crate::scene::{Framing, Preparation, Space, Tooth, Translucency};
use serde::{Deserialize, Deserializer, Serialize};

/// The case format this build reads and writes.
pub const CLINIC_FORMAT: u32 = 1;

/// A case as a practitioner measured it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClinicCase {
    /// Format number, [`CLINIC_FORMAT`].
    pub format: u32,
    /// Id of the level that is made from it: lower-case words with hyphens.
    pub id: String,
    /// Title shown to the learner.
    pub title: String,
    /// The tooth to be restored, ISO 3950.
    pub tooth: u8,
    /// Veneer or crown.
    pub preparation: Preparation,
    /// Colours of natural teeth, middle third; at least one.
    pub teeth: Vec<MeasuredNeighbour>,
    /// Colour that the restored tooth shall have; left out, that of the same tooth on the other side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<MeasuredLab>,
    /// Colour of the prepared tooth, middle third.
    pub prepared_tooth: MeasuredLab,
    /// Room for ceramic and cement.
    pub space: Space,
    /// Cement id.
    pub cement: String,
    /// Ceramics to choose from.
    pub ceramics: Vec<CeramicChoice>,
    /// What is done with it; left out, it is composed on the bench.
    #[serde(default, deserialize_with = "exercise_or_default")]
    pub exercise: CaseExercise,
    /// Gingiva id of the material library; left out, one is drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gingiva: Option<String>,
    /// Upper teeth in view: 6, 8 or 10.
    pub arch: u8,
    /// The light in which it is rehearsed.
    pub light: Illuminant,
    /// What is in the frame; left out, ten teeth with the lips held away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub framing: Option<Framing>,
    /// Base seed of the level; left out, 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
}

/// As an option, so that a file that leaves it out is not told so beside another fault.
fn exercise_or_default<'de, D: Deserializer<'de>>(from: D) -> Result<CaseExercise, D::Error> {
    Option::<CaseExercise>::deserialize(from).map(Option::unwrap_or_default)
}

/// A measured colour: CIELAB under D65 and the 2° observer, specular excluded.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredLab {
    /// Lightness L*, 0..100.
    #[serde(rename = "L")]
    pub l: f64,
    /// Red-green a*.
    pub a: f64,
    /// Yellow-blue b*.
    pub b: f64,
}

/// A natural tooth and its colour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredNeighbour {
    /// Which, ISO 3950.
    pub tooth: u8,
    /// Colour of its middle third.
    pub colour: MeasuredLab,
}

/// What a learner does with a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CaseExercise {
    /// Compose the restoration.
    #[default]
    Bench,
    /// Compare options for it.
    Blend,
    /// Find it, or one on the same tooth of the other side, in a short look.
    Glance,
}

/// A ceramic that may be chosen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CeramicChoice {
    /// Class id.
    pub class: String,
    /// Translucency.
    pub translucency: Translucency,
}

impl From<MeasuredLab> for Lab {
    fn from(measured: MeasuredLab) -> Self {
        Self { l: measured.l, a: measured.a, b: measured.b }
    }
}

impl From<MeasuredLab> for Lch {
    fn from(measured: MeasuredLab) -> Self {
        Self::from(Lab::from(measured))
    }
}

impl ClinicCase {
    /// Colour that the restored tooth shall have: the target, or the other side's, where that was
    /// measured.
    #[must_use]
    pub fn target(&self) -> Option<MeasuredLab> {
        let other = Tooth::new(self.tooth).ok().map(|tooth| tooth.contralateral().number());
        let measured = || self.teeth.iter().find(|t| Some(t.tooth) == other).map(|t| t.colour);
        self.target.or_else(measured)
    }
}
