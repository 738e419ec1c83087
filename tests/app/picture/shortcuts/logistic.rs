//! Logistic regression and the area under its receiver operating characteristic.

/// A pair of one patient: features of the tooth restored and natural.
#[derive(Debug, Clone, Copy)]
pub struct Sample<const N: usize> {
    pub patient: usize,
    pub restored: [f64; N],
    pub natural: [f64; N],
}

/// Folds of the cross-validation. A patient's pairs all lie in one.
const FOLDS: usize = 5;
/// Weight of the penalty on squared coefficients, per sample.
const PENALTY: f64 = 1e-2;

/// The AUC of telling restored from natural, every pair judged by a fit to other patients.
pub fn cross_validated_auc<const N: usize>(samples: &[Sample<N>]) -> f64 {
    let mut scores = Vec::new();
    for fold in 0..FOLDS {
        let (test, train): (Vec<_>, Vec<_>) =
            samples.iter().partition(|sample| sample.patient % FOLDS == fold);
        let scale = Scale::of(&train);
        let rows: Vec<([f64; N], f64)> = train
            .iter()
            .flat_map(|s| [(scale.apply(&s.restored), 1.0), (scale.apply(&s.natural), 0.0)])
            .collect();
        let fit = fit(&rows);
        for sample in test {
            scores.push((score(&fit, &scale.apply(&sample.restored)), true));
            scores.push((score(&fit, &scale.apply(&sample.natural)), false));
        }
    }
    auc(&scores)
}

/// Mean and deviation of every feature.
struct Scale<const N: usize> {
    mean: [f64; N],
    deviation: [f64; N],
}

impl<const N: usize> Scale<N> {
    fn of(samples: &[&Sample<N>]) -> Self {
        let rows = || samples.iter().flat_map(|s| [&s.restored, &s.natural]);
        let count = 2.0 * samples.len() as f64;
        let mean = std::array::from_fn(|k| rows().map(|row| row[k]).sum::<f64>() / count);
        let deviation = std::array::from_fn(|k| {
            let mean: &[f64; N] = &mean;
            (rows().map(|row| (row[k] - mean[k]).powi(2)).sum::<f64>() / count).sqrt().max(1e-12)
        });
        Self { mean, deviation }
    }

    fn apply(&self, row: &[f64; N]) -> [f64; N] {
        std::array::from_fn(|k| (row[k] - self.mean[k]) / self.deviation[k])
    }
}

/// Coefficients and, last, the constant.
struct Fit<const N: usize> {
    weights: [f64; N],
    constant: f64,
}

fn score<const N: usize>(fit: &Fit<N>, row: &[f64; N]) -> f64 {
    fit.constant + row.iter().zip(&fit.weights).map(|(x, w)| x * w).sum::<f64>()
}

/// Maximum likelihood with a ridge penalty by Newton steps.
fn fit<const N: usize>(rows: &[([f64; N], f64)]) -> Fit<N> {
    let mut fit = Fit { weights: [0.0; N], constant: 0.0 };
    let penalty = PENALTY * rows.len() as f64;
    for _ in 0..25 {
        let mut gradient = nalgebra::DVector::<f64>::zeros(N + 1);
        let mut curvature = nalgebra::DMatrix::<f64>::zeros(N + 1, N + 1);
        for k in 0..N {
            gradient[k] = -penalty * fit.weights[k];
            curvature[(k, k)] = penalty;
        }
        for (row, label) in rows {
            let p = 1.0 / (1.0 + (-score(&fit, row)).exp());
            let x = |k: usize| if k < N { row[k] } else { 1.0 };
            for i in 0..=N {
                gradient[i] += (label - p) * x(i);
                for j in 0..=N {
                    curvature[(i, j)] += p * (1.0 - p) * x(i) * x(j);
                }
            }
        }
        let Some(step) = curvature.lu().solve(&gradient) else { break };
        for k in 0..N {
            fit.weights[k] += step[k];
        }
        fit.constant += step[N];
        if step.norm() < 1e-9 {
            break;
        }
    }
    fit
}

/// Share of (restored, natural) pairs in which the restored one scores higher, ties half.
fn auc(scores: &[(f64, bool)]) -> f64 {
    let (mut wins, mut count) = (0.0, 0.0);
    for (restored, _) in scores.iter().filter(|s| s.1) {
        for (natural, _) in scores.iter().filter(|s| !s.1) {
            wins += if restored > natural {
                1.0
            } else if restored < natural {
                0.0
            } else {
                0.5
            };
            count += 1.0;
        }
    }
    wins / count
}

#[test]
fn the_classifier_finds_what_is_there_and_nothing_else() {
    use rand::{RngExt, SeedableRng};
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(1);
    let mut samples = |shift: f64| -> Vec<Sample<3>> {
        (0..200)
            .map(|index| {
                let mut row = || [0; 3].map(|_| random.random_range(-1.0..1.0));
                let (mut restored, natural) = (row(), row());
                restored[1] += shift;
                Sample { patient: index / 5, restored, natural }
            })
            .collect()
    };
    let nothing = cross_validated_auc(&samples(0.0));
    assert!((0.42..0.58).contains(&nothing), "{nothing}");
    let something = cross_validated_auc(&samples(0.5));
    // Uniform on ±1 shifted by 0.5: 1 − (1.5²/2)/4 = 0.71875.
    assert!((something - 0.719).abs() < 0.06, "{something}");
    assert_eq!(auc(&[(1.0, true), (0.0, false), (1.0, false)]), 0.75);
}
