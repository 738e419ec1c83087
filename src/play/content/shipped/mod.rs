//! The content that comes with the program, or with a folder of level files.

mod checking;
mod content;
mod files;
mod folders;
mod latest;
mod loaded;
mod own;
mod sources;

pub use checking::{check, faults_of_forms};
pub use files::{SHIPPED_COURSES, SHIPPED_LEVELS};
pub use folders::{Folders, course, courses};
pub use loaded::Shipped;
pub use sources::library;
