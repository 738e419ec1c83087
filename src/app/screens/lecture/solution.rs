//! The solution with the tally of the room.

use super::asked::{cell_words, cells, choices, foot, foot_height};
use super::{TALLY_HEIGHT, scale, write, write_within};
use crate::app::debrief::{DebriefView, Look};
use crate::app::exercising::{Act, ExerciseIntent, Exercising};
use crate::app::input::Intent;
use crate::app::lecture::{Lecture, RoomIntent, RoomStage};
use crate::app::screens::textures::Textures;
use crate::app::screens::{debrief, pause};
use crate::app::session::Session;
use crate::app::ui::{activated, big_button, digit_of, quiet_button, theme, with_key};
use crate::bake::ZoneDifference;
use crate::lecture::Tally;
use crate::scene::Tooth;
use crate::trial::{Response, TrialOutcome, Verdict};
use crate::words::Part;
use bevy_egui::egui::{self, Align2, Painter, Rect, Stroke, StrokeKind, Ui, pos2, vec2};

/// The smile again with its outlines, what it was, and how the room answered.
pub(super) fn solution(
    ui: &mut Ui,
    window: Rect,
    session: &Session,
    lecture: &Lecture,
    textures: &Textures,
    view: DebriefView,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let k = scale(window);
    let (Some(outcome), Some(shown)) = (session.last_outcome(), session.shown()) else {
        return asked;
    };
    let height = TALLY_HEIGHT * k + 52.0;
    let split = window.bottom() - height;
    let picture = Rect::from_min_max(window.min, pos2(window.right(), split));
    let response = lecture.room_response(&session.plan().teeth).unwrap_or(Response::Timeout);
    let of_room =
        TrialOutcome { response, verdict: Verdict::of(outcome.restored, response), ..*outcome };
    let naming = debrief::Naming::of(session);
    debrief::picture(ui, picture, &of_room, shown, textures, view, naming);
    let painter = ui.painter().clone();
    let truth = shown.scene.truth.as_ref().map(|truth| &truth.difference);
    let truth = truth_in_words(naming, outcome.restored.zip(truth));
    let inner =
        Rect::from_min_max(pos2(window.left(), split), window.max).shrink2(vec2(24.0 * k, 6.0 * k));
    let line =
        write_within(&painter, inner.min, Align2::LEFT_TOP, &truth, 34.0 * k, 0.62 * inner.width());
    if let (Some(ballot), Some(tally)) = (lecture.ballot(), lecture.tally()) {
        let right = format!("{} of {} right", tally.right_answers(), tally.answers());
        let at = pos2(inner.right(), line.center().y);
        write(&painter, at, Align2::RIGHT_CENTER, &right, 34.0 * k, theme::INK);
        let area = Rect::from_min_max(
            pos2(inner.left(), line.bottom() + 4.0 * k),
            pos2(inner.right(), inner.bottom() - 44.0),
        );
        columns(&painter, area, &ballot.choices, tally, k);
    } else {
        let at = pos2(inner.left(), line.bottom() + 16.0 * k);
        write(&painter, at, Align2::LEFT_TOP, "Who had it?", 34.0 * k, theme::INK);
    }
    solution_keys(ui, inner, shown.scene.truth.is_some(), view, &mut asked);
    asked
}

/// What the smile was, in one line.
pub(in crate::app::screens) fn truth_in_words(
    naming: debrief::Naming<'_>,
    restored: Option<(Tooth, &ZoneDifference)>,
) -> String {
    restored.map_or_else(
        || "No restoration: every tooth is natural".to_owned(),
        |(tooth, difference)| {
            let (name, part) = (naming.name(tooth), largest_part(difference));
            format!("{name}: {:.1} ΔE00, mostly {part}", difference.de00)
        },
    )
}

/// The part of a difference that is largest, in words.
fn largest_part(difference: &ZoneDifference) -> &'static str {
    let (value, chroma, hue) = (difference.dl00, difference.dc00, difference.dh00);
    if value.abs() >= chroma.abs().max(hue.abs()) {
        Part::Value.too(value)
    } else if chroma.abs() >= hue.abs() {
        Part::Chroma.too(chroma)
    } else {
        "off in hue"
    }
}

fn solution_keys(
    ui: &mut Ui,
    inner: Rect,
    has_twin: bool,
    view: DebriefView,
    asked: &mut Vec<Intent>,
) {
    let place = Rect::from_min_max(pos2(inner.left(), inner.bottom() - 38.0), inner.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| {
        ui.spacing_mut().button_padding.x = 9.0;
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.horizontal(|ui| {
            let mut key = |ui: &mut Ui, words: &str, intent: Intent| {
                if big_button(ui, words).clicked() {
                    asked.push(intent);
                }
            };
            key(ui, "Next  (Enter)", Intent::Continue);
            if has_twin {
                key(ui, "Twin  (Space)", Intent::ToggleTwin);
                key(
                    ui,
                    if view.auto_blink { "Stop  (B)" } else { "Blink  (B)" },
                    Intent::ToggleAutoBlink,
                );
                let pair = if view.look == Look::SideBySide { "Smile  (S)" } else { "Pair  (S)" };
                key(ui, pair, Intent::ToggleSideBySide);
                let map = if view.look == Look::Map { "Smile  (M)" } else { "Map  (M)" };
                key(ui, map, Intent::ToggleMap);
            }
            key(
                ui,
                if view.value_only { "Colour  (V)" } else { "Value  (V)" },
                Intent::ToggleValueOnly,
            );
            if quiet_button(ui, pause::LABEL).clicked() {
                asked.push(Intent::Pause);
            }
        });
    });
}

/// Answers as columns; right ones are light, framed twice and ticked.
pub(super) fn columns(painter: &Painter, area: Rect, choices: &[String], tally: &Tally, k: f32) {
    let most = tally.counts.iter().copied().max().unwrap_or(0).max(1) as f32;
    let label = 34.0 * k;
    let number = 30.0 * k;
    for (place, cell) in cells(area, choices.len()).into_iter().enumerate() {
        let count = tally.counts.get(place).copied().unwrap_or(0);
        let is_right = tally.right.contains(&place);
        let room = (cell.height() - label - number).max(4.0);
        let foot = cell.bottom() - label;
        let column = Rect::from_min_max(
            pos2(cell.left(), foot - (room * count as f32 / most).max(2.0)),
            pos2(cell.right(), foot),
        );
        let fill = if is_right { theme::PAPER } else { theme::GUIDE };
        painter.rect(column, 2.0, fill, Stroke::new(2.0, theme::EDGE), StrokeKind::Inside);
        if is_right && column.height() > 14.0 {
            let stroke = Stroke::new(2.0, theme::EDGE);
            painter.rect_stroke(column.shrink(5.0), 1.0, stroke, StrokeKind::Inside);
        }
        let words = if is_right { format!("\u{2714} {count}") } else { count.to_string() };
        let at = pos2(cell.center().x, column.top() - 1.0);
        write(painter, at, Align2::CENTER_BOTTOM, &words, 24.0 * k, theme::INK);
        let name = Rect::from_min_max(pos2(cell.left(), foot + 2.0), cell.max);
        cell_words(painter, name, choices.get(place).map_or("", String::as_str), 28.0 * k);
    }
}

/// What lies over a question about options: the question and its clock, or that it is closed, or
/// how the room answered. The smiles stay where they are.
pub(in crate::app::screens) fn over_options(
    ui: &mut Ui,
    area: Rect,
    lecture: &Lecture,
    exercising: &Exercising,
    value_only: bool,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let window = ui.max_rect();
    let k = scale(window);
    ui.painter().rect_filled(area, 0.0, theme::GREY);
    let painter = ui.painter().clone();
    let inner = area.shrink2(vec2(24.0 * k, 8.0 * k));
    let Some(ballot) = lecture.ballot() else { return asked };
    let (left_s, _) = lecture.time_left_s();
    match lecture.stage() {
        RoomStage::Asked | RoomStage::Closed => {
            let is_closed = lecture.stage() == RoomStage::Closed;
            let words = if is_closed { "Closed" } else { ballot.question.as_str() };
            let clock = if is_closed { String::new() } else { format!("{:.0}", left_s.ceil()) };
            let line = write_within(
                &painter,
                inner.min,
                Align2::LEFT_TOP,
                words,
                48.0 * k,
                0.8 * inner.width(),
            );
            let at = pos2(inner.right(), line.center().y);
            write(&painter, at, Align2::RIGHT_CENTER, &clock, 64.0 * k, theme::INK);
            let row = Rect::from_min_max(
                pos2(inner.left(), line.bottom() + 8.0 * k),
                pos2(inner.right(), inner.bottom() - foot_height(k)),
            );
            choices(&painter, row, &ballot.choices, k);
            asked.extend(show_options(ui, row, &ballot.choices, exercising));
            let button = if is_closed {
                ("Reveal  (Enter)", Intent::Room(RoomIntent::Reveal))
            } else {
                ("Close  (Enter)", Intent::Room(RoomIntent::Close))
            };
            let view = if value_only { "Colour  (V)" } else { "Value  (V)" };
            let mut buttons = vec![button, (view, Intent::ToggleValueOnly)];
            if exercising.sights().len() > 1 {
                let sheet = if exercising.shows_sheet() { "One  (G)" } else { "All  (G)" };
                buttons.push((sheet, Intent::Exercise(ExerciseIntent::ToggleSheet)));
            }
            foot(ui, inner, k, lecture, &buttons, &mut asked);
        }
        RoomStage::Revealed => {
            let words = match (lecture.tally(), exercising.marked().is_some()) {
                (Some(tally), _) => {
                    format!("{} of {} right", tally.right_answers(), tally.answers())
                }
                (None, _) => "Who had it?".to_owned(),
            };
            let line = write(&painter, inner.min, Align2::LEFT_TOP, &words, 34.0 * k, theme::INK);
            if let Some(tally) = lecture.tally() {
                let row = Rect::from_min_max(
                    pos2(inner.left() + 0.28 * inner.width(), inner.top()),
                    inner.max,
                );
                columns(&painter, row, &ballot.choices, tally, k);
            }
            let at = pos2(inner.left(), line.bottom() + 4.0);
            let keys = "Enter next, C chart, X layers";
            write(&painter, at, Align2::LEFT_TOP, keys, 20.0 * k, theme::INK);
        }
        RoomStage::Watching => {}
    }
    asked
}

/// The choices that are options, each to be shown large by a click or its digit.
fn show_options(ui: &Ui, row: Rect, choices: &[String], exercising: &Exercising) -> Option<Intent> {
    let options =
        cells(row, choices.len()).into_iter().zip(choices).take(exercising.sights().len());
    let mut shown = None;
    for (place, (cell, name)) in options.enumerate() {
        let response = ui.interact(cell, egui::Id::new(("option", place)), egui::Sense::click());
        response.widget_info(|| {
            let label = with_key(&format!("show {name}"), digit_of(place));
            egui::WidgetInfo::labeled(egui::WidgetType::Button, true, label)
        });
        if response.has_focus() {
            theme::focus_ring(ui.painter(), cell);
        }
        if let Some(device) = activated(&response) {
            let act = ExerciseIntent::Act(Act::Choose(place), device);
            shown = Some(Intent::Exercise(act));
        }
    }
    shown
}
