//! What screens are made of: theme, widgets, drawings. Functions from plain data to egui.

mod blend_chart;
mod cross_section;
mod focus;
mod hand;
mod number_line;
mod picture_view;
mod scale_legend;
pub mod theme;
mod tooth_row;
mod value_row;
mod widgets;

pub use crate::words::signed;
pub use blend_chart::{BlendChartView, ChartCursor};
pub use cross_section::{cross_section, in_words as section_in_words};
pub use focus::{FocusHeld, give_focus, has_focused_widget};
pub use hand::{Drag, Drags, activated, drags};
pub use number_line::{Mark, number_line};
pub use picture_view::{
    ANSWER_AREA_HEIGHT, Overlay, PictureView, largest_zoom, picture_area_pixels,
};
pub use scale_legend::scale_legend;
pub use tooth_row::{ROW_HEIGHT, RowAnswer, ToothRow, row_area};
pub use value_row::{RowAct, VALUE_ROW_HEIGHT, ValueRow};
pub use widgets::{
    big_button, body, card, digit_of, heading, key_hint, low_button, page_keys, paragraph,
    progress_bar, quiet_button, section, small, small_line, text_field, wide_button, with_key,
};
