//! What is drawn. Each screen is a function from a view model to egui and intents; the one
//! system here builds the view model and passes the intents on.

mod about;
pub mod bench_setup;
mod clinic_cases;
pub mod clinic_form;
mod course;
mod courses;
mod debrief;
mod exercise;
mod hand_in;
mod lecture;
mod measure;
mod measured;
#[cfg(test)]
mod naming;
mod pause;
mod problem;
mod seat;
mod summary;
mod textures;
pub mod title;
mod trial;

use crate::app::bench_setup::BenchBeingSet;
use crate::app::clinic_form::ClinicForm;
use crate::app::content::ActiveContent;
use crate::app::courses::{Seat, SeatForm};
use crate::app::debrief::DebriefView;
use crate::app::exercising::Exercising;
use crate::app::frames::FrameTimes;
use crate::app::input::Intent;
use crate::app::lecture::Lecture;
use crate::app::persist::Records;
use crate::app::scenes::{PictureSize, Preparation};
use crate::app::session::{Conduct, Session, apply_intents};
use crate::app::start::PendingStart;
use crate::app::ui::{self, FocusHeld, picture_area_pixels, theme};
use crate::app::{Pause, Problem, Screen};
use bevy::asset::AssetEventSystems;
use bevy::prelude::*;
use bevy_egui::{EguiContexts, EguiPostUpdateSet, EguiPrimaryContextPass, egui};

pub(super) use exercise::ROOM_FOR_BOTH;
use textures::Textures;
use title::TitleRows;

/// Draws the screens. Needs `EguiPlugin` and a camera.
#[derive(Debug, Default)]
pub struct ScreensPlugin;

impl Plugin for ScreensPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Textures>()
            .init_resource::<exercise::SightTextures>()
            .init_resource::<TitleRows>()
            .init_resource::<courses::CourseRows>()
            .init_resource::<measure::SetupView>()
            .init_resource::<measured::MeasuredView>()
            .init_resource::<Visit>()
            .add_plugins(crate::app::clipboard::plugin)
            // New glyphs and pictures reach the graphics card in the frame that shows them.
            .configure_sets(
                PostUpdate,
                EguiPostUpdateSet::PostProcessOutput.before(AssetEventSystems),
            )
            .add_systems(OnEnter(Screen::Title), title::list_levels)
            .add_systems(OnEnter(Screen::Courses), courses::list_courses)
            .add_systems(OnEnter(Screen::Summary), summary::write_summary)
            .add_systems(OnExit(Screen::Exercise), exercise::clear)
            .add_systems(OnEnter(Screen::MeasureSetup), measure::look_up)
            .add_systems(OnEnter(Screen::Measured), measured::write_report)
            .add_systems(
                EguiPrimaryContextPass,
                (
                    set_theme.run_if(run_once),
                    follow_window_size,
                    textures::upload.run_if(resource_exists::<Session>),
                    exercise::upload
                        .run_if(resource_exists::<Exercising>)
                        .run_if(in_state(Screen::Exercise)),
                    drop_focus_on_change,
                    draw_screen,
                )
                    .chain(),
            )
            // Answers by pointer count in the frame that saw them, like those by key.
            .add_systems(PostUpdate, apply_intents.after(EguiPostUpdateSet::ProcessOutput));
    }
}

fn set_theme(mut contexts: EguiContexts) -> Result {
    theme::apply(contexts.ctx_mut()?);
    Ok(())
}

fn follow_window_size(mut contexts: EguiContexts, mut size: ResMut<PictureSize>) -> Result {
    let ctx = contexts.ctx_mut()?;
    let scale = ctx.pixels_per_point();
    let window = ctx.viewport_rect().size() * scale;
    let wanted = picture_area_pixels(window.x.round() as u32, window.y.round() as u32, scale);
    size.set_if_neq(PictureSize(wanted));
    Ok(())
}

/// How often another thing was shown so far: what was scrolled on one screen, or at one question, says
/// nothing of the next.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
struct Visit(u64);

/// What decides which controls exist. When it changes, no old control keeps the focus.
type Place = (
    Screen,
    Pause,
    Option<std::mem::Discriminant<crate::trial::Phase>>,
    Option<(crate::exercise::Stage, bool)>,
    bool,
);

fn drop_focus_on_change(
    mut contexts: EguiContexts,
    mut before: Local<Option<Place>>,
    mut visit: ResMut<Visit>,
    screen: Res<State<Screen>>,
    pause: Res<State<Pause>>,
    problem: Res<Problem>,
    session: Option<Res<Session>>,
    exercising: Option<Res<Exercising>>,
) -> Result {
    let phase = session.map(|session| std::mem::discriminant(&session.phase()));
    let stage = exercising.map(|round| (round.sitting().stage(), round.has_begun()));
    let now = (*screen.get(), *pause.get(), phase, stage, problem.0.is_some());
    let changed = before.replace(now);
    // A menu or a message over the screen leaves it as it is.
    let of_screen = |(screen, _, phase, stage, _): Place| (screen, phase, stage);
    if changed.map(of_screen) != Some(of_screen(now)) {
        visit.0 += 1;
    }
    if changed != Some(now) {
        contexts.ctx_mut()?.memory_mut(|memory| {
            if let Some(id) = memory.focused() {
                memory.surrender_focus(id);
            }
        });
    }
    Ok(())
}

fn draw_screen(
    mut contexts: EguiContexts,
    screen: Res<State<Screen>>,
    pause: Res<State<Pause>>,
    session: Option<Res<Session>>,
    view: Res<DebriefView>,
    (textures, exercising, sight_textures): (
        Res<Textures>,
        Option<Res<Exercising>>,
        Res<exercise::SightTextures>,
    ),
    preparation: Res<Preparation>,
    rows: Res<TitleRows>,
    summary: Option<Res<summary::SummaryText>>,
    (setup, measured, frames): (
        Res<measure::SetupView>,
        Res<measured::MeasuredView>,
        Res<FrameTimes>,
    ),
    (being_set, form, content): (Res<BenchBeingSet>, Res<ClinicForm>, Res<ActiveContent>),
    (pending, records): (Res<PendingStart>, Res<Records>),
    (course_rows, seat_form, seat, lecture): (
        Res<courses::CourseRows>,
        Option<Res<SeatForm>>,
        Option<Res<Seat>>,
        Option<Res<Lecture>>,
    ),
    (problem, visit): (Res<Problem>, Res<Visit>),
    mut focus: ResMut<FocusHeld>,
    mut intents: MessageWriter<Intent>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    // Forms are found again as they were left.
    let is_form = matches!(screen.get(), Screen::ClinicForm | Screen::BenchSetup);
    let number = if is_form { 0 } else { visit.0 };
    let mut root = egui::Ui::new(
        ctx.clone(),
        egui::Id::new(("screen", *screen.get(), number)),
        egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(ctx.viewport_rect()),
    );
    let mut asked = Vec::new();
    match (screen.get(), session.as_deref()) {
        (Screen::Title, _) => {
            let status = match (pending.waits(), pending.is_under_way()) {
                (true, true) => Some("Laying out the session…"),
                (true, false) => Some("Measuring the display…"),
                (false, _) => None,
            };
            asked.extend(title::draw(&mut root, &rows, status));
        }
        (Screen::About, _) => asked.extend(about::draw(&mut root, &records.location())),
        (Screen::Summary, _) => {
            asked.extend(summary::draw(&mut root, summary.as_deref(), &records.location()));
        }
        (Screen::MeasureSetup, _) => {
            let waits = pending.waits();
            asked.extend(measure::draw(&mut root, &setup, &frames, waits));
        }
        (Screen::BenchSetup, _) => {
            let waits = pending.waits();
            asked.extend(bench_setup::draw(&mut root, &being_set, &content, waits));
        }
        (Screen::ClinicForm, _) => {
            let waits = pending.waits();
            asked.extend(clinic_form::draw(&mut root, &form, &content, waits));
        }
        (Screen::Measured, _) => asked.extend(measured::draw(&mut root, &measured)),
        (Screen::Courses, _) => asked.extend(courses::draw(&mut root, &course_rows)),
        (Screen::Seat, _) => {
            if let Some(form) = seat_form.as_deref() {
                asked.extend(seat::draw(&mut root, form));
            }
        }
        (Screen::Course, _) => {
            if let Some(seat) = seat.as_deref() {
                asked.extend(course::draw(&mut root, seat, pending.waits(), &frames));
            }
        }
        (Screen::HandIn, _) => {
            if let Some(seat) = seat.as_deref() {
                asked.extend(hand_in::draw(&mut root, seat, &records.location()));
            }
        }
        (Screen::Lecture, _) => {
            if let Some(lecture) = lecture.as_deref() {
                asked.extend(lecture::draw(&mut root, lecture, pending.waits()));
            }
        }
        (Screen::Trial, Some(session)) => {
            let now = records.now();
            asked.extend(match lecture.as_deref() {
                Some(lecture) if *session.conduct() == Conduct::Room => {
                    lecture::smile(&mut root, session, lecture, &textures, *view, &preparation, now)
                }
                _ => trial::draw(&mut root, session, &textures, *view, &preparation, now),
            });
        }
        (Screen::Trial, None) => {}
        (Screen::Exercise, _) => {
            if let Some(exercising) = exercising.as_deref() {
                let drawn = exercise::Drawn {
                    exercising,
                    textures: &sight_textures,
                    view: *view,
                    preparation: &preparation,
                    lecture: lecture.as_deref(),
                };
                asked.extend(exercise::draw(&mut root, drawn));
            }
        }
    }
    if *pause.get() == Pause::Paused
        && matches!(screen.get(), Screen::Trial | Screen::Exercise | Screen::Lecture)
    {
        asked.extend(pause::draw(
            &ctx,
            session.as_deref(),
            exercising.as_deref(),
            lecture.is_some(),
        ));
    }
    if let Some(text) = &problem.0 {
        asked.extend(problem::draw(&ctx, text));
    }
    focus.0 = ui::has_focused_widget(&ctx);
    intents.write_batch(asked);
    Ok(())
}
