//! Everything between the core and the window that is only rules and data: what is under way, what can
//! be asked for, and what follows from it. No engine, no window, no pixels on a screen.

pub mod answer;
pub mod around;
pub mod bench;
pub mod cautions;
pub mod clinic;
pub mod clock;
pub mod content;
pub mod course;
pub mod frames;
pub mod intents;
pub mod keys;
pub mod lecture;
pub mod measuring;
pub mod mode;
pub mod naming;
pub mod picture;
pub mod problem;
pub mod records;
pub mod round;
pub mod session;
pub mod smiles;
pub mod start;
pub mod view;
pub mod wanted;
pub mod whole_file;
pub mod work;
