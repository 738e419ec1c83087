//! Core tests that need more than one module: published facts, properties, shipped content.

mod bake;
mod colour_facts;
mod colour_properties;
mod level_files;
mod optics_facts;
mod optics_properties;
mod results;
mod tidy;
mod trade_facts;
mod trials;
