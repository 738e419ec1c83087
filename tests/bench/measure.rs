//! Speed of the measuring instrument: one trial's choice and update, and the final refit.

use criterion::{Criterion, criterion_group, criterion_main};
use second_glance::psychophysics::instrument::{Config, Instrument, OnlineModel, Shown};
use second_glance::psychophysics::{Axis, GlanceParameters, Sight, SimulatedObserver};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::Tooth;
use std::hint::black_box;

/// A measurement of four axes after `trials` answers.
fn measured(trials: usize) -> Instrument {
    let teeth = Tooth::arch(10);
    let mut config = Config::new(teeth.clone(), Axis::ALL.to_vec());
    config.stop.sd_ln_threshold = 1e-9;
    let mut instrument = Instrument::new(config, 1).expect("a usable configuration");
    let observer = SimulatedObserver::Noisy(GlanceParameters {
        thresholds_de00: Axis::ALL.map(|axis| (axis, 2.0)).to_vec(),
        exponent: 1.0,
        criterion: 2.0,
        lapse: 0.02,
        confusion: 0.3,
        eccentricity_loss: 0.04,
        side_bias: 0.1,
    });
    for trial in 0..trials {
        let stimulus = instrument.next_stimulus().expect("a trial");
        let residual = |i: usize| 0.7 * ((trial * 10 + i) as f64).sin();
        let shown = Shown {
            de00: stimulus.signal.map_or(0.0, |s| s.de00),
            residuals_de00: (0..10).map(residual).collect(),
            exposure_s: 2.5,
        };
        let key = StreamKey {
            form: "bench",
            seed: 1,
            purpose: Purpose::Observer,
            block: 0,
            trial: trial as u32,
        };
        let answer = observer.answer(&Sight::new(&teeth, &stimulus, &shown), &mut key.stream());
        instrument.record(shown, answer).expect("a possible answer");
    }
    instrument
}

fn benches(c: &mut Criterion) {
    c.bench_function("tables for ten teeth", |b| b.iter(|| OnlineModel::new(black_box(10), 2.5)));
    let half = measured(80);
    let stimulus = half.next_stimulus().expect("a trial");
    let shown = Shown {
        de00: stimulus.signal.map_or(0.0, |s| s.de00),
        residuals_de00: vec![0.0; 10],
        exposure_s: 2.5,
    };
    c.bench_function("four axes: learn from one answer and choose the next difference", |b| {
        b.iter_batched(
            || (half.clone(), shown.clone()),
            |(mut instrument, shown)| {
                let answer = second_glance::psychophysics::instrument::Answer::None;
                instrument.record(shown, answer).expect("a possible answer");
                black_box(instrument.next_stimulus());
                instrument
            },
            criterion::BatchSize::LargeInput,
        );
    });
    let full = measured(160);
    let mut group = c.benchmark_group("refit");
    group.sample_size(10);
    group.bench_function("four axes, 160 trials", |b| b.iter(|| black_box(&full).estimate()));
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
