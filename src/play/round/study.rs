//! What can be studied of a smile in the debrief: its blend chart and its layers.

use crate::bake::cross_section::CrossSection;
use crate::chart::BlendChart;
use crate::exercise::Sight;
use crate::play::content::{ActiveContent, ContentError};
use crate::play::intents::Page;
use crate::play::problem::Problem;
use crate::play::work::{Work, Workers};
use crate::scene::{Case, Restoration};

/// Chart and layers of one smile, worked out in the background when they are asked for.
#[derive(Default)]
pub struct Study {
    chart: Part<BlendChart>,
    section: Part<CrossSection>,
}

/// One thing worked out, and of which smile.
struct Part<T> {
    found: Option<(Case, Option<Box<T>>)>,
    at_work: Option<(Case, Work<Result<Option<T>, ContentError>>)>,
}

impl<T> Default for Part<T> {
    fn default() -> Self {
        Self { found: None, at_work: None }
    }
}

impl std::fmt::Debug for Study {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Study").finish_non_exhaustive()
    }
}

impl<T: Send + 'static> Part<T> {
    fn done(&self) -> Option<&T> {
        self.found.as_ref().and_then(|(_, found)| found.as_deref())
    }

    /// Takes in what has been worked out, and begins on `case` where it is not there. What is
    /// there of another case goes at once, or stays until then.
    fn advance(
        &mut self,
        case: &Case,
        stays: bool,
        problem: &mut Problem,
        begin: impl FnOnce() -> Work<Result<Option<T>, ContentError>>,
    ) {
        if let Some((of, work)) = &mut self.at_work
            && let Some(found) = work.take()
        {
            let found = found.unwrap_or_else(|error| {
                problem.report(error);
                None
            });
            self.found = Some((of.clone(), found.map(Box::new)));
            self.at_work = None;
        }
        let is_there = self.found.as_ref().is_some_and(|(of, _)| of == case);
        if !is_there && !stays {
            self.found = None;
            if self.at_work.as_ref().is_some_and(|(of, _)| of != case) {
                self.at_work = None;
            }
        }
        // One at a time: where the case changes quickly, some are left out.
        if !is_there && self.at_work.is_none() {
            self.at_work = Some((case.clone(), begin()));
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
            Page::Chart => self.chart.found.is_some(),
            Page::Layers => self.section.found.is_some(),
        }
    }

    /// Whether a part is being worked out.
    #[must_use]
    pub const fn is_at_work(&self) -> bool {
        self.chart.at_work.is_some() || self.section.at_work.is_some()
    }

    /// Whether what is there is of an earlier smile.
    #[must_use]
    pub const fn is_behind(&self, page: Page) -> bool {
        match page {
            Page::Smile => false,
            Page::Chart => self.chart.at_work.is_some() && self.chart.found.is_some(),
            Page::Layers => self.section.at_work.is_some() && self.section.found.is_some(),
        }
    }

    /// Works out what a page needs of the smile in view. `stays`: what is there of an earlier smile
    /// is shown until the new is there.
    pub(crate) fn advance(
        &mut self,
        (page, stays): (Page, bool),
        sights: &[Sight],
        in_view: usize,
        (content, workers): (&ActiveContent, &Workers),
        problem: &mut Problem,
    ) {
        let Some(sight) = sights.get(in_view) else { return };
        let (content, case) = (content.0.clone(), sight.case.clone());
        match page {
            Page::Smile => {}
            Page::Chart => self.chart.advance(&sight.case, stays, problem, || {
                let (name, tried) = (mark_of(&sight.name), tried(sights, in_view));
                workers.begin(move || content.chart(&case, &name, &tried))
            }),
            Page::Layers => self.section.advance(&sight.case, stays, problem, || {
                workers.begin(move || content.cross_section(&case))
            }),
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
    if first == "Your recipe" {
        return "now".to_owned();
    }
    match first.split_whitespace().last() {
        Some(word) if word.chars().all(|c| c.is_ascii_digit()) => word.to_owned(),
        Some(word @ ("A" | "B")) => word.to_owned(),
        _ => first.chars().take(12).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_short() {
        let names = [
            "Option 3",
            "Option 12, D65",
            "Best that was found",
            "Clear",
            "Recipe B",
            "Your recipe",
        ];
        assert_eq!(names.map(mark_of), ["3", "12", "Best that wa", "Clear", "B", "now"]);
    }
}
