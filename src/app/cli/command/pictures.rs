//! Pictures of cases as files.

use crate::app::cli::arguments::Draw;
use crate::app::picture::viewport::error::RendererError;
use crate::play::content::ContentError;
use crate::play::picture::Picture;
use crate::play::picture::edit::{SavePictureError, save_png, value_only};
use crate::scene::Case;
use std::path::{Path, PathBuf};

/// Puts a case into the light, the frame and before the lamp that were asked for.
pub(crate) fn stage(case: &mut Case, arguments: &Draw) {
    case.illuminant = arguments.light.map_or(case.illuminant, Into::into);
    case.staging.framing = arguments.framing.map_or(case.staging.framing, Into::into);
    case.staging.lamp = arguments.lamp.map_or(case.staging.lamp, Into::into);
}

/// What to tell after drawing.
pub(crate) fn written(count: usize, to: &Path) -> String {
    format!("{count} pictures in {}", crate::printable::path(to))
}

/// Saves a picture in colour and value-only under `name` in `dir`, which is made only now that there
/// is something to put into it. Returns the number of files.
pub(crate) fn save_both(picture: &Picture, dir: &Path, name: &str) -> Result<usize, DrawError> {
    std::fs::create_dir_all(dir)
        .map_err(|source| DrawError::Folder { path: dir.to_owned(), source })?;
    save_png(picture, &dir.join(format!("{name}.png")))?;
    save_png(&value_only(picture), &dir.join(format!("{name}-value.png")))?;
    Ok(2)
}

/// Why pictures cannot be made.
#[derive(Debug, thiserror::Error)]
pub(crate) enum DrawError {
    /// There is nothing to draw with, or it failed.
    #[error(transparent)]
    Renderer(#[from] RendererError),
    /// The smile cannot be computed.
    #[error(transparent)]
    Content(#[from] ContentError),
    /// The folder cannot be made.
    #[error("cannot make the folder {}: {source}", crate::printable::path(path))]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// Patches only.
    #[error("these questions have no smiles to draw, only patches")]
    NoSmiles,
    /// A file cannot be written.
    #[error(transparent)]
    File(#[from] SavePictureError),
}
