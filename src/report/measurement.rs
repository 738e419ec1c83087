//! A measurement in plain words and as series to plot.

use crate::psychophysics::instrument::{Answer, AxisEstimate, Config, Estimate, Interval, Record};
use crate::psychophysics::{
    ACCEPTABILITY_DE00, Axis, GlanceModel, GlanceParameters, ModelTrial, PERCEPTIBILITY_DE00,
    Proportion, Summary,
};
use crate::results::StoredMeasurement;
use crate::words::count;

/// Where the curve is drawn, ΔE00.
const CURVE_DE00: (f64, f64) = (0.3, 6.5);
const CURVE_STEPS: usize = 60;
/// Where the published values come from.
pub const PUBLISHED: &str = "50:50 values for perceptibility (0.8 ΔE00) and acceptability \
(1.8 ΔE00), found with pairs of ceramic specimens in a viewing booth (Paravina et al., Color \
difference thresholds in dentistry, J Esthet Restor Dent 2015;27 Suppl 1:S1-S9)";
/// Edges of the bins in which answers are counted for the plot, ΔE00.
const BIN_EDGES_DE00: [f64; 8] = [0.3, 0.6, 0.9, 1.3, 1.9, 2.8, 4.2, 7.0];
/// d′ beyond which hits and false alarms of a session say no more than "far above". Common
/// practice, no source.
const LARGEST_D_PRIME: f64 = 4.0;
/// Catch trials below which a false-alarm rate is called uncertain. Design choice.
const ENOUGH_CATCH: u32 = 40;

/// Answers at about one size of difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// Mean difference shown, ΔE00.
    pub de00: f64,
    /// The restored tooth named, of all answers.
    pub found: Proportion,
}

/// One axis as a plot.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisChart {
    /// The estimate.
    pub estimate: AxisEstimate,
    /// Share of smiles in which the restored tooth is named, by ΔE00, by the fitted observer: mean
    /// over the teeth, natural variation left out.
    pub curve: Vec<[f64; 2]>,
    /// What was answered.
    pub observed: Vec<Observed>,
}

/// Sensitivity on one measured axis at the published values, each with its 95 % interval.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sensitivity {
    /// The axis.
    pub axis: Axis,
    /// d′ at [`PERCEPTIBILITY_DE00`], such as `0.8 (95 %: 0.5-1.2)`.
    pub at_perceptibility: String,
    /// d′ at [`ACCEPTABILITY_DE00`].
    pub at_acceptability: String,
}

/// What a measurement says, ready to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasurementReport {
    /// The result in one or two plain sentences.
    pub headline: String,
    /// Further findings, one sentence or two each.
    pub findings: Vec<String>,
    /// d′ at the published values, one entry an axis that was measured.
    pub sensitivity: Vec<Sensitivity>,
    /// How well the exposures were held.
    pub timing: Vec<String>,
    /// One plot an axis.
    pub charts: Vec<AxisChart>,
    /// False alarms on smiles without a restoration.
    pub false_alarms: Proportion,
}

/// An axis in words that stand after "differences".
#[must_use]
pub const fn axis_in_words(axis: Axis) -> &'static str {
    match axis {
        Axis::Darker => "darker",
        Axis::Lighter => "lighter",
        Axis::Chroma => "in chroma",
        Axis::Hue => "in hue",
    }
}

impl MeasurementReport {
    /// The report of a measurement.
    #[must_use]
    pub fn new(estimate: &Estimate, stored: &StoredMeasurement) -> Self {
        let config = &stored.saved.config;
        let charts = estimate
            .axes
            .iter()
            .map(|axis| AxisChart {
                estimate: *axis,
                curve: curve(estimate, axis, config),
                observed: observed(axis.axis, &stored.saved.records),
            })
            .collect();
        Self {
            headline: headline(estimate),
            findings: findings(estimate),
            sensitivity: sensitivity(estimate),
            timing: timing(stored),
            charts,
            false_alarms: estimate.false_alarms.counted,
        }
    }

    /// All of it as plain text, one finding a line.
    #[must_use]
    pub fn text(&self) -> String {
        let sensitivity: Vec<String> = self.sensitivity.iter().map(Sensitivity::sentence).collect();
        let published =
            (!sensitivity.is_empty()).then(|| format!("Published values: {PUBLISHED}."));
        let lines = [&self.headline].into_iter().chain(&self.findings).chain(&sensitivity);
        let lines = lines.chain(&published).chain(&self.timing);
        lines.map(|line| format!("{line}\n")).collect()
    }
}

impl Sensitivity {
    fn sentence(&self) -> String {
        format!(
            "Sensitivity d' to differences {}: {} at {PERCEPTIBILITY_DE00} ΔE00, {} at \
             {ACCEPTABILITY_DE00} ΔE00.",
            axis_in_words(self.axis),
            self.at_perceptibility,
            self.at_acceptability
        )
    }
}

fn sensitivity(estimate: &Estimate) -> Vec<Sensitivity> {
    let row = |axis: &AxisEstimate| Sensitivity {
        axis: axis.axis,
        at_perceptibility: d_prime(axis.d_prime_at_perceptibility),
        at_acceptability: d_prime(axis.d_prime_at_acceptability),
    };
    estimate.axes.iter().filter(|axis| axis.measured).map(row).collect()
}

/// A d′ with its interval, to one decimal.
fn d_prime(interval: Interval) -> String {
    let figure = |value: f64| {
        if value > LARGEST_D_PRIME {
            format!("above {LARGEST_D_PRIME:.0}")
        } else {
            format!("{value:.1}")
        }
    };
    let (value, low, high) = (figure(interval.value), figure(interval.low), figure(interval.high));
    if interval.low > LARGEST_D_PRIME {
        return value;
    }
    let to = if interval.high > LARGEST_D_PRIME { " to " } else { "-" };
    format!("{value} (95 %: {low}{to}{high})")
}

fn headline(estimate: &Estimate) -> String {
    if !estimate.is_measurable() {
        return "Not measured: the restored tooth was not named more often than pointing at random \
                would. A longer session, or larger differences in practice first, may help."
            .to_owned();
    }
    let measured: Vec<&AxisEstimate> = estimate.axes.iter().filter(|a| a.measured).collect();
    if measured.is_empty() {
        return "Not yet measured: the answers so far leave the threshold open by more than a \
                factor of 2.5. A longer session will narrow it."
            .to_owned();
    }
    let each: Vec<String> = measured
        .iter()
        .map(|axis| {
            format!("{} {}", axis_in_words(axis.axis), two_digits(axis.threshold_de00.value))
        })
        .collect();
    format!(
        "On this screen, at a glance, you see a tooth that differs by about this much (ΔE00): {}.",
        each.join(", ")
    )
}

fn findings(estimate: &Estimate) -> Vec<String> {
    let mut lines: Vec<String> = estimate.axes.iter().map(axis_sentence).collect();
    lines.push(false_alarm_sentence(estimate));
    if let Some(asymmetry) = estimate.value_asymmetry
        && estimate
            .axes
            .iter()
            .filter(|a| a.axis != Axis::Chroma && a.axis != Axis::Hue)
            .all(|a| a.measured)
    {
        let ratio = asymmetry.ratio;
        let range = range(ratio);
        lines.push(if !asymmetry.is_certain() {
            format!(
                "Darker against lighter: no difference we can be sure of (ratio {}, 95 %: {range}).",
                two_digits(ratio.value)
            )
        } else if ratio.value < 1.0 {
            format!(
                "Darker errors catch your eye more easily than lighter ones (ratio {}, 95 %: \
                 {range}).",
                two_digits(ratio.value)
            )
        } else {
            format!(
                "Lighter errors catch your eye more easily than darker ones (ratio {}, 95 %: \
                 {range}): you may let teeth pass that are too dark.",
                two_digits(ratio.value)
            )
        });
    }
    let side = estimate.side_bias;
    lines.push(if side.low > 0.0 {
        "You name teeth on the right of the picture more readily than on the left.".to_owned()
    } else if side.high < 0.0 {
        "You name teeth on the left of the picture more readily than on the right.".to_owned()
    } else {
        "Left against right: no side bias we can be sure of.".to_owned()
    });
    let natural = estimate.confusion;
    lines.push(if natural.low > 0.0 {
        format!(
            "Natural differences between teeth draw you: they weigh {:.0} % of what a restoration's \
             would (95 %: {:.0}-{:.0} %).",
            100.0 * natural.value,
            100.0 * natural.low,
            100.0 * natural.high
        )
    } else {
        "Natural differences between teeth: no sign that you take them for restorations.".to_owned()
    });
    if estimate.summary == Summary::Normal {
        lines.push(
            "The ranges (95 %) are rougher than usual: these answers fit observers so unlike one \
             another that only a simple approximation could be worked out."
                .to_owned(),
        );
    }
    lines
}

fn axis_sentence(axis: &AxisEstimate) -> String {
    let name = axis_in_words(axis.axis);
    let trials = count(axis.trials, "smile", "smiles");
    if axis.measured {
        format!(
            "Differences {name}: threshold {} ΔE00 (95 %: {}), from {trials}.",
            two_digits(axis.threshold_de00.value),
            range(axis.threshold_de00)
        )
    } else {
        format!("Differences {name}: not yet measured, from {trials}.")
    }
}

fn false_alarm_sentence(estimate: &Estimate) -> String {
    let counted = estimate.false_alarms.counted;
    let Some(rate) = estimate.false_alarms.rate else {
        return "False alarms: not yet measured.".to_owned();
    };
    let certain = if counted.total < ENOUGH_CATCH { " Few smiles: not yet certain." } else { "" };
    format!(
        "False alarms: {} of {} smiles without a restoration ({:.0} %; 95 %: {:.0}-{:.0} %).{certain}",
        counted.successes,
        counted.total,
        100.0 * rate.value,
        100.0 * rate.low,
        100.0 * rate.high
    )
}

fn timing(stored: &StoredMeasurement) -> Vec<String> {
    let shown = stored.trials.len();
    let missed = stored.trials.iter().filter(|t| t.missed.is_some()).count();
    let rates: Vec<f64> = stored.trials.iter().map(|t| t.refresh_hz_now).collect();
    let (low, high) = rates
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(low, high), hz| (low.min(*hz), high.max(*hz)));
    let mut lines = vec![match missed {
        0 => format!("All {shown} exposures were held to the frame, or to within one."),
        _ => format!(
            "{missed} of {shown} exposures were not held; those smiles do not count, and others \
             were shown in their place."
        ),
    }];
    if shown > 0 {
        lines.push(format!(
            "Refresh rate {low:.1} to {high:.1} Hz, estimated after every smile. Timed by software; \
             no light sensor was used."
        ));
    }
    lines
}

/// Two significant digits.
fn two_digits(value: f64) -> String {
    if value >= 9.95 {
        format!("{value:.0}")
    } else if value >= 0.995 {
        format!("{value:.1}")
    } else {
        format!("{value:.2}")
    }
}

fn range(interval: Interval) -> String {
    format!("{}-{}", two_digits(interval.low), two_digits(interval.high))
}

fn curve(estimate: &Estimate, axis: &AxisEstimate, config: &Config) -> Vec<[f64; 2]> {
    let model = GlanceModel::new(&config.teeth, &[axis.axis]);
    let parameters = GlanceParameters {
        thresholds_de00: vec![(axis.axis, axis.threshold_de00.value)],
        exponent: estimate.exponent.value,
        criterion: estimate.criterion.value,
        lapse: estimate.lapse.value,
        confusion: 0.0,
        eccentricity_loss: estimate.eccentricity_loss.value,
        side_bias: estimate.side_bias.value,
    };
    let direction = axis.axis.directions()[0];
    let teeth = config.teeth.len();
    let found = |de00: f64| {
        let one = |tooth: usize| {
            let trial = ModelTrial {
                signal: Some((tooth, direction, de00)),
                residuals_de00: vec![0.0; teeth],
                exposure_s: config.exposure_s,
                answer: 0,
            };
            model.probabilities(&parameters, &trial)[tooth + 1]
        };
        (0..teeth).map(one).sum::<f64>() / teeth as f64
    };
    let (low, high) = CURVE_DE00;
    (0..=CURVE_STEPS)
        .map(|i| low * (high / low).powf(i as f64 / CURVE_STEPS as f64))
        .map(|de00| [de00, found(de00)])
        .collect()
}

fn observed(axis: Axis, records: &[Record]) -> Vec<Observed> {
    BIN_EDGES_DE00
        .windows(2)
        .filter_map(|edges| {
            let answered = records.iter().filter_map(|record| {
                let signal = record.stimulus.signal.filter(|s| s.direction.axis() == axis)?;
                let named = match record.answer {
                    Answer::Tooth(tooth) => tooth == signal.tooth,
                    Answer::None => false,
                    Answer::TimedOut | Answer::Void => return None,
                };
                (edges[0]..edges[1])
                    .contains(&record.shown.de00)
                    .then_some((record.shown.de00, named))
            });
            let answered: Vec<(f64, bool)> = answered.collect();
            let total = answered.len() as u32;
            let successes = answered.iter().filter(|(_, named)| *named).count() as u32;
            let mean = answered.iter().map(|(de00, _)| de00).sum::<f64>() / f64::from(total.max(1));
            (total > 0).then_some(Observed { de00: mean, found: Proportion { successes, total } })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sensitivities_are_capped() {
        let of = |value, low, high| d_prime(Interval { value, low, high });
        assert_eq!(of(0.84, 0.52, 1.21), "0.8 (95 %: 0.5-1.2)");
        assert_eq!(of(3.6, 2.4, 5.1), "3.6 (95 %: 2.4 to above 4)");
        assert_eq!(of(6.0, 3.1, 9.0), "above 4 (95 %: 3.1 to above 4)");
        assert_eq!(of(9.0, 6.0, 14.0), "above 4");
    }

    #[test]
    fn numbers_have_two_significant_digits() {
        for (value, text) in [(0.456, "0.46"), (0.999, "1.0"), (1.849, "1.8"), (12.4, "12")] {
            assert_eq!(two_digits(value), text);
        }
    }
}
