//! Prepares smiles: bakes cases on background threads, asks for pictures, keeps what arrived.

use crate::app::content::{ActiveContent, ContentError};
use crate::app::pictures::{PictureFailed, PictureId, PictureReady, RequestPicture};
use crate::app::viewport::Picture;
use crate::app::{AppSystems, Problem};
use crate::bake::{BakedScene, Condition};
use crate::scene::Case;
use bevy::prelude::*;
use bevy::tasks::{AsyncComputeTaskPool, Task, block_on, poll_once};
use std::sync::Arc;

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

/// The smile being prepared, or ready, for one trial.
#[derive(Resource, Default)]
pub struct Preparation {
    work: Work,
    next_id: u64,
}

#[derive(Default)]
enum Work {
    #[default]
    Idle,
    Baking {
        trial: usize,
        task: Task<Result<BakedScene, ContentError>>,
    },
    Drawing {
        trial: usize,
        scene: Arc<BakedScene>,
        restored: Awaited,
        twin: Awaited,
    },
    Ready {
        trial: usize,
        prepared: PreparedScene,
    },
    Failed {
        trial: usize,
    },
}

enum Awaited {
    Request(PictureId),
    Here(Arc<Picture>),
}

impl Awaited {
    fn take_in(&mut self, ready: &PictureReady) {
        if matches!(self, Self::Request(id) if *id == ready.id) {
            *self = Self::Here(ready.picture.clone());
        }
    }
}

impl Preparation {
    /// Starts on `case` unless it is already under way for this trial.
    pub fn begin(&mut self, trial: usize, case: &Case, content: &ActiveContent) {
        if self.trial() == Some(trial) {
            return;
        }
        let (content, case) = (content.0.clone(), case.clone());
        let task = AsyncComputeTaskPool::get().spawn(async move { content.bake(&case) });
        self.work = Work::Baking { trial, task };
    }

    /// Forgets everything; work under way is dropped.
    pub fn clear(&mut self) {
        self.work = Work::Idle;
    }

    /// The smile of `trial`, once it is ready.
    #[must_use]
    pub fn ready(&self, trial: usize) -> Option<&PreparedScene> {
        match &self.work {
            Work::Ready { trial: ready, prepared } if *ready == trial => Some(prepared),
            _ => None,
        }
    }

    /// Whether preparing `trial` failed.
    #[must_use]
    pub fn has_failed(&self, trial: usize) -> bool {
        matches!(&self.work, Work::Failed { trial: failed } if *failed == trial)
    }

    /// What is being done, in a few words, for the progress line.
    #[must_use]
    pub const fn step_in_words(&self) -> &'static str {
        match self.work {
            Work::Baking { .. } => "Computing how light travels through the teeth…",
            Work::Drawing { .. } => "Drawing the next smile…",
            _ => "Preparing the next smile…",
        }
    }

    fn trial(&self) -> Option<usize> {
        match &self.work {
            Work::Idle => None,
            Work::Baking { trial, .. }
            | Work::Drawing { trial, .. }
            | Work::Ready { trial, .. }
            | Work::Failed { trial } => Some(*trial),
        }
    }

    fn new_id(&mut self) -> PictureId {
        self.next_id += 1;
        PictureId(self.next_id)
    }
}

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<Preparation>().init_resource::<PictureSize>().add_systems(
        Update,
        (finish_bake, collect_pictures, give_up_on_failures).chain().in_set(AppSystems::Arrivals),
    );
}

fn finish_bake(
    mut preparation: ResMut<Preparation>,
    size: Res<PictureSize>,
    mut requests: MessageWriter<RequestPicture>,
    mut problem: ResMut<Problem>,
) {
    let Work::Baking { trial, task } = &mut preparation.bypass_change_detection().work else {
        return;
    };
    let trial = *trial;
    let Some(result) = block_on(poll_once(task)) else { return };
    let scene = match result {
        Ok(scene) => Arc::new(scene),
        Err(error) => {
            problem.report(error.to_string());
            preparation.work = Work::Failed { trial };
            return;
        }
    };
    let mut ask = |condition| {
        let id = preparation.new_id();
        let [width, height] = size.0;
        requests.write(RequestPicture { id, scene: scene.clone(), condition, width, height });
        Awaited::Request(id)
    };
    let restored = ask(Condition::Restored);
    // Without a restoration both conditions are the same picture: ask once.
    let twin = if scene.truth.is_some() { ask(Condition::Twin) } else { restored.again() };
    preparation.work = Work::Drawing { trial, scene, restored, twin };
}

impl Awaited {
    fn again(&self) -> Self {
        match self {
            Self::Request(id) => Self::Request(*id),
            Self::Here(picture) => Self::Here(picture.clone()),
        }
    }
}

fn collect_pictures(
    mut preparation: ResMut<Preparation>,
    mut arrived: MessageReader<PictureReady>,
) {
    for ready in arrived.read() {
        if let Work::Drawing { restored, twin, .. } = &mut preparation.work {
            restored.take_in(ready);
            twin.take_in(ready);
        }
    }
    let prepared = match &preparation.work {
        Work::Drawing {
            trial,
            scene,
            restored: Awaited::Here(restored),
            twin: Awaited::Here(twin),
        } => (*trial, scene.clone(), restored.clone(), twin.clone()),
        _ => return,
    };
    let (trial, scene, restored, twin) = prepared;
    preparation.work = Work::Ready { trial, prepared: PreparedScene { scene, restored, twin } };
}

fn give_up_on_failures(
    mut preparation: ResMut<Preparation>,
    mut failed: MessageReader<PictureFailed>,
    mut problem: ResMut<Problem>,
) {
    for failure in failed.read() {
        let Work::Drawing { trial, restored, twin, .. } = &preparation.work else { continue };
        let waits =
            |awaited: &Awaited| matches!(awaited, Awaited::Request(id) if *id == failure.id);
        if waits(restored) || waits(twin) {
            problem.report(format!("The picture cannot be drawn: {}", failure.reason));
            preparation.work = Work::Failed { trial: *trial };
        }
    }
}
