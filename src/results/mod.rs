//! The result store: an append-only SQLite file, one row per trial or answered question.
//!
//! [`Store::open`] makes or opens `results.sqlite3` in a folder. A session is begun, each answered
//! trial is written and committed at once, and the session is finished; one that was cut off keeps
//! every answered trial and can be resumed. The file is never deleted, repaired or overwritten.
//!
//! # Two programs, one folder
//! Two programs may write to one data folder: SQLite's write-ahead log, 5 s of waiting, and
//! transactions that will write take their turn before they read (`Store::writing`), because one
//! that began by reading cannot wait any more. A full disk is [`StoreError::Full`], a failing one
//! or a quota [`StoreError::Device`]; what was stored before stays
//! (`tests/core/results/data_folder.rs`; the small disk in a mount namespace is an ignored test
//! that `.ci/run` asks for).
//!
//! # Hand-ins
//! A seat hands in one tar file: manifest with SHA-256 and schema version, and a copy of the
//! results that holds one learner's sessions of one course ([`Store::hand_in`]). [`Store::gather`]
//! takes each whole or not at all, knows sessions again by who sat them, when and from which seed,
//! adds only what is new, and refuses a trial or an answer that differs from the one it has.
//! Checksums find damage; they are no signature.
//!
//! Files from elsewhere may be made to do harm, so all of one is examined before any of it is
//! gathered:
//!
//! | file | what it holds a hand-in to |
//! |---|---|
//! | `archive` | two plain files, every byte accounted for, nothing unpacked to disk |
//! | `guard` | a database in memory, at most 64 MB, our schema to the letter, no views, triggers or own functions, an end to long queries |
//! | `strict_json` | JSON as this program writes it: no name twice, no number that is none |
//! | `fields`, `examine` | every row: columns within what they can hold, rows against themselves, sessions against whose they are said to be |
//! | [`ItemTruth`], in a course [`FormTruth`](crate::course::FormTruth) | the smiles of a form against what form and number say they were, computed again |
//!
//! Whoever reads a database that this program did not write goes through `guard`. Names from
//! outside are printed through [`printable`](crate::printable). Such files are made in
//! `tests/core/results/hostile_hand_ins`.
//!
//! # Sittings
//! A learner's second sitting of a phase is kept; [`Store::counted_sittings`] says which counts and
//! why.
//!
//! # How fast
//! A million trials (7,813 learners, two forms each) on two cores, `cargo bench
//! --no-default-features --bench course` (at most 30 s and 1 GB): gathering 22.6 s, reading and
//! estimating 2.6 s, report 0.3 s, together 25.5 s and 70 MiB at most; to Parquet 12.9 s and 128
//! MiB. Gathering unpacks and checks files on a thread of its own, without which it takes 34 s.

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
mod not_the_item;
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
pub use not_the_item::NotTheItem;
pub use repeats::Counted;
pub use schema::LATEST_VERSION;
pub use session_row::{Recording, SessionInfo, StoredSession};
pub use sitting::{SITTING, Sitting};
pub use sitting_log::{LogLine, SittingEvent};
pub use store::{FILE_NAME, Store};
pub use store_error::StoreError;
pub use trial_row::TrialRow;
