//! A Psych-DS data set: a CSV file per session and a description that names every column.

use super::{ExportError, Selection, data_dictionary, fresh, write, write_json};
use crate::results::columns::COLUMNS;
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
    /// Psych-DS, <https://psych-ds.github.io>: `data/…_data.csv` with keywords in the name, and
    /// `dataset_description.json` in the vocabulary of schema.org.
    pub fn export_psych_ds(
        &self,
        folder: &Path,
        learner: Option<&str>,
        build: &str,
    ) -> Result<u64, ExportError> {
        fresh(folder)?;
        let variables: Vec<Value> = COLUMNS
            .iter()
            .map(|column| {
                json!({
                    "@type": "PropertyValue",
                    "name": column.name,
                    "description": column.meaning,
                    "unitText": column.unit,
                })
            })
            .collect();
        write_json(
            &folder.join("dataset_description.json"),
            &json!({
                "@context": "https://schema.org/",
                "@type": "Dataset",
                "name": "Second Glance results",
                "description": "Trials of exercises in which a restored tooth is looked for in a rendered smile. Subjects are random ids.",
                "schemaVersion": "Psych-DS 0.4.0",
                "creator": format!("second-glance {build}"),
                "variableMeasured": variables,
            }),
        )?;
        write(&folder.join("dictionary.csv"), data_dictionary().as_bytes())?;
        let mut files = 0;
        for named in self.named_sessions(learner)? {
            let name = format!(
                "study-secondglance_subject-{}_session-{}_task-{}_data.csv",
                named.subject, named.number, named.task
            );
            let selection = Selection { session: Some(named.session), ..Selection::default() };
            let mut table = Vec::new();
            self.export_table(selection, b',', &mut table)?;
            write(&folder.join("data").join(name), &table)?;
            files += 1;
        }
        Ok(files)
    }
}
