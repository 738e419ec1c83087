//! A lecture: the room's phones answer on a page that this machine serves.
//!
//! In a lecture the engine's phases drive the poll: the mask opens it, the debrief closes it, the
//! instructor reveals. `/state` tells phones counts and right answers in stage `revealed` only.
//! Without a port or a network, hands are shown: items are then kept without counts.
//!
//! # The network
//! The page needs no internet and no names. A phone joins with the code on the screen in front, at
//! the pace of [`lecture::Door`](crate::lecture::Door) (60 at once and two a second after that from
//! one address or IPv6 network), and is known by a random token until the lecture ends. A request
//! has 8 s for its head and 5 s for the rest and its reply, a body at most 512 bytes, a connection
//! at most ten minutes; there are at most 800 connections, half of them from one place
//! ([`phones::Limits`]). The address on the screen is one of this computer's own interfaces, private IPv4
//! first; where there are several networks, `course lecture --address` names it.
//!
//! | test | what |
//! |---|---|
//! | `cargo test --test app lecture::page` | the page for phones: many phones, the code to join, a flood, slow connections, headers |
//! | `cargo test --test app with_phones` | lectures with phones on the real server, a taken port, options of which several are right |
//! | `cargo test --test app browser -- --ignored` | the page in Chromium, tapped |

mod handle;
pub mod phones;
pub mod screen;

pub use handle::{LectureAddress, LecturePort};

use crate::app::picture::textures::Textures;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::frames::LastFrame;
use crate::app::shell::order::AppSystems;
use crate::app::shell::state::{Pause, Screen};
use crate::play::lecture::Lecture;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::start::PendingStart;
use crate::play::view::DebriefView;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<LecturePort>()
        .init_resource::<LectureAddress>()
        .add_observer(handle::open)
        .add_observer(handle::conduct)
        .add_systems(
            Update,
            (follow_smiles, follow_questions)
                .run_if(resource_exists::<Lecture>)
                .in_set(AppSystems::Prepare),
        );
}

fn follow_smiles(
    mut lecture: ResMut<Lecture>,
    session: Option<Res<Session>>,
    screen: Res<State<Screen>>,
) {
    let of_room = |session: &Res<Session>| session.mode().is_room();
    if let Some(session) = session.filter(of_room)
        && *screen.get() == Screen::Trial
    {
        lecture.follow_smile(&session);
    }
}

fn follow_questions(
    mut lecture: ResMut<Lecture>,
    exercising: Option<ResMut<Exercising>>,
    screen: Res<State<Screen>>,
    pause: Res<State<Pause>>,
    last: Res<LastFrame>,
) {
    if let Some(mut exercising) = exercising
        && *screen.get() == Screen::Exercise
    {
        let is_paused = *pause.get() == Pause::Paused;
        lecture.follow_question(&mut exercising, is_paused, last.0.as_secs_f64());
    }
}

pub(crate) fn screens(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        (draw_hub.run_if(in_state(Screen::Lecture)), draw_smile.run_if(in_state(Screen::Trial)))
            .in_set(Draw::Screen),
    );
}

fn draw_hub(
    mut canvas: Canvas,
    lecture: Option<Res<Lecture>>,
    pending: Res<PendingStart>,
) -> Result {
    let Some(lecture) = lecture else { return Ok(()) };
    canvas.draw(|ui| screen::draw(ui, &lecture, pending.waits()))
}

fn draw_smile(
    mut canvas: Canvas,
    (session, lecture): (Option<Res<Session>>, Option<Res<Lecture>>),
    textures: Res<Textures>,
    view: Res<DebriefView>,
) -> Result {
    let session = session.filter(|session| session.is_before_a_room());
    let (Some(session), Some(lecture)) = (session, lecture) else { return Ok(()) };
    canvas.draw(|ui| screen::smile(ui, &session, &lecture, &textures, *view))
}
