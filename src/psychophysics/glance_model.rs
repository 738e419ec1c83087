//! The full observer of the Glance task: "which tooth, if any?"
//!
//! ```text
//! s_i = κ u_i + [i = r] x sgn                    signed evidence in value, ΔE00
//! μ_i = 2 g_i h(T) (|s_i| / τ)^β                 d′ is 2 at threshold
//! g_i = exp(−η (e_i − mean e)),  e_i steps from the midline
//! E_i = μ_i + b side_i + N(0, 1),  side −1 on the viewer's left, +1 on the right
//! answer = argmax E_i if that exceeds c, else none
//! Q′_i = (1 − ρ) Q_i + ρ/2 (Q_{i−1} + Q_{i+1})   slip to a neighbour; ends keep the lost half
//! P(y) = (1 − λ) Q′_y + λ/(n + 1)
//! ```
//!
//! Natural variation `u` is variation in value. On a chroma or hue axis it is therefore not added
//! to the difference but combined with it at a right angle, each divided by its own threshold. A
//! natural tooth is seen through the value threshold of its sign, or what comes nearest among the
//! axes asked.
//!
//! # References
//! Sridharan, Steinmetz, Moore, Knudsen. J Vis 2014;14(9):16 (several alternatives, sensitivity
//! apart from bias). Solomon & Morgan, J Vis 2001;1(1):2 (errors fall on neighbours in brief
//! exposures).

use crate::psychophysics::choice::ChoiceRule;
use crate::psychophysics::{Axis, Direction};
use crate::scene::Tooth;

/// d′ at threshold.
pub const D_PRIME_AT_THRESHOLD: f64 = 2.0;
/// Share of choices that slip to a neighbour, `ρ`. Fixed: it cannot be fitted from exposures of
/// 2 s and longer. Design choice.
pub const SLIP: f64 = 0.03;
/// Time constant of integration `T0`, s. Fixed until sessions hold several exposures. Design
/// choice.
const INTEGRATION_S: f64 = 0.7;
/// Exposure at which thresholds are stated, s.
const STATED_EXPOSURE_S: f64 = 2.5;
/// Evidence below this share of a threshold fades to nothing. The power law alone has a cusp at 0
/// that leaves the fit without slopes; half a hundredth of a threshold is beyond any eye.
pub(crate) const INVISIBLE: f64 = 0.005;

/// Gain of an exposure of `exposure_s` seconds, `h(T)`; 1 at 2.5 s.
#[must_use]
pub fn exposure_gain(exposure_s: f64) -> f64 {
    let filled = |t: f64| 1.0 - (-t / INTEGRATION_S).exp();
    (filled(exposure_s) / filled(STATED_EXPOSURE_S)).sqrt()
}

/// The parameters of an observer.
#[derive(Debug, Clone, PartialEq)]
pub struct GlanceParameters {
    /// Threshold `τ` of every axis asked, ΔE00 above 0.
    pub thresholds_de00: Vec<(Axis, f64)>,
    /// Transducer exponent `β`.
    pub exponent: f64,
    /// Criterion `c` per tooth.
    pub criterion: f64,
    /// Lapse rate `λ`, 0..1.
    pub lapse: f64,
    /// Confusion of natural variation with a restoration, `κ`, 0..1.
    pub confusion: f64,
    /// Loss of gain per tooth from the midline, `η`.
    pub eccentricity_loss: f64,
    /// Side bias `b`.
    pub side_bias: f64,
}

impl GlanceParameters {
    /// The same threshold on every axis, ΔE00, and a criterion; no lapses, no biases, natural
    /// variation known.
    #[must_use]
    pub fn even(threshold_de00: f64, criterion: f64) -> Self {
        Self {
            thresholds_de00: Axis::ALL.map(|axis| (axis, threshold_de00)).to_vec(),
            exponent: 1.0,
            criterion,
            lapse: 0.0,
            confusion: 0.0,
            eccentricity_loss: 0.0,
            side_bias: 0.0,
        }
    }
}

/// One trial as the model sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelTrial {
    /// Index of the restored tooth, direction and achieved difference; `None` on catch trials.
    pub signal: Option<(usize, Direction, f64)>,
    /// Natural residuals in value, ΔE00, one per tooth.
    pub residuals_de00: Vec<f64>,
    /// Exposure, s.
    pub exposure_s: f64,
    /// 0 for "none", `i + 1` for the tooth of index `i`.
    pub answer: usize,
}

/// Where the parameters of the model lie in a list: thresholds first, then these.
pub(crate) mod place {
    pub(crate) const EXPONENT: usize = 0;
    pub(crate) const CRITERION: usize = 1;
    pub(crate) const LAPSE: usize = 2;
    pub(crate) const CONFUSION: usize = 3;
    pub(crate) const ECCENTRICITY: usize = 4;
    pub(crate) const SIDE: usize = 5;
    pub(crate) const COUNT: usize = 6;
}

/// The observer model over one set of teeth and axes.
#[derive(Debug, Clone, PartialEq)]
pub struct GlanceModel {
    axes: Vec<Axis>,
    /// −1 left, +1 right, per tooth.
    side: Vec<f64>,
    /// Steps from the midline less their mean, per tooth.
    eccentricity: Vec<f64>,
    rule: ChoiceRule,
    /// Whether the one axis there is stands for all.
    shared: bool,
}

/// Outcome probabilities of one trial and their slopes by the natural parameters `(ln τ …, ln β,
/// c, λ, κ, η, b)`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Response {
    pub(crate) probability: Vec<f64>,
    /// `[outcome × parameters + parameter]`; empty unless asked for.
    pub(crate) slopes: Vec<f64>,
}

impl GlanceModel {
    /// The model over `teeth` in the viewer's order and `axes`. The midline lies between the
    /// quadrants.
    #[must_use]
    pub fn new(teeth: &[Tooth], axes: &[Axis]) -> Self {
        let steps: Vec<f64> = teeth.iter().map(|t| f64::from(t.position())).collect();
        let mean = steps.iter().sum::<f64>() / steps.len().max(1) as f64;
        Self {
            axes: axes.to_vec(),
            side: teeth.iter().map(|t| if t.is_patients_right() { -1.0 } else { 1.0 }).collect(),
            eccentricity: steps.iter().map(|e| e - mean).collect(),
            rule: ChoiceRule::new(),
            shared: false,
        }
    }

    /// The model with one threshold for every direction, which goes by the name of
    /// [`Axis::Darker`].
    #[must_use]
    pub fn one_threshold(teeth: &[Tooth]) -> Self {
        Self { shared: true, ..Self::new(teeth, &[Axis::Darker]) }
    }

    /// Fisher information of a trial about a change of all thresholds together, per unit of `ln τ`
    /// squared, from every possible answer.
    #[must_use]
    pub fn information(&self, parameters: &GlanceParameters, trial: &ModelTrial) -> f64 {
        let response = self.respond(&self.natural(parameters), trial, true);
        let (count, axes) = (self.parameters(), self.axes.len());
        let slope = |y: usize| response.slopes[y * count..y * count + axes].iter().sum::<f64>();
        let answers = response.probability.iter().enumerate();
        answers.map(|(y, p)| slope(y).powi(2) / p.max(1e-300)).sum()
    }

    /// Number of teeth.
    #[must_use]
    pub const fn teeth(&self) -> usize {
        self.side.len()
    }

    /// The axes.
    #[must_use]
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// −1 left, +1 right, per tooth.
    pub(crate) fn side(&self) -> &[f64] {
        &self.side
    }

    /// Steps from the midline less their mean, per tooth.
    pub(crate) fn eccentricity(&self) -> &[f64] {
        &self.eccentricity
    }

    /// Number of natural parameters.
    pub(crate) const fn parameters(&self) -> usize {
        self.axes.len() + place::COUNT
    }

    /// The axis through whose threshold a natural residual of this sign is seen.
    pub(crate) fn value_axis(&self, negative: bool) -> usize {
        let (own, other) =
            if negative { (Axis::Darker, Axis::Lighter) } else { (Axis::Lighter, Axis::Darker) };
        let find = |axis: Axis| self.axes.iter().position(|a| *a == axis);
        find(own).or_else(|| find(other)).unwrap_or(0)
    }

    /// Probability of "none" and of naming each tooth.
    #[must_use]
    pub fn probabilities(&self, parameters: &GlanceParameters, trial: &ModelTrial) -> Vec<f64> {
        self.respond(&self.natural(parameters), trial, false).probability
    }

    /// Mean evidence of every tooth, side bias included: what a simulated observer adds noise to.
    #[must_use]
    pub fn means(&self, parameters: &GlanceParameters, trial: &ModelTrial) -> Vec<f64> {
        let natural = self.natural(parameters);
        (0..self.teeth()).map(|i| self.mean(&natural, trial, i, &mut [])).collect()
    }

    /// Natural parameters in the order of the slopes. An axis without a threshold gets one that
    /// nothing reaches.
    pub(crate) fn natural(&self, p: &GlanceParameters) -> Vec<f64> {
        let threshold = |axis: &Axis| {
            let found = p.thresholds_de00.iter().find(|(a, _)| a == axis);
            found.map_or(20.0, |(_, t)| t.ln())
        };
        let mut natural: Vec<f64> = self.axes.iter().map(threshold).collect();
        natural.extend([
            p.exponent.ln(),
            p.criterion,
            p.lapse,
            p.confusion,
            p.eccentricity_loss,
            p.side_bias,
        ]);
        natural
    }

    /// Mean evidence of one tooth; adds its slopes to `slopes` unless that is empty.
    fn mean(&self, natural: &[f64], trial: &ModelTrial, i: usize, slopes: &mut [f64]) -> f64 {
        let axes = self.axes.len();
        let (exponent, rest) = (natural[axes].exp(), &natural[axes..]);
        let residual = trial.residuals_de00.get(i).copied().unwrap_or(0.0);
        let mut value = rest[place::CONFUSION] * residual;
        let mut across = None;
        if let Some((restored, direction, x)) = trial.signal
            && restored == i
        {
            match direction {
                Direction::Darker | Direction::Lighter => value += direction.sign() * x,
                _ if self.shared => across = Some((0, x)),
                _ => across = self.axes.iter().position(|a| *a == direction.axis()).map(|a| (a, x)),
            }
        }
        let by_value = self.value_axis(value < 0.0);
        let along = value / natural[by_value].exp();
        let (by_across, beside) =
            across.map_or((0, 0.0), |(axis, x)| (axis, x / natural[axis].exp()));
        let square = along * along + beside * beside;
        let side = self.side[i];
        let gain = D_PRIME_AT_THRESHOLD
            * exposure_gain(trial.exposure_s)
            * (-rest[place::ECCENTRICITY] * self.eccentricity[i]).exp();
        let seen = square / (square + INVISIBLE * INVISIBLE);
        let evidence = if square > 1e-24 { gain * square.powf(0.5 * exponent) * seen } else { 0.0 };
        if !slopes.is_empty() {
            slopes[axes + place::SIDE] += side;
            if evidence > 0.0 {
                let relative = evidence * (exponent + 2.0 * (1.0 - seen)) / square;
                slopes[by_value] -= relative * along * along;
                slopes[by_across] -= relative * beside * beside;
                slopes[axes + place::EXPONENT] += evidence * exponent * 0.5 * square.ln();
                slopes[axes + place::CONFUSION] +=
                    relative * along * residual / natural[by_value].exp();
                slopes[axes + place::ECCENTRICITY] -= evidence * self.eccentricity[i];
            }
        }
        evidence + rest[place::SIDE] * side
    }

    /// Outcome probabilities at natural parameters, with slopes if asked.
    pub(crate) fn respond(&self, natural: &[f64], trial: &ModelTrial, slopes: bool) -> Response {
        let (n, axes, count) = (self.teeth(), self.axes.len(), self.parameters());
        let mut means = vec![0.0; n];
        let mut mean_slopes = vec![0.0; if slopes { n * count } else { 0 }];
        for i in 0..n {
            let own = if slopes { &mut mean_slopes[i * count..(i + 1) * count] } else { &mut [] };
            means[i] = self.mean(natural, trial, i, own);
        }
        let (criterion, lapse) = (natural[axes + place::CRITERION], natural[axes + place::LAPSE]);
        let choice = if slopes {
            self.rule.with_quick_slopes(&means, criterion)
        } else {
            self.rule.probabilities(&means, criterion)
        };
        let slipped = slip(&choice.probability, 1);
        let guess = 1.0 / (n as f64 + 1.0);
        let probability: Vec<f64> =
            slipped.iter().map(|q| (1.0 - lapse) * q + lapse * guess).collect();
        if !slopes {
            return Response { probability, slopes: Vec::new() };
        }
        let mut unslipped = vec![0.0; (n + 1) * count];
        for y in 0..=n {
            let row = &mut unslipped[y * count..(y + 1) * count];
            for k in 0..n {
                let by_mean = choice.by_mean[y * n + k];
                for (sum, slope) in row.iter_mut().zip(&mean_slopes[k * count..(k + 1) * count]) {
                    *sum += by_mean * slope;
                }
            }
            row[axes + place::CRITERION] += choice.by_criterion[y];
        }
        let mut by_parameter = slip(&unslipped, count);
        for y in 0..=n {
            let row = &mut by_parameter[y * count..(y + 1) * count];
            row.iter_mut().for_each(|slope| *slope *= 1.0 - lapse);
            row[axes + place::LAPSE] = guess - slipped[y];
        }
        Response { probability, slopes: by_parameter }
    }
}

/// Lets a share of every tooth's row go to its neighbours. Rows of `width`, "none" first.
fn slip(rows: &[f64], width: usize) -> Vec<f64> {
    let n = rows.len() / width - 1;
    let mut out = rows.to_vec();
    for i in 1..=n {
        let left = if i > 1 { i - 1 } else { i };
        let right = if i < n { i + 1 } else { i };
        for k in 0..width {
            out[i * width + k] = (1.0 - SLIP) * rows[i * width + k]
                + 0.5 * SLIP * (rows[left * width + k] + rows[right * width + k]);
        }
    }
    out
}
