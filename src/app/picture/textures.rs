//! Pictures of smiles on the graphics card, each uploaded once.

use crate::play::picture::aids::{difference_map, side_by_side};
use crate::play::picture::edit::{scrambled, shrunk, value_only};
use crate::play::picture::{Picture, PreparedScene};
use crate::play::view::{DebriefView, Look, Side};
use bevy::asset::RenderAssetUsages;
use bevy::ecs::system::SystemParam;
use bevy::image::ImageSampler;
use bevy::prelude::*;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy_egui::egui::TextureId;
use bevy_egui::{EguiTextureHandle, EguiUserTextures};
use std::borrow::Cow;
use std::sync::Arc;

/// What a texture shows of a smile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
    /// A small picture, this many of which stand side by side.
    Small(u32),
    /// The same, value only.
    SmallValue(u32),
}

impl Content {
    /// Which picture the debrief's view asks for, `None` during the gap.
    #[must_use]
    pub fn in_debrief(view: DebriefView) -> Option<Self> {
        match (view.look, view.value_only) {
            (Look::Map, _) => return Some(Self::Map),
            (Look::SideBySide, false) => return Some(Self::SideBySide),
            (Look::SideBySide, true) => return Some(Self::SideBySideValue),
            (Look::Smile, _) => {}
        }
        Some(match (view.side()?, view.value_only) {
            (Side::Restored, false) => Self::Restored,
            (Side::Twin, false) => Self::Twin,
            (Side::Restored, true) => Self::RestoredValue,
            (Side::Twin, true) => Self::TwinValue,
        })
    }

    /// Which picture a question's view asks for, `None` during the gap of a debrief.
    #[must_use]
    pub fn in_question(view: DebriefView, is_debrief: bool) -> Option<Self> {
        if is_debrief {
            return Self::in_debrief(view);
        }
        Some(if view.value_only { Self::RestoredValue } else { Self::Restored })
    }

    /// What a sheet of so many smiles shows of each.
    #[must_use]
    pub const fn small(count: usize, value_only: bool) -> Self {
        let columns = sheet_columns(count);
        if value_only { Self::SmallValue(columns) } else { Self::Small(columns) }
    }

    /// The picture that tells this of one smile from the same of another. Twins are shared.
    const fn identity(self, prepared: &PreparedScene) -> &Arc<Picture> {
        match self {
            Self::Twin | Self::TwinValue => &prepared.twin,
            _ => &prepared.restored,
        }
    }

    /// The picture itself, and for a map what its scale's end stands for, ΔE00, 0 otherwise.
    fn picture_of(self, prepared: &PreparedScene) -> Option<(Cow<'_, Picture>, f64)> {
        let (restored, twin) = (&*prepared.restored, &*prepared.twin);
        let pair = || side_by_side(restored, twin, prepared.scene.truth.as_ref()?.tooth);
        let picture = match self {
            Self::Restored => Cow::Borrowed(restored),
            Self::Twin => Cow::Borrowed(twin),
            Self::RestoredValue => Cow::Owned(value_only(restored)),
            Self::TwinValue => Cow::Owned(value_only(twin)),
            Self::Mask => Cow::Owned(scrambled(restored, prepared.scene.seed)),
            Self::SideBySide => Cow::Owned(pair()?),
            Self::SideBySideValue => Cow::Owned(value_only(&pair()?)),
            Self::Small(times) => Cow::Owned(shrunk(restored, times)),
            Self::SmallValue(times) => Cow::Owned(value_only(&shrunk(restored, times))),
            Self::Map => {
                let map = difference_map(restored, twin);
                return Some((Cow::Owned(map.picture), map.scale_end_de00));
            }
        };
        Some((picture, 0.0))
    }
}

/// Small smiles that stand side by side on a sheet of so many.
#[must_use]
pub const fn sheet_columns(count: usize) -> u32 {
    if count <= 4 { 2 } else { 3 }
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

struct Kept {
    of: Arc<Picture>,
    content: Content,
    uploaded: Uploaded,
    map_end_de00: f64,
}

impl Kept {
    fn is(&self, content: Content, of: &Arc<Picture>) -> bool {
        self.content == content && Arc::ptr_eq(&self.of, of)
    }
}

/// What is on the graphics card, the latest used last.
#[derive(Resource, Default)]
pub struct Textures {
    kept: Vec<Kept>,
    /// The smile of the session under way.
    shown: Option<PreparedScene>,
}

/// What pictures are put on the graphics card with.
#[derive(SystemParam)]
pub(crate) struct Card<'w> {
    images: ResMut<'w, Assets<Image>>,
    user_textures: ResMut<'w, EguiUserTextures>,
}

impl Textures {
    /// A picture, once it is there, and for a map what the end of its scale stands for, ΔE00.
    #[must_use]
    pub fn of(&self, prepared: &PreparedScene, content: Content) -> Option<(&Uploaded, f64)> {
        let of = content.identity(prepared);
        let kept = self.kept.iter().find(|kept| kept.is(content, of))?;
        Some((&kept.uploaded, kept.map_end_de00))
    }

    /// A picture of the session's smile, once it is there.
    #[must_use]
    pub fn get(&self, content: Content) -> Option<&Uploaded> {
        self.of(self.shown.as_ref()?, content).map(|(uploaded, _)| uploaded)
    }

    /// The picture of the session's smile that the debrief's view asks for, once it is there, its size,
    /// pixels, and what the end of a map's scale stands for, ΔE00.
    #[must_use]
    pub fn in_view(&self, view: DebriefView) -> Option<(TextureId, [u32; 2], f64)> {
        let content = Content::in_debrief(view)?;
        let (uploaded, map_end_de00) = self.of(self.shown.as_ref()?, content)?;
        Some((uploaded.id, uploaded.size_px, map_end_de00))
    }

    /// Makes this the session's smile; those of another are taken from the card.
    pub(crate) fn show(&mut self, shown: &PreparedScene, card: &mut Card) {
        let is_same = |before: &PreparedScene| {
            Arc::ptr_eq(&before.restored, &shown.restored) && Arc::ptr_eq(&before.twin, &shown.twin)
        };
        if self.shown.as_ref().is_some_and(is_same) {
            return;
        }
        self.clear(card);
        self.shown = Some(shown.clone());
    }

    /// Sees to it that a picture is on the card, and is the latest used.
    pub(crate) fn want(&mut self, prepared: &PreparedScene, content: Content, card: &mut Card) {
        let of = content.identity(prepared);
        let known = self.kept.iter().position(|kept| kept.is(content, of));
        let kept = match known {
            Some(at) => self.kept.remove(at),
            None => {
                let Some((picture, map_end_de00)) = content.picture_of(prepared) else { return };
                Kept { of: of.clone(), content, uploaded: card.put(&picture), map_end_de00 }
            }
        };
        self.kept.push(kept);
    }

    /// Keeps the latest used, this many.
    pub(crate) fn keep(&mut self, most: usize, card: &mut Card) {
        let older = self.kept.len().saturating_sub(most);
        for kept in self.kept.drain(..older) {
            card.remove(&kept.uploaded);
        }
    }

    /// Lets everything go.
    pub(crate) fn clear(&mut self, card: &mut Card) {
        self.keep(0, card);
    }
}

impl Card<'_> {
    fn put(&mut self, picture: &Picture) -> Uploaded {
        let mut image = Image::new(
            Extent3d { width: picture.width, height: picture.height, depth_or_array_layers: 1 },
            TextureDimension::D2,
            picture.rgba.clone(),
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::RENDER_WORLD,
        );
        // One picture pixel per screen pixel: no filtering, so that codes pass unchanged.
        image.sampler = ImageSampler::nearest();
        let handle = self.images.add(image);
        let id = self.user_textures.add_image(EguiTextureHandle::Strong(handle.clone()));
        Uploaded { id, size_px: [picture.width, picture.height], handle }
    }

    fn remove(&mut self, uploaded: &Uploaded) {
        self.user_textures.remove_image(&uploaded.handle);
        self.images.remove(&uploaded.handle);
    }
}
