//! Tables as bytes: the rules they were made by, each with its name, and a checksum.

use super::modes::{BACK, INNER, TOP};
use super::table::{RECIPE, Table};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Length of the checksum that ends a file of tables.
const CHECKSUM: usize = 32;

/// A table of any place.
#[derive(Debug, Clone)]
pub(super) enum Held {
    Top(Arc<Table<TOP>>),
    Inner(Arc<Table<INNER>>),
    Back(Arc<Table<BACK>>),
}

impl Held {
    /// Memory of the table, bytes.
    pub fn bytes(&self) -> usize {
        match self {
            Self::Top(t) => t.bytes(),
            Self::Inner(t) => t.bytes(),
            Self::Back(t) => t.bytes(),
        }
    }
}

/// Tables by name from the bytes of `write`. `None` when they were made by other rules, are cut
/// short or damaged.
pub(super) fn read(bytes: &[u8]) -> Option<BTreeMap<String, Held>> {
    let (content, checksum) = bytes.split_at_checked(bytes.len().checked_sub(CHECKSUM)?)?;
    if Sha256::digest(content)[..] != *checksum {
        return None;
    }
    let mut rest = content;
    let recipe = RECIPE.as_bytes();
    if take(&mut rest, recipe.len())? != recipe {
        return None;
    }
    let mut held = BTreeMap::new();
    while !rest.is_empty() {
        let key = String::from_utf8(sized(&mut rest)?.to_vec()).ok()?;
        let body = sized(&mut rest)?;
        let table = match key.split(' ').next()? {
            "top" => Held::Top(Arc::new(Table::read(body)?)),
            "inner" => Held::Inner(Arc::new(Table::read(body)?)),
            "back" => Held::Back(Arc::new(Table::read(body)?)),
            _ => return None,
        };
        held.insert(key, table);
    }
    Some(held)
}

/// Named tables with the rules they were made by and a checksum.
pub(super) fn write<'a>(tables: impl Iterator<Item = (&'a str, &'a Held)>) -> Vec<u8> {
    let mut out = RECIPE.as_bytes().to_vec();
    for (key, table) in tables {
        let mut body = Vec::new();
        match table {
            Held::Top(t) => t.write(&mut body),
            Held::Inner(t) => t.write(&mut body),
            Held::Back(t) => t.write(&mut body),
        }
        for part in [key.as_bytes(), &body] {
            out.extend((part.len() as u32).to_le_bytes());
            out.extend(part);
        }
    }
    let checksum = Sha256::digest(&out);
    out.extend(checksum);
    out
}

fn take<'a>(rest: &mut &'a [u8], count: usize) -> Option<&'a [u8]> {
    let (taken, left) = rest.split_at_checked(count)?;
    *rest = left;
    Some(taken)
}

fn sized<'a>(rest: &mut &'a [u8]) -> Option<&'a [u8]> {
    let size = u32::from_le_bytes(take(rest, 4)?.try_into().ok()?);
    take(rest, size as usize)
}
