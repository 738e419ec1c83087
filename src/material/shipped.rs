//! The material files that ship with the program, compiled in so that it runs from anywhere.

use super::own::OwnMaterials;
use crate::material::format::Ceramics;
use crate::material::{Library, LibraryError};
use crate::optics::transport::Tables;
use std::path::PathBuf;
use thiserror::Error;

/// `(file name, text)` of the shipped material files.
pub const SHIPPED_FILES: [(&str, &str); 3] = [
    ("ceramics.ron", include_str!("../../assets/materials/ceramics.ron")),
    ("cements.ron", include_str!("../../assets/materials/cements.ron")),
    ("tissues.ron", include_str!("../../assets/materials/tissues.ron")),
];

/// Why the shipped materials could not be read: a fault of the build, not of the user.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ShippedError {
    /// A file is not what its format says.
    #[error("shipped {file}: {source}")]
    Parse {
        /// File name.
        file: &'static str,
        /// Where and why.
        source: Box<ron::error::SpannedError>,
    },
    /// The materials make no library.
    #[error("shipped materials: {0}")]
    Library(#[from] LibraryError),
}

impl Ceramics {
    /// The shipped designed ceramics.
    ///
    /// # Errors
    /// [`ShippedError`] when the file of this build is faulty.
    pub fn shipped() -> Result<Self, ShippedError> {
        parse(0)
    }
}

fn parse<T: serde::de::DeserializeOwned>(index: usize) -> Result<T, ShippedError> {
    let (file, text) = SHIPPED_FILES[index];
    let options =
        ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    options.from_str(text).map_err(|source| ShippedError::Parse { file, source: Box::new(source) })
}

impl Library {
    /// The library of the shipped material files.
    ///
    /// # Errors
    /// [`ShippedError`] when a file of this build is faulty.
    pub fn shipped() -> Result<Self, ShippedError> {
        Self::shipped_with(Tables::shipped())
    }

    /// The same library; tables that do not ship are kept in `folder` once they are solved.
    ///
    /// # Errors
    /// [`ShippedError`] when a file of this build is faulty.
    pub fn shipped_with_cache(folder: impl Into<PathBuf>) -> Result<Self, ShippedError> {
        Self::shipped_with(Tables::shipped().with_cache(folder))
    }

    /// The shipped library with somebody's own materials; tables that do not ship are kept in
    /// `cache`, if one is given.
    ///
    /// # Errors
    /// [`ShippedError`] when a file of this build is faulty or the materials make no library.
    pub fn with_own(own: OwnMaterials, cache: Option<PathBuf>) -> Result<Self, ShippedError> {
        let tables = match cache {
            Some(folder) => Tables::shipped().with_cache(folder),
            None => Tables::shipped(),
        };
        let ceramics = own.ceramics.map_or_else(|| parse(0), Ok)?;
        let cements = own.cements.map_or_else(|| parse(1), Ok)?;
        let tissues = own.tissues.map_or_else(|| parse(2), Ok)?;
        let library = Self::new(ceramics, cements, tissues, tables)?;
        Ok(own.measured.into_iter().fold(library, Self::with_measured))
    }

    fn shipped_with(tables: Tables) -> Result<Self, ShippedError> {
        Ok(Self::new(parse(0)?, parse(1)?, parse(2)?, tables)?)
    }
}
