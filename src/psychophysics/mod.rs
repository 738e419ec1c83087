//! Observer models and signal detection: who answers, and what their answers say.

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
