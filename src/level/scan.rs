//! Scans RON text into a tree whose every node knows where it stands.
//!
//! The `ron` crate stays the judge of what a file means, but it keeps no positions of values and
//! stops at the first mistake. This tree says where things are and goes on after small slips, so
//! that one run reports all of them. Values themselves are still decoded by `ron`.

mod scanner;
mod tokens;

use super::tree::{Field, Kind, Node};
use scanner::{Scanner, SyntaxProblem};
use std::ops::Range;
use tokens::{is_word_start, raw_string_hashes};

/// Deeper nesting than any file of ours needs, and far from exhausting the stack.
const MAX_DEPTH: usize = 64;

/// What scanning found.
#[derive(Debug)]
pub(super) struct Scan {
    /// The root value; `None` when the text holds none.
    pub root: Option<Node>,
    pub problems: Vec<SyntaxProblem>,
    /// Whether the scanner reached the end knowing what belongs where. When it did not, parts of
    /// the tree are missing for reasons already reported.
    pub complete: bool,
    /// Whether there was a comment.
    pub has_comments: bool,
}

/// Scans a text. Never fails: what cannot be read is reported in the result.
pub(super) fn scan(text: &str) -> Scan {
    let mut scanner = Scanner {
        text,
        offset: 0,
        depth: 0,
        problems: Vec::new(),
        lost: false,
        has_comments: false,
    };
    scanner.attributes();
    let root = if scanner.at_end() { None } else { Some(scanner.value()) };
    if root.is_some() && !scanner.lost && !scanner.at_end() {
        scanner.report(
            scanner.offset,
            "there is text after the end of the value",
            "a file holds one value: remove what follows its closing `)`",
        );
    }
    Scan {
        root,
        problems: scanner.problems,
        complete: !scanner.lost,
        has_comments: scanner.has_comments,
    }
}

impl Scanner<'_> {
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
                    self.report(end, "a comma is missing here", "put `,` between the values");
                }
            }
            debug_assert!(self.offset > before_blanks, "every round reads something");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r##"
        #![enable(implicit_some)]
        Level( // line ( comment
            text: "a \" ) b", raw: r#"x " ] y"#, char: ')', quote: '\'',
            /* block /* nested ) */ comment */
            numbers: (-1.5e-3, 0x1F, 1_000, .5),
            list: [(a: 1), (a: [2, 3]),],
            word: r#LED-B3, option: Some((b: None)), unit: (), map: { "k": [1], 2: 3 },
        )
    "##;

    fn at<'a>(root: &Node, path: &str) -> &'a str {
        &TEXT[root.find(path).unwrap().span.clone()]
    }

    #[test]
    fn every_construct_keeps_its_place() {
        let scan = scan(TEXT);
        assert_eq!(scan.problems, []);
        assert!(scan.complete);
        let root = scan.root.unwrap();
        assert_eq!(root.name(), Some("Level"));
        for (path, text) in [
            ("text", r#""a \" ) b""#),
            ("raw", r##"r#"x " ] y"#"##),
            ("char", "')'"),
            ("quote", r"'\''"),
            ("numbers[0]", "-1.5e-3"),
            ("numbers[3]", ".5"),
            ("list[0].a", "1"),
            ("list[1].a[1]", "3"),
            ("word", "r#LED-B3"),
            // `Some` is looked through.
            ("option.b", "None"),
            ("unit", "()"),
            ("map", r#"{ "k": [1], 2: 3 }"#),
        ] {
            assert_eq!(at(&root, path), text, "{path}");
        }
        for missing in ["x", "list[2]", "list.a", "text[0]", "list[x]", "numbers[-1]"] {
            assert_eq!(root.find(missing), None, "{missing}");
        }
    }

    #[test]
    fn slips_are_reported_and_passed_over() {
        for (text, messages) in [
            ("A(x: 1 y: 2)", vec!["a comma is missing here"]),
            ("A(x = 1, y: 2)", vec!["`=` after the field name `x`"]),
            (
                "A(x: , y 2)",
                vec!["a value is missing here", "`:` is missing after the field name `y`"],
            ),
            ("A(1, y: 2)", vec!["this value has no field name"]),
            ("A(x: ;, y: 2)", vec!["`;` does not start a value"]),
            ("A(y: 2) B", vec!["there is text after the end of the value"]),
        ] {
            let scan = scan(text);
            let found: Vec<&str> = scan.problems.iter().map(|p| p.message.as_str()).collect();
            assert_eq!(found, messages, "{text}");
            assert!(scan.complete);
            assert!(scan.root.unwrap().find("y").is_some(), "{text} lost y");
        }
    }

    #[test]
    fn what_never_ends_is_reported_where_it_starts() {
        for (text, offset) in
            [("A(x: [1, 2", 5), ("A(x: \"1)", 5), ("A(x: r#\"1\")", 5), ("A(/* 1)", 2), ("A(1", 1)]
        {
            let scan = scan(text);
            assert!(!scan.complete);
            let offsets: Vec<usize> = scan.problems.iter().map(|p| p.offset).collect();
            assert_eq!(offsets, [offset], "{text}");
        }
    }
}
