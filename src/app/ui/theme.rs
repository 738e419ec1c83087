//! Colours, type and spacing. Every colour of the interface is named here.
//!
//! The chrome is neutral grey so that it does not shift the eye's white; the only hue is the
//! focus ring, and a focused control is also outlined more heavily.

use bevy_egui::egui::{
    self, Color32, CornerRadius, FontFamily, FontId, Margin, Stroke, TextStyle, Visuals,
    style::WidgetVisuals,
};

/// The adaptation grey: sRGB 119 on every channel is L* 50 (IEC 61966-2-1 and CIE 15 give
/// 50.03).
pub const GREY: Color32 = Color32::from_gray(119);
/// Cards and bars that lie on the grey.
pub const SURFACE: Color32 = Color32::from_gray(150);
/// A control at rest.
pub const CONTROL: Color32 = Color32::from_gray(168);
/// A control under the pointer.
pub const CONTROL_HOVER: Color32 = Color32::from_gray(184);
/// A control held down.
pub const CONTROL_PRESSED: Color32 = Color32::from_gray(200);
/// Edges of controls and drawings.
pub const EDGE: Color32 = Color32::from_gray(48);
/// Faint guide lines.
pub const GUIDE: Color32 = Color32::from_gray(84);
/// Text.
pub const INK: Color32 = Color32::from_gray(10);
/// Second-rank text. Still 5:1 or better on [`SURFACE`].
pub const INK_SOFT: Color32 = Color32::from_gray(34);
/// The light half of two-tone drawings.
pub const PAPER: Color32 = Color32::from_gray(226);
/// Keyboard focus, and nothing else.
pub const FOCUS: Color32 = Color32::from_rgb(255, 224, 102);

/// Body text, points.
pub const BODY_PT: f32 = 17.0;
/// Gap between blocks, points.
pub const GAP: f32 = 12.0;
/// Line width of a focus ring, points.
pub const FOCUS_WIDTH: f32 = 3.0;

/// Sets the theme of `ctx`.
pub fn apply(ctx: &egui::Context) {
    ctx.set_theme(egui::Theme::Light);
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Heading, FontId::new(28.0, FontFamily::Proportional)),
            (TextStyle::Body, FontId::new(BODY_PT, FontFamily::Proportional)),
            (TextStyle::Button, FontId::new(BODY_PT, FontFamily::Proportional)),
            (TextStyle::Monospace, FontId::new(16.0, FontFamily::Monospace)),
            (TextStyle::Small, FontId::new(16.0, FontFamily::Proportional)),
        ]
        .into();
        style.spacing.item_spacing = egui::vec2(10.0, 8.0);
        style.spacing.button_padding = egui::vec2(16.0, 8.0);
        style.spacing.interact_size.y = 36.0;
        style.animation_time = 0.0;
        style.interaction.selectable_labels = false;
        style.visuals = visuals();
    });
}

fn visuals() -> Visuals {
    let mut visuals = Visuals::light();
    visuals.override_text_color = Some(INK);
    visuals.panel_fill = GREY;
    visuals.window_fill = SURFACE;
    visuals.window_stroke = Stroke::new(1.0, EDGE);
    visuals.extreme_bg_color = CONTROL;
    visuals.faint_bg_color = SURFACE;
    visuals.selection.bg_fill = CONTROL_PRESSED;
    visuals.selection.stroke = Stroke::new(1.0, INK);
    visuals.hyperlink_color = INK;
    visuals.warn_fg_color = INK;
    visuals.error_fg_color = INK;
    visuals.window_shadow = egui::Shadow::NONE;
    visuals.popup_shadow = egui::Shadow::NONE;
    let widget = |fill, edge_width: f32| WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: fill,
        bg_stroke: Stroke::new(edge_width, EDGE),
        corner_radius: CornerRadius::same(4),
        fg_stroke: Stroke::new(1.5, INK),
        expansion: 0.0,
    };
    visuals.widgets.noninteractive = widget(SURFACE, 1.0);
    visuals.widgets.inactive = widget(CONTROL, 1.0);
    visuals.widgets.hovered = widget(CONTROL_HOVER, 1.5);
    visuals.widgets.active = widget(CONTROL_PRESSED, 2.0);
    visuals.widgets.open = widget(CONTROL_HOVER, 1.0);
    visuals
}

/// The frame of a card on the grey.
pub fn card_frame() -> egui::Frame {
    egui::Frame::NONE
        .fill(SURFACE)
        .stroke(Stroke::new(1.0, GUIDE))
        .corner_radius(CornerRadius::same(6))
        .inner_margin(Margin::symmetric(16, 12))
}

/// Draws the focus ring around `rect`: the accent between two dark lines, so that it is seen on
/// any grey.
pub fn focus_ring(painter: &egui::Painter, rect: egui::Rect) {
    let ring = rect.expand(4.0);
    let radius = CornerRadius::same(7);
    let kind = egui::StrokeKind::Middle;
    painter.rect_stroke(ring, radius, Stroke::new(FOCUS_WIDTH + 2.0, INK), kind);
    painter.rect_stroke(ring, radius, Stroke::new(FOCUS_WIDTH, FOCUS), kind);
}
