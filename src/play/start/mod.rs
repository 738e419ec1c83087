//! Starts whatever can run: waits for the refresh rate to be known, lays out the plan in the
//! background. There is one request at a time, for every kind of start: what was asked for last.
//!
//! A start is asked for ([`crate::play::wanted`]), what it needs is looked up and laid out on another
//! thread (`lay_out`), and then it is opened (`opening`). A measurement of glances needs no plan
//! (`measured`).

mod error;
mod lay_out;
mod measured;
mod opening;

pub use crate::play::wanted::{BenchWanted, Origin, Start};
pub use error::StartError;
pub use lay_out::LaidOut;
pub use opening::{Opened, Opening, Place, SessionOptions};

use self::lay_out::{LookedUp, look_up};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::problem::Problem;
use crate::play::work::{Work, Workers};

/// The one start that is waited for: what was asked for last. It waits for the refresh rate to be
/// known and for its plan, seconds of work off the main thread. Its work lies in the request itself,
/// so that no result of an earlier one can open.
#[derive(Debug, Default)]
pub struct PendingStart {
    request: Option<Request>,
}

#[derive(Debug)]
struct Request {
    wanted: Start,
    work: Option<Work<Result<LaidOut, ContentError>>>,
}

impl PendingStart {
    /// Asks for a start; an earlier one that has not opened yet is forgotten. Asking for the same
    /// again changes nothing.
    pub fn ask(&mut self, wanted: Start) {
        if self.wanted() != Some(&wanted) {
            self.withdraw();
            self.request = Some(Request { wanted, work: None });
        }
    }

    /// Forgets what was asked for.
    pub fn withdraw(&mut self) {
        self.request = None;
    }

    /// What was asked for and has not opened yet.
    #[must_use]
    pub fn wanted(&self) -> Option<&Start> {
        self.request.as_ref().map(|request| &request.wanted)
    }

    /// Whether a start is waited for.
    #[must_use]
    pub const fn waits(&self) -> bool {
        self.request.is_some()
    }

    /// Whether its plan is being laid out.
    #[must_use]
    pub fn is_under_way(&self) -> bool {
        self.request.as_ref().is_some_and(|request| request.work.is_some())
    }

    /// Goes on with what was asked for: lays it out, and opens it once that is done.
    pub fn advance(
        &mut self,
        opening: &Opening<'_>,
        (content, workers): (&ActiveContent, &Workers),
        place: Place,
        problem: &mut Problem,
    ) -> Option<Opened> {
        let request = self.request.as_mut()?;
        let laid_out = match &mut request.work {
            Some(work) => work.take()?.map_err(StartError::from),
            None => match look_up(&request.wanted, content, opening.records, opening.frames) {
                Ok(LookedUp::ToDo(work)) => {
                    request.work = Some(workers.begin(work));
                    return None;
                }
                Ok(LookedUp::LaidOut(laid_out)) => Ok(laid_out),
                Err(error) => Err(error),
            },
        };
        let opened =
            laid_out.and_then(|laid_out| opening.open(&request.wanted, laid_out, place, problem));
        self.request = None;
        opened.map_err(|error| problem.report(error)).ok()
    }
}
