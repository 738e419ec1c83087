//! The Bevy app: window, screens, session, command line.
//!
//! Everything on screen is egui over one camera; a smile is a finished picture that comes from
//! the viewport. The rules of a trial live in [`crate::trial`]; the app reports frames and
//! answers to them and draws what they say.

pub mod bench_setup;
pub mod canvas;
pub mod cli;
pub mod clinic_choices;
pub mod clinic_files;
pub mod clinic_form;
pub mod clipboard;
pub mod command;
pub mod content;
pub mod courses;
pub mod debrief;
pub mod environment;
pub mod exercising;
pub mod eyes;
mod foresight;
pub mod frames;
pub mod input;
pub mod launch;
pub mod lecture;
pub mod measuring;
pub mod pacing;
pub mod persist;
pub mod picture;
pub mod picture_source;
pub mod pictures;
pub mod say;
pub mod scenes;
pub mod screens;
pub mod session;
pub mod shipped;
pub mod start;
pub mod ui;
pub mod view_aids;
pub mod viewport;
pub mod whole_file;

use bevy::prelude::*;

/// What is on screen.
#[derive(States, Debug, Default, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Screen {
    /// The level list.
    #[default]
    Title,
    /// A session; its phase says what is shown.
    Trial,
    /// A round of questions.
    Exercise,
    /// Free play on the bench is set up.
    BenchSetup,
    /// A case from the clinic is typed.
    ClinicForm,
    /// How the session or round went.
    Summary,
    /// The courses.
    Courses,
    /// Who sits where, before an exam.
    Seat,
    /// The steps of a course, for a learner at a seat.
    Course,
    /// Handing in, and what is told afterwards.
    HandIn,
    /// A lecture between its questions: joining, talks, the summary.
    Lecture,
    /// What can be measured, and whether this display can.
    MeasureSetup,
    /// What a measurement found.
    Measured,
    /// Cautions, keys, where results are kept.
    About,
}

/// Whether the pause menu lies over the session.
#[derive(States, Debug, Default, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pause {
    /// No menu.
    #[default]
    Running,
    /// The menu is open.
    Paused,
}

/// The order of one frame's work, first to last. Add new steps here.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AppSystems {
    /// How long was the last frame on screen?
    Measure,
    /// Devices → intents.
    Input,
    /// Pictures and baked scenes that arrived.
    Arrivals,
    /// The last frame and the intents go into the session.
    Advance,
    /// Work for later frames is started.
    Prepare,
}

/// A failure the learner should read: what is wrong and what to do.
#[derive(Resource, Debug, Default, Clone, PartialEq, Eq)]
pub struct Problem(pub Option<String>);

impl Problem {
    /// Shows `text`, unless an earlier failure is still on screen.
    pub fn report(&mut self, text: impl Into<String>) {
        let text = text.into();
        error!("{}", crate::printable::lines(&text));
        self.0.get_or_insert(text);
    }
}

/// The app without a window: state, input, session, results. Needs `StatesPlugin`, time and
/// task pools, and somebody who answers [`pictures::RequestPicture`].
#[derive(Debug, Default)]
pub struct AppPlugin;

impl Plugin for AppPlugin {
    fn build(&self, app: &mut App) {
        app.init_state::<Screen>()
            .init_state::<Pause>()
            .init_resource::<Problem>()
            .init_resource::<bench_setup::BenchBeingSet>()
            .init_resource::<clinic_form::ClinicForm>()
            .configure_sets(
                Update,
                (
                    AppSystems::Measure,
                    AppSystems::Input,
                    AppSystems::Arrivals,
                    AppSystems::Advance,
                    AppSystems::Prepare,
                )
                    .chain(),
            )
            .add_plugins((
                frames::plugin,
                pacing::plugin,
                pictures::plugin,
                input::plugin,
                scenes::plugin,
                start::plugin,
                session::plugin,
                measuring::plugin,
                exercising::plugin,
                courses::plugin,
                lecture::plugin,
            ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::log::tracing::subscriber::with_default;
    use bevy::log::tracing_subscriber::fmt;
    use std::io::{self, Write};
    use std::sync::{Arc, Mutex};

    /// A log that is kept.
    #[derive(Clone, Default)]
    struct Kept(Arc<Mutex<Vec<u8>>>);

    impl Write for Kept {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn what_a_name_would_do_to_a_terminal_is_written_out_in_the_log() {
        let kept = Kept::default();
        let to = kept.clone();
        let subscriber = fmt().with_ansi(false).with_writer(move || to.clone()).finish();
        let mut problem = Problem::default();
        // A right-to-left override (Unicode Standard Annex 9), an escape and a bell (ISO 6429).
        let text = "\u{202e}niaga\u{1b}[2J\u{7}: cannot be read";
        with_default(subscriber, || problem.report(text));
        let log = String::from_utf8(kept.0.lock().unwrap().clone()).unwrap();
        assert!(log.contains("\\u{202e}niaga\\u{1b}[2J\\u{7}: cannot be read"), "{log:?}");
        assert!(log.trim_end().chars().all(|c| crate::printable::is_printable(&c.to_string())));
        assert_eq!(problem.0.as_deref(), Some(text));
    }
}
