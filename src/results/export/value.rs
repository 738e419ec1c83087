//! How values are written.

use crate::results::columns::Column;
use rusqlite::types::ValueRef;

/// How values of a column are written where a format has types.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// 64-bit integer.
    Integer,
    /// 64-bit floating point.
    Real,
    /// UTF-8 text.
    Text,
}

impl Column {
    /// The type of its values.
    #[must_use]
    pub fn kind(&self) -> ColumnKind {
        match (self.name, self.unit) {
            // 64 bits without a sign, which SQLite and some readers do not have.
            ("scene_seed", _) => ColumnKind::Text,
            ("session", _) | (_, "int" | "frames" | "0/1" | "ISO 3950") => ColumnKind::Integer,
            (_, "s" | "ms" | "Hz" | "CIEDE2000" | "factor" | "0..100") => ColumnKind::Real,
            _ => ColumnKind::Text,
        }
    }
}

/// A value as text; `n/a` where there is none.
pub(super) fn field(value: ValueRef<'_>) -> Vec<u8> {
    match value {
        ValueRef::Null => b"n/a".to_vec(),
        ValueRef::Integer(number) => number.to_string().into_bytes(),
        ValueRef::Real(number) => number.to_string().into_bytes(),
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => bytes.to_vec(),
    }
}
