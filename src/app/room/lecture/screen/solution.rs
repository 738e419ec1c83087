//! The solution with the tally of the room.

use crate::app::picture::textures::Textures;
use crate::app::ui::debrief_picture::picture as debrief_picture;
use crate::app::ui::projector::{TALLY_HEIGHT, columns, scale, write, write_within};
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, quiet_button};
use crate::bake::ZoneDifference;
use crate::play::intents::Intent;
use crate::play::keys::{KeyContext, in_trial, is_on, pause_label};
use crate::play::lecture::Lecture;
use crate::play::naming::Naming;
use crate::play::session::Session;
use crate::play::view::DebriefView;
use crate::scene::Tooth;
use crate::trial::{InputDevice, Response, TrialOutcome, Verdict};
use crate::words::Part;
use bevy_egui::egui::{self, Align2, Rect, Ui, pos2, vec2};

/// The smile again with its outlines, what it was, and how the room answered.
pub(crate) fn solution(
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
    let naming = Naming::of(session);
    debrief_picture(ui, picture, &of_room, shown, textures.in_view(view), view, naming);
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
    solution_keys(ui, inner, session, view, &mut asked);
    asked
}

/// What the smile was, in one line.
pub(crate) fn truth_in_words(
    naming: Naming<'_>,
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
    session: &Session,
    view: DebriefView,
    asked: &mut Vec<Intent>,
) {
    let place = Rect::from_min_max(pos2(inner.left(), inner.bottom() - 38.0), inner.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| {
        ui.spacing_mut().button_padding.x = 9.0;
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.horizontal(|ui| {
            let offered = in_trial(KeyContext::RoomRevealed, session);
            for row in offered.controls() {
                if big_button(ui, &row.label_now(|intent| is_on(intent, view))).clicked() {
                    asked.extend(row.asks(InputDevice::Pointer));
                }
            }
            if quiet_button(ui, &pause_label()).clicked() {
                asked.push(Intent::Pause);
            }
        });
    });
}
