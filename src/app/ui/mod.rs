//! What screens are made of: theme, widgets, drawings. Functions from plain data to egui.

pub mod blend_chart;
pub mod cross_section;
pub mod focus;
pub mod hand;
pub mod number_line;
pub mod picture_view;
pub mod scale_legend;
pub mod theme;
pub mod tooth_row;
pub mod value_row;
pub mod widgets;
