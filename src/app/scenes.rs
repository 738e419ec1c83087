//! Prepares smiles: bakes cases on background threads, asks for pictures, keeps what arrived.
//!
//! Several smiles may be wanted, the most urgent first: the one to show next, or those that may
//! follow the answer that is awaited. They are told apart by their case alone, so a smile that was
//! prepared on a guess is the smile that is asked for later if the guess was right. One bake and
//! one picture at a time: what is no longer wanted ends soon.

use crate::app::content::{ActiveContent, ContentError};
use crate::app::frames::LastFrame;
use crate::app::pictures::{PictureFailed, PictureId, PictureReady, RequestPicture};
use crate::app::viewport::{Patience, Picture};
use crate::app::{AppSystems, Problem};
use crate::bake::{BakedScene, Condition};
use crate::scene::Case;
use bevy::prelude::*;
use bevy::tasks::{AsyncComputeTaskPool, Task, block_on, poll_once};
use std::sync::Arc;
use std::time::{Duration, Instant};

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
const PATIENCE: Patience = Patience(Duration::from_millis(25));

/// The size that pictures are asked for, physical pixels. Kept up to date by the window.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct PictureSize(pub [u32; 2]);

impl Default for PictureSize {
    fn default() -> Self {
        Self([1024, 490])
    }
}

/// A smile ready to be shown in both conditions.
#[derive(Debug, Clone)]
pub struct PreparedScene {
    /// The baked scene, with its truth.
    pub scene: Arc<BakedScene>,
    /// As restored (or simply natural).
    pub restored: Arc<Picture>,
    /// The twin. The same picture as [`Self::restored`] where nothing is restored.
    pub twin: Arc<Picture>,
}

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
#[derive(Resource, Default)]
pub struct Preparation {
    /// The most urgent first.
    jobs: Vec<Job>,
    leave: Leave,
    /// Whether a frame may wait for what would otherwise take another.
    hurries: bool,
    /// Whether a smile has become ready in this frame.
    just_ready: bool,
    next_id: u64,
    /// Work that goes on although nobody wants its result.
    stray_tasks: Vec<Task<()>>,
    stray_picture: Option<PictureId>,
    slow: SlowDrawing,
    /// Mouths without a restoration, and their pictures: options for one mouth share the twin.
    twins: Vec<(Case, Arc<Picture>)>,
    baked_for: Duration,
    /// From asking for the latest picture until it was there.
    picture_took: Option<Duration>,
}

struct Job {
    case: Case,
    work: Work,
    /// The smile as it was drawn for a window of another size, until it is drawn anew.
    outdated: Option<PreparedScene>,
}

enum Work {
    Waiting,
    Baking(Task<(Result<BakedScene, ContentError>, Duration)>),
    Baked(Drawing),
    Ready(PreparedScene),
    Failed,
}

impl PreparedScene {
    /// The size of its pictures, pixels.
    #[must_use]
    pub fn size(&self) -> [u32; 2] {
        [self.restored.width, self.restored.height]
    }
}

/// A baked scene whose pictures are drawn one after the other.
struct Drawing {
    scene: Arc<BakedScene>,
    restored: Option<Arc<Picture>>,
    asked: Option<PictureId>,
    asked_at: Instant,
}

impl Drawing {
    fn of(scene: Arc<BakedScene>) -> Self {
        Self { scene, restored: None, asked: None, asked_at: Instant::now() }
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
                None => Job { case: (*case).clone(), work: Work::Waiting, outdated: None },
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
    pub const fn patience(&self) -> Patience {
        if self.hurries { PATIENCE } else { Patience(Duration::ZERO) }
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
        match job.work {
            Work::Baking(task) => self.outlive(task),
            Work::Baked(Drawing { asked: Some(id), .. }) => self.stray_picture = Some(id),
            _ => {}
        }
    }

    /// Keeps count of a task whose result is no longer wanted: a task that runs cannot be stopped.
    pub(super) fn outlive<T: Send + 'static>(&mut self, task: Task<T>) {
        let wait = async move { drop(task.await) };
        self.stray_tasks.push(AsyncComputeTaskPool::get().spawn(wait));
    }

    /// Whether nothing unwanted is at work that could hold up an exposure.
    #[must_use]
    pub const fn is_settled(&self) -> bool {
        self.stray_tasks.is_empty() && self.stray_picture.is_none()
    }

    /// Whether nothing is at work, wanted or not, and nothing is left to be begun.
    #[must_use]
    pub fn is_at_rest(&self) -> bool {
        let is_over = |job: &Job| matches!(job.work, Work::Ready(_) | Work::Failed);
        self.is_settled() && self.jobs.iter().all(is_over)
    }

    /// The smile of `case`, once it is ready.
    #[must_use]
    pub fn ready(&self, case: &Case) -> Option<&PreparedScene> {
        self.jobs.iter().find_map(|job| match &job.work {
            Work::Ready(prepared) if job.case == *case => Some(prepared),
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
    pub(super) fn take_up(&mut self, case: &Case, prepared: &PreparedScene) {
        if let Some(job) = self.jobs.iter_mut().find(|job| job.case == *case)
            && matches!(job.work, Work::Waiting)
        {
            job.work = Work::Ready(prepared.clone());
        }
    }

    /// Smiles that are ready.
    #[must_use]
    pub fn count_ready(&self) -> usize {
        self.jobs.iter().filter(|job| matches!(job.work, Work::Ready(_))).count()
    }

    /// Smiles that are ready or in preparation.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.jobs.len()
    }

    /// Whether preparing `case` failed.
    #[must_use]
    pub fn has_failed(&self, case: &Case) -> bool {
        self.jobs.iter().any(|job| matches!(job.work, Work::Failed) && job.case == *case)
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
        match self.jobs.first().map(|job| &job.work) {
            Some(Work::Baking(_)) => "Computing how light travels through the teeth…",
            Some(Work::Baked(_)) => "Drawing the next smile…",
            _ => "Preparing the next smile…",
        }
    }

    fn new_id(&mut self) -> PictureId {
        self.next_id += 1;
        PictureId(self.next_id)
    }

    /// The picture that was asked for and is not there yet.
    fn awaited(&self) -> Option<PictureId> {
        let asked = self.jobs.iter().find_map(|job| match &job.work {
            Work::Baked(drawing) => drawing.asked,
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

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<Preparation>()
        .init_resource::<PictureSize>()
        .add_systems(
            Update,
            (finish_bakes, collect_pictures, give_up_on_failures, draw_anew)
                .chain()
                .in_set(AppSystems::Arrivals),
        )
        .add_systems(
            Update,
            (begin_bake, wait_for_bake, finish_bakes, ask_for_picture)
                .chain()
                .in_set(BeginWork)
                .in_set(AppSystems::Prepare),
        );
}

/// Draws smiles anew whose pictures are not the size of the window's any more. While a smile is looked
/// at or answered, it stays as it is.
fn draw_anew(mut preparation: ResMut<Preparation>, size: Res<PictureSize>) {
    let preparation = preparation.bypass_change_detection();
    if preparation.leave != Leave::Everything {
        return;
    }
    for job in &mut preparation.jobs {
        match &mut job.work {
            Work::Ready(prepared) if prepared.size() != size.0 => {
                let drawing = Drawing::of(prepared.scene.clone());
                job.outdated = Some(prepared.clone());
                job.work = Work::Baked(drawing);
            }
            Work::Baked(drawing) if drawing.asked.is_none() => {
                let half = drawing.restored.take();
                drawing.restored = half.filter(|half| [half.width, half.height] == size.0);
            }
            _ => {}
        }
    }
}

/// Begins what is wanted. Whoever wants something says so before.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct BeginWork;

fn begin_bake(mut preparation: ResMut<Preparation>, content: Option<Res<ActiveContent>>) {
    let Some(content) = content else { return };
    let preparation = preparation.bypass_change_detection();
    for stray in &preparation.stray_tasks {
        preparation.patience().wait_for(stray);
    }
    preparation.stray_tasks.retain(|task| !task.is_finished());
    let is_busy = preparation.jobs.iter().any(|job| matches!(job.work, Work::Baking(_)));
    if preparation.leave == Leave::Nothing || is_busy || !preparation.stray_tasks.is_empty() {
        return;
    }
    let waiting = preparation.jobs.iter_mut().find(|job| matches!(job.work, Work::Waiting));
    if let Some(job) = waiting {
        let (content, case) = (content.0.clone(), job.case.clone());
        let task = AsyncComputeTaskPool::get().spawn(async move {
            let start = Instant::now();
            (content.bake(&case), start.elapsed())
        });
        job.work = Work::Baking(task);
    }
}

/// Where pictures should follow at once, this frame may see the end of the bake it has begun.
fn wait_for_bake(preparation: Res<Preparation>) {
    for job in &preparation.jobs {
        if let Work::Baking(task) = &job.work {
            preparation.patience().wait_for(task);
        }
    }
}

fn finish_bakes(mut preparation: ResMut<Preparation>, mut problem: ResMut<Problem>) {
    let preparation = preparation.bypass_change_detection();
    preparation.stray_tasks.retain(|task| !task.is_finished());
    for job in &mut preparation.jobs {
        let Work::Baking(task) = &mut job.work else { continue };
        let Some((scene, took)) = block_on(poll_once(task)) else { continue };
        preparation.baked_for += took;
        job.work = match scene {
            Ok(scene) => Work::Baked(Drawing::of(Arc::new(scene))),
            Err(error) => {
                problem.report(error.to_string());
                Work::Failed
            }
        };
    }
}

fn ask_for_picture(
    mut preparation: ResMut<Preparation>,
    size: Res<PictureSize>,
    mut requests: MessageWriter<RequestPicture>,
) {
    let preparation = preparation.bypass_change_detection();
    // A frame that is to show a smile does not draw the next, or the window would be left out of it.
    let shows = std::mem::take(&mut preparation.just_ready) && preparation.hurries;
    if shows || !preparation.may_draw() || preparation.awaited().is_some() {
        return;
    }
    let id = preparation.new_id();
    let baked = preparation.jobs.iter_mut().find_map(|job| match &mut job.work {
        Work::Baked(drawing) => Some(drawing),
        _ => None,
    });
    let Some(drawing) = baked else { return };
    let condition = match drawing.restored {
        None => Condition::Restored,
        Some(_) => Condition::Twin,
    };
    let [width, height] = size.0;
    drawing.asked = Some(id);
    drawing.asked_at = Instant::now();
    requests.write(RequestPicture { id, scene: drawing.scene.clone(), condition, width, height });
    preparation.slow.longest_s = 0.0;
}

fn collect_pictures(
    mut preparation: ResMut<Preparation>,
    last: Res<LastFrame>,
    mut arrived: MessageReader<PictureReady>,
) {
    let preparation = preparation.bypass_change_detection();
    let slow = &mut preparation.slow;
    slow.longest_s = slow.longest_s.max(last.0.as_secs_f64());
    for ready in arrived.read() {
        // A frame that was to wait says nothing about drawing.
        if !preparation.hurries {
            slow.is_slow = slow.longest_s > SLOW_FRAME_S;
        }
        if preparation.stray_picture == Some(ready.id) {
            preparation.stray_picture = None;
        }
        let mut new_twin = None;
        for job in &mut preparation.jobs {
            let Work::Baked(drawing) = &mut job.work else { continue };
            if drawing.asked != Some(ready.id) {
                continue;
            }
            drawing.asked = None;
            preparation.picture_took = Some(drawing.asked_at.elapsed());
            let (scene, picture) = (drawing.scene.clone(), ready.picture.clone());
            // Without a restoration both conditions are the same picture.
            let (restored, twin) = match drawing.restored.take() {
                None if scene.truth.is_some() => {
                    let natural = natural_of(&job.case);
                    let size = size_of(&picture);
                    let known = preparation
                        .twins
                        .iter()
                        .find(|(case, twin)| *case == natural && (twin.width, twin.height) == size);
                    let Some((_, twin)) = known else {
                        drawing.restored = Some(picture);
                        continue;
                    };
                    (picture, twin.clone())
                }
                None => (picture.clone(), picture),
                // The window has another size since the first of the two: both are drawn anew.
                Some(restored) if (restored.width, restored.height) != size_of(&picture) => {
                    continue;
                }
                Some(restored) => {
                    new_twin = Some((natural_of(&job.case), picture.clone()));
                    (restored, picture)
                }
            };
            job.work = Work::Ready(PreparedScene { scene, restored, twin });
            job.outdated = None;
            preparation.just_ready = true;
        }
        if let Some((natural, twin)) = new_twin {
            keep_twin(&mut preparation.twins, natural, twin);
        }
    }
}

fn size_of(picture: &Picture) -> (u32, u32) {
    (picture.width, picture.height)
}

/// Remembers the twin of a smile for others of the same mouth.
fn keep_twin(twins: &mut Vec<(Case, Arc<Picture>)>, natural: Case, twin: Arc<Picture>) {
    twins.retain(|(case, _)| *case != natural);
    twins.insert(0, (natural, twin));
    twins.truncate(MOST_TWINS);
}

/// The mouth of a case with every tooth natural.
fn natural_of(case: &Case) -> Case {
    Case { restorations: Vec::new(), shift: None, ..case.clone() }
}

fn give_up_on_failures(
    mut preparation: ResMut<Preparation>,
    mut failed: MessageReader<PictureFailed>,
    mut problem: ResMut<Problem>,
) {
    let preparation = preparation.bypass_change_detection();
    for failure in failed.read() {
        if preparation.stray_picture == Some(failure.id) {
            preparation.stray_picture = None;
        }
        for job in &mut preparation.jobs {
            if matches!(&job.work, Work::Baked(drawing) if drawing.asked == Some(failure.id)) {
                problem.report(format!("The picture cannot be drawn: {}", failure.reason));
                job.work = Work::Failed;
            }
        }
    }
}
