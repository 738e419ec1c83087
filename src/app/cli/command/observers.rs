//! Simulated observers by their names on the command line.

use crate::app::cli::arguments::ObserverKind;
use crate::exercise::Learner;
use crate::psychophysics::{Axis, GlanceParameters, SimulatedObserver};

/// What an observer does.
pub(crate) const fn in_words(kind: ObserverKind) -> &'static str {
    match kind {
        ObserverKind::Noisy => "sees through noise",
        ObserverKind::Biased => "sees through noise, with biases",
        ObserverKind::DarkOnly => "sees only what is too dark",
        ObserverKind::Shortcut => "reads everything but colour",
        ObserverKind::AlwaysCentral => "always names a central incisor",
        ObserverKind::Learner => "sees through noise, and learns",
        ObserverKind::Tiring => "sees through noise, and tires",
        ObserverKind::Ideal => "sees through very little noise",
        ObserverKind::AlwaysRight => "always right",
        ObserverKind::Random => "names any tooth",
        ObserverKind::AlwaysNone => "always says none",
    }
}

/// The simulated observer of this name.
pub(crate) fn simulated(kind: ObserverKind) -> SimulatedObserver {
    let plain = truth(kind);
    match kind {
        ObserverKind::Noisy | ObserverKind::Biased => SimulatedObserver::Noisy(plain),
        ObserverKind::Ideal => SimulatedObserver::Ideal,
        ObserverKind::AlwaysRight => SimulatedObserver::AlwaysRight,
        ObserverKind::DarkOnly => SimulatedObserver::OneAxis(plain, Axis::Darker),
        ObserverKind::Shortcut => SimulatedObserver::Shortcut { criterion: plain.criterion },
        ObserverKind::Random => SimulatedObserver::RandomTooth,
        ObserverKind::AlwaysNone => SimulatedObserver::AlwaysNone,
        ObserverKind::AlwaysCentral => SimulatedObserver::AlwaysCentral,
        ObserverKind::Learner => SimulatedObserver::Learner(plain),
        ObserverKind::Tiring => SimulatedObserver::Tiring(plain),
    }
}

/// What is true of an observer made of parameters.
pub(crate) fn truth(kind: ObserverKind) -> GlanceParameters {
    let plain = GlanceParameters {
        thresholds_de00: vec![
            (Axis::Darker, 1.6),
            (Axis::Lighter, 2.2),
            (Axis::Chroma, 2.6),
            (Axis::Hue, 2.0),
        ],
        exponent: 1.0,
        criterion: 2.05,
        lapse: 0.02,
        confusion: 0.0,
        eccentricity_loss: 0.0,
        side_bias: 0.0,
    };
    if kind == ObserverKind::Biased {
        return GlanceParameters {
            confusion: 0.4,
            eccentricity_loss: 0.05,
            side_bias: 0.3,
            ..plain
        };
    }
    plain
}

/// Whether the parameters are what a measurement should find.
pub(crate) const fn is_made_of_parameters(kind: ObserverKind) -> bool {
    matches!(
        kind,
        ObserverKind::Noisy
            | ObserverKind::Biased
            | ObserverKind::DarkOnly
            | ObserverKind::Learner
            | ObserverKind::Tiring
    )
}

/// The simulated learner that an observer is in exercises with questions.
pub(crate) const fn learner(kind: ObserverKind) -> Option<Learner> {
    let noisy = Learner { noise_de00: 0.6, value_bias: 0.0, value_weight: 1.0, lapse: 0.02 };
    match kind {
        ObserverKind::Noisy => Some(noisy),
        ObserverKind::Biased => Some(Learner { value_bias: 0.6, ..noisy }),
        ObserverKind::Ideal | ObserverKind::AlwaysRight => Some(Learner::IDEAL),
        ObserverKind::Random => Some(Learner { lapse: 1.0, ..noisy }),
        _ => None,
    }
}
