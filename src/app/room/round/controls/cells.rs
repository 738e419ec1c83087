//! The options as a row of cells, each with its digit.

use crate::app::ui::hand::activated;
use crate::app::ui::theme;
use crate::exercise::Question;
use crate::play::intents::{Act, ExerciseIntent, Intent};
use crate::play::keys::{digit_of, with_digit};
use bevy_egui::egui::{
    Align2, CornerRadius, FontId, Rect, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType,
    pos2, vec2,
};

/// One option in the row of options.
pub(crate) struct Cell {
    /// Its name.
    pub name: String,
    /// What was said of it, in a word or two.
    pub mark: &'static str,
    /// Whether it is in view.
    pub current: bool,
}

/// The options as a row of equal cells, each with its digit, its name and what was said of it.
pub(crate) fn options(ui: &mut Ui, cells: &[Cell]) -> Vec<Intent> {
    let mut asked = Vec::new();
    let gap = 8.0;
    let width = ((ui.available_width() - gap * cells.len() as f32) / cells.len().max(1) as f32)
        .clamp(60.0, 190.0);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = gap;
        for (index, cell) in cells.iter().enumerate() {
            let (rect, response) = ui.allocate_exact_size(vec2(width, 46.0), Sense::click());
            let label = match cell.mark {
                "" => cell.name.clone(),
                mark => format!("{}, {mark}", cell.name),
            };
            let label = with_digit(&label, index);
            response.widget_info(|| {
                WidgetInfo::selected(WidgetType::SelectableLabel, true, cell.current, &label)
            });
            draw_cell(ui, rect, cell, digit_of(index), response.hovered());
            if response.has_focus() {
                theme::focus_ring(ui.painter(), rect);
            }
            if let Some(device) = activated(&response) {
                let act = ExerciseIntent::Act(Act::Choose(index), device);
                asked.push(Intent::Exercise(act));
            }
        }
    });
    asked
}

fn draw_cell(ui: &Ui, rect: Rect, cell: &Cell, digit: &str, hovered: bool) {
    let fill = match (cell.current, hovered) {
        (true, _) => theme::PAPER,
        (false, true) => theme::CONTROL_HOVER,
        (false, false) => theme::CONTROL,
    };
    let edge = if cell.current { 3.0 } else { 1.0 };
    let painter = ui.painter().with_clip_rect(rect.expand(1.0));
    painter.rect(
        rect,
        CornerRadius::same(4),
        fill,
        Stroke::new(edge, theme::EDGE),
        StrokeKind::Inside,
    );
    let has_mark = !cell.mark.is_empty();
    let y = rect.center().y - if has_mark { 9.0 } else { 0.0 };
    let text = |at, size: f32, words: &str| {
        painter.text(at, Align2::CENTER_CENTER, words, FontId::proportional(size), theme::INK);
    };
    text(pos2(rect.center().x, y), 16.0, &cell.name);
    if has_mark {
        text(pos2(rect.center().x, y + 19.0), 15.0, cell.mark);
    }
    // "Option 3" says its digit already.
    if !cell.name.ends_with(digit) {
        text(rect.left_top() + vec2(11.0, 11.0), 13.0, digit);
    }
}

/// Cells of the question's sights.
pub(super) fn cells(
    question: &Question,
    current: usize,
    mark: impl Fn(usize) -> &'static str,
) -> Vec<Cell> {
    let cell = |(index, sight): (usize, &crate::exercise::Sight)| Cell {
        name: sight.name.clone(),
        mark: mark(index),
        current: index == current,
    };
    question.sights.iter().enumerate().map(cell).collect()
}
