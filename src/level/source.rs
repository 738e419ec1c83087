//! A text and where its lines begin.

use super::diagnostic::{Diagnostic, Position, Severity};
use std::path::PathBuf;

/// The byte-order mark that some editors put in front of UTF-8.
const BYTE_ORDER_MARK: char = '\u{feff}';

/// A named text.
#[derive(Debug)]
pub(super) struct Source {
    pub file: PathBuf,
    /// The text without a byte-order mark.
    pub text: String,
}

impl Source {
    pub fn new(file: impl Into<PathBuf>, text: &str) -> Self {
        let text = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
        Self { file: file.into(), text: text.to_owned() }
    }

    /// Line and column of a byte offset; an offset past the end is the end.
    pub fn position(&self, offset: usize) -> Position {
        let offset = self.text.floor_char_boundary(offset);
        let before = &self.text[..offset];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Position {
            line: before.bytes().filter(|byte| *byte == b'\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
        }
    }

    pub fn diagnostic(
        &self,
        severity: Severity,
        offset: usize,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Diagnostic {
        Diagnostic {
            file: self.file.clone(),
            position: Some(self.position(offset)),
            severity,
            message: message.into(),
            help: help.into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn positions_count_characters_from_one() {
        let source = Source::new("x", "\u{feff}ab\r\nΔE = 1\n");
        let at = |needle: char| {
            let position = source.position(source.text.find(needle).unwrap());
            (position.line, position.column)
        };
        assert_eq!(at('a'), (1, 1));
        assert_eq!(at('E'), (2, 2));
        assert_eq!(at('1'), (2, 6));
        assert_eq!(source.position(usize::MAX), Position { line: 3, column: 1 });
    }

    #[test]
    fn an_offset_inside_a_character_does_not_panic() {
        let source = Source::new("x", "Δ");
        assert_eq!(source.position(1), Position { line: 1, column: 1 });
    }
}
