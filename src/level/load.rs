//! Reading level and material files, and checking many at once.

mod check;
mod materials;
mod parse;
mod place;
mod read;

pub use check::{CheckReport, check};
pub use materials::{MaterialFiles, add_own, load_materials, load_own_materials};
pub use parse::{
    load_course, load_level, parse_cements, parse_ceramics, parse_course, parse_level,
    parse_measured_ceramics, parse_tissues,
};
pub use place::{mistake_in, place_in};
pub use read::read_bytes;
pub(super) use read::{files_below, read as source_of};
