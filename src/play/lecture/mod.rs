//! A lecture under way: which question is on, what the room answered, when it is revealed.

mod ballot;
mod code;
mod follow;
mod line;

pub use ballot::{ballot_of, ballot_of_question, truth_of};
pub use code::{Code, code_of};
pub use line::{Line, Phones};

use crate::lecture::{Ballot, JoinCode, LecturePart, LectureRecord, Tally};
use crate::level::course_format::{Course, Step};
use crate::play::wanted::PartWanted;
use crate::results::{create_private_folder, refusal, write_private};
use crate::scene::Tooth;
use crate::trial::Response;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The seat whose order of smiles a room sees.
const ROOM_SEAT: u64 = 0;

/// Where the question on screen stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoomStage {
    /// The room looks, or nothing is on.
    Watching,
    /// Answers are taken.
    Asked,
    /// No more answers; the solution is not shown yet.
    Closed,
    /// The solution and the tally are on the screen.
    Revealed,
}

/// Why the questions and counts were not written.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// Their folder cannot be made.
    #[error("{}", refusal("make the folder", folder, error))]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// The file cannot be written.
    #[error("{}", refusal("write", file, error))]
    File {
        /// The file.
        file: PathBuf,
        /// What the system said.
        error: io::Error,
    },
}

/// The lecture.
#[derive(Debug)]
pub struct Lecture {
    course: Course,
    step: usize,
    line: Line,
    record: LectureRecord,
    stage: RoomStage,
    ballot: Option<Ballot>,
    tally: Option<Tally>,
    /// Time that the question has been asked for, s, and how long it may be.
    asked_s: f64,
    open_s: f64,
    /// Whether smiles or questions of the step are on.
    is_in_step: bool,
    is_over: bool,
    saved: Option<PathBuf>,
}

impl Lecture {
    /// Opens the room of a course, reached by this line.
    #[must_use]
    pub fn open(course: Course, line: Line) -> Self {
        Self {
            line,
            course,
            step: 0,
            record: LectureRecord::default(),
            stage: RoomStage::Watching,
            ballot: None,
            tally: None,
            asked_s: 0.0,
            open_s: 0.0,
            is_in_step: false,
            is_over: false,
            saved: None,
        }
    }

    /// The course.
    #[must_use]
    pub const fn course(&self) -> &Course {
        &self.course
    }

    /// The step on screen, from 0; the number of steps when all are done.
    #[must_use]
    pub const fn step(&self) -> usize {
        self.step
    }

    /// Where the question stands.
    #[must_use]
    pub const fn stage(&self) -> RoomStage {
        self.stage
    }

    /// Whether a question is closed and its solution not shown yet.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        self.stage == RoomStage::Closed
    }

    /// Whether the summary is on.
    #[must_use]
    pub const fn is_over(&self) -> bool {
        self.is_over
    }

    /// What was asked and answered so far.
    #[must_use]
    pub const fn record(&self) -> &LectureRecord {
        &self.record
    }

    /// The question that is on or was last.
    #[must_use]
    pub const fn ballot(&self) -> Option<&Ballot> {
        self.ballot.as_ref()
    }

    /// How the room answered: only once the solution is shown.
    #[must_use]
    pub fn tally(&self) -> Option<&Tally> {
        self.tally.as_ref().filter(|_| self.stage == RoomStage::Revealed)
    }

    /// Time left to answer, s, and all of it.
    #[must_use]
    pub fn time_left_s(&self) -> (f64, f64) {
        ((self.open_s - self.asked_s).max(0.0), self.open_s)
    }

    /// The server of the page for phones; `None` where hands are shown.
    #[must_use]
    pub fn server(&self) -> Option<&dyn Phones> {
        match &self.line {
            Line::Served { server, .. } => Some(server.as_ref()),
            Line::Hands(_) => None,
        }
    }

    /// What a phone must name to join; `None` where hands are shown.
    #[must_use]
    pub fn join_code(&self) -> Option<&JoinCode> {
        self.server().map(Phones::code)
    }

    /// Other addresses at which the page is found.
    #[must_use]
    pub fn other_addresses(&self) -> &[String] {
        match &self.line {
            Line::Served { others, .. } => others,
            Line::Hands(_) => &[],
        }
    }

    /// The address that phones open, and the picture that leads there with the code to join.
    #[must_use]
    pub fn address(&self) -> Option<(&str, Option<&Code>)> {
        match &self.line {
            Line::Served { address, code, .. } => Some((address, code.as_ref())),
            Line::Hands(_) => None,
        }
    }

    /// Why phones cannot answer, or perhaps not.
    #[must_use]
    pub fn trouble(&self) -> Option<String> {
        match &self.line {
            Line::Served { is_alone: true, .. } => Some(
                "Only this computer can open this address: phones cannot reach it. Ask for a show \
                 of hands, or join a network and open the lecture again."
                    .to_owned(),
            ),
            Line::Served { .. } => None,
            Line::Hands(why) => Some(format!("{why}. Until then, ask for a show of hands.")),
        }
    }

    /// Phones that joined, and that answered the question that is on.
    #[must_use]
    pub fn phones(&self) -> (usize, usize) {
        self.server().map_or((0, 0), |server| {
            let poll = server.poll();
            (poll.phones(), poll.answered())
        })
    }

    /// Where the questions and counts were written.
    #[must_use]
    pub fn saved(&self) -> Option<&Path> {
        self.saved.as_deref()
    }

    /// The choice that most of the room made; `None` without answers. Of equals, the first.
    #[must_use]
    pub fn most_chosen(&self) -> Option<usize> {
        let counts = &self.tally.as_ref()?.counts;
        let (place, count) =
            counts.iter().enumerate().max_by_key(|(i, n)| (**n, usize::MAX - i))?;
        (*count > 0).then_some(place)
    }

    /// Begins the step on screen: what is to be laid out; talks are passed over.
    pub fn begin_step(&mut self) -> Option<PartWanted> {
        let wanted = match self.course.steps.get(self.step) {
            Some(Step::Form { phase, .. }) => {
                let form = self.course.form_of(*phase, ROOM_SEAT)?.clone();
                let title = match phase.name() {
                    "pre" => "Before",
                    "post" => "After",
                    "delayed" => "Some weeks later",
                    _ => "Form",
                };
                self.record
                    .begin(LecturePart { title: title.to_owned(), phase: Some(phase.name()) });
                PartWanted::Form {
                    form,
                    seat: ROOM_SEAT,
                    timing: self.course.timing(1.0),
                    title: title.to_owned(),
                    sitting: None,
                    begun: None,
                }
            }
            Some(Step::Practice { level, trials }) => {
                self.record.begin(LecturePart { title: "Practice".to_owned(), phase: None });
                PartWanted::Practice {
                    level: level.clone(),
                    trials: *trials,
                    sitting: None,
                    begun: None,
                }
            }
            Some(Step::Talk { .. } | Step::Measure { .. } | Step::FindIt { .. }) => {
                self.next_step();
                return None;
            }
            None => {
                self.end();
                return None;
            }
        };
        self.is_in_step = true;
        Some(wanted)
    }

    /// The smiles or questions of the step are over.
    fn finish_step(&mut self) {
        // What is over is seen to be over for more than one frame.
        if self.is_in_step {
            self.next_step();
        }
    }

    fn next_step(&mut self) {
        self.is_in_step = false;
        self.step += 1;
        self.watch();
        if self.step >= self.course.steps.len() {
            self.end();
        }
    }

    /// To the summary.
    pub fn end(&mut self) {
        self.watch();
        self.is_over = true;
    }

    /// Reaches the room by another line, where hands are shown.
    pub fn serve_anew(&mut self, line: impl FnOnce() -> Line) {
        if matches!(self.line, Line::Hands(_)) {
            self.line = line();
        }
    }

    /// Shows the solution and how the room answered, once the question is closed.
    pub fn reveal(&mut self) {
        if self.stage == RoomStage::Closed {
            self.stage = RoomStage::Revealed;
            if let Some(server) = self.server() {
                server.poll().reveal();
            }
        }
    }

    /// Writes the questions and their counts to a new file in `folder`.
    ///
    /// # Errors
    /// [`SaveError`] when the folder cannot be made or the file not be written.
    pub fn save(&mut self, folder: &Path, now: SystemTime) -> Result<(), SaveError> {
        let at = humantime::format_rfc3339_seconds(now).to_string().replace(':', "");
        let file = folder.join(format!("{}-{at}.csv", self.course.id));
        create_private_folder(folder)
            .map_err(|error| SaveError::Folder { folder: folder.to_owned(), error })?;
        match write_private(&file, self.record.to_csv().as_bytes()) {
            Ok(()) => {
                self.saved = Some(file);
                Ok(())
            }
            Err(error) => Err(SaveError::File { file, error }),
        }
    }

    fn watch(&mut self) {
        self.stage = RoomStage::Watching;
        if let Some(server) = self.server() {
            server.poll().wait();
        }
    }

    fn ask(&mut self, ballot: Ballot, open_s: f64) {
        if let Some(server) = self.server() {
            server.poll().open(ballot.clone());
        }
        self.ballot = Some(ballot);
        self.tally = None;
        self.stage = RoomStage::Asked;
        (self.asked_s, self.open_s) = (0.0, open_s);
    }

    /// Takes no more answers and keeps what came in.
    fn close(&mut self, truth: String, has_target: bool) {
        let Some(ballot) = self.ballot.clone() else { return };
        let (tally, answers) = self.server().map_or((None, Vec::new()), |server| {
            let mut poll = server.poll();
            poll.close();
            (poll.tally(), poll.answers())
        });
        self.record.keep(truth, has_target, &ballot, tally.clone(), &answers);
        self.tally = tally;
        self.stage = RoomStage::Closed;
    }

    /// What the room answered most to a smile.
    #[must_use]
    pub fn room_response(&self, teeth: &[Tooth]) -> Option<Response> {
        let place = self.most_chosen()?;
        Some(teeth.get(place).map_or(Response::None, |tooth| Response::Tooth(*tooth)))
    }
}
