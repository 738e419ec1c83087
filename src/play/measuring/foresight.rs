//! What a measurement will ask for next, prepared while the answer is awaited.
//!
//! A measured smile depends on the answer to the one before, but only on whether it is right, wrong
//! or "none". So the instrument is asked beforehand what it would show after each, and those smiles
//! are composed. A smile is used if the request that the answer leads to is the very same; otherwise
//! it is dropped, so what is shown never depends on what was prepared.
//!
//! While an answer is awaited or read about, [`session`](crate::play::session) prepares the next
//! smile, and in a measurement this asks a copy of the instrument what would follow a right, a
//! wrong and no answer. Nothing is begun in fixation, exposure or mask, and fixation waits until
//! dropped work has ended (`tests/app/play/ahead.rs`). If drawing once held a frame above 50 ms,
//! drawing waits for the answer and only the bake runs ahead. A smile's two pictures share shapes,
//! soft tissue and every map but one.

use crate::bake::Truth;
use crate::measure::{ComposedSmile, Measurement, SmileRequest};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::work::{Work, Workers};
use crate::scene::{Case, Tooth};
use crate::trial::{Response, TrialOutcome};

/// A smile being composed.
pub(crate) type Composing = Work<Result<ComposedSmile, ContentError>>;

/// Starts composing a smile in the background.
pub(crate) fn compose(
    request: SmileRequest,
    content: &ActiveContent,
    workers: &Workers,
) -> Composing {
    let content = content.0.clone();
    workers.begin(move || content.compose(&request))
}

/// One answer of each kind that a measurement tells apart, the likeliest first.
#[must_use]
pub fn kinds_of_answer(odd: Option<Tooth>, teeth: &[Tooth]) -> Vec<Response> {
    let other = teeth.iter().copied().find(|tooth| Some(*tooth) != odd);
    odd.map(Response::Tooth)
        .into_iter()
        .chain([Response::None])
        .chain(other.map(Response::Tooth))
        .collect()
}

/// The smiles that may follow the one under way.
#[derive(Default)]
pub(crate) struct Foresight {
    has_begun: bool,
    asking: Option<Work<Vec<SmileRequest>>>,
    candidates: Vec<Candidate>,
}

struct Candidate {
    request: SmileRequest,
    progress: Progress,
}

enum Progress {
    Waiting,
    Composing(Composing),
    Composed(Box<ComposedSmile>),
    Failed,
}

/// What there is of a smile that was asked for.
pub(crate) enum Found {
    /// All.
    Composed(Box<ComposedSmile>),
    /// It is being composed.
    Composing(Composing),
    /// Nothing.
    Nothing,
}

impl Foresight {
    /// Whether the instrument was asked about the answer that is awaited.
    pub(crate) const fn has_begun(&self) -> bool {
        self.has_begun
    }

    /// Asks `measurement` what would follow each of these outcomes of `smile`.
    pub(crate) fn begin(
        &mut self,
        measurement: &Measurement,
        smile: &ComposedSmile,
        truth: Option<&Truth>,
        outcomes: Vec<TrialOutcome>,
        workers: &Workers,
    ) {
        let (measurement, smile) = (measurement.clone(), smile.clone());
        let truth = truth.cloned();
        let ask = move || {
            let mut requests: Vec<SmileRequest> = Vec::new();
            for outcome in &outcomes {
                let mut supposed = measurement.clone();
                // Neither the refresh rate nor the time so far changes what comes next.
                let taken = supposed.take(&smile, truth.as_ref(), outcome, 60.0, 0.0);
                let next = taken.ok().and_then(|_| supposed.next_smile());
                requests.extend(next.filter(|next| !requests.contains(next)));
            }
            requests
        };
        self.has_begun = true;
        self.asking = Some(workers.begin(ask));
    }

    /// Goes on composing, one smile at a time.
    pub(crate) fn advance(&mut self, content: &ActiveContent, workers: &Workers) {
        if let Some(requests) = self.asking.as_mut().and_then(Work::take) {
            self.asking = None;
            let waiting = |request| Candidate { request, progress: Progress::Waiting };
            self.candidates = requests.into_iter().map(waiting).collect();
        }
        for candidate in &mut self.candidates {
            match &mut candidate.progress {
                Progress::Waiting => {
                    let work = compose(candidate.request.clone(), content, workers);
                    candidate.progress = Progress::Composing(work);
                    return;
                }
                Progress::Composing(work) => match work.take() {
                    Some(Ok(smile)) => candidate.progress = Progress::Composed(Box::new(smile)),
                    // Should it really be asked for, it is tried again and the failure told.
                    Some(Err(_)) => candidate.progress = Progress::Failed,
                    None => return,
                },
                Progress::Composed(_) | Progress::Failed => {}
            }
        }
    }

    /// Cases of the smiles that are composed, the likeliest first.
    pub(crate) fn cases(&self) -> Vec<&Case> {
        let progress = self.candidates.iter().map(|candidate| &candidate.progress);
        progress
            .filter_map(|progress| match progress {
                Progress::Composed(smile) => Some(&smile.planned.case),
                _ => None,
            })
            .collect()
    }

    /// Whether everything that may follow is composed.
    pub(crate) fn is_complete(&self) -> bool {
        let is_done =
            |c: &Candidate| matches!(c.progress, Progress::Composed(_) | Progress::Failed);
        !self.candidates.is_empty() && self.candidates.iter().all(is_done)
    }

    /// What there is of a smile. The rest is forgotten.
    pub(super) fn take(&mut self, request: &SmileRequest) -> Found {
        let mut found = Found::Nothing;
        self.has_begun = false;
        self.asking = None;
        for candidate in std::mem::take(&mut self.candidates) {
            match (candidate.request == *request, candidate.progress) {
                (true, Progress::Composed(smile)) => found = Found::Composed(smile),
                (true, Progress::Composing(work)) => found = Found::Composing(work),
                _ => {}
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_answer_once() {
        let teeth = Tooth::arch(4);
        let odd = Some(teeth[0]);
        let kinds = kinds_of_answer(odd, &teeth);
        assert_eq!(kinds, [Response::Tooth(teeth[0]), Response::None, Response::Tooth(teeth[1])]);
        assert_eq!(kinds_of_answer(None, &teeth), [Response::None, Response::Tooth(teeth[0])]);
    }
}
