//! Second Glance trains the eye that chooses dental ceramics.
//!
//! A case is a smile with one restored tooth. Its colour comes from a spectral, layered optical
//! model, the truth is a colour difference to the same tooth left natural, and the learner has a
//! few seconds to find it. Data flows one way:
//!
//! `levels + assets → scene → optics → bake → app viewport → response → outcome → results`
//!
//! # Conventions
//! Wavelengths are in nm, thicknesses in mm, `K` and `S` in 1/mm, reflectances in 0..1. CIELAB is
//! stated under the case's illuminant, adapted to the display white. Colour differences are
//! CIEDE2000 with all weights 1 unless a name says otherwise. Teeth are numbered by ISO 3950.
//!
//! Everything here except `app` is free of windows, clocks and hidden state: times, seeds and
//! paths are arguments. Only [`level::load`], [`results`] and the cache of [`optics::transport`]
//! touch files.
//!
//! Each module says what it is, how it works, what was measured and why it is as it is;
//! `DEVELOPERS.md` is the map.

pub mod anatomy;
#[cfg(feature = "app")]
pub mod app;
pub mod bake;
pub mod chart;
pub mod colorimetry;
pub mod course;
pub mod exercise;
pub mod intake;
pub mod lecture;
pub mod level;
pub mod material;
pub mod measure;
pub mod optics;
pub mod play;
pub mod printable;
pub mod psychophysics;
pub mod random;
pub mod report;
pub mod results;
pub mod scene;
pub mod spectrum;
pub mod trial;
pub mod words;
