//! What honest seats hand in is taken: once, from earlier versions, and by what most of them saw.

use super::{Class, TRIALS, gather, said_in_turn};
use second_glance::bake::bake;
use second_glance::course::{CourseData, Form, FormTruth};
use second_glance::material::Library;
use second_glance::measure::SmileRequest;
use second_glance::results::{ItemClaim, ItemTruth, Store};
use second_glance::scene::Tooth;
use std::fs;
use tempfile::tempdir;

#[test]
fn a_hand_in_counts_once_however_often_and_under_whatever_name_it_comes() {
    let class = Class::new();
    let mine = class.packed("mine", &class.results, |_| {});
    let again = class.packed("again", &class.results, |_| {});
    let changed = class.altered(
        "changed",
        "UPDATE trial SET response_time = response_time + 1 WHERE session = 1 AND trial < 3;
         UPDATE session SET build = '0.0.0' WHERE id = 2",
    );
    let folder = tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let gathered = gather(&mut store, &[mine.clone(), again, changed, mine]);
    let counts: Vec<_> = gathered.taken.iter().map(|t| (t.new_trials, t.known_trials)).collect();
    assert_eq!(counts, [(TRIALS, 0), (0, TRIALS), (0, TRIALS)]);
    let said: Vec<String> = gathered.refused.iter().map(|(_, e)| e.to_string()).collect();
    said_in_turn(&said, &["4 of its trials differ from those gathered before"]);
    let trials = store.trials(1).unwrap();
    assert!(trials.iter().all(|t| t.outcome.response_time_s.is_none_or(|s| s < 2.3)));
    assert!(store.sessions().unwrap().iter().all(|s| s.info.build != "0.0.0"));
}

/// Versions of the schema that the store has accepted since: their tables and columns that were not
/// there yet come on the way.
#[test]
fn hand_ins_of_earlier_versions_are_read() {
    let class = Class::new();
    let without = |name: &str, version: u32, tables: &[&str]| {
        let drop: String = tables.iter().map(|table| format!("DROP TABLE {table};")).collect();
        let path = class.altered(name, &format!("{drop} PRAGMA user_version = {version}"));
        // The manifest of that version says so.
        let mut archive = tar::Archive::new(fs::File::open(&path).unwrap());
        let mut results = Vec::new();
        let mut entry = archive.entries().unwrap().nth(1).unwrap().unwrap();
        std::io::Read::read_to_end(&mut entry, &mut results).unwrap();
        class.packed(name, &results, |manifest| manifest.schema = version)
    };
    for file in [
        without("5", 5, &["sitting_log"]),
        without("4", 4, &["sitting_log", "answer"]),
        without("3", 3, &["sitting_log", "answer", "measured_trial", "measurement"]),
    ] {
        let folder = tempdir().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let gathered = gather(&mut store, &[file]);
        assert!(gathered.refused.is_empty(), "{:?}", gathered.refused);
        assert_eq!(gathered.taken[0].new_trials, TRIALS);
        assert_eq!(store.trials(1).unwrap().len(), 64);
    }
}

/// What one seat says about a smile decides nothing for the others.
#[test]
fn what_most_seats_saw_is_what_an_item_was() {
    let class = Class::new();
    // First in the store, and unlike everybody: residuals and exposures of its own.
    let odd = class.altered(
        "odd",
        "UPDATE trial SET u_resid = '[9,9,9,9,9,9,9,9,9,9]', t_mask = t_on + 9000, t_resp = t_on + 9001",
    );
    let folder = tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let files = [vec![odd], class.honest.clone()].concat();
    assert_eq!(gather(&mut store, &files).refused.len(), 0);
    let data = CourseData::read(&store, None, &|_| {}).unwrap();
    assert_eq!(data.forms.len(), 2);
    for form in &data.forms {
        assert!(form.items.iter().flatten().all(|item| item.exposure_s == 2.5));
        assert!(form.items.iter().flatten().all(|item| item.residuals_de00[0] != 9.0));
        assert_eq!(form.unlike, 64, "the odd one's");
    }
}

/// A smile as the program makes it is what its form says; the tolerances hold for real ones.
#[test]
fn smiles_made_for_a_form_are_believed() {
    let library = Library::shipped().unwrap();
    let form = Form::new(1, 1).unwrap();
    let truth = FormTruth::default();
    let signals = form.items.iter().filter(|item| item.signal.is_some());
    for item in signals.step_by(7) {
        let request = SmileRequest::exam(form.stimulus(0, item), form.seed);
        let smile = request.compose(&library).unwrap();
        let signal = item.signal.unwrap();
        let found = bake(&smile.planned.case, &library).unwrap().truth.unwrap();
        let at = Tooth::arch(10).iter().position(|t| *t == found.tooth).unwrap() as u32 + 1;
        let key = form.seed_key(0, item);
        let claim = ItemClaim {
            course: "c",
            form: Some("a"),
            session_seed: form.seed,
            planned: 21,
            trial: 3,
            block: 0,
            seed_key: &key,
            n_teeth: 10,
            target: at,
            tooth: Some(found.tooth),
            named: None,
            difference: Some(found.difference),
            residuals: 10,
        };
        assert_eq!(truth.item(&claim), Ok(item.number), "{signal:?} {:?}", found.difference);
    }
}
