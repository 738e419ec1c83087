//! What a trial holds for a simulated observer.

use crate::bake::{Truth, ZoneDifference};
use crate::psychophysics::Direction;
use crate::psychophysics::instrument::{Shown, Stimulus};
use crate::scene::Tooth;
use crate::trial::PlannedTrial;

/// What a trial holds for a simulated observer: from the truth, or from drawn pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// Teeth that can be answered, in the viewer's order.
    pub teeth: Vec<Tooth>,
    /// Signed residual in value of each tooth, ΔE00, or empty.
    pub residuals_de00: Vec<f64>,
    /// The tooth that differs from its twin, if one does.
    pub signal: Option<SeenDifference>,
    /// Exposure, s.
    pub exposure_s: f64,
    /// 0-based number of the trial in the session.
    pub trial: u32,
}

/// A tooth and its difference to its twin in signed parts, ΔE00.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenDifference {
    /// The tooth.
    pub tooth: Tooth,
    /// ΔL00, negative when darker.
    pub value: f64,
    /// ΔC00, negative when of less chroma.
    pub chroma: f64,
    /// ΔH00, negative when redder.
    pub hue: f64,
}

impl SeenDifference {
    /// A difference of `de00` in one direction only.
    #[must_use]
    pub fn on_axis(tooth: Tooth, direction: Direction, de00: f64) -> Self {
        let nothing = Self { tooth, value: 0.0, chroma: 0.0, hue: 0.0 };
        let signed = direction.sign() * de00;
        match direction {
            Direction::Darker | Direction::Lighter => Self { value: signed, ..nothing },
            Direction::MoreChroma | Direction::LessChroma => Self { chroma: signed, ..nothing },
            Direction::Redder | Direction::Yellower => Self { hue: signed, ..nothing },
        }
    }

    /// A difference that was computed or measured.
    #[must_use]
    pub const fn of(tooth: Tooth, difference: &ZoneDifference) -> Self {
        let ZoneDifference { dl00, dc00, dh00, .. } = *difference;
        Self { tooth, value: dl00, chroma: dc00, hue: dh00 }
    }

    /// The part in a direction, ΔE00; 0 when it goes the other way.
    #[must_use]
    pub fn along(&self, direction: Direction) -> f64 {
        let part = match direction {
            Direction::Darker | Direction::Lighter => self.value,
            Direction::MoreChroma | Direction::LessChroma => self.chroma,
            Direction::Redder | Direction::Yellower => self.hue,
        };
        (direction.sign() * part).max(0.0)
    }

    /// The direction of its largest part; `None` when nothing differs.
    #[must_use]
    pub fn direction(&self) -> Option<Direction> {
        Direction::ALL
            .into_iter()
            .max_by(|a, b| self.along(*a).total_cmp(&self.along(*b)))
            .filter(|direction| self.along(*direction) > 0.0)
    }
}

impl Sight {
    /// What a trial of the instrument holds.
    #[must_use]
    pub fn new(teeth: &[Tooth], stimulus: &Stimulus, shown: &Shown) -> Self {
        Self {
            teeth: teeth.to_vec(),
            residuals_de00: shown.residuals_de00.clone(),
            signal: stimulus
                .signal
                .map(|s| SeenDifference::on_axis(s.tooth, s.direction, shown.de00)),
            exposure_s: shown.exposure_s,
            trial: stimulus.shown,
        }
    }

    /// What a planned trial with this truth holds, over the teeth that can be answered. A tooth
    /// that the patient lacks has no residual.
    #[must_use]
    pub fn planned(
        teeth: &[Tooth],
        planned: &PlannedTrial,
        truth: Option<&Truth>,
        exposure_s: f64,
    ) -> Self {
        let residual = |tooth: &Tooth| {
            let natural = planned.case.patient.teeth.iter().find(|t| t.tooth == *tooth);
            natural.map_or(0.0, |t| t.residual_de00)
        };
        Self {
            teeth: teeth.to_vec(),
            residuals_de00: teeth.iter().map(residual).collect(),
            signal: truth.map(|truth| SeenDifference::of(truth.tooth, &truth.difference)),
            exposure_s,
            trial: planned.trial,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signal_has_the_direction_of_its_largest_part() {
        let tooth = Tooth::new(11).unwrap();
        for direction in Direction::ALL {
            let signal = SeenDifference::on_axis(tooth, direction, 1.3);
            assert_eq!(signal.direction(), Some(direction));
            assert_eq!(Direction::ALL.map(|d| signal.along(d)).iter().sum::<f64>(), 1.3);
        }
        assert_eq!(SeenDifference::on_axis(tooth, Direction::Darker, 0.0).direction(), None);
        let mixed = SeenDifference { tooth, value: 0.4, chroma: -0.9, hue: 0.2 };
        assert_eq!(mixed.direction(), Some(Direction::LessChroma));
    }
}
