//! The pause menu.

use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::{Pause, Screen};
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, body, section};
use crate::play::intents::Intent;
use crate::play::intents::RoomIntent;
use crate::play::lecture::Lecture;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::trial::Phase;
use crate::words::{count, count_of};
use bevy::prelude::{App, IntoScheduleConfigs, Res, Result, State, in_state};
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Ui};

pub(crate) fn screen(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        draw_menu.in_set(Draw::Menu).run_if(in_state(Pause::Paused)),
    );
}

fn draw_menu(
    mut canvas: Canvas,
    screen: Res<State<Screen>>,
    session: Option<Res<Session>>,
    exercising: Option<Res<Exercising>>,
    lecture: Option<Res<Lecture>>,
) -> Result {
    if !matches!(screen.get(), Screen::Trial | Screen::Exercise | Screen::Lecture) {
        return Ok(());
    }
    let (session, exercising) = (session.as_deref(), exercising.as_deref());
    canvas.over(|ctx| draw(ctx, session, exercising, lecture.is_some()))
}

pub(crate) fn draw(
    ctx: &egui::Context,
    session: Option<&Session>,
    exercising: Option<&Exercising>,
    is_lecture: bool,
) -> Option<Intent> {
    let mut asked = None;
    let frame = theme::card_frame().stroke(egui::Stroke::new(2.0, theme::EDGE));
    egui::Modal::new("pause".into()).frame(frame).backdrop_color(egui::Color32::TRANSPARENT).show(
        ctx,
        |ui| {
            ui.set_max_width(460.0);
            section(ui, "Paused");
            ui.add_space(4.0);
            if let Some(exercising) = exercising.filter(|_| !is_lecture) {
                of_round(ui, exercising);
            }
            let is_exam = session.is_some_and(|session| session.mode().exam().is_some());
            if is_exam {
                let words =
                    "The clock of the form runs on. Whoever leaves goes on where it stopped.";
                ui.add(egui::Label::new(words).wrap());
            }
            if let Some(session) = session.filter(|_| !is_lecture) {
                of_session(ui, session);
            }
            ui.add_space(theme::GAP);
            ui.horizontal(|ui| {
                let resume = big_button(ui, "Resume");
                crate::app::ui::focus::give_focus(&resume);
                if resume.clicked() {
                    asked = Some(Intent::Resume);
                }
                if is_lecture {
                    if big_button(ui, "End the lecture").clicked() {
                        asked = Some(Intent::Room(RoomIntent::End));
                    }
                } else {
                    let is_free = exercising.is_some_and(|e| e.mode().free().is_some());
                    let stop = match (is_exam, is_free) {
                        (true, _) => "Leave the form",
                        (false, true) => "Leave the bench",
                        (false, false) => "Stop and keep results",
                    };
                    if big_button(ui, stop).clicked() {
                        asked = Some(Intent::StopSession);
                    }
                }
            });
        },
    );
    asked
}

/// How far a round is.
fn of_round(ui: &mut Ui, exercising: &Exercising) {
    let sitting = exercising.sitting();
    let (answered, total) = (sitting.answered(), sitting.round().questions.len());
    if exercising.mode().free().is_some() {
        body(ui, "Free play: nothing is stored.");
    } else if exercising.mode().choosing().is_some() {
        body(ui, &format!("{} answered", count(answered, "question", "questions")));
    } else {
        body(ui, &format!("{} answered", count_of(answered, total, "question", "questions")));
    }
}

/// How far a session of glances is, and what its clock does.
fn of_session(ui: &mut Ui, session: &Session) {
    match session.mode().measuring() {
        Some(measuring) => {
            let trials = measuring.measurement().instrument().trials();
            body(ui, &format!("{} measured", count(trials, "smile", "smiles")));
        }
        None => {
            let progress = session.progress();
            let (answered, total) = (progress.answered, progress.total);
            body(ui, &format!("{} answered", count_of(answered, total, "smile", "smiles")));
        }
    }
    if is_running(session.phase()) {
        ui.add(
            egui::Label::new("The clock of this smile runs on: a pause must not be a second look.")
                .wrap(),
        );
    }
}

const fn is_running(phase: Phase) -> bool {
    matches!(phase, Phase::Fixation | Phase::Exposure | Phase::Mask | Phase::Response { .. })
}
