//! Material file formats: `ceramics.ron`, `cements.ron` and `tissues.ron` in `assets/materials`, and
//! files of measured ceramics.
//!
//! Colours are CIELAB LCh under D65/2°. `basis` says in words where an entry's numbers come from.
//! These types mirror the files; `crate::level::load` reads and checks them.

use crate::colorimetry::Lch;
use crate::scene::Translucency;
use crate::spectrum::RegularSamples;
use serde::{Deserialize, Serialize};

/// The material format this build reads and writes.
pub const MATERIAL_FORMAT: u32 = 1;

/// The ceramic classes and the shades they come in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ceramics {
    /// Format number, [`MATERIAL_FORMAT`].
    pub format: u32,
    /// Ceramic classes.
    pub classes: Vec<CeramicClass>,
    /// The same classes coloured with other pigments.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pigmented: Option<Vec<PigmentedClass>>,
    /// Shades, common to all classes.
    pub shades: ShadeLattice,
}

/// One class of ceramic in its three translucencies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CeramicClass {
    /// Id used by levels, such as `lithium-disilicate`.
    pub id: String,
    /// Name in plain words.
    pub name: String,
    /// Refractive index.
    pub refractive_index: f64,
    /// Anisotropy g of its scattering: mean cosine of the scattering angle.
    pub anisotropy: f64,
    /// Exponent `n` of scattering falling with wavelength, `S ∝ λ⁻ⁿ`.
    pub scattering_exponent: f64,
    /// Low, medium and high translucency.
    pub translucencies: Vec<TranslucencyGrade>,
    /// The graded block, where the class comes as one.
    #[serde(default)]
    pub graded: Option<GradedBlock>,
    /// Where the numbers come from.
    pub basis: String,
}

/// A ceramic class coloured with a pigment that has an absorption band of its own: the shades look
/// the same in daylight (D65), and another colour where a light is strong or weak in the band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PigmentedClass {
    /// Id used by levels.
    pub id: String,
    /// Name in plain words.
    pub name: String,
    /// Id of the plain class that it is in everything else.
    pub of: String,
    /// The pigment.
    pub pigment: PigmentBand,
    /// Where the numbers come from.
    pub basis: String,
}

/// A Gaussian absorption band of a pigment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PigmentBand {
    /// Wavelength of its middle, nm.
    pub at_nm: f64,
    /// Standard deviation, nm; at least 30, as optics are computed every 20 nm.
    pub width_nm: f64,
    /// What it adds to absorption in its middle, as a multiple of what is there.
    pub strength: f64,
}

/// How much one translucency of a class hides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TranslucencyGrade {
    /// Which translucency.
    pub level: Translucency,
    /// Contrast ratio `Y(black) / Y(white)`, 0..1; 1 hides everything.
    pub contrast_ratio: f64,
    /// Thickness at which it is stated, mm.
    pub at_mm: f64,
}

/// Contrast ratios at the two ends of a graded block, at the thickness of its class.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GradedBlock {
    /// At the cervical end, which hides more.
    pub cervical_contrast_ratio: f64,
    /// At the incisal end.
    pub incisal_contrast_ratio: f64,
}

/// Ceramics known by coefficients that were measured, beside those designed from what they look
/// like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredCeramics {
    /// Format number, [`MATERIAL_FORMAT`].
    pub format: u32,
    /// Ceramic classes.
    pub classes: Vec<MeasuredClass>,
}

/// A class of ceramic whose pieces were measured. It comes in the shades of its pieces and no other,
/// and not as a graded block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredClass {
    /// Id used by levels.
    pub id: String,
    /// Name in plain words.
    pub name: String,
    /// Refractive index.
    pub refractive_index: f64,
    /// Anisotropy g that the coefficients go with: mean cosine of the scattering angle.
    pub anisotropy: f64,
    /// What was measured.
    pub pieces: Vec<MeasuredPiece>,
    /// Where the numbers come from.
    pub basis: String,
}

/// One ceramic of a class: its translucency, its shade and its coefficients.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredPiece {
    /// Translucency within its class.
    pub translucency: Translucency,
    /// Colour of a thick piece, which names it; CIELAB LCh under D65/2°.
    pub shade: Lch,
    /// Absorption coefficient σa, 1/mm; ends held beyond the samples.
    pub absorption: RegularSamples,
    /// Reduced scattering coefficient σs′, 1/mm; ends held beyond the samples.
    pub reduced_scattering: RegularSamples,
}

/// Shades that ceramics come in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShadeLattice {
    /// Thickness of the piece whose colour names the shade, mm.
    pub at_mm: f64,
    /// The shades.
    pub lattice: Vec<Lch>,
    /// Where the numbers come from.
    pub basis: String,
}

/// Cements and try-in pastes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cements {
    /// Format number, [`MATERIAL_FORMAT`].
    pub format: u32,
    /// The cements.
    pub cements: Vec<Cement>,
}

/// One cement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cement {
    /// Id used by levels, such as `opaque-light`.
    pub id: String,
    /// Name in plain words.
    pub name: String,
    /// Refractive index.
    pub refractive_index: f64,
    /// Anisotropy g of its scattering: mean cosine of the scattering angle.
    pub anisotropy: f64,
    /// Kubelka-Munk scattering at 550 nm, 1/mm.
    pub scattering_550: f64,
    /// Exponent `n` of scattering falling with wavelength, `S ∝ λ⁻ⁿ`.
    pub scattering_exponent: f64,
    /// Kubelka-Munk absorption.
    pub absorption: Absorption,
    /// Where the numbers come from.
    pub basis: String,
}

/// Kubelka-Munk absorption at three wavelengths, 1/mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Absorption {
    /// At 450 nm.
    pub at_450: f64,
    /// At 550 nm.
    pub at_550: f64,
    /// At 650 nm.
    pub at_650: f64,
}

/// Tooth tissues, prepared teeth, gingiva and the dark of the mouth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tissues {
    /// Format number, [`MATERIAL_FORMAT`].
    pub format: u32,
    /// Enamel.
    pub enamel: Enamel,
    /// Dentin of several ages.
    pub dentins: Vec<Dentin>,
    /// Anisotropy g of scattering in dentin, prepared teeth included.
    pub dentin_anisotropy: f64,
    /// Prepared teeth from light to severely dark.
    pub prepared_teeth: Vec<PreparedTooth>,
    /// Gingiva colours.
    pub gingivae: Vec<Gingiva>,
    /// What lies behind the teeth.
    pub mouth: Mouth,
}

/// Enamel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Enamel {
    /// Refractive index.
    pub refractive_index: f64,
    /// Anisotropy g of its scattering: mean cosine of the scattering angle.
    pub anisotropy: f64,
    /// Translucency parameter, ΔE*ab between white and black backing.
    pub tp: f64,
    /// Thickness at which it is stated, mm.
    pub at_mm: f64,
    /// Colour of a thick piece.
    pub colour: Lch,
    /// Exponent `n` of scattering falling with wavelength, `S ∝ λ⁻ⁿ`.
    pub scattering_exponent: f64,
    /// Where the numbers come from.
    pub basis: String,
}

/// Dentin of one age.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dentin {
    /// Id, such as `young`.
    pub id: String,
    /// Name in plain words.
    pub name: String,
    /// Refractive index.
    pub refractive_index: f64,
    /// Translucency parameter, ΔE*ab between white and black backing.
    pub tp: f64,
    /// Thickness at which it is stated, mm.
    pub at_mm: f64,
    /// Colour of a thick piece.
    pub colour: Lch,
    /// Where the numbers come from.
    pub basis: String,
}

/// A prepared tooth: what a restoration covers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PreparedTooth {
    /// Id used by levels, such as `mid-yellow`.
    pub id: String,
    /// Name in plain words.
    pub name: String,
    /// Colour of a thick piece.
    pub colour: Lch,
    /// Translucency parameter, ΔE*ab between white and black backing.
    pub tp: f64,
    /// Thickness at which it is stated, mm.
    pub at_mm: f64,
    /// Where the numbers come from.
    pub basis: String,
}

/// A gingiva colour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gingiva {
    /// Id, such as `medium`.
    pub id: String,
    /// Colour.
    pub colour: Lch,
    /// Where the numbers come from.
    pub basis: String,
}

/// The dark behind the teeth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mouth {
    /// Reflectance, the same at all wavelengths, 0..1.
    pub reflectance: f64,
    /// Where the numbers come from.
    pub basis: String,
}
