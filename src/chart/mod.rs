//! The blend chart: how far from its twin a restoration would be over thickness and shade, for each
//! translucency of its class.
//!
//! # The axes
//! Across: the ceramic's thickness in the middle of the tooth, mm. The whole profile is scaled with
//! it, the margin left as it is ([`Thickness::scaled`](crate::scene::Thickness::scaled)). Up: value
//! first. Each step is one lightness of the class's shades, with the chroma and hue of the restoration
//! in hand, so that the chart reads at its place what it comes to. Cement, film, prepared tooth, light
//! and drift are those of the case. What was tried of another chroma, hue, cement or profile has no
//! place on it and is named beside it.
//!
//! # The values
//! At every node the colours of the tooth's thirds come from [`Estimator`](crate::bake::Estimator),
//! the truth on a coarse grid, baked by the same layers. Between nodes the colours are
//! interpolated bilinearly and the difference is taken of those: ΔE00 itself has a crease at its
//! least, which interpolation would blunt.
//!
//! # Why not the quick search
//! [`optics::search`](crate::optics::search) on a flat stack agrees with the middle third
//! (`tests/core/chart.rs` prints by how much); thirds and sideways light are why the chart does
//! not use it. What was tried gets a mark only where the chart reads what it comes to
//! ([`BlendChart::ERROR_DE00`]).

mod axes;
mod contour;
mod panel;
mod reading;
mod uncertainty;

pub use axes::{Axes, ChartCase};
pub use contour::{Polyline, contour_lines};
pub use panel::{BlendChart, Isoline, Panel, Tried, blend_chart};
pub use reading::Reading;
pub use uncertainty::{Spread, Uncertainty};
