//! Sittings filled in from stored trials.

use super::estimate::ItemAnswer;
use super::shown::FormSitting;
use crate::bake::ZoneDifference;
use crate::results::{FormTrial, ItemClaim};

/// A frame longer than this spoils an exposure, ms, and so does being off by this many frames.
/// As in measurements.
const LONGEST_FRAME_MS: f64 = 50.0;
const FRAMES_OFF: u32 = 2;

/// What is being filled in while rows are read.
pub(super) struct Open {
    pub sitting: FormSitting,
    pub times: Vec<f64>,
    /// The session's course, form, seed and planned smiles: what its trials are held against.
    pub of: (String, String, u64, u32),
}

/// What a trial says about its item.
pub(super) fn claim<'a>(of: &'a Open, trial: &FormTrial<'a>) -> ItemClaim<'a> {
    let (course, form, seed, planned) = &of.of;
    let [de00, dl00, dc00, dh00] = trial.de00;
    ItemClaim {
        course,
        form: Some(form),
        session_seed: *seed,
        planned: *planned,
        trial: trial.trial,
        block: trial.block,
        seed_key: trial.seed_key,
        n_teeth: trial.teeth,
        target: trial.target,
        tooth: trial.target_tooth,
        named: trial.named.zip(trial.named_tooth),
        difference: (trial.target > 0).then_some(ZoneDifference { de00, dl00, dc00, dh00 }),
        residuals: trial.residuals.split(',').count(),
    }
}

pub(super) fn note_answer(of: &mut Open, item: u32, trial: &FormTrial<'_>) {
    let place = item as usize;
    let sitting = &mut of.sitting;
    if sitting.answers.len() <= place {
        sitting.answers.resize(place + 1, None);
        sitting.named.resize(place + 1, None);
    }
    let (requested, shown, longest_ms) = trial.frames;
    // One that the program's end cut off was seen for a time that nobody knows: it is not shown
    // again, and counts as not answered.
    let was_cut_off = trial.timed_out && shown == 0;
    let is_spoilt = requested.abs_diff(shown) >= FRAMES_OFF || longest_ms > LONGEST_FRAME_MS;
    if is_spoilt && !was_cut_off {
        sitting.spoilt += 1;
        return;
    }
    let answer = match trial.named {
        _ if trial.timed_out => ItemAnswer::TimedOut,
        None => ItemAnswer::None,
        Some(named) if trial.target > 0 && named == trial.target => ItemAnswer::Right,
        Some(_) => ItemAnswer::Wrong,
    };
    if answer == ItemAnswer::Right
        && let Some(seconds) = trial.response_s
    {
        of.times.push(seconds);
    }
    sitting.answers[place] = Some(answer);
    sitting.named[place] = trial.named;
}
