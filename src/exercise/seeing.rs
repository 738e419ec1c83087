//! Exact shares of a round, and what simulated learners see.

use super::Learner;
use super::cases::Layout;
use crate::bake::ZoneDifference;
use crate::random::Purpose;
use crate::words::Part;
use rand::RngExt;
use statrs::distribution::{ContinuousCDF, Normal};

/// Differences this near the acceptability limit are neither right nor wrong, ΔE00. A setting of
/// this program.
pub(super) const GREY_ZONE_DE00: f64 = 0.2;

/// A standard normal deviate, cut at ±5.
pub(super) fn deviate(stream: &mut impl rand::Rng) -> f64 {
    Normal::standard().inverse_cdf(stream.random::<f64>().clamp(3e-7, 1.0 - 3e-7))
}

impl Learner {
    /// How far from its twin this learner would see a tooth without noise, ΔE00: the truth, changed
    /// by how value weighs and which way is liked. An ideal learner sees the truth itself.
    pub(super) fn weighs(&self, difference: &ZoneDifference) -> f64 {
        let size = |weight: f64, liked: f64| {
            let value = weight * (difference.dl00 - liked);
            value.hypot(difference.dc00).hypot(difference.dh00)
        };
        difference.de00 + size(self.value_weight, self.value_bias) - size(1.0, 0.0)
    }

    /// [`Self::weighs`] with noise.
    pub(super) fn sees(&self, difference: &ZoneDifference, stream: &mut impl rand::Rng) -> f64 {
        self.weighs(difference) + self.noise_de00 * deviate(stream)
    }

    /// Whether this answer is given without looking.
    pub(super) fn lapses(&self, stream: &mut impl rand::Rng) -> bool {
        stream.random::<f64>() < self.lapse
    }
}

/// Fisher-Yates by a stream.
pub(super) fn shuffle<T>(items: &mut [T], stream: &mut impl rand::Rng) {
    for last in (1..items.len()).rev() {
        items.swap(last, stream.random_range(0..=last));
    }
}

/// One flag a question, a share of them set (rounded to whole questions), in random order.
pub(super) fn flags(layout: &Layout<'_>, share: f64) -> Vec<bool> {
    let questions = layout.questions as usize;
    let set = (share * questions as f64).round() as usize;
    let mut flags: Vec<bool> = (0..questions).map(|i| i < set).collect();
    shuffle(&mut flags, &mut layout.stream(Purpose::Schedule, 0));
    flags
}

/// Where in a list of so many equal parts each question falls: every part comes up before one
/// comes up again, in random order. `round` tells several such lists of one level apart.
pub(super) fn strata(layout: &Layout<'_>, parts: usize, round: u32) -> Vec<usize> {
    let questions = layout.questions as usize;
    let mut stream = layout.stream(Purpose::Schedule, 1 + round);
    let mut order = Vec::with_capacity(questions + parts);
    while order.len() < questions {
        let mut deck: Vec<usize> = (0..parts.max(1)).collect();
        shuffle(&mut deck, &mut stream);
        order.extend(deck);
    }
    order.truncate(questions);
    order
}

/// The signed parts of a difference that count, in words, the largest first: `1.2 ΔL00 darker, 0.6
/// ΔC00 weaker in chroma`.
pub(super) fn in_words(difference: &ZoneDifference) -> String {
    let of = |part| match part {
        Part::Value => difference.dl00,
        Part::Chroma => difference.dc00,
        Part::Hue => difference.dh00,
    };
    let mut parts = Part::ALL.map(|part| (part, of(part)));
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let said: Vec<String> = parts
        .iter()
        .filter(|(_, size)| size.abs() >= 0.25)
        .map(|(part, size)| part.differs(*size))
        .collect();
    if said.is_empty() { "no different to the eye".to_owned() } else { said.join(", ") }
}
