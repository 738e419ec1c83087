//! Light through layers: worked numbers, properties, tables.

mod facts;
mod properties;
mod search;
mod transport;
mod transport_tables;
mod two_flux_table;
