//! What the learner answered, and with what.

use crate::scene::Tooth;

/// An answer to a Glance trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Response {
    /// This tooth is the restoration.
    Tooth(Tooth),
    /// No tooth is restored.
    None,
    /// No answer before the window closed. Not the same as [`Response::None`].
    Timeout,
}

/// The device an answer came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InputDevice {
    /// Mouse, pen or touch.
    Pointer,
    /// Keyboard or switch.
    Keyboard,
    /// A simulated observer.
    Simulated,
}

impl InputDevice {
    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pointer => "pointer",
            Self::Keyboard => "keyboard",
            Self::Simulated => "simulated",
        }
    }
}
