//! Free play on the bench: nothing is asked, answered or stored.
//!
//! This adds the search for the best that can be reached to a bench, and `Exercising::may_compare`
//! gives it the views of a debrief.

use crate::exercise::{BenchTask, Reached};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::problem::Problem;
use crate::play::wanted::Origin;
use crate::play::work::{Work, Workers};

/// Free play under way.
pub struct FreePlay {
    /// Where it was set up.
    pub back: Origin,
    /// What differs from what was asked for, in words.
    pub remarks: Vec<String>,
    search: Search,
}

/// The search for the best that can be reached.
enum Search {
    Idle,
    Wanted,
    AtWork(Work<Result<Option<Reached>, ContentError>>),
}

impl std::fmt::Debug for FreePlay {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("FreePlay").field("back", &self.back).finish_non_exhaustive()
    }
}

impl FreePlay {
    /// Free play that leads back to where it was set up.
    #[must_use]
    pub const fn new(back: Origin, remarks: Vec<String>) -> Self {
        Self { back, remarks, search: Search::Idle }
    }

    /// Whether the best is being looked for.
    #[must_use]
    pub const fn is_searching(&self) -> bool {
        !matches!(self.search, Search::Idle)
    }

    /// Asks for the best that can be reached.
    pub(crate) fn want_best(&mut self) {
        if !self.is_searching() {
            self.search = Search::Wanted;
        }
    }

    /// Goes on with the search for what fills the preparation on a cement film of this thickness, mm;
    /// what was found, once.
    pub(crate) fn search(
        &mut self,
        task: &BenchTask,
        film_mm: f64,
        (content, workers): (&ActiveContent, &Workers),
        problem: &mut Problem,
    ) -> Option<Reached> {
        match &mut self.search {
            Search::Idle => None,
            Search::Wanted => {
                let (mut task, content) = (task.clone(), content.0.clone());
                let work = workers.begin(move || {
                    task.find_best_filling(film_mm, content.library())
                        .map(|()| task.best)
                        .map_err(|error| ContentError::Bake(error.to_string()))
                });
                self.search = Search::AtWork(work);
                None
            }
            Search::AtWork(work) => {
                let found = work.take()?;
                self.search = Search::Idle;
                match found {
                    Ok(Some(best)) => Some(best),
                    Ok(None) => {
                        problem.report("Nothing can be made in this space.");
                        None
                    }
                    Err(error) => {
                        problem.report(error);
                        None
                    }
                }
            }
        }
    }
}
