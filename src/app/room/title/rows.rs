//! What the level list lists: a guided first hour, levels of one's own, then every exercise with its
//! levels, easy to hard.

use crate::play::around::around;
use crate::play::content::{ActiveContent, EXERCISES, FIRST_HOUR, FaultyFile, LevelEntry};
use crate::play::problem::Problem;
use crate::play::records::{LevelHistory, Records};
use bevy::prelude::*;
use std::collections::BTreeMap;

/// The level list as drawn: read once on entering the screen.
#[derive(Resource, Debug, Default, Clone, PartialEq, Eq)]
pub struct TitleRows {
    /// The levels.
    pub groups: Vec<TitleGroup>,
    /// Files of one's own that cannot be played.
    pub faulty: Vec<FaultyFile>,
    /// The folder for levels of one's own.
    pub own_folder: Option<String>,
    /// Why results are not kept.
    pub unsaved: Option<String>,
}

/// Levels under one heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TitleGroup {
    /// The heading.
    pub title: String,
    /// What is done in it.
    pub what: String,
    /// The levels in order.
    pub rows: Vec<TitleRow>,
}

/// One level and what the results say of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TitleRow {
    /// The level.
    pub level: LevelEntry,
    /// What is written below its title.
    pub words: String,
    /// What the results say.
    pub history: LevelHistory,
    /// Its place in a guided order, from 1.
    pub step: Option<usize>,
}

pub(super) fn list_levels(
    content: Res<ActiveContent>,
    records: Res<Records>,
    mut rows: ResMut<TitleRows>,
    mut problem: ResMut<Problem>,
) {
    let history = records.history().unwrap_or_else(|error| {
        problem.report(error.to_string());
        BTreeMap::new()
    });
    *rows = TitleRows::read(&content, &history, records.unsaved());
}

impl TitleRows {
    /// The list of the levels in use, their files read anew, with what the results say of them and
    /// why results are not kept.
    #[must_use]
    pub fn read(
        content: &ActiveContent,
        history: &BTreeMap<String, LevelHistory>,
        unsaved: Option<&str>,
    ) -> Self {
        content.0.look_again();
        Self {
            groups: grouped(&content.0.levels(), &content.0.own_levels(), history),
            faulty: content.0.faulty(),
            own_folder: content.0.own_folder().map(|folder| folder.display().to_string()),
            unsaved: unsaved.map(str::to_owned),
        }
    }
}

/// The first hour, levels of one's own, then the exercises in their order. `levels` go from easy to
/// hard.
fn grouped(
    levels: &[LevelEntry],
    own: &[String],
    history: &BTreeMap<String, LevelHistory>,
) -> Vec<TitleGroup> {
    let of = |level: &LevelEntry| history.get(&level.id).copied().unwrap_or_default();
    let known = |id: &str| levels.iter().find(|level| level.id == id);
    let steps = FIRST_HOUR.iter().filter_map(|(id, why)| Some((known(id)?, *why)));
    let steps: Vec<TitleRow> = steps
        .enumerate()
        .map(|(index, (level, why))| TitleRow {
            level: level.clone(),
            words: why.to_owned(),
            history: of(level),
            step: Some(index + 1),
        })
        .collect();
    let mut groups = Vec::new();
    if !steps.is_empty() {
        groups.push(TitleGroup {
            title: "Start here".to_owned(),
            what:
                "A guided first hour: from value alone to a single dark central incisor. In order."
                    .to_owned(),
            rows: steps,
        });
    }
    let is_own = |level: &&LevelEntry| own.contains(&level.id);
    let row = |level: &LevelEntry| TitleRow {
        level: level.clone(),
        words: level.teaches.clone(),
        history: of(level),
        step: None,
    };
    let own_rows: Vec<TitleRow> = levels.iter().filter(is_own).map(row).collect();
    if !own_rows.is_empty() {
        groups.push(TitleGroup {
            title: "Your own levels".to_owned(),
            what: "From your folder of levels.".to_owned(),
            rows: own_rows,
        });
    }
    for (exercise, title, what) in EXERCISES {
        let of_it = levels.iter().filter(|level| !is_own(level) && level.exercise == exercise);
        let rows: Vec<TitleRow> = of_it.map(row).collect();
        if !rows.is_empty() {
            groups.push(TitleGroup { title: title.to_owned(), what: what.to_owned(), rows });
        }
    }
    groups
}

/// The row that is to be played next: of the steps, the first not done from the one played last on,
/// then from the beginning; where all are done, the one after it. Without steps, the very first row.
pub(super) fn next_row(groups: &[TitleGroup]) -> Option<(usize, usize)> {
    let first = groups.first()?;
    let steps = first.rows.iter().filter(|row| row.step.is_some()).count();
    let played = (0..steps).filter(|step| first.rows[*step].history.newest.is_some());
    let Some(last) = played.max_by_key(|step| first.rows[*step].history.newest) else {
        return Some((0, 0));
    };
    let mut in_order = (last..steps).chain(0..last);
    let open = in_order.find(|step| !first.rows[*step].history.is_done);
    Some((0, open.unwrap_or_else(|| around(last, 1, steps))))
}

/// The level's title with its step, and whether it is done.
pub(super) fn title_of(row: &TitleRow) -> String {
    let done = if row.history.is_done { " (done)" } else { "" };
    match row.step {
        Some(step) => format!("{step}.  {}{done}", row.level.title),
        None => format!("{}{done}", row.level.title),
    }
}

/// How hard it is and how long.
pub(super) fn facts_of(row: &TitleRow) -> String {
    let level = &row.level;
    let of_what = if level.exercise == "glance" { "smiles" } else { "questions" };
    let facts = format!("{}, {} {of_what}", level.difficulty_in_words(), level.trials);
    let exercise = EXERCISES.iter().find(|(name, ..)| *name == level.exercise);
    match (row.step, exercise) {
        (Some(_), Some((_, title, _))) => format!("{title}, {facts}"),
        _ => facts,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(id: &str, exercise: &'static str) -> LevelEntry {
        LevelEntry {
            id: id.to_owned(),
            title: id.to_owned(),
            teaches: String::new(),
            difficulty: 3,
            trials: 10,
            exercise,
        }
    }

    #[test]
    fn the_first_hour_comes_first_and_points_at_what_is_open() {
        let first_id = FIRST_HOUR[0].0;
        let levels = [level("b", "blend"), level(first_id, "glance"), level("l", "ladder")];
        let mut history = BTreeMap::new();
        let groups = grouped(&levels, &[], &history);
        let titles: Vec<&str> = groups.iter().map(|group| group.title.as_str()).collect();
        assert_eq!(titles, ["Start here", "Glance", "Ladder", "Blend"]);
        assert_eq!(next_row(&groups), Some((0, 0)));
        let done = LevelHistory { is_done: true, unfinished: None, newest: Some(1) };
        history.insert(first_id.to_owned(), done);
        let groups = grouped(&levels, &[], &history);
        assert!(title_of(&groups[0].rows[0]).ends_with("(done)"));
        assert_eq!(groups[0].rows.len(), 1, "steps without a level are left out");
        assert_eq!(grouped(&[], &[], &history), []);
        assert_eq!(next_row(&[]), None);
    }

    #[test]
    fn after_a_step_comes_the_next_whatever_was_left_out_before() {
        let levels: Vec<LevelEntry> =
            FIRST_HOUR.iter().map(|(id, _)| level(id, "glance")).collect();
        let mut history = BTreeMap::new();
        let next = |history: &BTreeMap<String, LevelHistory>| {
            next_row(&grouped(&levels, &[], history)).unwrap().1
        };
        let mut play = |step: usize, number, is_done: bool| {
            let unfinished = (!is_done).then_some(2);
            let played = LevelHistory { unfinished, is_done, newest: Some(number) };
            history.insert(FIRST_HOUR[step].0.to_owned(), played);
            next(&history)
        };
        // Only the third was played.
        assert_eq!(play(2, 1, true), 3);
        // One that was left half-way is gone on with.
        assert_eq!(play(3, 2, false), 3);
        assert_eq!(play(0, 3, true), 1);
        for step in 0..FIRST_HOUR.len() {
            play(step, 10 + step as i64, true);
        }
        assert_eq!(play(2, 40, true), 3, "all are done");
    }
}
