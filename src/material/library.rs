//! The materials of the files, turned into media.

use super::library_error::{LibraryError, MaterialKind, find};
use super::opaque::{PREPARED_INDEX, internal_curve, opaque_medium};
use crate::colorimetry::Lch;
use crate::material::OwnMaterials;
use crate::material::format::{
    Cements, CeramicClass, Ceramics, MeasuredCeramics, MeasuredClass, Tissues,
};
use crate::optics::transport::{CEMENT_JOINT, DENTIN_JOINT, Tables};
use crate::optics::{Medium, TranslucencyTarget};
use crate::scene::Translucency;
use crate::spectrum::Spectrum;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Colour behind the piece whose colour names a shade: a mid-tone tooth. At the thickness of the
/// lattice little of it shows through.
const SHADE_BACKING: Lch = Lch { l: 74.0, c: 20.0, h: 86.0 };

/// Materials by id, with the media made from them.
///
/// Media are designed on first use and kept; the same files give the same media in any order of
/// use.
#[derive(Debug)]
pub struct Library {
    ceramics: Ceramics,
    measured: Vec<MeasuredClass>,
    cements: Cements,
    tissues: Tissues,
    enamel: Medium,
    shade_backing: Spectrum,
    tables: Arc<Tables>,
    designed: Mutex<BTreeMap<String, Arc<Medium>>>,
}

impl Library {
    /// The library of three parsed material files.
    ///
    /// # Errors
    /// [`LibraryError`] when enamel cannot be designed; other entries are checked on use.
    pub fn new(
        ceramics: Ceramics,
        cements: Cements,
        tissues: Tissues,
        tables: Tables,
    ) -> Result<Self, LibraryError> {
        Self::with_shared(ceramics, cements, tissues, Arc::new(tables))
    }

    fn with_shared(
        ceramics: Ceramics,
        cements: Cements,
        tissues: Tissues,
        tables: Arc<Tables>,
    ) -> Result<Self, LibraryError> {
        let entry = &tissues.enamel;
        let enamel = opaque_medium(
            &tables,
            "enamel",
            entry.colour,
            TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm },
            entry.scattering_exponent,
            entry.refractive_index,
            entry.anisotropy,
        )?;
        let shade_backing = internal_curve("shade backing", SHADE_BACKING, 1.54)?;
        Ok(Self {
            ceramics,
            measured: Vec::new(),
            cements,
            tissues,
            enamel,
            shade_backing,
            tables,
            designed: Mutex::new(BTreeMap::new()),
        })
    }

    /// A library with the same tables in which somebody's own materials stand in for, or come on top
    /// of, those of this one. Nothing that was designed is taken over.
    ///
    /// # Errors
    /// [`LibraryError`] when enamel cannot be designed; other entries are checked on use.
    pub fn with_replaced(&self, own: OwnMaterials) -> Result<Self, LibraryError> {
        let library = Self::with_shared(
            own.ceramics.unwrap_or_else(|| self.ceramics.clone()),
            own.cements.unwrap_or_else(|| self.cements.clone()),
            own.tissues.unwrap_or_else(|| self.tissues.clone()),
            Arc::clone(&self.tables),
        )?;
        let measured = self.measured.iter().cloned();
        let own = own.measured.into_iter().flat_map(|file| file.classes);
        Ok(Self { measured: own.chain(measured).collect(), ..library })
    }

    /// The same library with measured ceramics added. A class whose id is taken already stands behind
    /// the one that has it.
    #[must_use]
    pub fn with_measured(mut self, file: MeasuredCeramics) -> Self {
        self.measured.extend(file.classes);
        self
    }

    /// The measured ceramics.
    #[must_use]
    pub fn measured_ceramics(&self) -> &[MeasuredClass] {
        &self.measured
    }

    /// The shades that a class comes in at a translucency: the lattice for a designed one, those of
    /// its pieces for a measured one. Empty where the class has none or is unknown.
    #[must_use]
    pub fn shades(&self, class: &str, translucency: Translucency) -> Vec<Lch> {
        if let Ok(entry) = self.ceramic_class(class) {
            let has = entry.translucencies.iter().any(|grade| grade.level == translucency);
            return if has { self.ceramics.shades.lattice.clone() } else { Vec::new() };
        }
        let pieces = self.measured_class(class).map_or(&[][..], |entry| &entry.pieces);
        pieces.iter().filter(|p| p.translucency == translucency).map(|p| p.shade).collect()
    }

    /// The translucencies that a class comes in, from low to high; empty where it is unknown.
    #[must_use]
    pub fn translucencies(&self, class: &str) -> Vec<Translucency> {
        let mut found: Vec<Translucency> = match self.ceramic_class(class) {
            Ok(entry) => entry.translucencies.iter().map(|grade| grade.level).collect(),
            Err(_) => self
                .measured_class(class)
                .map_or(&[][..], |entry| &entry.pieces)
                .iter()
                .map(|piece| piece.translucency)
                .collect(),
        };
        found.sort();
        found.dedup();
        found
    }

    /// The measured ceramic with id `id`, unless a designed one stands before it.
    #[must_use]
    pub fn measured_class(&self, id: &str) -> Option<&MeasuredClass> {
        let is_designed = self.ceramic_class(id).is_ok();
        self.measured.iter().find(|class| class.id == id && !is_designed)
    }

    /// The ceramic file.
    #[must_use]
    pub const fn ceramics(&self) -> &Ceramics {
        &self.ceramics
    }

    /// The cement file.
    #[must_use]
    pub const fn cements(&self) -> &Cements {
        &self.cements
    }

    /// The tissue file.
    #[must_use]
    pub const fn tissues(&self) -> &Tissues {
        &self.tissues
    }

    /// Tables of radiative transfer that the media of this library are looked up in.
    #[must_use]
    pub fn tables(&self) -> &Tables {
        &self.tables
    }

    /// Makes every table that the entries of this library can need. What ships is there already;
    /// tables of other refractive indices take seconds each.
    pub fn prepare_tables(&self) {
        let (tables, mouth) = (&self.tables, self.mouth_reflectance());
        let tissue = |n: f64, g: f64| {
            tables.top(n, g, DENTIN_JOINT);
            tables.inner(n, g, DENTIN_JOINT);
            tables.inner(n, g, CEMENT_JOINT);
        };
        for dentin in &self.tissues.dentins {
            tissue(dentin.refractive_index, self.tissues.dentin_anisotropy);
        }
        tissue(PREPARED_INDEX, self.tissues.dentin_anisotropy);
        let (n, g) = (self.enamel.refractive_index, self.enamel.anisotropy);
        tables.back(n, g, DENTIN_JOINT, mouth);
        tables.back(n, g, CEMENT_JOINT, mouth);
        for class in &self.ceramics.classes {
            tables.top(class.refractive_index, class.anisotropy, CEMENT_JOINT);
            tables.back(class.refractive_index, class.anisotropy, CEMENT_JOINT, mouth);
        }
        for class in &self.measured {
            tables.top(class.refractive_index, class.anisotropy, CEMENT_JOINT);
            tables.back(class.refractive_index, class.anisotropy, CEMENT_JOINT, mouth);
        }
        for cement in &self.cements.cements {
            tables.inner(cement.refractive_index, cement.anisotropy, CEMENT_JOINT);
        }
    }

    /// Reflectance of the dark mouth behind the teeth, 0..1.
    #[must_use]
    pub const fn mouth_reflectance(&self) -> f64 {
        self.tissues.mouth.reflectance
    }

    /// Enamel.
    #[must_use]
    pub const fn enamel(&self) -> &Medium {
        &self.enamel
    }

    /// The designed ceramic class with id `id`; of a pigmented class, the plain one that it is
    /// otherwise.
    ///
    /// # Errors
    /// [`LibraryError::Unknown`].
    pub fn ceramic_class(&self, id: &str) -> Result<&CeramicClass, LibraryError> {
        let id = self.pigmented_class(id).map_or(id, |class| class.of.as_str());
        find(&self.ceramics.classes, MaterialKind::Ceramic, id, |c| &c.id)
    }

    /// Internal reflectance of what lies behind the piece whose colour names a shade.
    pub(super) const fn shade_backing(&self) -> &Spectrum {
        &self.shade_backing
    }

    /// Makes a medium unless it was made before. The lock is not held while designing, so two
    /// threads may do the same work; both get equal media.
    pub(super) fn once(
        &self,
        what: String,
        make: impl FnOnce(&str) -> Result<Medium, LibraryError>,
    ) -> Result<Arc<Medium>, LibraryError> {
        let held = self.designed.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(medium) = held.get(&what) {
            return Ok(Arc::clone(medium));
        }
        drop(held);
        let medium = Arc::new(make(&what)?);
        let mut held = self.designed.lock().unwrap_or_else(PoisonError::into_inner);
        Ok(Arc::clone(held.entry(what).or_insert(medium)))
    }
}
