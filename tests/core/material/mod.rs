//! Shipped materials: facts of the trade, published trends, drift.

mod drift;
mod metamers;
mod trade_facts;
mod trends;
