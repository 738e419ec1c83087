//! Takes a round on from frame to frame.

use crate::app::shell::asking::Asked;
use crate::app::shell::frames::{LastFrame, Moved};
use crate::app::shell::order::{AppSystems, BeginWork};
use crate::app::shell::state::{Pause, Screen};
use crate::play::content::ActiveContent;
use crate::play::frames::FrameTimes;
use crate::play::intents::Intent;
use crate::play::lecture::Lecture;
use crate::play::mode::Mode;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::round::{Exercising, Passed};
use crate::play::session::Desk;
use crate::play::smiles::Preparation;
use crate::play::start::Origin;
use crate::play::view::DebriefView;
use crate::play::work::Workers;
use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.add_observer(answer).add_systems(
        Update,
        (
            pass_time.in_set(AppSystems::Advance),
            want_smiles.in_set(AppSystems::Prepare).before(BeginWork),
            (study_smile, search_best).in_set(AppSystems::Prepare),
        )
            // Each for itself: what is asked for in between may end the round.
            .distributive_run_if(resource_exists::<Exercising>)
            .distributive_run_if(in_state(Screen::Exercise)),
    );
}

/// Does what is asked for in a round.
fn answer(
    asked: On<Asked>,
    exercising: Option<ResMut<Exercising>>,
    lecture: Option<Res<Lecture>>,
    records: Res<Records>,
    mut problem: ResMut<Problem>,
) {
    let Some(mut exercising) = exercising else { return };
    match asked.event().0 {
        Intent::Exercise(intent) => exercising.handle(intent, &records, &mut problem),
        // The room sees the solution first.
        Intent::Continue if !lecture.is_some_and(|lecture| lecture.is_closed()) => {
            exercising.go_on();
        }
        Intent::StopSession => exercising.stop(),
        _ => {}
    }
}

/// Lets the frame pass, asks the question when its smiles are there, ends the round.
fn pass_time(
    mut exercising: ResMut<Exercising>,
    (last, moved): (Res<LastFrame>, Res<Moved>),
    pause: Res<State<Pause>>,
    mut preparation: ResMut<Preparation>,
    (records, frames): (Res<Records>, Res<FrameTimes>),
    (content, workers, mut view): (Res<ActiveContent>, Res<Workers>, ResMut<DebriefView>),
    mut problem: ResMut<Problem>,
    mut next: ResMut<NextState<Screen>>,
    mut next_pause: ResMut<NextState<Pause>>,
) {
    let passed = Passed {
        frame_s: last.0.as_secs_f64(),
        moved_s: moved.0.as_secs_f64(),
        is_paused: *pause.get() == Pause::Paused,
    };
    let desk = Desk { records: &records, content: &content, frames: &frames };
    if !exercising.pass(passed, &preparation, (&desk, &workers), &mut view, &mut problem) {
        return;
    }
    preparation.clear();
    exercising.wind_up(&records, &mut problem);
    next_pause.set(Pause::Running);
    next.set(match exercising.mode() {
        Mode::Free(free) => match free.back {
            Origin::Setup => Screen::BenchSetup,
            Origin::Case => Screen::ClinicForm,
        },
        Mode::Room => Screen::Lecture,
        Mode::Practice | Mode::Find | Mode::Measure(_) | Mode::Exam(_) => Screen::Summary,
    });
}

/// Works out the chart or the layers when the debrief shows them.
fn study_smile(
    mut exercising: ResMut<Exercising>,
    content: Res<ActiveContent>,
    workers: Res<Workers>,
    mut problem: ResMut<Problem>,
) {
    exercising.study_smile(&content, &workers, &mut problem);
}

/// Looks for the best that can be reached, in free play, and takes it up.
fn search_best(
    mut exercising: ResMut<Exercising>,
    content: Res<ActiveContent>,
    workers: Res<Workers>,
    mut problem: ResMut<Problem>,
) {
    exercising.search_best(&content, &workers, &mut problem);
}

fn want_smiles(exercising: Res<Exercising>, mut preparation: ResMut<Preparation>) {
    exercising.want_smiles(&mut preparation);
}
