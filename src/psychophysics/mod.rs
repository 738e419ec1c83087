//! Observer models and signal detection: who answers, and what their answers say.
//!
//! # Why
//! - **Two observers in one instrument.** Stimuli are chosen with a simple observer on a grid
//!   (fast, and wrong in the same way for every difference); what is reported is the posterior of
//!   the full one. The gates show what the simple one would report when natural variation and side
//!   bias are strong.
//! - **The posterior, not its peak.** The fit's maximum and curvature miss tails: a threshold near
//!   the end of what was shown is skewed, and truths drawn from the prior had ranks far from even.
//!   So [`Posterior`] weighs 1200 draws by importance, first from a t distribution about the
//!   maximum, then from one with the mean and covariance that the first found, both weighed by
//!   their mixture. `likelihood` makes that quick: the same model for the given answer alone, from
//!   a table of the normal distribution. Draws come from one named stream, so the same answers give
//!   the same report. Where they are worth fewer than 100 equal ones after a third round, the
//!   normal distribution is stated instead and the report says so ([`Summary::Normal`]).
//! - **Medians.** Figures are posterior medians with the middle 95 %, so that a figure and its
//!   logarithm say the same. Means lie further out in the tail: by 0.011 in `ln τ` and 0.02 in `c`
//!   at 60 trials.
//! - **Half of all observers have no side bias.** A side bias raises the criterion that explains
//!   the same answers, so a prior that gives everyone some (`b ~ N(0, 0.3)`) put `c` off by +0.054
//!   and `ln τ` by −0.028 over learners who have none. The prior is now half `N(0, 0.05)`, half
//!   `N(0, 0.4)`: trials say which. `c` is off by +0.014 and `ln τ` by −0.013, and learners with a
//!   side bias are found as before.
//! - **The prior of the criterion** is `N(2, 0.45)`: the false alarms published for sixteen
//!   observers (4 to 55 %) are criteria of 2.65 to 1.43, a spread of 0.35. With 0.6, one observer
//!   in seventeen would name a tooth in more than 90 % of plain natural smiles or in fewer than 1
//!   %; now one in eighty.
//! - **Confusion at the ends of its range.** κ has a logistic scale with a prior about 0.3, so that
//!   its posterior never reaches 0 or 1 and is drawn inwards. Whether any confusion was found is
//!   said by a likelihood ratio against a fit without it: unless it speaks against 0, the interval
//!   begins there.
//! - **Shared posterior.** Several thresholds are kept as `p(shared) Π p(τ_a | shared)`
//!   ([`SharedPosterior`]), which is exact (`tests/core/psychophysics/instrument.rs` compares it
//!   with the joint grid). Choice needs the mutual information only, which needs no logarithm per
//!   grid point.
//! - **Natural variation across axes.** Natural residuals are residuals in value. On chroma and hue
//!   axes they meet the difference at a right angle, each over its own threshold, and a catch trial
//!   needs no "axis tested": a natural tooth is seen through the value threshold of its sign.
//! - **A floor under the power law.** The refit fades evidence below half a hundredth of a
//!   threshold to nothing. The bare power law has a cusp at 0 that leaves the fit without slopes;
//!   simulated observers keep the bare law.
//! - **Bounds of the quadrature.** Choice probabilities are integrated from `max(c, m − 8)` to
//!   `max(c, m) + 8` around the largest mean `m`, not from `c`: a strong restoration would
//!   otherwise leave most nodes where nothing is. The part left out is below 1e-15.
//! - **A table in the fit.** Scoring steps need choice probabilities with slopes for every answer;
//!   reading the normal distribution from a table of cubics (`NormalTable` in `choice`) is several
//!   times as fast (the whole report takes 0.33 s of processor time, once 0.9) and is off by less
//!   than 2e-10. What is not fitted uses the exact function.
//! - **Own scoring steps.** `scoring` is a damped Fisher scoring of eighty lines on nalgebra with
//!   the observed information at the end. argmin 0.11 has matrix bindings up to nalgebra 0.34 only,
//!   so two versions would have to be linked.
//! - **One family of simulated observers.** [`SimulatedObserver`] answers levels and measurements.
//!   It reads a [`Sight`]: signed ΔL00, ΔC00 and ΔH00 of the tooth that differs, from the truth or,
//!   with `rehearse --measure … --look`, from the 8-bit pixels of two drawn pictures (the app's
//!   `eyes`), which also say which tooth it is.
//! - **An option is seen** by who chooses among several ([`OptionChoiceFit`]) as its ΔL00 and the
//!   rest of its ΔE00, not as ΔL, ΔC and ΔH: thirds may differ in opposite ways, and signed parts
//!   that cancel would make such an option look better than it is.
//! - **An interval stays an interval.** Student's t would say that a mean of equal values is known
//!   without error, after ten answers as after a thousand; [`mean_interval()`] then gives that of
//!   Clopper and Pearson.

mod agreement;
mod axis;
mod choice;
mod criteria;
mod draws;
mod glance;
mod glance_model;
pub mod instrument;
mod likelihood;
mod mean_interval;
mod offset;
mod option_choice;
mod option_fit;
mod option_session;
mod posterior;
mod psychometric;
mod quest_plus;
mod refit;
mod scoring;
mod search_time;
mod shared_posterior;
mod sight;
mod signal_detection;
mod simulate;
mod simulated;
mod test_theory;
mod value_order;

pub use agreement::{
    Association, IntraclassCorrelation, Kappa, KappaWeights, average_ranks, clopper_pearson,
    cohen_kappa, kendall, pearson, spearman,
};
pub use axis::{Axis, Direction};
pub use choice::{Choice, ChoiceRule};
pub use criteria::{Criteria, NoneOrRight};
pub use draws::Distribution;
pub use glance::{GlanceSummary, PooledGlance};
pub use glance_model::{
    D_PRIME_AT_THRESHOLD, GlanceModel, GlanceParameters, ModelTrial, SLIP, exposure_gain,
};
pub use mean_interval::{WORST_REGRET_DE00, mean_interval, regret_interval};
pub use offset::{Ellipse, MeanOffset};
pub use option_choice::{Chooser, OptionChoice, SeenOption};
pub use option_fit::OptionChoiceFit;
pub use option_session::{OptionSession, OptionStop, OptionStopReason};
pub use posterior::{Posterior, Summary};
pub use psychometric::{
    LevelCount, PsychometricError, PsychometricFit, PsychometricFunction, Shape,
};
pub use quest_plus::{OutcomeTable, QuestError, QuestPlus, entropy};
pub use refit::{Fit, Refit};
pub use search_time::{Search, SearchTimes};
pub use shared_posterior::SharedPosterior;
pub use sight::{SeenDifference, Sight};
pub use signal_detection::{Proportion, SignalDetection, forced_choice_d_prime, newcombe};
pub use simulate::run_simulated;
pub use simulated::SimulatedObserver;
pub use test_theory::{
    Answers, Change, ItemFigures, Paired, TailShares, cumulative, deconvolved_sd, hedges_g_av,
    mean_sd, smallest_real_change, standard_error_of_measurement,
};
pub use value_order::{Estimated, OrderedPair, ValueOrder};

/// Colour difference that half of all observers see, CIEDE2000.
///
/// # References
/// Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9 (perceptibility 0.8; the value
/// itself from memory).
pub const PERCEPTIBILITY_DE00: f64 = 0.8;

/// Colour difference that half of all observers accept, CIEDE2000.
///
/// # References
/// Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9 (acceptability 1.8).
pub const ACCEPTABILITY_DE00: f64 = 1.8;
