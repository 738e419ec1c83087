//! Whether frames follow one another, or the window rests.

use bevy::prelude::*;
use std::time::Duration;

/// How frames follow one another.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq)]
pub struct Pace {
    /// How long nothing has happened, s.
    pub(super) quiet_s: f64,
    /// How long the window may wait.
    pub(super) rests: Option<Duration>,
}

impl Pace {
    /// How long the window may wait for something to happen before it draws again; `None` while frames
    /// follow one another.
    #[must_use]
    pub const fn rests(&self) -> Option<Duration> {
        self.rests
    }

    /// Something happened: frames follow one another for a while.
    pub const fn stir(&mut self) {
        self.quiet_s = 0.0;
    }
}
