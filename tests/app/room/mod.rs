//! Rooms, each from its first screen to its last.

mod bench;
mod clinic;
mod course;
mod glance;
mod lecture;
mod measure;
mod round;
mod title;
