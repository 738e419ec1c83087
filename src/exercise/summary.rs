//! What a round of answers says of a learner, with intervals.

use super::{Answer, MatchTask, Question, Round, Task, TwoLightsTask, VerdictTask};
use crate::psychophysics::{
    Estimated, KappaWeights, LevelCount, MeanOffset, Proportion, PsychometricFunction, Shape,
    SignalDetection, ValueOrder, cohen_kappa, regret_interval,
};
use crate::words::Part;
use serde_json::{Value, json};

/// Answers from which numbers are given at all.
const FEWEST: usize = 6;
/// An interval whose ends are further apart than this ratio says too little. A setting of this
/// program.
const WIDEST_RATIO: f64 = 2.5;
/// Share of verdicts given without looking, as the fit assumes. A setting of this program.
const LAPSE: f64 = 0.02;
/// Two-sided 95 % point of the normal distribution.
const Z95: f64 = 1.96;

/// What a round came to.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundSummary {
    /// Answers that could be marked.
    pub answered: usize,
    /// Mean score, 0..100, of those that count.
    pub mean_score: Option<f64>,
    /// Plain sentences.
    pub sentences: Vec<String>,
    /// The same as numbers, to be stored.
    pub values: Value,
}

impl Round {
    /// What the answers to this round say, question by question; `None` where none was given.
    /// Answers that cannot be marked are left out.
    #[must_use]
    pub fn summary(&self, answers: &[Option<Answer>]) -> RoundSummary {
        let given: Vec<(&Question, &Answer)> = self
            .questions
            .iter()
            .zip(answers)
            .filter_map(|(question, answer)| Some((question, answer.as_ref()?)))
            .filter(|(question, answer)| question.mark(answer).is_ok())
            .collect();
        let marks: Vec<_> = given.iter().filter_map(|(q, a)| q.mark(a).ok()).collect();
        let mean = |values: Vec<f64>| {
            (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
        };
        let mean_score = mean(marks.iter().filter_map(|mark| mark.score).collect());
        let regrets: Vec<f64> = marks.iter().filter_map(|mark| mark.regret_de00).collect();
        let mut sentences = Vec::new();
        let mut values = json!({});
        if let Some((mean, low, high)) = mean_regret(&regrets) {
            values["mean_regret_de00"] = json!(mean);
            values["mean_regret_interval"] = json!([low, high]);
            sentences.push(regret_sentence((mean, low, high)));
        }
        match self.exercise {
            "ladder" => ladder(&given, &mut sentences, &mut values),
            "match" => matching(&given, &mut sentences, &mut values),
            "two_lights" => two_lights(&given, &mut sentences, &mut values),
            "verdict" => verdict(&given, &mut sentences, &mut values),
            _ => {}
        }
        RoundSummary { answered: given.len(), mean_score, sentences, values }
    }
}

type Given<'a> = [(&'a Question, &'a Answer)];

fn span(low: f64, high: f64, digits: usize) -> String {
    format!("95 %: {low:.digits$} to {high:.digits$}")
}

/// The mean regret and its 95 % interval, ΔE00, in words.
pub(super) fn regret_sentence((mean, low, high): (f64, f64, f64)) -> String {
    format!(
        "On average your choice was {mean:.2} ΔE00 worse than the best there was ({}).",
        span(low, high, 2)
    )
}

/// Mean regret and its 95 % interval; `None` for few values.
pub(super) fn mean_regret(values: &[f64]) -> Option<(f64, f64, f64)> {
    regret_interval(values).filter(|_| values.len() >= FEWEST)
}

fn estimated(estimate: Estimated) -> Value {
    json!({ "value": estimate.value, "standard_error": estimate.standard_error })
}

fn ladder(given: &Given<'_>, sentences: &mut Vec<String>, values: &mut Value) {
    let arrays: Vec<_> = given
        .iter()
        .filter_map(|(question, answer)| match (&question.task, answer) {
            (Task::Ladder(task), Answer::Ladder(answer)) => task.pairs(answer).ok(),
            _ => None,
        })
        .collect();
    if arrays.len() < FEWEST {
        return;
    }
    let Some(fit) = ValueOrder::fit(&arrays) else { return };
    values["ln_sigma_v"] = estimated(fit.ln_sigma);
    values["chroma_intrusion"] = estimated(fit.intrusion);
    values["side_bias"] = estimated(fit.side_bias);
    values["step_75"] = json!(fit.step_75());
    let (low, high) = fit.ln_sigma.interval();
    let (low, high) = ((low - fit.ln_sigma.value).exp(), (high - fit.ln_sigma.value).exp());
    sentences.push(if high / low > WIDEST_RATIO {
        "How small a step in value you order is not yet measured: go on.".to_owned()
    } else {
        format!(
            "A step of {:.2} ΔL00 you put right three times in four ({}).",
            fit.step_75(),
            span(fit.step_75() * low, fit.step_75() * high, 2)
        )
    });
    let (low, high) = fit.intrusion.interval();
    let intrusion = fit.intrusion.value;
    sentences.push(if low > 0.0 {
        format!("Stronger chroma looks lighter to you: 1 ΔC00 counts as {intrusion:.2} ΔL00.")
    } else if high < 0.0 {
        format!("Stronger chroma looks darker to you: 1 ΔC00 counts as {:.2} ΔL00.", -intrusion)
    } else {
        "Chroma did not measurably get in the way of value.".to_owned()
    });
}

fn matching(given: &Given<'_>, sentences: &mut Vec<String>, values: &mut Value) {
    let offset =
        |task: &MatchTask, choice| task.difference(choice).ok().map(|d| [d.dl00, d.dc00, d.dh00]);
    let offsets: Vec<[f64; 3]> = given
        .iter()
        .filter_map(|(question, answer)| match (&question.task, answer) {
            (Task::Match(task), Answer::Match(answer)) => offset(task, answer.choice),
            _ => None,
        })
        .collect();
    if offsets.len() < FEWEST {
        return;
    }
    let Some(mean) = MeanOffset::new(&offsets) else { return };
    values["mean_offset"] =
        json!({ "dl00": mean.mean[0], "dc00": mean.mean[1], "dh00": mean.mean[2] });
    values["mean_offset_covariance"] = json!(mean.covariance);
    if let Some(ellipse) = mean.ellipse(1, 0) {
        values["ellipse_chroma_value"] = json!({
            "centre": ellipse.centre, "half_axes": ellipse.half_axes, "angle_rad": ellipse.angle,
        });
    }
    let mut found = false;
    for (index, part) in Part::ALL.into_iter().enumerate() {
        let Some((low, high)) = mean.interval(index) else { continue };
        if low > 0.0 || high < 0.0 {
            found = true;
            let way = format!("{} {}", part.unit(), part.way(low));
            let (low, high) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
            sentences.push(format!(
                "Your choices are on average {:.2} {way} than the target ({}).",
                mean.mean[index].abs(),
                span(low, high, 2)
            ));
        }
    }
    if !found {
        sentences.push("Your choices lean no way that could be measured.".to_owned());
    }
}

/// d′ and criterion with their standard errors, as sentences and numbers.
fn detection(
    hits: Proportion,
    false_alarms: Proportion,
    sentences: &mut Vec<String>,
    values: &mut Value,
    wording: impl FnOnce(&SignalDetection, f64) -> String,
) {
    let indices = SignalDetection::yes_no(hits, false_alarms);
    let error = SignalDetection::d_prime_standard_error(hits, false_alarms);
    let (Some(indices), Some(error)) = (indices, error) else { return };
    values["d_prime"] = json!(indices.d_prime);
    values["d_prime_standard_error"] = json!(error);
    values["criterion"] = json!(indices.criterion);
    values["criterion_standard_error"] = json!(0.5 * error);
    values["hits"] = json!(hits);
    values["false_alarms"] = json!(false_alarms);
    sentences.push(wording(&indices, error));
}

fn two_lights(given: &Given<'_>, sentences: &mut Vec<String>, values: &mut Value) {
    let played: Vec<(&TwoLightsTask, &super::TwoLightsAnswer)> = given
        .iter()
        .filter_map(|(question, answer)| match (&question.task, answer) {
            (Task::TwoLights(task), Answer::TwoLights(answer)) => Some((task, answer)),
            _ => None,
        })
        .collect();
    if played.len() < FEWEST {
        return;
    }
    let (mut change, mut keep) = (Proportion::default(), Proportion::default());
    for (task, answer) in &played {
        let counted = match task.keep_is_right(answer.choice) {
            Some(true) => &mut keep,
            Some(false) => &mut change,
            None => continue,
        };
        counted.total += 1;
        counted.successes += u32::from(!answer.keep);
    }
    detection(change, keep, sentences, values, |indices, error| {
        format!(
            "You foresaw {} of {} choices that fail in the second light, and gave up {} of {} that \
             hold: d′ {:.1} ({}).",
            change.successes,
            change.total,
            keep.successes,
            keep.total,
            indices.d_prime,
            span(indices.d_prime - Z95 * error, indices.d_prime + Z95 * error, 1)
        )
    });
    let pairs: Vec<(usize, usize)> =
        played.iter().map(|(_, answer)| (answer.choice, answer.second_choice)).collect();
    let same = pairs.iter().filter(|(a, b)| a == b).count();
    values["kappa_between_lights"] = json!(cohen_kappa(&pairs, KappaWeights::Unweighted));
    let best: Vec<(usize, usize)> = played
        .iter()
        .filter_map(|(task, _)| Some((task.best_in_first()?, task.best_in_second()?)))
        .collect();
    values["kappa_of_truth"] = json!(cohen_kappa(&best, KappaWeights::Unweighted));
    let stable = best.iter().filter(|(a, b)| a == b).count();
    sentences.push(format!(
        "In {same} of {} cases you chose alike in both lights; the best option was the same in \
         {stable}.",
        pairs.len()
    ));
}

fn verdict(given: &Given<'_>, sentences: &mut Vec<String>, values: &mut Value) {
    let played: Vec<(&VerdictTask, bool)> = given
        .iter()
        .filter_map(|(question, answer)| match (&question.task, answer) {
            (Task::Verdict(task), Answer::Verdict(answer)) => Some((task, !answer.accept)),
            _ => None,
        })
        .collect();
    if played.len() < FEWEST {
        return;
    }
    let (mut hits, mut false_alarms) = (Proportion::default(), Proportion::default());
    for (task, remake) in &played {
        let counted = if task.is_natural {
            &mut false_alarms
        } else if !task.is_acceptable() && !task.is_borderline() {
            &mut hits
        } else {
            continue;
        };
        counted.total += 1;
        counted.successes += u32::from(*remake);
    }
    let false_share = false_alarms.wilson(0.95);
    detection(hits, false_alarms, sentences, values, |indices, error| {
        let (low, high) = false_share.unwrap_or_default();
        format!(
            "You sent back {} of {} unacceptable restorations and {} of {} natural teeth ({:.0} to \
             {:.0} %): d′ {:.1} ({}). So few answers leave d′ rough; read it with the line below.",
            hits.successes,
            hits.total,
            false_alarms.successes,
            false_alarms.total,
            100.0 * low,
            100.0 * high,
            indices.d_prime,
            span(indices.d_prime - Z95 * error, indices.d_prime + Z95 * error, 1)
        )
    });
    let counts: Vec<LevelCount> = played
        .iter()
        .map(|(task, remake)| LevelCount {
            level: task.difference.de00,
            trials: 1,
            positive: u32::from(*remake),
        })
        .collect();
    let fit = PsychometricFunction::fit(Shape::CumulativeGaussian, 0.0, LAPSE, &counts);
    let point = fit.ok().map(|fit| (fit.function.location, fit.standard_errors.0));
    let range = counts.iter().map(|count| count.level).fold(0.0, f64::max);
    sentences.push(match point.filter(|(at, error)| (0.0..range).contains(at) && *error < at / 2.0) {
        Some((at, error)) => {
            values["acceptance_point_de00"] = json!(at);
            values["acceptance_point_standard_error"] = json!(error);
            format!(
                "Your own line: you accept half of the restorations that differ by {at:.1} ΔE00 ({}).",
                span(at - Z95 * error, at + Z95 * error, 1)
            )
        }
        None => "Where you draw the line between accept and remake is not yet measured.".to_owned(),
    });
}
