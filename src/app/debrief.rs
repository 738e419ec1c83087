//! What the debrief shows at the moment: restored or natural, colour or value only.

use bevy::prelude::Resource;

/// Grey between the two pictures, s. Without it the change itself would catch the eye.
pub const GAP_S: f64 = 0.25;
/// How long auto-blink stays on each picture, s.
pub const HOLD_S: f64 = 1.0;

/// One of the two pictures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// As restored.
    Restored,
    /// The natural twin.
    Twin,
}

/// What the picture area shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Showing {
    /// A picture, and for how long already, s.
    Picture(Side, f64),
    /// The grey gap before a picture, and how much of it is left, s.
    GapBefore(Side, f64),
}

/// The state of the debrief's view.
#[derive(Resource, Debug, Clone, Copy, PartialEq)]
pub struct DebriefView {
    /// What the picture area shows.
    pub showing: Showing,
    /// Lightness only.
    pub value_only: bool,
    /// The pictures change by themselves.
    pub auto_blink: bool,
}

impl Default for DebriefView {
    fn default() -> Self {
        Self {
            showing: Showing::Picture(Side::Restored, 0.0),
            value_only: false,
            auto_blink: false,
        }
    }
}

impl DebriefView {
    /// Towards the other picture, by way of the gap. During a gap nothing changes, so that
    /// quick presses cannot make it flicker.
    pub fn toggle(&mut self) {
        if let Showing::Picture(side, _) = self.showing {
            let other = match side {
                Side::Restored => Side::Twin,
                Side::Twin => Side::Restored,
            };
            self.showing = Showing::GapBefore(other, GAP_S);
        }
    }

    /// Lets `duration_s` go by.
    pub fn tick(&mut self, duration_s: f64) {
        self.showing = match self.showing {
            Showing::GapBefore(side, left) if left <= duration_s => Showing::Picture(side, 0.0),
            Showing::GapBefore(side, left) => Showing::GapBefore(side, left - duration_s),
            Showing::Picture(side, shown) => Showing::Picture(side, shown + duration_s),
        };
        if self.auto_blink && matches!(self.showing, Showing::Picture(_, shown) if shown >= HOLD_S)
        {
            self.toggle();
        }
    }

    /// The picture on screen, `None` during a gap.
    #[must_use]
    pub const fn side(&self) -> Option<Side> {
        match self.showing {
            Showing::Picture(side, _) => Some(side),
            Showing::GapBefore(..) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_toggle_goes_through_the_gap() {
        let mut view = DebriefView::default();
        view.toggle();
        assert_eq!(view.side(), None);
        view.tick(GAP_S - 0.01);
        view.toggle();
        assert_eq!(view.side(), None);
        view.tick(0.02);
        assert_eq!(view.side(), Some(Side::Twin));
    }

    #[test]
    fn auto_blink_stays_under_three_changes_a_second() {
        let mut view = DebriefView { auto_blink: true, ..DebriefView::default() };
        let mut changes = 0;
        let mut before = view.side();
        for _ in 0..1000 {
            view.tick(0.01);
            changes += u32::from(view.side() != before);
            before = view.side();
        }
        // 10 s. WCAG 2.2, success criterion 2.3.1: no more than three flashes in a second.
        assert!((10..30).contains(&changes), "{changes}");
    }
}
