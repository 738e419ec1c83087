//! Levels, courses and materials in use, read from what comes with the program and from folders.

use super::latest::Latest;
use super::own::{OwnLevels, taken_id};
use super::sources::{built_in, in_folder, library};
use crate::level::KnownMaterials;
use crate::level::course_format::Course;
use crate::level::format::Level;
use crate::level::load;
use crate::material::Library;
use crate::play::content::ContentError;
use crate::printable;
use std::path::{Path, PathBuf};
use std::sync::{PoisonError, RwLock, RwLockReadGuard};
use tracing::warn;

/// Levels and materials in use.
#[derive(Debug)]
pub struct Shipped {
    pub(super) library: Library,
    /// Easy to hard.
    pub(super) levels: Vec<Level>,
    /// The folder with levels of one's own.
    pub(super) own_folder: Option<PathBuf>,
    /// What is in it.
    pub(super) own: RwLock<OwnLevels>,
    /// Courses of one's own, before those that ship.
    pub(super) own_courses: Vec<Course>,
    pub(super) latest: Latest,
}

impl Shipped {
    /// Reads the built-in levels, or those in the folder `levels`. Both use the materials that
    /// come with the program.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn load(levels: Option<&Path>) -> Result<Self, ContentError> {
        Self::load_all(levels, None, None)
    }

    /// As [`Self::load`]; tables of optics that do not ship are kept in the folder `tables`.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn load_with_cache(levels: Option<&Path>, tables: &Path) -> Result<Self, ContentError> {
        Self::load_all(levels, None, Some(tables.to_owned()))
    }

    /// Reads the built-in levels, or those in the folder `levels`, with the materials of the folder
    /// `materials` besides those that ship, and tables of optics kept in the folder `tables`.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn load_all(
        levels: Option<&Path>,
        materials: Option<&Path>,
        tables: Option<PathBuf>,
    ) -> Result<Self, ContentError> {
        Self::of(library(materials, tables)?, levels)
    }

    fn of(library: Library, levels: Option<&Path>) -> Result<Self, ContentError> {
        let known = KnownMaterials::of(&library);
        let mut levels = match levels {
            None => built_in(&known)?,
            Some(folder) => in_folder(folder, &known)?,
        };
        levels.sort_by(|a, b| (a.difficulty, &a.id).cmp(&(b.difficulty, &b.id)));
        Ok(Self {
            library,
            levels,
            own_courses: Vec::new(),
            own_folder: None,
            own: RwLock::default(),
            latest: Latest::default(),
        })
    }

    /// For the window: the built-in levels and those in the folder `own`, or, where `levels` is
    /// given, those in that folder alone. A file with faults keeps nobody from the others: it is
    /// listed with what is wrong.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] when the materials are faulty.
    pub fn for_window(
        levels: Option<&Path>,
        own: Option<PathBuf>,
        materials: Option<&Path>,
        tables: Option<PathBuf>,
    ) -> Result<Self, ContentError> {
        let mut content = Self::of(library(materials, tables)?, None)?;
        content.own_folder = own;
        if let Some(folder) = levels {
            content.levels.clear();
            content.own_folder = Some(folder.to_owned());
        }
        content.look_at_own();
        Ok(content)
    }

    pub(super) fn own(&self) -> RwLockReadGuard<'_, OwnLevels> {
        self.own.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes in what is in the folder with levels of one's own.
    pub(super) fn look_at_own(&self) {
        let found = self.read_own();
        *self.own.write().unwrap_or_else(PoisonError::into_inner) = found;
    }

    /// Reads the files in the folder with levels of one's own.
    fn read_own(&self) -> OwnLevels {
        let Some(folder) = self.own_folder.as_deref() else { return OwnLevels::default() };
        // The built-in folder need not be there; one that was asked for must.
        if !folder.exists() && !self.levels.is_empty() {
            return OwnLevels::default();
        }
        OwnLevels::read(folder, &self.levels, &KnownMaterials::of(&self.library))
    }

    /// Adds the courses in a folder, and the levels beside them; courses may use these and the levels
    /// in use.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn with_courses(mut self, folder: &Path) -> Result<Self, ContentError> {
        let report = load::check(&[folder.to_owned()], &self.known());
        if report.errors() > 0 {
            return Err(ContentError::Invalid(report.to_string()));
        }
        self.own_courses = report.courses.into_iter().map(|(_, course)| course).collect();
        for (file, level) in report.levels {
            let same_id = |known: &&Level| known.id == level.id;
            let known = self.levels.iter().find(same_id).cloned();
            match known.or_else(|| self.own().levels.iter().find(same_id).cloned()) {
                None => self.levels.push(level),
                // By way of `--levels`, too.
                Some(known) if known == level => {}
                Some(_) => return Err(ContentError::Invalid(taken_id(&file, &level.id))),
            }
        }
        self.levels.sort_by(|a, b| (a.difficulty, &a.id).cmp(&(b.difficulty, &b.id)));
        Ok(self)
    }

    /// What courses may refer to.
    pub(super) fn known(&self) -> KnownMaterials {
        let mut known = KnownMaterials::of(&self.library);
        self.levels.iter().for_each(|level| known.add_level(level));
        self.own().levels.iter().for_each(|level| known.add_level(level));
        known
    }

    /// The materials.
    #[must_use]
    pub const fn library(&self) -> &Library {
        &self.library
    }

    /// Logs what went wrong with the folder of tables: nothing that stops anyone.
    pub(super) fn log_table_warnings(&self) {
        for warning in self.library.tables().take_warnings() {
            warn!("{}", printable::one_line(&warning.to_string()));
        }
    }

    /// The level with this id, or in the file at this path.
    pub(super) fn level(&self, name: &str) -> Result<Level, ContentError> {
        if let Some(level) = self.levels.iter().find(|level| level.id == name) {
            return Ok(level.clone());
        }
        if let Some(level) = self.own().levels.iter().find(|level| level.id == name) {
            return Ok(level.clone());
        }
        let path = Path::new(name);
        let looks_like_a_path =
            path.extension().is_some_and(|e| e == "ron") || path.components().count() > 1;
        if looks_like_a_path || path.is_file() {
            return load::load_level(path, &KnownMaterials::of(&self.library))
                .map(|loaded| loaded.value)
                .map_err(|error| ContentError::Invalid(error.to_string()));
        }
        Err(ContentError::UnknownLevel {
            name: name.to_owned(),
            known: self.levels.iter().map(|level| level.id.clone()).collect(),
        })
    }
}
