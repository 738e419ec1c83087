//! The content that comes with the program, or with a folder of level files.

use crate::app::content::{Content, ContentError, LevelEntry};
use crate::bake::{self, BakedScene};
use crate::level::course_format::Course;
use crate::level::format::Level;
use crate::level::load::{self, CheckReport};
use crate::level::{self, KnownMaterials};
use crate::material::Library;
use crate::measure::{ComposedSmile, FIND_ID, FIND_TRIALS, SmileRequest, find_plan};
use crate::report;
use crate::scene::Case;
use crate::trial::{Plan, Response};
use bevy::log::warn;
use std::path::{Path, PathBuf};

/// `(file name, text)` of the levels that come with the program, compiled in so that it runs from
/// anywhere.
pub const SHIPPED_LEVELS: [(&str, &str); 9] = [
    ("back-teeth.ron", include_str!("../../levels/back-teeth.ron")),
    ("dark-tooth-thin-veneer.ron", include_str!("../../levels/dark-tooth-thin-veneer.ron")),
    ("evening-light.ron", include_str!("../../levels/evening-light.ron")),
    ("first-look.ron", include_str!("../../levels/first-look.ron")),
    ("four-incisors.ron", include_str!("../../levels/four-incisors.ron")),
    ("near-the-edge.ron", include_str!("../../levels/near-the-edge.ron")),
    ("opaque-and-light.ron", include_str!("../../levels/opaque-and-light.ron")),
    ("two-years-later.ron", include_str!("../../levels/two-years-later.ron")),
    ("whole-smile.ron", include_str!("../../levels/whole-smile.ron")),
];

/// `(file name, text)` of the courses that come with the program.
pub const SHIPPED_COURSES: [(&str, &str); 2] = [
    ("lecture-block.ron", include_str!("../../assets/courses/lecture-block.ron")),
    ("student-practical.ron", include_str!("../../assets/courses/student-practical.ron")),
];

/// Seed of the first session of "Find it" in a results file; each later one adds one.
const FIND_SEED: u64 = 5001;

/// Levels and materials in use.
#[derive(Debug)]
pub struct Shipped {
    library: Library,
    /// Easy to hard.
    levels: Vec<Level>,
}

/// Checks level and material files.
///
/// # Errors
/// [`ContentError::Invalid`] when this build's own materials are faulty.
pub fn check(paths: &[PathBuf]) -> Result<CheckReport, ContentError> {
    Ok(load::check(paths, &known(&shipped_library()?)))
}

/// A shipped course by its id, or the course of a file.
///
/// # Errors
/// [`ContentError::Invalid`] with every fault of the file.
pub fn course(name: &str) -> Result<Course, ContentError> {
    let known = known(&shipped_library()?);
    let loaded =
        match SHIPPED_COURSES.iter().find(|(file, _)| file.strip_suffix(".ron") == Some(name)) {
            Some((file, text)) => load::parse_course(*file, text, &known),
            None => load::load_course(Path::new(name), &known),
        };
    loaded.map(|loaded| loaded.value).map_err(|error| ContentError::Invalid(error.to_string()))
}

fn shipped_library() -> Result<Library, ContentError> {
    Library::shipped().map_err(|error| ContentError::Invalid(error.to_string()))
}

fn known(library: &Library) -> KnownMaterials {
    let mut known = KnownMaterials::default();
    known.add_ceramics(library.ceramics());
    known.add_cements(library.cements());
    known.add_tissues(library.tissues());
    let stem = |(name, _): &(&str, &str)| name.trim_end_matches(".ron").to_owned();
    known.levels.extend(SHIPPED_LEVELS.iter().map(stem));
    known
}

impl Shipped {
    /// Reads the built-in levels, or those in the folder `levels`. Both use the materials that
    /// come with the program.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn load(levels: Option<&Path>) -> Result<Self, ContentError> {
        Self::of(shipped_library()?, levels)
    }

    /// As [`Self::load`]; tables of optics that do not ship are kept in the folder `tables`.
    ///
    /// # Errors
    /// [`ContentError::Invalid`] with every fault of the files.
    pub fn load_with_cache(levels: Option<&Path>, tables: &Path) -> Result<Self, ContentError> {
        let library = Library::shipped_with_cache(tables)
            .map_err(|error| ContentError::Invalid(error.to_string()))?;
        Self::of(library, levels)
    }

    fn of(library: Library, levels: Option<&Path>) -> Result<Self, ContentError> {
        let known = known(&library);
        let mut levels = match levels {
            None => built_in(&known)?,
            Some(folder) => in_folder(folder, &known)?,
        };
        levels.sort_by(|a, b| (a.difficulty, &a.id).cmp(&(b.difficulty, &b.id)));
        Ok(Self { library, levels })
    }

    /// The materials.
    #[must_use]
    pub const fn library(&self) -> &Library {
        &self.library
    }

    /// Logs what went wrong with the folder of tables: nothing that stops anyone.
    fn log_table_warnings(&self) {
        for warning in self.library.tables().take_warnings() {
            warn!("{warning}");
        }
    }

    /// The level with this id, or in the file at this path.
    fn level(&self, name: &str) -> Result<Level, ContentError> {
        if let Some(level) = self.levels.iter().find(|level| level.id == name) {
            return Ok(level.clone());
        }
        let path = Path::new(name);
        let looks_like_a_path =
            path.extension().is_some_and(|e| e == "ron") || path.components().count() > 1;
        if looks_like_a_path || path.is_file() {
            return load::load_level(path, &known(&self.library))
                .map(|loaded| loaded.value)
                .map_err(|error| ContentError::Invalid(error.to_string()));
        }
        Err(ContentError::UnknownLevel {
            name: name.to_owned(),
            known: self.levels.iter().map(|level| level.id.clone()).collect(),
        })
    }
}

fn built_in(known: &KnownMaterials) -> Result<Vec<Level>, ContentError> {
    SHIPPED_LEVELS
        .iter()
        .map(|(file, text)| {
            load::parse_level(Path::new("levels").join(file), text, known)
                .map(|loaded| loaded.value)
                .map_err(|error| ContentError::Invalid(error.to_string()))
        })
        .collect()
}

fn in_folder(folder: &Path, known: &KnownMaterials) -> Result<Vec<Level>, ContentError> {
    let report = load::check(&[folder.to_owned()], known);
    if report.errors() > 0 {
        return Err(ContentError::Invalid(report.to_string()));
    }
    Ok(report.levels.into_iter().map(|(_, level)| level).collect())
}

impl Content for Shipped {
    fn levels(&self) -> Vec<LevelEntry> {
        self.levels
            .iter()
            .map(|level| LevelEntry {
                id: level.id.clone(),
                title: level.title.clone(),
                teaches: level.teaches.clone(),
                difficulty: level.difficulty,
                trials: level.exercise.trials(),
            })
            .collect()
    }

    fn plan(&self, level: &str, seed: u64, trials: Option<u32>) -> Result<Plan, ContentError> {
        if level == FIND_ID {
            return find_plan(&self.library, seed, trials.unwrap_or(FIND_TRIALS))
                .map_err(|error| ContentError::Bake(error.to_string()));
        }
        level::lower(&self.level(level)?, &self.library, seed, trials)
            .map_err(|error| ContentError::Invalid(error.to_string()))
    }

    fn level_seed(&self, level: &str) -> Result<u64, ContentError> {
        if level == FIND_ID {
            return Ok(FIND_SEED);
        }
        self.level(level).map(|level| level.seed)
    }

    fn compose(&self, request: &SmileRequest) -> Result<ComposedSmile, ContentError> {
        request.compose(&self.library).map_err(|error| ContentError::Bake(error.to_string()))
    }

    fn bake(&self, case: &Case) -> Result<BakedScene, ContentError> {
        let scene = bake::bake(case, &self.library);
        self.log_table_warnings();
        scene.map_err(|error| ContentError::Bake(error.to_string()))
    }

    fn cause(&self, case: &Case, scene: &BakedScene, response: Response) -> Option<String> {
        report::explain(case, scene, response, &self.library).ok().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_level_file_is_compiled_in_and_they_go_from_easy_to_hard() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("levels");
        let files = std::fs::read_dir(folder).unwrap().count();
        let content = Shipped::load(None).unwrap();
        assert_eq!(content.levels().len(), files);
        assert!(content.levels().is_sorted_by_key(|level| level.difficulty));
    }

    #[test]
    fn a_level_can_be_named_by_id_or_by_path() {
        let content = Shipped::load(None).unwrap();
        let path = format!("{}/levels/first-look.ron", env!("CARGO_MANIFEST_DIR"));
        assert_eq!(content.level_seed(&path), content.level_seed("first-look"));
        let unknown = content.level_seed("first-lok").unwrap_err().to_string();
        assert!(unknown.contains("first-look"), "{unknown}");
        let missing = content.level_seed("nowhere/else.ron").unwrap_err().to_string();
        assert!(missing.contains("nowhere/else.ron"), "{missing}");
    }
}
