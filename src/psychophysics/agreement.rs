//! Agreement of ratings and association of rankings.

use crate::psychophysics::instrument::Interval;
use nalgebra::DMatrix;
use statrs::distribution::{Beta, ContinuousCDF, Normal, StudentsT};

/// How much a disagreement of two ordered categories weighs in Cohen's kappa.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KappaWeights {
    /// Every disagreement weighs the same.
    Unweighted,
    /// By `|i − j|`.
    Linear,
    /// By `(i − j)²`.
    Quadratic,
}

/// Cohen's kappa of two raters' categories, 1 for full agreement, 0 for what chance gives.
/// `None` without ratings or when chance leaves nothing to disagree on.
///
/// # References
/// Cohen, Educ Psychol Meas 1960;20:37-46; Psychol Bull 1968;70:213-220 (weighted).
#[must_use]
pub fn cohen_kappa(ratings: &[(usize, usize)], weights: KappaWeights) -> Option<f64> {
    let categories = 1 + ratings.iter().map(|(a, b)| *a.max(b)).max()?;
    let mut first = vec![0.0; categories];
    let mut second = vec![0.0; categories];
    let weight = |i: usize, j: usize| {
        let apart = i.abs_diff(j) as f64;
        match weights {
            KappaWeights::Unweighted => f64::from(u8::from(i != j)),
            KappaWeights::Linear => apart,
            KappaWeights::Quadratic => apart * apart,
        }
    };
    let n = ratings.len() as f64;
    let mut observed = 0.0;
    for (a, b) in ratings {
        first[*a] += 1.0 / n;
        second[*b] += 1.0 / n;
        observed += weight(*a, *b) / n;
    }
    let mut expected = 0.0;
    for (i, p) in first.iter().enumerate() {
        for (j, q) in second.iter().enumerate() {
            expected += p * q * weight(i, j);
        }
    }
    (expected > 0.0).then(|| 1.0 - observed / expected)
}

/// Cohen's kappa of unordered categories with an interval that holds for few pairs, too.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kappa {
    /// Kappa with its 95 % interval, −1..1.
    pub kappa: Interval,
    /// Share of pairs that agree, 0..1.
    pub observed: f64,
    /// Share that chance gives with these categories' frequencies, 0..1.
    pub chance: f64,
    /// Pairs of ratings.
    pub pairs: usize,
}

impl Kappa {
    /// Kappa of pairs of categories of which only `independent` are free of one another: those of one
    /// question count together. `None` without pairs, for an `independent` of 0 or of more than the
    /// pairs, and when chance leaves nothing to disagree on.
    ///
    /// The interval takes the agreement by chance as known, as Cohen's standard error does, and the
    /// observed agreement's exact interval: a standard error would be 0 where all pairs agree. Where
    /// pairs are not independent, it is as wide as if those of one question stood or fell together.
    ///
    /// # References
    /// Cohen, Educ Psychol Meas 1960;20:37-46; Clopper & Pearson, Biometrika 1934;26:404-413.
    #[must_use]
    pub fn new(pairs: &[(usize, usize)], independent: usize) -> Option<Self> {
        if independent == 0 || independent > pairs.len() {
            return None;
        }
        let kappa = cohen_kappa(pairs, KappaWeights::Unweighted)?;
        let agreeing = pairs.iter().filter(|(a, b)| a == b).count();
        let observed = agreeing as f64 / pairs.len() as f64;
        let chance = chance_agreement(pairs);
        let free = independent as f64;
        let (low, high) = share_interval(observed * free, free)?;
        let of = |share: f64| ((share - chance) / (1.0 - chance)).clamp(-1.0, 1.0);
        let kappa = Interval { value: kappa, low: of(low), high: of(high) };
        Some(Self { kappa, observed, chance, pairs: pairs.len() })
    }
}

/// Share of pairs that agree by chance when each rating keeps its categories' frequencies.
fn chance_agreement(pairs: &[(usize, usize)]) -> f64 {
    let n = pairs.len() as f64;
    let share = |of: &dyn Fn(&(usize, usize)) -> bool| {
        pairs.iter().filter(|pair| of(pair)).count() as f64 / n
    };
    let most = pairs.iter().map(|(a, b)| *a.max(b)).max().unwrap_or(0);
    (0..=most).map(|k| share(&|pair| pair.0 == k) * share(&|pair| pair.1 == k)).sum()
}

/// The exact 95 % interval of a share, counts not whole where observations are worth less than one.
fn share_interval(successes: f64, total: f64) -> Option<(f64, f64)> {
    let failures = total - successes;
    let low = match successes > 0.0 {
        true => beta_quantile(successes, failures + 1.0, 0.025)?,
        false => 0.0,
    };
    let high = match failures > 0.0 {
        true => beta_quantile(successes + 1.0, failures, 0.975)?,
        false => 1.0,
    };
    Some((low, high))
}

/// Intraclass correlations of a table of subjects by raters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IntraclassCorrelation {
    /// ICC(1,1): one-way, single rating.
    pub one_way_single: f64,
    /// ICC(2,1): two-way random, absolute agreement, single rating.
    pub agreement_single: f64,
    /// ICC(2,k): two-way random, absolute agreement, mean of all raters.
    pub agreement_average: f64,
    /// ICC(3,1): two-way mixed, consistency, single rating.
    pub consistency_single: f64,
}

impl IntraclassCorrelation {
    /// From a table with one row per subject and one column per rater, at least 2 of each.
    /// `None` for a smaller table or one without variance.
    ///
    /// # References
    /// Shrout & Fleiss, Psychol Bull 1979;86:420-428.
    #[must_use]
    pub fn new(ratings: &DMatrix<f64>) -> Option<Self> {
        let (subjects, raters) = ratings.shape();
        if subjects < 2 || raters < 2 {
            return None;
        }
        let (n, k) = (subjects as f64, raters as f64);
        let mean = ratings.mean();
        let rows: f64 = ratings.row_iter().map(|r| (r.mean() - mean).powi(2)).sum();
        let columns: f64 = ratings.column_iter().map(|c| (c.mean() - mean).powi(2)).sum();
        let total: f64 = ratings.iter().map(|x| (x - mean).powi(2)).sum();
        let between = k * rows / (n - 1.0);
        let within = (total - k * rows) / (n * (k - 1.0));
        let by_rater = n * columns / (k - 1.0);
        let error = (total - k * rows - n * columns) / ((n - 1.0) * (k - 1.0));
        if !(total > 0.0) {
            return None;
        }
        let by_rater_excess = (by_rater - error) / n;
        Some(Self {
            one_way_single: (between - within) / (between + (k - 1.0) * within),
            agreement_single: (between - error)
                / (between + (k - 1.0) * error + k * by_rater_excess),
            agreement_average: (between - error) / (between + by_rater_excess),
            consistency_single: (between - error) / (between + (k - 1.0) * error),
        })
    }
}

/// A coefficient with its two-sided p value against no association.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Association {
    /// The coefficient, −1..1.
    pub coefficient: f64,
    /// Two-sided p value.
    pub p_value: f64,
}

/// Pearson's correlation; `None` for fewer than 2 pairs or a constant.
#[must_use]
pub fn pearson(pairs: &[(f64, f64)]) -> Option<f64> {
    let n = pairs.len() as f64;
    if pairs.len() < 2 {
        return None;
    }
    let mean_x = pairs.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = pairs.iter().map(|p| p.1).sum::<f64>() / n;
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (x, y) in pairs {
        let (dx, dy) = (x - mean_x, y - mean_y);
        (xx, yy, xy) = (xx + dx * dx, yy + dy * dy, xy + dx * dy);
    }
    let scale = (xx * yy).sqrt();
    (scale > 0.0).then(|| (xy / scale).clamp(-1.0, 1.0))
}

/// Ranks from 1, the mean rank for ties.
#[must_use]
pub fn average_ranks(values: &[f64]) -> Vec<f64> {
    let below = |x: f64| values.iter().filter(|v| **v < x).count() as f64;
    let equal = |x: f64| values.iter().filter(|v| **v == x).count() as f64;
    values.iter().map(|x| below(*x) + 0.5 * (equal(*x) + 1.0)).collect()
}

/// Spearman's rank correlation with average ranks; p by Student's t with n − 2 degrees of freedom.
/// `None` for fewer than 3 pairs or a constant.
#[must_use]
pub fn spearman(pairs: &[(f64, f64)]) -> Option<Association> {
    if pairs.len() < 3 {
        return None;
    }
    let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
    let ranks: Vec<(f64, f64)> = average_ranks(&x).into_iter().zip(average_ranks(&y)).collect();
    let coefficient = pearson(&ranks)?;
    let freedom = pairs.len() as f64 - 2.0;
    let t = coefficient * (freedom / (1.0 - coefficient * coefficient)).sqrt();
    let p_value =
        if t.is_finite() { 2.0 * StudentsT::new(0.0, 1.0, freedom).ok()?.sf(t.abs()) } else { 0.0 };
    Some(Association { coefficient, p_value })
}

/// Kendall's τ-b; p by the normal approximation with ties. `None` for fewer than 2 pairs or a
/// constant.
///
/// # References
/// Kendall, Rank Correlation Methods (variance with ties), as in common statistics libraries.
#[must_use]
pub fn kendall(pairs: &[(f64, f64)]) -> Option<Association> {
    let n = pairs.len();
    if n < 2 {
        return None;
    }
    let mut score = 0.0;
    for (i, a) in pairs.iter().enumerate() {
        for b in &pairs[..i] {
            let sign = |d: f64| if d == 0.0 { 0.0 } else { d.signum() };
            score += sign(a.0 - b.0) * sign(a.1 - b.1);
        }
    }
    let x = Ties::new(pairs.iter().map(|p| p.0).collect());
    let y = Ties::new(pairs.iter().map(|p| p.1).collect());
    let n = n as f64;
    let all = n * (n - 1.0) / 2.0;
    let scale = ((all - x.pairs) * (all - y.pairs)).sqrt();
    if !(scale > 0.0) {
        return None;
    }
    let whole = n * (n - 1.0);
    let triple = if n > 2.0 { x.triples * y.triples / (9.0 * whole * (n - 2.0)) } else { 0.0 };
    let variance = (whole * (2.0 * n + 5.0) - x.weighted - y.weighted) / 18.0
        + 2.0 * x.pairs * y.pairs / whole
        + triple;
    let z = score / variance.sqrt();
    let p_value = 2.0 * Normal::standard().sf(z.abs());
    Some(Association { coefficient: (score / scale).clamp(-1.0, 1.0), p_value })
}

/// Sums over groups of tied values.
struct Ties {
    /// `Σ t (t − 1) / 2`.
    pairs: f64,
    /// `Σ t (t − 1) (t − 2)`.
    triples: f64,
    /// `Σ t (t − 1) (2t + 5)`.
    weighted: f64,
}

impl Ties {
    fn new(mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        let mut ties = Self { pairs: 0.0, triples: 0.0, weighted: 0.0 };
        // By value and not by bits: 0 and −0 are tied.
        #[expect(clippy::float_cmp, reason = "ties are exact")]
        for group in values.chunk_by(|a, b| a == b) {
            let t = group.len() as f64;
            ties.pairs += t * (t - 1.0) / 2.0;
            ties.triples += t * (t - 1.0) * (t - 2.0);
            ties.weighted += t * (t - 1.0) * (2.0 * t + 5.0);
        }
        ties
    }
}

/// The exact interval of a proportion by the beta distribution; 0 and 1 at the ends. `None` when
/// an argument is out of range.
///
/// # References
/// Clopper & Pearson, Biometrika 1934;26:404-413.
#[must_use]
pub fn clopper_pearson(successes: u32, total: u32, confidence: f64) -> Option<(f64, f64)> {
    if total == 0 || successes > total || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let (k, n) = (f64::from(successes), f64::from(total));
    let tail = 0.5 * (1.0 - confidence);
    let low = match successes {
        0 => 0.0,
        _ => beta_quantile(k, n - k + 1.0, tail)?,
    };
    let high = if successes == total { 1.0 } else { beta_quantile(k + 1.0, n - k, 1.0 - tail)? };
    Some((low, high))
}

/// Bisection on the distribution function: slower than a closed step, right to the last digit.
fn beta_quantile(a: f64, b: f64, p: f64) -> Option<f64> {
    let beta = Beta::new(a, b).ok()?;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if beta.cdf(middle) < p { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, StreamKey};
    use rand::RngExt;

    fn pairs_of(table: &[&[usize]]) -> Vec<(usize, usize)> {
        let cells = table.iter().enumerate().flat_map(|(i, row)| {
            row.iter().enumerate().flat_map(move |(j, &n)| std::iter::repeat_n((i, j), n))
        });
        cells.collect()
    }

    #[test]
    fn kappa_is_that_of_published_examples() {
        // Two reviewers of 160 films, Agresti & Winner, Chance 1997;10(2):10-14: kappa 0.389, standard
        // error 0.060 (Agresti, Categorical Data Analysis, 2nd ed., Wiley 2002, section 10.5; figures
        // from memory, the table from a public course's program).
        let films = pairs_of(&[&[24, 8, 13], &[8, 13, 11], &[10, 9, 64]]);
        let found = Kappa::new(&films, films.len()).unwrap();
        assert_eq!(found.pairs, 160);
        assert!((found.kappa.value - 0.389).abs() < 0.0005, "{found:?}");
        let (low, high) = (found.kappa.low, found.kappa.high);
        assert!((low - (0.389 - 1.96 * 0.060)).abs() < 0.02, "{found:?}");
        assert!((high - (0.389 + 1.96 * 0.060)).abs() < 0.02, "{found:?}");
        // Cohen, Educ Psychol Meas 1960;20:37-46: 200 cases, observed 0.70, by chance 0.41, kappa 0.492,
        // standard error 0.055 (from memory).
        let cohen = pairs_of(&[&[88, 14, 18], &[10, 40, 10], &[2, 6, 12]]);
        let found = Kappa::new(&cohen, cohen.len()).unwrap();
        assert!((found.observed - 0.70).abs() < 1e-12 && (found.chance - 0.41).abs() < 1e-12);
        assert!((found.kappa.value - 0.492).abs() < 0.0005, "{found:?}");
        assert!((found.kappa.low - (0.492 - 1.96 * 0.055)).abs() < 0.01, "{found:?}");
        assert!((found.kappa.high - (0.492 + 1.96 * 0.055)).abs() < 0.01, "{found:?}");
    }

    #[test]
    fn few_pairs_that_all_agree_are_not_certain() {
        let alike = [(0, 0), (1, 1), (2, 2), (1, 1), (0, 0)];
        let found = Kappa::new(&alike, 5).unwrap();
        assert!((found.kappa.value - 1.0).abs() < 1e-12 && (found.kappa.high - 1.0).abs() < 1e-12);
        // By hand: 0.025^(1/5) = 0.478 of five; by chance 0.36.
        let low = (0.025_f64.powf(0.2) - 0.36) / 0.64;
        assert!((found.kappa.low - low).abs() < 1e-9, "{found:?}");
        // The same agreement on ticks of five questions with three options each.
        let ticks: Vec<(usize, usize)> = [(1, 1), (0, 0), (0, 0)].repeat(5);
        let of_questions = Kappa::new(&ticks, 5).unwrap();
        assert!(of_questions.kappa.low < Kappa::new(&ticks, 15).unwrap().kappa.low);
        assert_eq!(Kappa::new(&[(1, 1); 6], 6), None, "nothing to disagree on");
        assert_eq!(Kappa::new(&[], 0), None);
        assert_eq!(Kappa::new(&alike, 6), None);
    }

    /// Raters who agree on a share of pairs and otherwise choose by chance: kappa is that share.
    #[test]
    fn intervals_of_kappa_hold_the_truth_as_often_as_they_say() {
        for (n, truth) in [(5, 0.3), (5, 0.7), (8, 0.5), (40, 0.5)] {
            let key = StreamKey {
                form: "kappa",
                seed: 1,
                purpose: Purpose::Observer,
                block: n,
                trial: (10.0 * truth) as u32,
            };
            let mut rng = key.stream();
            let (mut held, mut told) = (0_u32, 0_u32);
            for _ in 0..1000 {
                let pairs: Vec<(usize, usize)> = (0..n)
                    .map(|_| {
                        let first = rng.random_range(0..4);
                        let again = rng.random::<f64>() < truth;
                        (first, if again { first } else { rng.random_range(0..4) })
                    })
                    .collect();
                let Some(found) = Kappa::new(&pairs, pairs.len()) else { continue };
                told += 1;
                held += u32::from((found.kappa.low..=found.kappa.high).contains(&truth));
            }
            let coverage = f64::from(held) / f64::from(told);
            println!("{n} pairs, kappa {truth}: {coverage:.3} of {told}");
            // Less three standard errors of the simulation.
            assert!(coverage >= 0.95 - 3.0 * (0.95 * 0.05 / 1000.0_f64).sqrt(), "{n} {truth}");
        }
    }
}
