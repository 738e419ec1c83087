//! Pictures asked for, and what is said when they are there.

use crate::anatomy::View;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::request::{DrawTimes, PictureRequest};
use crate::play::picture::Picture;
use crate::play::smiles::PictureId;
use bevy::prelude::*;
use bevy::tasks::Task;
use std::collections::VecDeque;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Between two looks at whether a task has ended.
const NAP: Duration = Duration::from_micros(100);
/// Pictures waiting to be drawn, first come, first served.
#[derive(Resource, Default)]
pub struct PictureQueue {
    waiting: VecDeque<(PictureId, Subject)>,
}

impl PictureQueue {
    /// Asks for a picture, which will be handed out by this name.
    pub fn submit(&mut self, id: PictureId, request: PictureRequest) {
        self.push(id, Subject::Smile(request));
    }

    /// Pictures asked for and not yet begun.
    #[must_use]
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    pub(crate) fn push(&mut self, id: PictureId, subject: Subject) {
        self.waiting.push_back((id, subject));
    }

    pub(crate) fn next(&mut self) -> Option<(PictureId, Subject)> {
        self.waiting.pop_front()
    }
}

/// How long a frame may wait for each step of a picture that would otherwise cost another frame: for
/// its preparation, its pixels and its finish. None of it where frames must not be late.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Patience(pub Duration);

impl Patience {
    /// Waits for a task that another thread works on.
    pub fn wait_for<T>(self, task: &Task<T>) {
        let start = Instant::now();
        while !task.is_finished() && start.elapsed() < self.0 {
            std::thread::sleep(NAP);
        }
    }
}

/// What a picture shows.
pub(crate) enum Subject {
    Smile(PictureRequest),
    /// A smile drawn over and over this many frames before its pixels are read.
    Held(PictureRequest, u32),
    /// Flat unlit patches of these linear sRGB colours, to check the path itself.
    Patches {
        view: View,
        colors: Vec<[f32; 3]>,
    },
}

/// A picture is there.
#[derive(Message, Debug, Clone)]
pub struct PictureDrawn {
    /// Which one.
    pub id: PictureId,
    /// The picture.
    pub picture: Arc<Picture>,
    /// Where the time went.
    pub times: DrawTimes,
}

/// A picture could not be drawn.
#[derive(Message, Debug, Clone)]
pub struct PictureMissed {
    /// Which one.
    pub id: PictureId,
    /// Why.
    pub error: RendererError,
}
