//! The shipped practical, and a group of simulated learners who take it.

use second_glance::course::{
    CourseData, FormTruth, SimulatedGroup, SimulatedLearner, simulate_hand_ins,
};
use second_glance::level::KnownMaterials;
use second_glance::level::course_format::Course;
use second_glance::level::load::parse_course;
use second_glance::results::Store;
use std::path::Path;
use std::sync::Mutex;

/// The shipped practical.
pub fn practical() -> Course {
    let levels = ["first-look", "dark-tooth-thin-veneer", "opaque-and-light"];
    let known =
        KnownMaterials { levels: levels.map(str::to_owned).into(), ..KnownMaterials::default() };
    let text = include_str!("../../../assets/courses/student-practical.ron");
    parse_course("student-practical.ron", text, &known).unwrap().value
}

/// Simulates the hand-ins of a group, gathers them and reads what was gathered.
pub fn run(group: &SimulatedGroup, folder: &Path) -> (CourseData, Vec<SimulatedLearner>) {
    let course = practical();
    let learners = group.draw(course.phases().len());
    let files = simulate_hand_ins(&course, &learners, "2026-01-31", folder, &mut |_| {}).unwrap();
    let mut store = Store::open(&folder.join("gathered")).unwrap();
    let gathered = store
        .gather(&files, Some(&course.id), &FormTruth::new(vec![course.clone()]), &mut |_| {})
        .unwrap();
    assert_eq!((gathered.taken.len(), gathered.refused.len()), (learners.len(), 0));
    let seen = Mutex::new(Vec::new());
    let data =
        CourseData::read(&store, Some(&course.id), &|p| seen.lock().unwrap().push(p)).unwrap();
    let seen = seen.into_inner().unwrap();
    assert!(seen.windows(2).all(|w| w[0] <= w[1]) && seen.last() == Some(&1.0), "{seen:?}");
    (data, learners)
}
