//! Measured reflectance spectra of a ceramic, turned into its absorption and scattering.
//!
//! # The file
//! Text with commas: comment lines `# name: value`, one line of column names, then one line a
//! wavelength, upwards at a regular step of at most 20 nm, from 400 nm or below to 700 nm or above.
//!
//! ```text
//! # class: own-glass-ceramic
//! # thickness_mm: 1.02
//! # white: 0.88
//! # black: 0.03
//! wavelength_nm,over_white,over_black
//! 400,0.512,0.318
//! 410,0.525,0.324
//! ```
//!
//! | name | what | left out |
//! |---|---|---|
//! | `class` | id, lower-case words joined by hyphens | must be there |
//! | `thickness_mm` | thickness of the piece | must be there |
//! | `white`, `black` | reflectance of each backing as it meets the piece; or a column of that name | must be there |
//! | `contact` | `optical`: a drop of liquid between piece and backing; `air`: none | `optical` |
//! | `specular` | `excluded` or `included` in what was measured | `excluded` |
//! | `name` | plain words | the id |
//! | `translucency` | `low`, `medium` or `high` within its class | `medium` |
//! | `shade` | `L78 C14 h88`: colour of a thick piece | computed |
//! | `refractive_index` | of the ceramic | 1.52 |
//! | `anisotropy` | mean cosine g of its scattering | 0.7 |
//!
//! Files of one class, translucency and shade are pieces of one material in several thicknesses and
//! are fitted together. Two thicknesses are needed to see whether the model fits: one alone is
//! always met.
//!
//! # Method
//! Radiative transfer by table, band by band ([`crate::optics::transport::inverse`]). Reflectances on
//! a step of 5 nm and more are interpolated to the bands by third-degree polynomials, finer ones
//! averaged over a band. Outside the measured wavelengths the coefficients of the last band are held;
//! beyond 400 to 700 nm lies 0.03 % of Y and 0.2 % of Z
//! in daylight.
//!
//! # Limits
//! The anisotropy is assumed, and so σs′ is that for this g. Light that leaves a small window sideways
//! is taken for absorbed: measure through a window much smaller than the lit area, or the
//! other way round.
//!
//! # References
//! Interpolation by third-degree polynomials: CIE 15 (from memory).
//!
//! # From files to a class
//! [`read`] takes a spectrum file apart (every fault with line and column, twenty at most),
//! [`import`] groups files into materials and fits σa and σs′ band by band to all thicknesses of a
//! material ([`fit_transport`](crate::optics::transport::inverse::fit_transport), least squares;
//! one thickness is always met), and [`Import::to_ron`] is a `MeasuredCeramics` file with the
//! residuals in its head. Such a class comes in the shades that were measured and no other
//! ([`Library::shades`](crate::material::Library::shades)). The command line's `--materials DIR`
//! ([`load_own_materials`](crate::level::load::load_own_materials)) adds measured ceramics and lets
//! a folder's own `Ceramics`, `Cements` or `Tissues` stand in for the shipped ones.

mod cells;
mod faults;
mod fit;
mod header;
mod measurement;
mod other_formats;
mod quality;
mod write;

pub use fit::{Band, Fit, FitError, PieceResiduals, fit};
pub use header::{Contact, Header};
pub use measurement::{MAX_BYTES, Measurement, read};
pub use quality::{Concern, concerns};
pub use write::{Import, ImportError, import};
