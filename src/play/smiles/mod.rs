//! The smiles that are being prepared: which are wanted, what is done for each, which are there.
//!
//! Several smiles may be wanted, the most urgent first: the one to show next, or those that may
//! follow the answer that is awaited. They are told apart by their case alone, so a smile that was
//! prepared on a guess is the smile that is asked for later if the guess was right. One bake and
//! one picture at a time: what is no longer wanted ends soon.

mod steps;

pub use self::steps::WantedPicture;

use crate::bake::BakedScene;
use crate::play::content::ContentError;
use crate::play::picture::{Picture, PreparedScene};
use crate::play::work::Work;
use crate::scene::Case;
use std::sync::Arc;
use std::time::Duration;

/// Names a picture that was asked for, so that it is known when it comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PictureId(pub u64);

/// Smiles in preparation or ready at once, at most. A right answer, a wrong one and "none" may
/// each be followed by another smile.
pub const MOST_SMILES: usize = 3;
/// Smiles of a question in preparation or ready at once, at most: options of two lights and of the
/// next question. Pictures of 1920 × 930 pixels take 9 MB each.
pub const MOST_SIGHTS: usize = 16;
/// Twins kept for further smiles of the same mouth.
const MOST_TWINS: usize = 2;
/// A picture whose drawing keeps a frame this long, s, is not drawn while an answer is awaited: the
/// answer's time would be wrong by as much. Design choice: three frames at 60 Hz.
const SLOW_FRAME_S: f64 = 0.05;
/// Within this a picture is there where drawing is quick. Design choice: software adapters take longer.
const QUICK: Duration = Duration::from_millis(150);
/// How long a frame waits for a step of a picture where the picture should follow a control at once.
/// A step that is waited for in vain costs a frame more; nothing else is felt to stop for so short a time.
const PATIENCE: Duration = Duration::from_millis(25);

/// What preparing may do now.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Leave {
    /// Nothing new is begun: a smile is being looked at, and frames must not be late.
    #[default]
    Nothing,
    /// An answer is awaited: bake, and draw if that does not hold up frames.
    Quietly,
    /// All of it.
    Everything,
}

/// The smiles being prepared, or ready.
#[derive(Debug, Default)]
pub struct Preparation {
    /// The most urgent first.
    jobs: Vec<Job>,
    leave: Leave,
    /// Whether a frame may wait for what would otherwise take another.
    hurries: bool,
    /// Whether a smile has become ready in this frame.
    just_ready: bool,
    next_id: u64,
    /// Whether work went on, at the last look, whose result nobody wants.
    has_strays: bool,
    stray_picture: Option<PictureId>,
    slow: SlowDrawing,
    /// Mouths without a restoration, and their pictures: options for one mouth share the twin.
    twins: Vec<(Case, Arc<Picture>)>,
    baked_for: Duration,
    /// From asking for the latest picture until it was there.
    picture_took: Option<Duration>,
}

#[derive(Debug)]
struct Job {
    case: Case,
    step: Step,
    /// The smile as it was drawn for a window of another size, until it is drawn anew.
    outdated: Option<PreparedScene>,
}

#[derive(Debug)]
enum Step {
    Waiting,
    Baking(Work<Result<BakedScene, ContentError>>),
    Baked(Drawing),
    Ready(PreparedScene),
    Failed,
}

/// A baked scene whose pictures are drawn one after the other.
#[derive(Debug)]
struct Drawing {
    scene: Arc<BakedScene>,
    restored: Option<Arc<Picture>>,
    asked: Option<PictureId>,
    /// When it was asked for, since the program began.
    asked_at: Duration,
}

impl Drawing {
    fn of(scene: Arc<BakedScene>) -> Self {
        Self { scene, restored: None, asked: None, asked_at: Duration::ZERO }
    }
}

/// Whether drawing holds up frames on this machine.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct SlowDrawing {
    /// The longest frame since the picture under way was asked for, s.
    longest_s: f64,
    /// What the latest picture showed.
    is_slow: bool,
}

impl Preparation {
    /// Says which smiles are wanted, the most urgent first, and what may be done now. Others are
    /// forgotten, and so are all beyond the [`MOST_SMILES`] first.
    pub fn want(&mut self, cases: &[&Case], leave: Leave) {
        self.want_at_most(cases, leave, MOST_SMILES);
    }

    /// As [`Self::want`], for the smiles of a question: the [`MOST_SIGHTS`] first.
    pub fn want_sights(&mut self, cases: &[&Case], leave: Leave) {
        self.want_at_most(cases, leave, MOST_SIGHTS);
    }

    fn want_at_most(&mut self, cases: &[&Case], leave: Leave, most: usize) {
        self.leave = leave;
        self.hurries = false;
        let mut jobs = Vec::new();
        for case in cases.iter().take(most) {
            let known = self.jobs.iter().position(|job| job.case == **case);
            jobs.push(match known {
                Some(index) => self.jobs.swap_remove(index),
                None => Job { case: (*case).clone(), step: Step::Waiting, outdated: None },
            });
        }
        for job in std::mem::replace(&mut self.jobs, jobs) {
            self.forget(job);
        }
    }

    /// What is wanted should follow a control at once: until smiles are wanted again, a frame may
    /// wait a little for each step of a picture, where it would otherwise take a frame more.
    pub const fn hurry(&mut self) {
        self.hurries = true;
    }

    /// How long a frame may wait for a step of a picture.
    #[must_use]
    pub const fn patience(&self) -> Duration {
        if self.hurries { PATIENCE } else { Duration::ZERO }
    }

    /// Begins nothing new until smiles are wanted again.
    pub const fn pause(&mut self) {
        self.leave = Leave::Nothing;
        self.hurries = false;
    }

    /// Forgets everything.
    pub fn clear(&mut self) {
        self.want(&[], Leave::Nothing);
        self.twins.clear();
    }

    fn forget(&mut self, job: Job) {
        // A bake that has begun goes on, and the workers count it.
        if let Step::Baked(Drawing { asked: Some(id), .. }) = job.step {
            self.stray_picture = Some(id);
        }
    }

    /// Whether nothing unwanted is at work that could hold up an exposure.
    #[must_use]
    pub const fn is_settled(&self) -> bool {
        !self.has_strays && self.stray_picture.is_none()
    }

    /// Whether nothing is at work, wanted or not, and nothing is left to be begun.
    #[must_use]
    pub fn is_at_rest(&self) -> bool {
        let is_over = |job: &Job| matches!(job.step, Step::Ready(_) | Step::Failed);
        self.is_settled() && self.jobs.iter().all(is_over)
    }

    /// The smile of `case`, once it is ready.
    #[must_use]
    pub fn ready(&self, case: &Case) -> Option<&PreparedScene> {
        self.jobs.iter().find_map(|job| match &job.step {
            Step::Ready(prepared) if job.case == *case => Some(prepared),
            _ => None,
        })
    }

    /// The smile of `case`, once it is ready; while it is drawn anew for another size of the window, as
    /// it was before.
    #[must_use]
    pub fn latest(&self, case: &Case) -> Option<&PreparedScene> {
        let outdated = || self.jobs.iter().find(|job| job.case == *case)?.outdated.as_ref();
        self.ready(case).or_else(outdated)
    }

    /// Takes a smile of `case` that was made before, if it is wanted and not begun.
    pub(crate) fn take_up(&mut self, case: &Case, prepared: &PreparedScene) {
        if let Some(job) = self.jobs.iter_mut().find(|job| job.case == *case)
            && matches!(job.step, Step::Waiting)
        {
            job.step = Step::Ready(prepared.clone());
        }
    }

    /// Smiles that are ready.
    #[must_use]
    pub fn count_ready(&self) -> usize {
        self.jobs.iter().filter(|job| matches!(job.step, Step::Ready(_))).count()
    }

    /// Smiles that are ready or in preparation.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.jobs.len()
    }

    /// Whether preparing `case` failed.
    #[must_use]
    pub fn has_failed(&self, case: &Case) -> bool {
        self.jobs.iter().any(|job| matches!(job.step, Step::Failed) && job.case == *case)
    }

    /// Whether pictures are drawn so quickly that one more, which may never be looked at, holds up
    /// nothing. Not known before the first.
    #[must_use]
    pub fn is_quick(&self) -> bool {
        self.picture_took.is_some_and(|took| took < QUICK)
    }

    /// How long all bakes took that were wanted to their end.
    #[must_use]
    pub const fn baked_for(&self) -> Duration {
        self.baked_for
    }

    /// What is being done, in a few words, for the progress line.
    #[must_use]
    pub fn step_in_words(&self) -> &'static str {
        match self.jobs.first().map(|job| &job.step) {
            Some(Step::Baking(_)) => "Computing how light travels through the teeth…",
            Some(Step::Baked(_)) => "Drawing the next smile…",
            _ => "Preparing the next smile…",
        }
    }

    fn new_id(&mut self) -> PictureId {
        self.next_id += 1;
        PictureId(self.next_id)
    }

    /// The picture that was asked for and is not there yet.
    fn awaited(&self) -> Option<PictureId> {
        let asked = self.jobs.iter().find_map(|job| match &job.step {
            Step::Baked(drawing) => drawing.asked,
            _ => None,
        });
        asked.or(self.stray_picture)
    }

    fn may_draw(&self) -> bool {
        match self.leave {
            Leave::Nothing => false,
            Leave::Quietly => !self.slow.is_slow,
            Leave::Everything => true,
        }
    }
}
