//! How phones reach a room.

use super::Code;
use crate::lecture::{JoinCode, Poll};
use std::fmt::Debug;
use std::sync::MutexGuard;

/// Whoever serves the page that phones answer on, until dropped.
pub trait Phones: Debug + Send + Sync {
    /// What is asked and answered.
    fn poll(&self) -> MutexGuard<'_, Poll>;

    /// What a phone must name to join.
    fn code(&self) -> &JoinCode;

    /// The port that the page is served at.
    fn port(&self) -> u16;
}

/// How phones reach the room.
#[derive(Debug)]
pub enum Line {
    /// By a page.
    Served {
        /// Who serves it.
        server: Box<dyn Phones>,
        /// The address that phones open.
        address: String,
        /// Other addresses at which it is found.
        others: Vec<String>,
        /// The picture that leads there.
        code: Option<Code>,
        /// Whether only this computer can open it.
        is_alone: bool,
    },
    /// Not at all, and why: hands are shown.
    Hands(String),
}
