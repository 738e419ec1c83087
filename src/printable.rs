//! Names and texts from outside, made fit to be printed.
//!
//! A file name, a learner's id or a course's name may hold anything: characters that move a
//! terminal's cursor or recolour it, line breaks that begin a line of their own, marks that turn
//! the direction of writing. Whatever this program prints of them goes through here first.

use std::borrow::Cow;
use std::fmt::Write;
use std::path::Path;

/// The longest text that is repeated whole, characters: long names are cut, paths are not.
const LONGEST: usize = 160;

/// Whether a character changes how others are shown instead of being shown itself.
const fn acts(c: char) -> bool {
    matches!(
        c,
        '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}'
            // Direction marks, embeddings, overrides and isolates; line and paragraph separators.
            | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

fn escaped(text: &str, acts: impl Fn(char) -> bool) -> Cow<'_, str> {
    if !text.contains(&acts) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if acts(c) {
            // Writing to memory does not fail.
            let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// A name from outside in one line: characters that act on the terminal are written as
/// `\u{1b}`, and what is longer than 160 characters is cut.
#[must_use]
pub fn printable(text: &str) -> Cow<'_, str> {
    match text.char_indices().nth(LONGEST) {
        None => escaped(text, acts),
        Some((end, _)) => Cow::Owned(format!("{}…", escaped(&text[..end], acts))),
    }
}

/// As [`printable`], but whole: for what this program says about a name.
#[must_use]
pub fn one_line(text: &str) -> Cow<'_, str> {
    escaped(text, acts)
}

/// Whether a text is shown as it is.
#[must_use]
pub fn is_printable(text: &str) -> bool {
    !text.contains(acts)
}

/// A path in one line, whole; bytes that are no text are shown as `\u{fffd}`.
#[must_use]
pub fn path(path: &Path) -> String {
    one_line(&path.to_string_lossy()).into_owned()
}

/// A text of several lines, such as a message of this program about somebody's file: line breaks
/// and tabs stay.
#[must_use]
pub fn lines(text: &str) -> Cow<'_, str> {
    escaped(text, |c| acts(c) && c != '\n' && c != '\t')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_acts_on_a_terminal_is_written_out() {
        assert_eq!(printable("L78 C14 h88, 3 µm, naïve"), "L78 C14 h88, 3 µm, naïve");
        // ISO 6429: escape begins a control sequence, also as the single character 9B.
        assert_eq!(printable("a\u{1b}[2Jb\u{9b}31m"), "a\\u{1b}[2Jb\\u{9b}31m");
        assert_eq!(printable("good\nrefused: other"), "good\\u{a}refused: other");
        // Unicode Standard Annex 9: a right-to-left override turns what follows.
        assert_eq!(printable("x\u{202e}nidnah.exe"), "x\\u{202e}nidnah.exe");
        assert_eq!(lines("one\n\ttwo\r\u{7}"), "one\n\ttwo\\u{d}\\u{7}");
        assert_eq!(path(Path::new("a\u{1b}c/x.handin")), "a\\u{1b}c/x.handin");
        assert!(is_printable(&"é".repeat(500)) && !is_printable("a\nb"));
        let long = printable(&"é".repeat(500)).into_owned();
        assert_eq!(long.chars().count(), LONGEST + 1);
    }
}
