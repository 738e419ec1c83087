//! Blanks, comments, texts, numbers and words.

use super::super::tree::Kind;
use super::Scanner;

impl Scanner<'_> {
    /// Skips blanks and comments.
    pub(super) fn skip_blanks(&mut self) {
        loop {
            let rest = self.rest();
            let blank = rest.len() - rest.trim_start().len();
            if blank > 0 {
                self.offset += blank;
            } else if rest.starts_with("//") {
                self.offset += rest.find('\n').unwrap_or(rest.len());
                self.has_comments = true;
            } else if rest.starts_with("/*") {
                self.skip_block_comment();
            } else {
                return;
            }
        }
    }

    fn skip_block_comment(&mut self) {
        self.has_comments = true;
        let start = self.offset;
        let mut depth = 0_usize;
        loop {
            let rest = self.rest();
            if rest.starts_with("/*") {
                depth += 1;
                self.offset += 2;
            } else if rest.starts_with("*/") {
                depth -= 1;
                self.offset += 2;
                if depth == 0 {
                    return;
                }
            } else if rest.is_empty() {
                let help = "end the comment with `*/`";
                return self.lose(start, "the comment that starts here has no end", help);
            } else {
                self.bump();
            }
        }
    }

    pub(super) fn number(&mut self) -> Kind {
        self.bump();
        let mut previous = '0';
        while let Some(c) = self.peek() {
            let sign_of_exponent = matches!(c, '+' | '-') && matches!(previous, 'e' | 'E');
            if !(c.is_ascii_alphanumeric() || matches!(c, '_' | '.') || sign_of_exponent) {
                break;
            }
            previous = c;
            self.bump();
        }
        Kind::Number
    }

    pub(super) fn string(&mut self, start: usize) -> Kind {
        self.bump();
        loop {
            match self.peek() {
                None => {
                    let help = "end the text with `\"`; inside a text write `\\\"`";
                    self.lose(start, "the text that starts here has no end", help);
                    return Kind::Broken;
                }
                Some('"') => {
                    self.bump();
                    return self.text_over_lines(start).unwrap_or(Kind::Text);
                }
                Some('\\') => {
                    self.bump();
                    self.bump();
                }
                Some(_) => self.bump(),
            }
        }
    }

    /// A text over several lines that nothing follows which could follow a value ran into the next
    /// text: its own end is missing. Goes on after its line, or gives up where brackets may have
    /// closed in it.
    fn text_over_lines(&mut self, start: usize) -> Option<Kind> {
        let line = self.text[start..self.offset].lines().next()?.trim_end();
        if start + line.len() >= self.offset {
            return None;
        }
        let next = self.rest().trim_start().chars().next();
        if next.is_none_or(|c| matches!(c, ',' | ')' | ']' | '}' | ':' | '/')) {
            return None;
        }
        let message = "the text that starts here has no end in its line";
        let help = "end the text with `\"`; inside a text write `\\\"`";
        let value = line.strip_suffix(',').unwrap_or(line);
        if value.ends_with([')', ']', '}']) {
            self.lose(start, message, help);
        } else {
            self.report(start, message, help);
            self.offset = start + value.len();
        }
        Some(Kind::Broken)
    }

    pub(super) fn raw_string(&mut self, start: usize) -> Kind {
        let (prefix, hashes) = raw_string_hashes(self.rest()).unwrap_or((0, 0));
        self.offset += prefix + hashes + 1;
        let end = format!("\"{}", "#".repeat(hashes));
        if let Some(length) = self.rest().find(&end) {
            self.offset += length + end.len();
            return Kind::Text;
        }
        self.lose(start, "the text that starts here has no end", format!("end it with `{end}`"));
        Kind::Broken
    }

    pub(super) fn character(&mut self, start: usize) -> Kind {
        self.bump();
        let length = self
            .rest()
            .char_indices()
            .skip(1)
            .take(10)
            .find(|(at, c)| *c == '\'' && !(*at == 1 && self.rest().starts_with('\\')));
        if let Some((at, _)) = length {
            self.offset += at + 1;
            return Kind::Char;
        }
        self.report(start, "`'` does not start a value", "write texts in double quotes: \"text\"");
        self.skip_to_separator();
        Kind::Broken
    }

    pub(super) fn word(&mut self) -> String {
        if self.rest().starts_with("r#") {
            self.offset += 2;
        }
        let start = self.offset;
        // `ron` allows `-`, `+` and `.` only after `r#`; reading them here gives one clear
        // complaint about the word instead of several about its pieces.
        while self.peek().is_some_and(|c| is_word_part(c) || matches!(c, '-' | '.' | '+')) {
            self.bump();
        }
        self.text[start..self.offset].to_owned()
    }
}

pub(super) fn is_word_start(c: char) -> bool {
    c == '_' || c.is_alphabetic()
}

fn is_word_part(c: char) -> bool {
    c == '_' || c.is_alphanumeric()
}

/// For text that starts a raw string, the length of its `r` or `br` and the number of hashes.
pub(super) fn raw_string_hashes(text: &str) -> Option<(usize, usize)> {
    let prefix = if text.starts_with("br") { 2 } else { usize::from(text.starts_with('r')) };
    let after = text.get(prefix..).filter(|_| prefix > 0)?;
    let hashes = after.len() - after.trim_start_matches('#').len();
    after[hashes..].starts_with('"').then_some((prefix, hashes))
}
