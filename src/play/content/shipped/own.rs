//! Levels of one's own: a faulty file is listed, and keeps nobody from the others.

use crate::level::format::Level;
use crate::level::load;
use crate::level::{KnownMaterials, Severity};
use crate::play::content::FaultyFile;
use crate::printable;
use std::path::Path;

/// Levels of one's own, and files that cannot be played.
#[derive(Debug, Default)]
pub(super) struct OwnLevels {
    /// Easy to hard.
    pub(super) levels: Vec<Level>,
    pub(super) faulty: Vec<FaultyFile>,
}

impl OwnLevels {
    /// Reads the files in a folder. An id that one of `built_in` has is a fault.
    pub(super) fn read(folder: &Path, built_in: &[Level], known: &KnownMaterials) -> Self {
        let report = load::check(&[folder.to_owned()], known);
        let mut own = Self::default();
        for fault in report.diagnostics.iter().filter(|d| d.severity == Severity::Error) {
            own.add_fault(&fault.file, fault.to_string());
        }
        for (file, level) in report.levels {
            if own.faulty.iter().any(|faulty| faulty.file == file) {
                continue;
            }
            if built_in.iter().any(|known| known.id == level.id) {
                let fault = taken_id(&file, &level.id);
                own.add_fault(&file, fault);
            } else {
                own.levels.push(level);
            }
        }
        own.levels.sort_by(|a, b| (a.difficulty, &a.id).cmp(&(b.difficulty, &b.id)));
        own
    }

    fn add_fault(&mut self, file: &Path, fault: String) {
        match self.faulty.iter_mut().find(|faulty| faulty.file == file) {
            Some(faulty) => faulty.faults.push(fault),
            None => self.faulty.push(FaultyFile { file: file.to_owned(), faults: vec![fault] }),
        }
    }
}

/// That a level's id is another one's.
pub(super) fn taken_id(file: &Path, id: &str) -> String {
    format!(
        "{}: another level, such as one that comes with the program, has the id \"{id}\"\n    help: give \
         the file and its level another id",
        printable::path(file)
    )
}
