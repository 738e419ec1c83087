//! A session's phases: grey, fixation, picture, mask, answer.

pub mod advance;
pub mod debrief;
mod rests;

use self::rests::minutes;
use crate::app::picture::textures::{Content, Textures};
use crate::app::picture::upload;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::hand::activated;
use crate::app::ui::page::column;
use crate::app::ui::pause_control;
use crate::app::ui::picture_view::{ANSWER_AREA_HEIGHT, PictureView};
use crate::app::ui::said;
use crate::app::ui::theme;
use crate::app::ui::tooth_row::{RowAnswer, ToothRow, row_area};
use crate::app::ui::widgets::{
    big_button, body, heading, paragraph, progress_bar, quiet_button, section, small,
};
use crate::level::course_format::ToothNames;
use crate::play::course::ExamLog;
use crate::play::intents::Intent;
use crate::play::keys::{KeyContext, Offered, in_answer_row, key_name, pause_label, pauses};
use crate::play::mode::{Instrument, Mode};
use crate::play::records::Records;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use crate::trial::{Phase, Progress};
use crate::words::count;
use bevy::prelude::{App, IntoScheduleConfigs, Res, Result, in_state, resource_exists};
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Align2, FontId, Rect, Stroke, Ui, pos2, vec2};
use std::time::SystemTime;

/// Preparing shorter than this stays plain grey, s.
const QUIET_S: f64 = 0.5;

pub(crate) fn screen(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        (
            upload::of_session.in_set(Draw::Before).run_if(resource_exists::<Session>),
            draw_screen.in_set(Draw::Screen).run_if(in_state(Screen::Trial)),
        ),
    );
}

fn draw_screen(
    mut canvas: Canvas,
    session: Option<Res<Session>>,
    textures: Res<Textures>,
    view: Res<DebriefView>,
    preparation: Res<Preparation>,
    records: Res<Records>,
) -> Result {
    // What a room is asked is drawn for the room.
    let Some(session) = session.filter(|session| !session.is_before_a_room()) else {
        return Ok(());
    };
    let now = records.now();
    canvas.draw(|ui| draw(ui, &session, &textures, *view, &preparation, now))
}

pub(crate) fn draw(
    ui: &mut Ui,
    session: &Session,
    textures: &Textures,
    view: DebriefView,
    preparation: &Preparation,
    now: SystemTime,
) -> Vec<Intent> {
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0.0, theme::GREY);
    let picture_area = picture_area(window);
    let mut asked = match session.phase() {
        Phase::Adaptation { remaining_s } => adaptation(ui, session, remaining_s, now),
        Phase::Preparing => {
            if is_waited_for(session, preparation) {
                wait(ui, picture_area, preparation.step_in_words(), session.in_phase_s());
            }
            Vec::new()
        }
        Phase::Fixation => {
            cross(ui, picture_area);
            Vec::new()
        }
        Phase::Exposure => {
            show(ui, textures, Content::Restored, picture_area, "a smile");
            if session.mode().is_find() { search_row(ui, window) } else { Vec::new() }
        }
        Phase::Mask => {
            show(ui, textures, Content::Mask, picture_area, "a scrambled picture");
            answer_row(ui, session, window, 1.0)
        }
        Phase::Response { remaining_s } => {
            let window_s = session.plan().timing.response_s;
            // Without a limit there is no clock to show.
            let left = if window_s.is_finite() { (remaining_s / window_s) as f32 } else { 1.0 };
            answer_row(ui, session, window, left)
        }
        Phase::Debrief => match session.mode() {
            Mode::Measure(Instrument::Glances(measuring)) => rests::rest(ui, measuring),
            Mode::Find => rests::search_rest(ui, session.progress()),
            Mode::Exam(log) => rests::exam_rest(ui, session.progress(), log, now),
            Mode::Practice | Mode::Room | Mode::Free(_) | Mode::Measure(Instrument::Choices(_)) => {
                debrief::draw(ui, session, textures, view)
            }
        },
        Phase::Finished => Vec::new(),
    };
    if let Some(place) = pause_place(window, session, preparation) {
        asked.extend(pause_control::corner(ui, place));
    }
    asked
}

/// Where the control that pauses lies: nowhere from the cross to the end of the mask, where it could
/// draw the eye; instructions and debrief have their own.
fn pause_place(window: Rect, session: &Session, preparation: &Preparation) -> Option<Rect> {
    let has_own = session.mode().feeds_back();
    match session.phase() {
        // Below a smile that stays, in a row that has controls in any case.
        Phase::Exposure if session.mode().is_find() => {
            Some(Rect::from_min_max(pos2(window.left(), window.bottom() - 48.0), window.max))
        }
        Phase::Preparing if !is_waited_for(session, preparation) => None,
        Phase::Debrief if has_own => None,
        Phase::Adaptation { .. } => None,
        Phase::Fixation | Phase::Exposure | Phase::Mask | Phase::Finished => None,
        Phase::Preparing | Phase::Response { .. } | Phase::Debrief => Some(window),
    }
}

/// Whether the next smile is waited for so long that it is said.
fn is_waited_for(session: &Session, preparation: &Preparation) -> bool {
    session.in_phase_s() > QUIET_S && !is_ready(session, preparation)
}

/// Where the picture goes: above the answer row.
fn picture_area(window: Rect) -> Rect {
    let y = (window.bottom() - ANSWER_AREA_HEIGHT).max(window.top());
    Rect::from_min_max(window.min, pos2(window.right(), y))
}

fn is_ready(session: &Session, preparation: &Preparation) -> bool {
    session.next_case().is_some_and(|case| preparation.ready(case).is_some())
}

fn adaptation(ui: &mut Ui, session: &Session, remaining_s: f64, now: SystemTime) -> Vec<Intent> {
    let plan = session.plan();
    column(ui, 820.0, |ui, asked| {
        heading(ui, &plan.title);
        paragraph(ui, &plan.teaches);
        ui.add_space(theme::GAP);
        section(ui, "What will happen");
        for line in what_will_happen(session, now) {
            paragraph(ui, &line);
        }
        ui.add_space(theme::GAP);
        let left_s = remaining_s.ceil();
        body(ui, &format!("Your eyes settle on this grey for {left_s:.0} s more."));
        let whole_s = plan.timing.adaptation_s.max(f64::EPSILON);
        let done = 1.0 - remaining_s / whole_s;
        let width = ui.available_width().min(420.0);
        progress_bar(ui, done as f32, width, 12.0, "adaptation");
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            if big_button(ui, "Start now").clicked() {
                asked.push(Intent::StartNow);
            }
            if quiet_button(ui, &pause_label()).clicked() {
                asked.push(Intent::Pause);
            }
            let start = key_name(KeyContext::Adaptation, &Intent::StartNow);
            let words = "A shorter wait is kept with your results.";
            small(ui, &format!("or {start}. {words}"));
        });
    })
}

/// What is told while the eyes settle.
fn what_will_happen(session: &Session, now: SystemTime) -> Vec<String> {
    match session.mode() {
        Mode::Measure(Instrument::Glances(measuring)) => rests::instructions(session, measuring),
        Mode::Find => rests::search_instructions(session),
        Mode::Exam(log) => exam_instructions(session, log, now),
        Mode::Practice | Mode::Room | Mode::Free(_) | Mode::Measure(Instrument::Choices(_)) => {
            instructions(session).into()
        }
    }
}

fn instructions(session: &Session) -> [String; 5] {
    let plan = session.plan();
    [
        format!(
            "1.  Look at the cross. A smile appears for {:.1} s, then a scrambled picture.",
            plan.timing.exposure_s
        ),
        "2.  Which tooth is the restoration? About one smile in four has no restoration."
            .to_owned(),
        format!(
            "3.  Answer within {:.0} s: click a tooth or \u{201c}None\u{201d}; or keys {}.",
            plan.timing.response_s,
            in_answer_row(Some(plan.teeth.len()))
        ),
        "4.  Then you see what it was, and why.".to_owned(),
        format!("{}. {}.", count(session.progress().total, "smile", "smiles"), pauses()),
    ]
}

fn exam_instructions(session: &Session, log: &ExamLog, now: SystemTime) -> Vec<String> {
    let plan = session.plan();
    let limit = if plan.timing.response_s.is_finite() {
        format!("within {:.0} s", plan.timing.response_s)
    } else {
        "without a limit of time".to_owned()
    };
    let Progress { answered, total } = session.progress();
    let mut lines = vec![
        format!(
            "1.  Look at the cross. A smile appears for {:.1} s, then a scrambled picture.",
            plan.timing.exposure_s
        ),
        "2.  Which tooth is the restoration? About one smile in four has no restoration."
            .to_owned(),
        format!(
            "3.  Answer {limit}: click a tooth or \u{201c}None\u{201d}; or keys {}.",
            in_answer_row(None)
        ),
        "4.  You are not told whether you were right until you have handed in.".to_owned(),
        format!(
            "{}, with rests. {}; the clock runs on.",
            count(total, "smile", "smiles"),
            pauses()
        ),
    ];
    if answered > 0 {
        lines.push(format!(
            "Goes on after {}, {} after the start; you were away for {}.",
            count(answered, "smile", "smiles"),
            minutes(log.elapsed_s(now)),
            minutes(log.away_s())
        ));
    }
    lines
}

/// The two ways to end a smile that stays.
fn search_row(ui: &mut Ui, window: Rect) -> Vec<Intent> {
    let mut asked = Vec::new();
    let place = row_area(window).shrink2(vec2(0.0, 18.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| {
        ui.horizontal(|ui| {
            ui.add_space((place.width() - 420.0).max(0.0) / 2.0);
            let offered = Offered::all(KeyContext::Searching);
            for row in offered.controls() {
                let label = format!("{} ({})", row.words(false), row.key.name());
                if let Some(device) = activated(&big_button(ui, &label)) {
                    asked.extend(row.asks(device));
                }
            }
        });
    });
    asked
}

fn wait(ui: &Ui, area: Rect, step: &str, seconds: f64) {
    let font = FontId::proportional(theme::BODY_PT);
    let text = format!("{step} {seconds:.0} s");
    said::text(ui.painter(), area.center(), Align2::CENTER_CENTER, &text, font, theme::INK);
}

fn cross(ui: &Ui, area: Rect) {
    let stroke = Stroke::new(2.0, theme::EDGE);
    for arm in [vec2(11.0, 0.0), vec2(0.0, 11.0)] {
        ui.painter().line_segment([area.center() - arm, area.center() + arm], stroke);
    }
}

pub(crate) fn show(
    ui: &mut Ui,
    textures: &Textures,
    content: Content,
    area: Rect,
    description: &str,
) {
    if let Some(texture) = textures.get(content) {
        PictureView {
            texture: texture.id,
            size_px: texture.size_px,
            centre_row: texture.size_px[1] as f32 / 2.0,
            zoom: 1,
            overlays: &[],
            description,
        }
        .show(ui, area);
    }
}

fn answer_row(ui: &mut Ui, session: &Session, window: Rect, left: f32) -> Vec<Intent> {
    let plan = session.plan();
    let row =
        ToothRow { teeth: &plan.teeth, cursor: Some(session.cursor()), names: session.names() };
    let place = row_area(window);
    let pressed = row.show(ui, place);
    let area = place.expand2(vec2(16.0, 0.0));
    let bar = Rect::from_center_size(
        pos2(area.center().x, place.bottom() + 18.0),
        vec2((area.width() - 32.0).min(720.0), 10.0),
    );
    ui.scope_builder(egui::UiBuilder::new().max_rect(bar), |ui| {
        progress_bar(ui, left, bar.width(), bar.height(), "time left to answer");
    });
    said::text(
        ui.painter(),
        pos2(area.center().x, bar.bottom() + 6.0),
        Align2::CENTER_TOP,
        &asked_in_words(session),
        FontId::proportional(16.0),
        theme::INK,
    );
    pressed
        .map(|(answer, device)| match answer {
            RowAnswer::Tooth(tooth) => Intent::Answer(Some(tooth), device),
            RowAnswer::None => Intent::Answer(None, device),
        })
        .into_iter()
        .collect()
}

/// The question below the row; where teeth are named in words, the name under the cursor too.
fn asked_in_words(session: &Session) -> String {
    let question = "Which tooth is the restoration?";
    match (session.names(), session.plan().teeth.get(session.cursor())) {
        (ToothNames::Words, Some(tooth)) => format!("{question}  {}", tooth.name()),
        _ => question.to_owned(),
    }
}
