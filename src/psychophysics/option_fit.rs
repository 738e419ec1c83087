//! What somebody's picks among options say about how they choose.

use super::option_choice::{Chooser, LEAST_DISTANCE, OptionChoice, SeenOption};
use crate::psychophysics::draws::{Distribution, WeightedDraws};
use crate::psychophysics::instrument::Interval;
use crate::psychophysics::posterior::LEAST;
use crate::psychophysics::scoring::{Local, Maximum, maximise};
use nalgebra::{DMatrix, DVector};

const Z95: f64 = 1.959_964;
/// Where the posterior could not be drawn, intervals of the normal approximation are widened by this
/// much: at 40 to 60 choices they are a little too narrow (tests/gates).
const WIDER: f64 = 1.1;

/// Largest lapse rate the fit allows.
const LARGEST_LAPSE: f64 = 0.15;
/// Prior means and standard deviations of ln σ, ln w, L₀ and the lapse rate on its logistic scale.
/// Design choices; the lapse rate's median is 0.027.
pub(super) const PRIOR: [(f64, f64); 4] =
    [(-std::f64::consts::LN_2, 0.9), (0.0, 0.5), (0.0, 1.5), (-1.5, 1.0)];

/// A chooser fitted to answers: medians of the posterior with its middle 95 %.
///
/// The posterior is drawn from with weights, from about its maximum: noise has a long tail upwards
/// and the preferred value may have two tops, which a normal distribution about the maximum misses.
/// Where the draws are worth too few, that normal distribution is stated, a little widened.
#[derive(Debug, Clone, PartialEq)]
pub struct OptionChoiceFit {
    /// The estimates.
    pub chooser: Chooser,
    /// Noise of a decision σ, ΔE00.
    pub noise_de00: Interval,
    /// Weight of value w.
    pub value_weight: Interval,
    /// Preferred departure in value L₀, ΔL00.
    pub value_bias: Interval,
    /// Answers used.
    pub choices: usize,
    /// Whether the fit settled.
    pub converged: bool,
    /// Number of equally weighted draws that would say as much; 0 where the normal approximation is
    /// stated.
    pub effective_draws: f64,
    /// Standard deviations of ln σ, ln w and L₀.
    errors: [f64; 3],
}

fn chooser_at(at: &DVector<f64>) -> Chooser {
    Chooser {
        noise_de00: at[0].exp(),
        value_weight: at[1].exp(),
        value_bias: at[2],
        lapse: LARGEST_LAPSE / (1.0 + (-at[3]).exp()),
    }
}

/// Slopes of the probability of every option in the four parameters.
fn probability_slopes(chooser: &Chooser, options: &[SeenOption]) -> (Vec<f64>, Vec<[f64; 4]>) {
    let Chooser { noise_de00: noise, value_weight: w, value_bias: bias, lapse } = *chooser;
    let distances: Vec<f64> =
        options.iter().map(|o| o.distance(w, bias).max(LEAST_DISTANCE)).collect();
    let sure = Chooser { lapse: 0.0, ..*chooser }.probabilities(options);
    // Slopes of −Δ/σ: in ln σ, ln w and L₀.
    let exponents: Vec<[f64; 3]> = options
        .iter()
        .zip(&distances)
        .map(|(option, distance)| {
            let off = option.value - bias;
            let weighted = w * w * off / distance / noise;
            [distance / noise, -weighted * off, weighted]
        })
        .collect();
    let mean: [f64; 3] = std::array::from_fn(|i| {
        sure.iter().zip(&exponents).map(|(p, exponent)| p * exponent[i]).sum()
    });
    let each = 1.0 / options.len() as f64;
    let lapse_slope = lapse * (1.0 - lapse / LARGEST_LAPSE);
    let slopes = sure
        .iter()
        .zip(&exponents)
        .map(|(p, exponent)| {
            let of = |i: usize| (1.0 - lapse) * p * (exponent[i] - mean[i]);
            [of(0), of(1), of(2), lapse_slope * (each - p)]
        })
        .collect();
    let probabilities = sure.iter().map(|p| (1.0 - lapse) * p + lapse * each).collect();
    (probabilities, slopes)
}

/// Log posterior with its slope and the expected information.
pub(super) fn local(choices: &[OptionChoice], at: &DVector<f64>) -> Option<Local> {
    // Far out there is nothing to be learned and exponentials overflow.
    if at.iter().any(|x| !(x.abs() < 20.0)) {
        return None;
    }
    let chooser = chooser_at(at);
    let mut value = 0.0;
    let mut slope = DVector::zeros(4);
    let mut information = DMatrix::zeros(4, 4);
    for (i, (mean, sd)) in PRIOR.into_iter().enumerate() {
        let off = (at[i] - mean) / sd;
        value -= 0.5 * off * off;
        slope[i] -= off / sd;
        information[(i, i)] += 1.0 / (sd * sd);
    }
    for choice in choices {
        let (probabilities, slopes) = probability_slopes(&chooser, &choice.options);
        value += probabilities[choice.chosen].ln();
        for (k, (p, d)) in probabilities.iter().zip(&slopes).enumerate() {
            let d = DVector::from_row_slice(d);
            if k == choice.chosen {
                slope += &d / *p;
            }
            information += &d * d.transpose() / *p;
        }
    }
    value.is_finite().then_some(Local { value, slope, information })
}

/// Log posterior alone, up to a constant: the value of [`local`].
pub(super) fn ln_posterior(choices: &[OptionChoice], at: &DVector<f64>) -> f64 {
    let chooser = chooser_at(at);
    let prior = |(x, (mean, sd)): (&f64, (f64, f64))| -0.5 * ((x - mean) / sd).powi(2);
    let mut ln: f64 = at.iter().zip(PRIOR).map(prior).sum();
    let mut out = Vec::new();
    for choice in choices {
        out.resize(choice.options.len(), 0.0);
        chooser.fill_probabilities(&choice.options, &mut out);
        ln += out[choice.chosen].ln();
    }
    if ln.is_finite() { ln } else { f64::NEG_INFINITY }
}

impl OptionChoiceFit {
    /// Fits a chooser to answers. `None` without answers, or where one of them has fewer than two
    /// options, names none of its own, or has a difference that is no number.
    #[must_use]
    pub fn new(choices: &[OptionChoice]) -> Option<Self> {
        let usable = |choice: &OptionChoice| {
            choice.options.len() >= 2
                && choice.chosen < choice.options.len()
                && choice.options.iter().all(|o| o.value.is_finite() && o.rest.is_finite())
        };
        if choices.is_empty() || !choices.iter().all(usable) {
            return None;
        }
        // The posterior may have more than one top where little was answered: start on both sides.
        let best = [-0.8, 0.0, 0.8]
            .into_iter()
            .filter_map(|bias| {
                let start = DVector::from_vec(vec![PRIOR[0].0, 0.0, bias, PRIOR[3].0]);
                maximise(start, 1e-10, |at| local(choices, at))
            })
            .max_by(|a, b| a.value.total_cmp(&b.value))?;
        Some(Self::about(&best, choices))
    }

    fn about(maximum: &Maximum, choices: &[OptionChoice]) -> Self {
        // A few answers leave a foot as wide as the prior beside the top: draw from about both.
        let prior = (
            DVector::from_iterator(4, PRIOR.map(|(mean, _)| mean)),
            DMatrix::from_diagonal(&DVector::from_iterator(4, PRIOR.map(|(_, sd)| sd * sd))),
        );
        let places = [(&maximum.at, &maximum.covariance), (&prior.0, &prior.1)];
        let drawn = WeightedDraws::from_about(&places, |at| ln_posterior(choices, at));
        let effective_draws = if drawn.effective < LEAST { 0.0 } else { drawn.effective };
        let of = |i: usize| -> Distribution { drawn.of(|at| at[i]) };
        let sd = |i: usize| maximum.covariance[(i, i)].max(0.0).sqrt();
        let (intervals, errors) = if effective_draws > 0.0 {
            let stated = |i: usize| {
                let found = of(i);
                let low_high = (found.quantile(0.025), found.quantile(0.975));
                Interval { value: found.quantile(0.5), low: low_high.0, high: low_high.1 }
            };
            ([0, 1, 2, 3].map(stated), [0, 1, 2].map(|i| of(i).sd()))
        } else {
            let stated = |i: usize| {
                let (value, half) = (maximum.at[i], WIDER * Z95 * sd(i));
                Interval { value, low: value - half, high: value + half }
            };
            ([0, 1, 2, 3].map(stated), [0, 1, 2].map(sd))
        };
        Self {
            chooser: chooser_at(&DVector::from_iterator(4, intervals.iter().map(|i| i.value))),
            noise_de00: intervals[0].map(f64::exp),
            value_weight: intervals[1].map(f64::exp),
            value_bias: intervals[2],
            choices: choices.len(),
            converged: maximum.converged,
            effective_draws,
            errors,
        }
    }

    /// Standard deviations of ln σ, ln w and L₀ in the posterior.
    #[must_use]
    pub const fn standard_errors(&self) -> [f64; 3] {
        self.errors
    }

    /// Expected regret over questions like these: by how much the option picked would lie further
    /// from its twin than the nearest, on average, ΔE00.
    #[must_use]
    pub fn expected_regret_de00(&self, questions: &[OptionChoice]) -> Option<f64> {
        let of = |choice: &OptionChoice| {
            let de00 = |option: &SeenOption| option.distance(1.0, 0.0);
            let least = choice.options.iter().map(de00).fold(f64::INFINITY, f64::min);
            let p = self.chooser.probabilities(&choice.options);
            p.iter().zip(&choice.options).map(|(p, o)| p * (de00(o) - least)).sum::<f64>()
        };
        (!questions.is_empty())
            .then(|| questions.iter().map(of).sum::<f64>() / questions.len() as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn options() -> Vec<SeenOption> {
        [(0.2, 0.5), (-1.4, 0.4), (1.4, 0.4), (0.3, 2.0), (-2.5, 0.2)]
            .map(|(value, rest)| SeenOption { value, rest })
            .to_vec()
    }

    #[test]
    fn slopes_are_those_of_the_posterior() {
        let choices: Vec<OptionChoice> =
            (0..4).map(|chosen| OptionChoice { options: options(), chosen }).collect();
        let at = DVector::from_vec(vec![-0.4, 0.2, 0.3, -1.0]);
        let here = local(&choices, &at).unwrap();
        assert!((here.value - ln_posterior(&choices, &at)).abs() < 1e-12);
        for i in 0..4 {
            let value = |h: f64| {
                let mut moved = at.clone();
                moved[i] += h;
                local(&choices, &moved).unwrap().value
            };
            let slope = (value(1e-5) - value(-1e-5)) / 2e-5;
            assert!((here.slope[i] - slope).abs() < 1e-7, "{i}: {} {slope}", here.slope[i]);
        }
    }

    /// Against the sum of the posterior over a grid of its four parameters.
    #[test]
    fn intervals_are_those_of_the_posterior() {
        let choices: Vec<OptionChoice> = [0, 2, 2, 0, 2, 3, 0, 2]
            .map(|chosen| OptionChoice { options: options(), chosen })
            .to_vec();
        let fit = OptionChoiceFit::new(&choices).unwrap();
        let steps = |(mean, sd): (f64, f64), count: i32| -> Vec<f64> {
            (-count..=count).map(|i| mean + 3.5 * sd * f64::from(i) / f64::from(count)).collect()
        };
        let axes =
            [steps(PRIOR[0], 20), steps(PRIOR[1], 8), steps(PRIOR[2], 40), steps(PRIOR[3], 4)];
        let mut sums = axes.clone().map(|axis| vec![0.0; axis.len()]);
        for (a, noise) in axes[0].iter().enumerate() {
            for weight in &axes[1] {
                for (c, bias) in axes[2].iter().enumerate() {
                    for lapse in &axes[3] {
                        let at = DVector::from_vec(vec![*noise, *weight, *bias, *lapse]);
                        let p = ln_posterior(&choices, &at).exp();
                        sums[0][a] += p;
                        sums[2][c] += p;
                    }
                }
            }
        }
        for (place, low, high) in [
            (0, fit.noise_de00.low.ln(), fit.noise_de00.high.ln()),
            (2, fit.value_bias.low, fit.value_bias.high),
        ] {
            let total: f64 = sums[place].iter().sum();
            let step = axes[place][1] - axes[place][0];
            // A point of the grid stands for half a step either way.
            let below = |x: f64| -> f64 {
                let part = |(at, p): (&f64, &f64)| p * ((x - at) / step + 0.5).clamp(0.0, 1.0);
                axes[place].iter().zip(&sums[place]).map(part).sum::<f64>() / total
            };
            println!("{place}: {low:.3} {:.4}, {high:.3} {:.4}", below(low), below(high));
            // Four standard errors of a share of 0.025 by 300 draws or more: 0.036.
            assert!((below(low) - 0.025).abs() < 0.036, "{place}: {low} {}", below(low));
            assert!((below(high) - 0.975).abs() < 0.036, "{place}: {high} {}", below(high));
        }
        assert!(fit.effective_draws > 300.0, "{}", fit.effective_draws);
    }

    #[test]
    fn nothing_to_fit_is_no_fit() {
        assert_eq!(OptionChoiceFit::new(&[]), None);
        let off = |options: Vec<SeenOption>, chosen| [OptionChoice { options, chosen }];
        assert_eq!(OptionChoiceFit::new(&off(options(), 5)), None);
        assert_eq!(OptionChoiceFit::new(&off(options()[..1].to_vec(), 0)), None);
        let mut broken = options();
        broken[2].rest = f64::NAN;
        assert_eq!(OptionChoiceFit::new(&off(broken, 0)), None);
        // Always the same pick: finite, and wide.
        let same = vec![OptionChoice { options: options(), chosen: 0 }; 3];
        let fit = OptionChoiceFit::new(&same).unwrap();
        assert!(fit.value_bias.low < -0.5 && fit.value_bias.high > 0.5, "{fit:?}");
    }
}
