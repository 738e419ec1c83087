//! Core tests that need more than one module: published facts, properties, shipped content.

mod level_files;
mod optics_facts;
mod optics_properties;
