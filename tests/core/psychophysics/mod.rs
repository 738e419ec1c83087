//! Observers, and the instrument that measures them.

mod instrument;
mod simulated_observers;
mod value_order;
