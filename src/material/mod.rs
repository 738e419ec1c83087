//! Materials: ceramics, cements, tooth tissues, prepared-tooth colours.
//!
//! Material files state what a piece looks like (a colour, a contrast ratio); the [`Library`]
//! turns that into media of radiative transfer by inverse design, each at most once.
//!
//! # Why
//! - **Inverse design instead of measured K and S.** No table of absorption and scattering by
//!   ceramic class could be found in print; contrast ratios and translucency parameters are
//!   published. So materials are stated by what is known (colour of a thick piece, contrast ratio)
//!   and media are solved from that. Each entry's `basis` says what is published and what is
//!   assumed.
//! - **Dentin is solved, not chosen.** A level asks for the colour of a natural tooth's body.
//!   Enamel is the library's (its absorption scaled with the tooth's chroma), and the dentin
//!   beneath is solved so that the stack has that colour. Neck, flanks and incisal edge then follow
//!   from thicknesses alone.
//! - **Zirconia** is designed so that its translucency parameter lies in the published 5.5-15.1
//!   (1.0 to 0.4 mm) and up to 5 above: 17.5-19.0 at 0.4 mm, 5.9-7.4 at 1.0 mm.
//! - **Tuned to the trade's rules.** The colours of prepared teeth and the targets in
//!   `tests/core/material/trade_facts.rs` were chosen so that the rules of thumb hold on shipped
//!   materials; the tests keep that true, they are not independent evidence for the optics. What
//!   holds on generated cases is told in [`crate::level`].
//! - **What is at hand** on the bench and in the form for a case are the classes of
//!   [`plain_classes`](crate::exercise::plain_classes): pigmented ones are for Two lights alone.
//!
//! Measured ceramics come in the shades that were measured and no other: ask [`Library::shades`] of
//! class and translucency, not the lattice.

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
