//! Why a material could not be had.

use crate::colorimetry::Lch;
use crate::optics::{DesignError, MediumError};
use crate::scene::Translucency;
use crate::spectrum::SpectrumError;
use thiserror::Error;

/// What kind of entry an id names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialKind {
    /// A ceramic class.
    Ceramic,
    /// A cement.
    Cement,
    /// A prepared-tooth colour.
    PreparedTooth,
    /// A dentin.
    Dentin,
    /// A gingiva.
    Gingiva,
}

impl std::fmt::Display for MaterialKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Ceramic => "ceramic",
            Self::Cement => "cement",
            Self::PreparedTooth => "prepared tooth",
            Self::Dentin => "dentin",
            Self::Gingiva => "gingiva",
        })
    }
}

/// Why a material could not be had.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LibraryError {
    /// No entry has that id.
    #[error("no {kind} has the id `{id}`; there are {known}")]
    Unknown {
        /// Kind of entry looked for.
        kind: MaterialKind,
        /// The id that was asked for.
        id: String,
        /// The ids there are.
        known: String,
    },
    /// A ceramic class lacks a translucency.
    #[error("ceramic `{class}` has no {translucency:?} translucency")]
    NoTranslucency {
        /// Class id.
        class: String,
        /// The missing one.
        translucency: Translucency,
    },
    /// A ceramic class has no graded block.
    #[error("ceramic `{class}` has no graded block")]
    NotGraded {
        /// Class id.
        class: String,
    },
    /// A measured ceramic does not come in a shade.
    #[error("ceramic `{class}` was not measured in {}; there are {known}", shade.name())]
    NotMeasured {
        /// Class id.
        class: String,
        /// The shade asked for.
        shade: Lch,
        /// The shades there are in that translucency.
        known: String,
    },
    /// Measured coefficients are no spectrum.
    #[error("{what}: {source}")]
    Spectrum {
        /// Which entry.
        what: String,
        /// Why.
        source: SpectrumError,
    },
    /// No ceramic of a class has a shade.
    #[error("{what}: {source}")]
    Shade {
        /// Which ceramic, with its shade.
        what: String,
        /// Why.
        source: DesignError,
    },
    /// No medium looks like an entry says.
    #[error("{what}: {source}")]
    Design {
        /// Which entry.
        what: String,
        /// Why.
        source: DesignError,
    },
    /// An entry's coefficients make no medium.
    #[error("{what}: {source}")]
    Medium {
        /// Which entry.
        what: String,
        /// Why.
        source: MediumError,
    },
}

pub(super) fn find<'a, T>(
    entries: &'a [T],
    kind: MaterialKind,
    id: &str,
    id_of: impl Fn(&T) -> &String,
) -> Result<&'a T, LibraryError> {
    entries.iter().find(|entry| id_of(entry) == id).ok_or_else(|| LibraryError::Unknown {
        kind,
        id: id.to_owned(),
        known: entries.iter().map(|e| format!("`{}`", id_of(e))).collect::<Vec<_>>().join(", "),
    })
}
