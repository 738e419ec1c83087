//! What the commands do.

mod case;
mod check;
mod course;
mod course_data;
mod draw;
mod frames;
mod import_ceramic;
mod measured;
mod pace;
mod rehearse;
mod rounds;
mod sheet;
mod unshown;
mod waits;

use crate::app::cli::arguments::{Cli, Command, CourseCommand, Options};
pub use crate::app::cli::exit::ExitWith;
use crate::app::cli::launch;
use crate::app::cli::launch::Opening;
use crate::app::room::course::OpenWith;
use crate::app::room::lecture::{LectureAddress, LecturePort};
use crate::level::course_format::CourseMode;
use crate::play::content::Content;
use crate::play::content::shipped::Shipped;
use crate::play::records::{Records, table_folder};
use std::sync::Arc;

/// Does what the command line asks for.
#[must_use]
pub fn dispatch(cli: Cli) -> ExitWith {
    // What needs no levels, no materials and no tables.
    let materials = cli.options.materials.as_deref();
    match &cli.command {
        Some(Command::Check(arguments)) => return check::run(arguments, &cli.options),
        Some(Command::Form(arguments)) => return course::form(arguments),
        Some(Command::Roster(arguments)) => return course::roster(arguments),
        Some(Command::Course(CourseCommand::Simulate(arguments))) => {
            return course::simulate(arguments, &cli.options);
        }
        Some(Command::HandIn(arguments)) => return course_data::hand_in(arguments, &cli.options),
        Some(Command::Gather(arguments)) => return course_data::gather(arguments, &cli.options),
        Some(Command::Report(arguments)) => return course_data::report(arguments, &cli.options),
        Some(Command::Export(arguments)) => return course_data::export(arguments, &cli.options),
        Some(Command::Forget(arguments)) => return course_data::forget(arguments, &cli.options),
        Some(Command::ImportCeramic(arguments)) => return import_ceramic::run(arguments),
        Some(Command::Case(arguments)) => return case::run(arguments, materials),
        _ => {}
    }
    let levels = cli.options.levels.as_deref();
    let loaded = if cli.command.is_none() {
        let own = Records::folder(cli.options.data_dir.as_deref()).ok();
        let own = own.map(|folder| folder.join("levels"));
        Shipped::for_window(levels, own, materials, table_folder())
    } else {
        Shipped::load_all(levels, materials, table_folder())
    };
    let loaded = match &cli.options.courses {
        Some(folder) => loaded.and_then(|content| content.with_courses(folder)),
        None => loaded,
    };
    let content = match loaded {
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
            let found = crate::app::room::lecture::phones::address::found_addresses();
            let checked =
                |wanted| crate::app::room::lecture::phones::address::checked(wanted, &found);
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
