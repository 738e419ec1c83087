//! Free play on the bench: nothing is asked, answered or stored.
//!
//! This adds the search for the best that can be reached to a bench, and `Exercising::may_compare`
//! gives it the views of a debrief.

use crate::app::content::{ActiveContent, ContentError};
use crate::app::{Problem, Screen};
use crate::exercise::{BenchTask, Reached};
use bevy::tasks::{AsyncComputeTaskPool, Task, block_on, poll_once};

/// Free play under way.
pub struct FreePlay {
    /// The screen that it was set up on.
    pub back: Screen,
    /// What differs from what was asked for, in words.
    pub remarks: Vec<String>,
    search: Search,
}

/// The search for the best that can be reached.
enum Search {
    Idle,
    Wanted,
    AtWork(Task<Result<Option<Reached>, ContentError>>),
}

impl std::fmt::Debug for FreePlay {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("FreePlay").field("back", &self.back).finish_non_exhaustive()
    }
}

impl FreePlay {
    /// Free play that leads back to a screen.
    #[must_use]
    pub const fn new(back: Screen, remarks: Vec<String>) -> Self {
        Self { back, remarks, search: Search::Idle }
    }

    /// Whether the best is being looked for.
    #[must_use]
    pub const fn is_searching(&self) -> bool {
        !matches!(self.search, Search::Idle)
    }

    /// Asks for the best that can be reached.
    pub(super) fn want_best(&mut self) {
        if !self.is_searching() {
            self.search = Search::Wanted;
        }
    }

    /// Goes on with the search for what fills the preparation on a cement film of this thickness, mm;
    /// what was found, once.
    pub(super) fn search(
        &mut self,
        task: &BenchTask,
        film_mm: f64,
        content: &ActiveContent,
        problem: &mut Problem,
    ) -> Option<Reached> {
        match &mut self.search {
            Search::Idle => None,
            Search::Wanted => {
                let (mut task, content) = (task.clone(), content.0.clone());
                let work = AsyncComputeTaskPool::get().spawn(async move {
                    task.find_best_filling(film_mm, content.library())
                        .map(|()| task.best)
                        .map_err(|error| ContentError::Bake(error.to_string()))
                });
                self.search = Search::AtWork(work);
                None
            }
            Search::AtWork(work) => {
                let found = block_on(poll_once(work))?;
                self.search = Search::Idle;
                match found {
                    Ok(Some(best)) => Some(best),
                    Ok(None) => {
                        problem.report("Nothing can be made in this space.");
                        None
                    }
                    Err(error) => {
                        problem.report(error.to_string());
                        None
                    }
                }
            }
        }
    }
}
