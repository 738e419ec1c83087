//! Skin and lips that go with a patient's gum.

use super::map::Complexion;
use crate::colorimetry::{Lab, Lch};
use crate::random::{Purpose, StreamKey};
use rand::RngExt;

/// Mean and standard deviation of a colour, CIELAB.
struct Spread {
    mean: [f64; 3],
    deviation: [f64; 3],
}

/// Skin and lips of one kind of complexion.
struct Kind {
    skin: Spread,
    lips: Spread,
}

/// Complexions from light to dark. Skin: cheek means of four populations lie near L* 65, 62, 60
/// and 56 with a* 9-11 and b* 15-19 (from memory: Xiao et al., Skin Res Technol 2017;23:21-29);
/// the darkest kind and all lips: common practice, no source.
const KINDS: [Kind; 4] = [
    Kind {
        skin: Spread { mean: [66.5, 11.0, 15.5], deviation: [2.5, 1.5, 1.5] },
        lips: Spread { mean: [53.0, 23.0, 12.5], deviation: [2.5, 2.5, 1.5] },
    },
    Kind {
        skin: Spread { mean: [61.0, 11.0, 18.0], deviation: [2.5, 1.2, 1.5] },
        lips: Spread { mean: [49.5, 21.5, 13.0], deviation: [2.5, 2.0, 1.5] },
    },
    Kind {
        skin: Spread { mean: [52.0, 11.5, 19.0], deviation: [3.0, 1.2, 1.5] },
        lips: Spread { mean: [43.5, 18.0, 12.5], deviation: [2.5, 2.0, 1.5] },
    },
    Kind {
        skin: Spread { mean: [38.0, 10.5, 15.5], deviation: [3.0, 1.2, 1.5] },
        lips: Spread { mean: [35.5, 14.0, 9.0], deviation: [2.5, 2.0, 1.5] },
    },
];

impl Complexion {
    /// The skin and lips of the patient with this seed and gum: dark gums go with the darker
    /// kinds, light ones with the lighter (direction only: common practice, no source).
    #[must_use]
    pub fn draw(seed: u64, gingiva: Lch) -> Self {
        let mut stream =
            StreamKey { form: "complexion", seed, purpose: Purpose::Scene, block: 0, trial: 0 }
                .stream();
        let kinds = match gingiva.l {
            l if l < 44.0 => 2..4,
            l if l < 56.0 => 0..3,
            _ => 0..2,
        };
        let kind = &KINDS[stream.random_range(kinds)];
        // Sum of three uniforms: nearly normal, and never further than three deviations.
        let mut deviate = || (0..3).map(|_| stream.random_range(-1.0..1.0_f64)).sum::<f64>();
        let mut draw = |spread: &Spread| {
            let [l, a, b]: [f64; 3] =
                std::array::from_fn(|k| spread.mean[k] + spread.deviation[k] * deviate());
            Lab { l, a, b }.to_linear_srgb().map(|value| value.max(0.0) as f32)
        };
        Self { skin: draw(&kind.skin), lips: draw(&kind.lips) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn complexions_differ_by_seed_and_follow_the_gum() {
        let mean = |l: f64| {
            let sum: f32 = (0..60)
                .map(|seed| Complexion::draw(seed, Lch { l, c: 30.0, h: 35.0 }).skin[1])
                .sum();
            sum / 60.0
        };
        assert!(mean(36.0) < 0.7 * mean(51.0), "{} {}", mean(36.0), mean(51.0));
        assert!(mean(51.0) < mean(61.0));
        let gum = Lch { l: 51.0, c: 33.0, h: 33.0 };
        assert_ne!(Complexion::draw(1, gum), Complexion::draw(2, gum));
        assert_eq!(Complexion::draw(1, gum), Complexion::draw(1, gum));
    }
}
