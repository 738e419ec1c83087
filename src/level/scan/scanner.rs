//! Going through a text: where it stands, and what was wrong so far.

/// A file with more mistakes in its notation is not one of ours.
const MAX_SYNTAX_PROBLEMS: usize = 100;

/// A mistake in the notation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::level) struct SyntaxProblem {
    pub offset: usize,
    pub message: String,
    pub help: String,
}

pub(super) struct Scanner<'a> {
    pub text: &'a str,
    pub offset: usize,
    pub depth: usize,
    pub problems: Vec<SyntaxProblem>,
    /// Set when brackets no longer match: from there on nothing can be told apart.
    pub lost: bool,
    pub has_comments: bool,
}

impl Scanner<'_> {
    pub fn rest(&self) -> &str {
        &self.text[self.offset..]
    }

    pub fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    pub fn bump(&mut self) {
        self.offset += self.peek().map_or(0, char::len_utf8);
    }

    pub fn report(&mut self, offset: usize, message: impl Into<String>, help: impl Into<String>) {
        if self.lost {
            return;
        }
        self.problems.push(SyntaxProblem { offset, message: message.into(), help: help.into() });
        if self.problems.len() >= MAX_SYNTAX_PROBLEMS {
            self.lost = true;
            self.offset = self.text.len();
        }
    }

    pub fn line_of(&self, offset: usize) -> usize {
        self.text[..offset].bytes().filter(|byte| *byte == b'\n').count() + 1
    }

    /// Gives up: reports, and lets every open bracket return without further reports.
    pub fn lose(&mut self, offset: usize, message: impl Into<String>, help: impl Into<String>) {
        self.report(offset, message, help);
        self.lost = true;
        self.offset = self.text.len();
    }
}
