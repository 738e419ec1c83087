//! Before and between: what can be measured, whether this display can, instructions, rests.

pub mod result;

pub use result::MeasuredSession;

use crate::app::shell::asking::Asked;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::page::{Page, back, nothing};
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, paragraph, section, small};
use crate::exercise::CHOICE_ID;
use crate::measure::FIND_ID;
use crate::play::frames::FrameTimes;
use crate::play::intents::Intent;
use crate::play::intents::MeasureChoice;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::start::PendingStart;
use crate::words::count;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Ui};

pub(crate) fn plugin(app: &mut App) {
    app.add_observer(show);
}

fn show(asked: On<Asked>, mut commands: Commands, mut screen: ResMut<NextState<Screen>>) {
    if let Intent::ShowMeasured(number) = asked.event().0 {
        commands.insert_resource(MeasuredSession(number));
        screen.set(Screen::Measured);
    }
}

/// The newest measurement in the results, looked up on entering the screen.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct SetupView {
    /// Its session and how many smiles were shown in it.
    newest: Option<(i64, usize)>,
    /// Whether it can be taken up again.
    unfinished: bool,
    /// The newest measurement of choosing: its session, how many questions were answered in it, and
    /// whether it can be taken up again.
    choice: Option<(i64, usize, bool)>,
}

pub(crate) fn look_up(
    records: Res<Records>,
    mut view: ResMut<SetupView>,
    mut problem: ResMut<Problem>,
) {
    *view = SetupView::default();
    match records.latest_measurement() {
        Ok(Some((session, stored))) => {
            view.newest = Some((session, stored.trials.len()));
            view.unfinished = stored.ended_because.is_none();
        }
        Ok(None) => {}
        Err(error) => problem.report(error.to_string()),
    }
    match records.latest_choice() {
        Ok(kept) => {
            view.choice = kept.map(|(kept, open)| (kept.session, kept.answered, open));
        }
        Err(error) => problem.report(error.to_string()),
    }
}

pub(crate) fn screens(app: &mut App) {
    app.init_resource::<SetupView>()
        .init_resource::<result::MeasuredView>()
        .add_systems(OnEnter(Screen::MeasureSetup), look_up)
        .add_systems(OnEnter(Screen::Measured), result::write_report)
        .add_systems(
            EguiPrimaryContextPass,
            (
                draw_set_up.run_if(in_state(Screen::MeasureSetup)),
                draw_result.run_if(in_state(Screen::Measured)),
            )
                .in_set(Draw::Screen),
        );
}

fn draw_set_up(
    mut canvas: Canvas,
    set_up: Res<SetupView>,
    frames: Res<FrameTimes>,
    pending: Res<PendingStart>,
) -> Result {
    canvas.draw(|ui| draw(ui, &set_up, &frames, pending.waits()))
}

fn draw_result(mut canvas: Canvas, measured: Res<result::MeasuredView>) -> Result {
    canvas.draw(|ui| result::draw(ui, &measured))
}

pub(crate) fn draw(ui: &mut Ui, view: &SetupView, frames: &FrameTimes, waits: bool) -> Vec<Intent> {
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| back(ui, "Back", asked);
    Page::new("Measure what you see").show(ui, beside, nothing, |ui, asked| {
        paragraph(
            ui,
            "Finds how small a difference you notice at a glance, how often you see one \
                     that is not there, and whether darker or lighter errors catch your eye more. \
                     There is no feedback after a smile. You can stop whenever you like; fewer \
                     smiles only give a wider answer.",
        );
        ui.add_space(4.0);
        asked.extend(display_line(ui, frames, waits));
        ui.add_space(theme::GAP);
        let ready = frames.display_check().is_some_and(|check| check.fault().is_none());
        choices(ui, view, ready && !waits, asked);
        last_choice_card(ui, view, waits, asked);
        choosing_card(ui, waits, asked);
        ui.add_space(theme::GAP);
        paragraph(
            ui,
            "Dim the room, turn off night tints and automatic brightness, and sit as you \
                     usually work. The result holds for this screen and these conditions. It is \
                     not a test of colour vision.",
        );
    })
}

/// What the display does now, what is in the way, and what can be done instead.
fn display_line(ui: &mut Ui, frames: &FrameTimes, waits: bool) -> Option<Intent> {
    let Some(check) = frames.display_check() else {
        small(ui, "Measuring the display…");
        return None;
    };
    let Some(fault) = check.fault() else {
        let line = if waits {
            "Getting ready…".to_owned()
        } else {
            format!(
                "Display: {:.1} Hz, {} of the last {} pictures late. Exposures can be held.",
                check.refresh_hz, check.late, check.frames
            )
        };
        small(ui, &line);
        return None;
    };
    card(ui, |ui| {
        section(ui, "This display cannot hold the exposures now");
        paragraph(ui, &fault);
        paragraph(
            ui,
            "A glance of 2.5 s must last 2.5 s, so measuring is off. Close other programs, or use a \
             computer with a graphics card. Practice works here as it is.",
        );
        big_button(ui, "Practise instead").clicked().then_some(Intent::BackToTitle)
    })
}

fn choices(ui: &mut Ui, view: &SetupView, can: bool, asked: &mut Vec<Intent>) {
    if let Some((session, smiles)) = view.newest {
        choice_card(
            ui,
            "Your last measurement",
            &format!("{} shown.", count(smiles, "smile", "smiles")),
            |ui| {
                let show = big_button(ui, "Show the result");
                if !can {
                    crate::app::ui::focus::give_focus(&show);
                }
                if show.clicked() {
                    asked.push(Intent::ShowMeasured(session));
                }
                if view.unfinished
                    && ui.add_enabled_ui(can, |ui| big_button(ui, "Go on with it")).inner.clicked()
                {
                    asked.push(Intent::ContinueMeasure(session));
                }
            },
        );
    }
    let choices = [
        (
            Intent::StartMeasure(MeasureChoice::Value),
            "Darker and lighter",
            "About 10 minutes, at most 12. How small a difference in value you see, each way.",
        ),
        (
            Intent::StartMeasure(MeasureChoice::AllAxes),
            "Darker, lighter, chroma and hue",
            "12 minutes. Four answers from as many smiles, so each is less sharp.",
        ),
        (
            Intent::StartLevel(FIND_ID.to_owned()),
            "Find it",
            "About 10 minutes. The smile stays until you press: how soon you find a restoration, \
             and how many within 2.5 s.",
        ),
    ];
    for (index, (intent, title, what)) in choices.into_iter().enumerate() {
        choice_card(ui, title, what, |ui| {
            let start = ui.add_enabled_ui(can, |ui| big_button(ui, "Start")).inner;
            if index == 0 && can {
                crate::app::ui::focus::give_focus(&start);
            }
            if start.clicked() {
                asked.push(intent.clone());
            }
        });
    }
}

/// The newest measurement of choosing, as that of the eye is offered.
fn last_choice_card(ui: &mut Ui, view: &SetupView, waits: bool, asked: &mut Vec<Intent>) {
    let Some((session, answered, unfinished)) = view.choice else { return };
    let what = format!("{} answered.", count(answered, "question", "questions"));
    choice_card(ui, "Your last measurement of choosing", &what, |ui| {
        if big_button(ui, "Show the result").clicked() {
            asked.push(Intent::ShowChoice(session));
        }
        if unfinished
            && ui.add_enabled_ui(!waits, |ui| big_button(ui, "Go on with it")).inner.clicked()
        {
            asked.push(Intent::ContinueChoice(session));
        }
    });
}

/// Choosing has no exposure to hold: any display will do.
fn choosing_card(ui: &mut Ui, waits: bool, asked: &mut Vec<Intent>) {
    let what = "15 to 40 minutes, untimed. Options in the mouth: how fine your choice is, how much value \
                counts in it, and which way you lean.";
    choice_card(ui, "Choosing", what, |ui| {
        if ui.add_enabled_ui(!waits, |ui| big_button(ui, "Start")).inner.clicked() {
            asked.push(Intent::StartLevel(CHOICE_ID.to_owned()));
        }
    });
}

/// A card with its text on the left and its buttons on the right.
fn choice_card(ui: &mut Ui, title: &str, what: &str, buttons: impl FnOnce(&mut Ui)) {
    card(ui, |ui| {
        ui.horizontal_top(|ui| {
            // Room for the widest pair of buttons.
            let width = (ui.available_width() - 320.0).max(200.0);
            ui.allocate_ui_with_layout(
                egui::vec2(width, 0.0),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ui.set_width(width);
                    section(ui, title);
                    ui.add(egui::Label::new(what).wrap());
                },
            );
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
                ui.push_id(title, |ui| buttons(ui));
            });
        });
    });
    ui.add_space(6.0);
}
