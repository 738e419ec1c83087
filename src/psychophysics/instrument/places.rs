//! The schedule of a measurement, and what its settings must be.

use super::config::{Config, InstrumentError};
use crate::psychophysics::Direction;
use crate::random::{Purpose, StreamKey};
use crate::trial::{ScheduledTrial, schedule};
use rand::RngExt;
use rand::seq::SliceRandom;

/// Trials in a block.
pub(super) const BLOCK: usize = 20;

/// A place in the schedule, with what belongs to it whatever the answers.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Place {
    pub scheduled: ScheduledTrial,
    /// Direction and whether the trial is an easy one; `None` on catch trials.
    pub signal: Option<(Direction, bool)>,
}

pub(super) fn check(config: &Config) -> Result<(), InstrumentError> {
    let teeth = &config.teeth;
    let repeated = |i: usize| teeth[..i].contains(&teeth[i]);
    if !(4..=16).contains(&teeth.len()) || (0..teeth.len()).any(repeated) {
        return Err(InstrumentError::Teeth(teeth.len()));
    }
    let axes = &config.axes;
    let repeated = |i: usize| axes[..i].contains(&axes[i]);
    if axes.is_empty() || (0..axes.len()).any(repeated) {
        return Err(InstrumentError::Axes(axes.clone()));
    }
    let (least, most) = (config.least_de00, config.most_de00);
    // A range of one point would show the same for ever, whatever is answered.
    if !(least >= 0.25 && most <= 10.0 && most >= 4.0 * least) {
        return Err(InstrumentError::Range { least, most });
    }
    if !(config.exposure_s > 0.0 && config.exposure_s <= 60.0) {
        return Err(InstrumentError::Exposure(config.exposure_s));
    }
    let stop = config.stop;
    let possible = stop.sd_ln_threshold > 0.0
        && stop.max_elapsed_s > 0.0
        && (1..=2000).contains(&stop.max_trials);
    if possible { Ok(()) } else { Err(InstrumentError::Stop(stop)) }
}

/// The schedule in whole blocks, so that every block holds its five catch trials.
pub(super) fn lay_out(config: &Config, seed: u64) -> Result<Vec<Place>, InstrumentError> {
    let key = |form: &'static str, block: u32, trial: u32| StreamKey {
        form,
        seed,
        purpose: Purpose::Schedule,
        block,
        trial,
    };
    let trials = (config.stop.max_trials as usize).div_ceil(BLOCK) * BLOCK;
    let scheduled = schedule(key("measure", 0, 0), trials, &config.teeth, 0.5)?;
    let mut shown_on = vec![0_u32; config.axes.len()];
    let mut places = Vec::with_capacity(trials);
    for (block, slots) in scheduled.chunks(BLOCK).enumerate() {
        let block = block as u32;
        let signals = slots.iter().filter(|s| s.tooth.is_some()).count();
        // Axes take turns; where they do not divide a block, the odd ones move on from block to
        // block.
        let first = block as usize * signals;
        let mut axes: Vec<usize> =
            (first..first + signals).map(|i| i % config.axes.len()).collect();
        let mut rng = key("measure axes", block, 0).stream();
        axes.shuffle(&mut rng);
        // One easy trial in ten: one and two a block by turns.
        let easy = 1 + block as usize % 2;
        let mut anchors: Vec<bool> = (0..signals).map(|i| i < easy).collect();
        anchors.shuffle(&mut rng);
        let mut deal = axes.into_iter().zip(anchors);
        for slot in slots {
            let next = slot.tooth.and_then(|_| deal.next());
            let signal = next.map(|(index, anchor)| {
                let axis = config.axes[index];
                let (pair, second) = (shown_on[index] / 2, shown_on[index] % 2);
                shown_on[index] += 1;
                // Both directions of an axis once in every two of its trials.
                let mut rng = key("measure directions", axis as u32, pair).stream();
                let flip = usize::from(rng.random::<bool>());
                (axis.directions()[(second as usize + flip) % 2], anchor)
            });
            places.push(Place { scheduled: *slot, signal });
        }
    }
    Ok(places)
}
