//! The instrument itself: schedule, posterior, records.

use super::config::{
    Answer, Config, InstrumentError, Record, Saved, Shown, Signal, Stimulus, StopReason,
};
use super::estimate::Estimate;
use super::online::{OnlineModel, Outcome};
use super::places::{BLOCK, Place, check, lay_out};
use super::report;
use crate::psychophysics::shared_posterior::SharedPosterior;
use crate::psychophysics::{Axis, Direction, Posterior};
use std::collections::VecDeque;
use std::sync::Arc;

/// An easy trial shows this many thresholds.
const ANCHOR: f64 = 2.5;
/// How many trials at one end of the range in a row are a warning.
const EDGE_RUN: usize = 4;

/// One measurement in progress. See the [module](super) for how to use it.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    config: Config,
    seed: u64,
    online: Arc<OnlineModel>,
    places: Vec<Place>,
    /// Places of the current block still to be answered.
    queue: VecDeque<usize>,
    next_block: usize,
    posterior: SharedPosterior,
    records: Vec<Record>,
}

/// How precise an axis is so far, by the posterior that chooses stimuli.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisProgress {
    /// The axis.
    pub axis: Axis,
    /// Posterior mean threshold, ΔE00 (exponential of the mean of `ln τ`).
    pub threshold_de00: f64,
    /// Posterior standard deviation of `ln τ`.
    pub sd_ln_threshold: f64,
    /// Whether the last four answered signal trials of this axis all lay at one end of the range:
    /// the threshold may lie outside what can be shown.
    pub at_the_edge: bool,
}

impl Instrument {
    /// A new measurement. The same configuration and seed give the same schedule.
    ///
    /// # Errors
    /// [`InstrumentError`] when the configuration cannot be measured with.
    pub fn new(config: Config, seed: u64) -> Result<Self, InstrumentError> {
        check(&config)?;
        let online = OnlineModel::new(config.teeth.len(), config.exposure_s)
            .map_err(|_| InstrumentError::Teeth(config.teeth.len()))?;
        Self::with_model(config, seed, Arc::new(online))
    }

    /// A new measurement that shares its tables with others of as many teeth and the same
    /// exposure; with any other model, builds its own.
    ///
    /// # Errors
    /// [`InstrumentError`] when the configuration cannot be measured with.
    pub fn with_model(
        config: Config,
        seed: u64,
        online: Arc<OnlineModel>,
    ) -> Result<Self, InstrumentError> {
        check(&config)?;
        if !online.fits(config.teeth.len(), config.exposure_s) {
            return Self::new(config, seed);
        }
        let posterior = online
            .prior(config.axes.len())
            .ok_or_else(|| InstrumentError::Axes(config.axes.clone()))?;
        let places = lay_out(&config, seed)?;
        let mut instrument = Self {
            config,
            seed,
            online,
            places,
            queue: VecDeque::new(),
            next_block: 0,
            posterior,
            records: Vec::new(),
        };
        instrument.refill();
        Ok(instrument)
    }

    /// Goes on exactly where a saved measurement stopped, by replaying its answers.
    ///
    /// # Errors
    /// [`InstrumentError::Version`] and [`InstrumentError::Replay`] when it was not saved by this
    /// layout or this schedule; otherwise as [`new`](Self::new) and [`record`](Self::record).
    pub fn resume(saved: Saved) -> Result<Self, InstrumentError> {
        if saved.version != Saved::VERSION {
            let (got, wanted) = (saved.version, Saved::VERSION);
            return Err(InstrumentError::Version { got, wanted });
        }
        let mut instrument = Self::new(saved.config, saved.seed)?;
        for (index, record) in saved.records.into_iter().enumerate() {
            let same_place = instrument.place().is_some_and(|place| {
                let (slot, shown, signal) = instrument.shape(place);
                let got = record.stimulus.signal.map(|s| (s.tooth, s.direction));
                slot == record.stimulus.slot && shown == record.stimulus.shown && signal == got
            });
            if !same_place {
                return Err(InstrumentError::Replay(index));
            }
            instrument.learn(record)?;
        }
        Ok(instrument)
    }

    /// What to save after every trial.
    #[must_use]
    pub fn saved(&self) -> Saved {
        Saved {
            version: Saved::VERSION,
            config: self.config.clone(),
            seed: self.seed,
            records: self.records.clone(),
        }
    }

    /// What is measured.
    #[must_use]
    pub const fn config(&self) -> &Config {
        &self.config
    }

    /// Trials so far, in the order shown.
    #[must_use]
    pub fn records(&self) -> &[Record] {
        &self.records
    }

    /// Every weight of the online posterior as bytes. The same answers give the same bytes.
    #[must_use]
    pub fn posterior_bytes(&self) -> Vec<u8> {
        self.posterior.to_bytes()
    }

    /// The online posterior, for tests and benchmarks.
    #[must_use]
    pub const fn posterior(&self) -> &SharedPosterior {
        &self.posterior
    }

    fn place(&self) -> Option<usize> {
        self.queue.front().copied()
    }

    /// Slot, running number, tooth and direction of what is shown at a place now.
    fn shape(&self, place: usize) -> (u32, u32, Option<(crate::scene::Tooth, Direction)>) {
        let at = &self.places[place];
        let signal = at.scheduled.tooth.zip(at.signal).map(|(t, (direction, _))| (t, direction));
        (place as u32, self.records.len() as u32, signal)
    }

    /// What to show now; `None` when the schedule has run out. Has no side effect.
    #[must_use]
    pub fn next_stimulus(&self) -> Option<Stimulus> {
        let place = self.place()?;
        let (slot, shown, signal) = self.shape(place);
        let signal = signal.map(|(tooth, direction)| {
            let anchor = self.places[place].signal.is_some_and(|(_, anchor)| anchor);
            let (least, most) = (self.config.least_de00, self.config.most_de00);
            let axis = self.index(direction.axis());
            let de00 = if anchor {
                let (ln_threshold, _) = self.online.ln_threshold(&self.posterior, axis);
                (ANCHOR * ln_threshold.exp()).clamp(least, most)
            } else {
                self.online.choose(&self.posterior, axis, (least, most))
            };
            Signal { tooth, direction, de00, anchor }
        });
        let repeat = self.records.iter().any(|r| r.stimulus.slot == slot);
        let block = (place / BLOCK) as u32;
        Some(Stimulus { block, slot, shown, repeat, signal })
    }

    /// Takes the answer to [`next_stimulus`](Self::next_stimulus).
    ///
    /// # Errors
    /// [`InstrumentError`] when no trial is waiting, or what was shown or answered cannot have
    /// been; then nothing is recorded.
    pub fn record(&mut self, shown: Shown, answer: Answer) -> Result<(), InstrumentError> {
        let stimulus = self.next_stimulus().ok_or(InstrumentError::Over)?;
        self.learn(Record { stimulus, shown, answer })
    }

    fn learn(&mut self, record: Record) -> Result<(), InstrumentError> {
        self.check_shown(&record)?;
        let Some(place) = self.queue.pop_front() else { return Err(InstrumentError::Over) };
        let named = match record.answer {
            Answer::Tooth(tooth) => Some(Some(tooth)),
            Answer::None => Some(None),
            Answer::TimedOut => None,
            Answer::Void => {
                self.queue.push_back(place);
                None
            }
        };
        if let Some(named) = named {
            match record.stimulus.signal {
                Some(signal) => {
                    let outcome = match named {
                        None => Outcome::None,
                        Some(tooth) if tooth == signal.tooth => Outcome::Right,
                        Some(_) => Outcome::Wrong,
                    };
                    let axis = self.index(signal.direction.axis());
                    let (x, exposure_s) = (record.shown.de00, record.shown.exposure_s);
                    let online = Arc::clone(&self.online);
                    online.learn_signal(&mut self.posterior, axis, x, exposure_s, outcome);
                }
                None => {
                    Arc::clone(&self.online).learn_catch(&mut self.posterior, named.is_some());
                }
            }
        }
        self.records.push(record);
        self.refill();
        Ok(())
    }

    fn check_shown(&self, record: &Record) -> Result<(), InstrumentError> {
        let (shown, teeth) = (&record.shown, self.config.teeth.len());
        let kind = record.stimulus.kind();
        let possible = match record.stimulus.signal {
            Some(_) => shown.de00 > 0.0 && shown.de00.is_finite(),
            None => shown.de00 == 0.0,
        };
        // What a void trial showed is anybody's guess.
        if record.answer != Answer::Void {
            if !possible {
                return Err(InstrumentError::Shown { kind, de00: shown.de00 });
            }
            if !(shown.exposure_s > 0.0 && shown.exposure_s <= 60.0) {
                return Err(InstrumentError::Exposure(shown.exposure_s));
            }
            let residuals = &shown.residuals_de00;
            let fits = residuals.is_empty() || residuals.len() == teeth;
            if !fits || !residuals.iter().all(|r| r.is_finite()) {
                return Err(InstrumentError::Residuals { got: residuals.len(), teeth });
            }
        }
        match record.answer {
            Answer::Tooth(tooth) if !self.config.teeth.contains(&tooth) => {
                Err(InstrumentError::NotOffered(tooth))
            }
            _ => Ok(()),
        }
    }

    /// Deals the next block when the current one is answered.
    fn refill(&mut self) {
        if self.queue.is_empty() && self.next_block * BLOCK < self.places.len() {
            let start = self.next_block * BLOCK;
            self.queue.extend(start..(start + BLOCK).min(self.places.len()));
            self.next_block += 1;
        }
    }

    fn index(&self, axis: Axis) -> usize {
        self.config.axes.iter().position(|a| *a == axis).unwrap_or(0)
    }

    /// Trials that count towards the limit: all but the void ones.
    #[must_use]
    pub fn trials(&self) -> u32 {
        self.records.iter().filter(|r| r.answer != Answer::Void).count() as u32
    }

    /// Whether the measurement is over after `elapsed_s` seconds, and why.
    #[must_use]
    pub fn is_done(&self, elapsed_s: f64) -> Option<StopReason> {
        let stop = self.config.stop;
        let precise = (0..self.config.axes.len())
            .all(|axis| self.online.ln_threshold(&self.posterior, axis).1 <= stop.sd_ln_threshold);
        if precise {
            Some(StopReason::Precise)
        } else if self.trials() >= stop.max_trials || self.queue.is_empty() {
            Some(StopReason::Trials)
        } else if elapsed_s >= stop.max_elapsed_s {
            Some(StopReason::Time)
        } else {
            None
        }
    }

    /// How precise every axis is so far, in the order asked.
    #[must_use]
    pub fn progress(&self) -> Vec<AxisProgress> {
        let of = |(index, axis): (usize, &Axis)| {
            let (mean, sd) = self.online.ln_threshold(&self.posterior, index);
            let signals = self.records.iter().rev().filter_map(|r| r.stimulus.signal);
            let last: Vec<f64> = signals
                .filter(|s| s.direction.axis() == *axis && !s.anchor)
                .take(EDGE_RUN)
                .map(|s| s.de00)
                .collect();
            // The chosen differences lie on a grid, so the ends are met to within half a step.
            let low = last.iter().all(|x| *x < self.config.least_de00 * 1.07);
            let high = last.iter().all(|x| *x > self.config.most_de00 / 1.07);
            AxisProgress {
                axis: *axis,
                threshold_de00: mean.exp(),
                sd_ln_threshold: sd,
                at_the_edge: last.len() == EDGE_RUN && (low || high),
            }
        };
        self.config.axes.iter().enumerate().map(of).collect()
    }

    /// What was found so far: the full observer refitted to all answered trials. Takes up to half
    /// a second.
    ///
    /// # Errors
    /// [`InstrumentError::Fit`] when the fit has no maximum.
    pub fn estimate(&self) -> Result<Estimate, InstrumentError> {
        self.estimate_of(&self.records)
    }

    /// As [`estimate`](Self::estimate), from some of the trials alone: a block, a half.
    ///
    /// # Errors
    /// [`InstrumentError::Fit`] when the fit has no maximum.
    pub fn estimate_of(&self, records: &[Record]) -> Result<Estimate, InstrumentError> {
        self.posterior_of(records).map(|(estimate, _)| estimate)
    }

    /// As [`estimate_of`](Self::estimate_of), with the posterior it summarises.
    ///
    /// # Errors
    /// [`InstrumentError::Fit`] when the fit has no maximum.
    pub fn posterior_of(
        &self,
        records: &[Record],
    ) -> Result<(Estimate, Posterior), InstrumentError> {
        report::fit(&self.config, records)
    }
}
