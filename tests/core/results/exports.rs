//! Exports: nothing is lost, and files are what their standards ask for.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::answers;
use crate::shared::sessions::{exam, info, rows, sqlite, store_rows};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use second_glance::results::{
    ColumnKind, ExportError, Selection, SessionInfo, Store, Table, data_dictionary,
};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use tempfile::tempdir;

/// Two learners of a course and practice of nobody in particular; trials and questions, sessions
/// resumed.
fn store(dir: &Path) -> Store {
    let store = Store::open(dir).unwrap();
    let (plan, trials) = rows(20);
    store_rows(&store, store.begin(&info(&plan)).unwrap(), &trials);
    for learner in ["0000000a", "0000000b"] {
        let recording = store.begin(&exam(learner, "practical", "pre")).unwrap();
        store_rows(&store, recording, &trials[..12]);
        store_rows(&store, store.resume(recording.session).unwrap(), &trials[12..]);
    }
    // Questions: one round of nobody in particular, one of a learner, resumed.
    let round = answers::rows(15);
    answers::store_rows(&store, store.begin(&answers::info(15)).unwrap(), &round);
    let whose = serde_json::json!({ "course": "practical", "learner": "0000000b", "seat": 1 });
    let settings = serde_json::json!({ "course": whose });
    let recording = store.begin(&SessionInfo { settings, ..answers::info(14) }).unwrap();
    answers::store_rows(&store, recording, &round[..5]);
    answers::store_rows(&store, store.resume(recording.session).unwrap(), &round[5..14]);
    store
}

/// The export as text fields.
fn table(bytes: &[u8], delimiter: u8) -> Vec<Vec<String>> {
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).from_reader(bytes);
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[test]
fn parquet_and_back_loses_nothing() {
    let dir = tempdir().unwrap();
    let store = store(dir.path());
    for (table, rows) in [(Table::Trials, 60), (Table::Answers, 29)] {
        round_trip(&store, table, rows, &dir.path().join(format!("{}.parquet", table.name())));
    }
}

/// Every value of the Parquet file is that of the CSV export.
fn round_trip(store: &Store, exported: Table, rows: usize, path: &Path) {
    let columns = exported.columns();
    let mut csv = Vec::new();
    let written = store.export_table(exported, Selection::default(), b',', &mut csv).unwrap();
    assert_eq!(written, rows as u64);
    let expected = table(&csv, b',');
    let file = fs::File::create(path).unwrap();
    assert_eq!(store.export_parquet(exported, Selection::default(), file).unwrap(), written);

    let reader = SerializedFileReader::new(fs::File::open(path).unwrap()).unwrap();
    let described = reader.metadata().file_metadata().key_value_metadata().unwrap();
    assert!(columns.iter().all(|c| described.iter().any(|kv| kv.key == c.name)));
    let (mut compared, mut missing) = (0, 0);
    for (row, expected) in reader.get_row_iter(None).unwrap().zip(&expected[1..]) {
        let row = row.unwrap();
        for (((name, value), column), expected) in row.get_column_iter().zip(columns).zip(expected)
        {
            assert_eq!(name, column.name);
            let text = match value {
                Field::Null => {
                    missing += 1;
                    "n/a".to_owned()
                }
                Field::Long(number) => {
                    assert_eq!(column.kind(), ColumnKind::Integer, "{name}");
                    number.to_string()
                }
                // To the last bit: text of a double reads back as the same double.
                Field::Double(number) => {
                    assert_eq!(column.kind(), ColumnKind::Real, "{name}");
                    assert_eq!(
                        expected.parse::<f64>().unwrap().to_bits(),
                        number.to_bits(),
                        "{name}"
                    );
                    expected.clone()
                }
                Field::Str(text) => text.clone(),
                other => panic!("{name}: {other:?}"),
            };
            assert_eq!(&text, expected, "{name}");
            compared += 1;
        }
    }
    assert_eq!(compared, rows * columns.len());
    assert!(missing > 0, "the rows have missing values");
}

#[test]
fn every_stored_column_is_exported() {
    let dir = tempdir().unwrap();
    drop(store(dir.path()));
    for table in Table::ALL {
        let stored: Vec<String> = sqlite(dir.path())
            .prepare("SELECT name FROM pragma_table_info(?1)")
            .unwrap()
            .query_map([table.name()], |row| row.get(0))
            .unwrap()
            .map(Result::unwrap)
            .collect();
        assert!(stored.len() > 15, "{stored:?}");
        let exported: BTreeSet<String> =
            table.columns().iter().map(|c| c.name.to_lowercase()).collect();
        // The row number of the file says nothing; "response" is the clearer name of an answer.
        let missing: Vec<&String> = stored
            .iter()
            .filter(|c| *c != "id" && *c != "answer" && !exported.contains(*c))
            .collect();
        assert!(missing.is_empty(), "{missing:?}");
    }
}

#[test]
fn the_dictionary_comes_from_the_schema() {
    let text = data_dictionary();
    let rows = table(text.as_bytes(), b',');
    assert_eq!(rows[0], ["table", "column", "unit", "type", "meaning"]);
    let columns = Table::ALL.map(|t| t.columns().iter().map(move |column| (t, column)));
    let columns: Vec<_> = columns.into_iter().flatten().collect();
    assert_eq!(rows.len(), columns.len() + 1);
    for (row, (table, column)) in rows[1..].iter().zip(columns) {
        let kind = format!("{:?}", column.kind()).to_lowercase();
        assert_eq!(row, &[table.name(), column.name, column.unit, &kind, column.meaning]);
        assert!(!column.meaning.is_empty());
    }
}

#[test]
fn behavioural_events_are_laid_out_as_the_standard_says() {
    let dir = tempdir().unwrap();
    let store = store(&dir.path().join("store"));
    let folder = dir.path().join("bids");
    // Trials: one session without a course in one run, two learners' in two runs each. Questions: a
    // round in one run and a learner's in two.
    assert_eq!(store.export_bids(&folder, None, "0.1.0").unwrap(), 8);
    let description: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.join("dataset_description.json")).unwrap())
            .unwrap();
    assert!(description["Name"].is_string() && description["BIDSVersion"].is_string());
    let participants = fs::read_to_string(folder.join("participants.tsv")).unwrap();
    assert_eq!(participants, "participant_id\nsub-0000000a\nsub-0000000b\nsub-local\n");
    let beh = folder.join("sub-0000000b/ses-01/beh");
    let name = "sub-0000000b_ses-01_task-glance_run-02_events";
    let events = fs::read(beh.join(format!("{name}.tsv"))).unwrap();
    let events = table(&events, b'\t');
    assert_eq!(events[0][..2], ["onset", "duration"]);
    assert_eq!(events.len(), 9, "8 trials after the pause");
    let sidecar: serde_json::Value =
        serde_json::from_slice(&fs::read(beh.join(format!("{name}.json"))).unwrap()).unwrap();
    for column in &events[0] {
        assert!(sidecar[column]["Description"].is_string(), "{column}");
    }
    assert_eq!(sidecar["StimulusPresentation"]["ScreenRefreshRate"], 59.94);
    // Questions of the same learner, in the next session.
    let beh = folder.join("sub-0000000b/ses-02/beh");
    let name = "sub-0000000b_ses-02_task-blend_run-02_events";
    let events = table(&fs::read(beh.join(format!("{name}.tsv"))).unwrap(), b'\t');
    assert_eq!(
        (events[0][..2].to_vec(), events.len()),
        (vec!["onset".into(), "duration".into()], 10)
    );
    let sidecar: serde_json::Value =
        serde_json::from_slice(&fs::read(beh.join(format!("{name}.json"))).unwrap()).unwrap();
    for column in &events[0] {
        assert!(sidecar[column]["Description"].is_string(), "{column}");
    }
    // Never over what is there.
    assert!(matches!(store.export_bids(&folder, None, "0"), Err(ExportError::NotEmpty(_))));
    let one = dir.path().join("one");
    assert_eq!(store.export_bids(&one, Some("0000000a"), "0.1.0").unwrap(), 2);
    assert!(!one.join("sub-local").exists() && !one.join("sub-0000000b").exists());
    keep(&folder, "bids");
}

/// The rules whose breach the validator of Psych-DS calls an error (schema 1.5.1 of
/// psych-ds/psych-DS, `rules/errors.yaml` and `rules/files`): required keys and type, names of
/// files, headers, rows of one length, and columns and variables that match both ways.
fn keeps_the_rules_of_psych_ds(folder: &Path) {
    let description: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.join("dataset_description.json")).unwrap())
            .unwrap();
    assert_eq!(description["@context"], "https://schema.org/");
    assert_eq!(description["@type"], "Dataset");
    for key in ["name", "description"] {
        assert!(description[key].as_str().is_some_and(|text| !text.is_empty()), "{key}");
    }
    assert!(folder.join("README.md").is_file());
    let variables = description["variableMeasured"].as_array().unwrap();
    let named: BTreeSet<&str> = variables.iter().map(|v| v["name"].as_str().unwrap()).collect();
    assert_eq!(named.len(), variables.len(), "no variable twice");
    let mut columns: BTreeSet<String> = BTreeSet::new();
    for entry in fs::read_dir(folder.join("data")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let stem = name.strip_suffix("_data.csv").unwrap_or_else(|| panic!("{name}"));
        for pair in stem.split('_') {
            let (keyword, value) = pair.split_once('-').unwrap_or_else(|| panic!("{name}"));
            assert!(
                !keyword.is_empty() && keyword.bytes().all(|b| b.is_ascii_lowercase()),
                "{name}"
            );
            assert!(
                !value.is_empty() && value.bytes().all(|b| b.is_ascii_alphanumeric()),
                "{name}"
            );
            let official = ["study", "subject", "session", "task", "description"];
            assert!(official.contains(&keyword), "{name}");
        }
        // The reader refuses rows of another length than the header's.
        let rows = table(&fs::read(&path).unwrap(), b',');
        assert!(rows.len() > 1, "{name}");
        columns.extend(rows[0].iter().cloned());
    }
    let columns: BTreeSet<&str> = columns.iter().map(String::as_str).collect();
    assert_eq!(columns, named);
}

#[test]
fn psych_ds_names_the_columns_there_are() {
    let dir = tempdir().unwrap();
    let store = store(&dir.path().join("store"));
    let folder = dir.path().join("psych-ds");
    assert_eq!(store.export_psych_ds(&folder, None, "0.1.0").unwrap(), 5);
    keeps_the_rules_of_psych_ds(&folder);
    // A learner who answered no questions has no columns of questions.
    let one = dir.path().join("one");
    assert_eq!(store.export_psych_ds(&one, Some("0000000a"), "0.1.0").unwrap(), 1);
    keeps_the_rules_of_psych_ds(&one);
    keep(&folder, "psych-ds");
}

/// Keeps an export to be looked at, where `SECOND_GLANCE_KEEP` names a folder.
fn keep(export: &Path, name: &str) {
    if let Some(folder) = std::env::var_os("SECOND_GLANCE_KEEP") {
        fs::rename(export, Path::new(&folder).join(name)).unwrap();
    }
}

#[test]
fn an_export_of_nothing_says_so_and_leaves_no_folder() {
    let dir = tempdir().unwrap();
    let empty = Store::open(&dir.path().join("none")).unwrap();
    let said = |result: Result<u64, ExportError>| {
        let error = result.unwrap_err();
        assert!(matches!(error, ExportError::Nothing { .. }), "{error}");
        error.to_string()
    };
    for (number, learner) in [None, Some("0000000a")].into_iter().enumerate() {
        let out = dir.path().join(format!("out-{number}"));
        let told = said(empty.export_bids(&out, learner, "0.1.0"));
        assert!(told.contains("holds no trials and no answers"), "{told}");
        assert_eq!(told.contains("of learner 0000000a"), learner.is_some(), "{told}");
        said(empty.export_psych_ds(&out, learner, "0.1.0"));
        assert!(!out.exists(), "a folder without data");
    }
    let some = store(&dir.path().join("some"));
    let of = |learner| Selection { learner: Some(learner), ..Selection::default() };
    some.some_rows(Table::Trials, of("0000000a")).unwrap();
    some.some_rows(Table::Answers, of("0000000b")).unwrap();
    // Learner a answered no question, and c is nobody.
    let told = said(some.some_rows(Table::Answers, of("0000000a")).map(|()| 0));
    assert!(told.contains("no answers to questions of learner 0000000a"), "{told}");
    said(some.some_rows(Table::Trials, of("0000000c")).map(|()| 0));
}
