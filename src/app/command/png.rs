//! Writes pictures as PNG files.

use crate::app::pictures::Picture;
use std::path::Path;

/// Writes `picture` to `path`.
///
/// # Errors
/// A sentence that names the file.
pub fn write(picture: &Picture, path: &Path) -> Result<(), String> {
    image::save_buffer_with_format(
        path,
        &picture.rgba,
        picture.width,
        picture.height,
        image::ColorType::Rgba8,
        image::ImageFormat::Png,
    )
    .map_err(|error| format!("cannot write {}: {error}", path.display()))
}

/// Makes the folder for pictures.
///
/// # Errors
/// A sentence that names the folder.
pub fn make_folder(dir: &Path) -> Result<(), String> {
    std::fs::create_dir_all(dir)
        .map_err(|error| format!("cannot make the folder {}: {error}", dir.display()))
}
