//! What one column can hold, and checking a value against it.

use super::moment::is_moment;
use super::strict_json::{self, NotStrict};
use Holds::{Bytes, Json, Line, Moment, Number, Numbers, Seed, Whole, Word};
use rusqlite::types::ValueRef;
use std::fmt;

/// One column.
#[derive(Debug)]
pub(super) struct Field {
    /// Its name.
    pub name: &'static str,
    /// What it can hold.
    holds: Holds,
    /// Whether it may hold nothing.
    optional: bool,
}

/// What a column can hold.
#[derive(Debug)]
pub(super) enum Holds {
    /// An integer from the first to the second.
    Whole(i64, i64),
    /// A finite number from the first to the second, not so small that it lost digits.
    Number(f64, f64),
    /// One of these words.
    Word(&'static [&'static str]),
    /// A text of one line and of at most so many bytes, without control characters.
    Line(usize),
    /// 64 bits as a decimal number.
    Seed,
    /// A time such as `2026-01-31T09:30:00Z`, with or without parts of a second.
    Moment,
    /// JSON of at most so many bytes.
    Json(usize),
    /// JSON: so many numbers up to a size, or any count of them up to 32.
    Numbers(Option<usize>, f64),
    /// Bytes, at most so many.
    Bytes(usize),
}

/// Why a column holds what it cannot: it names the column, the value and what it can be.
#[derive(Debug, thiserror::Error)]
pub(super) enum BadValue {
    #[error("{name} is {found}, not {holds}")]
    Wrong { name: &'static str, found: String, holds: String },
    #[error("{name} is {bytes} bytes long, more than {most}")]
    Long { name: &'static str, bytes: usize, most: usize },
    #[error("{name} is not what it can be: {source}")]
    Json { name: &'static str, source: NotStrict },
    #[error(transparent)]
    Unread(#[from] rusqlite::Error),
}

/// Teeth in view: two arches hold 32.
pub(super) const TEETH: i64 = 32;

/// A column that always holds a value.
pub(super) const fn is(name: &'static str, holds: Holds) -> Field {
    Field { name, holds, optional: false }
}

/// A column that may be empty.
pub(super) const fn may(name: &'static str, holds: Holds) -> Field {
    Field { name, holds, optional: true }
}

impl Field {
    /// Checks a value.
    pub fn check(&self, value: ValueRef<'_>) -> Result<(), BadValue> {
        if matches!(value, ValueRef::Null) && self.optional {
            return Ok(());
        }
        let name = self.name;
        let wrong = || {
            let (found, holds) = (Short(value).to_string(), self.holds.to_string());
            Err(BadValue::Wrong { name, found, holds })
        };
        let json = |source| BadValue::Json { name, source };
        let holds = match (&self.holds, value) {
            (Whole(least, most), ValueRef::Integer(n)) => (*least..=*most).contains(&n),
            (Number(least, most), ValueRef::Real(x)) => {
                (*least..=*most).contains(&x) && !x.is_subnormal()
            }
            (Bytes(most), ValueRef::Blob(bytes)) => bytes.len() <= *most,
            (holds, ValueRef::Text(bytes)) => {
                let Ok(text) = std::str::from_utf8(bytes) else { return wrong() };
                match holds {
                    Word(words) => words.contains(&text),
                    Line(most) => {
                        !text.is_empty()
                            && text.len() <= *most
                            && crate::printable::is_printable(text)
                    }
                    Seed => text.parse::<u64>().is_ok_and(|seed| seed.to_string() == text),
                    Moment => is_moment(text),
                    Json(most) => {
                        if text.len() > *most {
                            return Err(BadValue::Long { name, bytes: text.len(), most: *most });
                        }
                        return strict_json::check(text).map_err(json);
                    }
                    Numbers(count, most) => {
                        return strict_json::check_numbers(text, *count, TEETH as usize, *most)
                            .map_err(json);
                    }
                    _ => false,
                }
            }
            _ => false,
        };
        if holds { Ok(()) } else { wrong() }
    }
}

/// A value in a message: short, and with nothing in it that acts on a terminal.
struct Short<'a>(ValueRef<'a>);

impl fmt::Display for Short<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            ValueRef::Null => f.write_str("missing"),
            ValueRef::Integer(number) => write!(f, "{number}"),
            ValueRef::Real(number) => write!(f, "{number:e}"),
            ValueRef::Text(bytes) => {
                // Enough for a cut text, and no more than that of a long one.
                let text = String::from_utf8_lossy(&bytes[..bytes.len().min(800)]);
                write!(f, "\"{}\"", crate::printable::printable(&text))
            }
            ValueRef::Blob(bytes) => write!(f, "{} bytes", bytes.len()),
        }
    }
}

impl fmt::Display for Holds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Whole(least, most) => write!(f, "a whole number from {least} to {most}"),
            Number(least, most) => write!(f, "a number from {least} to {most}"),
            Word(words) => write!(f, "one of {}", words.join(", ")),
            Line(most) => write!(f, "a name of 1 to {most} bytes in one line"),
            Seed => f.write_str("a 64-bit number"),
            Moment => f.write_str("a time such as 2026-01-31T09:30:00Z"),
            Json(_) | Numbers(..) => f.write_str("JSON"),
            Bytes(most) => write!(f, "at most {most} bytes"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_finite_in_range_and_whole_in_digits() {
        let number = is("x", Number(0.0, 200.0));
        for good in [0.0, 2.5, 200.0] {
            number.check(ValueRef::Real(good)).unwrap();
        }
        // IEEE 754: the smallest subnormal, infinities, what is no number.
        for bad in [-5.0, 1e308, f64::INFINITY, f64::NEG_INFINITY, f64::NAN, 5e-324, 200.1] {
            let said = number.check(ValueRef::Real(bad)).unwrap_err().to_string();
            assert!(
                said.starts_with("x is ") && said.ends_with("a number from 0 to 200"),
                "{said}"
            );
        }
        assert!(number.check(ValueRef::Null).unwrap_err().to_string().contains("missing"));
        assert!(number.check(ValueRef::Text(b"2.5")).is_err());
        may("x", Number(0.0, 1.0)).check(ValueRef::Null).unwrap();
        let line = is("x", Line(200));
        line.check(ValueRef::Text("naïve".as_bytes())).unwrap();
        line.check(ValueRef::Text(&[b'x'; 200])).unwrap();
        for bad in [&b""[..], b"a\nb", b"a\x1b[2J", b"\xff\xfe", &[b'x'; 201]] {
            let said = line.check(ValueRef::Text(bad)).unwrap_err().to_string();
            assert!(crate::printable::is_printable(&said), "{said}");
        }
    }
}
