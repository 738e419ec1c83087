//! What keys mean: one table of context, key, intent and label.
//!
//! Keys are dispatched from it, the labels of controls are made from it, and so are the sentences
//! that tell of keys before an exercise and in About. One letter means different things in different
//! exercises, so each context has rows of its own, and an exercise without rows does not compile.
//! `offered` says which of them count at the moment; keys and controls go by the same lists.
//! `tests/app/letters.rs` compares them with what is drawn.

mod context;
mod offered;
mod row;
mod table;
#[cfg(test)]
mod tests;
mod told;

pub use context::{Asked, KeyContext};
pub use offered::{
    Offered, in_course, in_debrief, in_hub, in_question, in_room_question, in_trial, is_on,
    is_on_in_answer, is_on_in_round, on_bench, views,
};
pub use row::{Does, Key, Label, Row, digit_of, with_digit};
pub use table::{actions, key_name, label, named, pause_label, row, rows};
pub use told::{
    about, before_measured_choosing, before_questions, in_answer_row, pauses, while_set_up,
};
