//! How serde walks through lists, structs and enums of the tree.

use super::super::diagnostic::{nearest, one_of};
use super::super::tree::{Field, Kind, Node};
use super::{Reader, State, Stop};
use serde::de::{self, DeserializeSeed, Visitor};

/// The values of a list or tuple, then as many placeholders as are missing.
pub(super) struct Items<'a> {
    pub reader: Reader<'a>,
    pub items: std::slice::Iter<'a, Node>,
    pub placeholders: usize,
}

impl<'de> de::SeqAccess<'de> for Items<'_> {
    type Error = Stop;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Stop> {
        if let Some(item) = self.items.next() {
            return seed.deserialize(self.reader.child(item, "")).map(Some);
        }
        if self.placeholders == 0 {
            return Ok(None);
        }
        self.placeholders -= 1;
        seed.deserialize(self.reader.placeholder()).map(Some)
    }
}

/// The fields of a struct: known ones in file order, then absent ones.
pub(super) struct Fields<'a> {
    values: std::vec::IntoIter<(&'static str, Reader<'a>)>,
    current: Option<Reader<'a>>,
}

impl<'a> Fields<'a> {
    pub fn new(
        reader: Reader<'a>,
        found: Option<(&'a Node, &'a [Field])>,
        known: &'static [&'static str],
    ) -> Self {
        let mut values: Vec<(&'static str, Reader<'a>)> = Vec::new();
        let report = |field: &Field, message: String, help: String| {
            let start = field.span.start;
            reader.context.report(start, start..start, message, help);
        };
        let given = found.map_or(&[][..], |(_, fields)| fields);
        let mut misspelt = Vec::new();
        for field in given {
            let name = &field.name;
            if values.iter().any(|(known, _)| known == name) {
                let help = "keep one and remove the other".to_owned();
                report(field, format!("field `{name}` is given twice"), help);
            } else if let Some(known) = known.iter().find(|known| *known == name) {
                values.push((known, reader.child(&field.value, known)));
            } else {
                misspelt.push(field);
            }
        }
        // Only fields not given under their own name can be meant by an unknown one.
        for field in misspelt {
            let free: Vec<&str> = known
                .iter()
                .copied()
                .filter(|known| !values.iter().any(|(given, _)| given == known))
                .collect();
            let help = match nearest(&field.name, free.iter().copied()) {
                Some(meant) => {
                    // Reading the value under the name that was meant finds its mistakes too.
                    let meant = known.iter().find(|known| **known == meant);
                    meant.into_iter().for_each(|m| values.push((m, reader.child(&field.value, m))));
                    format!("did you mean `{}`?", meant.copied().unwrap_or_default())
                }
                None if free.is_empty() => "remove it".to_owned(),
                None => format!("remove it, or write {}", one_of(free)),
            };
            report(field, format!("field `{}` is unknown", field.name), help);
        }
        for name in known.iter().copied() {
            if !values.iter().any(|(given, _)| *given == name) {
                let state = found.map_or(State::Placeholder, |(owner, _)| State::Absent { owner });
                values.push((name, Reader { state, name, ..reader }));
            }
        }
        Self { values: values.into_iter(), current: None }
    }
}

impl<'de> de::MapAccess<'de> for Fields<'_> {
    type Error = Stop;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Stop> {
        let Some((name, reader)) = self.values.next() else { return Ok(None) };
        self.current = Some(reader);
        seed.deserialize(de::value::StrDeserializer::new(name)).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Stop> {
        match self.current.take() {
            Some(reader) => seed.deserialize(reader),
            None => Err(de::Error::custom("value asked for before its key")),
        }
    }
}

/// A chosen enum variant and what stands in its brackets.
pub(super) struct Variant<'a> {
    pub reader: Reader<'a>,
    pub variant: &'static str,
}

impl<'de> de::EnumAccess<'de> for Variant<'_> {
    type Error = Stop;
    type Variant = Self;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Self), Stop> {
        let value = seed.deserialize(de::value::StrDeserializer::new(self.variant))?;
        Ok((value, self))
    }
}

impl<'de> de::VariantAccess<'de> for Variant<'_> {
    type Error = Stop;

    fn unit_variant(self) -> Result<(), Stop> {
        if let Some(node) = self.reader.node()
            && !matches!(node.kind, Kind::Word(_))
        {
            let name = self.variant;
            let message = format!("`{name}` takes nothing in brackets");
            let help = format!("write `{}` alone", name);
            self.reader.context.report(node.span.start, node.span.clone(), message, help);
        }
        Ok(())
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Stop> {
        match self.reader.node().map(|node| &node.kind) {
            Some(Kind::Tuple { items, .. }) if items.len() == 1 => {
                seed.deserialize(self.reader.child(&items[0], self.variant))
            }
            _ => Err(de::Error::custom(format!("`{}` takes one value in brackets", self.variant))),
        }
    }

    fn tuple_variant<V: Visitor<'de>>(self, _length: usize, _visitor: V) -> Result<V::Value, Stop> {
        Err(de::Error::custom("this kind of value is not used in our files"))
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        known: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let found = self.reader.fields(&format!("`{}( … )` with named fields", self.variant));
        visitor.visit_map(Fields::new(self.reader, found, known))
    }
}
