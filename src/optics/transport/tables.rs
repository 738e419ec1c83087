//! The tables of a set of materials: those that ship with the program, and any other on demand.
//!
//! # Where tables are kept
//! The tables of the shipped materials are `assets/optics/transport.bin` (0.5 MB, in memory the
//! same), with the recipe in front and a SHA-256 at the end. Others are solved on first use, about
//! half a second each in release, and kept as one file each in a folder if one is given
//! ([`Tables::with_cache`]; the app gives the platform's cache folder). Their file name is the
//! SHA-256 of recipe, indices, anisotropy and place; a damaged file is a warning and is solved and
//! written anew.
//!
//! After a change of the method (raise `RECIPE` in `table`) or of an index or anisotropy of a
//! shipped material: `SECOND_GLANCE_BLESS=1 cargo test --release --no-default-features --test core
//! shipped_materials_find`.

use super::cache::{self, CacheWarning, Origin};
use super::codec::{self, Held};
use super::modes::{BACK, INNER, MODES, Place, TOP};
use super::table::{Situation, Table};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Tables of the shipped materials, written by the test that guards them
/// (`tests/core/optics/transport_tables.rs`).
const SHIPPED: &[u8] = include_bytes!("../../../assets/optics/transport.bin");

/// Tables by situation. Missing ones are solved on first use, which takes seconds, or looked up
/// among those solved before where a folder for them is given ([`Self::with_cache`]).
///
/// Equal whether read or solved: coefficients are kept as 32-bit floats either way.
#[derive(Debug, Default)]
pub struct Tables {
    held: Mutex<BTreeMap<String, (Held, Origin)>>,
    cache: Option<PathBuf>,
    warnings: Mutex<Vec<CacheWarning>>,
}

impl Situation {
    /// Names this situation, in digits that tell any two numbers apart.
    fn key(&self) -> String {
        let Self { refractive_index: n, anisotropy: g, place } = self;
        match place {
            Place::Top { joint } => format!("top n{n} g{g} joint{joint}"),
            Place::Inner { joint } => format!("inner n{n} g{g} joint{joint}"),
            Place::Back { joint, mouth } => {
                format!("back n{n} g{g} joint{joint} mouth{mouth}")
            }
        }
    }
}

impl Tables {
    /// The tables that ship with the program.
    #[must_use]
    pub fn shipped() -> Self {
        Self::from_bytes(SHIPPED).unwrap_or_default()
    }

    /// Tables from the bytes of [`Self::to_bytes`]. `None` when they were made by other rules, are
    /// cut short or damaged: such tables can only be solved again.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let read = codec::read(bytes)?.into_iter();
        let held = read.map(|(key, table)| (key, (table, Origin::Given))).collect();
        Some(Self { held: Mutex::new(held), ..Self::default() })
    }

    /// The same tables, which keep those that they solve in a folder and look there first. The
    /// folder is made when it is needed; it may be shared with other threads and programs, and
    /// emptied at any time.
    #[must_use]
    pub fn with_cache(self, folder: impl Into<PathBuf>) -> Self {
        Self { cache: Some(folder.into()), ..self }
    }

    /// What went wrong with the folder since the last call.
    #[must_use]
    pub fn take_warnings(&self) -> Vec<CacheWarning> {
        std::mem::take(&mut *self.warnings.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Names of the situations held and where each table came from.
    #[must_use]
    pub fn origins(&self) -> Vec<(String, Origin)> {
        self.lock().iter().map(|(key, (_, origin))| (key.clone(), *origin)).collect()
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<String, (Held, Origin)>> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn warn(&self, warning: CacheWarning) {
        self.warnings.lock().unwrap_or_else(PoisonError::into_inner).push(warning);
    }

    /// All tables held, with the rules they were made by and a checksum.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        codec::write(self.lock().iter().map(|(key, (table, _))| (key.as_str(), table)))
    }

    /// Names of the situations held.
    #[must_use]
    pub fn held(&self) -> Vec<String> {
        self.lock().keys().cloned().collect()
    }

    /// Memory of the tables held, bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.lock().values().map(|(table, _)| table.bytes()).sum()
    }

    /// The table of a layer of index `n` and anisotropy `g` between air and a joint.
    pub fn top(&self, n: f64, g: f64, joint: f64) -> Arc<Table<TOP>> {
        let place = Place::Top { joint };
        match self.get(n, g, place, |s| Held::Top(Arc::new(Table::build(s)))) {
            Held::Top(table) => table,
            // A key names its own kind of table.
            _ => unreachable!("a top key holds a top table"),
        }
    }

    /// The table of a layer between two joints.
    pub fn inner(&self, n: f64, g: f64, joint: f64) -> Arc<Table<INNER>> {
        let place = Place::Inner { joint };
        match self.get(n, g, place, |s| Held::Inner(Arc::new(Table::build(s)))) {
            Held::Inner(table) => table,
            _ => unreachable!("an inner key holds an inner table"),
        }
    }

    /// The table of the last layer before the mouth.
    pub fn back(&self, n: f64, g: f64, joint: f64, mouth: f64) -> Arc<Table<BACK>> {
        let place = Place::Back { joint, mouth };
        match self.get(n, g, place, |s| Held::Back(Arc::new(Table::build(s)))) {
            Held::Back(table) => table,
            _ => unreachable!("a back key holds a back table"),
        }
    }

    /// The lock is not held while solving: two threads may do the same work, and both get equal
    /// tables.
    pub(super) fn get(
        &self,
        n: f64,
        g: f64,
        place: Place,
        build: impl FnOnce(&Situation) -> Held,
    ) -> Held {
        let situation = Situation { refractive_index: n, anisotropy: g, place };
        let key = situation.key();
        if let Some((table, _)) = self.lock().get(&key) {
            return table.clone();
        }
        let found = self.cached(&key).map(|table| (table, Origin::Cached)).unwrap_or_else(|| {
            let table = build(&situation);
            if let Some(folder) = &self.cache
                && let Err(warning) = cache::store(folder, &key, &table)
            {
                self.warn(warning);
            }
            (table, Origin::Solved)
        });
        self.lock().entry(key).or_insert(found).0.clone()
    }

    /// The table of this name from the folder, if there is a folder and a sound file in it.
    fn cached(&self, key: &str) -> Option<Held> {
        cache::load(self.cache.as_deref()?, key).unwrap_or_else(|warning| {
            self.warn(warning);
            None
        })
    }
}

const _: () = assert!(MODES == 3, "reduced stacking inverts 3 × 3 matrices");
