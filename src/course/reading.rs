//! Sittings filled in from stored trials.

use super::estimate::ItemAnswer;
use super::shown::FormSitting;
use crate::bake::ZoneDifference;
use crate::level::course_format::Phase;
use crate::results::{Counted, FormTrial, ItemClaim, Store, StoreError};
use std::collections::BTreeMap;

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

/// The sittings of `course`, or of all courses, still without answers, and the forms' ids, by session.
pub(super) fn opened(
    store: &Store,
    course: Option<&str>,
) -> Result<(BTreeMap<i64, Open>, BTreeMap<i64, String>), StoreError> {
    let counted = store.counted_sittings()?;
    let mut open: BTreeMap<i64, Open> = BTreeMap::new();
    let mut form_ids: BTreeMap<i64, String> = BTreeMap::new();
    for session in store.course_sessions()? {
        let sitting = session.sitting;
        if course.is_some_and(|course| course != sitting.course) {
            continue;
        }
        let Some(phase) = sitting.phase.as_deref().and_then(Phase::named) else { continue };
        let form = sitting.form.unwrap_or_default();
        let of = (sitting.course, form.clone(), session.seed, session.planned);
        form_ids.insert(session.session, form);
        let sitting = FormSitting {
            session: session.session,
            learner: sitting.learner,
            seat: sitting.seat,
            phase,
            form: 0,
            day: session.day,
            counted: counted.get(&session.session).copied().unwrap_or(Counted::Only),
            response_factor: sitting.response_factor,
            answers: Vec::new(),
            named: Vec::new(),
            median_right_s: None,
            spoilt: 0,
            estimate: None,
        };
        open.insert(session.session, Open { sitting, times: Vec::new(), of });
    }
    Ok((open, form_ids))
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
