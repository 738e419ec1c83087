//! The store: what it keeps, hands in, gathers, exports and refuses.

mod answers;
mod data_folder;
mod exports;
mod hand_in;
mod hostile_hand_ins;
mod owner_only;
mod pooled;
mod store;
