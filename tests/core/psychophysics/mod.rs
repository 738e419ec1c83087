//! Observers, and the instrument that measures them.

mod instrument;
mod value_order;
