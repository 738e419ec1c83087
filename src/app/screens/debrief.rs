//! The debrief: the smile again, its twin, the signed difference and one sentence of cause.

use super::pause;
use super::textures::{Textures, content_of};
use crate::app::debrief::{DebriefView, Look, Side};
use crate::app::input::Intent;
use crate::app::scenes::PreparedScene;
use crate::app::session::{Conduct, Session};
use crate::app::ui::{
    Mark, Overlay, PictureView, activated, largest_zoom, low_button, number_line, page_keys,
    quiet_button, scale_legend, section, signed, small, theme,
};
use crate::app::viewport::Picture;
use crate::bake::{Truth, ZoneDifference};
use crate::level::course_format::ToothNames;
use crate::scene::Tooth;
use crate::trial::{TrialOutcome, Verdict};
use crate::words::{count_of, tenths};
use bevy_egui::egui::{self, Rect, RichText, Ui, pos2};

/// Height of the explanation below the picture, points.
const PANEL_HEIGHT: f32 = 336.0;
/// Width that the words below one of two pictures need, points.
const CAPTION_WIDTH: f32 = 230.0;
/// The picture keeps at least this, points.
const PICTURE_HEIGHT: f32 = 180.0;

/// What teeth are called here, and whose answer is shown.
#[derive(Debug, Clone, Copy)]
pub(super) struct Naming<'a> {
    names: ToothNames,
    /// In the order of the picture.
    teeth: &'a [Tooth],
    is_room: bool,
}

impl<'a> Naming<'a> {
    pub(super) fn of(session: &'a Session) -> Self {
        Self {
            names: session.names(),
            teeth: &session.plan().teeth,
            is_room: matches!(session.conduct(), Conduct::Room),
        }
    }

    pub(super) fn name(self, tooth: Tooth) -> String {
        self.names.of(tooth, self.teeth)
    }

    /// A room answers by what it chose most often.
    const fn answer(self) -> &'static str {
        if self.is_room { "chosen most" } else { "your answer" }
    }
}

pub(super) fn draw(
    ui: &mut Ui,
    session: &Session,
    textures: &Textures,
    view: DebriefView,
) -> Vec<Intent> {
    let window = ui.max_rect();
    let (Some(outcome), Some(shown)) = (session.last_outcome(), session.shown()) else {
        return Vec::new();
    };
    let y = (window.bottom() - PANEL_HEIGHT).max(window.top() + PICTURE_HEIGHT);
    let picture_area = Rect::from_min_max(window.min, pos2(window.right(), y));
    let panel = Rect::from_min_max(pos2(window.left(), y), window.max);
    let naming = Naming::of(session);
    picture(ui, picture_area, outcome, shown, textures, view, naming);

    let mut asked = Vec::new();
    let truth = shown.scene.truth.as_ref();
    ui.scope_builder(
        egui::UiBuilder::new().max_rect(panel.shrink2(egui::vec2(20.0, 10.0))),
        |ui| {
            ui.set_clip_rect(panel);
            let controls_width = 210.0;
            let text_width = ui.available_width() - controls_width - 20.0;
            ui.horizontal_top(|ui| {
                ui.allocate_ui_with_layout(
                    egui::vec2(text_width, ui.available_height()),
                    egui::Layout::top_down(egui::Align::Min),
                    |ui| {
                        ui.set_width(text_width);
                        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                            page_keys(ui);
                            explanation(ui, outcome, truth, session.cause(), naming);
                        });
                    },
                );
                ui.add_space(10.0);
                ui.vertical(|ui| {
                    ui.set_width(controls_width);
                    let area = egui::ScrollArea::vertical().id_salt("controls");
                    area.auto_shrink([false, false]).show(ui, |ui| {
                        // Room for the focus ring.
                        ui.add_space(4.0);
                        asked = controls(ui, truth.is_some(), view, session);
                    });
                });
            });
        },
    );
    asked
}

pub(super) fn picture(
    ui: &mut Ui,
    area: Rect,
    outcome: &TrialOutcome,
    shown: &PreparedScene,
    textures: &Textures,
    view: DebriefView,
    naming: Naming<'_>,
) {
    let Some(texture) = content_of(view).and_then(|content| textures.get(content)) else {
        return;
    };
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
    let middle = if crop { texture.size_px[1] as f32 / 2.0 } else { middle_row(&shown.restored) };
    let zoom = if crop { largest_zoom(texture.size_px, area, ui.pixels_per_point()) } else { 1 };
    let place = PictureView {
        texture: texture.id,
        size_px: texture.size_px,
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
            scale_legend(ui, corner, textures.map_end_de00());
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
    ui.painter().galley(plate.min, galley, theme::INK);
}

/// The row halfway between the highest and the lowest outline point.
fn middle_row(picture: &Picture) -> f32 {
    let rows = picture.outlines.iter().flat_map(|outline| &outline.polygon).map(|point| point[1]);
    let (low, high) =
        rows.fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
    if low <= high { f32::midpoint(low, high) } else { picture.height as f32 / 2.0 }
}

/// The restored tooth in a solid outline, a wrong answer in a dashed one. While the twin is shown, the
/// tooth is natural.
pub(super) fn overlays(
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

fn explanation(
    ui: &mut Ui,
    outcome: &TrialOutcome,
    truth: Option<&Truth>,
    cause: Option<&str>,
    naming: Naming<'_>,
) {
    section(ui, &verdict_in_words(outcome, naming));
    if let Some(cause) = cause {
        ui.add(egui::Label::new(RichText::new(cause).color(theme::INK)).wrap());
    }
    if let Some(truth) = truth {
        ui.add_space(4.0);
        number_line(ui, ui.available_width() - 14.0, &Mark::rows_of(&truth.difference));
        thirds(ui, truth);
    }
}

/// What was answered and what it was.
pub(super) fn verdict_in_words(outcome: &TrialOutcome, naming: Naming<'_>) -> String {
    let restored = outcome.restored.map(|tooth| naming.names.explained(tooth, naming.teeth));
    match (outcome.verdict, restored) {
        (Verdict::Found, Some(tooth)) => format!("Found: {tooth}"),
        (Verdict::WrongTooth(answer), Some(tooth)) => {
            format!("You chose {}. The restoration is {tooth}", naming.name(answer))
        }
        (Verdict::Missed, Some(tooth)) => {
            format!("You answered none. The restoration is {tooth}")
        }
        (Verdict::TimedOut, Some(tooth)) => {
            format!("No answer in time. The restoration is {tooth}")
        }
        (Verdict::FalseAlarm(answer), _) => {
            let answer = naming.name(answer);
            format!("You chose {answer}, a natural tooth. This smile has no restoration")
        }
        (Verdict::CorrectlyNone, _) => "Right: this smile has no restoration".to_owned(),
        (_, None) => "No answer in time. This smile has no restoration".to_owned(),
    }
}

fn thirds(ui: &mut Ui, truth: &Truth) {
    let third = |(name, zone): (&&str, &ZoneDifference)| {
        format!("{name} {} ({})", signed(zone.dl00), tenths(zone.de00))
    };
    let parts: Vec<String> =
        ["cervical", "middle", "incisal"].iter().zip(&truth.zones).map(third).collect();
    small(ui, &format!("ΔL00 (ΔE00) by thirds:  {}", parts.join(",  ")));
}

fn controls(ui: &mut Ui, has_twin: bool, view: DebriefView, session: &Session) -> Vec<Intent> {
    let mut asked = Vec::new();
    let width = ui.available_width() - 8.0;
    // Seven controls and two lines of text fit the panel.
    ui.spacing_mut().button_padding.y = 3.0;
    ui.spacing_mut().item_spacing.y = 4.0;
    ui.spacing_mut().interact_size.y = 30.0;
    let mut control = |ui: &mut Ui, label: &str, intent: Intent| {
        let response = low_button(ui, label, width);
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        if response.clicked() {
            asked.push(intent);
        }
    };
    let progress = session.progress();
    let last = progress.answered >= progress.total;
    control(ui, if last { "Finish  (Enter)" } else { "Continue  (Enter)" }, Intent::Continue);
    if has_twin {
        let other = if view.side() == Some(Side::Twin) { "Show restored" } else { "Show natural" };
        control(ui, &format!("{other}  (Space)"), Intent::ToggleTwin);
        let auto = if view.auto_blink { "Stop blinking" } else { "Blink" };
        control(ui, &format!("{auto}  (B)"), Intent::ToggleAutoBlink);
        let or_smile = |look, words: &str| {
            if view.look == look { "Whole smile".to_owned() } else { words.to_owned() }
        };
        let map = or_smile(Look::Map, "Difference map");
        control(ui, &format!("{map}  (M)"), Intent::ToggleMap);
        let pair = or_smile(Look::SideBySide, "Side by side");
        control(ui, &format!("{pair}  (S)"), Intent::ToggleSideBySide);
    }
    let value = if view.value_only { "Show colour" } else { "Value only" };
    control(ui, &format!("{value}  (V)"), Intent::ToggleValueOnly);
    let outlines = if view.outlines { "Hide outlines" } else { "Show outlines" };
    control(ui, &format!("{outlines}  (O)"), Intent::ToggleOutlines);
    // Above the last control, which the keyboard scrolls to.
    small(ui, &count_of(progress.answered, progress.total, "smile", "smiles"));
    let pause = quiet_button(ui, pause::LABEL);
    if pause.gained_focus() {
        pause.scroll_to_me(None);
    }
    if activated(&pause).is_some() {
        asked.push(Intent::Pause);
    }
    asked
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::debrief::Showing;
    use crate::app::viewport::ToothOutline;
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
