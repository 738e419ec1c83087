//! Signed differences on a common axis, with both directions named in words.

use crate::app::ui::theme;
use crate::bake::ZoneDifference;
use crate::colorimetry::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00};
use crate::words::{Part, is_nothing, signed};
use bevy_egui::egui::{
    Align2, FontId, Painter, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};

/// One row of the number line.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What is measured: `Value`.
    pub name: &'static str,
    /// The word at the negative end: `darker`.
    pub negative: &'static str,
    /// The word at the positive end: `lighter`.
    pub positive: &'static str,
    /// Its unit: `ΔL00`.
    pub unit: &'static str,
    /// The value, in that unit.
    pub value: f64,
    /// Reference points on this row and their names, ΔE00 units.
    pub references: Vec<(f64, &'static str)>,
}

impl Mark {
    /// Value, chroma, hue and the whole of a difference, the last against published limits.
    #[must_use]
    pub fn rows_of(difference: &ZoneDifference) -> [Self; 4] {
        let signed = |name, part: Part, value| Self {
            name,
            negative: part.way(-1.0),
            positive: part.way(1.0),
            unit: part.unit(),
            value,
            references: Vec::new(),
        };
        [
            signed("Value", Part::Value, difference.dl00),
            signed("Chroma", Part::Chroma, difference.dc00),
            signed("Hue", Part::Hue, difference.dh00),
            Self {
                name: "Total",
                negative: "",
                positive: "difference",
                unit: "ΔE00",
                value: difference.de00,
                references: vec![
                    (PERCEPTIBILITY_DE00, "noticed by half"),
                    (ACCEPTABILITY_DE00, "accepted by half"),
                ],
            },
        ]
    }
}

const ROW_HEIGHT: f32 = 38.0;
const NAME_WIDTH: f32 = 78.0;
const VALUE_WIDTH: f32 = 62.0;

/// Draws `marks` as rows over a common scale `width` points wide. The scale is at least ±3.
pub fn number_line(ui: &mut Ui, width: f32, marks: &[Mark]) {
    let largest = marks.iter().map(|mark| mark.value.abs()).fold(0.0, f64::max);
    let span = largest.mul_add(1.1, 0.0).ceil().max(3.0);
    for mark in marks {
        let (rect, response) = ui.allocate_exact_size(vec2(width, ROW_HEIGHT), Sense::hover());
        draw_row(ui.painter(), rect, mark, span);
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, spoken(mark)));
    }
}

/// A row for who does not see it: the mark, and what it is held against.
fn spoken(mark: &Mark) -> String {
    let limits: Vec<String> =
        mark.references.iter().map(|(value, name)| format!("{value} {name}")).collect();
    if limits.is_empty() {
        in_words(mark)
    } else {
        format!("{}; {}", in_words(mark), limits.join(", "))
    }
}

/// `Value −1.6 ΔL00, darker`. What reads 0.0 has no direction.
#[must_use]
pub fn in_words(mark: &Mark) -> String {
    let direction = if mark.value < 0.0 { mark.negative } else { mark.positive };
    let amount = format!("{} {} {}", mark.name, signed(mark.value), mark.unit);
    if is_nothing(mark.value) { amount } else { format!("{amount}, {direction}") }
}

fn draw_row(painter: &Painter, rect: Rect, mark: &Mark, span: f64) {
    let axis = Rect::from_min_max(
        pos2(rect.left() + NAME_WIDTH, rect.top()),
        pos2(rect.right() - VALUE_WIDTH, rect.bottom()),
    );
    let y = rect.top() + 13.0;
    let at = |value: f64| {
        let share = ((value / span).clamp(-1.0, 1.0) + 1.0) / 2.0;
        pos2(axis.left() + axis.width() * share as f32, y)
    };
    let small = FontId::proportional(14.0);
    painter.text(
        pos2(rect.left(), y),
        Align2::LEFT_CENTER,
        mark.name,
        FontId::proportional(theme::BODY_PT),
        theme::INK,
    );
    painter.text(
        pos2(rect.left(), y + 10.0),
        Align2::LEFT_TOP,
        mark.unit,
        small.clone(),
        theme::INK_SOFT,
    );
    painter.line_segment([at(-span), at(span)], Stroke::new(1.5, theme::EDGE));
    for step in -(span as i64)..=(span as i64) {
        let half = if step == 0 { 8.0 } else { 3.0 };
        tick(painter, at(step as f64), half, 1.0);
    }
    let below = y + 10.0;
    if mark.references.is_empty() {
        painter.text(
            pos2(axis.left(), below),
            Align2::LEFT_TOP,
            mark.negative,
            small.clone(),
            theme::INK_SOFT,
        );
        painter.text(
            pos2(axis.right(), below),
            Align2::RIGHT_TOP,
            mark.positive,
            small,
            theme::INK_SOFT,
        );
    } else {
        for (index, (value, name)) in mark.references.iter().enumerate() {
            tick(painter, at(*value), 8.0, 2.0);
            // Two close neighbours: the first label ends at its tick, the next starts there.
            let (align, shift) =
                if index == 0 { (Align2::RIGHT_TOP, 6.0) } else { (Align2::LEFT_TOP, -6.0) };
            let place = pos2(at(*value).x + shift, below);
            let text = format!("{value} {name}");
            painter.text(place, align, text, small.clone(), theme::INK_SOFT);
        }
    }
    painter.line_segment([at(0.0), at(mark.value)], Stroke::new(5.0, theme::INK));
    diamond(painter, at(mark.value));
    painter.text(
        pos2(rect.right(), y),
        Align2::RIGHT_CENTER,
        signed(mark.value),
        FontId::proportional(20.0),
        theme::INK,
    );
}

fn tick(painter: &Painter, at: Pos2, half_height: f32, width: f32) {
    painter.line_segment(
        [at - vec2(0.0, half_height), at + vec2(0.0, half_height)],
        Stroke::new(width, theme::EDGE),
    );
}

fn diamond(painter: &Painter, at: Pos2) {
    let points = [vec2(0.0, -8.0), vec2(8.0, 0.0), vec2(0.0, 8.0), vec2(-8.0, 0.0)]
        .map(|corner| at + corner)
        .to_vec();
    painter.add(Shape::convex_polygon(points, theme::PAPER, Stroke::new(2.0, theme::INK)));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_reads_in_words() {
        let mark = Mark {
            name: "Value",
            negative: "darker",
            positive: "lighter",
            unit: "ΔL00",
            value: -1.62,
            references: vec![],
        };
        assert_eq!(in_words(&mark), "Value \u{2212}1.6 ΔL00, darker");
        let of = |value| in_words(&Mark { value, ..mark.clone() });
        assert_eq!(of(0.44), "Value +0.4 ΔL00, lighter");
        assert_eq!([of(0.04), of(-0.04)], ["Value 0.0 ΔL00", "Value 0.0 ΔL00"]);
    }
}
