//! In which order one frame's work is done.

use bevy::prelude::*;

/// The order of one frame's work, first to last. Add new steps here.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AppSystems {
    /// How long was the last frame on screen?
    Measure,
    /// Devices → intents.
    Input,
    /// Pictures and baked scenes that arrived.
    Arrivals,
    /// The last frame and the intents go into the session.
    Advance,
    /// Work for later frames is started.
    Prepare,
}

/// The steps that take a running session on, within [`AppSystems::Advance`].
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct AdvanceSession;

/// Composes what a measurement shows next, within [`AppSystems::Prepare`].
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ComposeNext;

/// Begins what is wanted, within [`AppSystems::Prepare`]. Whoever wants something says so before.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct BeginWork;

/// Passes on what was asked for, within [`AdvanceSession`]: after the frame that has just ended was
/// counted, before screens follow.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Dispatch;
