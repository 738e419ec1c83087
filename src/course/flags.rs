//! When an item is flagged.
//!
//! The figures of an item in a small group are rough: among thirty people a correlation has a
//! standard error of 0.19, and a bound that is drawn through its middle flags sound items by the
//! dozen. So an item is flagged where the whole interval of a figure lies beyond the bound, and
//! the intervals are wide enough for all the comparisons of a list together (Bonferroni): of twenty
//! lists without an odd item, nineteen have no flag. What that misses in a small group no group of
//! that size can tell.

use crate::psychophysics::{ItemFigures, clopper_pearson, newcombe};
use statrs::distribution::{ContinuousCDF, Normal};

/// Bounds of an item's figures beyond which it is flagged. Design choices.
const LEAST_D27: f64 = 0.20;
const LEAST_R: f64 = 0.15;
const EASIEST: f64 = 0.95;
const HARDEST: f64 = 0.10;
/// Chance of any flag in a list of sound items, and comparisons of each item.
const CHANCE: f64 = 0.05;
const COMPARISONS: usize = 4;

/// What is wrong with an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemFlag {
    /// The upper and the lower 27 % of the group differ too little.
    LittleDiscrimination,
    /// It hardly goes with the rest of the form.
    LittleCorrelation,
    /// Almost everyone is right.
    TooEasy,
    /// Almost nobody is right.
    TooHard,
}

impl ItemFlag {
    /// A word for a narrow column.
    #[must_use]
    pub const fn short(self) -> &'static str {
        match self {
            Self::LittleDiscrimination => "D27",
            Self::LittleCorrelation => "r",
            Self::TooEasy => "easy",
            Self::TooHard => "hard",
        }
    }
}

/// The flags of an item with these figures in a group of so many people, in a list of so many
/// items.
///
/// # References
/// Interval of a correlation: Fisher, Metron 1921;1:3-32. Of a difference of shares: Newcombe, Stat
/// Med 1998;17:873-890, method 10. Of a share: Clopper & Pearson, Biometrika 1934;26:404-413.
#[must_use]
pub fn item_flags(figures: &ItemFigures, people: usize, items: usize) -> Vec<ItemFlag> {
    let tail = CHANCE / (COMPARISONS * items.max(1)) as f64;
    let z = Normal::standard().inverse_cdf(1.0 - tail);
    let mut flags = Vec::new();
    let d27 = figures.tails.map(|tails| {
        let (upper, lower) = (tails.upper, tails.lower);
        newcombe((upper, tails.size), (lower, tails.size), z).1
    });
    if d27.is_some_and(|high| high < LEAST_D27) {
        flags.push(ItemFlag::LittleDiscrimination);
    }
    let r = figures.corrected_r.filter(|_| people > 3).map(|r| {
        let wide = z / (people as f64 - 3.0).sqrt();
        (r.clamp(-1.0, 1.0).atanh() + wide).tanh()
    });
    if r.is_some_and(|high| high < LEAST_R) {
        flags.push(ItemFlag::LittleCorrelation);
    }
    let right = (figures.difficulty * people as f64).round() as u32;
    if let Some((low, high)) = clopper_pearson(right, people as u32, 1.0 - 2.0 * tail) {
        if low > EASIEST {
            flags.push(ItemFlag::TooEasy);
        }
        if high < HARDEST {
            flags.push(ItemFlag::TooHard);
        }
    }
    flags
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::psychophysics::TailShares;

    fn figures(difficulty: f64, r: f64, upper: f64, lower: f64, size: f64) -> ItemFigures {
        ItemFigures {
            difficulty,
            corrected_r: Some(r),
            d27: Some(upper - lower),
            tails: Some(TailShares { upper, lower, size }),
        }
    }

    #[test]
    fn a_small_group_flags_only_what_is_plain() {
        // Thirty people, tails of eight. Bounds by hand: z = 3.55 for 64 items, so r must lie below
        // tanh(atanh 0.15 - 3.55/√27) = -0.49.
        let at = |r, upper, lower| item_flags(&figures(0.5, r, upper, lower, 8.0), 30, 64);
        assert_eq!(at(0.0, 0.5, 0.5), []);
        assert_eq!(at(-0.48, 0.25, 0.5), []);
        assert_eq!(at(-0.50, 0.25, 0.5), [ItemFlag::LittleCorrelation]);
        // All right or all wrong is no surprise in thirty.
        assert_eq!(item_flags(&figures(1.0, 0.3, 1.0, 1.0, 8.0), 30, 64), []);
        assert_eq!(item_flags(&figures(0.0, 0.3, 0.0, 0.0, 8.0), 30, 64), []);
    }

    #[test]
    fn a_large_group_flags_what_lies_beyond_the_bounds() {
        let at = |p, r, upper, lower| item_flags(&figures(p, r, upper, lower, 540.0), 2000, 64);
        assert_eq!(at(0.5, 0.3, 0.8, 0.3), []);
        assert_eq!(at(0.5, 0.05, 0.8, 0.3), [ItemFlag::LittleCorrelation]);
        assert_eq!(at(0.5, 0.3, 0.5, 0.5), [ItemFlag::LittleDiscrimination]);
        assert_eq!(at(0.99, 0.3, 0.9, 0.5), [ItemFlag::TooEasy]);
        assert_eq!(at(0.05, 0.3, 0.5, 0.1), [ItemFlag::TooHard]);
        // On the bound nothing is certain.
        assert_eq!(at(0.95, 0.15, 0.6, 0.4), []);
    }
}
