//! Why a case could not be baked.

use crate::colorimetry::Lch;
use crate::material::LibraryError;
use crate::optics::MediumError;
use crate::scene::Tooth;
use thiserror::Error;

/// Why a case could not be baked.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BakeError {
    /// A material is missing or impossible.
    #[error(transparent)]
    Library(#[from] LibraryError),
    /// The restored tooth is not in view.
    #[error("the restoration is on tooth {restored}, but the teeth in view are {in_view}")]
    NotInView {
        /// The restored tooth.
        restored: Tooth,
        /// The teeth in view.
        in_view: String,
    },
    /// A tooth was to be baked anew that has no restoration.
    #[error("tooth {tooth} has no restoration to bake anew; restored are: {restored}")]
    NotRestored {
        /// The tooth.
        tooth: Tooth,
        /// The restored teeth.
        restored: String,
    },
    /// A number that names no tooth.
    #[error("{0} is not one of the upper teeth 11-18 or 21-28 (ISO 3950)")]
    NoSuchTooth(u8),
    /// No dentin under this tooth's enamel gives the wanted body colour.
    #[error("tooth {tooth} cannot be {}: the nearest its layers come is L {:.1} C {:.1} h {:.1}",
        wanted.name(), reached.l, reached.c, reached.h)]
    BodyOutOfReach {
        /// Which tooth.
        tooth: Tooth,
        /// The wanted body colour.
        wanted: Lch,
        /// The nearest that was reached.
        reached: Lch,
    },
    /// Solved coefficients make no medium.
    #[error("tooth {tooth}: {source}")]
    Medium {
        /// Which tooth.
        tooth: Tooth,
        /// Why.
        source: MediumError,
    },
}

impl BakeError {
    /// Whether a ceramic cannot have the shade that was asked for, which leaves the others.
    #[must_use]
    pub const fn is_no_such_shade(&self) -> bool {
        matches!(self, Self::Library(LibraryError::Shade { .. }))
    }
}
