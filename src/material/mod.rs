//! Materials: ceramics, cements, tooth tissues, prepared-tooth colours.
//!
//! Material files state what a piece looks like (a colour, a contrast ratio); the [`Library`]
//! turns that into Kubelka-Munk media by inverse design, each at most once.

pub mod ageing;
mod ceramic;
pub mod format;
mod library;
mod library_error;
mod opaque;
mod own;
pub mod own_tooth;
mod pigment;
mod shipped;
mod tissue;

pub(crate) use ceramic::CeramicMedia;
pub use library::Library;
pub use library_error::{LibraryError, MaterialKind};
pub use own::OwnMaterials;
pub use shipped::{SHIPPED_FILES, ShippedError};
