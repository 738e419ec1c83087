//! The result store: an append-only SQLite file, one row per trial or answered question.
//!
//! [`Store::open`] makes or opens `results.sqlite3` in a folder. A session is begun, each answered
//! trial is written and committed at once, and the session is finished; one that was cut off keeps
//! every answered trial and can be resumed. The file is never deleted, repaired or overwritten.

mod answer_row;
mod archive;
mod bad_row;
mod columns;
mod examine;
mod export;
mod field;
mod fields;
mod files;
mod forget;
mod form_trials;
mod gather;
mod guard;
mod hand_in;
mod hand_in_error;
mod manifest;
mod measurement;
mod merge;
mod moment;
mod pooled;
mod repeats;
mod schema;
mod session_row;
mod sitting;
mod sitting_log;
mod store;
mod store_error;
mod strict_json;
mod trial_row;

pub use answer_row::{AnswerRow, sight_to_json};
pub use bad_row::BadRow;
pub use columns::{ANSWER_COLUMNS, COLUMNS, Column};
pub use examine::{ItemClaim, ItemTruth};
pub use export::{ColumnKind, ExportError, Selection, Table, data_dictionary};
pub use files::{create_private, create_private_folder, refusal, write_private};
pub use forget::Forgotten;
pub use form_trials::{CourseSession, FormTrial};
pub use gather::{Gathered, Taken};
pub use hand_in::{HAND_IN_EXTENSION, HandInRequest, hand_in_manifest, hand_ins_below};
pub use hand_in_error::HandInError;
pub use manifest::{HAND_IN_FORMAT, Manifest};
pub use measurement::{MeasuredTrial, StoredMeasurement};
pub use repeats::Counted;
pub use schema::LATEST_VERSION;
pub use session_row::{Recording, SessionInfo, StoredSession};
pub use sitting::{SITTING, Sitting};
pub use sitting_log::{LogLine, SittingEvent};
pub use store::{FILE_NAME, Store};
pub use store_error::StoreError;
pub use trial_row::TrialRow;
