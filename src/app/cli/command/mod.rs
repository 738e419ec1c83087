//! What the commands do.

mod case;
mod check;
mod course;
mod course_data;
mod course_error;
mod draw;
mod frames;
mod import_ceramic;
mod making;
mod measured;
mod observers;
mod pace;
mod pictures;
mod rehearsal;
mod rehearse;
mod round_pictures;
mod rounds;
mod sheet;
mod unshown;
mod waits;

use crate::app::cli::arguments::{Cli, Command, CourseCommand, Options};
pub use crate::app::cli::exit::ExitWith;
use crate::app::cli::launch;
use crate::app::cli::launch::Opening;
use crate::app::room::course::OpenWith;
use crate::app::room::lecture::phones::address::{checked, found_addresses};
use crate::app::room::lecture::{LectureAddress, LecturePort};
use crate::level::course_format::CourseMode;
use crate::play::content::shipped::Shipped;
use crate::play::content::{Content, ContentError};
use crate::play::records::{Records, table_folder};
use std::sync::Arc;

/// Does what needs no levels, no materials and no tables.
fn without_content(cli: &Cli) -> Option<ExitWith> {
    let options = &cli.options;
    Some(match cli.command.as_ref()? {
        Command::Check(arguments) => check::run(arguments, options),
        Command::Form(arguments) => course::form(arguments),
        Command::Roster(arguments) => course::roster(arguments),
        Command::Course(CourseCommand::Simulate(arguments)) => course::simulate(arguments, options),
        Command::HandIn(arguments) => course_data::hand_in(arguments, options),
        Command::Gather(arguments) => course_data::gather(arguments, options),
        Command::Report(arguments) => course_data::report(arguments, options),
        Command::Export(arguments) => course_data::export(arguments, options),
        Command::Forget(arguments) => course_data::forget(arguments, options),
        Command::ImportCeramic(arguments) => import_ceramic::run(arguments),
        Command::Case(arguments) => case::run(arguments, options.materials.as_deref()),
        _ => return None,
    })
}

/// Levels, materials and courses, those of one's own among them.
fn load(options: &Options, for_window: bool) -> Result<Shipped, ContentError> {
    let (levels, materials) = (options.levels.as_deref(), options.materials.as_deref());
    let loaded = if for_window {
        let own = Records::folder(options.data_dir.as_deref()).ok();
        let own = own.map(|folder| folder.join("levels"));
        Shipped::for_window(levels, own, materials, table_folder())
    } else {
        Shipped::load_all(levels, materials, table_folder())
    }?;
    match &options.courses {
        Some(folder) => loaded.with_courses(folder),
        None => Ok(loaded),
    }
}

/// Does what the command line asks for.
#[must_use]
pub fn dispatch(cli: Cli) -> ExitWith {
    if let Some(ended) = without_content(&cli) {
        return ended;
    }
    let content = match load(&cli.options, cli.command.is_none()) {
        Ok(content) => Arc::new(content),
        Err(error) => return ExitWith::failure(error),
    };
    match cli.command {
        None => launch::run(&cli.options, content, None),
        Some(Command::Course(CourseCommand::Sit(sit))) => {
            let with = OpenWith::Sit {
                course: sit.course,
                learner: sit.learner,
                seat: sit.seat,
                response_factor: sit.response_factor,
            };
            open_course(&cli.options, content, with, None, LectureAddress(None))
        }
        Some(Command::Course(CourseCommand::Lecture(lecture))) => {
            let with = OpenWith::Lecture(lecture.course);
            let found = found_addresses();
            let checked = |wanted| checked(wanted, &found);
            let address = match lecture.address.map(checked).transpose() {
                Ok(address) => LectureAddress(address),
                Err(error) => return ExitWith::failure(error),
            };
            open_course(&cli.options, content, with, Some(LecturePort(lecture.port)), address)
        }
        Some(Command::Rehearse(arguments)) if let Some(kind) = arguments.measure => {
            measured::run(kind, &arguments, &cli.options, &content)
        }
        Some(Command::Rehearse(arguments)) => rehearse::run(&arguments, &cli.options, &*content),
        Some(Command::Draw(arguments)) => draw::run(&arguments, &*content),
        Some(Command::Sheet(arguments)) => sheet::run(&arguments, &*content),
        Some(Command::Frames(arguments)) if let Some(smiles) = arguments.waits => {
            waits::run(smiles, arguments.size, content)
        }
        Some(Command::Frames(arguments)) if let Some(times) = arguments.bench => {
            pace::run(times, &arguments, content)
        }
        Some(Command::Frames(arguments)) => frames::run(&arguments, &*content),
        // Done above.
        Some(
            Command::Check(_)
            | Command::ImportCeramic(_)
            | Command::Case(_)
            | Command::Form(_)
            | Command::Roster(_)
            | Command::HandIn(_)
            | Command::Gather(_)
            | Command::Report(_)
            | Command::Export(_)
            | Command::Forget(_)
            | Command::Course(CourseCommand::Simulate(_)),
        ) => ExitWith::success(),
    }
}

/// Opens the window with a course, unless it is none or of the other kind.
fn open_course(
    options: &Options,
    content: Arc<Shipped>,
    with: OpenWith,
    port: Option<LecturePort>,
    address: LectureAddress,
) -> ExitWith {
    let (name, mode, other) = match &with {
        OpenWith::Sit { course, .. } => (course, CourseMode::Exam, "course lecture"),
        OpenWith::Lecture(course) => (course, CourseMode::Lecture, "course sit"),
    };
    match content.course(name) {
        Ok(course) if course.mode == mode => {
            launch::run(options, content, Some(Opening { with, port, address }))
        }
        Ok(course) => ExitWith::failure(format!(
            "the mode of course {} is {:?}; open it with `second-glance {other} {name}`",
            course.id, course.mode
        )),
        Err(error) => ExitWith::failure(error),
    }
}
