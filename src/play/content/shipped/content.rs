//! What can be made of the levels, courses and materials in use.

use super::files::{SHIPPED_COURSES, SHIPPED_LEVELS};
use super::loaded::Shipped;
use crate::bake::cross_section::{CrossSection, cross_section};
use crate::bake::{self, BakedScene};
use crate::chart::{BlendChart, ChartCase, blend_chart};
use crate::exercise::{self, ChoiceMeasurement, Round};
use crate::level::course_format::{Course, FormEntry};
use crate::level::format::Level;
use crate::level::load;
use crate::level::{self, KnownMaterials};
use crate::material::Library;
use crate::measure::{
    ComposedSmile, FIND_ID, FIND_TRIALS, FormPlan, SmileRequest, find_plan, form_plan,
};
use crate::play::content::{Content, ContentError, FaultyFile, LevelEntry};
use crate::psychophysics::OptionStop;
use crate::report;
use crate::scene::{Case, Restoration};
use crate::trial::{Plan, Response, Timing};
use std::path::{Path, PathBuf};

/// The level that choosing is measured with.
const CHOICE_LEVEL: &str = "blend-value-first.ron";
/// Seed of the first session of "Find it" in a results file; each later one adds one.
const FIND_SEED: u64 = 5001;

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
        self.look_at_own();
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
        let scene = self.latest.bake(case, &self.library);
        self.log_table_warnings();
        scene.map_err(|error| ContentError::Bake(error.to_string()))
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
    use crate::play::content::FIRST_HOUR;

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
        assert!(content.latest.same_but_for_one_restoration(&second).is_some());
        assert_eq!(content.bake(&second).unwrap(), alone);
        // In another light all of it is baked, and both lights are then kept.
        let mut lamp = second.clone();
        lamp.illuminant = crate::colorimetry::Illuminant::LedB3;
        let in_lamp = bake::bake(&lamp, content.library()).unwrap();
        assert!(content.latest.same_but_for_one_restoration(&lamp).is_none());
        assert_eq!(content.bake(&lamp).unwrap(), in_lamp);
        assert!(content.latest.same_but_for_one_restoration(&lamp).is_some());
        assert_eq!(content.bake(&second).unwrap(), alone);
        assert!(content.latest.same_but_for_one_restoration(&lamp).is_some());
        let mut other = second.clone();
        other.seed += 1;
        assert!(content.latest.same_but_for_one_restoration(&other).is_none());
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
