//! The result store: an append-only SQLite file, one row per trial or answered question.
//!
//! [`Store::open`] makes or opens `results.sqlite3` in a folder. A session is begun, each answered
//! trial is written and committed at once, and the session is finished; one that was cut off keeps
//! every answered trial and can be resumed. The file is never deleted, repaired or overwritten.

mod answer_row;
mod columns;
mod measurement;
mod schema;
mod store;
mod trial_row;

pub use answer_row::{AnswerRow, sight_to_json};
pub use columns::{ANSWER_COLUMNS, COLUMNS, Column};
pub use measurement::{MeasuredTrial, StoredMeasurement};
pub use schema::LATEST_VERSION;
pub use store::{Recording, SessionInfo, Store, StoreError, StoredSession};
pub use trial_row::TrialRow;
