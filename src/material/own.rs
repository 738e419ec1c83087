//! Material files of somebody's own.

use crate::material::format::{Cements, Ceramics, MeasuredCeramics, Tissues};

/// The material files of somebody's own: what is given stands in for, or comes on top of, what
/// ships.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnMaterials {
    /// Stands in for the shipped designed ceramics.
    pub ceramics: Option<Ceramics>,
    /// Stands in for the shipped cements.
    pub cements: Option<Cements>,
    /// Stands in for the shipped tissues.
    pub tissues: Option<Tissues>,
    /// Comes on top of the designed ceramics.
    pub measured: Vec<MeasuredCeramics>,
}
