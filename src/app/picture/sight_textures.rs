//! Keeps the pictures of a question's smiles on the graphics card.

use crate::app::picture::textures::{Uploaded, put, remove};
use crate::play::picture::Picture;
use crate::play::picture::PreparedScene;
use crate::play::picture::aids::{difference_map, side_by_side};
use crate::play::picture::edit::{shrunk, value_only};
use crate::play::round::Exercising;
use crate::play::smiles::Preparation;
use crate::play::view::{DebriefView, Look, Side};
use bevy::prelude::*;
use bevy_egui::EguiUserTextures;
use std::borrow::Cow;
use std::sync::Arc;

/// What a texture shows of a smile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aspect {
    /// As restored.
    Restored,
    /// As restored, value only.
    RestoredValue,
    /// The twin.
    Twin,
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

/// Small smiles that stand side by side on a sheet of so many.
#[must_use]
pub const fn sheet_columns(count: usize) -> u32 {
    if count <= 4 { 2 } else { 3 }
}

/// Textures kept at most: each smile in its colours and one more aspect, and small.
const MOST: usize = 40;

/// The same while a recipe changes.
const MOST_COMPOSING: usize = 12;

struct Kept {
    of: Arc<Picture>,
    aspect: Aspect,
    uploaded: Uploaded,
    map_end_de00: f64,
}

/// Pictures of a question's smiles on the graphics card, the latest used last.
#[derive(Resource, Default)]
pub struct SightTextures(Vec<Kept>);

impl SightTextures {
    /// A picture, once it is there, and for a map what the end of its scale stands for, ΔE00.
    #[must_use]
    pub fn get(&self, prepared: &PreparedScene, aspect: Aspect) -> Option<(&Uploaded, f64)> {
        let kept = self.0.iter().find(|kept| {
            kept.aspect == aspect && Arc::ptr_eq(&kept.of, identity(prepared, aspect))
        })?;
        Some((&kept.uploaded, kept.map_end_de00))
    }
}

/// The picture that tells an aspect of one smile from that of another. Twins are shared.
const fn identity(prepared: &PreparedScene, aspect: Aspect) -> &Arc<Picture> {
    match aspect {
        Aspect::Twin | Aspect::TwinValue => &prepared.twin,
        _ => &prepared.restored,
    }
}

/// What the view asks for, `None` during the gap of a blink.
#[must_use]
pub fn aspect_of(view: DebriefView, is_debrief: bool) -> Option<Aspect> {
    if !is_debrief {
        return Some(if view.value_only { Aspect::RestoredValue } else { Aspect::Restored });
    }
    match (view.look, view.value_only) {
        (Look::Map, _) => return Some(Aspect::Map),
        (Look::SideBySide, false) => return Some(Aspect::SideBySide),
        (Look::SideBySide, true) => return Some(Aspect::SideBySideValue),
        (Look::Smile, _) => {}
    }
    Some(match (view.side()?, view.value_only) {
        (Side::Restored, false) => Aspect::Restored,
        (Side::Twin, false) => Aspect::Twin,
        (Side::Restored, true) => Aspect::RestoredValue,
        (Side::Twin, true) => Aspect::TwinValue,
    })
}

/// What a sheet of so many smiles shows of each.
#[must_use]
pub const fn small_aspect(count: usize, value_only: bool) -> Aspect {
    let columns = sheet_columns(count);
    if value_only { Aspect::SmallValue(columns) } else { Aspect::Small(columns) }
}

/// Uploads what is in view now, and every option's own picture before it is asked for.
pub fn upload(
    exercising: Res<Exercising>,
    preparation: Res<Preparation>,
    view: Res<DebriefView>,
    mut textures: ResMut<SightTextures>,
    mut images: ResMut<Assets<Image>>,
    mut user_textures: ResMut<EguiUserTextures>,
) {
    let is_debrief = exercising.may_compare();
    let sights = exercising.sights();
    let mut wanted: Vec<(&PreparedScene, Aspect)> = Vec::new();
    for sight in &sights {
        let Some(prepared) = preparation.latest(&sight.case) else { continue };
        wanted.push((prepared, Aspect::Restored));
        if exercising.shows_sheet() {
            wanted.push((prepared, small_aspect(sights.len(), view.value_only)));
        }
    }
    if let Some(shown) = exercising.shown(&preparation) {
        wanted.push((shown, Aspect::Restored));
        if is_debrief {
            wanted.push((shown, Aspect::Twin));
        }
        if let Some(aspect) = aspect_of(*view, is_debrief) {
            wanted.push((shown, aspect));
        }
    }
    for (prepared, aspect) in wanted {
        let known = textures.0.iter().position(|kept| {
            kept.aspect == aspect && Arc::ptr_eq(&kept.of, identity(prepared, aspect))
        });
        let kept = match known {
            Some(at) => textures.0.remove(at),
            None => {
                let Some((picture, map_end_de00)) = picture_of(prepared, aspect) else { continue };
                let uploaded = put(&picture, &mut images, &mut user_textures);
                let of = identity(prepared, aspect).clone();
                Kept { of, aspect, uploaded, map_end_de00 }
            }
        };
        textures.0.push(kept);
    }
    // Every change of a recipe has a picture of its own, and few are seen again.
    let most = if exercising.is_composing() { MOST_COMPOSING } else { MOST };
    while textures.0.len() > most {
        let oldest = textures.0.remove(0);
        remove(&oldest.uploaded, &mut images, &mut user_textures);
    }
}

/// Lets everything go when the round is left.
pub fn clear(
    mut textures: ResMut<SightTextures>,
    mut images: ResMut<Assets<Image>>,
    mut user_textures: ResMut<EguiUserTextures>,
) {
    for kept in std::mem::take(&mut textures.0) {
        remove(&kept.uploaded, &mut images, &mut user_textures);
    }
}

fn picture_of(prepared: &PreparedScene, aspect: Aspect) -> Option<(Cow<'_, Picture>, f64)> {
    let (restored, twin) = (&*prepared.restored, &*prepared.twin);
    let pair = || side_by_side(restored, twin, prepared.scene.truth.as_ref()?.tooth);
    let picture = match aspect {
        Aspect::Restored => Cow::Borrowed(restored),
        Aspect::Twin => Cow::Borrowed(twin),
        Aspect::RestoredValue => Cow::Owned(value_only(restored)),
        Aspect::TwinValue => Cow::Owned(value_only(twin)),
        Aspect::SideBySide => Cow::Owned(pair()?),
        Aspect::SideBySideValue => Cow::Owned(value_only(&pair()?)),
        Aspect::Small(times) => Cow::Owned(shrunk(restored, times)),
        Aspect::SmallValue(times) => Cow::Owned(value_only(&shrunk(restored, times))),
        Aspect::Map => {
            let map = difference_map(restored, twin);
            return Some((Cow::Owned(map.picture), map.scale_end_de00));
        }
    };
    Some((picture, 0.0))
}
