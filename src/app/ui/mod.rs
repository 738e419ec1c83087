//! What screens are made of: theme, widgets, drawings. Functions from plain data to egui.
//!
//! Blend chart and cross-section are drawn by `tests/app/ui/widgets.rs` without a graphics adapter;
//! with `SECOND_GLANCE_SCREENS` set it keeps the pictures.

pub mod blend_chart;
pub mod cross_section;
pub mod debrief_picture;
pub mod focus;
pub mod hand;
pub mod number_line;
pub mod page;
pub mod pause_control;
pub mod picture_view;
pub mod projector;
pub mod said;
pub mod scale_legend;
pub mod theme;
pub mod tooth_row;
pub mod value_row;
pub mod widgets;
