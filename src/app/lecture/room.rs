//! A lecture under way: which question is on, what the room answered, when it is revealed.

use super::address::{chosen, found_addresses, leading_out, page_at, reachable};
use super::{Code, Limits, PollServer, code_of};
use crate::app::courses::PartWanted;
use crate::app::exercising::Exercising;
use crate::app::frames::LastFrame;
use crate::app::session::{Conduct, Session};
use crate::app::{AppSystems, Pause, Screen};
use crate::bake::ZoneDifference;
use crate::exercise::{Answer, BlendAnswer, Question, Stage as QuestionStage, Task, VerdictAnswer};
use crate::lecture::{Ballot, JoinCode, LecturePart, LectureRecord, Tally};
use crate::level::course_format::{Course, Step, ToothNames};
use crate::results::{create_private_folder, refusal, write_private};
use crate::scene::Tooth;
use crate::trial::{Phase as TrialPhase, Response, TrialKind};
use bevy::prelude::*;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The seat whose order of smiles a room sees.
const ROOM_SEAT: u64 = 0;

/// What the instructor can ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoomIntent {
    /// Begin the step on screen; for a talk, go on; at the end, back to the level list.
    Begin,
    /// Take no more answers.
    Close,
    /// Show the solution and how the room answered.
    Reveal,
    /// Serve the page for phones at any free port.
    OtherPort,
    /// Write the questions and their counts to a file.
    Save,
    /// To the summary.
    End,
}

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

/// How phones reach the room.
#[derive(Debug)]
enum Line {
    Served {
        server: PollServer,
        address: String,
        others: Vec<String>,
        code: Option<Code>,
        is_alone: bool,
    },
    Hands(String),
}

/// The lecture.
#[derive(Resource, Debug)]
pub struct Lecture {
    course: Course,
    step: usize,
    line: Line,
    /// The address that was asked for, and what the code to join is drawn from.
    wanted: Option<IpAddr>,
    seed: u64,
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
    /// Opens the room of a course at a port and, if one is wanted, an address of this computer;
    /// the code to join is that of the seed. Where the page cannot be served, hands are shown
    /// instead.
    #[must_use]
    pub fn open(course: Course, port: u16, wanted: Option<IpAddr>, seed: u64) -> Self {
        Self {
            line: serve(port, wanted, seed),
            wanted,
            seed,
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
    pub const fn server(&self) -> Option<&PollServer> {
        match &self.line {
            Line::Served { server, .. } => Some(server),
            Line::Hands(_) => None,
        }
    }

    /// What a phone must name to join; `None` where hands are shown.
    #[must_use]
    pub fn join_code(&self) -> Option<&JoinCode> {
        self.server().map(PollServer::code)
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
    pub(in crate::app) fn begin_step(&mut self) -> Option<PartWanted> {
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
    pub(in crate::app) fn end(&mut self) {
        self.watch();
        self.is_over = true;
    }

    pub(in crate::app) fn serve_anew(&mut self, port: u16) {
        if matches!(self.line, Line::Hands(_)) {
            self.line = serve(port, self.wanted, self.seed);
        }
    }

    pub(in crate::app) fn reveal(&mut self) {
        if self.stage == RoomStage::Closed {
            self.stage = RoomStage::Revealed;
            if let Some(server) = self.server() {
                server.poll().reveal();
            }
        }
    }

    /// Writes the questions and their counts to a new file in `folder`.
    pub(in crate::app) fn save(&mut self, folder: &Path, now: SystemTime) -> Result<(), String> {
        let at = humantime::format_rfc3339_seconds(now).to_string().replace(':', "");
        let file = folder.join(format!("{}-{at}.csv", self.course.id));
        create_private_folder(folder)
            .map_err(|error| refusal("make the folder", folder, &error))?;
        write_private(&file, self.record.to_csv().as_bytes())
            .map_err(|error| refusal("write", &file, &error))?;
        self.saved = Some(file);
        Ok(())
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

fn serve(port: u16, wanted: Option<IpAddr>, seed: u64) -> Line {
    let reached = reachable(&found_addresses(), leading_out());
    match PollServer::start(port, JoinCode::of_seed(seed), &reached, Limits::default()) {
        Ok(server) => {
            let (first, others) = chosen(wanted, &reached);
            let address = page_at(first, server.port());
            let others = others.into_iter().map(|ip| page_at(ip, server.port())).collect();
            let code = code_of(&format!("{address}?code={}", server.code()));
            Line::Served { server, address, others, code, is_alone: first.is_loopback() }
        }
        Err(error) => {
            let text = error.to_string();
            let mut letters = text.chars();
            let first = letters.next().map(|c| c.to_uppercase().to_string());
            Line::Hands(first.unwrap_or_default() + letters.as_str())
        }
    }
}

/// The question about a smile.
pub(in crate::app) fn ballot_of(names: ToothNames, odd: Option<Tooth>, teeth: &[Tooth]) -> Ballot {
    let mut choices = names.all(teeth);
    choices.push("None".to_owned());
    let right = odd.and_then(|odd| teeth.iter().position(|tooth| *tooth == odd));
    Ballot {
        question: "Which tooth is the restoration?".to_owned(),
        choices,
        right: vec![right.unwrap_or(teeth.len())],
    }
}

/// What a smile was, for the record.
pub(in crate::app) fn truth_of(
    names: ToothNames,
    restored: Option<(Tooth, &ZoneDifference)>,
    teeth: &[Tooth],
) -> String {
    restored.map_or_else(
        || "no restoration".to_owned(),
        |(tooth, difference)| {
            format!(
                "{}, {} ({} ΔL00)",
                names.said(tooth, teeth),
                crate::words::de00(difference.de00),
                crate::words::signed(difference.dl00)
            )
        },
    )
}

/// The question about options, and what it is about; `None` for exercises that a room cannot
/// answer by one choice.
pub(in crate::app) fn ballot_of_question(
    names: ToothNames,
    question: &Question,
) -> Option<(Ballot, String, bool)> {
    match &question.task {
        Task::Blend(task) => {
            let mut choices: Vec<String> =
                (1..=task.options.len()).map(|place| place.to_string()).collect();
            choices.push("None".to_owned());
            let mut right = task.acceptable();
            let has_target = !right.is_empty();
            if !has_target {
                right.push(task.options.len());
            }
            let question = "Which option blends? Several may.".to_owned();
            let truth =
                format!("blend, {} of {} acceptable", task.acceptable().len(), task.options.len());
            Some((Ballot { question, choices, right }, truth, has_target))
        }
        Task::Verdict(task) => {
            let is_acceptable = task.is_acceptable();
            let choices = vec!["Accept".to_owned(), "Remake".to_owned()];
            let right = vec![usize::from(!is_acceptable)];
            let ballot = Ballot { question: "Accept it, or remake it?".to_owned(), choices, right };
            let tooth = names.said(task.tooth, &question.teeth_in_view());
            Some((ballot, format!("verdict on {tooth}"), !is_acceptable))
        }
        _ => None,
    }
}

/// The room's answer to a question, as one learner's would be.
fn answer_of(question: &Question, choice: Option<usize>) -> Option<Answer> {
    match &question.task {
        Task::Blend(task) => {
            Some(Answer::Blend(match choice.filter(|c| *c < task.options.len()) {
                Some(best) => BlendAnswer { best: Some(best), acceptable: vec![best] },
                None => BlendAnswer::none(),
            }))
        }
        Task::Verdict(_) => Some(Answer::Verdict(VerdictAnswer { accept: choice == Some(0) })),
        _ => None,
    }
}

pub(in crate::app) fn plugin(app: &mut App) {
    app.add_systems(
        Update,
        (follow_smiles, follow_questions)
            .run_if(resource_exists::<Lecture>)
            .in_set(AppSystems::Prepare),
    );
}

/// Opens and closes the question about a smile with its phases.
fn follow_smiles(
    mut lecture: ResMut<Lecture>,
    session: Option<Res<Session>>,
    screen: Res<State<Screen>>,
) {
    let Some(session) = session.filter(|s| matches!(s.conduct(), Conduct::Room)) else { return };
    if *screen.get() != Screen::Trial {
        return;
    }
    let lecture = &mut *lecture;
    match session.phase() {
        TrialPhase::Mask | TrialPhase::Response { .. } => {
            if lecture.stage == RoomStage::Watching
                && let Some(planned) = session.current()
            {
                let odd = planned.case.odd_tooth();
                let ballot = ballot_of(lecture.course.tooth_names, odd, &session.plan().teeth);
                lecture.ask(ballot, session.plan().timing.response_s);
            }
            if let TrialPhase::Response { remaining_s } = session.phase() {
                lecture.asked_s = (lecture.open_s - remaining_s).max(0.0);
            }
        }
        TrialPhase::Debrief => {
            if lecture.stage == RoomStage::Asked
                && let Some(outcome) = session.last_outcome()
            {
                let shown = session.shown().and_then(|shown| shown.scene.truth.as_ref());
                let restored = outcome.restored.zip(shown.map(|truth| &truth.difference));
                let truth = truth_of(session.names(), restored, &session.plan().teeth);
                lecture.close(truth, outcome.kind == TrialKind::Signal);
            }
        }
        TrialPhase::Finished => lecture.finish_step(),
        _ => {
            if lecture.stage != RoomStage::Watching {
                lecture.watch();
            }
        }
    }
}

/// Opens and closes questions about options.
fn follow_questions(
    mut lecture: ResMut<Lecture>,
    exercising: Option<ResMut<Exercising>>,
    screen: Res<State<Screen>>,
    pause: Res<State<Pause>>,
    last: Res<LastFrame>,
) {
    let Some(mut exercising) = exercising.filter(|_| *screen.get() == Screen::Exercise) else {
        return;
    };
    let lecture = &mut *lecture;
    let names = lecture.course.tooth_names;
    let question = exercising.sitting().question();
    let ballot = question.and_then(|question| ballot_of_question(names, question));
    match (exercising.sitting().stage(), lecture.stage) {
        (QuestionStage::Asked, RoomStage::Watching) => {
            if let Some((ballot, ..)) = ballot {
                // Every option is looked at.
                let looks = ballot.choices.len() as f64 * lecture.course.exposure_s;
                lecture.ask(ballot, lecture.course.response_s + looks);
            }
        }
        (QuestionStage::Asked, RoomStage::Asked) => {
            if *pause.get() == Pause::Running {
                lecture.asked_s += last.0.as_secs_f64();
            }
            if lecture.asked_s >= lecture.open_s
                && let Some((_, truth, has_target)) = ballot
            {
                lecture.close(truth, has_target);
            }
        }
        (QuestionStage::Asked, RoomStage::Revealed) => {
            let chosen = lecture.most_chosen();
            let answer = exercising.sitting().question().and_then(|q| answer_of(q, chosen));
            if let Some(answer) = answer {
                exercising.answer_for_room(answer);
            }
        }
        (QuestionStage::Preparing, RoomStage::Closed | RoomStage::Revealed) => lecture.watch(),
        (QuestionStage::Finished, _) => lecture.finish_step(),
        _ => {}
    }
}

impl Lecture {
    /// Closes a question about options before its time.
    pub(in crate::app) fn close_question(&mut self, exercising: &Exercising) {
        let names = self.course.tooth_names;
        let question = exercising.sitting().question();
        let about = question.and_then(|question| ballot_of_question(names, question));
        if self.stage == RoomStage::Asked
            && let Some((_, truth, has_target)) = about
        {
            self.close(truth, has_target);
        }
    }
}
