//! The layers of a restored tooth at up to three heights, to scale, with what each contributes.

use super::theme;
use crate::bake::cross_section::{CrossSection, Cut, CutLayer, LayerRole};
use crate::scene::Preparation;
use crate::words::signed;
use bevy_egui::egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Response, Sense, Shape, Stroke, StrokeKind, Ui,
    Vec2, WidgetInfo, WidgetType, pos2, vec2,
};

const TITLE_HEIGHT: f32 = 30.0;
const FOOT_HEIGHT: f32 = 44.0;
const NAME_WIDTH: f32 = 96.0;
const TABLE_WIDTH: f32 = 486.0;
const TEXT_PT: f32 = 17.0;
/// Most points a millimetre: more would make thin layers look thick.
const MOST_POINTS_PER_MM: f32 = 200.0;
/// Of the tooth behind, this much is shown to scale before it is cut off, mm.
const TOOTH_SHOWN_MM: f64 = 0.9;

/// Columns of the table: name, share, ΔL*, ΔC*, Δh, from the table's left edge.
const COLUMNS: [(f32, &str); 6] =
    [(0.0, "layer"), (206.0, "mm"), (276.0, "light"), (346.0, "L*"), (416.0, "C*"), (486.0, "h")];

/// Everything below is that size from this width on, points, and smaller in proportion below.
const WIDE: f32 = 780.0;

fn scale_of(width: f32) -> f32 {
    (width / WIDE).clamp(0.6, 1.0)
}

/// Draws a section in `size` points; 900 × 420 reads well, and 560 × 260 fits. `tooth` is what its
/// tooth is called within a sentence.
pub fn cross_section(ui: &mut Ui, size: Vec2, section: &CrossSection, tooth: &str) -> Response {
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter_at(rect);
    let k = scale_of(rect.width());
    let bars = Rect::from_min_max(
        rect.min + vec2(NAME_WIDTH * k, TITLE_HEIGHT),
        pos2(rect.right() - (TABLE_WIDTH + 24.0) * k, rect.bottom() - FOOT_HEIGHT),
    );
    let table_left = bars.right() + 20.0 * k;
    let font = FontId::proportional(TEXT_PT * k);
    painter.text(
        bars.left_top() - vec2(0.0, TITLE_HEIGHT / 2.0),
        Align2::LEFT_CENTER,
        "front",
        font.clone(),
        theme::INK_SOFT,
    );
    painter.text(
        bars.right_top() - vec2(0.0, TITLE_HEIGHT / 2.0),
        Align2::RIGHT_CENTER,
        "back",
        font.clone(),
        theme::INK_SOFT,
    );
    for (i, (x, name)) in COLUMNS.iter().enumerate() {
        let align = if i == 0 { Align2::LEFT_CENTER } else { Align2::RIGHT_CENTER };
        let at = pos2(table_left + k * x, rect.top() + TITLE_HEIGHT / 2.0);
        painter.text(at, align, name, font.clone(), theme::INK_SOFT);
    }
    let scale = points_per_mm(section, bars.width());
    let pitch = bars.height() / section.cuts.len().max(1) as f32;
    for (i, cut) in section.cuts.iter().enumerate() {
        let top = bars.top() + pitch * i as f32;
        let band = Rect::from_min_max(
            pos2(bars.left(), top + 4.0),
            pos2(bars.right(), top + pitch - 10.0),
        );
        let name = pos2(rect.left() + 4.0, band.center().y);
        painter.text(name, Align2::LEFT_CENTER, place_name(cut), font.clone(), theme::INK);
        draw_bar(&painter, band, cut, section.preparation, scale);
        let table = Rect::from_min_max(pos2(table_left, band.top()), rect.max);
        let table = table.with_max_y(band.bottom());
        draw_rows(&painter, table, k, cut, section.preparation);
    }
    foot(&painter, rect, scale);
    let words = in_words(section, tooth);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, &words));
    response
}

/// The section as sentences; `tooth` is what its tooth is called within one.
#[must_use]
pub fn in_words(section: &CrossSection, tooth: &str) -> String {
    let cuts = section.cuts.iter().map(|cut| {
        let layers: Vec<String> = cut
            .layers
            .iter()
            .map(|layer| {
                format!(
                    "{} {:.2} mm, {:.0} % of the light",
                    name_of(layer.role, section.preparation),
                    layer.thickness_mm,
                    100.0 * layer.light_share
                )
            })
            .collect();
        format!("{}: {}", cut.height.name(), layers.join("; "))
    });
    format!("Layers of {tooth}. {}.", cuts.collect::<Vec<_>>().join(". "))
}

const fn name_of(role: LayerRole, preparation: Preparation) -> &'static str {
    match (role, preparation) {
        (LayerRole::Back, Preparation::Veneer | Preparation::Onlay { .. }) => "enamel behind",
        (LayerRole::Back, Preparation::Crown) => "ceramic behind",
        (other, _) => other.name(),
    }
}

fn place_name(cut: &Cut) -> &'static str {
    use crate::bake::cross_section::CutHeight;
    match cut.height {
        CutHeight::Neck => "Neck",
        CutHeight::Middle => "Middle",
        CutHeight::Incisal => "Incisal",
    }
}

/// One scale for all cuts, so that they compare.
fn points_per_mm(section: &CrossSection, width: f32) -> f32 {
    let widest = section
        .cuts
        .iter()
        .map(|cut| cut.layers.iter().map(shown_mm).sum::<f64>())
        .fold(0.5, f64::max);
    (width / widest as f32).min(MOST_POINTS_PER_MM)
}

/// How much of a layer is drawn, mm: all of it, but for the tooth, which would fill the picture.
fn shown_mm(layer: &CutLayer) -> f64 {
    match layer.role {
        LayerRole::PreparedTooth => layer.thickness_mm.min(TOOTH_SHOWN_MM),
        LayerRole::Back => layer.thickness_mm.min(0.5 * TOOTH_SHOWN_MM),
        LayerRole::Ceramic | LayerRole::Cement => layer.thickness_mm,
    }
}

fn draw_bar(painter: &Painter, band: Rect, cut: &Cut, preparation: Preparation, scale: f32) {
    let mut left = band.left();
    for layer in &cut.layers {
        let width = scale * shown_mm(layer) as f32;
        let place = Rect::from_min_size(pos2(left, band.top()), vec2(width, band.height()));
        fill(painter, place, layer.role, preparation);
        if shown_mm(layer) < layer.thickness_mm - 1e-9 {
            cut_off(painter, place);
        }
        left += width;
    }
    let whole = Rect::from_min_max(band.min, pos2(left, band.bottom()));
    painter.rect_stroke(whole, 0.0, Stroke::new(2.0, theme::INK), StrokeKind::Inside);
}

/// A layer's pattern: told apart by hatching, not by colour.
fn fill(painter: &Painter, place: Rect, role: LayerRole, preparation: Preparation) {
    let clipped = painter.with_clip_rect(place.intersect(painter.clip_rect()));
    let line = |points: [Pos2; 2], width: f32, grey: Color32| {
        clipped.line_segment(points, Stroke::new(width, grey));
    };
    let ceramic = |gap: f32| {
        clipped.rect_filled(place, 0.0, theme::PAPER);
        let mut x = place.left() - place.height();
        while x < place.right() {
            line(
                [pos2(x, place.bottom()), pos2(x + place.height(), place.top())],
                1.5,
                theme::GUIDE,
            );
            x += gap;
        }
    };
    match role {
        LayerRole::Ceramic => ceramic(12.0),
        LayerRole::Cement => {
            clipped.rect_filled(place, 0.0, theme::EDGE);
        }
        LayerRole::PreparedTooth => {
            clipped.rect_filled(place, 0.0, theme::CONTROL_PRESSED);
            let mut y = place.top() + 6.0;
            while y < place.bottom() {
                line([pos2(place.left(), y), pos2(place.right(), y)], 1.0, theme::GUIDE);
                y += 9.0;
            }
        }
        LayerRole::Back if preparation == Preparation::Crown => ceramic(12.0),
        LayerRole::Back => {
            clipped.rect_filled(place, 0.0, theme::CONTROL_HOVER);
            let mut x = place.left() + 5.0;
            while x < place.right() {
                line([pos2(x, place.top()), pos2(x, place.bottom())], 1.0, theme::GUIDE);
                x += 7.0;
            }
        }
    }
    painter.rect_stroke(place, 0.0, Stroke::new(1.0, theme::INK), StrokeKind::Inside);
}

/// A break line: there is more than is drawn.
fn cut_off(painter: &Painter, place: Rect) {
    let x = place.right() - 0.28 * place.width();
    let points: Vec<Pos2> = (0_u8..=8)
        .map(|i| {
            let share = f32::from(i) / 8.0;
            let sway = if i % 2 == 0 { -4.0 } else { 4.0 };
            pos2(x + sway, place.top() + place.height() * share)
        })
        .collect();
    for (shift, width, colour) in
        [(0.0, 9.0, theme::SURFACE), (-4.5, 1.5, theme::INK), (4.5, 1.5, theme::INK)]
    {
        let moved = points.iter().map(|p| *p + vec2(shift, 0.0)).collect();
        painter.add(Shape::line(moved, Stroke::new(width, colour)));
    }
}

fn draw_rows(painter: &Painter, table: Rect, k: f32, cut: &Cut, preparation: Preparation) {
    let font = FontId::proportional(TEXT_PT * k);
    let at = table.min;
    let pitch = (table.height() / cut.layers.len() as f32).min(26.0);
    let top = at.y + (table.height() - pitch * cut.layers.len() as f32) / 2.0;
    for (i, layer) in cut.layers.iter().enumerate() {
        let y = top + pitch * (i as f32 + 0.5);
        let write = |column: usize, text: &str| {
            let align = if column == 0 { Align2::LEFT_CENTER } else { Align2::RIGHT_CENTER };
            let place = pos2(at.x + k * COLUMNS[column].0, y);
            painter.text(place, align, text, font.clone(), theme::INK);
        };
        let swatch = Rect::from_center_size(pos2(at.x + 9.0 * k, y), vec2(18.0, 16.0) * k);
        fill(painter, swatch, layer.role, preparation);
        painter.text(
            pos2(at.x + 26.0 * k, y),
            Align2::LEFT_CENTER,
            name_of(layer.role, preparation),
            font.clone(),
            theme::INK,
        );
        let [l, c, _] = layer.change;
        write(1, &format!("{:.2}", layer.thickness_mm));
        write(2, &format!("{:.0} %", 100.0 * layer.light_share));
        write(3, &signed(l));
        write(4, &signed(c));
        // The back counts from black. Greys have no hue to change from or to.
        let hue = match (layer.role, cut.hue_change(i)) {
            (LayerRole::Back, _) => "–".to_owned(),
            (_, None) => "grey".to_owned(),
            (_, Some(h)) => format!("{}°", signed(h)),
        };
        write(5, &hue);
    }
}

/// A scale bar of one millimetre or a tenth, and how to read the table.
fn foot(painter: &Painter, rect: Rect, scale: f32) {
    let k = scale_of(rect.width());
    let font = FontId::proportional((TEXT_PT - 1.0) * k);
    let (length, words) = if scale >= 120.0 { (0.5 * scale, "0.5 mm") } else { (scale, "1 mm") };
    let left = pos2(rect.left() + NAME_WIDTH * k, rect.bottom() - FOOT_HEIGHT / 2.0);
    let right = left + vec2(length, 0.0);
    painter.line_segment([left, right], Stroke::new(3.0, theme::INK));
    for end in [left, right] {
        let ends = [end - vec2(0.0, 6.0), end + vec2(0.0, 6.0)];
        painter.line_segment(ends, Stroke::new(3.0, theme::INK));
    }
    painter.text(right + vec2(10.0, 0.0), Align2::LEFT_CENTER, words, font.clone(), theme::INK);
    painter.text(
        pos2(rect.right() - 4.0, left.y),
        Align2::RIGHT_CENTER,
        "light: share that comes back from the layer; L*, C*, h: change when it is laid on",
        font,
        theme::INK_SOFT,
    );
}
