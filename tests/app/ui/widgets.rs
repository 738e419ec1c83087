//! The blend chart and the cross-section, drawn without a window or a graphics adapter.
//!
//! With a folder in `SECOND_GLANCE_SCREENS` the pictures are kept for people to look at.

use super::paint::picture;
use crate::stage::keys::key_down;
use bevy_egui::egui::{self, Key, Pos2, Rect, vec2};
use second_glance::app::ui::blend_chart::{BlendChartView, ChartCursor};
use second_glance::app::ui::cross_section::cross_section;
use second_glance::app::ui::theme;
use second_glance::bake::cross_section::{CrossSection, cross_section as cut};
use second_glance::chart::{BlendChart, ChartCase, blend_chart};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::material::Library;
use second_glance::play::picture::aids::scale_colour;
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Staging, Thickness, Tooth,
    Translucency,
};
use std::sync::LazyLock;

static DRAWN: LazyLock<(BlendChart, CrossSection)> = LazyLock::new(|| {
    let library = Library::shipped().unwrap();
    let tooth = Tooth::new(21).unwrap();
    let body = Lch { l: 75.0, c: 16.0, h: 88.0 };
    let restoration = Restoration {
        tooth,
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: "lithium-disilicate".to_owned(),
            translucency: Translucency::Medium,
            shade: Lch { l: 78.0, c: 15.0, h: 90.0 },
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm: 0.2, neck_mm: 0.4, body_mm: 0.5, incisal_mm: 0.7 },
        cement: "clear".to_owned(),
        cement_film_mm: 0.05,
        prepared_tooth: "brown".to_owned(),
        drift: None,
    };
    let natural = NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    let mut other = restoration.clone();
    other.ceramic.translucency = Translucency::Low;
    let case = Case {
        seed: 3,
        patient: Patient { teeth: vec![natural], gingiva: Lch { l: 51.0, c: 33.0, h: 34.0 } },
        restorations: vec![restoration],
        shift: None,
        illuminant: Illuminant::D65,
        staging: Staging::default(),
    };
    let tried = [("B".to_owned(), other)];
    let of = ChartCase::of(&case).unwrap();
    let chart = blend_chart(&of, "A", &tried, &library).unwrap();
    let section = cut(&case, &case.restorations[0], &library).unwrap().unwrap();
    (chart, section)
});

fn keep(name: &str, size: [u32; 2], pixels: &[u8]) {
    if let Some(folder) = std::env::var_os("SECOND_GLANCE_SCREENS") {
        let path = std::path::Path::new(&folder).join(name);
        image::save_buffer(path, pixels, size[0], size[1], image::ExtendedColorType::Rgba8)
            .unwrap();
    }
}

fn on_surface(ui: &mut egui::Ui) {
    ui.painter().rect_filled(Rect::EVERYTHING, 0.0, theme::SURFACE);
}

fn pixel(pixels: &[u8], width: u32, at: Pos2) -> [u8; 3] {
    let i = 4 * (at.y as usize * width as usize + at.x as usize);
    [pixels[i], pixels[i + 1], pixels[i + 2]]
}

#[test]
fn the_chart_paints_what_it_says() {
    let (chart, _) = &*DRAWN;
    let view = BlendChartView { chart, tooth: "tooth 11" };
    for size in [[1280, 720], [900, 420]] {
        let mut area = Rect::NOTHING;
        let mut cursor = None;
        let pixels = picture(size, |ui| {
            on_surface(ui);
            let room = vec2(size[0] as f32 - 20.0, size[1] as f32 - 20.0);
            area = view.show(ui, room, &mut cursor).rect;
        });
        keep(&format!("blend-chart-{}.png", size[0]), size, &pixels);
        // Somewhere in each field away from lines and marks: the colour of the scale.
        let (mut seen, mut right) = (0, 0);
        for (panel, field) in chart.panels.iter().zip(view.fields(area)) {
            let axes = &chart.axes;
            let (low, high) =
                (axes.thickness_mm[0], axes.thickness_mm[axes.thickness_mm.len() - 1]);
            let (dark, light) = (axes.shades[0].l, axes.shades[axes.shades.len() - 1].l);
            for (x, y) in [(0.1, 0.1), (0.5, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.4), (0.5, 0.5)] {
                let at = field.min + vec2(x * field.width(), (1.0 - y) * field.height());
                let mm = low + f64::from(x) * (high - low);
                let l = dark + f64::from(y) * (light - dark);
                let reading = chart.at(panel, mm, l).unwrap();
                let wanted = scale_colour(reading.difference.de00 / 6.0);
                let found = pixel(&pixels, size[0], at);
                seen += 1;
                let off = (0..3).map(|i| wanted[i].abs_diff(found[i])).max().unwrap();
                right += u32::from(off <= 6);
            }
        }
        // A line, a number or a mark may lie over a few of them.
        assert!(right * 4 >= seen * 3, "{right} of {seen}");
    }
}

/// One frame of a window with some keys pressed.
fn frame(
    ctx: &egui::Context,
    view: &BlendChartView<'_>,
    cursor: &mut Option<ChartCursor>,
    keys: &[Key],
) -> egui::Id {
    let window = Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 720.0));
    let events = keys.iter().map(|key| key_down(*key)).collect();
    let input = egui::RawInput { screen_rect: Some(window), events, ..egui::RawInput::default() };
    let mut id = egui::Id::NULL;
    let mut output = ctx.run_ui(input, |ui| id = view.show(ui, vec2(1200.0, 600.0), cursor).id);
    output.textures_delta.clear();
    id
}

#[test]
fn the_chart_is_read_with_the_keyboard() {
    let (chart, _) = &*DRAWN;
    let view = BlendChartView { chart, tooth: "tooth 11" };
    let ctx = egui::Context::default();
    let mut cursor = None;
    let id = frame(&ctx, &view, &mut cursor, &[]);
    assert!(cursor.is_none());
    ctx.memory_mut(|memory| memory.request_focus(id));
    frame(&ctx, &view, &mut cursor, &[]);
    let start = cursor.unwrap();
    // It begins where the restoration stands: medium translucency is the second panel.
    assert_eq!((start.panel, start.thickness_mm, start.lightness), (1, 0.5, 78.0));
    frame(&ctx, &view, &mut cursor, &[Key::ArrowRight]);
    assert!((cursor.unwrap().thickness_mm - 0.55).abs() < 1e-9, "{cursor:?}");
    frame(&ctx, &view, &mut cursor, &[Key::ArrowUp]);
    assert_eq!(cursor.unwrap().lightness, 80.0);
    frame(&ctx, &view, &mut cursor, &[Key::ArrowDown, Key::ArrowDown]);
    assert_eq!(cursor.unwrap().lightness, 76.0);
    frame(&ctx, &view, &mut cursor, &[Key::PageDown]);
    frame(&ctx, &view, &mut cursor, &[Key::PageDown]);
    assert_eq!(cursor.unwrap().panel, 2);
    for _ in 0..80 {
        frame(&ctx, &view, &mut cursor, &[Key::ArrowLeft]);
    }
    assert_eq!(cursor.unwrap().thickness_mm, chart.axes.thickness_mm[0]);
    let words = view.in_words(cursor.as_ref());
    assert!(words.starts_with("High translucency, 0.20 mm of L76 C15 h90: ΔE00 "), "{words}");
}

#[test]
fn the_section_is_drawn_to_scale() {
    let (_, section) = &*DRAWN;
    for size in [[1180, 520], [900, 400]] {
        let pixels = picture(size, |ui| {
            on_surface(ui);
            let room = vec2(size[0] as f32 - 20.0, size[1] as f32 - 20.0);
            cross_section(ui, room, section, "tooth 11");
        });
        keep(&format!("cross-section-{}.png", size[0]), size, &pixels);
        // The dark strip of the cement stands further to the right where the ceramic is thicker.
        let cement = |row: u32| {
            (110..size[0] / 2).find(|x| {
                let here = pixel(&pixels, size[0], egui::pos2(*x as f32, row as f32));
                let next = pixel(&pixels, size[0], egui::pos2(*x as f32 + 3.0, row as f32));
                here == theme::EDGE.to_array()[..3] && next == here
            })
        };
        let row = |share: f32| (30.0 + share * (size[1] as f32 - 94.0)) as u32;
        let [neck, middle] = [0.2, 0.55].map(|share| cement(row(share)));
        println!("{size:?}: {neck:?} {middle:?}");
        assert!(neck.is_some() && middle > neck, "{neck:?} {middle:?}");
    }
}
