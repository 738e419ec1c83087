//! The content that comes with the program, or with a folder of level files.

use crate::app::cli::Options;
use crate::app::content::{Content, ContentError, FaultyFile, LevelEntry};
use crate::bake::cross_section::{CrossSection, cross_section};
use crate::bake::{self, BakedScene};
use crate::chart::{BlendChart, ChartCase, blend_chart};
use crate::course::{CourseFault, course_faults};
use crate::exercise::{self, ChoiceMeasurement, Round};
use crate::level::clinic::load_case;
use crate::level::course_format::{Course, FormEntry};
use crate::level::format::{Level, ron_options};
use crate::level::load::{self, CheckReport};
use crate::level::{self, Diagnostic, KnownMaterials, Position, Severity};
use crate::material::format::Ceramics;
use crate::material::{Library, OwnMaterials};
use crate::measure::{
    ComposedSmile, FIND_ID, FIND_TRIALS, FormPlan, SmileRequest, find_plan, form_plan,
};
use crate::printable;
use crate::psychophysics::OptionStop;
use crate::report;
use crate::scene::{Case, Restoration, Tooth};
use crate::trial::{Plan, Response, Timing};
use bevy::log::warn;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError, RwLock, RwLockReadGuard};

macro_rules! level_files {
    ($($name:literal),* $(,)?) => {
        &[$((concat!($name, ".ron"), include_str!(concat!("../../levels/", $name, ".ron")))),*]
    };
}

/// `(file name, text)` of the levels that come with the program, compiled in so that it runs from
/// anywhere.
pub const SHIPPED_LEVELS: &[(&str, &str)] = level_files![
    "accept-or-remake",
    "at-a-glance",
    "back-teeth",
    "bench-dark-central",
    "bench-light-tooth",
    "blend-four-incisors",
    "blend-one-step-or-several",
    "blend-single-dark-central",
    "blend-thin-over-dark",
    "blend-thin-veneer",
    "blend-two-centrals",
    "blend-value-first",
    "bracket-first",
    "bracket-single-central",
    "bracket-two-veneers",
    "dark-below",
    "dark-tooth-thin-veneer",
    "evening-light",
    "first-look",
    "four-incisors",
    "margin-first",
    "margin-premolars",
    "margin-thin-onlays",
    "margin-warm-teeth",
    "near-the-edge",
    "nearest-tab",
    "office-light",
    "opaque-and-light",
    "ring-of-eight",
    "seven-fine-steps",
    "strong-is-not-light",
    "try-in-first",
    "try-in-for-later",
    "tubes-and-thin-layers",
    "twelve-close-tabs",
    "two-years-later",
    "under-the-bulb",
    "value-ladder",
    "whole-smile",
];

/// `(file name, text)` of the courses that come with the program.
pub const SHIPPED_COURSES: [(&str, &str); 2] = [
    ("lecture-block.ron", include_str!("../../assets/courses/lecture-block.ron")),
    ("student-practical.ron", include_str!("../../assets/courses/student-practical.ron")),
];

/// Mouths and lights whose last smile is kept: a recipe is seen in two lights in turn.
const MOST_MOUTHS: usize = 2;
/// The level that choosing is measured with.
const CHOICE_LEVEL: &str = "blend-value-first.ron";
/// Seed of the first session of "Find it" in a results file; each later one adds one.
const FIND_SEED: u64 = 5001;

/// Levels and materials in use.
#[derive(Debug)]
pub struct Shipped {
    library: Library,
    /// Easy to hard.
    levels: Vec<Level>,
    /// The folder with levels of one's own.
    own_folder: Option<PathBuf>,
    /// What is in it.
    own: RwLock<OwnLevels>,
    /// Courses of one's own, before those that ship.
    own_courses: Vec<Course>,
    /// The smiles baked last in [`MOST_MOUTHS`] mouths and lights, the latest first. Another
    /// restoration of the same tooth is baked alone.
    latest: Mutex<Vec<(Case, BakedScene)>>,
}

/// Levels of one's own, and files that cannot be played.
#[derive(Debug, Default)]
struct OwnLevels {
    /// Easy to hard.
    levels: Vec<Level>,
    faulty: Vec<FaultyFile>,
}

/// Checks level, course and material files, and whether the forms of courses can decide what the
/// courses ask of them. Levels may also refer to the materials in the folder `materials`, courses
/// to the built-in levels, or to those in the folder `levels` instead.
///
/// # Errors
/// [`ContentError::Invalid`] when this build's own materials or those of the folder are faulty.
pub fn check(
    paths: &[PathBuf],
    materials: Option<&Path>,
    levels: Option<&Path>,
) -> Result<CheckReport, ContentError> {
    let base = library(materials, None)?;
    let known = match levels {
        None => built_in_known(&base)?,
        Some(folder) => {
            let mut known = KnownMaterials::of(&base);
            // What is wrong with them is said where they are among the files to be checked.
            let report = load::check(&[folder.to_owned()], &known);
            report.levels.iter().for_each(|(_, level)| known.add_level(level));
            known
        }
    };
    let mut report = load::check(paths, &known);
    let mut found = Vec::new();
    for (file, course) in &report.courses {
        for CourseFault { path, message, help } in course_faults(course) {
            found.push(load::mistake_in(file, &path, message, help));
        }
    }
    report.diagnostics.extend(found);
    let mut own = OwnMaterials::default();
    for file in &report.materials {
        report.diagnostics.extend(level::faults_in_use(file, &base));
        load::add_own(&mut own, file);
    }
    if report.errors() > 0 {
        return Ok(report);
    }
    // Levels and cases are for the materials that lie beside them, as with `--materials`.
    let together = base.with_replaced(own).map_err(|e| ContentError::Invalid(e.to_string()))?;
    let is_shipped = materials.is_none()
        && together.measured_ceramics().is_empty()
        && (together.ceramics(), together.cements(), together.tissues())
            == (base.ceramics(), base.cements(), base.tissues());
    for (file, level) in &report.levels {
        // What ships plays with what ships: its own tests lay it out.
        if is_shipped && is_built_in(level) {
            continue;
        }
        if let Some((at, fault)) = exercise::fault_in_use(level, &together) {
            let position = load::place_in(file, &at);
            report.diagnostics.push(in_use(file, position, fault));
        }
    }
    for file in &report.cases {
        let made = load_case(file, &together).map(|loaded| {
            report.diagnostics.extend(loaded.warnings);
            let at = |what: &str| load::place_in(file, what);
            match loaded.value.level(&together) {
                Ok(level) => exercise::fault_in_use(&level, &together)
                    .map(|(_, fault)| in_use(file, at("space"), fault)),
                Err(error) => Some(in_use(file, at(""), error.to_string())),
            }
        });
        match made {
            Ok(fault) => report.diagnostics.extend(fault),
            Err(error) => report.diagnostics.extend(error.diagnostics),
        }
    }
    Ok(report)
}

/// Whether a level is one that comes with the program, as it comes.
fn is_built_in(level: &Level) -> bool {
    let name = format!("{}.ron", level.id);
    let text = SHIPPED_LEVELS.iter().find(|(file, _)| *file == name).map(|(_, text)| *text);
    text.is_some_and(|text| ron_options().from_str::<Level>(text).as_ref() == Ok(level))
}

/// What goes wrong when a sound file is used.
fn in_use(file: &Path, position: Option<Position>, message: String) -> Diagnostic {
    let help = "change what it names, or use other materials with it".to_owned();
    Diagnostic { file: file.to_owned(), position, severity: Severity::Error, message, help }
}

/// The materials that come with the program, with those of a folder of one's own. Tables of optics
/// that do not ship are kept in the folder `tables`, if one is given.
///
/// # Errors
/// [`ContentError::Invalid`] with every fault of the files.
pub fn library(materials: Option<&Path>, tables: Option<PathBuf>) -> Result<Library, ContentError> {
    let invalid = |error: &dyn std::fmt::Display| ContentError::Invalid(error.to_string());
    let own = match materials {
        None => OwnMaterials::default(),
        Some(folder) => {
            let designed = Ceramics::shipped().map_err(|error| invalid(&error))?;
            let own = load::load_own_materials(folder, &designed);
            let own = own.map_err(|error| invalid(&error))?.value;
            unusable(folder, tables.clone())?;
            own
        }
    };
    Library::with_own(own, tables).map_err(|error| invalid(&error))
}

/// Refuses materials of which an entry cannot be had in use, by the entry.
fn unusable(folder: &Path, tables: Option<PathBuf>) -> Result<(), ContentError> {
    let invalid = |error: &dyn std::fmt::Display| ContentError::Invalid(error.to_string());
    let base = Library::with_own(OwnMaterials::default(), tables).map_err(|e| invalid(&e))?;
    let files = load::check(&[folder.to_owned()], &KnownMaterials::of(&base)).materials;
    let faults = files.iter().flat_map(|file| level::faults_in_use(file, &base));
    let faults: Vec<String> = faults
        .filter(|fault| fault.severity == Severity::Error)
        .map(|fault| fault.to_string())
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(ContentError::Invalid(faults.join("\n"))) }
}

/// A course by its id, of the folder `courses` or of those that ship, or the course of a file. It may
/// refer to the built-in levels, or to those in the folder `levels` instead.
///
/// # Errors
/// [`ContentError`] with every fault of the files, or when no course has this name.
pub fn course(name: &str, options: &Options) -> Result<Course, ContentError> {
    loaded(options)?.course(name)
}

/// The courses in a folder, and those that come with the program and are not there. They may refer to
/// the built-in levels, or to those in the folder `levels` instead.
///
/// # Errors
/// [`ContentError::Invalid`] with every fault of the files.
pub fn courses(options: &Options) -> Result<Vec<Course>, ContentError> {
    let mut courses: Vec<Course> = Vec::new();
    for course in loaded(options)?.courses() {
        if !courses.iter().any(|own| own.id == course.id) {
            courses.push(course);
        }
    }
    Ok(courses)
}

/// The levels and courses that the options name.
fn loaded(options: &Options) -> Result<Shipped, ContentError> {
    let (levels, materials) = (options.levels.as_deref(), options.materials.as_deref());
    let content = Shipped::load_all(levels, materials, None)?;
    match &options.courses {
        Some(folder) => content.with_courses(folder),
        None => Ok(content),
    }
}

/// That a level's id is another one's.
fn taken_id(file: &Path, id: &str) -> String {
    format!(
        "{}: another level, such as one that comes with the program, has the id \"{id}\"\n    help: give \
         the file and its level another id",
        printable::path(file)
    )
}

/// What keeps the forms of a course from being made, or from deciding what it asks of them: nothing
/// of it can be seen in the file alone.
#[must_use]
pub fn faults_of_forms(course: &Course) -> Vec<String> {
    let fault = |fault: CourseFault| {
        format!("course {}, {}: {}; {}", course.id, fault.path, fault.message, fault.help)
    };
    course_faults(course).into_iter().map(fault).collect()
}

/// What levels and courses may refer to.
fn built_in_known(library: &Library) -> Result<KnownMaterials, ContentError> {
    let mut known = KnownMaterials::of(library);
    for level in built_in(&known)? {
        known.add_level(&level);
    }
    Ok(known)
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
            latest: Mutex::new(Vec::new()),
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
        content.look_again();
        Ok(content)
    }

    fn own(&self) -> RwLockReadGuard<'_, OwnLevels> {
        self.own.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// Reads the files in the folder with levels of one's own. An id that a built-in level has is a
    /// fault.
    fn read_own(&self) -> OwnLevels {
        let Some(folder) = self.own_folder.as_deref() else { return OwnLevels::default() };
        // The built-in folder need not be there; one that was asked for must.
        if !folder.exists() && !self.levels.is_empty() {
            return OwnLevels::default();
        }
        let report = load::check(&[folder.to_owned()], &KnownMaterials::of(&self.library));
        let mut own = OwnLevels::default();
        for fault in report.diagnostics.iter().filter(|d| d.severity == Severity::Error) {
            own.add_fault(&fault.file, fault.to_string());
        }
        for (file, level) in report.levels {
            if own.faulty.iter().any(|faulty| faulty.file == file) {
                continue;
            }
            if self.levels.iter().any(|known| known.id == level.id) {
                let fault = taken_id(&file, &level.id);
                own.add_fault(&file, fault);
            } else {
                own.levels.push(level);
            }
        }
        own.levels.sort_by(|a, b| (a.difficulty, &a.id).cmp(&(b.difficulty, &b.id)));
        own
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
    fn known(&self) -> KnownMaterials {
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
    fn log_table_warnings(&self) {
        for warning in self.library.tables().take_warnings() {
            warn!("{}", printable::one_line(&warning.to_string()));
        }
    }

    fn latest(&self) -> MutexGuard<'_, Vec<(Case, BakedScene)>> {
        // A panic elsewhere does not make a finished smile wrong.
        self.latest.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A smile baked lately and the restored tooth, where `case` is the same mouth in the same light
    /// with another restoration of that tooth.
    fn same_but_for_one_restoration(&self, case: &Case) -> Option<(BakedScene, Tooth)> {
        let tooth = only_restoration(case)?;
        let natural = without_restoration(case);
        let latest = self.latest();
        let (_, scene) = latest.iter().find(|(before, _)| {
            only_restoration(before) == Some(tooth) && without_restoration(before) == natural
        })?;
        Some((scene.clone(), tooth))
    }

    /// The level with this id, or in the file at this path.
    fn level(&self, name: &str) -> Result<Level, ContentError> {
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

impl OwnLevels {
    fn add_fault(&mut self, file: &Path, fault: String) {
        match self.faulty.iter_mut().find(|faulty| faulty.file == file) {
            Some(faulty) => faulty.faults.push(fault),
            None => self.faulty.push(FaultyFile { file: file.to_owned(), faults: vec![fault] }),
        }
    }
}

/// A level as it stands in a list.
fn entry_of(level: &Level) -> LevelEntry {
    LevelEntry {
        id: level.id.clone(),
        title: level.title.clone(),
        teaches: level.teaches.clone(),
        difficulty: level.difficulty,
        trials: level.exercise.trials(),
        exercise: level.exercise.name(),
    }
}

/// The tooth of a case with a single restoration and no other change.
fn only_restoration(case: &Case) -> Option<Tooth> {
    match &case.restorations[..] {
        [one] if case.shift.is_none() => Some(one.tooth),
        _ => None,
    }
}

/// The mouth of a case with every tooth natural.
fn without_restoration(case: &Case) -> Case {
    Case { restorations: Vec::new(), ..case.clone() }
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
        let own = self.own();
        let mut all: Vec<&Level> = self.levels.iter().chain(&own.levels).collect();
        all.sort_by_key(|level| level.difficulty);
        all.into_iter().map(entry_of).collect()
    }

    fn library(&self) -> &Library {
        &self.library
    }

    fn own_folder(&self) -> Option<PathBuf> {
        self.own_folder.clone()
    }

    fn own_levels(&self) -> Vec<String> {
        self.own().levels.iter().map(|level| level.id.clone()).collect()
    }

    fn faulty(&self) -> Vec<FaultyFile> {
        self.own().faulty.clone()
    }

    fn look_again(&self) {
        let found = self.read_own();
        *self.own.write().unwrap_or_else(PoisonError::into_inner) = found;
    }

    fn plan(&self, level: &str, seed: u64, trials: Option<u32>) -> Result<Plan, ContentError> {
        if level == FIND_ID {
            return find_plan(&self.library, seed, trials.unwrap_or(FIND_TRIALS))
                .map_err(|error| ContentError::Bake(error.to_string()));
        }
        level::lower(&self.level(level)?, &self.library, seed, trials)
            .map_err(|error| ContentError::Invalid(error.to_string()))
    }

    fn exercise(&self, level: &str) -> Result<&'static str, ContentError> {
        if level == FIND_ID {
            return Ok("glance");
        }
        self.level(level).map(|level| level.exercise.name())
    }

    fn round(&self, level: &str, seed: u64, questions: Option<u32>) -> Result<Round, ContentError> {
        let round = exercise::lay_out(&self.level(level)?, &self.library, seed, questions);
        self.log_table_warnings();
        round.map_err(|error| ContentError::Invalid(error.to_string()))
    }

    fn choice_measurement(&self, seed: u64) -> Result<ChoiceMeasurement, ContentError> {
        // Of the levels that ship, whichever are in use: what is measured must not depend on them.
        let known = KnownMaterials::of(&self.library);
        let shipped = SHIPPED_LEVELS.iter().find(|(file, _)| *file == CHOICE_LEVEL);
        let (file, text) = shipped.ok_or_else(|| ContentError::UnknownLevel {
            name: CHOICE_LEVEL.to_owned(),
            known: Vec::new(),
        })?;
        let level = load::parse_level(Path::new("levels").join(file), text, &known)
            .map_err(|error| ContentError::Invalid(error.to_string()))?
            .value;
        ChoiceMeasurement::new(level, seed, OptionStop::default())
            .map_err(|error| ContentError::Invalid(error.to_string()))
    }

    fn level_seed(&self, level: &str) -> Result<u64, ContentError> {
        if level == FIND_ID {
            return Ok(FIND_SEED);
        }
        self.level(level).map(|level| level.seed)
    }

    fn courses(&self) -> Vec<Course> {
        let known = self.known();
        let shipped = SHIPPED_COURSES.iter().filter_map(|(file, text)| {
            // One whose levels are not in use cannot be played.
            load::parse_course(*file, text, &known).ok().map(|loaded| loaded.value)
        });
        let shipped: Vec<Course> = shipped.collect();
        let own = self.own_courses.iter().cloned();
        own.chain(shipped).collect()
    }

    fn course(&self, name: &str) -> Result<Course, ContentError> {
        if let Some(course) = self.courses().into_iter().find(|course| course.id == name) {
            return Ok(course);
        }
        let shipped = SHIPPED_COURSES.iter().find(|(file, _)| *file == format!("{name}.ron"));
        let path = Path::new(name);
        let looks_like_a_path =
            path.extension().is_some_and(|e| e == "ron") || path.components().count() > 1;
        let loaded = match shipped {
            // Its levels are not in use.
            Some((file, text)) => load::parse_course(*file, text, &self.known()),
            None if looks_like_a_path || path.is_file() => load::load_course(path, &self.known()),
            None => {
                let known = self.courses().into_iter().map(|course| course.id).collect();
                return Err(ContentError::UnknownCourse { name: name.to_owned(), known });
            }
        };
        loaded.map(|loaded| loaded.value).map_err(|error| ContentError::Invalid(error.to_string()))
    }

    fn form(&self, form: &FormEntry, seat: u64, timing: Timing) -> Result<FormPlan, ContentError> {
        form_plan(&self.library, form.seed, form.per_cell, seat, timing)
            .map_err(|error| ContentError::Invalid(error.to_string()))
    }

    fn compose(&self, request: &SmileRequest) -> Result<ComposedSmile, ContentError> {
        request.compose(&self.library).map_err(|error| ContentError::Bake(error.to_string()))
    }

    fn bake(&self, case: &Case) -> Result<BakedScene, ContentError> {
        let scene = match self.same_but_for_one_restoration(case) {
            // The same to the byte as baking all of it.
            Some((mut scene, tooth)) => scene.rebake(case, tooth, &self.library).map(|()| scene),
            None => bake::bake(case, &self.library),
        };
        self.log_table_warnings();
        let scene = scene.map_err(|error| ContentError::Bake(error.to_string()))?;
        if only_restoration(case).is_some() {
            let natural = without_restoration(case);
            let mut latest = self.latest();
            latest.retain(|(before, _)| without_restoration(before) != natural);
            latest.insert(0, (case.clone(), scene.clone()));
            latest.truncate(MOST_MOUTHS);
        }
        Ok(scene)
    }

    fn chart(
        &self,
        case: &Case,
        name: &str,
        tried: &[(String, Restoration)],
    ) -> Result<Option<BlendChart>, ContentError> {
        let bake = |error: bake::BakeError| ContentError::Bake(error.to_string());
        let Some(of) = ChartCase::furthest(case, &self.library).map_err(bake)? else {
            return Ok(None);
        };
        let chart = blend_chart(&of, name, tried, &self.library);
        self.log_table_warnings();
        chart.map(Some).map_err(bake)
    }

    fn cross_section(&self, case: &Case) -> Result<Option<CrossSection>, ContentError> {
        let Some(restoration) = case.restoration() else { return Ok(None) };
        cross_section(case, restoration, &self.library)
            .map_err(|error| ContentError::Bake(error.to_string()))
    }

    fn cause(&self, case: &Case, scene: &BakedScene, response: Response) -> Option<String> {
        report::explain(case, scene, response, &self.library).ok().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::content::FIRST_HOUR;

    #[test]
    fn every_level_file_is_compiled_in_and_they_go_from_easy_to_hard() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("levels");
        let files = std::fs::read_dir(folder).unwrap().count();
        let content = Shipped::load(None).unwrap();
        assert_eq!(content.levels().len(), files);
        assert!(content.levels().is_sorted_by_key(|level| level.difficulty));
    }

    #[test]
    fn options_of_one_mouth_are_baked_as_if_alone() {
        let content = Shipped::load(None).unwrap();
        let plan = content.plan("first-look", 3, Some(4)).unwrap();
        let first = plan.trials.iter().find(|trial| trial.case.restoration().is_some()).unwrap();
        let mut second = first.case.clone();
        second.restorations[0].ceramic.shade.l += 3.0;
        let alone = bake::bake(&second, content.library()).unwrap();
        content.bake(&first.case).unwrap();
        assert!(content.same_but_for_one_restoration(&second).is_some());
        assert_eq!(content.bake(&second).unwrap(), alone);
        // In another light all of it is baked, and both lights are then kept.
        let mut lamp = second.clone();
        lamp.illuminant = crate::colorimetry::Illuminant::LedB3;
        let in_lamp = bake::bake(&lamp, content.library()).unwrap();
        assert!(content.same_but_for_one_restoration(&lamp).is_none());
        assert_eq!(content.bake(&lamp).unwrap(), in_lamp);
        assert!(content.same_but_for_one_restoration(&lamp).is_some());
        assert_eq!(content.bake(&second).unwrap(), alone);
        assert!(content.same_but_for_one_restoration(&lamp).is_some());
        let mut other = second.clone();
        other.seed += 1;
        assert!(content.same_but_for_one_restoration(&other).is_none());
    }

    #[test]
    fn every_step_of_the_first_hour_is_a_level() {
        let content = Shipped::load(None).unwrap();
        for (id, _) in FIRST_HOUR {
            assert!(content.level_seed(id).is_ok(), "{id}");
        }
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
