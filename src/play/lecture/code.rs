//! The page's address as a QR code (ISO/IEC 18004).

use qrcode::{Color, EcLevel, QrCode};

/// A square of dark and light modules, without its quiet zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Code {
    /// Modules along each edge.
    pub width: usize,
    /// Row by row, `true` for dark.
    pub dark: Vec<bool>,
}

/// The code of a text; `None` where it is too long for one.
#[must_use]
pub fn code_of(text: &str) -> Option<Code> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let dark = code.to_colors().into_iter().map(|color| color == Color::Dark).collect();
    Some(Code { width: code.width(), dark })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_fits_a_small_code_with_its_three_finders() {
        let code = code_of("http://192.168.100.200:7878/?code=KM2P7").unwrap();
        assert!(code.width <= 29, "{}", code.width);
        // ISO/IEC 18004: a finder is seven dark modules along its edge, in three of four corners.
        let row = |y: usize, from: usize| (from..from + 7).all(|x| code.dark[y * code.width + x]);
        let last = code.width - 7;
        assert!(row(0, 0) && row(0, last) && row(last, 0));
        assert!(!row(last, last));
        assert_eq!(code_of(&"x".repeat(5000)), None);
    }
}
