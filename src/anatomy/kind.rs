//! The standard shape of each kind of crown, and one individual of it.

use super::kind_shape::KindShape;
use crate::random::{Purpose, StreamKey};
use crate::scene::{Tooth, ToothKind};
use rand::RngExt;

/// Upper or lower jaw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Jaw {
    /// Upper.
    Upper,
    /// Lower. Its shapes are made as an upper jaw's and turned over at the end.
    Lower,
}

/// What all teeth of one patient share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Person {
    /// Widths over the standard.
    pub width: f32,
    /// Lengths over the standard.
    pub length: f32,
    /// −1 tapering to 1 square.
    pub form: f32,
    /// 0 even to 1 crowded: how far teeth turn and step out of line.
    pub crowding: f32,
    /// 0 unworn, with mamelons and sharp canines, to 1 worn level.
    pub wear: f32,
    /// Lift of the lateral incisors' edges, mm about the standard.
    pub lateral_step_mm: f32,
    /// Flatness of the arch over the standard; larger is narrower.
    pub arch: f32,
    /// Perceptual roughness of the wet enamel in the open.
    pub roughness: f32,
}

impl Person {
    /// Standard deviation of a patient's tooth widths and lengths, as a share of the mean.
    ///
    /// Within one sex crown widths of upper front teeth vary by about 0.5 mm of 8.5 (6 %) and men's
    /// are 5-7 % wider and 8-13 % longer than women's (Sterrett et al., J Clin Periodontol
    /// 1999;26:153-157); part of that belongs to single teeth, so a little less is shared.
    pub const SPREAD: [f32; 2] = [0.030, 0.038];
    /// Departures end here, in standard deviations.
    pub const MOST_DEVIATIONS: f32 = 2.2;

    /// The patient with this seed.
    #[must_use]
    pub fn draw(seed: u64) -> Self {
        let mut rng =
            StreamKey { form: "person", seed, purpose: Purpose::Scene, block: 0, trial: 0 }
                .stream();
        let mut uniform = || rng.random_range(-1.0_f32..1.0);
        // Four uniforms sum to nearly a normal deviate of standard deviation 1.155.
        let mut normal = || {
            let sum = uniform() + uniform() + uniform() + uniform();
            (sum / 1.155).clamp(-Self::MOST_DEVIATIONS, Self::MOST_DEVIATIONS)
        };
        let width = 1.0 + Self::SPREAD[0] * normal();
        // Long teeth are often wide ones, but not always.
        let length =
            1.0 + Self::SPREAD[1] * (0.35 * (width - 1.0) / Self::SPREAD[0] + 0.93 * normal());
        Self {
            width,
            length: length.clamp(1.0 - 2.2 * Self::SPREAD[1], 1.0 + 2.2 * Self::SPREAD[1]),
            form: uniform(),
            crowding: (0.5 + 0.5 * uniform()).powf(2.2),
            wear: (0.5 + 0.5 * uniform()).powf(1.4),
            lateral_step_mm: 0.28 * uniform(),
            arch: 1.0 + 0.06 * uniform(),
            roughness: 0.24 + 0.05 * uniform(),
        }
    }
}

/// One tooth of one patient: the standard shape with this patient's departures from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Individual {
    /// Which upper tooth, or for a lower one the tooth above it.
    pub tooth: Tooth,
    /// Upper or lower.
    pub jaw: Jaw,
    /// Crown length, edge to neck.
    pub length_mm: f32,
    /// Largest mesiodistal width.
    pub width_mm: f32,
    /// Shape with this patient's departures.
    pub shape: KindShape,
    /// Phase of the worn mamelons.
    pub mamelon_phase: f32,
    /// 0 unworn to 1 worn level.
    pub wear: f32,
    /// Gloss of the enamel: perceptual roughness in the open.
    pub roughness: f32,
}

impl Individual {
    /// Largest departure of one tooth's width from the patient's own, as a share of it.
    pub const WIDTH_SPREAD: f32 = 0.018;
    /// Largest departure of one tooth's length from the patient's own.
    pub const LENGTH_SPREAD_MM: f32 = 0.20;

    /// The upper tooth of the patient with this seed.
    #[must_use]
    pub fn draw(seed: u64, tooth: Tooth) -> Self {
        Self::of(&Person::draw(seed), seed, tooth, Jaw::Upper)
    }

    /// The tooth of a patient in a jaw.
    #[must_use]
    pub fn of(person: &Person, seed: u64, tooth: Tooth, jaw: Jaw) -> Self {
        let mut rng = StreamKey {
            form: match jaw {
                Jaw::Upper => "anatomy",
                Jaw::Lower => "anatomy-lower",
            },
            seed,
            purpose: Purpose::Scene,
            block: 0,
            trial: u32::from(tooth.number()),
        }
        .stream();
        let mut spread = |half: f32| half * rng.random_range(-1.0_f32..1.0);
        let kind = tooth.kind();
        let (standard, mut shape) = match jaw {
            Jaw::Upper => (kind.crown_dimensions(), KindShape::of(kind)),
            Jaw::Lower => (kind.lower_crown_dimensions(), KindShape::lower(kind)),
        };
        let width_mm = standard.width_mm as f32 * person.width * (1.0 + spread(Self::WIDTH_SPREAD));
        let length_mm = standard.length_mm as f32 * person.length + spread(Self::LENGTH_SPREAD_MM);
        let loose = 0.6 + 2.6 * person.crowding;
        // Lower incisors crowd first.
        let loose = if jaw == Jaw::Lower && !shape.cusped { 1.8 * loose } else { loose };
        shape.edge_height_mm += spread(0.14);
        if kind == ToothKind::Lateral && jaw == Jaw::Upper {
            shape.edge_height_mm += person.lateral_step_mm;
        }
        shape.yaw += spread(0.034 * loose);
        shape.roll += spread(0.018 * loose.min(1.6));
        shape.torque += spread(0.018 * loose.min(1.6));
        shape.depth_mm += spread(0.16 * loose);
        shape.fall_mm *= 1.0 + spread(0.08);
        let wear = (person.wear + spread(0.12)).clamp(0.0, 1.0);
        // Lower incisors wear level first: they bite against the backs of the upper ones.
        let wear = if jaw == Jaw::Lower { 0.6 + 0.4 * wear } else { wear };
        for value in &mut shape.corner_mm {
            *value *= (1.0 - 0.22 * person.form) * (1.12 - 0.35 * wear) * (1.0 + spread(0.14));
        }
        for value in &mut shape.edge_drop_mm {
            *value *= (1.12 - 0.34 * wear) * (1.0 + spread(0.14));
        }
        shape.neck += 0.018 * person.form + spread(0.006);
        for value in &mut shape.end_width {
            *value = (*value + 0.022 * person.form + spread(0.01)).min(0.99);
        }
        for value in &mut shape.squareness {
            *value *= 1.0 + 0.05 * person.form + spread(0.05);
        }
        shape.groove_mm *= 1.0 + spread(0.5);
        shape.ridge_mm *= 1.0 + spread(0.25);
        shape.papilla_mm += spread(0.25);
        Self {
            tooth,
            jaw,
            length_mm,
            width_mm,
            shape,
            mamelon_phase: spread(1.2),
            wear,
            roughness: person.roughness + spread(0.045),
        }
    }

    /// Noise channel of this tooth above a base; no other tooth of the mouth has it.
    pub(super) fn channel(&self, base: u32) -> u32 {
        let jaw = if self.jaw == Jaw::Lower { 1000 } else { 0 };
        base + jaw + u32::from(self.tooth.number())
    }

    /// 1 when mesial lies toward the viewer's right, −1 when toward the left.
    #[must_use]
    pub const fn mesial_sign(&self) -> f32 {
        if self.tooth.is_patients_right() { 1.0 } else { -1.0 }
    }
}
