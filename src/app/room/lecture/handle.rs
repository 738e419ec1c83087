//! What the instructor of a lecture asks for.

use super::phones;
use crate::app::shell::asking::Asked;
use crate::app::shell::leaving::FullScreen;
use crate::app::shell::state::{Pause, Screen};
use crate::level::course_format::CourseMode;
use crate::play::content::ActiveContent;
use crate::play::content::shipped::faults_of_forms;
use crate::play::intents::{CourseIntent, Intent, RoomIntent};
use crate::play::lecture::Lecture;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::start::{PendingStart, Start};
use bevy::prelude::*;
use std::path::{Path, PathBuf};

/// The port of the page for phones in a lecture.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct LecturePort(pub u16);

impl Default for LecturePort {
    /// 7878, which needs no rights and is seldom taken.
    fn default() -> Self {
        Self(7878)
    }
}

/// The address that phones are sent to, of this computer's; `None` for the best.
#[derive(Resource, Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LectureAddress(pub Option<std::net::IpAddr>);

/// What the code to join is drawn from, in this run.
#[derive(Resource, Debug, Clone, Copy)]
pub(super) struct JoinSeed(u64);

/// Opens a room where a course is chosen that is one.
pub(super) fn open(
    asked: On<Asked>,
    mut commands: Commands,
    content: Res<ActiveContent>,
    (port, address): (Res<LecturePort>, Res<LectureAddress>),
    mut full: ResMut<FullScreen>,
    mut screen: ResMut<NextState<Screen>>,
) {
    let Intent::Course(CourseIntent::Choose(name)) = &asked.event().0 else { return };
    // What is wrong with it is said where courses are listed.
    let Ok(course) = content.0.course(name) else { return };
    if course.mode != CourseMode::Lecture || !faults_of_forms(&course).is_empty() {
        return;
    }
    let seed = rand::random();
    let line = phones::serve(port.0, address.0, seed);
    commands.insert_resource(JoinSeed(seed));
    commands.insert_resource(Lecture::open(course, line));
    full.0 = true;
    screen.set(Screen::Lecture);
}

/// Does what is asked for while a room is open.
pub(super) fn conduct(
    asked: On<Asked>,
    mut commands: Commands,
    lecture: Option<ResMut<Lecture>>,
    (session, exercising): (Option<ResMut<Session>>, Option<Res<Exercising>>),
    (address, seed): (Res<LectureAddress>, Option<Res<JoinSeed>>),
    (mut pending, records): (ResMut<PendingStart>, Res<Records>),
    on: Res<State<Screen>>,
    mut screen: ResMut<NextState<Screen>>,
    mut pause: ResMut<NextState<Pause>>,
    mut problem: ResMut<Problem>,
) {
    let Intent::Room(intent) = asked.event().0 else { return };
    if intent != RoomIntent::Close {
        pause.set(Pause::Running);
    }
    let Some(mut lecture) = lecture else { return };
    match intent {
        RoomIntent::Close => match (session, exercising) {
            (_, Some(exercising)) => lecture.close_question(&exercising),
            (Some(mut session), None) => session.close_for_room(),
            (None, None) => {}
        },
        RoomIntent::Begin if *on.get() == Screen::Lecture => {
            if lecture.is_over() {
                commands.trigger(Asked(Intent::BackToTitle));
            } else if !pending.waits()
                && let Some(wanted) = lecture.begin_step()
            {
                pending.ask(Start::Part(Box::new(wanted)));
            }
        }
        RoomIntent::Begin => {}
        RoomIntent::End => {
            pending.withdraw();
            lecture.end();
            commands.remove_resource::<Session>();
            commands.remove_resource::<Exercising>();
            screen.set(Screen::Lecture);
        }
        RoomIntent::OtherPort => {
            let seed = seed.map_or_else(rand::random, |seed| seed.0);
            lecture.serve_anew(|| phones::serve(0, address.0, seed));
        }
        RoomIntent::Reveal => lecture.reveal(),
        RoomIntent::Save => {
            let results = PathBuf::from(records.location());
            let folder = results.parent().unwrap_or(Path::new("."));
            if let Err(error) = lecture.save(&folder.join("lectures"), records.now()) {
                problem.report(error);
            }
        }
    }
}
