//! Numbers in words: counts, signed differences and shares of a whole, each said in one place.
//!
//! Differences of CIEDE2000 and their signed parts carry their unit (ΔE00, ΔL00, ΔC00, ΔH00); a step
//! of lightness itself is in L*. What rounds to nothing has no direction: nothing is "0.0 darker".
//! Names of colours are [`Lch::name`](crate::colorimetry::Lch::name).

use std::fmt::Display;

/// A signed part of a colour difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// ΔL00.
    Value,
    /// ΔC00.
    Chroma,
    /// ΔH00.
    Hue,
}

impl Part {
    /// Value, chroma, hue.
    pub const ALL: [Self; 3] = [Self::Value, Self::Chroma, Self::Hue];

    /// The part's symbol, which is its unit too: `ΔL00`.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Value => "ΔL00",
            Self::Chroma => "ΔC00",
            Self::Hue => "ΔH00",
        }
    }

    /// The word for a difference of that sign: `darker`.
    #[must_use]
    pub const fn way(self, size: f64) -> &'static str {
        // Tooth hues lie near yellow, 70 to 95 degrees: a smaller angle is redder, a larger one
        // greener.
        match (self, size < 0.0) {
            (Self::Value, true) => "darker",
            (Self::Value, false) => "lighter",
            (Self::Chroma, true) => "weaker in chroma",
            (Self::Chroma, false) => "stronger in chroma",
            (Self::Hue, true) => "redder",
            (Self::Hue, false) => "greener",
        }
    }

    /// The word for an error of that sign: `too dark`.
    #[must_use]
    pub const fn too(self, size: f64) -> &'static str {
        match (self, size < 0.0) {
            (Self::Value, true) => "too dark",
            (Self::Value, false) => "too light",
            (Self::Chroma, true) => "too weak in chroma",
            (Self::Chroma, false) => "too strong in chroma",
            (Self::Hue, true) => "too reddish",
            (Self::Hue, false) => "too greenish",
        }
    }

    const fn alike(self) -> &'static str {
        match self {
            Self::Value => "as light",
            Self::Chroma => "as strong in chroma",
            Self::Hue => "of the same hue",
        }
    }

    /// `1.2 ΔL00 darker`, or `as light` where it rounds to nothing.
    #[must_use]
    pub fn differs(self, size: f64) -> String {
        step(size, self.unit()).map_or_else(
            || self.alike().to_owned(),
            |amount| format!("{amount} {}", self.way(size)),
        )
    }

    /// `1.2 ΔL00 darker than the tooth`, or `as light as the tooth` where it rounds to nothing.
    #[must_use]
    pub fn compared(self, size: f64, other: &str) -> String {
        let joined = if is_nothing(size) { "as" } else { "than" };
        format!("{} {joined} {other}", self.differs(size))
    }

    /// `1.2 ΔL00 too dark`, or `right in value` where it rounds to nothing.
    #[must_use]
    pub fn wrong(self, size: f64) -> String {
        let right = match self {
            Self::Value => "right in value",
            Self::Chroma => "right in chroma",
            Self::Hue => "right in hue",
        };
        step(size, self.unit())
            .map_or_else(|| right.to_owned(), |amount| format!("{amount} {}", self.too(size)))
    }
}

/// `11.4 L* darker than the tooth`, or `as light as the tooth` where it rounds to nothing: a step in
/// L*, which is not ΔL00.
#[must_use]
pub fn lightness_compared(step_l: f64, other: &str) -> String {
    step(step_l, "L*").map_or_else(
        || format!("as light as {other}"),
        |amount| format!("{amount} {} than {other}", Part::Value.way(step_l)),
    )
}

/// `1.4 ΔE00`.
#[must_use]
pub fn de00(size: f64) -> String {
    format!("{} ΔE00", tenths(size))
}

/// One decimal, and never `-0.0`.
#[must_use]
pub fn tenths(value: f64) -> String {
    // Adding 0 turns a rounded −0.0 into 0.0.
    format!("{:.1}", (value * 10.0).round() / 10.0 + 0.0)
}

/// Whether a number reads `0.0`.
#[must_use]
pub fn is_nothing(value: f64) -> bool {
    (value * 10.0).round() == 0.0
}

fn step(size: f64, unit: &str) -> Option<String> {
    (!is_nothing(size)).then(|| format!("{} {unit}", tenths(size.abs())))
}

/// One decimal with a sign that is easy to see: `−1.6`, `+0.4`, and `0.0` without one.
#[must_use]
pub fn signed(value: f64) -> String {
    let sign = match (value * 10.0).round() {
        0.0 => "",
        rounded if rounded < 0.0 => "\u{2212}",
        _ => "+",
    };
    format!("{sign}{}", tenths(value.abs()))
}

/// `1 question`, `2 questions`: a count with the word for it.
#[must_use]
pub fn count(number: impl TryInto<u64> + Copy + Display, one: &str, many: &str) -> String {
    let is_one = number.try_into().is_ok_and(|number| number == 1);
    format!("{number} {}", if is_one { one } else { many })
}

/// `1 of 1 question`, `2 of 5 questions`.
#[must_use]
pub fn count_of(
    number: impl Display,
    total: impl TryInto<u64> + Copy + Display,
    one: &str,
    many: &str,
) -> String {
    format!("{number} of {}", count(total, one, many))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rounds_to_nothing_has_no_direction() {
        // Worked by hand: one decimal, half up.
        for (size, words) in [
            (-1.24, "1.2 ΔL00 darker than the tooth"),
            (0.06, "0.1 ΔL00 lighter than the tooth"),
            (-0.04, "as light as the tooth"),
            (0.0, "as light as the tooth"),
            (-0.0, "as light as the tooth"),
        ] {
            assert_eq!(Part::Value.compared(size, "the tooth"), words, "{size}");
        }
        assert_eq!(Part::Chroma.compared(-0.7, "it"), "0.7 ΔC00 weaker in chroma than it");
        assert_eq!(Part::Hue.compared(0.04, "it"), "of the same hue as it");
        assert_eq!(Part::Value.differs(0.02), "as light");
        assert_eq!(Part::Chroma.wrong(1.2), "1.2 ΔC00 too strong in chroma");
        assert_eq!(Part::Hue.wrong(-0.01), "right in hue");
        assert_eq!(lightness_compared(-11.4, "patch 2"), "11.4 L* darker than patch 2");
        assert_eq!(lightness_compared(0.03, "patch 2"), "as light as patch 2");
        assert_eq!([signed(-0.04), signed(0.04), signed(-0.06)], ["0.0", "0.0", "\u{2212}0.1"]);
        assert_eq!([tenths(-0.04), tenths(-0.26), de00(0.0)], ["0.0", "-0.3", "0.0 ΔE00"]);
    }

    #[test]
    fn one_is_no_plural() {
        let words = |n: usize| count(n, "hand-in", "hand-ins");
        assert_eq!([words(0), words(1), words(2)], ["0 hand-ins", "1 hand-in", "2 hand-ins"]);
        assert_eq!(count_of(0, 1_usize, "question", "questions"), "0 of 1 question");
        assert_eq!(count_of(1, 4_usize, "question", "questions"), "1 of 4 questions");
    }
}
