//! What a cement does to a tooth, and what somebody says that it will.

use crate::bake::ZoneDifference;
use crate::colorimetry::ACCEPTABILITY_DE00;
use crate::words::{Part, is_nothing, tenths};
use serde::{Deserialize, Serialize};

/// What a cement does to the colour of a restoration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EffectDirection {
    /// Lighter.
    Lighter,
    /// Darker.
    Darker,
    /// Warmer: more chromatic, by more than it changes value.
    Warmer,
    /// Nothing to see: below 0.3 ΔE00.
    None,
}

/// A try-in paste or cement, and what it does here.
#[derive(Debug, Clone, PartialEq)]
pub struct CementEffect {
    /// Cement id.
    pub cement: String,
    /// Plain words.
    pub name: String,
    /// With this cement minus with the first one, zone-weighted and signed; 0 for the first.
    pub effect: ZoneDifference,
    /// Which way the effect goes.
    pub direction: EffectDirection,
    /// Restoration minus twin on the day of seating.
    pub at_seating: ZoneDifference,
    /// Restoration minus twin when the time is over, in the middle case.
    pub after: ZoneDifference,
    /// ΔE00 to the twin when the time is over, in cases at the quartiles of drift.
    pub after_quartiles_de00: [f64; 2],
}

/// What is said of one cement before it is seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    /// Which way.
    pub direction: EffectDirection,
    /// By how much, ΔE00, 0 or above; of no account for [`EffectDirection::None`].
    pub size_de00: f64,
}

/// An effect below this is none, ΔE00: less than half of what is noticed side by side.
pub const NO_EFFECT_DE00: f64 = 0.3;

impl EffectDirection {
    /// Which way a signed difference goes: nowhere below `NO_EFFECT_DE00`, warmer when it adds
    /// more chroma than it changes value, else lighter or darker.
    #[must_use]
    pub fn of(effect: &ZoneDifference) -> Self {
        if effect.de00 < NO_EFFECT_DE00 {
            Self::None
        } else if effect.dc00 > effect.dl00.abs() {
            Self::Warmer
        } else if effect.dl00 < 0.0 {
            Self::Darker
        } else {
            Self::Lighter
        }
    }

    /// Plain word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lighter => "lighter",
            Self::Darker => "darker",
            Self::Warmer => "warmer",
            Self::None => "no effect",
        }
    }

    /// An effect of that size in words, with its unit: `0.8 ΔL00 darker`; `no effect` where it rounds to
    /// nothing.
    #[must_use]
    pub fn in_words(self, size: f64) -> String {
        let unit = match self {
            _ if is_nothing(size) => return Self::None.name().to_owned(),
            Self::None => return self.name().to_owned(),
            Self::Warmer => Part::Chroma.unit(),
            Self::Lighter | Self::Darker => Part::Value.unit(),
        };
        format!("{} {unit} {}", tenths(size), self.name())
    }

    /// The signed part of a difference that this direction is about.
    pub(super) const fn part(self, difference: &ZoneDifference) -> f64 {
        match self {
            Self::Warmer => difference.dc00,
            _ => difference.dl00,
        }
    }
}

impl Prediction {
    /// What is predicted for the part that `axis` is about, signed.
    fn along(&self, axis: EffectDirection) -> f64 {
        let size = self.size_de00.max(0.0);
        match (self.direction, axis) {
            (EffectDirection::Warmer, EffectDirection::Warmer) => size,
            (EffectDirection::Warmer, _) | (_, EffectDirection::Warmer) => 0.0,
            (EffectDirection::Lighter, _) => size,
            (EffectDirection::Darker, _) => -size,
            (EffectDirection::None, _) => 0.0,
        }
    }

    /// How far the prediction is off, predicted minus true, in the part that the effect is about
    /// (ΔL00, or ΔC00 where it is warmer). Where there is no effect, in the part that the prediction
    /// is about.
    #[must_use]
    pub fn error(&self, effect: &ZoneDifference) -> f64 {
        let truth = EffectDirection::of(effect);
        let axis = if truth == EffectDirection::None { self.direction } else { truth };
        self.along(axis) - axis.part(effect)
    }

    /// 100 for a prediction in the right direction that is off by no more than could be seen
    /// (`NO_EFFECT_DE00`); else less the further it is off, and nothing from 1.8.
    #[must_use]
    pub fn score(&self, effect: &ZoneDifference) -> f64 {
        let is_right_way = self.direction == EffectDirection::of(effect);
        if is_right_way && self.error(effect).abs() <= NO_EFFECT_DE00 {
            return 100.0;
        }
        100.0 * (1.0 - self.error(effect).abs() / ACCEPTABILITY_DE00).max(0.0)
    }
}
