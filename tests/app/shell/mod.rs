//! What holds on every screen: starts, rests, pauses, text fields.

mod pausing;
mod resting;
mod starting;
mod typing;
