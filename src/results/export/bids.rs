//! Behavioural events as the Brain Imaging Data Structure has them: a tab-separated table and a
//! JSON sidecar for every run.

use super::folder::{fresh, write, write_json};
use super::{ExportError, Selection, Table};
use crate::results::store::Store;
use serde_json::{Map, Value, json};
use std::path::Path;

/// The version of the standard that is written.
const BIDS_VERSION: &str = "1.10.0";
/// How it writes units that we write otherwise; `None` for what is no unit.
fn unit(unit: &str) -> Option<&str> {
    match unit {
        "s" | "ms" | "Hz" => Some(unit),
        _ => None,
    }
}

impl Store {
    /// Writes all sessions, or one learner's, to `folder`, which must be empty or new. Returns the
    /// number of runs.
    ///
    /// # Errors
    /// [`ExportError`] when reading or writing fails or the folder is not empty.
    ///
    /// # References
    /// Brain Imaging Data Structure specification, "Behavioral experiments" and "Task events".
    pub fn export_bids(
        &self,
        folder: &Path,
        learner: Option<&str>,
        build: &str,
    ) -> Result<u64, ExportError> {
        let sessions = self.some_named_sessions(learner)?;
        fresh(folder)?;
        self.note_counted()?;
        write_json(
            &folder.join("dataset_description.json"),
            &json!({
                "Name": "Second Glance results",
                "BIDSVersion": BIDS_VERSION,
                "DatasetType": "raw",
                "GeneratedBy": [{ "Name": "second-glance", "Version": build }],
            }),
        )?;
        write(&folder.join("README"), README.as_bytes())?;
        let mut subjects: Vec<&str> = sessions.iter().map(|s| s.subject.as_str()).collect();
        subjects.sort_unstable();
        subjects.dedup();
        let list: String = subjects.iter().map(|subject| format!("sub-{subject}\n")).collect();
        let participants = format!("participant_id\n{list}");
        write(&folder.join("participants.tsv"), participants.as_bytes())?;
        let mut runs = 0;
        for named in &sessions {
            for (index, (which, run)) in named.runs.iter().enumerate() {
                let (subject, number) = (&named.subject, named.number);
                let name = format!(
                    "sub-{subject}_ses-{number:02}_task-{}_run-{:02}_events",
                    named.task,
                    index + 1
                );
                let beh = folder.join(format!("sub-{subject}/ses-{number:02}/beh"));
                let selection =
                    Selection { session: Some(named.session), run: Some(*run), learner: None };
                let mut table = Vec::new();
                self.write_table(*which, selection, b'\t', &mut table)?;
                write(&beh.join(format!("{name}.tsv")), &table)?;
                write_json(
                    &beh.join(format!("{name}.json")),
                    &sidecar(*which, &named.task, build, named.refresh_hz),
                )?;
                runs += 1;
            }
        }
        Ok(runs)
    }
}

const README: &str = "Second Glance results.\n\n\
Each run is one session of an exercise: a restored tooth is looked for in a rendered smile, or\n\
questions about restorations are answered.\n\
Subjects are random ids; the list of names, if there is one, is not part of this data set.\n\
Columns are described in the JSON file beside each table.\n";

fn sidecar(table: Table, task: &str, build: &str, refresh_hz: f64) -> Value {
    let mut fields = Map::new();
    fields.insert("TaskName".to_owned(), json!(task));
    fields.insert("TaskDescription".to_owned(), json!(task_in_words(task)));
    fields.insert(
        "StimulusPresentation".to_owned(),
        json!({
            "SoftwareName": "second-glance",
            "SoftwareVersion": build,
            "ScreenRefreshRate": refresh_hz,
        }),
    );
    for column in table.columns() {
        let mut description = json!({ "Description": column.meaning });
        if let Some(unit) = unit(column.unit) {
            description["Units"] = json!(unit);
        } else if !["text", "int", "id", "json", "hex"].contains(&column.unit) {
            description["Description"] = json!(format!("{} ({})", column.meaning, column.unit));
        }
        fields.insert(column.name.to_owned(), description);
    }
    Value::Object(fields)
}

/// What is done in an exercise, by its label.
fn task_in_words(task: &str) -> &'static str {
    match task {
        "glance" => {
            "A rendered smile is seen for a set time and masked; which tooth is restored, if any?"
        }
        "findit" => "A rendered smile stays until the restored tooth is pointed at.",
        "blend" => {
            "Several restorations of one tooth are compared; which is best, which are acceptable?"
        }
        "ladder" => "Two patches; which is lighter?",
        "match" => "A tooth beside shade tabs; which tab is nearest?",
        "twolights" => "A restoration chosen in one light is judged in another.",
        "bench" => "A restoration is composed from ceramic, thickness and cement.",
        "tryin" => "What does each cement do to a restoration?",
        "bracket" => "Which two restorations to make when the prepared tooth is not known exactly?",
        "margin" => "Which restoration hides its margin?",
        "verdict" => "Accept a restoration or make it again?",
        _ => "An exercise of seeing tooth colour in rendered smiles.",
    }
}
