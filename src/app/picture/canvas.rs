//! A picture to paste pictures and captions on.

use crate::play::picture::Picture;
use crate::play::picture::edit::SavePictureError;
use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};
use std::path::Path;

/// An sRGB picture, 8 bit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Canvas {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

impl Canvas {
    /// A picture of one grey.
    #[must_use]
    pub fn new(width: usize, height: usize, grey: u8) -> Self {
        Self { width, height, rgb: vec![grey; 3 * width * height] }
    }

    /// Copies `picture` with its upper left corner at (`left`, `top`); what lies outside is cut.
    pub fn paste(&mut self, picture: &Picture, left: usize, top: usize) {
        for (index, pixel) in picture.rgba.chunks_exact(4).enumerate() {
            let (x, y) = (index % picture.width as usize, index / picture.width as usize);
            if let Some(at) = self.index(left + x, top + y) {
                self.rgb[at..at + 3].copy_from_slice(&pixel[..3]);
            }
        }
    }

    /// Writes one line of text with its upper left corner at (`left`, `top`), `height_px` high, in
    /// a grey. Letters the font lacks are left out.
    pub fn write(&mut self, text: &str, [left, top]: [f32; 2], height_px: f32, grey: u8) {
        // The font of the interface; it parses, or the interface would have none.
        let Ok(font) = FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT) else { return };
        let scaled = font.as_scaled(PxScale::from(height_px));
        let mut x = left;
        let mut last = None;
        for letter in text.chars() {
            let id = font.glyph_id(letter);
            x += last.map_or(0.0, |last| scaled.kern(last, id));
            let glyph: Glyph =
                id.with_scale_and_position(height_px, point(x, top + scaled.ascent()));
            if let Some(outline) = font.outline_glyph(glyph) {
                let corner = outline.px_bounds().min;
                outline.draw(|dx, dy, cover| {
                    let (x, y) = (corner.x + dx as f32, corner.y + dy as f32);
                    if x >= 0.0 && y >= 0.0 {
                        self.blend(x as usize, y as usize, grey, cover);
                    }
                });
            }
            x += scaled.h_advance(id);
            last = Some(id);
        }
    }

    fn blend(&mut self, x: usize, y: usize, grey: u8, cover: f32) {
        let Some(at) = self.index(x, y) else { return };
        for value in &mut self.rgb[at..at + 3] {
            let mixed = f32::from(*value) + (f32::from(grey) - f32::from(*value)) * cover.min(1.0);
            *value = mixed.round() as u8;
        }
    }

    fn index(&self, x: usize, y: usize) -> Option<usize> {
        (x < self.width && y < self.height).then(|| 3 * (y * self.width + x))
    }

    /// Saves it as PNG.
    ///
    /// # Errors
    /// [`SavePictureError`] when the file cannot be written.
    pub fn save_png(&self, path: &Path) -> Result<(), SavePictureError> {
        image::save_buffer_with_format(
            path,
            &self.rgb,
            self.width as u32,
            self.height as u32,
            image::ExtendedColorType::Rgb8,
            image::ImageFormat::Png,
        )
        .map_err(|source| SavePictureError { path: path.to_owned(), source })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_leaves_ink_where_it_should_and_none_elsewhere() {
        let mut canvas = Canvas::new(120, 40, 119);
        canvas.write("Lamp 5 ΔE00", [10.0, 10.0], 16.0, 10);
        let ink = |x: usize, y: usize| canvas.rgb[3 * (y * 120 + x)] < 100;
        let count = |xs: std::ops::Range<usize>, ys: std::ops::Range<usize>| {
            ys.flat_map(|y| xs.clone().map(move |x| (x, y))).filter(|&(x, y)| ink(x, y)).count()
        };
        assert!(count(10..110, 10..28) > 60);
        assert_eq!(count(0..120, 0..9) + count(0..120, 31..40) + count(0..9, 0..40), 0);
        // Writing over the edge cuts.
        canvas.write("outside", [100.0, 35.0], 16.0, 10);
    }

    #[test]
    fn pictures_are_pasted_and_cut() {
        let picture = Picture {
            width: 4,
            height: 4,
            rgba: [200, 100, 50, 255].repeat(16),
            ..Picture::default()
        };
        let mut canvas = Canvas::new(8, 8, 119);
        canvas.paste(&picture, 6, 5);
        assert_eq!(canvas.rgb[3 * (5 * 8 + 6)..][..3], [200, 100, 50]);
        assert_eq!(canvas.rgb[3 * (4 * 8 + 6)..][..3], [119; 3]);
        assert_eq!(canvas.rgb.iter().filter(|v| **v == 200).count(), 2 * 3);
    }
}
