//! The materials of the files, turned into media.

use crate::colorimetry::{Illuminant, Lab, Lch, Observer};
use crate::material::format::{
    Cements, CeramicClass, Ceramics, MeasuredCeramics, MeasuredClass, PreparedTooth, Tissues,
    TranslucencyGrade,
};
use crate::material::{OwnMaterials, own_tooth};
use crate::optics::transport::{Base, CEMENT_JOINT, DENTIN_JOINT, Tables, tabulated_reflectance};
use crate::optics::{
    Design, DesignError, DesignTarget, Interface, Layer, Look, Medium, MediumError,
    ReflectanceShape, TranslucencyTarget, TwoFluxMedium, design, log_linear_absorption,
    power_law_scattering,
};
use crate::scene::{Ceramic, Translucency};
use crate::spectrum::{Spectrum, SpectrumError};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use thiserror::Error;

/// Thickness that counts as opaque for tooth tissues, mm.
const OPAQUE_MM: f64 = 50.0;
/// Refractive index of prepared teeth: that of dentin (Meng et al., J Biomed Opt 2009;14:034010).
const PREPARED_INDEX: f64 = DENTIN_JOINT;
/// Exponent of scattering of prepared teeth. Assumption.
const PREPARED_EXPONENT: f64 = 1.2;
/// Colour behind the piece whose colour names a shade: a mid-tone tooth. At the thickness of the
/// lattice little of it shows through.
const SHADE_BACKING: Lch = Lch { l: 74.0, c: 20.0, h: 86.0 };

/// What kind of entry an id names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialKind {
    /// A ceramic class.
    Ceramic,
    /// A cement.
    Cement,
    /// A prepared-tooth colour.
    PreparedTooth,
    /// A dentin.
    Dentin,
    /// A gingiva.
    Gingiva,
}

impl std::fmt::Display for MaterialKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Ceramic => "ceramic",
            Self::Cement => "cement",
            Self::PreparedTooth => "prepared tooth",
            Self::Dentin => "dentin",
            Self::Gingiva => "gingiva",
        })
    }
}

/// Why a material could not be had.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LibraryError {
    /// No entry has that id.
    #[error("no {kind} has the id `{id}`; there are {known}")]
    Unknown {
        /// Kind of entry looked for.
        kind: MaterialKind,
        /// The id that was asked for.
        id: String,
        /// The ids there are.
        known: String,
    },
    /// A ceramic class lacks a translucency.
    #[error("ceramic `{class}` has no {translucency:?} translucency")]
    NoTranslucency {
        /// Class id.
        class: String,
        /// The missing one.
        translucency: Translucency,
    },
    /// A ceramic class has no graded block.
    #[error("ceramic `{class}` has no graded block")]
    NotGraded {
        /// Class id.
        class: String,
    },
    /// A measured ceramic does not come in a shade.
    #[error("ceramic `{class}` was not measured in {}; there are {known}", shade.name())]
    NotMeasured {
        /// Class id.
        class: String,
        /// The shade asked for.
        shade: Lch,
        /// The shades there are in that translucency.
        known: String,
    },
    /// Measured coefficients are no spectrum.
    #[error("{what}: {source}")]
    Spectrum {
        /// Which entry.
        what: String,
        /// Why.
        source: SpectrumError,
    },
    /// No ceramic of a class has a shade.
    #[error("{what}: {source}")]
    Shade {
        /// Which ceramic, with its shade.
        what: String,
        /// Why.
        source: DesignError,
    },
    /// No medium looks like an entry says.
    #[error("{what}: {source}")]
    Design {
        /// Which entry.
        what: String,
        /// Why.
        source: DesignError,
    },
    /// An entry's coefficients make no medium.
    #[error("{what}: {source}")]
    Medium {
        /// Which entry.
        what: String,
        /// Why.
        source: MediumError,
    },
}

/// A ceramic as a medium at each end of its block; both ends are equal in a uniform one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CeramicMedia {
    pub cervical: Medium,
    pub incisal: Medium,
}

impl CeramicMedia {
    /// Absorption and scattering change linearly from the cervical end (0) to the incisal (1).
    pub(crate) fn at(&self, height: f64) -> Medium {
        let mix = |a: f64, b: f64| a + (b - a) * height.clamp(0.0, 1.0);
        Medium {
            absorption: self.cervical.absorption.zip(&self.incisal.absorption, mix),
            reduced_scattering: self
                .cervical
                .reduced_scattering
                .zip(&self.incisal.reduced_scattering, mix),
            ..self.cervical
        }
    }
}

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

    /// Colour of a thick piece of a ceramic, which names its shade; CIELAB LCh under D65/2°.
    #[must_use]
    pub fn shade_of(&self, medium: &Medium) -> Lch {
        let layer = Layer { medium, thickness_mm: self.ceramics.shades.at_mm };
        let base = Base::Backing(&self.shade_backing);
        let seen = tabulated_reflectance(&self.tables, &[layer], base, CEMENT_JOINT);
        Lch::from(Lab::from_reflectance(&seen, Illuminant::D65, Observer::Cie1931))
    }

    /// The prepared tooth with id `id`, or the one whose measured colour `id` gives in the notation
    /// `L58.2 C14.0 h78.5` ([`own_tooth`]).
    ///
    /// # Errors
    /// [`LibraryError::Unknown`].
    pub fn prepared_tooth_entry(&self, id: &str) -> Result<Cow<'_, PreparedTooth>, LibraryError> {
        let known = &self.tissues.prepared_teeth;
        match own_tooth::colour(id) {
            Some(colour) => Ok(Cow::Owned(own_tooth::entry(colour, known))),
            None => find(known, MaterialKind::PreparedTooth, id, |p| &p.id).map(Cow::Borrowed),
        }
    }

    /// A uniform ceramic of a class, translucency and shade.
    ///
    /// # Errors
    /// [`LibraryError`] for unknown ids and shades no material of the class can have.
    pub fn ceramic(
        &self,
        class: &str,
        translucency: Translucency,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        if let Some(pigmented) = self.pigmented_class(class) {
            return self.pigmented_ceramic(pigmented, translucency, shade);
        }
        let entry = match (self.ceramic_class(class), self.measured_class(class)) {
            (Ok(entry), _) => entry,
            (Err(_), Some(measured)) => return self.measured(measured, translucency, shade),
            (Err(error), None) => return Err(error),
        };
        let grade = Self::grade(entry, translucency)?;
        self.ceramic_of_contrast(entry, grade.contrast_ratio, grade.at_mm, shade)
    }

    /// A translucency of a class.
    pub(super) fn grade(
        class: &CeramicClass,
        translucency: Translucency,
    ) -> Result<&TranslucencyGrade, LibraryError> {
        let mut grades = class.translucencies.iter();
        grades
            .find(|grade| grade.level == translucency)
            .ok_or_else(|| LibraryError::NoTranslucency { class: class.id.clone(), translucency })
    }

    fn measured(
        &self,
        class: &MeasuredClass,
        translucency: Translucency,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        let pieces = || class.pieces.iter().filter(|piece| piece.translucency == translucency);
        if pieces().next().is_none() {
            return Err(LibraryError::NoTranslucency { class: class.id.clone(), translucency });
        }
        let piece = pieces().find(|piece| piece.shade.name() == shade.name()).ok_or_else(|| {
            let known = pieces().map(|piece| piece.shade.name()).collect::<Vec<_>>().join(", ");
            LibraryError::NotMeasured { class: class.id.clone(), shade, known }
        })?;
        let what = format!("{} {} {translucency:?}, measured", class.id, piece.shade.name());
        self.once(what, |what| {
            let spectrum = |samples: &crate::spectrum::RegularSamples| {
                Spectrum::from_regular(samples.first_nm, samples.step_nm, &samples.values)
                    .map_err(|source| LibraryError::Spectrum { what: what.to_owned(), source })
            };
            let (absorption, scattering) =
                (spectrum(&piece.absorption)?, spectrum(&piece.reduced_scattering)?);
            Medium::new(absorption, scattering, class.anisotropy, class.refractive_index)
                .map_err(|source| LibraryError::Medium { what: what.to_owned(), source })
        })
    }

    /// The media at the two ends of a ceramic's block.
    pub(crate) fn ceramic_media(&self, ceramic: &Ceramic) -> Result<CeramicMedia, LibraryError> {
        if !ceramic.graded {
            let medium = *self.ceramic(&ceramic.class, ceramic.translucency, ceramic.shade)?;
            return Ok(CeramicMedia { cervical: medium, incisal: medium });
        }
        if self.measured_class(&ceramic.class).is_some() {
            return Err(LibraryError::NotGraded { class: ceramic.class.clone() });
        }
        let entry = self.ceramic_class(&ceramic.class)?;
        let uniform = self.pigmented_class(&ceramic.class).is_some();
        let block = entry
            .graded
            .filter(|_| !uniform)
            .ok_or_else(|| LibraryError::NotGraded { class: ceramic.class.clone() })?;
        let at_mm = entry.translucencies.first().map_or(1.0, |grade| grade.at_mm);
        let end = |ratio| self.ceramic_of_contrast(entry, ratio, at_mm, ceramic.shade);
        Ok(CeramicMedia {
            cervical: *end(block.cervical_contrast_ratio)?,
            incisal: *end(block.incisal_contrast_ratio)?,
        })
    }

    /// The ceramic at a height of the tooth: 0 at the neck, 1 at the edge. A uniform block is the
    /// same at every height; in a graded one it also counts where the tooth stands in the block.
    ///
    /// # Errors
    /// [`LibraryError`] for unknown ids and shades no material of the class can have.
    pub fn ceramic_at(&self, ceramic: &Ceramic, height: f64) -> Result<Medium, LibraryError> {
        Ok(self.ceramic_media(ceramic)?.at(ceramic.block_height(height)))
    }

    fn ceramic_of_contrast(
        &self,
        class: &CeramicClass,
        contrast_ratio: f64,
        at_mm: f64,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        let shade_name = exact_name(shade);
        let what = format!("{} {shade_name} at contrast ratio {contrast_ratio}", class.id);
        self.once(what, |what| self.design_ceramic(what, class, contrast_ratio, at_mm, shade))
    }

    /// Designs a ceramic anew.
    pub(super) fn design_ceramic(
        &self,
        what: &str,
        class: &CeramicClass,
        contrast_ratio: f64,
        at_mm: f64,
        shade: Lch,
    ) -> Result<Medium, LibraryError> {
        let (n, g) = (class.refractive_index, class.anisotropy);
        let table = self.tables.top(n, g, CEMENT_JOINT);
        let target = DesignTarget {
            colour: shade,
            thickness_mm: self.ceramics.shades.at_mm,
            backing: &self.shade_backing,
            look: Look::Transport(&table),
            translucency: TranslucencyTarget::ContrastRatio {
                value: contrast_ratio,
                thickness_mm: at_mm,
            },
            scattering_exponent: class.scattering_exponent,
            refractive_index: n,
            anisotropy: g,
        };
        let found = design::design(&target).map(|design| design.medium);
        found.map_err(|source| LibraryError::Shade { what: what.to_owned(), source })
    }

    /// Internal reflectance of what lies behind the piece whose colour names a shade.
    pub(super) const fn shade_backing(&self) -> &Spectrum {
        &self.shade_backing
    }

    /// The cement with id `id`.
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or impossible coefficients.
    pub fn cement(&self, id: &str) -> Result<Arc<Medium>, LibraryError> {
        let entry = find(&self.cements.cements, MaterialKind::Cement, id, |c| &c.id)?;
        self.once(format!("cement {id}"), |what| {
            let k = &entry.absorption;
            let wrap = |source| LibraryError::Medium { what: what.to_owned(), source };
            let absorption = log_linear_absorption([k.at_450, k.at_550, k.at_650]).map_err(wrap)?;
            let scattering = power_law_scattering(entry.scattering_550, entry.scattering_exponent);
            let two_flux =
                TwoFluxMedium::new(absorption, scattering, entry.refractive_index).map_err(wrap)?;
            Ok(Medium::from_two_flux(&two_flux, entry.anisotropy))
        })
    }

    /// The prepared tooth with id `id`, as a medium: near the incisal edge it is thin.
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or a colour that no tissue can have.
    pub fn prepared_tooth(&self, id: &str) -> Result<Arc<Medium>, LibraryError> {
        let entry = self.prepared_tooth_entry(id)?;
        self.once(format!("prepared tooth {id}"), |what| {
            let tp = TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm };
            opaque_medium(
                &self.tables,
                what,
                entry.colour,
                tp,
                PREPARED_EXPONENT,
                PREPARED_INDEX,
                self.tissues.dentin_anisotropy,
            )
        })
    }

    /// The prepared tooth with id `id`, `delta_lightness` lighter (L*; darker below 0).
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or a colour that no tissue can have.
    pub fn prepared_tooth_shifted(
        &self,
        id: &str,
        delta_lightness: f64,
    ) -> Result<Medium, LibraryError> {
        let entry = self.prepared_tooth_entry(id)?;
        opaque_medium(
            &self.tables,
            &format!("prepared tooth {id}, {delta_lightness:+.2} L*"),
            Lch { l: entry.colour.l + delta_lightness, ..entry.colour },
            TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm },
            PREPARED_EXPONENT,
            PREPARED_INDEX,
            self.tissues.dentin_anisotropy,
        )
    }

    /// The dentin with id `id`.
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or a colour that no tissue can have.
    pub fn dentin(&self, id: &str) -> Result<Arc<Medium>, LibraryError> {
        let entry = find(&self.tissues.dentins, MaterialKind::Dentin, id, |d| &d.id)?;
        self.once(format!("dentin {id}"), |what| {
            let tp = TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm };
            opaque_medium(
                &self.tables,
                what,
                entry.colour,
                tp,
                PREPARED_EXPONENT,
                entry.refractive_index,
                self.tissues.dentin_anisotropy,
            )
        })
    }

    /// Colour of the gingiva with id `id`.
    ///
    /// # Errors
    /// [`LibraryError::Unknown`].
    pub fn gingiva(&self, id: &str) -> Result<Lch, LibraryError> {
        find(&self.tissues.gingivae, MaterialKind::Gingiva, id, |g| &g.id).map(|g| g.colour)
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

/// A shade to the last digit, so that no two share a medium.
pub(super) fn exact_name(shade: Lch) -> String {
    format!("L{} C{} h{}", shade.l, shade.c, shade.h)
}

fn find<'a, T>(
    entries: &'a [T],
    kind: MaterialKind,
    id: &str,
    id_of: impl Fn(&T) -> &String,
) -> Result<&'a T, LibraryError> {
    entries.iter().find(|entry| id_of(entry) == id).ok_or_else(|| LibraryError::Unknown {
        kind,
        id: id.to_owned(),
        known: entries.iter().map(|e| format!("`{}`", id_of(e))).collect::<Vec<_>>().join(", "),
    })
}

fn designed(what: &str, target: &DesignTarget) -> Result<Design, LibraryError> {
    design::design(target).map_err(|source| LibraryError::Design { what: what.to_owned(), source })
}

/// A medium whose thick piece has a measured colour.
fn opaque_medium(
    tables: &Tables,
    what: &str,
    colour: Lch,
    translucency: TranslucencyTarget,
    scattering_exponent: f64,
    refractive_index: f64,
    anisotropy: f64,
) -> Result<Medium, LibraryError> {
    let table = tables.top(refractive_index, anisotropy, DENTIN_JOINT);
    designed(
        what,
        &DesignTarget {
            colour,
            thickness_mm: OPAQUE_MM,
            backing: &Spectrum::constant(0.5),
            look: Look::Transport(&table),
            translucency,
            scattering_exponent,
            refractive_index,
            anisotropy,
        },
    )
    .map(|design| design.medium)
}

/// Internal reflectance of something opaque that measures `colour` in air.
fn internal_curve(what: &str, colour: Lch, n: f64) -> Result<Spectrum, LibraryError> {
    let wrap = |source| LibraryError::Design { what: what.to_owned(), source };
    let interface = Interface::between_air_and(n);
    let measured = ReflectanceShape::fit(colour).map_err(wrap)?.spectrum();
    Ok(measured.map(|r| interface.internal_from_excluded(r)))
}
