//! The measurement between instrument and trial engine.

use super::stimulus::{AxisStimulus, Canvas, StimulusError, solve};
use crate::bake::{BakeError, Truth, within_reach};
use crate::colorimetry::Illuminant;
use crate::course::EXAM_SPACE;
use crate::level::format::{LchRanges, PatientRanges, Range};
use crate::level::patient;
use crate::material::Library;
use crate::psychophysics::Axis;
use crate::psychophysics::instrument::{
    Answer, Config, Instrument, InstrumentError, Saved, Shown, Stimulus, StopReason,
};
use crate::random::{Purpose, StreamKey};
use crate::results::MeasuredTrial;
use crate::scene::{Case, Staging, Tooth};
use crate::trial::{Exposure, Plan, PlannedTrial, Timing, TrialOutcome};
use rand::RngExt;
use thiserror::Error;

/// The name that measurements have instead of a level's id, in results and in random streams.
pub const MEASURE_ID: &str = "measure";
/// Trials in a block.
pub const BLOCK_TRIALS: u32 = 20;
/// Teeth in view, and the largest difference asked for, ΔE00: what every patient's teeth can be
/// shifted by, either way on every axis, without leaving the display.
const TEETH: usize = 10;
const MOST_DE00: f64 = 6.0;
/// Patients tried for one stimulus before it is made smaller.
const PATIENTS: u32 = 4;
/// A frame longer than this spoils an exposure, ms.
const LONGEST_FRAME_MS: f64 = 50.0;
/// An exposure that is off by this many refresh periods is spoilt.
const PERIODS_OFF: f64 = 2.0;

/// What a measurement of `axes` asks of the instrument: ten teeth, 2.5 s, 0.4 to 6 ΔE00.
#[must_use]
pub fn measure_config(axes: Vec<Axis>) -> Config {
    Config { most_de00: MOST_DE00, ..Config::new(Tooth::arch(TEETH), axes) }
}

/// The natural teeth of measured smiles: the middle of what surveys find, with each tooth's own
/// residual of 0.7 ΔE00 (a design choice), so that "unlike its neighbour" does not mean "restored".
fn patients() -> PatientRanges {
    let range = |low, high| Range { low, high };
    PatientRanges {
        central: LchRanges { l: range(73.0, 79.0), c: range(13.0, 19.0), h: range(85.0, 90.0) },
        residual_sd_de00: 0.7,
        enamel_factor: range(0.9, 1.1),
        teeth: None,
    }
}

/// Why no smile can be made, or a measurement not go on.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MeasureError {
    /// The instrument refuses.
    #[error(transparent)]
    Instrument(#[from] InstrumentError),
    /// A tooth cannot be baked.
    #[error(transparent)]
    Bake(#[from] BakeError),
    /// No patient has a tooth that can differ as wanted.
    #[error(transparent)]
    Stimulus(#[from] StimulusError),
    /// A stored measurement does not lead to the posterior that was stored with it.
    #[error(
        "the stored answers do not lead to the stored state: the results file was changed, or \
         comes from another version"
    )]
    Posterior,
}

/// A measurement under way.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    instrument: Instrument,
    seed: u64,
}

/// A smile that is to be made: everything [`compose`](Self::compose) needs, so that another thread
/// can do it.
#[derive(Debug, Clone, PartialEq)]
pub struct SmileRequest {
    form: &'static str,
    stimulus: Stimulus,
    teeth: Vec<Tooth>,
    seed: u64,
}

/// A smile that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct ComposedSmile {
    /// The trial to show.
    pub planned: PlannedTrial,
    /// What differs; `None` on a catch trial.
    pub made: Option<AxisStimulus>,
}

/// What became of a trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// What to store beside the trial's row.
    pub measured: MeasuredTrial,
    /// Whether the block is over with it.
    pub block_is_over: bool,
}

impl Measurement {
    /// A new measurement.
    ///
    /// # Errors
    /// [`MeasureError::Instrument`] when the configuration cannot be measured with.
    pub fn new(config: Config, seed: u64) -> Result<Self, MeasureError> {
        Ok(Self { instrument: Instrument::new(config, seed)?, seed })
    }

    /// A measurement that goes on exactly where it stopped. `posterior` is what was stored with
    /// the last trial.
    ///
    /// # Errors
    /// [`MeasureError`] when the trials do not follow from one another, or not to `posterior`.
    pub fn resume(saved: Saved, posterior: &[u8]) -> Result<Self, MeasureError> {
        let seed = saved.seed;
        let instrument = Instrument::resume(saved)?;
        if instrument.posterior_bytes() != posterior {
            return Err(MeasureError::Posterior);
        }
        Ok(Self { instrument, seed })
    }

    /// The instrument.
    #[must_use]
    pub const fn instrument(&self) -> &Instrument {
        &self.instrument
    }

    /// A plan without trials, for an [open-ended](crate::trial::Engine::open_ended) engine.
    #[must_use]
    pub fn plan(&self) -> Plan {
        let config = self.instrument.config();
        Plan {
            level_id: MEASURE_ID.to_owned(),
            title: "Measure".to_owned(),
            teaches: "How small a difference you see, and how often you see one that is not there."
                .to_owned(),
            seed: self.seed,
            teeth: config.teeth.clone(),
            timing: Timing { exposure_s: config.exposure_s, ..Timing::default() },
            trials: Vec::new(),
        }
    }

    /// The smile to make next; `None` when the schedule has run out.
    #[must_use]
    pub fn next_smile(&self) -> Option<SmileRequest> {
        let stimulus = self.instrument.next_stimulus()?;
        let teeth = self.instrument.config().teeth.clone();
        Some(SmileRequest::new(MEASURE_ID, stimulus, teeth, self.seed))
    }

    /// Whether the measurement is over after `elapsed_s` seconds of measuring, and why.
    #[must_use]
    pub fn is_done(&self, elapsed_s: f64) -> Option<StopReason> {
        self.instrument.is_done(elapsed_s)
    }

    /// Takes the outcome of the smile that [`next_smile`](Self::next_smile) asked for. An exposure
    /// that was not held makes the trial void: it is shown again, as another smile, at the end of
    /// its block.
    ///
    /// # Errors
    /// [`MeasureError::Instrument`] when no trial is waiting.
    pub fn take(
        &mut self,
        smile: &ComposedSmile,
        truth: Option<&Truth>,
        outcome: &TrialOutcome,
        refresh_hz_now: f64,
        elapsed_s: f64,
    ) -> Result<Taken, MeasureError> {
        // To a tenth of a millisecond: what is beyond is rounding of the engine's running time.
        let exposure_s = ((outcome.onsets.mask_s - outcome.onsets.onset_s) * 1e4).round() / 1e4;
        let missed = missed_exposure(&outcome.exposure, exposure_s);
        let residual = |tooth: &Tooth| {
            let natural = smile.planned.case.patient.teeth.iter().find(|t| t.tooth == *tooth);
            natural.map_or(0.0, |t| t.residual_de00)
        };
        let shown = Shown {
            de00: truth.map_or(0.0, |truth| truth.difference.de00),
            residuals_de00: self.instrument.config().teeth.iter().map(residual).collect(),
            exposure_s,
        };
        let answer = if missed.is_some() { Answer::Void } else { outcome.response.into() };
        let block = smile.planned.block;
        self.instrument.record(shown, answer)?;
        let Some(record) = self.instrument.records().last().cloned() else {
            return Err(InstrumentError::Over.into());
        };
        let next = self.instrument.next_stimulus();
        let recipe = smile.made.as_ref().map_or("none", |made| made.recipe.name()).to_owned();
        Ok(Taken {
            measured: MeasuredTrial { record, recipe, missed, refresh_hz_now, elapsed_s },
            block_is_over: next.is_none_or(|next| next.block != block),
        })
    }
}

/// Why an exposure of `shown_s` seconds was not what was asked for; `None` where it was.
#[must_use]
pub fn missed_exposure(exposure: &Exposure, shown_s: f64) -> Option<String> {
    let periods = shown_s * exposure.refresh_hz;
    let off = periods - f64::from(exposure.requested_frames);
    // Not negated comparisons: a duration that is no number is a missed one.
    if !(off.abs() < PERIODS_OFF) {
        return Some(format!("shown {off:+.1} refresh periods too long"));
    }
    (exposure.longest_frame_ms > LONGEST_FRAME_MS)
        .then(|| format!("one frame lasted {:.0} ms", exposure.longest_frame_ms))
}

impl SmileRequest {
    /// A request of a session whose random streams are named by `form` and `seed`.
    pub(super) const fn new(
        form: &'static str,
        stimulus: Stimulus,
        teeth: Vec<Tooth>,
        seed: u64,
    ) -> Self {
        Self { form, stimulus, teeth, seed }
    }

    /// The smile of an item of a form ([`crate::course::Form::stimulus`]) with the form's seed: the
    /// same at every seat.
    #[must_use]
    pub fn exam(stimulus: Stimulus, form_seed: u64) -> Self {
        Self::new(EXAM_SPACE, stimulus, Tooth::arch(TEETH), form_seed)
    }

    /// What the smile is to show.
    #[must_use]
    pub const fn stimulus(&self) -> &Stimulus {
        &self.stimulus
    }

    /// Draws a patient and solves the difference that is asked for. Where no patient's tooth can
    /// have it, the nearest smaller one is made; what was made is what is recorded. A pure function
    /// of the request: the same one gives the same smile.
    ///
    /// # Errors
    /// [`MeasureError`] when nothing near can be made.
    pub fn compose(&self, library: &Library) -> Result<ComposedSmile, MeasureError> {
        let mut last = None;
        for attempt in 0..3 * PATIENTS {
            let case = self.draw(attempt, library)?;
            let Some(signal) = self.stimulus.signal else {
                return Ok(self.smile(case, None));
            };
            let Some(natural) = case.patient.teeth.iter().find(|t| t.tooth == signal.tooth) else {
                return Ok(self.smile(case, None));
            };
            let canvas = Canvas { natural, seed: case.seed, illuminant: case.illuminant };
            let de00 = signal.de00 * 0.8_f64.powi((attempt / PATIENTS) as i32);
            match solve(canvas, signal.direction, de00, library) {
                Ok(made) => {
                    let case = Case { shift: Some(made.recipe), ..case };
                    return Ok(self.smile(case, Some(made)));
                }
                Err(error) => last = Some(error),
            }
        }
        match last {
            Some(error) => Err(error.into()),
            None => Ok(self.smile(self.draw(0, library)?, None)),
        }
    }

    fn smile(&self, case: Case, made: Option<AxisStimulus>) -> ComposedSmile {
        let Stimulus { block, shown, .. } = self.stimulus;
        let kind = self.stimulus.kind();
        ComposedSmile { planned: PlannedTrial { block, trial: shown, kind, case }, made }
    }

    /// A patient of this request's own. Nothing in it depends on whether a tooth will be changed.
    fn draw(&self, attempt: u32, library: &Library) -> Result<Case, BakeError> {
        let mut stream = StreamKey {
            form: self.form,
            seed: self.seed,
            purpose: Purpose::Scene,
            block: attempt,
            trial: self.stimulus.shown,
        }
        .stream();
        let seed = stream.random::<u64>();
        let gingivae = &library.tissues().gingivae;
        let gingiva = gingivae[stream.random_range(0..gingivae.len())].colour;
        let mut patient = patient(&patients(), &self.teeth, gingiva, &mut stream);
        for tooth in &mut patient.teeth {
            *tooth = within_reach(tooth, seed, library)?;
        }
        let illuminant = Illuminant::D65;
        Ok(Case {
            seed,
            patient,
            restorations: Vec::new(),
            shift: None,
            illuminant,
            staging: Staging::default(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exposure_counts_if_its_length_and_its_frames_are_right() {
        let exposure = |requested_frames, longest_frame_ms| Exposure {
            requested_frames,
            shown_frames: requested_frames,
            longest_frame_ms,
            dropped_frames: 0,
            refresh_hz: 60.0,
        };
        // Off by two periods or a frame above 50 ms: design choices.
        for (requested, longest_ms, shown_s, counts) in [
            (150, 16.7, 2.5, true),
            (150, 33.4, 2.5 + 1.0 / 60.0, true),
            (150, 16.7, 2.5 + 2.05 / 60.0, false),
            (150, 16.7, 2.5 - 2.05 / 60.0, false),
            (150, 50.1, 2.5, false),
            (150, 16.7, f64::NAN, false),
        ] {
            let missed = missed_exposure(&exposure(requested, longest_ms), shown_s);
            assert_eq!(missed.is_none(), counts, "{longest_ms} ms, {shown_s} s: {missed:?}");
        }
    }
}
