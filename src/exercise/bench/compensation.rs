//! How what is chosen follows what is needed, over answered questions.

use super::{BenchAnswer, BenchTask};

/// How chosen masking follows needed masking over a round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compensation {
    /// Slope of chosen on needed masking: 1 is right, below 1 lets the prepared tooth through.
    pub slope: f64,
    /// Standard error of the slope; `None` with two answers.
    pub standard_error: Option<f64>,
    /// Answers it rests on.
    pub answers: usize,
}

/// How chosen masking follows needed masking over answered questions: least squares with an
/// intercept on first attempts.
///
/// Masking is value made up for, ΔL00, against the tooth's own shade at medium translucency on clear
/// cement in full thickness: needed is what the best makes up for, chosen what the first attempt
/// does. `None` where fewer than two questions differ
/// in what they need.
#[must_use]
pub fn compensation(answered: &[(&BenchTask, &BenchAnswer)]) -> Option<Compensation> {
    let points: Vec<(f64, f64)> = answered
        .iter()
        .filter_map(|(task, answer)| {
            let first = answer.attempts.first()?;
            Some((task.masking_needed(), task.masking_of(first)))
        })
        .collect();
    let n = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(|p| p.0), mean(|p| p.1));
    let spread: f64 = points.iter().map(|p| (p.0 - x).powi(2)).sum();
    if points.len() < 2 || spread < 1e-6 {
        return None;
    }
    let slope = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum::<f64>() / spread;
    let rest: f64 = points.iter().map(|p| (p.1 - y - slope * (p.0 - x)).powi(2)).sum();
    let standard_error = (points.len() > 2).then(|| (rest / (n - 2.0) / spread).sqrt());
    Some(Compensation { slope, standard_error, answers: points.len() })
}
