//! Takes a session on from frame to frame.

use crate::app::picture::prepare::PictureSize;
use crate::app::shell::asking::Asked;
use crate::app::shell::frames::{LastFrame, Moved};
use crate::app::shell::order::{AdvanceSession, AppSystems, BeginWork, ComposeNext, Dispatch};
use crate::app::shell::state::{Pause, Screen};
use crate::play::content::ActiveContent;
use crate::play::frames::FrameTimes;
use crate::play::intents::Intent;
use crate::play::lecture::Lecture;
use crate::play::mode::Mode;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::round::Exercising;
use crate::play::session::{Desk, Session};
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use crate::play::work::Workers;
use crate::trial::Phase;
use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.add_observer(answer)
        .add_systems(
            Update,
            (show_frame.before(Dispatch), follow_phase.after(Dispatch))
                // Each for itself: what is asked for in between may end the session.
                .distributive_run_if(resource_exists::<Session>)
                .in_set(AppSystems::Advance)
                .in_set(AdvanceSession),
        )
        .add_systems(
            Update,
            (compose_next.in_set(ComposeNext), prepare_scenes.after(ComposeNext))
                .run_if(resource_exists::<Session>)
                .in_set(AppSystems::Prepare)
                .before(BeginWork),
        );
}

/// Does what is asked for in a trial.
fn answer(
    asked: On<Asked>,
    session: Option<ResMut<Session>>,
    exercising: Option<Res<Exercising>>,
    lecture: Option<Res<Lecture>>,
    (records, content, frames): (Res<Records>, Res<ActiveContent>, Res<FrameTimes>),
    mut problem: ResMut<Problem>,
) {
    let intent = &asked.event().0;
    let (Some(mut session), None) = (session, exercising) else { return };
    // The room sees the solution first.
    let is_held = *intent == Intent::Continue && lecture.is_some_and(|lecture| lecture.is_closed());
    if intent.is_of_a_trial() && !is_held {
        let desk = Desk { records: &records, content: &content, frames: &frames };
        session.handle(intent, &desk, &mut problem);
    }
}

/// Reports the frame that has just ended, and the picture when it is there.
fn show_frame(
    mut session: ResMut<Session>,
    last: Res<LastFrame>,
    frames: Res<FrameTimes>,
    pause: Res<State<Pause>>,
    preparation: Res<Preparation>,
    records: Res<Records>,
    content: Res<ActiveContent>,
    mut problem: ResMut<Problem>,
) {
    let desk = Desk { records: &records, content: &content, frames: &frames };
    let is_paused = *pause.get() == Pause::Paused;
    session.pass(last.0.as_secs_f64(), is_paused, &preparation, &desk, &mut problem);
}

/// Moves between screens when the engine's phase asks for it.
fn follow_phase(
    mut commands: Commands,
    mut session: ResMut<Session>,
    screen: Res<State<Screen>>,
    mut next: ResMut<NextState<Screen>>,
    mut pause: ResMut<NextState<Pause>>,
    mut view: ResMut<DebriefView>,
    mut preparation: ResMut<Preparation>,
    records: Res<Records>,
    mut problem: ResMut<Problem>,
    moved: Res<Moved>,
) {
    if *screen.get() != Screen::Trial {
        return;
    }
    match session.phase() {
        Phase::Debrief => view.tick(moved.0.as_secs_f64()),
        Phase::Finished => {
            preparation.clear();
            session.wind_up(&records, &mut problem);
            pause.set(Pause::Running);
            match (session.mode(), session.stored_as()) {
                (Mode::Room, _) => next.set(Screen::Lecture),
                (Mode::Exam(_), _) => next.set(Screen::Course),
                (Mode::Measure(_), Some(stored)) => {
                    commands.trigger(Asked(Intent::ShowMeasured(stored)));
                }
                (Mode::Measure(_), None) => next.set(Screen::MeasureSetup),
                (Mode::Practice | Mode::Find | Mode::Free(_), _) => next.set(Screen::Summary),
            }
        }
        _ => *view = DebriefView::default(),
    }
    session.stop_if_failed(&preparation);
}

fn compose_next(
    mut session: ResMut<Session>,
    content: Res<ActiveContent>,
    workers: Res<Workers>,
    mut problem: ResMut<Problem>,
) {
    let mut found = Problem::default();
    session.bypass_change_detection().compose(&content, &workers, &mut found);
    problem.take_over(found);
}

fn prepare_scenes(
    mut session: ResMut<Session>,
    mut preparation: ResMut<Preparation>,
    size: Res<PictureSize>,
) {
    session.bypass_change_detection().want_smiles(&mut preparation, size.0);
}
