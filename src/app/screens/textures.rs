//! Keeps the pictures of the smile under way on the graphics card.

use crate::app::debrief::{DebriefView, Side};
use crate::app::picture::{scrambled, value_only};
use crate::app::session::Session;
use crate::app::viewport::Picture;
use crate::trial::Phase;
use bevy::asset::RenderAssetUsages;
use bevy::image::ImageSampler;
use bevy::prelude::*;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy_egui::egui::TextureId;
use bevy_egui::{EguiTextureHandle, EguiUserTextures};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a texture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Content {
    /// The smile as restored.
    Restored,
    /// The twin.
    Twin,
    /// The mask.
    Mask,
    /// As restored, value only.
    RestoredValue,
    /// The twin, value only.
    TwinValue,
}

/// A picture on the graphics card.
#[derive(Debug, Clone)]
pub struct Uploaded {
    /// For egui.
    pub id: TextureId,
    /// Size, pixels.
    pub size_px: [u32; 2],
    handle: Handle<Image>,
}

/// The pictures of one smile on the graphics card.
#[derive(Resource, Default)]
pub struct Textures {
    of: Option<Arc<Picture>>,
    uploaded: BTreeMap<Content, Uploaded>,
}

impl Textures {
    /// A picture, once it is there.
    #[must_use]
    pub fn get(&self, content: Content) -> Option<&Uploaded> {
        self.uploaded.get(&content)
    }
}

/// Which picture the debrief's view asks for, `None` during the gap.
pub fn content_of(view: DebriefView) -> Option<Content> {
    Some(match (view.side()?, view.value_only) {
        (Side::Restored, false) => Content::Restored,
        (Side::Twin, false) => Content::Twin,
        (Side::Restored, true) => Content::RestoredValue,
        (Side::Twin, true) => Content::TwinValue,
    })
}

/// Uploads what the phase needs: picture and mask before the exposure, the rest in the debrief.
pub fn upload(
    session: Res<Session>,
    view: Res<DebriefView>,
    mut textures: ResMut<Textures>,
    mut images: ResMut<Assets<Image>>,
    mut user_textures: ResMut<EguiUserTextures>,
) {
    let Some(shown) = session.shown() else { return };
    if !textures.of.as_ref().is_some_and(|of| Arc::ptr_eq(of, &shown.restored)) {
        for old in std::mem::take(&mut textures.uploaded).into_values() {
            user_textures.remove_image(&old.handle);
            images.remove(&old.handle);
        }
        textures.of = Some(shown.restored.clone());
    }
    let wanted: &[Content] = match session.phase() {
        Phase::Debrief if view.value_only => {
            &[Content::Restored, Content::Twin, Content::RestoredValue, Content::TwinValue]
        }
        Phase::Debrief => &[Content::Restored, Content::Twin],
        _ => &[Content::Restored, Content::Mask],
    };
    for content in wanted.iter().copied() {
        textures.uploaded.entry(content).or_insert_with(|| {
            let mut upload = |picture: &Picture| put(picture, &mut images, &mut user_textures);
            match content {
                Content::Restored => upload(&shown.restored),
                Content::Twin => upload(&shown.twin),
                Content::RestoredValue => upload(&value_only(&shown.restored)),
                Content::TwinValue => upload(&value_only(&shown.twin)),
                Content::Mask => upload(&scrambled(&shown.restored, shown.scene.seed)),
            }
        });
    }
}

fn put(
    picture: &Picture,
    images: &mut Assets<Image>,
    user_textures: &mut EguiUserTextures,
) -> Uploaded {
    let mut image = Image::new(
        Extent3d { width: picture.width, height: picture.height, depth_or_array_layers: 1 },
        TextureDimension::D2,
        picture.rgba.clone(),
        TextureFormat::Rgba8UnormSrgb,
        RenderAssetUsages::RENDER_WORLD,
    );
    // One picture pixel per screen pixel: no filtering, so that codes pass unchanged.
    image.sampler = ImageSampler::nearest();
    let handle = images.add(image);
    let id = user_textures.add_image(EguiTextureHandle::Strong(handle.clone()));
    Uploaded { id, size_px: [picture.width, picture.height], handle }
}
