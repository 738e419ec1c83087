//! "Find it": smiles that stay until the learner presses, laid out beforehand.

use super::session::{ComposedSmile, MeasureError, SmileRequest};
use crate::material::Library;
use crate::psychophysics::instrument::{Signal, Stimulus};
use crate::psychophysics::{Direction, Proportion, Search, SearchTimes};
use crate::random::{Purpose, StreamKey};
use crate::results::TrialRow;
use crate::scene::Tooth;
use crate::trial::{Plan, Response, ScheduleError, Sign, Timing, TrialKind, schedule};
use rand::seq::SliceRandom;
use rayon::prelude::*;
use thiserror::Error;

/// The name that such sessions have instead of a level's id.
pub const FIND_ID: &str = "find";
/// Trials: 48 with a restoration and 16 without.
pub const FIND_TRIALS: u32 = 64;
/// Longest time that a smile stays, s.
pub const FIND_CAP_S: f64 = 8.0;
/// Differences shown, ΔE00, each as often darker as lighter.
const SIZES_DE00: [f64; 4] = [0.8, 1.3, 1.8, 3.0];
/// Teeth in view.
const TEETH: usize = 10;
/// A frame longer than this while the smile was in view spoils its time, ms.
const LONGEST_FRAME_MS: f64 = 50.0;

/// Why no session can be laid out.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FindError {
    /// The order of trials cannot be laid out.
    #[error(transparent)]
    Schedule(#[from] ScheduleError),
    /// A smile cannot be made.
    #[error(transparent)]
    Smile(#[from] MeasureError),
}

/// Lays out `trials` smiles to be searched.
///
/// # Errors
/// [`FindError`].
pub fn find_plan(library: &Library, seed: u64, trials: u32) -> Result<Plan, FindError> {
    let teeth = Tooth::arch(TEETH);
    let key = |form| StreamKey { form, seed, purpose: Purpose::Schedule, block: 0, trial: 0 };
    let order = schedule(key(FIND_ID), trials as usize, &teeth, 0.5)?;
    // Each size equally often within each sign, in an order of its own.
    let mut sizes: [Vec<f64>; 2] = Default::default();
    for (sign, sizes) in sizes.iter_mut().enumerate() {
        let needed = order.iter().filter(|t| t.sign.is_some_and(|s| s as usize == sign)).count();
        *sizes = SIZES_DE00.iter().copied().cycle().take(needed).collect();
        let form = if sign == 0 { "find darker sizes" } else { "find lighter sizes" };
        sizes.shuffle(&mut key(form).stream());
    }
    let requests = order.iter().map(|scheduled| {
        let signal = scheduled.tooth.zip(scheduled.sign).map(|(tooth, sign)| Signal {
            tooth,
            direction: match sign {
                Sign::Darker => Direction::Darker,
                Sign::Lighter => Direction::Lighter,
            },
            de00: sizes[sign as usize].pop().unwrap_or(SIZES_DE00[0]),
            anchor: false,
        });
        let (slot, block) = (scheduled.trial, scheduled.block);
        let stimulus = Stimulus { block, slot, shown: slot, repeat: false, signal };
        SmileRequest::new(FIND_ID, stimulus, teeth.clone(), seed)
    });
    let requests: Vec<SmileRequest> = requests.collect();
    let smiles = requests
        .par_iter()
        .map(|request| request.compose(library))
        .collect::<Result<Vec<ComposedSmile>, MeasureError>>()?;
    Ok(Plan {
        level_id: FIND_ID.to_owned(),
        title: "Find it".to_owned(),
        teaches: "How soon you find a restoration, and how many within 2.5 s.".to_owned(),
        seed,
        teeth,
        timing: Timing { exposure_s: FIND_CAP_S, until_seen: true, ..Timing::default() },
        trials: smiles.into_iter().map(|smile| smile.planned).collect(),
    })
}

/// What a session of "Find it" says.
#[derive(Debug, Clone, PartialEq)]
pub struct FindResult {
    /// The fitted times; `None` without trials that count.
    pub times: Option<SearchTimes>,
    /// Smiles without a restoration in which a tooth was named.
    pub false_alarms: Proportion,
    /// Smiles that do not count because a frame stood too long.
    pub missed: u32,
}

impl FindResult {
    /// The result of stored trials.
    #[must_use]
    pub fn new(rows: &[TrialRow]) -> Self {
        let counts = |row: &&TrialRow| row.outcome.exposure.longest_frame_ms <= LONGEST_FRAME_MS;
        let kept: Vec<&TrialRow> = rows.iter().filter(counts).collect();
        let searches: Vec<Search> = kept.iter().filter_map(|row| search(row)).collect();
        let catches = kept.iter().filter(|row| row.outcome.kind == TrialKind::Catch);
        let mut false_alarms = Proportion::default();
        for row in catches {
            false_alarms.total += 1;
            false_alarms.successes += u32::from(matches!(row.outcome.response, Response::Tooth(_)));
        }
        let missed = (rows.len() - kept.len()) as u32;
        Self { times: SearchTimes::fit(&searches), false_alarms, missed }
    }
}

/// A signal trial as a search. The press is the end of the exposure; a picture that went away by
/// itself was not found in time, whatever was guessed then.
fn search(row: &TrialRow) -> Option<Search> {
    let de00 = row.difference.map(|difference| difference.de00)?;
    let onsets = row.outcome.onsets;
    let pressed_s = onsets.mask_s - onsets.onset_s;
    let in_time = pressed_s < FIND_CAP_S - 0.5 / row.outcome.exposure.refresh_hz;
    let found_s = (in_time && row.outcome.verdict.is_right()).then_some(pressed_s);
    Some(Search { de00, found_s, cap_s: FIND_CAP_S })
}
