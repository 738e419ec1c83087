//! A round of questions: instructions, the question with its smiles, the debrief.

pub mod advance;
mod controls;
mod debrief;
mod drawn;
mod instructions;
mod patches;
mod smile;

use self::debrief::study;
use self::drawn::{Drawn, QUIET_S, progress, split};
use crate::app::picture::textures::Textures;
use crate::app::picture::upload;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::pause_control;
use crate::app::ui::theme;
use crate::exercise::{Stage, Task};
use crate::play::answer::Draft;
use crate::play::intents::{Intent, Page};
use crate::play::lecture::{Lecture, RoomStage};
use crate::play::round::Exercising;
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use bevy::prelude::{App, IntoScheduleConfigs, OnExit, Res, Result, in_state, resource_exists};
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Rect, Ui};

pub(crate) fn screen(app: &mut App) {
    app.add_systems(OnExit(Screen::Exercise), upload::clear);
    app.add_systems(
        EguiPrimaryContextPass,
        (
            upload::of_round.in_set(Draw::Before).run_if(resource_exists::<Exercising>),
            draw_screen.in_set(Draw::Screen),
        )
            .run_if(in_state(Screen::Exercise)),
    );
}

fn draw_screen(
    mut canvas: Canvas,
    exercising: Option<Res<Exercising>>,
    textures: Res<Textures>,
    view: Res<DebriefView>,
    preparation: Res<Preparation>,
    lecture: Option<Res<Lecture>>,
) -> Result {
    let Some(exercising) = exercising else { return Ok(()) };
    let drawn = Drawn {
        exercising: &exercising,
        textures: &textures,
        view: *view,
        preparation: &preparation,
        lecture: lecture.as_deref(),
    };
    canvas.draw(|ui| draw(ui, drawn))
}

fn draw(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0.0, theme::GREY);
    let exercising = drawn.exercising;
    match exercising.sitting().stage() {
        _ if !exercising.has_begun() => instructions::instructions(ui, drawn),
        Stage::Preparing => wait(ui, window, drawn).into_iter().collect(),
        Stage::Asked => asked(ui, window, drawn),
        Stage::Marked => match drawn.lecture {
            Some(lecture) if lecture.stage() == RoomStage::Revealed => {
                let height = crate::app::ui::projector::revealed_height(window);
                let value_only = drawn.view.value_only;
                let (above, strip) = split(window, height);
                let mut asked = debrief::draw(ui, above, drawn);
                asked.extend(crate::app::ui::projector::over_options(
                    ui,
                    strip,
                    lecture,
                    drawn.exercising,
                    value_only,
                ));
                asked
            }
            _ => debrief::draw(ui, window, drawn),
        },
        Stage::Finished => Vec::new(),
    }
}

/// The smile above, its controls below.
fn asked(ui: &mut Ui, window: Rect, drawn: Drawn<'_>) -> Vec<Intent> {
    let (Some(draft), Some(question)) =
        (drawn.exercising.draft(), drawn.exercising.sitting().question())
    else {
        return Vec::new();
    };
    let page = drawn.exercising.page();
    let is_free = drawn.exercising.mode().free().is_some();
    // Where there is little room, chart and layers get all of it.
    if is_free
        && page != Page::Smile
        && window.height() < crate::app::ui::picture_view::ROOM_FOR_BOTH
    {
        return study::study(ui, window, page, drawn);
    }
    let room = drawn.lecture.filter(|lecture| lecture.stage() != RoomStage::Watching);
    let height = match room {
        Some(_) => crate::app::ui::projector::options_height(window),
        None => controls::height(draft),
    };
    let (picture, panel) = split(window, height);
    let mut asked = Vec::new();
    match (draft, &question.task) {
        (Draft::Ladder(draft), Task::Ladder(task)) => {
            asked.extend(patches::ladder(ui, picture, draft, task));
        }
        (Draft::Match(draft), Task::Match(task)) => {
            let (picture, tabs) = split(picture, patches::STRIP_HEIGHT);
            smile::show(ui, picture, drawn);
            asked.extend(patches::tabs(ui, tabs, draft, task, drawn.view.value_only));
        }
        _ if is_free && page != Page::Smile => {
            study::studied(ui, picture.shrink2(egui::vec2(20.0, 8.0)), page, drawn);
        }
        // Grey between two options.
        _ if drawn.exercising.mode().choosing().is_some() && !drawn.exercising.may_look() => {}
        _ if !drawn.exercising.may_look() => {
            let words = "The smile is gone. Would you accept the marked tooth?";
            smile::words(ui, picture, words);
        }
        _ if drawn.exercising.shows_sheet() => asked.extend(smile::sheet(ui, picture, drawn)),
        _ => smile::show(ui, picture, drawn),
    }
    if !is_free {
        smile::prompt(ui, picture, &heading_line(drawn));
    }
    if let Some(lecture) = room {
        let value_only = drawn.view.value_only;
        asked.extend(crate::app::ui::projector::over_options(
            ui,
            panel,
            lecture,
            drawn.exercising,
            value_only,
        ));
        return asked;
    }
    let inner = panel.shrink2(egui::vec2(20.0, 8.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(inner), |ui| {
        ui.set_clip_rect(panel);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.spacing_mut().item_spacing = egui::vec2(8.0, 6.0);
            ui.spacing_mut().button_padding = egui::vec2(12.0, 4.0);
            ui.spacing_mut().interact_size.y = 32.0;
            // Room for the focus ring.
            ui.add_space(4.0);
            asked.extend(controls::draw(ui, draft, question, drawn));
        });
    });
    asked
}

fn heading_line(drawn: Drawn<'_>) -> String {
    let sitting = drawn.exercising.sitting();
    let number = sitting.answered() + 1;
    if let Some(choosing) = drawn.exercising.mode().choosing() {
        return format!("{number}, at most {}", choosing.measurement().most_questions());
    }
    format!("{number} of {}", sitting.round().questions.len())
}

/// The line and bar for waits that are noticed.
fn wait(ui: &mut Ui, window: Rect, drawn: Drawn<'_>) -> Option<Intent> {
    if drawn.exercising.waited_s() <= QUIET_S {
        return None;
    }
    let place = Rect::from_center_size(window.center(), egui::vec2(420.0, 60.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| progress(ui, drawn, 420.0));
    pause_control::corner(ui, window)
}
