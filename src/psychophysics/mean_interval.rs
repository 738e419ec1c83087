//! The 95 % interval of a mean that stays an interval where all values are one and the same.

use crate::psychophysics::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00, mean_sd};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Chance that is left out on either side.
const TAIL: f64 = 0.025;

/// A regret from which nothing is left of an answer's score in any exercise, ΔE00: half of what is
/// seen, which is free, and what is accepted above that. A setting of this program.
pub const WORST_REGRET_DE00: f64 = 0.5 * PERCEPTIBILITY_DE00 + ACCEPTABILITY_DE00;

/// Mean regret with its 95 % interval, ΔE00. Where all are equal, others are taken to be
/// [`WORST_REGRET_DE00`] at worst, or as bad as these. `None` for fewer than 2.
#[must_use]
pub fn regret_interval(regrets: &[f64]) -> Option<(f64, f64, f64)> {
    let worst = regrets.iter().copied().fold(WORST_REGRET_DE00, f64::max);
    let most = if are_alike(regrets) { worst } else { f64::INFINITY };
    mean_interval(regrets, (0.0, most))
}

/// Means of equal numbers differ from them by rounding alone.
fn are_alike(values: &[f64]) -> bool {
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    most - least <= 1e-12 * most.abs().max(1.0)
}

/// Mean of values with its 95 % interval within what values can be, `possible`. `None` for fewer
/// than 2 values, and for equal values where nothing says how far off others could be.
///
/// Student's t takes the spread from the values. Where all are equal it would say that the mean is
/// known without error, after ten answers as after a thousand. So the interval of Clopper and
/// Pearson takes its place: of `n` values that were all alike, a share of at least `0.025^(1/n)`
/// of all there are is alike (n of n in their formula), and the rest lies somewhere in `possible`.
///
/// # References
/// Clopper & Pearson, Biometrika 1934;26:404-413.
#[must_use]
pub fn mean_interval(values: &[f64], possible: (f64, f64)) -> Option<(f64, f64, f64)> {
    let (mean, sd) = mean_sd(values)?;
    let n = values.len() as f64;
    let (low, high) = possible;
    if are_alike(values) {
        let unlike = 1.0 - TAIL.powf(n.recip());
        let ends = (mean - unlike * (mean - low), mean + unlike * (high - mean));
        return (ends.0.is_finite() && ends.1.is_finite()).then_some((mean, ends.0, ends.1));
    }
    let t = StudentsT::new(0.0, 1.0, n - 1.0).ok()?.inverse_cdf(1.0 - TAIL);
    let half = t * sd / n.sqrt();
    Some((mean, (mean - half).max(low), (mean + half).min(high)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_values_leave_an_interval() {
        // 10 of 10: 69.15 to 100 %, Clopper and Pearson; 0.025^(1/10) = 0.69150, and so in any table
        // of exact binomial limits.
        let (mean, low, high) = mean_interval(&[100.0; 10], (0.0, 100.0)).unwrap();
        assert!((low - 69.15).abs() < 0.005, "{low}");
        assert!((mean - 100.0).abs() < 1e-12 && (high - 100.0).abs() < 1e-12);
        // 0 of 20: 0 to 16.84 %. Newcombe, Stat Med 1998;17:857-872, table I, method 5.
        let (_, low, high) = mean_interval(&[0.0; 20], (0.0, 1.0)).unwrap();
        assert!(low.abs() < 1e-12 && (high - 0.1684).abs() < 5e-5, "{high}");
        // In between both ends are open.
        let (_, low, high) = mean_interval(&[0.3; 10], (0.0, 1.0)).unwrap();
        assert!(low < 0.25 && high > 0.4, "{low} {high}");
        // A hundred that are alike say more than ten.
        let narrow = mean_interval(&[100.0; 100], (0.0, 100.0)).unwrap();
        assert!(narrow.1 > 95.0 && narrow.1 < 100.0, "{narrow:?}");
        assert_eq!(
            mean_interval(&[1.0; 10], (0.0, f64::INFINITY)),
            None,
            "nothing bounds the rest"
        );
        assert_eq!(mean_interval(&[1.0], (0.0, 1.0)), None);
        // Ten choices that were the best there was: up to 2.2 × (1 - 0.69150) = 0.68.
        let (mean, low, high) = regret_interval(&[0.0; 10]).unwrap();
        assert!(mean.abs() + low.abs() < 1e-12 && (high - 0.6787).abs() < 1e-4, "{high}");
        let (_, low, high) = regret_interval(&[3.0; 10]).unwrap();
        assert!(low < 2.5 && (high - 3.0).abs() < 1e-12, "{low} {high}");
    }

    #[test]
    fn other_values_have_the_t_interval() {
        // Worked by hand: 1, 2, 3: mean 2, standard deviation 1, t(0.975; 2) = 4.3027 (Student's t
        // tables), half 2.4842; cut at what values can be.
        let (mean, low, high) = mean_interval(&[1.0, 2.0, 3.0], (0.0, 10.0)).unwrap();
        assert!((mean - 2.0).abs() < 1e-12 && low.abs() < 1e-12);
        assert!((high - 4.4842).abs() < 1e-4, "{high}");
    }
}
