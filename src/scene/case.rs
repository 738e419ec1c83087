//! A case: a patient, perhaps a restoration, and the light they are seen in.

use crate::colorimetry::{Illuminant, Lch};
use crate::scene::{AxisChange, Drift, Staging, Tooth};
use serde::{Deserialize, Serialize};

/// One smile, restored or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Seed of shapes and surface texture. Two cases with one seed show the same mouth.
    pub seed: u64,
    /// The natural teeth.
    pub patient: Patient,
    /// The restored teeth, each at most once; empty for a smile without one. Where one is judged,
    /// it is the first.
    pub restorations: Vec<Restoration>,
    /// A tooth changed to differ from its twin by a measured amount. Not to be given together with
    /// a restoration.
    pub shift: Option<AxisChange>,
    /// The light.
    pub illuminant: Illuminant,
    /// Framing and lamp.
    pub staging: Staging,
}

impl Case {
    /// The teeth in view, in the viewer's order, left to right.
    #[must_use]
    pub fn teeth(&self) -> Vec<Tooth> {
        self.patient.teeth.iter().map(|natural| natural.tooth).collect()
    }

    /// The teeth that differ from their twins: the restored ones, or the shifted one.
    pub fn odd_teeth(&self) -> impl Iterator<Item = Tooth> {
        let shifted = self.shift.map(|shift| shift.tooth());
        self.restorations.iter().map(|restoration| restoration.tooth).chain(shifted)
    }

    /// The first restoration, if there is one.
    #[must_use]
    pub fn restoration(&self) -> Option<&Restoration> {
        self.restorations.first()
    }

    /// The tooth that differs from its twin: the first restored or the shifted one.
    #[must_use]
    pub fn odd_tooth(&self) -> Option<Tooth> {
        let restored = self.restoration().map(|restoration| restoration.tooth);
        restored.or_else(|| self.shift.map(|shift| shift.tooth()))
    }

    /// The case with left and right changed over: every natural tooth has the colour and the enamel
    /// of the one opposite, and restorations stand on the other side. Shapes and surface texture
    /// are still those of the seed. `None` where a tooth in view has no opposite in view, and for a
    /// shifted tooth.
    #[must_use]
    pub fn mirrored(&self) -> Option<Self> {
        if self.shift.is_some() {
            return None;
        }
        let teeth = &self.patient.teeth;
        let opposite = |own: &NaturalTooth| {
            let other = teeth.iter().find(|other| other.tooth == own.tooth.contralateral())?;
            Some(NaturalTooth { tooth: own.tooth, ..*other })
        };
        let teeth = teeth.iter().map(opposite).collect::<Option<Vec<_>>>()?;
        let restorations = self.restorations.iter().map(|restoration| Restoration {
            tooth: restoration.tooth.contralateral(),
            ..restoration.clone()
        });
        Some(Self {
            patient: Patient { teeth, ..self.patient.clone() },
            restorations: restorations.collect(),
            ..self.clone()
        })
    }
}

/// Natural teeth in the viewer's order, left to right.
#[derive(Debug, Clone, PartialEq)]
pub struct Patient {
    /// The teeth in view.
    pub teeth: Vec<NaturalTooth>,
    /// Gingiva colour, CIELAB LCh under D65/2°.
    pub gingiva: Lch,
}

/// One natural tooth: the colour of its body and how its enamel lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NaturalTooth {
    /// Which tooth.
    pub tooth: Tooth,
    /// Colour of the middle third, CIELAB LCh under D65/2°.
    pub body: Lch,
    /// Enamel thickness relative to the standard of its kind, 1 = standard.
    pub enamel_factor: f64,
    /// Signed residual in value from the norm of its position, ΔE00.
    pub residual_de00: f64,
}

/// Translucency of a ceramic within its class, in the trade's three words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Translucency {
    /// Low translucency: hides more.
    Low,
    /// Medium translucency.
    Medium,
    /// High translucency: lets more through.
    High,
}

/// How a tooth was prepared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Preparation {
    /// Labial veneer: the ceramic covers the labial surface and the incisal edge.
    Veneer,
    /// Full crown.
    Crown,
    /// Onlay of a back tooth that ends above the gum: natural tooth below the margin line, ceramic
    /// above it.
    Onlay {
        /// Height of the margin line, 0 at the gum to 1 at the cusp tip.
        margin_height: f64,
    },
}

/// Ceramic thickness at three heights and at the margin, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thickness {
    /// At the gingival margin line itself.
    pub margin_mm: f64,
    /// Middle of the cervical third.
    pub neck_mm: f64,
    /// Middle of the tooth.
    pub body_mm: f64,
    /// Middle of the incisal third.
    pub incisal_mm: f64,
}

/// Which ceramic: ids are those of the material library.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ceramic {
    /// Class id, such as `lithium-disilicate`.
    pub class: String,
    /// Translucency. For a graded block this is the block's body.
    pub translucency: Translucency,
    /// Shade: colour of a thick piece, CIELAB LCh under D65/2°.
    pub shade: Lch,
    /// Whether the block is graded from opaque at the neck to translucent at the edge.
    pub graded: bool,
    /// How far the tooth stands towards the incisal end of a graded block, as a share of its height,
    /// [−0.5, 0.5](Self::BLOCK_SHIFT): above 0 the whole tooth is more translucent. At 0 its neck
    /// lies at the cervical end of the grading and its edge at the incisal end; beyond the ends the
    /// block is uniform.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub block_shift: f64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde calls it with a reference")]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

impl Ceramic {
    /// Least and largest block shift.
    pub const BLOCK_SHIFT: std::ops::RangeInclusive<f64> = -0.5..=0.5;

    /// Where in its block a height of the tooth lies: 0 at the cervical end of the grading, 1 at the
    /// incisal end.
    #[must_use]
    pub fn block_height(&self, height: f64) -> f64 {
        (height + self.block_shift).clamp(0.0, 1.0)
    }
}

/// A restoration and what lies under it.
#[derive(Debug, Clone, PartialEq)]
pub struct Restoration {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Veneer or crown.
    pub preparation: Preparation,
    /// The ceramic.
    pub ceramic: Ceramic,
    /// Its thickness.
    pub thickness: Thickness,
    /// Cement id.
    pub cement: String,
    /// Cement film, mm.
    pub cement_film_mm: f64,
    /// Prepared-tooth colour id.
    pub prepared_tooth: String,
    /// What time has done to it since seating, or `None` for a restoration just seated.
    pub drift: Option<Drift>,
}
