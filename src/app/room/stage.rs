//! What every screen lies on: the theme, and the size that pictures have beside it.

use crate::app::picture::prepare::PictureSize;
use crate::app::shell::canvas::Draw;
use crate::app::ui::picture_view::picture_area_pixels;
use crate::app::ui::theme;
use bevy::prelude::*;
use bevy_egui::{EguiContexts, EguiPrimaryContextPass};

/// Keeps the size of pictures and the theme that they lie on.
pub(crate) fn screen(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        (set_theme.run_if(run_once), follow_window_size).chain().in_set(Draw::Before),
    );
}

fn set_theme(mut contexts: EguiContexts) -> Result {
    theme::apply(contexts.ctx_mut()?);
    Ok(())
}

fn follow_window_size(mut contexts: EguiContexts, mut size: ResMut<PictureSize>) -> Result {
    let ctx = contexts.ctx_mut()?;
    let scale = ctx.pixels_per_point();
    let window = ctx.viewport_rect().size() * scale;
    let wanted = picture_area_pixels(window.x.round() as u32, window.y.round() as u32, scale);
    size.set_if_neq(PictureSize(wanted));
    Ok(())
}
