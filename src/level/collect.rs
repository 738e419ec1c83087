//! A serde deserializer over the tree that collects problems instead of stopping at the first.
//!
//! Where a value is wrong or missing it notes the problem and stands in a placeholder, so that the
//! rest of the file is still looked at. A value built with problems is only good for finding more
//! of them.

mod access;
mod reader;

use super::diagnostic::{nearest, one_of};
use super::tree::{Kind, Node};
use access::{Fields, Items, Variant};
use reader::{Context, Reader, State, Stop};
pub(super) use reader::{MAX_PROBLEMS, ShapeProblem};
use serde::de::{self, DeserializeOwned, Visitor};
use serde::forward_to_deserialize_any;
use std::cell::RefCell;

/// What was read, and everything that was wrong with it.
pub(super) struct Collected<T> {
    /// The value, with placeholders where problems were found.
    pub value: Option<T>,
    pub problems: Vec<ShapeProblem>,
}

/// Reads a `T` out of a tree scanned from `text`.
pub(super) fn collect<T: DeserializeOwned>(text: &str, root: &Node) -> Collected<T> {
    let context = Context { text, problems: RefCell::new(Vec::new()) };
    let result =
        T::deserialize(Reader { context: &context, state: State::Present(root), name: "" });
    let mut problems = context.problems.into_inner();
    let value = match result {
        Ok(value) => Some(value),
        Err(Stop(message)) => {
            if problems.is_empty() {
                problems.push(ShapeProblem {
                    offset: root.span.start,
                    unusable: root.span.clone(),
                    absent_from: None,
                    message,
                    help: "compare with a file that works".to_owned(),
                });
            }
            None
        }
    };
    Collected { value, problems }
}

impl std::error::Error for Stop {}

macro_rules! whole_numbers {
    ($($method:ident $visit:ident $type:ty),*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
            let wanted = format!("a whole number from {} to {}", <$type>::MIN, <$type>::MAX);
            visitor.$visit(self.leaf::<$type>(&wanted, "write a whole number", 0))
        }
    )*};
}

impl<'de> de::Deserializer<'de> for Reader<'_> {
    type Error = Stop;

    whole_numbers!(
        deserialize_u8 visit_u8 u8, deserialize_u16 visit_u16 u16,
        deserialize_u32 visit_u32 u32, deserialize_u64 visit_u64 u64,
        deserialize_i8 visit_i8 i8, deserialize_i16 visit_i16 i16,
        deserialize_i32 visit_i32 i32, deserialize_i64 visit_i64 i64
    );

    fn deserialize_f64<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        visitor.visit_f64(self.leaf("a number", "write a number such as 0.5, without quotes", 0.0))
    }

    fn deserialize_f32<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        self.deserialize_f64(visitor)
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        visitor.visit_bool(self.leaf("`true` or `false`", "write `true` or `false`", false))
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        self.deserialize_string(visitor)
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        let help = "put the text in double quotes: \"text\"";
        visitor.visit_string(self.leaf("a text", help, String::new()))
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        match self.state {
            State::Absent { .. } => visitor.visit_none(),
            State::Present(node) if node.kind == Kind::Word("None".to_owned()) => {
                visitor.visit_none()
            }
            State::Present(_) | State::Placeholder => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Stop> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        let items = match self.node() {
            Some(Node { kind: Kind::List(items), .. }) => items.as_slice(),
            Some(node) => {
                self.mismatch(node, "a list", "put the values in square brackets: `[ … ]`");
                &[]
            }
            None => &[],
        };
        visitor.visit_seq(Items { reader: self, items: items.iter(), placeholders: 0 })
    }

    fn deserialize_tuple<V: Visitor<'de>>(
        self,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let wanted = format!("{length} values in round brackets");
        let help = format!("write `({})`", vec!["…"; length].join(", "));
        let items = match self.node() {
            Some(node @ Node { kind: Kind::Tuple { name: None, items }, .. }) => {
                if items.len() != length {
                    let what = if self.name.is_empty() { "this" } else { self.name };
                    let found = items.len();
                    let message = format!("{what} has {found} values, but should have {length}");
                    self.context.report(node.span.start, node.span.clone(), message, help);
                }
                &items[..items.len().min(length)]
            }
            Some(node) => {
                self.mismatch(node, &wanted, help);
                &[]
            }
            None => &[],
        };
        let placeholders = length - items.len();
        visitor.visit_seq(Items { reader: self, items: items.iter(), placeholders })
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, Stop> {
        self.deserialize_tuple(length, visitor)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        known: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let found = self.fields("a group of named fields");
        if let Some((node, _)) = found {
            self.check_name(node, name);
        }
        visitor.visit_map(Fields::new(self, found, known))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let node = self.node();
        let named = node.and_then(|node| Some((node, node.name()?)));
        if let Some((node, name)) = named
            && let Some(variant) = variants.iter().find(|variant| **variant == name)
        {
            return visitor.visit_enum(Variant { reader: self.child(node, self.name), variant });
        }
        match (node, named) {
            (Some(node), Some((_, name))) => {
                let of = if self.name.is_empty() { "" } else { " of " };
                let message = format!("`{name}` is not a choice{of}{}", self.name);
                let help = match nearest(name, variants.iter().copied()) {
                    Some(variant) => format!("did you mean `{variant}`?"),
                    None => format!("write {}", one_of(variants.iter().copied())),
                };
                self.context.report(node.span.start, node.span.clone(), message, help);
            }
            (Some(node), None) => {
                let wanted = one_of(variants.iter().copied());
                self.mismatch(node, &wanted, "write one of these words, without quotes");
            }
            (None, _) => {}
        }
        let variant = variants.first().copied().unwrap_or_default();
        visitor.visit_enum(Variant { reader: self.placeholder(), variant })
    }

    fn deserialize_any<V: Visitor<'de>>(self, _visitor: V) -> Result<V::Value, Stop> {
        Err(de::Error::custom("this kind of value is not used in our files"))
    }

    forward_to_deserialize_any! {
        i128 u128 char bytes byte_buf unit unit_struct map identifier ignored_any
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::level::format::{Level, ron_options};
    use crate::level::scan::scan;

    #[test]
    fn a_file_without_problems_reads_as_ron_reads_it() {
        let text = include_str!("../../tests/core/fixtures/levels/fixture-central.ron");
        let collected = collect::<Level>(text, &scan(text).root.unwrap());
        assert_eq!(collected.problems, []);
        assert_eq!(collected.value.unwrap(), ron_options().from_str::<Level>(text).unwrap());
    }

    #[test]
    fn a_refusing_type_stops_with_its_own_words() {
        // `Tooth` refuses numbers that name no upper tooth.
        let text = "[11, 31]";
        let root = scan(text).root.unwrap();
        let collected = collect::<Vec<crate::scene::Tooth>>(text, &root);
        assert!(collected.value.is_none());
        assert!(collected.problems[0].message.starts_with("tooth 31 is not"));
    }
}
