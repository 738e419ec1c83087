//! The legend of a difference map.

use crate::app::ui::theme;
use crate::colorimetry::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00};
use crate::play::picture::aids::{COLOURED_FROM_DE00, scale_colour};
use bevy_egui::egui::{
    Align2, Color32, FontId, Pos2, Rect, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

const WIDTH: f32 = 300.0;
const HEIGHT: f32 = 116.0;
const BAR_HEIGHT: f32 = 14.0;
/// Steps of the painted scale.
const STEPS: usize = 100;

/// Draws the legend with its lower right corner at `corner`: the scale from 0 to `end_de00`, with
/// the difference that half of observers notice and the one that half accept.
pub fn scale_legend(ui: &mut Ui, corner: Pos2, end_de00: f64) {
    let plate = Rect::from_min_size(corner - vec2(WIDTH, HEIGHT), vec2(WIDTH, HEIGHT));
    let response = ui.interact(plate, ui.id().with("legend"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, in_words(end_de00)));
    let painter = ui.painter();
    painter.rect_filled(plate, 3.0, theme::SURFACE);
    let bar = Rect::from_min_size(
        pos2(plate.left() + 34.0, plate.top() + 30.0),
        vec2(WIDTH - 34.0 - 66.0, BAR_HEIGHT),
    );
    let place = |de00: f64| bar.left() + bar.width() * (de00 / end_de00).min(1.0) as f32;
    for step in 0..STEPS {
        let share = (step as f64 + 0.5) / STEPS as f64;
        // What is not coloured on the map is not on its scale.
        if share * end_de00 < COLOURED_FROM_DE00 {
            continue;
        }
        let [r, g, b] = scale_colour(share);
        let (from, to) = (
            place(end_de00 * (share - 0.5 / STEPS as f64)),
            place(end_de00 * (share + 0.5 / STEPS as f64)),
        );
        let strip = Rect::from_min_max(pos2(from, bar.top()), pos2(to + 0.5, bar.bottom()));
        painter.rect_filled(strip, 0.0, Color32::from_rgb(r, g, b));
    }
    let font = FontId::proportional(15.0);
    let write = |at: Pos2, anchor: Align2, text: &str| {
        painter.text(at, anchor, text, font.clone(), theme::INK);
    };
    write(bar.left_center() - vec2(8.0, 0.0), Align2::RIGHT_CENTER, "0");
    write(bar.right_center() + vec2(8.0, 0.0), Align2::LEFT_CENTER, &format!("{end_de00:.0} ΔE00"));
    // One mark above, one below: at the end of a long scale they lie close together.
    for (de00, above) in [(PERCEPTIBILITY_DE00, true), (ACCEPTABILITY_DE00, false)] {
        let x = place(de00);
        let (from, to) = if above { (-6.0, 0.0) } else { (BAR_HEIGHT, BAR_HEIGHT + 6.0) };
        let ends = [pos2(x, bar.top() + from), pos2(x, bar.top() + to)];
        painter.line_segment(ends, Stroke::new(2.0, theme::INK));
        let (y, anchor) = if above {
            (bar.top() - 7.0, Align2::CENTER_BOTTOM)
        } else {
            (bar.bottom() + 5.0, Align2::CENTER_TOP)
        };
        write(pos2(x, y), anchor, &format!("{de00:.1}"));
    }
    let words =
        format!("{PERCEPTIBILITY_DE00:.1} noticed, {ACCEPTABILITY_DE00:.1} accepted by half");
    write(pos2(plate.center().x, plate.bottom() - 26.0), Align2::CENTER_BOTTOM, &words);
    write(
        pos2(plate.center().x, plate.bottom() - 6.0),
        Align2::CENTER_BOTTOM,
        &format!("not coloured: equal, below {COLOURED_FROM_DE00:.1} ΔE00"),
    );
}

fn in_words(end_de00: f64) -> String {
    format!(
        "Scale of the difference map in ΔE00, from dark blue to yellow for {end_de00:.0}. Not \
         coloured is what is equal, below {COLOURED_FROM_DE00:.1}. {PERCEPTIBILITY_DE00:.1} is noticed by half, {ACCEPTABILITY_DE00:.1} accepted by half"
    )
}
