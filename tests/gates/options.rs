//! Recovery of the model of choosing among options: known choosers answer sessions, and their noise,
//! weight of value and preferred value must come back.

use crate::cells::{Recovered, deviate, recovery};
use crate::coverage_se;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use second_glance::psychophysics::{
    OptionChoice, OptionChoiceFit, OptionSession, OptionStop, SeenOption,
};
use second_glance::random::{Purpose, StreamKey};

/// Options in every question.
const OPTIONS: usize = 5;

/// A chooser, written without the model's code.
struct Truth {
    noise: f64,
    weight: f64,
    bias: f64,
    lapse: f64,
}

/// Truths: σ log-normal about 0.5 (SD 0.4), w log-normal about 1 (SD 0.3), L₀ N(0, 0.6), λ 0.5-6 %.
/// Design choices.
fn truth(rng: &mut ChaCha8Rng) -> Truth {
    Truth {
        noise: 0.5 * (0.4 * deviate(rng)).exp(),
        weight: (0.3 * deviate(rng)).exp(),
        bias: 0.6 * deviate(rng),
        lapse: 0.005 + 0.055 * rng.random::<f64>(),
    }
}

/// A question as levels hold them: the nearest option, an equal pair one darker and one lighter, and
/// others; every size a little off what was asked.
fn question(gap: f64, rng: &mut ChaCha8Rng) -> Vec<SeenOption> {
    let option = |de00: f64, share: f64| SeenOption {
        value: share * de00,
        rest: de00 * (1.0 - share * share).max(0.0).sqrt(),
    };
    let best = 0.5 + 0.6 * rng.random::<f64>();
    let pair = best + gap * (0.9 + 0.2 * rng.random::<f64>());
    let share = |rng: &mut ChaCha8Rng| 0.65 + 0.3 * rng.random::<f64>();
    let mut all = vec![
        option(best, 2.0 * rng.random::<f64>() - 1.0),
        option(pair, -share(rng)),
        option(pair + 0.1 * (rng.random::<f64>() - 0.5), share(rng)),
    ];
    for _ in 3..OPTIONS {
        let de00 = best + 0.3 + 2.0 * rng.random::<f64>();
        all.push(option(de00, 2.0 * rng.random::<f64>() - 1.0));
    }
    all
}

/// Samples a pick by the definition: the option liked best after Gumbel noise.
fn answer(truth: &Truth, options: &[SeenOption], rng: &mut ChaCha8Rng) -> usize {
    if rng.random::<f64>() < truth.lapse {
        return rng.random_range(0..options.len());
    }
    let liking = |option: &SeenOption, rng: &mut ChaCha8Rng| {
        let value = truth.weight * (option.value - truth.bias);
        let gumbel = -(-rng.random::<f64>().max(1e-300).ln()).ln();
        -(value * value + option.rest * option.rest).sqrt() / truth.noise + gumbel
    };
    let all: Vec<f64> = options.iter().map(|option| liking(option, rng)).collect();
    (0..all.len()).max_by(|&a, &b| all[a].total_cmp(&all[b])).unwrap()
}

struct Run {
    /// Truth, estimate and standard error of L₀, ln σ and ln w.
    found: [Recovered; 3],
    /// Whether the stated intervals hold the truth.
    held: [bool; 3],
    converged: bool,
}

fn run(number: u32, trials: usize) -> Run {
    let key = StreamKey {
        form: "options",
        seed: 7,
        purpose: Purpose::Observer,
        block: trials as u32,
        trial: number,
    };
    let mut rng = key.stream();
    let truth = truth(&mut rng);
    let stop = OptionStop { regret_se_de00: 0.0, max_questions: trials, ..OptionStop::default() };
    let mut session = OptionSession::new(OPTIONS, stop).unwrap();
    let mut choices = Vec::new();
    while session.is_done().is_none() && choices.len() < trials {
        let options = question(session.next_gap_de00(), &mut rng);
        let chosen = answer(&truth, &options, &mut rng);
        let choice = OptionChoice { options, chosen };
        session.record(Some(&choice));
        choices.push(choice);
    }
    let fit = OptionChoiceFit::new(&choices).unwrap();
    let [noise_se, weight_se, bias_se] = fit.standard_errors();
    Run {
        found: [
            Recovered::normal(truth.bias, fit.chooser.value_bias, bias_se),
            Recovered::normal(truth.noise.ln(), fit.chooser.noise_de00.ln(), noise_se),
            Recovered::normal(truth.weight.ln(), fit.chooser.value_weight.ln(), weight_se),
        ],
        held: [
            (fit.value_bias, truth.bias),
            (fit.noise_de00, truth.noise),
            (fit.value_weight, truth.weight),
        ]
        .map(|(interval, truth)| (interval.low..=interval.high).contains(&truth)),
        converged: fit.converged,
    }
}

/// Bias of L₀ at most 0.05 and coverage at least 0.90 at 60 answers: design choices.
fn gate(runs: u32, slack: f64) {
    let mut found = Vec::new();
    println!("| answers | quantity | bias ± SE | RMSE | coverage |");
    println!("|---|---|---|---|---|");
    for trials in [40, 60, 100] {
        let all: Vec<Run> = (0..runs).into_par_iter().map(|i| run(i, trials)).collect();
        for (i, name) in ["L₀", "ln σ", "ln w"].into_iter().enumerate() {
            let recovered: Vec<Recovered> = all.iter().map(|run| run.found[i]).collect();
            let of = recovery(&recovered);
            let coverage = all.iter().filter(|run| run.held[i]).count() as f64 / f64::from(runs);
            println!(
                "| {trials} | {name} | {:+.3} ± {:.3} | {:.3} | {coverage:.3} |",
                of.bias, of.bias_se, of.rmse
            );
            if trials == 60 {
                if name == "L₀" && !(of.bias.abs() <= 0.05 + slack * of.bias_se) {
                    found.push(format!("bias of {name} {:.3} ± {:.3}", of.bias, of.bias_se));
                }
                let least = 0.90 - slack * coverage_se(f64::from(runs));
                if !(coverage >= least) {
                    found.push(format!("coverage of {name} {coverage:.3}"));
                }
            }
        }
        if let Some(place) = all.iter().position(|run| !run.converged) {
            found.push(format!("{trials} answers: the fit of run {place} did not settle"));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn choosers_among_options_come_back() {
    gate(60, 2.0);
}

#[test]
#[ignore = "400 runs a row, a minute in a release build"]
fn choosers_among_options_come_back_in_400_runs() {
    gate(400, 0.0);
}
