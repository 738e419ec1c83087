//! The picture of a debrief: the smile or its twin, the map of the difference, the two side by side.

use crate::app::ui::picture_view::{Overlay, PictureView, largest_zoom};
use crate::app::ui::said;
use crate::app::ui::scale_legend::scale_legend;
use crate::app::ui::theme;
use crate::play::naming::Naming;
use crate::play::picture::{Picture, PreparedScene};
use crate::play::view::{DebriefView, Look, Side};
use crate::scene::Tooth;
use crate::trial::{TrialOutcome, Verdict};
use bevy_egui::egui::{self, Rect, TextureId, Ui, pos2};

/// Width that the words below one of two pictures need, points.
const CAPTION_WIDTH: f32 = 230.0;

/// A picture on the graphics card, its size, pixels, and what the end of a map's scale stands for, ΔE00.
pub type Texture = (TextureId, [u32; 2], f64);

/// The smile of a debrief, with outlines and what it is.
pub fn picture(
    ui: &mut Ui,
    area: Rect,
    outcome: &TrialOutcome,
    shown: &PreparedScene,
    texture: Option<Texture>,
    view: DebriefView,
    naming: Naming<'_>,
) {
    let Some((texture, size_px, map_end_de00)) = texture else { return };
    let crop = view.look == Look::SideBySide;
    let overlays = if view.outlines && !crop {
        overlays(outcome, &shown.restored, view, naming)
    } else {
        Vec::new()
    };
    let description = match (view.look, view.side()) {
        (Look::Map, _) => "map of the difference between the smile and its natural twin",
        (Look::SideBySide, _) => "the restored tooth on the left, its natural twin on the right",
        (Look::Smile, Some(Side::Twin)) => "the smile with the tooth left natural",
        (Look::Smile, _) => "the smile as it was shown",
    };
    let middle = if crop { size_px[1] as f32 / 2.0 } else { shown.restored.middle_row() };
    let zoom = if crop { largest_zoom(size_px, area, ui.pixels_per_point()) } else { 1 };
    let place = PictureView {
        texture,
        size_px,
        centre_row: middle,
        zoom,
        overlays: &overlays,
        description,
    }
    .show(ui, area);
    let has_twin = shown.scene.truth.is_some();
    let at = area.left_bottom() + egui::vec2(20.0, -10.0);
    match view.look {
        Look::Map => {
            caption(ui, at, egui::Align2::LEFT_BOTTOM, "Difference from the natural twin");
            let corner = area.right_bottom() - egui::vec2(16.0, 8.0);
            scale_legend(ui, corner, map_end_de00);
        }
        Look::SideBySide => {
            let value = if view.value_only { ", value only" } else { "" };
            let outer = |x: f32| pos2(x, place.bottom().min(area.bottom()) - 10.0);
            let (left, right) = (egui::Align2::LEFT_BOTTOM, egui::Align2::RIGHT_BOTTOM);
            // Beside the pictures, or on them where nothing is left beside.
            let beside = place.left() - area.left() >= CAPTION_WIDTH;
            let (by, of_left, of_right) =
                if beside { (16.0, right, left) } else { (-12.0, left, right) };
            caption(ui, outer(place.left() - by), of_left, &format!("Restored{value}"));
            caption(ui, outer(place.right() + by), of_right, &format!("Natural twin{value}"));
        }
        Look::Smile => {
            let words = match (view.side(), has_twin) {
                (Some(Side::Restored), true) => "Restored",
                (Some(Side::Twin), _) => "Natural twin",
                _ => "No restoration",
            };
            let value = if view.value_only { ", value only" } else { "" };
            caption(ui, at, egui::Align2::LEFT_BOTTOM, &format!("{words}{value}"));
        }
    }
}

/// Words on a plate over the picture.
fn caption(ui: &Ui, at: egui::Pos2, anchor: egui::Align2, words: &str) {
    let galley = ui.painter().layout_no_wrap(
        words.to_owned(),
        egui::FontId::proportional(theme::BODY_PT),
        theme::INK,
    );
    let plate = anchor.anchor_size(at, galley.size());
    ui.painter().rect_filled(plate.expand2(egui::vec2(8.0, 3.0)), 3.0, theme::SURFACE);
    said::galley(ui.painter(), plate.min, galley, theme::INK);
}

/// The restored tooth in a solid outline, a wrong answer in a dashed one. While the twin is shown, the
/// tooth is natural.
#[must_use]
pub fn overlays(
    outcome: &TrialOutcome,
    picture: &Picture,
    view: DebriefView,
    naming: Naming<'_>,
) -> Vec<Overlay> {
    let outline = |tooth: Tooth, label: &str, dashed| {
        picture.outlines.iter().find(|outline| outline.tooth == tooth).map(|outline| Overlay {
            polygon: outline.polygon.clone(),
            label: format!("{} {label}", naming.name(tooth)),
            dashed,
        })
    };
    let restored = outcome.restored.and_then(|tooth| {
        let is_twin = view.look == Look::Smile && view.side() == Some(Side::Twin);
        let words = match (is_twin, outcome.verdict) {
            (true, _) => "left natural",
            (false, Verdict::Found) => "restored, found",
            (false, _) => "restored",
        };
        outline(tooth, words, false)
    });
    let answered = match outcome.verdict {
        Verdict::WrongTooth(tooth) | Verdict::FalseAlarm(tooth) => {
            outline(tooth, naming.answer(), true)
        }
        _ => None,
    };
    [restored, answered].into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::level::course_format::ToothNames;
    use crate::play::naming::verdict_in_words;
    use crate::play::picture::ToothOutline;
    use crate::play::view::Showing;
    use crate::trial::{Exposure, Onsets, Response, TrialKind};

    #[test]
    fn the_twin_is_not_called_restored() {
        let [restored, other] = [11, 22].map(|number| Tooth::new(number).unwrap());
        let outline =
            |tooth| ToothOutline { tooth, polygon: vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]] };
        let picture =
            Picture { outlines: vec![outline(restored), outline(other)], ..Picture::default() };
        let outcome = |response| TrialOutcome {
            trial: 0,
            block: 0,
            kind: TrialKind::Signal,
            restored: Some(restored),
            response,
            verdict: Verdict::of(Some(restored), response),
            response_time_s: Some(1.0),
            exposure: Exposure {
                requested_frames: 150,
                shown_frames: 150,
                longest_frame_ms: 17.0,
                dropped_frames: 0,
                refresh_hz: 60.0,
            },
            input_device: None,
            onsets: Onsets::default(),
        };
        let teeth = [restored, other];
        let named = |answer, side, look, names, is_room| -> Vec<String> {
            let view = DebriefView {
                showing: Showing::Picture(side, 0.0),
                look,
                ..DebriefView::default()
            };
            let all = overlays(
                &outcome(Response::Tooth(answer)),
                &picture,
                view,
                Naming { names, teeth: &teeth, is_room },
            );
            all.into_iter().map(|overlay| overlay.label).collect()
        };
        let labels = |answer, side, look| named(answer, side, look, ToothNames::Iso3950, false);
        let of = |side| labels(other, side, Look::Smile);
        assert_eq!(of(Side::Restored), ["11 restored", "22 your answer"]);
        assert_eq!(of(Side::Twin), ["11 left natural", "22 your answer"]);
        assert_eq!(labels(restored, Side::Restored, Look::Smile), ["11 restored, found"]);
        assert_eq!(labels(restored, Side::Twin, Look::Smile), ["11 left natural"]);
        // The map is of the restored smile, whichever side was in view before.
        assert_eq!(labels(other, Side::Twin, Look::Map)[0], "11 restored");
        // Universal numbers of 11 and 22 are 8 and 10; places are counted in `teeth`.
        let here = |names, is_room| named(other, Side::Restored, Look::Smile, names, is_room);
        assert_eq!(here(ToothNames::Universal, false), ["8 restored", "10 your answer"]);
        assert_eq!(here(ToothNames::Places, true), ["1 restored", "2 chosen most"]);
        let naming = Naming { names: ToothNames::Places, teeth: &teeth, is_room: false };
        let said = verdict_in_words(&outcome(Response::Tooth(other)), naming);
        assert!(said.starts_with("You chose 2. The restoration is 1, "), "{said}");
    }
}
