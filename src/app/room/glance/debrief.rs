//! The debrief: the smile again, its twin, the signed difference and one sentence of cause.

use crate::app::picture::textures::Textures;
use crate::app::ui::debrief_picture::picture;
use crate::app::ui::hand::activated;
use crate::app::ui::number_line::Mark;
use crate::app::ui::number_line::number_line;
use crate::app::ui::theme;
use crate::app::ui::widgets::{low_button, page_keys, quiet_button, section, small};
use crate::bake::{Truth, ZoneDifference};
use crate::play::intents::Intent;
use crate::play::keys::{KeyContext, in_trial, is_on, pause_label};
use crate::play::naming::{Naming, verdict_in_words};
use crate::play::session::Session;
use crate::play::view::DebriefView;
use crate::trial::{InputDevice, TrialOutcome};
use crate::words::signed;
use crate::words::{count_of, tenths};
use bevy_egui::egui::{self, Rect, RichText, Ui, pos2};

/// Height of the explanation below the picture, points.
const PANEL_HEIGHT: f32 = 336.0;
/// The picture keeps at least this, points.
const PICTURE_HEIGHT: f32 = 180.0;

pub(crate) fn draw(
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
    picture(ui, picture_area, outcome, shown, textures.in_view(view), view, naming);

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
                        asked = controls(ui, view, session);
                    });
                });
            });
        },
    );
    asked
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

fn thirds(ui: &mut Ui, truth: &Truth) {
    let third = |(name, zone): (&&str, &ZoneDifference)| {
        format!("{name} {} ({})", signed(zone.dl00), tenths(zone.de00))
    };
    let parts: Vec<String> =
        ["cervical", "middle", "incisal"].iter().zip(&truth.zones).map(third).collect();
    small(ui, &format!("ΔL00 (ΔE00) by thirds:  {}", parts.join(",  ")));
}

fn controls(ui: &mut Ui, view: DebriefView, session: &Session) -> Vec<Intent> {
    let mut asked = Vec::new();
    let width = ui.available_width() - 8.0;
    // Seven controls and two lines of text fit the panel.
    ui.spacing_mut().button_padding.y = 3.0;
    ui.spacing_mut().item_spacing.y = 4.0;
    ui.spacing_mut().interact_size.y = 30.0;
    let progress = session.progress();
    let is_last = progress.answered >= progress.total;
    let offered = in_trial(KeyContext::Debrief, session);
    for row in offered.controls() {
        let label = row.label_now(|intent| match intent {
            Intent::Continue => is_last,
            intent => is_on(intent, view),
        });
        let response = low_button(ui, &label, width);
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        if response.clicked() {
            asked.extend(row.asks(InputDevice::Pointer));
        }
    }
    // Above the last control, which the keyboard scrolls to.
    small(ui, &count_of(progress.answered, progress.total, "smile", "smiles"));
    let pause = quiet_button(ui, &pause_label());
    if pause.gained_focus() {
        pause.scroll_to_me(None);
    }
    if activated(&pause).is_some() {
        asked.push(Intent::Pause);
    }
    asked
}
