//! A Psych-DS data set: a CSV file per session and a description that names every column.

use super::folder::{fresh, write, write_json};
use super::{ExportError, Selection, Table, data_dictionary};
use crate::results::columns::Column;
use crate::results::store::Store;
use serde_json::{Value, json};
use std::path::Path;

impl Store {
    /// Writes all sessions, or one learner's, to `folder`, which must be empty or new. Returns the
    /// number of files.
    ///
    /// # Errors
    /// [`ExportError`] when reading or writing fails or the folder is not empty.
    ///
    /// # References
    /// Psych-DS 1.5.1, <https://psych-ds.github.io>: `data/…_data.csv` with keywords in the name, and
    /// `dataset_description.json` in the vocabulary of schema.org, which names the columns of the
    /// files and no others.
    pub fn export_psych_ds(
        &self,
        folder: &Path,
        learner: Option<&str>,
        build: &str,
    ) -> Result<u64, ExportError> {
        let sessions = self.some_named_sessions(learner)?;
        fresh(folder)?;
        self.note_counted()?;
        write(&folder.join("README.md"), README.as_bytes())?;
        write(&folder.join("dictionary.csv"), data_dictionary().as_bytes())?;
        let mut files = 0;
        let mut written = Vec::new();
        for named in sessions {
            let mut tables: Vec<Table> = named.runs.iter().map(|(table, _)| *table).collect();
            tables.dedup();
            for table in tables {
                written.push(table);
                // A name of its own for each file, should a session ever hold both.
                let which = if table == Table::Answers { "_description-questions" } else { "" };
                let name = format!(
                    "study-secondglance_subject-{}_session-{}_task-{}{which}_data.csv",
                    named.subject, named.number, named.task
                );
                let selection = Selection { session: Some(named.session), ..Selection::default() };
                let mut text = Vec::new();
                self.write_table(table, selection, b',', &mut text)?;
                write(&folder.join("data").join(name), &text)?;
                files += 1;
            }
        }
        written.sort_unstable();
        written.dedup();
        write_json(
            &folder.join("dataset_description.json"),
            &json!({
                "@context": "https://schema.org/",
                "@type": "Dataset",
                "name": "Second Glance results",
                "description": DESCRIPTION,
                "schemaVersion": "Psych-DS 1.5.1",
                "isBasedOn": {
                    "@type": "SoftwareApplication",
                    "name": "second-glance",
                    "softwareVersion": build,
                },
                "variableMeasured": variables(&written),
            }),
        )?;
        Ok(files)
    }
}

const README: &str = "# Second Glance results\n\n\
One file per session in `data`: trials with a restored tooth to find, or answers to questions.\n\
`dictionary.csv` says what every column holds. Subjects are random ids; the list of names, if there\n\
is one, is not part of this data set.\n";

const DESCRIPTION: &str = "Trials of exercises in which a restored tooth is looked for in a \
    rendered smile, and answers to questions about restorations. Subjects are random ids.";

/// Every column of these tables, once: the standard allows no other. A name that two have is
/// described for both where they differ.
fn variables(tables: &[Table]) -> Vec<Value> {
    let mut described: Vec<(&Column, String)> = Vec::new();
    for table in tables {
        for column in table.columns() {
            match described.iter_mut().find(|(known, _)| known.name == column.name) {
                Some((known, meaning)) if known.meaning != column.meaning => {
                    *meaning = format!("trials: {}; questions: {}", known.meaning, column.meaning);
                }
                Some(_) => {}
                None => described.push((column, column.meaning.to_owned())),
            }
        }
    }
    let variable = |(column, meaning): (&Column, String)| {
        json!({
            "@type": "PropertyValue",
            "name": column.name,
            "description": meaning,
            "unitText": column.unit,
        })
    };
    described.into_iter().map(variable).collect()
}
