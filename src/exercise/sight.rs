//! What can be looked at in a question.

use crate::scene::Case;

/// A smile (or field of patches) that can be looked at in a question.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// What it is called on screen, such as `Option 2`.
    pub name: String,
    /// The smile.
    pub case: Case,
}
