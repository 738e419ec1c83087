//! `hand-in`, `gather`, `report`, `export` and `forget`.

use crate::app::cli::arguments::{
    Export, ExportFormat, ExportTable, Forget, Gather, HandIn, Options, ReportArguments,
};
use crate::app::cli::command::course_error::CourseError;
use crate::app::cli::exit::ExitWith;
use crate::course::{CourseData, FormTruth, LearnerId};
use crate::play::content::shipped;
use crate::play::records::Records;
use crate::printable;
use crate::report::{CourseReportOptions, course_report};
use crate::results::{
    BadRow, FILE_NAME, Gathered, HAND_IN_EXTENSION, HandInRequest, Selection, Store, Table,
    create_private, create_private_folder, data_dictionary, hand_in_manifest, hand_ins_below,
    write_private,
};
use crate::words::count;
use std::fs;
use std::io::{BufWriter, IsTerminal, Write};
use std::path::Path;
use std::time::SystemTime;

/// The day, UTC.
pub(crate) fn today() -> String {
    let now = humantime::format_rfc3339_seconds(SystemTime::now()).to_string();
    now.get(..10).unwrap_or_default().to_owned()
}

/// A bar of progress on a terminal; nothing elsewhere.
pub(crate) fn bar(what: &str, share: f64) {
    let mut error = std::io::stderr();
    if !error.is_terminal() {
        return;
    }
    let filled = (30.0 * share.clamp(0.0, 1.0)) as usize;
    let end = if share >= 1.0 { "\n" } else { "" };
    let _ = write!(error, "\r{what:<12} [{:<30}] {:3.0} %{end}", "#".repeat(filled), 100.0 * share);
    let _ = error.flush();
}

fn store(options: &Options) -> Result<Store, CourseError> {
    let path = Records::folder(options.data_dir.as_deref())?;
    Ok(Store::open(&path)?)
}

pub(crate) fn hand_in(arguments: &HandIn, options: &Options) -> ExitWith {
    ExitWith::of(handed_in(arguments, options))
}

fn handed_in(arguments: &HandIn, options: &Options) -> Result<String, CourseError> {
    let learner: LearnerId = arguments.learner.parse()?;
    create_private_folder(&arguments.out)
        .map_err(CourseError::refused("make the folder", &arguments.out))?;
    let file = arguments.out.join(format!("{}-{learner}.{HAND_IN_EXTENSION}", arguments.course));
    let day = today();
    let request = HandInRequest {
        learner: learner.as_str(),
        course: &arguments.course,
        day: &day,
        build: env!("CARGO_PKG_VERSION"),
        with_practice: arguments.with_practice,
    };
    let manifest = store(options)?.hand_in(&request, &file)?;
    Ok(format!(
        "{}, {}, {} in {}",
        count(manifest.sessions, "session", "sessions"),
        count(manifest.trials, "trial", "trials"),
        count(manifest.answers, "answer to a question", "answers to questions"),
        printable::path(file.as_ref())
    ))
}

pub(crate) fn gather(arguments: &Gather, options: &Options) -> ExitWith {
    match gathered(arguments, options) {
        Ok(gathered) => {
            let new: u64 = gathered.taken.iter().map(|taken| taken.new_trials).sum();
            let known: u64 = gathered.taken.iter().map(|taken| taken.known_trials).sum();
            say!(
                "{}: {}, {known} known already; {} refused",
                count(gathered.taken.len(), "hand-in", "hand-ins"),
                count(new, "new trial", "new trials"),
                gathered.refused.len()
            );
            for (_, error) in &gathered.refused {
                say!("refused: {error}");
            }
            ExitWith { code: u8::from(!gathered.refused.is_empty()), message: None }
        }
        Err(error) => ExitWith::failure(error),
    }
}

fn gathered(arguments: &Gather, options: &Options) -> Result<Gathered, CourseError> {
    let files = hand_ins_below(&arguments.folder)?;
    if files.is_empty() {
        return Err(CourseError::NoHandIns(arguments.folder.clone()));
    }
    let count = files.len() as f64;
    let mut progress = |done: usize| bar("gathering", done as f64 / count);
    let truth = FormTruth::new(shipped::courses(&options.folders())?);
    let course = arguments.course.as_deref();
    Ok(store(options)?.gather(&files, course, &truth, &mut progress)?)
}

pub(crate) fn report(arguments: &ReportArguments, options: &Options) -> ExitWith {
    match reported(arguments, options) {
        Ok(rows) if rows.is_empty() => ExitWith::success(),
        Ok(rows) => {
            for row in &rows {
                say!("left out: {row}");
            }
            ExitWith::failure(format!(
                "{} in the report, because no sitting leaves such behind; to mend it, `forget` the learner and \
                 gather the hand-in again",
                count(rows.len(), "stored row is not", "stored rows are not")
            ))
        }
        Err(error) => ExitWith::failure(error),
    }
}

/// Writes the report; returns the stored rows that it leaves out.
fn reported(arguments: &ReportArguments, options: &Options) -> Result<Vec<BadRow>, CourseError> {
    let course = match &arguments.course {
        Some(name) => Some(shipped::course(name, &options.folders())?),
        None => None,
    };
    let store = store(options)?;
    let id = course.as_ref().map(|course| course.id.as_str());
    if id.is_none() {
        let courses = store.courses()?;
        if courses.len() > 1 {
            return Err(CourseError::SeveralCourses(courses));
        }
    }
    let data = CourseData::read(&store, id, &|share| bar("reading", share))?;
    if data.sittings.is_empty() {
        return Err(CourseError::NoSittings);
    }
    let day = today();
    let options = CourseReportOptions {
        course: course.as_ref(),
        shared: arguments.shared,
        pages: !arguments.no_pages,
        day: &day,
    };
    write_report(&data, &options, &arguments.out)?;
    let sittings = count(data.sittings.len(), "sitting", "sittings");
    say!("{sittings} in {}", printable::path(&arguments.out));
    Ok(data.left_out)
}

pub(crate) fn write_report(
    data: &CourseData,
    options: &CourseReportOptions<'_>,
    out: &Path,
) -> Result<(), CourseError> {
    let html = course_report(data, options, &|share| bar("writing", share));
    write_private(out, html.as_bytes()).map_err(CourseError::refused("write", out))
}

pub(crate) fn export(arguments: &Export, options: &Options) -> ExitWith {
    ExitWith::of(exported(arguments, options))
}

fn exported(arguments: &Export, options: &Options) -> Result<String, CourseError> {
    let out = &arguments.out;
    let learner = arguments.learner.as_deref();
    let create =
        || create_private(out).map(BufWriter::new).map_err(CourseError::refused("write", out));
    if arguments.format == ExportFormat::Dictionary {
        create()?.write_all(data_dictionary().as_bytes())?;
        return Ok(format!("data dictionary in {}", printable::path(out)));
    }
    // A folder that was mistyped is not made.
    let folder = Records::folder(options.data_dir.as_deref())?;
    if !folder.join(FILE_NAME).exists() {
        return Err(CourseError::NoResults(folder));
    }
    let store = Store::open(&folder)?;
    let selection = Selection { learner, ..Selection::default() };
    let build = env!("CARGO_PKG_VERSION");
    let (table, other) = match arguments.table {
        ExportTable::Trials => (Table::Trials, Table::Answers),
        ExportTable::Answers => (Table::Answers, Table::Trials),
    };
    if matches!(arguments.format, ExportFormat::Csv | ExportFormat::Parquet)
        && let Err(source) = store.some_rows(table, selection)
    {
        let has_other = store.some_rows(other, selection).is_ok();
        return Err(if has_other {
            CourseError::OtherTable { source, other }
        } else {
            source.into()
        });
    }
    let (count, what) = match arguments.format {
        ExportFormat::Csv => {
            (store.export_table(table, selection, b',', create()?)?, table.in_words())
        }
        ExportFormat::Parquet => {
            (store.export_parquet(table, selection, create()?)?, table.in_words())
        }
        ExportFormat::Bids => (store.export_bids(out, learner, build)?, "runs"),
        ExportFormat::PsychDs => (store.export_psych_ds(out, learner, build)?, "files"),
        ExportFormat::Dictionary => (0, ""),
    };
    Ok(format!("{count} {what} in {}", printable::path(out)))
}

pub(crate) fn forget(arguments: &Forget, options: &Options) -> ExitWith {
    ExitWith::of(forgotten(arguments, options))
}

fn forgotten(arguments: &Forget, options: &Options) -> Result<String, CourseError> {
    let learner: LearnerId = arguments.learner.parse()?;
    let mut files = Vec::new();
    if let Some(folder) = &arguments.hand_ins {
        for file in hand_ins_below(folder)? {
            if hand_in_manifest(&file).is_ok_and(|m| m.learner == learner.as_str()) {
                files.push(file);
            }
        }
    }
    if !arguments.yes {
        return Ok(format!(
            "would delete everything of learner {learner} and {}; add --yes to do it",
            count(files.len(), "hand-in", "hand-ins")
        ));
    }
    let gone = store(options)?.forget(learner.as_str())?;
    for file in &files {
        fs::remove_file(file).map_err(CourseError::refused("delete", file))?;
    }
    Ok(format!(
        "deleted {} with {} and {}, and {}, of learner {learner}; copies elsewhere are not touched",
        count(gone.sessions, "session", "sessions"),
        count(gone.trials, "trial", "trials"),
        count(gone.answers, "answer", "answers"),
        count(files.len(), "hand-in", "hand-ins")
    ))
}
