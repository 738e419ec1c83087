//! Keeps the pictures of the smile under way on the graphics card.

use crate::play::picture::Picture;
use crate::play::picture::PreparedScene;
use crate::play::picture::aids::{difference_map, side_by_side};
use crate::play::picture::edit::{scrambled, value_only};
use crate::play::session::Session;
use crate::play::view::{DebriefView, Look, Side};
use crate::trial::Phase;
use bevy::asset::RenderAssetUsages;
use bevy::image::ImageSampler;
use bevy::prelude::*;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy_egui::egui::TextureId;
use bevy_egui::{EguiTextureHandle, EguiUserTextures};
use std::borrow::Cow;
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
    /// The map of the difference.
    Map,
    /// The restored tooth beside its twin.
    SideBySide,
    /// The same, value only.
    SideBySideValue,
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
    map_end_de00: f64,
}

impl Textures {
    /// A picture, once it is there.
    #[must_use]
    pub fn get(&self, content: Content) -> Option<&Uploaded> {
        self.uploaded.get(&content)
    }

    /// The picture that the debrief's view asks for, once it is there, its size, pixels, and what the
    /// end of a map's scale stands for, ΔE00.
    #[must_use]
    pub fn in_view(&self, view: DebriefView) -> Option<(TextureId, [u32; 2], f64)> {
        let uploaded = self.get(content_of(view)?)?;
        Some((uploaded.id, uploaded.size_px, self.map_end_de00))
    }

    /// What the end of the map's scale stands for, ΔE00.
    #[must_use]
    pub const fn map_end_de00(&self) -> f64 {
        self.map_end_de00
    }
}

/// Which picture the debrief's view asks for, `None` during the gap.
pub fn content_of(view: DebriefView) -> Option<Content> {
    match (view.look, view.value_only) {
        (Look::Map, _) => return Some(Content::Map),
        (Look::SideBySide, false) => return Some(Content::SideBySide),
        (Look::SideBySide, true) => return Some(Content::SideBySideValue),
        (Look::Smile, _) => {}
    }
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
    let mut wanted: Vec<Content> = match session.phase() {
        Phase::Debrief if view.value_only => {
            vec![Content::Restored, Content::Twin, Content::RestoredValue, Content::TwinValue]
        }
        Phase::Debrief => vec![Content::Restored, Content::Twin],
        _ => vec![Content::Restored, Content::Mask],
    };
    if session.phase() == Phase::Debrief {
        wanted.extend(content_of(*view));
    }
    for content in wanted {
        if textures.uploaded.contains_key(&content) {
            continue;
        }
        let Some((picture, map_end_de00)) = picture_of(content, shown) else { continue };
        textures.map_end_de00 = map_end_de00.unwrap_or(textures.map_end_de00);
        textures.uploaded.insert(content, put(&picture, &mut images, &mut user_textures));
    }
}

/// The picture that a texture shows, and for a map what its scale's end stands for.
fn picture_of(content: Content, shown: &PreparedScene) -> Option<(Cow<'_, Picture>, Option<f64>)> {
    let (restored, twin) = (&*shown.restored, &*shown.twin);
    let pair = || side_by_side(restored, twin, shown.scene.truth.as_ref()?.tooth);
    let picture = match content {
        Content::Restored => Cow::Borrowed(restored),
        Content::Twin => Cow::Borrowed(twin),
        Content::RestoredValue => Cow::Owned(value_only(restored)),
        Content::TwinValue => Cow::Owned(value_only(twin)),
        Content::Mask => Cow::Owned(scrambled(restored, shown.scene.seed)),
        Content::SideBySide => Cow::Owned(pair()?),
        Content::SideBySideValue => Cow::Owned(value_only(&pair()?)),
        Content::Map => {
            let map = difference_map(restored, twin);
            return Some((Cow::Owned(map.picture), Some(map.scale_end_de00)));
        }
    };
    Some((picture, None))
}

/// Puts a picture on the graphics card.
pub fn put(
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

/// Takes it from there.
pub fn remove(
    uploaded: &Uploaded,
    images: &mut Assets<Image>,
    user_textures: &mut EguiUserTextures,
) {
    user_textures.remove_image(&uploaded.handle);
    images.remove(&uploaded.handle);
}
