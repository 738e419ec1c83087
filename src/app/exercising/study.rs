//! What can be studied of a smile in the debrief: its blend chart and its layers.

use crate::app::Problem;
use crate::app::content::{ActiveContent, ContentError};
use crate::bake::cross_section::CrossSection;
use crate::chart::BlendChart;
use crate::exercise::Sight;
use crate::scene::{Case, Restoration};
use bevy::tasks::{AsyncComputeTaskPool, Task, block_on, poll_once};

/// What the debrief shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// The smile and what it came to.
    Smile,
    /// The blend chart.
    Chart,
    /// The cross-section.
    Layers,
}

/// Chart and layers of one smile, worked out in the background when they are asked for.
#[derive(Default)]
pub struct Study {
    of: Option<Case>,
    chart: Part<BlendChart>,
    section: Part<CrossSection>,
}

/// One thing worked out.
#[derive(Default)]
enum Part<T> {
    #[default]
    Waiting,
    AtWork(Task<Result<Option<T>, ContentError>>),
    Done(Option<Box<T>>),
}

impl std::fmt::Debug for Study {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Study").finish_non_exhaustive()
    }
}

impl<T> Part<T> {
    fn done(&self) -> Option<&T> {
        match self {
            Self::Done(found) => found.as_deref(),
            _ => None,
        }
    }

    /// Takes in what has been worked out.
    fn finish(&mut self, problem: &mut Problem) {
        if let Self::AtWork(task) = self
            && let Some(found) = block_on(poll_once(task))
        {
            let found = found.unwrap_or_else(|error| {
                problem.report(error.to_string());
                None
            });
            *self = Self::Done(found.map(Box::new));
        }
    }
}

impl Study {
    /// The chart, once it is there.
    #[must_use]
    pub fn chart(&self) -> Option<&BlendChart> {
        self.chart.done()
    }

    /// The layers, once they are there.
    #[must_use]
    pub fn section(&self) -> Option<&CrossSection> {
        self.section.done()
    }

    /// Whether a page's part is worked out, whatever was found.
    #[must_use]
    pub const fn is_done(&self, page: Page) -> bool {
        match page {
            Page::Smile => true,
            Page::Chart => matches!(self.chart, Part::Done(_)),
            Page::Layers => matches!(self.section, Part::Done(_)),
        }
    }

    /// Works out what a page needs of the smile in view.
    pub(super) fn advance(
        &mut self,
        page: Page,
        sights: &[Sight],
        in_view: usize,
        content: &ActiveContent,
        problem: &mut Problem,
    ) {
        let Some(sight) = sights.get(in_view) else { return };
        if self.of.as_ref() != Some(&sight.case) {
            *self = Self { of: Some(sight.case.clone()), ..Self::default() };
        }
        self.chart.finish(problem);
        self.section.finish(problem);
        let pool = AsyncComputeTaskPool::get();
        let (content, case) = (content.0.clone(), sight.case.clone());
        if page == Page::Chart && matches!(self.chart, Part::Waiting) {
            let (name, tried) = (mark_of(&sight.name), tried(sights, in_view));
            self.chart =
                Part::AtWork(pool.spawn(async move { content.chart(&case, &name, &tried) }));
        } else if page == Page::Layers && matches!(self.section, Part::Waiting) {
            self.section = Part::AtWork(pool.spawn(async move { content.cross_section(&case) }));
        }
    }
}

/// The other smiles' restorations, to be marked on the chart: those in the same light just seated.
fn tried(sights: &[Sight], in_view: usize) -> Vec<(String, Restoration)> {
    let light = sights.get(in_view).map(|sight| sight.case.illuminant);
    let others = sights
        .iter()
        .enumerate()
        .filter(|(index, sight)| *index != in_view && Some(sight.case.illuminant) == light);
    others
        .filter_map(|(_, sight)| {
            let restoration = sight.case.restoration().filter(|r| r.drift.is_none())?;
            Some((mark_of(&sight.name), restoration.clone()))
        })
        .collect()
}

/// A mark short enough for the chart: the number of an option or attempt, or its first letters.
fn mark_of(name: &str) -> String {
    let first = name.split(',').next().unwrap_or(name);
    match first.split_whitespace().last() {
        Some(word) if word.chars().all(|c| c.is_ascii_digit()) => word.to_owned(),
        _ => first.chars().take(12).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_short() {
        let marks = ["Option 3", "Option 12, D65", "Best that was found", "Clear"].map(mark_of);
        assert_eq!(marks, ["3", "12", "Best that wa", "Clear"]);
    }
}
