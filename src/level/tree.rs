//! RON values that know where in their text they stand.

use std::ops::Range;

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
