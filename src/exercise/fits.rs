//! What a round's answers say about the learner, in sentences.

use super::{Answer, Question, Task, compensation};
use crate::psychophysics::OptionChoiceFit;
use crate::words::{count, signed};

/// Fewer picks than this say too little. A setting of this program.
const LEAST_PICKS: usize = 8;

/// Sentences on how this learner sees, fitted to answered questions; none where they are too few.
#[must_use]
pub fn fits(given: &[(Question, Answer)]) -> Vec<String> {
    [blend(given), bench(given)].concat()
}

fn blend(given: &[(Question, Answer)]) -> Vec<String> {
    let choices: Vec<_> = given
        .iter()
        .filter_map(|(question, answer)| match (&question.task, answer) {
            (Task::Blend(task), Answer::Blend(answer)) => task.choice(answer),
            _ => None,
        })
        .collect();
    if choices.len() < LEAST_PICKS {
        return Vec::new();
    }
    let Some(fit) = OptionChoiceFit::new(&choices).filter(|fit| fit.converged) else {
        return Vec::new();
    };
    choice_sentences(&fit)
}

/// How somebody chooses, in sentences; none from too few picks.
pub(super) fn choice_sentences(fit: &OptionChoiceFit) -> Vec<String> {
    if fit.choices < LEAST_PICKS {
        return Vec::new();
    }
    let bias = fit.value_bias;
    let lean = if bias.low > 0.0 {
        "you lean towards the lighter"
    } else if bias.high < 0.0 {
        "you lean towards the darker"
    } else {
        "no lean towards darker or lighter is certain"
    };
    vec![
        format!(
            "From {}: {lean} (preferred departure in value {} ΔL00, 95 % {} to {}).",
            count(fit.choices, "pick", "picks"),
            signed(bias.value),
            signed(bias.low),
            signed(bias.high)
        ),
        format!(
            "Noise of a decision {:.1} ΔE00 (95 % {:.1} to {:.1}); value counts {:.1} times its \
             difference (95 % {:.1} to {:.1}).",
            fit.noise_de00.value,
            fit.noise_de00.low,
            fit.noise_de00.high,
            fit.value_weight.value,
            fit.value_weight.low,
            fit.value_weight.high
        ),
    ]
}

fn bench(given: &[(Question, Answer)]) -> Vec<String> {
    let composed: Vec<_> = given
        .iter()
        .filter_map(|(question, answer)| match (&question.task, answer) {
            (Task::Bench(task), Answer::Bench(answer)) => Some((task, answer)),
            _ => None,
        })
        .collect();
    let Some(found) = compensation(&composed) else { return Vec::new() };
    let interval =
        found.standard_error.map_or_else(String::new, |error| format!(" ± {:.1}", 1.96 * error));
    vec![format!(
        "Masking chosen for masking needed: {:.1}{interval} over {} (1 is right, below 1 lets \
         the prepared tooth through).",
        found.slope,
        count(found.answers, "case", "cases")
    )]
}
