//! How soon a restoration is found: "visible until you press", analysed as hazard.
//!
//! The chance of finding it in each quarter of a second, given that it was not found before, is
//! `logit h(t) = a₀ + a₁ ln t + a₂ ln x` with `t` the middle of the bin in seconds and `x` the
//! difference in ΔE00. Pressing and then naming a wrong tooth is never having found it; running
//! out of time is not having found it yet. Reported is `F(t | x)`, the share found by a time.
//!
//! # References
//! Singer & Willett, J Educ Stat 1993;18:155-195 (discrete-time hazard by logistic regression;
//! from memory).

use crate::psychophysics::Proportion;
use nalgebra::{Matrix3, Vector3};

/// Width of a bin, s.
const BIN_S: f64 = 0.25;
/// Standard deviation of the weak prior on each coefficient, which keeps a session in which
/// everything or nothing was found from running away. Design choice.
const PRIOR_SD: f64 = 5.0;
const Z95: f64 = 1.959_964;

/// One signal trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Difference to the twin, ΔE00 above 0.
    pub de00: f64,
    /// When the learner pressed and then named the right tooth, s from picture onset; `None` where
    /// that did not happen before [`cap_s`](Self::cap_s).
    pub found_s: Option<f64>,
    /// How long the picture would have stayed, s.
    pub cap_s: f64,
}

/// A figure with its 95 % interval: estimate, low, high.
pub type Bounds = (f64, f64, f64);

/// The fitted hazard.
#[derive(Debug, Clone, PartialEq)]
pub struct SearchTimes {
    coefficients: Vector3<f64>,
    covariance: Matrix3<f64>,
    /// Signal trials found, of all.
    pub found: Proportion,
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn features(bin: usize, de00: f64) -> Vector3<f64> {
    Vector3::new(1.0, ((bin as f64 + 0.5) * BIN_S).ln(), de00.ln())
}

impl SearchTimes {
    /// Fits the hazard to signal trials by Newton's method. `None` without trials.
    #[must_use]
    pub fn fit(searches: &[Search]) -> Option<Self> {
        if searches.is_empty() || !searches.iter().all(|s| s.de00 > 0.0 && s.cap_s > 0.0) {
            return None;
        }
        let mut beta = Vector3::new(-2.0, 0.0, 0.0);
        let precision = Matrix3::identity() / (PRIOR_SD * PRIOR_SD);
        let mut information = precision;
        for _ in 0..50 {
            let mut gradient = -precision * beta;
            information = precision;
            for search in searches {
                let end_s = search.found_s.map_or(search.cap_s, |t| t.min(search.cap_s));
                let bins = ((end_s / BIN_S).ceil() as usize).max(1);
                for bin in 0..bins {
                    let x = features(bin, search.de00);
                    let hazard = logistic(beta.dot(&x));
                    let event = search.found_s.is_some() && bin + 1 == bins;
                    gradient += x * (f64::from(u8::from(event)) - hazard);
                    information += x * x.transpose() * (hazard * (1.0 - hazard));
                }
            }
            let step = information.cholesky()?.solve(&gradient);
            beta += step;
            if step.amax() < 1e-10 {
                break;
            }
        }
        let found = Proportion {
            successes: searches.iter().filter(|s| s.found_s.is_some()).count() as u32,
            total: searches.len() as u32,
        };
        Some(Self { coefficients: beta, covariance: information.try_inverse()?, found })
    }

    fn share(coefficients: &Vector3<f64>, by_s: f64, de00: f64) -> f64 {
        let bins = (by_s / BIN_S).round() as usize;
        let missed: f64 =
            (0..bins).map(|bin| 1.0 - logistic(coefficients.dot(&features(bin, de00)))).product();
        1.0 - missed
    }

    /// Share of restorations of `de00` found by `by_s` seconds (rounded to a quarter), with its
    /// 95 % interval, to first order on the logit scale.
    #[must_use]
    pub fn found_by(&self, by_s: f64, de00: f64) -> Bounds {
        let logit = |coefficients: &Vector3<f64>| {
            let share = Self::share(coefficients, by_s, de00).clamp(1e-9, 1.0 - 1e-9);
            (share / (1.0 - share)).ln()
        };
        let here = logit(&self.coefficients);
        let slopes = Vector3::from_fn(|i, _| {
            let mut moved = self.coefficients;
            moved[i] += 1e-5;
            (logit(&moved) - here) / 1e-5
        });
        let half = Z95 * slopes.dot(&(self.covariance * slopes)).max(0.0).sqrt();
        (logistic(here), logistic(here - half), logistic(here + half))
    }

    /// The time by which half are found, s, to a quarter; `None` beyond `cap_s`.
    #[must_use]
    pub fn median_s(&self, de00: f64, cap_s: f64) -> Option<f64> {
        (1..=(cap_s / BIN_S).round() as usize)
            .map(|bins| bins as f64 * BIN_S)
            .find(|t| Self::share(&self.coefficients, *t, de00) >= 0.5)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, StreamKey};
    use rand::RngExt;

    /// Searches drawn from a hazard with these coefficients, with sizes as a session has them.
    fn simulated(truth: Vector3<f64>, trials: usize, seed: u64) -> Vec<Search> {
        let key = StreamKey { form: "find", seed, purpose: Purpose::Observer, block: 0, trial: 0 };
        let mut rng = key.stream();
        (0..trials)
            .map(|i| {
                let de00 = [0.8, 1.3, 1.8, 3.0][i % 4];
                let found = (0..32)
                    .find(|bin| rng.random::<f64>() < logistic(truth.dot(&features(*bin, de00))));
                let found_s = found.map(|bin| (f64::from(bin as u32) + 0.5) * BIN_S);
                Search { de00, found_s, cap_s: 8.0 }
            })
            .collect()
    }

    #[test]
    fn a_simulated_searcher_is_recovered_and_intervals_cover() {
        let truth = Vector3::new(-2.6, 0.4, 1.2);
        let expected = SearchTimes::share(&truth, 2.5, 1.8);
        let many = SearchTimes::fit(&simulated(truth, 8000, 1)).unwrap();
        let (found, low, high) = many.found_by(2.5, 1.8);
        // Own simulation: three standard errors at 8000 searches are about 0.03.
        assert!((found - expected).abs() < 0.03, "{found} {expected}");
        assert!(low < found && found < high && high - low < 0.06);
        let covered = (0..200)
            .filter(|seed| {
                let fit = SearchTimes::fit(&simulated(truth, 48, 100 + seed)).unwrap();
                let (_, low, high) = fit.found_by(2.5, 1.8);
                (low..=high).contains(&expected)
            })
            .count();
        println!("{covered} of 200 intervals cover");
        // 95 % of 200, give or take three binomial standard deviations.
        assert!((181..=199).contains(&covered), "{covered}");
    }

    #[test]
    fn nothing_found_and_everything_found_stay_finite() {
        let search = |found_s| Search { de00: 1.8, found_s, cap_s: 8.0 };
        let none = SearchTimes::fit(&[search(None); 20]).unwrap();
        let (share, low, high) = none.found_by(2.5, 1.8);
        assert!(share < 0.02 && low < share && share < high && high < 1.0, "{share} {low} {high}");
        assert_eq!(none.median_s(1.8, 8.0), None);
        let all = SearchTimes::fit(&[search(Some(0.6)); 20]).unwrap();
        assert!(all.found_by(2.5, 1.8).0 > 0.9);
        assert_eq!(SearchTimes::fit(&[]), None);
    }
}
