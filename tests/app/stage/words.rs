//! Words on the screen, as egui draws them.

use bevy::prelude::*;
use bevy_egui::egui::{Rect, Shape, epaint::ClippedShape};
use bevy_egui::{EguiFullOutput, EguiPostUpdateSet};

/// What was drawn in the last frame.
#[derive(Resource, Default)]
struct Sheet(Vec<ClippedShape>);

fn keep_sheet(mut sheet: ResMut<Sheet>, contexts: Query<&EguiFullOutput>) {
    for output in &contexts {
        if let Some(output) = &output.0 {
            sheet.0.clone_from(&output.shapes);
        }
    }
}

/// Words on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Words {
    pub text: String,
    /// Where they lie.
    pub place: Rect,
    /// What is seen of the screen there.
    pub clip: Rect,
}

impl Words {
    /// Whether all of them is seen in a window, but for what rounding takes.
    pub fn are_whole(&self, window: Rect) -> bool {
        self.clip.intersect(window).expand(1.0).contains_rect(self.place)
    }
}

fn words_of(shape: &Shape, clip: Rect, found: &mut Vec<Words>) {
    match shape {
        Shape::Vec(shapes) => shapes.iter().for_each(|shape| words_of(shape, clip, found)),
        Shape::Text(text) if !text.galley.text().trim().is_empty() => {
            let place = text.galley.rect.translate(text.pos.to_vec2());
            found.push(Words { text: text.galley.text().to_owned(), place, clip });
        }
        _ => {}
    }
}

/// Keeps what each frame draws.
pub fn keep_words(app: &mut App) {
    app.init_resource::<Sheet>().add_systems(
        PostUpdate,
        keep_sheet.after(EguiPostUpdateSet::EndPass).before(EguiPostUpdateSet::ProcessOutput),
    );
}

/// All words drawn in the last frame.
pub fn words_in(world: &World) -> Vec<Words> {
    let mut found = Vec::new();
    for clipped in &world.resource::<Sheet>().0 {
        words_of(&clipped.shape, clipped.clip_rect, &mut found);
    }
    found
}
