//! A round of questions: instructions, the question with its smiles, the debrief.

pub mod advance;
mod bench;
mod controls;
mod debrief;
mod patches;
mod smile;

use crate::app::picture::textures::Textures;
use crate::app::picture::upload;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::page::column;
use crate::app::ui::pause_control;
use crate::app::ui::theme;
use crate::app::ui::widgets::{
    big_button, body, heading, paragraph, progress_bar, quiet_button, section, small,
};
use crate::exercise::{Stage, Task};
use crate::play::answer::Draft;
use crate::play::content::EXERCISES;
use crate::play::intents::Intent;
use crate::play::intents::{ExerciseIntent, Page};
use crate::play::lecture::{Lecture, RoomStage};
use crate::play::round::Exercising;
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use crate::words::count;
use bevy::prelude::{App, IntoScheduleConfigs, OnExit, Res, Result, in_state, resource_exists};
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Rect, Ui, pos2};

/// Waiting shorter than this is not remarked on, s.
const QUIET_S: f64 = 0.5;
/// The picture keeps at least this height, points.
const PICTURE_HEIGHT: f32 = 180.0;

/// What the screens of an exercise draw from.
#[derive(Clone, Copy)]
pub(crate) struct Drawn<'a> {
    pub exercising: &'a Exercising,
    pub textures: &'a Textures,
    pub view: DebriefView,
    pub preparation: &'a Preparation,
    /// The lecture, where a room answers.
    pub lecture: Option<&'a Lecture>,
}

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

pub(crate) fn draw(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0.0, theme::GREY);
    let exercising = drawn.exercising;
    match exercising.sitting().stage() {
        _ if !exercising.has_begun() => instructions(ui, drawn),
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
        return debrief::study(ui, window, page, question, drawn);
    }
    let room = drawn.lecture.filter(|lecture| lecture.stage() != RoomStage::Watching);
    let height = match room {
        Some(_) => crate::app::ui::projector::options_height(window),
        None => panel_height(draft),
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
            debrief::studied(ui, picture.shrink2(egui::vec2(20.0, 8.0)), page, drawn);
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

/// An area above and one of this height below.
fn split(area: Rect, height: f32) -> (Rect, Rect) {
    let y = (area.bottom() - height).max(area.top() + PICTURE_HEIGHT).min(area.bottom());
    (
        Rect::from_min_max(area.min, pos2(area.right(), y)),
        Rect::from_min_max(pos2(area.left(), y), area.max),
    )
}

/// Height of the controls, points.
const fn panel_height(draft: &Draft) -> f32 {
    match draft {
        Draft::Bench(_) => bench::HEIGHT,
        Draft::TryIn(draft) if !draft.may_see() => 214.0,
        Draft::Bracket(draft) if draft.placing => 190.0,
        Draft::Bracket(_) | Draft::TwoLights(_) => 182.0,
        _ => 150.0,
    }
}

fn heading_line(drawn: Drawn<'_>) -> String {
    let sitting = drawn.exercising.sitting();
    let number = sitting.answered() + 1;
    if let Some(choosing) = drawn.exercising.mode().choosing() {
        return format!("{number}, at most {}", choosing.measurement().most_questions());
    }
    format!("{number} of {}", sitting.round().questions.len())
}

/// The name of an exercise on screen, and what is done in it.
fn in_words(exercise: &str) -> (&'static str, &'static str) {
    EXERCISES
        .iter()
        .find(|(name, ..)| *name == exercise)
        .map_or(("Exercise", ""), |(_, title, what)| (title, what))
}

fn instructions(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let sitting = drawn.exercising.sitting();
    let round = sitting.round();
    let (name, what) = in_words(round.exercise);
    column(ui, 820.0, |ui, asked| {
        heading(ui, &round.title);
        body(ui, &format!("{name}. {what}"));
        paragraph(ui, &round.teaches);
        ui.add_space(theme::GAP);
        section(ui, "What to do");
        let measured = drawn.exercising.mode().choosing();
        let lines = if measured.is_some() { MEASURED } else { steps(round.exercise) };
        for line in lines {
            paragraph(ui, line);
        }
        let total = round.questions.len();
        let goes_on = match sitting.answered() {
            done if measured.is_some() => {
                let goes_on = match done {
                    0 => String::new(),
                    done => format!(" Goes on after {}.", count(done, "question", "questions")),
                };
                format!(
                    "It ends by itself, after 13 to 40 questions. Escape pauses; you can \
                                 stop at any time, and go on another day.{goes_on}"
                )
            }
            0 => format!("{}. Escape pauses.", count(total, "question", "questions")),
            done => format!("Goes on after {done} of {total}. Escape pauses."),
        };
        paragraph(ui, &goes_on);
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            let begin = big_button(ui, "Begin");
            crate::app::ui::focus::give_focus(&begin);
            if begin.clicked() {
                asked.push(Intent::Exercise(ExerciseIntent::Begin));
            }
            if quiet_button(ui, pause_control::LABEL).clicked() {
                asked.push(Intent::Pause);
            }
            small(ui, "or Enter");
        });
        if drawn.exercising.waited_s() > QUIET_S {
            progress(ui, drawn, 420.0);
        }
    })
}

/// What is told before choosing is measured.
const MEASURED: &[&str] = &[
    "1.  Digits or Left and Right put each option in the mouth; grey comes between them. G shows all \
     of them small.",
    "2.  Space ticks an option that would pass. B marks the one that blends best.",
    "3.  N says that none would pass: about one time in five that is true. Enter is done.",
    "4.  You are not told how you did until the end. Take your time.",
];

/// What is told before the first question.
fn steps(exercise: &str) -> &'static [&'static str] {
    match exercise {
        "blend" => &[
            "1.  Digits or Left and Right put each option in the mouth. G shows all of them small; V \
             shows value alone.",
            "2.  Space ticks an option that would pass. B marks the one that blends best.",
            "3.  N says that none would pass: about one time in five that is true. Enter is done.",
            "4.  Take your time. Then you see how far each option was off, and why.",
        ],
        "ladder" => &[
            "1.  Put the patches in order of value, the lightest on the left. Chroma and hue mislead.",
            "2.  Drag a patch; or digits and arrows go to one, Space picks it up, arrows carry it, \
             Space puts it down.",
            "3.  Enter is done.",
        ],
        "match" => &[
            "1.  One tooth is marked. Below it stand tabs without names.",
            "2.  Click a tab, or drag it beside the tooth and let go there; or digits and arrows go to \
             one, Space chooses it. Choose two when the tooth lies between them.",
            "3.  Enter is done.",
        ],
        "two_lights" => &[
            "1.  Compare the options by digits or arrows; B picks the one that blends best in this \
             light. Enter goes on.",
            "2.  Say before you see it: in the other light, will you keep it (K) or change it (C)?",
            "3.  Then the other light comes. Pick again (B), and Enter.",
        ],
        "bench" => &[
            "1.  The marked tooth is prepared. Up and Down go to a part of the restoration, Left and \
             Right change it; the smile follows.",
            "2.  U and R take changes back and bring them again. Shift with A or B keeps a recipe, A \
             or B shows it. V shows value alone, L another light.",
            "3.  Enter makes an attempt; there are few. F ends with the attempts made. N says that no \
             restoration will do here and the plan must change.",
        ],
        "try_in" => &[
            "1.  You see the restoration with one cement. Say what each other cement will do: darker, \
             lighter, warmer or nothing to see (Up and Down, or 1 to 4), and how much (Left, Right).",
            "2.  When all are predicted you see them all. Pick the one to seat it with (B): it should \
             go unnoticed in the months to come, and restorations tend to end up darker.",
        ],
        "bracket" => &[
            "1.  The pictures are estimates: the milled thickness and the prepared tooth may turn out \
             a little different.",
            "2.  Pick two options to mill (B), so that at least one of them will blend. Enter.",
            "3.  Then say where the natural teeth lie in value between the two (Left, Right), or that \
             they do not lie between them (N).",
        ],
        "margin" => &[
            "1.  An onlay ends above the gum. Compare the options by digits or arrows and look along \
             its margin.",
            "2.  B picks the one whose margin disappears; N says that none does. Enter is done.",
        ],
        _ => &[
            "1.  A smile appears for a short time. One tooth is marked.",
            "2.  A accepts it, R has it made again. Some marked teeth are natural.",
        ],
    }
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

fn progress(ui: &mut Ui, drawn: Drawn<'_>, width: f32) {
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
