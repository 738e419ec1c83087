//! One value of the tree as it is read: what stands there, and what was wrong with it.

use crate::level::format::ron_options;
use crate::level::tree::{Field, Kind, Node};
use serde::de::{self, DeserializeOwned};
use std::cell::RefCell;
use std::fmt;
use std::ops::Range;

/// Problems kept per file; more would not be read by anyone.
pub(in crate::level) const MAX_PROBLEMS: usize = 200;

/// A value that is not what its place calls for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::level) struct ShapeProblem {
    /// Where to point.
    pub offset: usize,
    /// The part of the file that holds no usable value because of it; empty when only something
    /// beside it is wrong.
    pub unusable: Range<usize>,
    /// For a missing field, the struct that should have it.
    pub absent_from: Option<Range<usize>>,
    pub message: String,
    pub help: String,
}

pub(super) struct Context<'a> {
    pub text: &'a str,
    pub problems: RefCell<Vec<ShapeProblem>>,
}

impl Context<'_> {
    fn push(&self, problem: ShapeProblem) {
        let mut problems = self.problems.borrow_mut();
        if problems.len() < MAX_PROBLEMS {
            problems.push(problem);
        }
    }

    pub fn report(
        &self,
        offset: usize,
        unusable: Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        let (message, help) = (message.into(), help.into());
        self.push(ShapeProblem { offset, unusable, absent_from: None, message, help });
    }

    fn report_absent(&self, owner: &Node, name: &str) {
        let of = owner.name().map_or_else(String::new, |owner| format!(" of `{owner}`"));
        let start = owner.span.start;
        self.push(ShapeProblem {
            offset: start,
            unusable: start..start,
            absent_from: Some(owner.span.clone()),
            message: format!("field `{name}`{of} is missing"),
            help: format!("add `{name}: …`"),
        });
    }
}

/// What stands where a value is wanted.
#[derive(Clone, Copy)]
pub(super) enum State<'a> {
    Present(&'a Node),
    /// A field that the struct starting here does not have. Options take it for `None`, anything
    /// else reports it.
    Absent {
        owner: &'a Node,
    },
    /// A stand-in below something already reported.
    Placeholder,
}

/// Reads one value.
#[derive(Clone, Copy)]
pub(super) struct Reader<'a> {
    pub context: &'a Context<'a>,
    pub state: State<'a>,
    /// Field name for messages; empty for the root and for items.
    pub name: &'a str,
}

/// The only way a read stops early: a type refused a value of the right shape.
#[derive(Debug)]
pub(super) struct Stop(pub(super) String);

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl de::Error for Stop {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self(message.to_string())
    }
}

impl<'a> Reader<'a> {
    pub fn child(self, node: &'a Node, name: &'a str) -> Self {
        Self { state: State::Present(node), name, ..self }
    }

    pub fn placeholder(self) -> Self {
        Self { state: State::Placeholder, ..self }
    }

    /// The node, if there is one that was not already reported; says so when it is missing.
    pub fn node(self) -> Option<&'a Node> {
        match self.state {
            State::Present(node) if node.kind == Kind::Broken => None,
            State::Present(node) => Some(node.unwrapped()),
            State::Absent { owner } => {
                self.context.report_absent(owner, self.name);
                None
            }
            State::Placeholder => None,
        }
    }

    /// Reports that `node` should be `wanted`.
    pub fn mismatch(self, node: &Node, wanted: &str, help: impl Into<String>) {
        let of = if self.name.is_empty() { String::new() } else { format!("`{}` is ", self.name) };
        let found = describe(self.context.text, node);
        let message = if of.is_empty() {
            format!("{found} where {wanted} should be")
        } else {
            format!("{of}{found}, but should be {wanted}")
        };
        self.context.report(node.span.start, node.span.clone(), message, help);
    }

    /// Decodes a number, word or text by `ron`, or reports and stands in `fallback`.
    pub fn leaf<T: DeserializeOwned>(self, wanted: &str, help: &str, fallback: T) -> T {
        let Some(node) = self.node() else { return fallback };
        if matches!(node.kind, Kind::Number | Kind::Text | Kind::Char | Kind::Word(_))
            && let Ok(value) = ron_options().from_str(&self.context.text[node.span.clone()])
        {
            return value;
        }
        self.mismatch(node, wanted, help);
        fallback
    }

    /// Checks the optional name in front of brackets.
    pub fn check_name(self, node: &Node, wanted: &str) {
        let Some(found) = node.name().filter(|found| *found != wanted) else { return };
        let start = node.span.start;
        self.context.report(
            start,
            start..start + found.len(),
            format!("`{found}` where `{wanted}` should be"),
            format!("write `{wanted}(…)` or leave the name out"),
        );
    }

    /// The fields of a struct, or `None` after reporting that it is something else.
    pub fn fields(self, wanted: &str) -> Option<(&'a Node, &'a [Field])> {
        let node = self.node()?;
        match &node.kind {
            Kind::Fields { fields, .. } => Some((node, fields)),
            Kind::Tuple { items, .. } if items.is_empty() => Some((node, &[])),
            _ => {
                self.mismatch(node, wanted, "write `( name: value, … )`");
                None
            }
        }
    }
}

/// What a node looks like, for a message.
fn describe(text: &str, node: &Node) -> String {
    let shown = |what: &str| {
        let full = &text[node.span.clone()];
        let mut short: String = full.chars().take(40).collect();
        if short.len() < full.len() {
            short.push('…');
        }
        if what.is_empty() { short } else { format!("{what} {short}") }
    };
    match &node.kind {
        Kind::Number => shown(""),
        Kind::Text => shown("the text"),
        Kind::Char => shown("the character"),
        Kind::Word(word) => format!("the word `{word}`"),
        Kind::Fields { .. } => "a group of named fields `( … )`".to_owned(),
        Kind::Tuple { items, .. } if items.is_empty() => "an empty `()`".to_owned(),
        Kind::Tuple { .. } => "a group `( … )` without field names".to_owned(),
        Kind::List(_) => "a list `[ … ]`".to_owned(),
        Kind::Map => "a map `{ … }`".to_owned(),
        Kind::Broken => "something unreadable".to_owned(),
    }
}
