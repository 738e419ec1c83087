//! What the debrief shows at the moment: restored or natural, colour or value only, the map of the
//! difference, or the tooth beside its twin.

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

/// How the smile is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// The whole picture, restored or natural in turn.
    Smile,
    /// The map of the difference.
    Map,
    /// The restored tooth beside its twin.
    SideBySide,
}

/// The state of the debrief's view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DebriefView {
    /// What the picture area shows.
    pub showing: Showing,
    /// How the smile is looked at.
    pub look: Look,
    /// Lightness only. Counts for [`Look::Smile`] and [`Look::SideBySide`].
    pub value_only: bool,
    /// Outlines of the restored tooth and of a wrong answer.
    pub outlines: bool,
    /// The pictures change by themselves.
    pub auto_blink: bool,
}

impl Default for DebriefView {
    fn default() -> Self {
        Self {
            showing: Showing::Picture(Side::Restored, 0.0),
            look: Look::Smile,
            value_only: false,
            outlines: true,
            auto_blink: false,
        }
    }
}

impl DebriefView {
    /// Towards the other picture, by way of the gap. During a gap nothing changes, so that
    /// quick presses cannot make it flicker. From another look, back to the whole smile.
    pub fn toggle(&mut self) {
        if self.look != Look::Smile {
            self.look = Look::Smile;
            return;
        }
        if let Showing::Picture(side, _) = self.showing {
            let other = match side {
                Side::Restored => Side::Twin,
                Side::Twin => Side::Restored,
            };
            self.showing = Showing::GapBefore(other, GAP_S);
        }
    }

    /// Starts or stops the blinking, which is of the whole smile.
    pub fn toggle_blink(&mut self) {
        self.auto_blink = !self.auto_blink || self.look != Look::Smile;
        self.look = Look::Smile;
    }

    /// To this look, or from it back to the whole smile.
    pub fn toggle_look(&mut self, look: Look) {
        self.look = if self.look == look { Look::Smile } else { look };
    }

    /// Lets `duration_s` go by.
    pub fn tick(&mut self, duration_s: f64) {
        self.showing = match self.showing {
            Showing::GapBefore(side, left) if left <= duration_s => Showing::Picture(side, 0.0),
            Showing::GapBefore(side, left) => Showing::GapBefore(side, left - duration_s),
            Showing::Picture(side, shown) => Showing::Picture(side, shown + duration_s),
        };
        // Nothing changes behind a look that stands still.
        if self.auto_blink
            && self.look == Look::Smile
            && matches!(self.showing, Showing::Picture(_, shown) if shown >= HOLD_S)
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
    fn looks_stand_still_and_lead_back_to_the_smile() {
        let mut view = DebriefView { auto_blink: true, ..DebriefView::default() };
        view.toggle_look(Look::Map);
        for _ in 0..500 {
            view.tick(0.01);
        }
        assert_eq!(view.side(), Some(Side::Restored));
        view.toggle_look(Look::SideBySide);
        assert_eq!(view.look, Look::SideBySide);
        view.toggle_look(Look::SideBySide);
        assert_eq!(view.look, Look::Smile);
        view.toggle_look(Look::Map);
        view.toggle_blink();
        assert!(view.auto_blink && view.look == Look::Smile, "blinking is of the smile");
        view.toggle_blink();
        assert!(!view.auto_blink);
        view.toggle_look(Look::Map);
        view.toggle();
        assert_eq!((view.look, view.side()), (Look::Smile, Some(Side::Restored)));
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
