//! A million stored trials: gathering hand-ins and writing the report, with the time of each step
//! and the largest memory used. On two cores together at most 30 s and 1 GB.
//!
//! `cargo bench --no-default-features --bench course [-- LEARNERS]`

#![expect(clippy::unwrap_used, reason = "a bench may panic")]

use second_glance::course::{CourseData, FormTruth, SimulatedGroup, simulate_hand_ins};
use second_glance::level::KnownMaterials;
use second_glance::level::load::parse_course;
use second_glance::report::{CourseReportOptions, course_report};
use second_glance::results::{Selection, Store, Table};
use std::fs::File;
use std::time::Instant;

/// Twice 64 answers each: 1,000,064 trials.
const LEARNERS: u32 = 7813;
const LIMIT_S: f64 = 30.0;
const LIMIT_MIB: f64 = 1024.0;

/// Largest resident memory of this process so far, MiB; 0 where the system does not say.
fn peak_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let kib = line.and_then(|line| line.split_whitespace().nth(1)?.parse::<f64>().ok());
    kib.unwrap_or(0.0) / 1024.0
}

fn main() {
    let learners = std::env::args().skip(1).find_map(|a| a.parse().ok()).unwrap_or(LEARNERS);
    let levels = ["first-look", "dark-tooth-thin-veneer", "opaque-and-light"];
    let known =
        KnownMaterials { levels: levels.map(str::to_owned).into(), ..KnownMaterials::default() };
    let text = include_str!("../../assets/courses/student-practical.ron");
    let course = parse_course("student-practical.ron", text, &known).unwrap().value;
    let dir = tempfile::tempdir().unwrap();
    let group = SimulatedGroup { learners, ..SimulatedGroup::default() };
    let start = Instant::now();
    let people = group.draw(2);
    let files = simulate_hand_ins(&course, &people, "2026-01-31", dir.path(), &mut |_| {}).unwrap();
    println!("{} hand-ins simulated in {:.1} s", files.len(), start.elapsed().as_secs_f64());

    let start = Instant::now();
    let mut store = Store::open(&dir.path().join("gathered")).unwrap();
    let gathered = store
        .gather(&files, Some(&course.id), &FormTruth::new(vec![course.clone()]), &mut |_| {})
        .unwrap();
    assert_eq!(gathered.taken.len(), files.len());
    let gather_s = start.elapsed().as_secs_f64();
    let data = CourseData::read(&store, Some(&course.id), &|_| {}).unwrap();
    let read_s = start.elapsed().as_secs_f64() - gather_s;
    let options = CourseReportOptions {
        course: Some(&course),
        shared: false,
        pages: true,
        day: "2026-02-01",
    };
    let html = course_report(&data, &options, &|_| {});
    let whole_s = start.elapsed().as_secs_f64();
    let mib = peak_mib();
    println!(
        "{} trials: gather {gather_s:.1} s, read and estimate {read_s:.1} s, report {:.1} s \
         ({:.1} MB); together {whole_s:.1} s, {mib:.0} MiB",
        data.trials,
        whole_s - gather_s - read_s,
        html.len() as f64 / 1e6,
    );
    let start = Instant::now();
    let path = dir.path().join("trials.parquet");
    let rows = store
        .export_parquet(Table::Trials, Selection::default(), File::create(&path).unwrap())
        .unwrap();
    let size = std::fs::metadata(&path).unwrap().len();
    println!(
        "{rows} rows to Parquet in {:.1} s, {:.0} MB; {:.0} MiB at most",
        start.elapsed().as_secs_f64(),
        size as f64 / 1e6,
        peak_mib()
    );
    assert!(whole_s <= LIMIT_S, "{whole_s} s");
    assert!(mib <= LIMIT_MIB, "{mib} MiB");
}
