//! How the session went.

use crate::app::shell::asking::Asked;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, heading, page_keys, paragraph, section};
use crate::exercise::fits;
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::round::Exercising;
use crate::play::round::choice_result;
use crate::play::session::Session;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Ui};

/// What heads the result of a measurement of choosing.
const CHOICE_TITLE: &str = "Choosing, measured";

/// The session of a measurement of choosing whose result is asked for.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShownChoice(pub i64);

pub(crate) fn plugin(app: &mut App) {
    app.add_observer(show);
}

fn show(asked: On<Asked>, mut commands: Commands, mut screen: ResMut<NextState<Screen>>) {
    if let Intent::ShowChoice(number) = asked.event().0 {
        commands.insert_resource(ShownChoice(number));
        screen.set(Screen::Summary);
    }
}

/// The session's summary in words, written once on entering the screen.
#[derive(Resource, Debug, Default, Clone, PartialEq, Eq)]
pub struct SummaryText {
    /// The level's title.
    pub title: String,
    /// The summary.
    pub text: String,
}

pub(crate) fn write_summary(
    mut commands: Commands,
    session: Option<Res<Session>>,
    exercising: Option<Res<Exercising>>,
    shown: Option<Res<ShownChoice>>,
    records: Res<Records>,
    mut problem: ResMut<Problem>,
) {
    let choosing = exercising.as_ref().filter(|exercising| exercising.mode().choosing().is_some());
    let measured = match &shown {
        Some(shown) => Some(shown.0),
        None => choosing.and_then(|exercising| exercising.stored_as()),
    };
    if let Some(session) = measured {
        commands.remove_resource::<ShownChoice>();
        let text = choice_result(&records, session).unwrap_or_else(|reason| {
            problem.report(reason);
            String::new()
        });
        commands.insert_resource(SummaryText { title: CHOICE_TITLE.to_owned(), text });
        return;
    }
    if let Some(exercising) = exercising {
        let text = round_summary(&exercising, &records, &mut problem);
        let title = exercising.sitting().round().title.clone();
        commands.insert_resource(SummaryText { title, text });
        return;
    }
    let Some(session) = session else { return };
    let summary = |number| {
        if session.mode().is_find() {
            records.find_summary(number)
        } else {
            records.summary(number)
        }
    };
    let text = match session.stored_as().map(summary) {
        Some(Ok(text)) => text,
        Some(Err(error)) => {
            problem.report(error.to_string());
            String::new()
        }
        None => "No smile was answered.".to_owned(),
    };
    commands.insert_resource(SummaryText { title: session.plan().title.clone(), text });
}

/// What came of a round: scores of all its stored answers, and what the answers of this run say
/// about the learner.
fn round_summary(exercising: &Exercising, records: &Records, problem: &mut Problem) -> String {
    let Some(session) = exercising.stored_as() else {
        return "No question was answered.".to_owned();
    };
    let mut lines = match records.round_tally(session) {
        Ok(summary) => summary.sentences(),
        Err(error) => {
            problem.report(error.to_string());
            Vec::new()
        }
    };
    lines.extend(exercising.given_summary().sentences);
    lines.extend(fits(exercising.given()));
    lines.join("\n")
}

pub(crate) fn screen(app: &mut App) {
    app.add_systems(OnEnter(Screen::Summary), write_summary).add_systems(
        EguiPrimaryContextPass,
        draw_screen.in_set(Draw::Screen).run_if(in_state(Screen::Summary)),
    );
}

fn draw_screen(
    mut canvas: Canvas,
    summary: Option<Res<SummaryText>>,
    records: Res<Records>,
) -> Result {
    canvas.draw(|ui| draw(ui, summary.as_deref(), &records.location()))
}

pub(crate) fn draw(ui: &mut Ui, summary: Option<&SummaryText>, results: &str) -> Vec<Intent> {
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 20));
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "Session summary");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let back = big_button(ui, "Back to the levels");
                crate::app::ui::focus::give_focus(&back);
                if back.clicked() {
                    asked.push(Intent::BackToTitle);
                }
            });
        });
        ui.add_space(theme::GAP);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            page_keys(ui);
            if let Some(summary) = summary {
                card(ui, |ui| {
                    section(ui, &summary.title);
                    for line in summary.text.lines() {
                        paragraph(ui, line);
                    }
                });
            }
            ui.add_space(theme::GAP);
            paragraph(ui, &format!("Every answer is kept in {results}"));
        });
    });
    asked
}
