//! QUEST+: the stimulus that leaves the least expected uncertainty, and what an answer teaches.
//!
//! Entropies are in nats on the joint grid of parameters. [`QuestPlus`] holds any small grid;
//! [`SharedPosterior`](super::SharedPosterior) holds several thresholds that share the rest.
//!
//! # References
//! Watson, QUEST+: a general multidimensional Bayesian adaptive psychometric method. J Vis
//! 2017;17(3):10.

use thiserror::Error;

/// Why a table or a grid is refused.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum QuestError {
    /// Nothing to choose from, or nothing to learn.
    #[error(
        "needs at least 2 stimuli, 2 outcomes and 2 parameter points, got {stimuli}, {outcomes} and {points}"
    )]
    Degenerate {
        /// Stimuli given.
        stimuli: usize,
        /// Outcomes given.
        outcomes: usize,
        /// Parameter points given.
        points: usize,
    },
    /// A probability that is none.
    #[error(
        "stimulus {stimulus}, parameter point {point}: outcome probabilities must lie in 0..1 and sum to 1, they sum to {sum}"
    )]
    Probabilities {
        /// Index of the stimulus.
        stimulus: usize,
        /// Index of the parameter point.
        point: usize,
        /// What they sum to.
        sum: f64,
    },
    /// A prior that cannot be normalised.
    #[error("prior weights must be finite, not negative and not all 0; they sum to {0}")]
    Prior(f64),
}

/// Probabilities of every outcome for every stimulus at every parameter point.
#[derive(Debug, Clone, PartialEq)]
pub struct OutcomeTable {
    stimuli: usize,
    outcomes: usize,
    points: usize,
    /// `[stimulus][outcome][point]`.
    probability: Vec<f64>,
    /// `Σ_y p ln p`, `[stimulus][point]`; 0 ln 0 = 0.
    negentropy: Vec<f64>,
}

impl OutcomeTable {
    /// A table from `probability(stimulus, point, out)`, which fills one slot per outcome.
    ///
    /// # Errors
    /// [`QuestError`] when a size is too small or probabilities do not sum to 1 within 1e-9.
    pub fn new(
        stimuli: usize,
        outcomes: usize,
        points: usize,
        mut probability: impl FnMut(usize, usize, &mut [f64]),
    ) -> Result<Self, QuestError> {
        if stimuli < 2 || outcomes < 2 || points < 2 {
            return Err(QuestError::Degenerate { stimuli, outcomes, points });
        }
        let mut table = Self {
            stimuli,
            outcomes,
            points,
            probability: vec![0.0; stimuli * outcomes * points],
            negentropy: vec![0.0; stimuli * points],
        };
        let mut out = vec![0.0; outcomes];
        for stimulus in 0..stimuli {
            for point in 0..points {
                probability(stimulus, point, &mut out);
                let sum: f64 = out.iter().sum();
                if !((sum - 1.0).abs() < 1e-9) || out.iter().any(|p| !(0.0..=1.0).contains(p)) {
                    return Err(QuestError::Probabilities { stimulus, point, sum });
                }
                for (outcome, p) in out.iter().enumerate() {
                    table.probability[(stimulus * outcomes + outcome) * points + point] = *p;
                }
                table.negentropy[stimulus * points + point] =
                    out.iter().filter(|p| **p > 0.0).map(|p| p * p.ln()).sum();
            }
        }
        Ok(table)
    }

    /// Number of stimuli.
    #[must_use]
    pub const fn stimuli(&self) -> usize {
        self.stimuli
    }

    /// Number of parameter points.
    #[must_use]
    pub const fn points(&self) -> usize {
        self.points
    }

    /// Probability of an outcome of a stimulus at every parameter point.
    #[must_use]
    pub fn likelihood(&self, stimulus: usize, outcome: usize) -> &[f64] {
        let start = (stimulus * self.outcomes + outcome) * self.points;
        &self.probability[start..start + self.points]
    }

    /// Expected information of a stimulus under normalised `weights` of the points, nats: how far
    /// the entropy of the points is expected to fall.
    ///
    /// The mutual information of outcome and parameters, `Σ_θ w Σ_y p ln p − Σ_y P_y ln P_y`. It
    /// needs no logarithm per point, which is what makes the choice fast.
    #[must_use]
    pub fn information(&self, stimulus: usize, weights: &[f64]) -> f64 {
        let start = stimulus * self.points;
        let mut information = dot(weights, &self.negentropy[start..start + self.points]);
        for outcome in 0..self.outcomes {
            let p = dot(weights, self.likelihood(stimulus, outcome));
            if p > 0.0 {
                information -= p * p.ln();
            }
        }
        information
    }

    /// The most informative stimulus among `allowed`, the first on ties, with its information.
    #[must_use]
    pub fn best(&self, weights: &[f64], allowed: std::ops::Range<usize>) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for stimulus in allowed.start..allowed.end.min(self.stimuli) {
            let information = self.information(stimulus, weights);
            if best.is_none_or(|(_, most)| information > most) {
                best = Some((stimulus, information));
            }
        }
        best
    }
}

/// Sum of products in four lanes, so that the compiler may vectorise it; the order of additions is
/// fixed, so the result is the same on every run.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0_f64; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a4.zip(b4) {
        for k in 0..4 {
            lanes[k] += x[k] * y[k];
        }
    }
    lanes[0] + lanes[1] + (lanes[2] + lanes[3]) + rest
}

/// Entropy of normalised weights, nats; 0 ln 0 = 0.
#[must_use]
pub fn entropy(weights: &[f64]) -> f64 {
    -weights.iter().filter(|w| **w > 0.0).map(|w| w * w.ln()).sum::<f64>()
}

/// Scales weights to sum 1; `None` when they cannot be.
pub(crate) fn normalise(weights: &mut [f64]) -> Option<f64> {
    let sum: f64 = weights.iter().sum();
    if !(sum > 0.0 && sum.is_finite()) {
        return None;
    }
    weights.iter_mut().for_each(|w| *w /= sum);
    Some(sum)
}

/// QUEST+ over one joint grid of parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct QuestPlus {
    table: OutcomeTable,
    posterior: Vec<f64>,
}

impl QuestPlus {
    /// Starts from unnormalised prior weights, one per parameter point of `table`.
    ///
    /// # Errors
    /// [`QuestError::Prior`] when the weights cannot be normalised or do not fit the table.
    pub fn new(table: OutcomeTable, mut prior: Vec<f64>) -> Result<Self, QuestError> {
        let sum = prior.iter().sum();
        let usable = prior.len() == table.points && prior.iter().all(|w| *w >= 0.0);
        if !usable || normalise(&mut prior).is_none() {
            return Err(QuestError::Prior(sum));
        }
        Ok(Self { table, posterior: prior })
    }

    /// Normalised weights of the parameter points.
    #[must_use]
    pub fn posterior(&self) -> &[f64] {
        &self.posterior
    }

    /// Expected entropy after showing each stimulus, nats.
    #[must_use]
    pub fn expected_entropies(&self) -> Vec<f64> {
        let now = entropy(&self.posterior);
        (0..self.table.stimuli).map(|x| now - self.table.information(x, &self.posterior)).collect()
    }

    /// The stimulus of least expected entropy, the first on ties, and that entropy in nats.
    #[must_use]
    pub fn next_stimulus(&self) -> (usize, f64) {
        let all = self.expected_entropies();
        let mut best = (0, f64::INFINITY);
        for (stimulus, entropy) in all.into_iter().enumerate() {
            if entropy < best.1 {
                best = (stimulus, entropy);
            }
        }
        best
    }

    /// Learns from an outcome. An outcome that no parameter point allows leaves the posterior as
    /// it was, and returns false.
    pub fn update(&mut self, stimulus: usize, outcome: usize) -> bool {
        let likelihood = self.table.likelihood(stimulus, outcome);
        let mut next: Vec<f64> =
            self.posterior.iter().zip(likelihood).map(|(w, p)| w * p).collect();
        let possible = normalise(&mut next).is_some();
        if possible {
            self.posterior = next;
        }
        possible
    }

    /// Posterior mean of a quantity given at every parameter point.
    #[must_use]
    pub fn mean(&self, quantity: &[f64]) -> f64 {
        dot(&self.posterior, quantity)
    }
}
