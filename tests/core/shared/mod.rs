//! What tests share: one file a subject.

pub mod anew;
pub mod answers;
pub mod blend;
pub mod choosing;
pub mod courses;
pub mod learners;
pub mod levels;
pub mod plan;
pub mod sessions;
pub mod sights;
