//! When the viewport works within a frame, and the window that it may leave out for one.

use bevy::prelude::*;

/// Marks the camera of a window. Where pictures should follow a control at once, the frame that draws
/// one leaves the window as it is, so that it need not wait for the display.
#[derive(Component, Debug, Clone, Copy, Default)]
pub struct WindowCamera;

/// The viewport's systems, all in `Update`.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ViewportSystems;

/// The step that begins the next picture: what is submitted before it begins in the same frame.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ViewportBegins;
