//! Materials: ceramics, cements, tooth tissues, prepared-tooth colours.
//!
//! Material files state what a piece looks like (a colour, a contrast ratio); the [`Library`]
//! turns that into Kubelka-Munk media by inverse design, each at most once.

pub mod ageing;
pub mod format;
mod library;
pub mod own_tooth;
mod pigment;
mod shipped;

pub(crate) use library::CeramicMedia;
pub use library::{Library, LibraryError, MaterialKind};
pub use shipped::{OwnMaterials, SHIPPED_FILES, ShippedError};
