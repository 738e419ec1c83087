//! JSON as this program writes it: no name twice in an object, no number that is none.
//!
//! Two readers may take different ones of two fields of one name, SQLite the first and others the
//! last, so that one and the same row would be two persons'. Depth is limited by the parser
//! (128 levels).

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::collections::BTreeSet;
use std::fmt;

/// Larger numbers with a point are none of this program's.
const LARGEST: f64 = 1e12;

/// Why a text is not JSON as this program writes it.
#[derive(Debug, thiserror::Error)]
pub(super) enum NotStrict {
    #[error(transparent)]
    Json(#[from] serde_json::Error),
    #[error("it is {0} bytes long")]
    Long(usize),
    #[error("it holds {0} numbers")]
    Count(usize),
    #[error("{number:e} is not a number from {} to {largest}", -largest)]
    Size { number: f64, largest: f64 },
}

/// A value that keeps the rules; what it is does not matter.
struct Strict;

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Rules)
    }
}

struct Rules;

impl<'de> Visitor<'de> for Rules {
    type Value = Strict;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_unit<E>(self) -> Result<Strict, E> {
        Ok(Strict)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Strict, E> {
        Ok(Strict)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Strict, E> {
        Ok(Strict)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Strict, E> {
        Ok(Strict)
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Strict, E> {
        if number.abs() <= LARGEST && !number.is_subnormal() {
            return Ok(Strict);
        }
        Err(E::custom(format!("{number:e} is beyond any number of this program")))
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Strict, E> {
        // SQLite ends a text there, others do not.
        if text.contains('\0') {
            return Err(E::custom("a text holds a zero character"));
        }
        Ok(Strict)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut values: A) -> Result<Strict, A::Error> {
        while values.next_element::<Strict>()?.is_some() {}
        Ok(Strict)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Strict, A::Error> {
        let mut names = BTreeSet::new();
        while let Some(name) = fields.next_key::<String>()? {
            fields.next_value::<Strict>()?;
            if !names.insert(name) {
                return Err(A::Error::custom("an object has two fields of one name"));
            }
        }
        Ok(Strict)
    }
}

/// Whether a text is JSON and keeps the rules; the error says where it does not.
pub(super) fn check(text: &str) -> Result<(), NotStrict> {
    serde_json::from_str::<Strict>(text)?;
    Ok(())
}

/// Whether a text is a list of numbers of at most `largest` in size: `count` of them, or any count
/// up to `most`.
pub(super) fn check_numbers(
    text: &str,
    count: Option<usize>,
    most: usize,
    largest: f64,
) -> Result<(), NotStrict> {
    // A number takes at most 25 bytes.
    if text.len() > most * 32 {
        return Err(NotStrict::Long(text.len()));
    }
    let numbers: Vec<f64> = serde_json::from_str(text)?;
    if numbers.len() > most || count.is_some_and(|count| count != numbers.len()) {
        return Err(NotStrict::Count(numbers.len()));
    }
    match numbers.iter().find(|x| !(x.abs() <= largest) || x.is_subnormal()) {
        Some(number) => Err(NotStrict::Size { number: *number, largest }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_is_taken_as_written_here_and_nothing_else() {
        check(r#"{"a": [1, -2.5, null, true, "x"], "b": {"a": 18446744073709551615}}"#).unwrap();
        let deep = "[".repeat(100_000) + &"]".repeat(100_000);
        for (text, said) in [
            (r#"{"a": 1, "b": 2, "a": 3}"#, "two fields of one name"),
            (r#"[{"x": {"y": 1, "y": 1}}]"#, "two fields of one name"),
            (deep.as_str(), "recursion limit"),
            ("[1e999]", "out of range"),
            ("[1e300]", "beyond any number"),
            ("[5e-324]", "beyond any number"),
            ("[NaN]", "expected"),
            ("[Infinity]", "expected"),
            ("{\"a\": \"x\\u0000\"}", "zero character"),
            ("{'a': 1}", "key must be a string"),
            ("{\"a\": 1} x", "trailing"),
            ("", "EOF"),
        ] {
            let found = check(text).unwrap_err().to_string();
            assert!(found.contains(said), "{said}: {found}");
        }
    }

    #[test]
    fn lists_of_numbers_are_counted_and_measured() {
        check_numbers("[0.0,-0.5,3]", Some(3), 32, 200.0).unwrap();
        check_numbers("[]", None, 32, 200.0).unwrap();
        let many = format!("[{}]", ["0"; 33].join(","));
        for (text, count) in [
            ("[1,2]", Some(3)),
            ("[1,201]", None),
            ("[1e308]", None),
            ("[5e-324]", None),
            ("[null]", None),
            ("[[1]]", None),
            ("{}", None),
            (many.as_str(), None),
        ] {
            check_numbers(text, count, 32, 200.0).unwrap_err();
        }
    }
}
