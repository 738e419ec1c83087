//! What the screens of a round draw from, and how they share the window.

use crate::app::picture::textures::Textures;
use crate::app::ui::widgets::{body, progress_bar};
use crate::play::lecture::Lecture;
use crate::play::round::Exercising;
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use bevy_egui::egui::{Rect, Ui, pos2};

/// Waiting shorter than this is not remarked on, s.
pub(super) const QUIET_S: f64 = 0.5;
/// The picture keeps at least this height, points.
const PICTURE_HEIGHT: f32 = 180.0;
/// Distance of what stands side by side, points.
pub(super) const GAP: f32 = 20.0;

/// What the screens of an exercise draw from.
#[derive(Clone, Copy)]
pub(super) struct Drawn<'a> {
    pub exercising: &'a Exercising,
    pub textures: &'a Textures,
    pub view: DebriefView,
    pub preparation: &'a Preparation,
    /// The lecture, where a room answers.
    pub lecture: Option<&'a Lecture>,
}

/// An area above and one of this height below.
pub(super) fn split(area: Rect, height: f32) -> (Rect, Rect) {
    let y = (area.bottom() - height).max(area.top() + PICTURE_HEIGHT).min(area.bottom());
    (
        Rect::from_min_max(area.min, pos2(area.right(), y)),
        Rect::from_min_max(pos2(area.left(), y), area.max),
    )
}

/// How many smiles are prepared, in words and as a bar.
pub(super) fn progress(ui: &mut Ui, drawn: Drawn<'_>, width: f32) {
    let sights = drawn.exercising.sights();
    if sights.is_empty() && drawn.exercising.mode().choosing().is_some() {
        let waited = drawn.exercising.waited_s();
        body(ui, &format!("Laying out the next question, {waited:.0} s"));
        return;
    }
    let ready = sights.iter().filter(|s| drawn.preparation.ready(&s.case).is_some()).count();
    body(
        ui,
        &format!(
            "Preparing smiles: {ready} of {}, {:.0} s",
            sights.len(),
            drawn.exercising.waited_s()
        ),
    );
    let done = ready as f32 / sights.len().max(1) as f32;
    progress_bar(ui, done, width, 12.0, "smiles prepared");
}
