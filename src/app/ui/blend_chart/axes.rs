//! Axes, the scale of colour and the cross-hair.

use crate::app::ui::blend_chart::scales::{AXIS_PT, END_DE00, Scales, TITLE_HEIGHT};
use crate::app::ui::blend_chart::words::chroma_and_hue;
use crate::app::ui::theme;
use crate::colorimetry::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00};
use crate::play::picture::aids::scale_colour;
use bevy_egui::egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, pos2, vec2,
};

impl Scales<'_> {
    pub(super) fn thickness_axis(&self, painter: &Painter, field: Rect) {
        let (low, high) = self.thickness_range();
        let font = FontId::proportional(AXIS_PT);
        // As many numbers as have room.
        let step = [0.1, 0.2, 0.5, 1.0]
            .into_iter()
            .find(|step| f64::from(field.width()) * step / (high - low) >= 46.0)
            .unwrap_or(1.0);
        let first = (low / step - 1e-6).ceil() as i64;
        let last = (high / step + 1e-6).floor() as i64;
        for tick in first..=last {
            let mm = tick as f64 * step;
            let x = self.place(field, mm, 0.0).x;
            let foot = pos2(x, field.bottom());
            painter.line_segment([foot, foot + vec2(0.0, 6.0)], Stroke::new(1.5, theme::EDGE));
            let text = format!("{mm:.1}");
            // Numbers at the ends stay within their field, clear of the next one's.
            let (align, x) = if x < field.left() + 12.0 {
                (Align2::LEFT_TOP, field.left())
            } else if x > field.right() - 12.0 {
                (Align2::RIGHT_TOP, field.right())
            } else {
                (Align2::CENTER_TOP, x)
            };
            let at = pos2(x, field.bottom() + 8.0);
            painter.text(at, align, text, font.clone(), theme::INK);
        }
        painter.text(
            pos2(field.center().x, field.bottom() + 32.0),
            Align2::CENTER_TOP,
            "thickness, mm",
            font,
            theme::INK,
        );
    }

    pub(super) fn shade_axis(&self, painter: &Painter, field: Rect) {
        let font = FontId::proportional(AXIS_PT);
        let mut free_below = f32::INFINITY;
        for shade in &self.chart.axes.shades {
            let foot = pos2(field.left(), self.place(field, 0.0, shade.l).y);
            painter.line_segment([foot, foot - vec2(6.0, 0.0)], Stroke::new(1.5, theme::EDGE));
            if foot.y + 11.0 > free_below {
                continue;
            }
            free_below = foot.y - 11.0;
            let text = format!("L{:.0}", shade.l);
            painter.text(
                foot - vec2(9.0, 0.0),
                Align2::RIGHT_CENTER,
                text,
                font.clone(),
                theme::INK,
            );
        }
        painter.text(
            pos2(field.left() - 9.0, field.top() - TITLE_HEIGHT / 2.0),
            Align2::RIGHT_CENTER,
            self.chart.colour.map_or_else(|| "shade".to_owned(), chroma_and_hue),
            FontId::proportional(AXIS_PT - 2.0),
            theme::INK,
        );
    }
}

pub(super) fn cross_hair(painter: &Painter, field: Rect, at: Pos2) {
    let painter = painter.with_clip_rect(field);
    for (width, colour) in [(4.0, theme::INK), (1.5, theme::PAPER)] {
        let stroke = Stroke::new(width, colour);
        painter.hline(field.x_range(), at.y, stroke);
        painter.vline(at.x, field.y_range(), stroke);
    }
}

/// The scale of colour to the right of the last field.
pub(super) fn legend(painter: &Painter, field: Rect) {
    let bar = Rect::from_min_max(
        pos2(field.right() + 18.0, field.top() + 12.0),
        pos2(field.right() + 38.0, field.bottom() - 12.0),
    );
    let height = |de00: f64| bar.bottom() - bar.height() * (de00 / END_DE00) as f32;
    const STEPS: usize = 96;
    for step in 0..STEPS {
        let share = (step as f64 + 0.5) / STEPS as f64;
        let [r, g, b] = scale_colour(share);
        let (low, high) = (
            height(END_DE00 * step as f64 / STEPS as f64),
            height(END_DE00 * (step + 1) as f64 / STEPS as f64),
        );
        let strip = Rect::from_min_max(pos2(bar.left(), high - 0.5), pos2(bar.right(), low));
        painter.rect_filled(strip, 0.0, Color32::from_rgb(r, g, b));
    }
    painter.rect_stroke(bar, 0.0, Stroke::new(1.0, theme::EDGE), StrokeKind::Outside);
    let font = FontId::proportional(AXIS_PT - 1.0);
    let marks = [
        (0.0, "0".to_owned()),
        (PERCEPTIBILITY_DE00, format!("{PERCEPTIBILITY_DE00:.1}")),
        (ACCEPTABILITY_DE00, format!("{ACCEPTABILITY_DE00:.1}")),
        (4.0, "4".to_owned()),
        (END_DE00, format!("{END_DE00:.0}+")),
    ];
    for (de00, text) in marks {
        let at = pos2(bar.right(), height(de00));
        painter.line_segment([at, at + vec2(5.0, 0.0)], Stroke::new(1.5, theme::INK));
        painter.text(at + vec2(8.0, 0.0), Align2::LEFT_CENTER, text, font.clone(), theme::INK);
    }
    painter.text(
        pos2(bar.left(), field.top() - TITLE_HEIGHT / 2.0),
        Align2::LEFT_CENTER,
        "ΔE00",
        FontId::proportional(AXIS_PT),
        theme::INK,
    );
}
