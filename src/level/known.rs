//! What the rules of files look names up in.

use super::format::{Exercise, Level};
use crate::material::Library;
use crate::material::format::{Cements, Ceramics, MATERIAL_FORMAT, MeasuredCeramics, Tissues};
use crate::scene::Translucency;
use std::collections::{BTreeMap, BTreeSet};

/// Ids that levels and courses may refer to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct KnownMaterials {
    /// Ceramic classes.
    pub ceramics: BTreeSet<String>,
    /// Ceramic classes that also come as graded blocks.
    pub graded_ceramics: BTreeSet<String>,
    /// Translucencies of the measured ceramic classes, which need not have all three.
    pub measured_ceramics: BTreeMap<String, BTreeSet<Translucency>>,
    /// Cements.
    pub cements: BTreeSet<String>,
    /// Prepared-tooth colours.
    pub prepared_teeth: BTreeSet<String>,
    /// Levels, which courses refer to.
    pub levels: BTreeSet<String>,
    /// Those of them that ask questions, such as which option blends, instead of showing smiles to
    /// find a restoration in.
    pub question_levels: BTreeSet<String>,
}

impl KnownMaterials {
    /// Adds a level.
    pub fn add_level(&mut self, level: &Level) {
        self.levels.insert(level.id.clone());
        if !matches!(level.exercise, Exercise::Glance { .. }) {
            self.question_levels.insert(level.id.clone());
        }
    }

    /// Whether a level asks questions instead of showing smiles to find a restoration in.
    #[must_use]
    pub fn asks_questions(&self, level: &str) -> bool {
        self.question_levels.contains(level)
    }

    /// Adds the ids of a ceramics file.
    pub fn add_ceramics(&mut self, file: &Ceramics) {
        for class in &file.classes {
            self.ceramics.insert(class.id.clone());
            if class.graded.is_some() {
                self.graded_ceramics.insert(class.id.clone());
            }
        }
        self.ceramics.extend(file.pigmented.iter().flatten().map(|class| class.id.clone()));
    }

    /// Adds the ids of a file of measured ceramics.
    pub fn add_measured(&mut self, file: &MeasuredCeramics) {
        for class in &file.classes {
            let found = class.pieces.iter().map(|piece| piece.translucency);
            self.measured_ceramics.entry(class.id.clone()).or_default().extend(found);
            self.ceramics.insert(class.id.clone());
        }
    }

    /// The ids of a library.
    #[must_use]
    pub fn of(library: &Library) -> Self {
        let mut known = Self::default();
        known.add_ceramics(library.ceramics());
        known.add_cements(library.cements());
        known.add_tissues(library.tissues());
        for class in library.measured_ceramics() {
            let (format, classes) = (MATERIAL_FORMAT, vec![class.clone()]);
            known.add_measured(&MeasuredCeramics { format, classes });
        }
        known
    }

    /// Adds the ids of a cements file.
    pub fn add_cements(&mut self, file: &Cements) {
        self.cements.extend(file.cements.iter().map(|cement| cement.id.clone()));
    }

    /// Adds the ids of a tissues file.
    pub fn add_tissues(&mut self, file: &Tissues) {
        self.prepared_teeth.extend(file.prepared_teeth.iter().map(|tooth| tooth.id.clone()));
    }
}
