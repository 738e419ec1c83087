//! Scans RON text into a tree whose every node knows where it stands.
//!
//! The `ron` crate stays the judge of what a file means, but it keeps no positions of values and
//! stops at the first mistake. This tree says where things are and goes on after small slips, so
//! that one run reports all of them. Values themselves are still decoded by `ron`.

use std::ops::Range;

/// Deeper nesting than any file of ours needs, and far from exhausting the stack.
const MAX_DEPTH: usize = 64;

/// A file with more mistakes in its notation is not one of ours.
const MAX_SYNTAX_PROBLEMS: usize = 100;

/// One value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    /// Byte range of the whole value, its name included.
    pub span: Range<usize>,
    pub kind: Kind,
}

/// What a value looks like, before anyone says what it should be.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Kind {
    Number,
    Text,
    Char,
    /// A bare word: `true`, `None`, `D65`.
    Word(String),
    /// `Name(field: value, …)` or `(field: value, …)`.
    Fields {
        name: Option<String>,
        fields: Vec<Field>,
    },
    /// `Name(value, …)` or `(value, …)`.
    Tuple {
        name: Option<String>,
        items: Vec<Node>,
    },
    /// `[value, …]`.
    List(Vec<Node>),
    /// `{key: value, …}`.
    Map,
    /// Something that could not be read and was already reported.
    Broken,
}

/// A named value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Field {
    pub name: String,
    /// Byte range of the name.
    pub span: Range<usize>,
    pub value: Node,
}

/// A mistake in the notation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SyntaxProblem {
    pub offset: usize,
    pub message: String,
    pub help: String,
}

/// What scanning found.
#[derive(Debug)]
pub(super) struct Scan {
    /// The root value; `None` when the text holds none.
    pub root: Option<Node>,
    pub problems: Vec<SyntaxProblem>,
    /// Whether the scanner reached the end knowing what belongs where. When it did not, parts of
    /// the tree are missing for reasons already reported.
    pub complete: bool,
}

/// Scans a text. Never fails: what cannot be read is reported in the result.
pub(super) fn scan(text: &str) -> Scan {
    let mut scanner = Scanner { text, offset: 0, depth: 0, problems: Vec::new(), lost: false };
    scanner.attributes();
    let root = if scanner.at_end() { None } else { Some(scanner.value()) };
    if root.is_some() && !scanner.lost && !scanner.at_end() {
        scanner.report(
            scanner.offset,
            "there is text after the end of the value",
            "a file holds one value: remove what follows its closing `)`",
        );
    }
    Scan { root, problems: scanner.problems, complete: !scanner.lost }
}

impl Node {
    /// The name in front of the brackets, or the bare word.
    pub fn name(&self) -> Option<&str> {
        match &self.kind {
            Kind::Fields { name, .. } | Kind::Tuple { name, .. } => name.as_deref(),
            Kind::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The node itself, or what `Some(…)` wraps.
    pub fn unwrapped(&self) -> &Self {
        match &self.kind {
            Kind::Tuple { name: Some(name), items } if name == "Some" && items.len() == 1 => {
                items[0].unwrapped()
            }
            _ => self,
        }
    }

    /// Whether part of the node could not be read.
    pub fn has_broken(&self) -> bool {
        match &self.kind {
            Kind::Broken => true,
            Kind::Fields { fields, .. } => fields.iter().any(|field| field.value.has_broken()),
            Kind::Tuple { items, .. } | Kind::List(items) => items.iter().any(Self::has_broken),
            Kind::Number | Kind::Text | Kind::Char | Kind::Word(_) | Kind::Map => false,
        }
    }

    /// The node at a path such as `restorations[2].thickness_mm.neck_mm`; the empty path is the
    /// node itself. Values of tuples are numbered like those of lists.
    pub fn find(&self, path: &str) -> Option<&Self> {
        let mut node = self.unwrapped();
        for step in path.split(['.', '[']).filter(|step| !step.is_empty()) {
            node = match (step.strip_suffix(']'), &node.kind) {
                (Some(index), Kind::List(items) | Kind::Tuple { items, .. }) => {
                    items.get(index.parse::<usize>().ok()?)?
                }
                (None, Kind::Fields { fields, .. }) => {
                    &fields.iter().find(|field| field.name == step)?.value
                }
                _ => return None,
            }
            .unwrapped();
        }
        Some(node)
    }
}

struct Scanner<'a> {
    text: &'a str,
    offset: usize,
    depth: usize,
    problems: Vec<SyntaxProblem>,
    /// Set when brackets no longer match: from there on nothing can be told apart.
    lost: bool,
}

impl Scanner<'_> {
    fn rest(&self) -> &str {
        &self.text[self.offset..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn bump(&mut self) {
        self.offset += self.peek().map_or(0, char::len_utf8);
    }

    fn report(&mut self, offset: usize, message: impl Into<String>, help: impl Into<String>) {
        if self.lost {
            return;
        }
        self.problems.push(SyntaxProblem { offset, message: message.into(), help: help.into() });
        if self.problems.len() >= MAX_SYNTAX_PROBLEMS {
            self.lost = true;
            self.offset = self.text.len();
        }
    }

    fn line_of(&self, offset: usize) -> usize {
        self.text[..offset].bytes().filter(|byte| *byte == b'\n').count() + 1
    }

    /// Gives up: reports, and lets every open bracket return without further reports.
    fn lose(&mut self, offset: usize, message: impl Into<String>, help: impl Into<String>) {
        self.report(offset, message, help);
        self.lost = true;
        self.offset = self.text.len();
    }

    /// Skips blanks and comments.
    fn skip_blanks(&mut self) {
        loop {
            let rest = self.rest();
            let blank = rest.len() - rest.trim_start().len();
            if blank > 0 {
                self.offset += blank;
            } else if rest.starts_with("//") {
                self.offset += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                self.skip_block_comment();
            } else {
                return;
            }
        }
    }

    fn skip_block_comment(&mut self) {
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

    fn at_end(&mut self) -> bool {
        self.skip_blanks();
        self.rest().is_empty()
    }

    /// Skips `#![enable(…)]` lines, which `ron` understands.
    fn attributes(&mut self) {
        self.skip_blanks();
        while self.rest().starts_with("#![") {
            self.offset += self.rest().find(']').map_or(self.rest().len(), |end| end + 1);
            self.skip_blanks();
        }
    }

    fn value(&mut self) -> Node {
        self.skip_blanks();
        let start = self.offset;
        if self.depth >= MAX_DEPTH {
            let message = format!("brackets are nested more than {MAX_DEPTH} deep");
            self.lose(start, message, "no level or material needs that: simplify the file");
            return Node { span: start..start, kind: Kind::Broken };
        }
        self.depth += 1;
        let kind = self.value_kind(start);
        self.depth -= 1;
        Node { span: start..self.offset, kind }
    }

    fn value_kind(&mut self, start: usize) -> Kind {
        let rest = self.rest();
        match self.peek() {
            Some('(') => self.parenthesised(None),
            Some('[') => Kind::List(self.list()),
            Some('{') => self.map(),
            Some('"') => self.string(start),
            Some('\'') => self.character(start),
            Some(c) if c.is_ascii_digit() || matches!(c, '+' | '-' | '.') => self.number(),
            Some('r' | 'b') if raw_string_hashes(rest).is_some() => self.raw_string(start),
            Some('b') if rest.starts_with("b\"") => {
                self.bump();
                self.string(start)
            }
            Some('b') if rest.starts_with("b'") => {
                self.bump();
                self.character(start)
            }
            Some(c) if is_word_start(c) => {
                let word = self.word();
                self.skip_blanks_before('(');
                if self.peek() == Some('(') {
                    self.parenthesised(Some(word))
                } else {
                    Kind::Word(word)
                }
            }
            _ => self.not_a_value(),
        }
    }

    /// Skips blanks only when `wanted` follows them, so that spans end where values end.
    fn skip_blanks_before(&mut self, wanted: char) {
        let (offset, problems, lost) = (self.offset, self.problems.len(), self.lost);
        self.skip_blanks();
        if self.peek() != Some(wanted) {
            self.problems.truncate(problems);
            (self.offset, self.lost) = (offset, lost);
        }
    }

    fn not_a_value(&mut self) -> Kind {
        let offset = self.offset;
        match self.peek() {
            None => self.lose(offset, "the file ends where a value should be", "finish the file"),
            Some(',' | ')' | ']' | '}') => {
                self.report(offset, "a value is missing here", "write the value");
            }
            Some(c) => {
                self.report(
                    offset,
                    format!("`{c}` does not start a value"),
                    "write a number, a \"text\", a word, `( … )` or `[ … ]`",
                );
                self.skip_to_separator();
            }
        }
        Kind::Broken
    }

    /// Skips to the comma or closing bracket that ends a part that cannot be read.
    fn skip_to_separator(&mut self) {
        while let Some(c) = self.peek() {
            if matches!(c, ',' | ')' | ']' | '}' | '\n') {
                return;
            }
            self.bump();
        }
    }

    fn number(&mut self) -> Kind {
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

    fn string(&mut self, start: usize) -> Kind {
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
                    return Kind::Text;
                }
                Some('\\') => {
                    self.bump();
                    self.bump();
                }
                Some(_) => self.bump(),
            }
        }
    }

    fn raw_string(&mut self, start: usize) -> Kind {
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

    fn character(&mut self, start: usize) -> Kind {
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

    fn word(&mut self) -> String {
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

    /// The name of a field, when a word and a colon follow.
    fn field_name(&mut self) -> Option<(String, Range<usize>)> {
        self.skip_blanks();
        let start = self.offset;
        if !self.peek().is_some_and(is_word_start) || raw_string_hashes(self.rest()).is_some() {
            return None;
        }
        let name = self.word();
        let end = self.offset;
        self.skip_blanks();
        match self.peek() {
            Some(':') => self.bump(),
            Some('=') => {
                let help = format!("write `{name}: …`");
                self.report(self.offset, format!("`=` after the field name `{name}`"), help);
                self.bump();
            }
            // A word and then a value: the colon was forgotten.
            Some(c) if c.is_ascii_digit() || matches!(c, '"' | '[' | '{' | '-') => {
                let help = format!("write `{name}: …`");
                self.report(end, format!("`:` is missing after the field name `{name}`"), help);
            }
            _ => {
                self.offset = start;
                return None;
            }
        }
        Some((name, start..end))
    }

    fn parenthesised(&mut self, name: Option<String>) -> Kind {
        let open = self.offset;
        let (mut fields, mut items) = (Vec::new(), Vec::new());
        self.sequence(open, ')', |scanner| {
            if let Some((name, span)) = scanner.field_name() {
                let value = scanner.value();
                fields.push(Field { name, span, value });
            } else {
                items.push(scanner.value());
            }
        });
        if fields.is_empty() {
            return Kind::Tuple { name, items };
        }
        for item in items.iter().filter(|item| item.kind != Kind::Broken) {
            let help = "write `name: value` for every value in these brackets";
            self.report(item.span.start, "this value has no field name", help);
        }
        Kind::Fields { name, fields }
    }

    fn list(&mut self) -> Vec<Node> {
        let mut items = Vec::new();
        let open = self.offset;
        self.sequence(open, ']', |scanner| {
            let (offset, problems) = (scanner.offset, scanner.problems.len());
            if let Some((name, span)) = scanner.field_name() {
                scanner.problems.truncate(problems);
                let line = scanner.line_of(open);
                let message = format!(
                    "the list opened in line {line} is not closed before the field `{name}`"
                );
                scanner.lose(span.start, message, "close it with `]` first");
            } else {
                scanner.offset = offset;
                items.push(scanner.value());
            }
        });
        items
    }

    fn map(&mut self) -> Kind {
        self.sequence(self.offset, '}', |scanner| {
            scanner.value();
            scanner.skip_blanks();
            if scanner.peek() == Some(':') {
                scanner.bump();
                scanner.value();
            }
        });
        Kind::Map
    }

    /// Reads items up to the closing bracket of the opening one at `open`.
    fn sequence(&mut self, open: usize, close: char, mut item: impl FnMut(&mut Self)) {
        self.bump();
        loop {
            let before_blanks = self.offset;
            self.skip_blanks();
            let opening = self.text[open..].chars().next().unwrap_or(close);
            match self.peek() {
                None => {
                    let message = format!("the `{opening}` that opens here is never closed");
                    return self.lose(open, message, format!("add the missing `{close}`"));
                }
                Some(c) if c == close => {
                    self.bump();
                    return;
                }
                Some(c @ (')' | ']' | '}')) => {
                    let line = self.line_of(open);
                    let message =
                        format!("`{c}` does not close the `{opening}` opened in line {line}");
                    return self.lose(
                        self.offset,
                        message,
                        format!("close it with `{close}` first"),
                    );
                }
                Some(',') => {
                    self.report(self.offset, "there is a comma too many", "remove this comma");
                    self.bump();
                    continue;
                }
                Some(_) => {}
            }
            let start = self.offset;
            item(self);
            let end = self.offset;
            if end == start && !self.lost {
                // Nothing was read; step over what stands there so that the loop ends.
                self.bump();
            }
            self.skip_blanks();
            match self.peek() {
                Some(',') => self.bump(),
                Some(c) if c == close => {}
                Some(')' | ']' | '}') | None => {}
                Some(_) => {
                    self.report(end, "a comma is missing here", "put `,` between the values")
                }
            }
            debug_assert!(self.offset > before_blanks, "every round reads something");
        }
    }
}

fn is_word_start(c: char) -> bool {
    c == '_' || c.is_alphabetic()
}

fn is_word_part(c: char) -> bool {
    c == '_' || c.is_alphanumeric()
}

/// For text that starts a raw string, the length of its `r` or `br` and the number of hashes.
fn raw_string_hashes(text: &str) -> Option<(usize, usize)> {
    let prefix = if text.starts_with("br") { 2 } else { usize::from(text.starts_with('r')) };
    let after = text.get(prefix..).filter(|_| prefix > 0)?;
    let hashes = after.len() - after.trim_start_matches('#').len();
    after[hashes..].starts_with('"').then_some((prefix, hashes))
}
