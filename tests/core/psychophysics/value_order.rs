//! Noise of value from orders of patches, and the mean offset of choices.

use second_glance::psychophysics::{MeanOffset, OrderedPair, ValueOrder};
use second_glance::random::{Purpose, StreamKey};
use statrs::distribution::{ContinuousCDF, Normal};

/// Arrays ordered by a learner with noise, chroma intrusion and few lapses, every patch seen once.
fn ordered_arrays(sigma: f64, intrusion: f64, seed: u64, arrays: u32) -> Vec<Vec<OrderedPair>> {
    let normal = Normal::standard();
    (0..arrays)
        .map(|trial| {
            let purpose = Purpose::Observer;
            let mut stream =
                StreamKey { form: "value-order", seed, purpose, block: 0, trial }.stream();
            let mut uniform = || rand::RngExt::random::<f64>(&mut stream);
            let patches: Vec<(f64, f64, f64)> = (0..5)
                .map(|i| {
                    let value = f64::from(i) * (0.4 + 1.2 * uniform());
                    let chroma = 4.0 * uniform();
                    let noise = sigma * normal.inverse_cdf(uniform().clamp(1e-6, 1.0 - 1e-6));
                    (value, chroma, value + intrusion * chroma + noise)
                })
                .collect();
            let mut order: Vec<usize> = (0..5).collect();
            order.sort_by(|&a, &b| patches[b].2.total_cmp(&patches[a].2));
            // One order in a hundred is given without looking.
            if uniform() < 0.01 {
                for last in (1..5).rev() {
                    order.swap(last, (uniform() * (last + 1) as f64) as usize);
                }
            }
            let pair = |above: usize, below: usize| OrderedPair {
                dl00: patches[above].0 - patches[below].0,
                dc00: patches[above].1 - patches[below].1,
                side: if (above + trial as usize).is_multiple_of(2) { 1.0 } else { -1.0 },
            };
            (0..5)
                .flat_map(|a| (a + 1..5).map(move |b| (a, b)))
                .map(|(a, b)| pair(order[a], order[b]))
                .collect()
        })
        .collect()
}

#[test]
fn noise_of_value_and_chroma_intrusion_come_back() {
    for (sigma, step) in [(0.5, 0.48), (0.8, 0.76), (1.2, 1.14)] {
        let learners = 60;
        let truth = [f64::ln(sigma), 0.2];
        let (mut off, mut covered) = ([0.0; 2], [0; 2]);
        let mut stated = 0.0;
        for seed in 0..learners {
            let fit = ValueOrder::fit(&ordered_arrays(sigma, truth[1], seed, 20)).unwrap();
            for (i, estimate) in [fit.ln_sigma, fit.intrusion].into_iter().enumerate() {
                off[i] += (estimate.value - truth[i]) / learners as f64;
                let (low, high) = estimate.interval();
                covered[i] += u32::from(low <= truth[i] && truth[i] <= high);
            }
            stated += fit.ln_sigma.standard_error / learners as f64;
            // Worked values: the 75 % step is 0.954 σ, to the two digits given.
            let at_truth = fit.step_75() * sigma / fit.sigma();
            assert!((at_truth - step).abs() < 0.0051, "{at_truth} {step}");
        }
        println!(
            "σ {sigma}: ln σ off by {:.3}, covered {}/{learners}, stated {stated:.3}; intrusion off by \
             {:.3}, covered {}",
            off[0], covered[0], off[1], covered[1]
        );
        // Sixty learners: a mean of ln σ scatters by 0.02, a coverage of 0.95 by 0.03.
        assert!(off[0].abs() < 0.06 && off[1].abs() < 0.04, "σ {sigma}: {off:?}");
        assert!(covered.iter().all(|c| *c >= 52), "σ {sigma}: {covered:?}");
    }
    assert_eq!(ValueOrder::fit(&[]), None);
}

#[test]
fn the_ellipse_of_a_mean_offset() {
    // By hand: four offsets at ±1 and ±2 on two axes have mean 0 and covariance of the mean
    // (2/12, 8/12); n = 4, so T² = 3 · (0.05^−1 − 1) = 57.
    let offsets = [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, -2.0, 0.0]];
    let mean = MeanOffset::new(&offsets).unwrap();
    assert_eq!(mean.mean, [0.0; 3]);
    let ellipse = mean.ellipse(0, 1).unwrap();
    let wanted = [(57.0_f64 * 8.0 / 12.0).sqrt(), (57.0_f64 * 2.0 / 12.0).sqrt()];
    for (got, want) in ellipse.half_axes.iter().zip(wanted) {
        assert!((got - want).abs() < 1e-9, "{ellipse:?} {wanted:?}");
    }
    assert!((ellipse.angle - std::f64::consts::FRAC_PI_2).abs() < 1e-9, "{ellipse:?}");
    // From memory: Student's t at 0.975 with 3 degrees of freedom is 3.182.
    let (low, high) = mean.interval(0).unwrap();
    assert!((high - 3.182 * (2.0_f64 / 12.0).sqrt()).abs() < 1e-3 && (low + high).abs() < 1e-12);
    assert_eq!(MeanOffset::new(&offsets[..1]), None);
    assert_eq!(MeanOffset::new(&offsets[..2]).unwrap().ellipse(0, 1), None);
}
