//! Flat patches drawn instead of a smile, to check that the path to the picture adds nothing.

use crate::anatomy::View;
use crate::app::picture::viewport::camera::{PICTURE_LAYER, picture_camera};
use crate::app::picture::viewport::request::Lighting;
use crate::app::picture::viewport::scene::{PicturePart, SceneAssets};
use crate::scene::Lamp;
use bevy::camera::visibility::RenderLayers;
use bevy::prelude::*;

/// Size of a patch's cell, mm, and patches per row.
pub(crate) const PATCH_MM: f32 = 4.0;
const PATCHES_PER_ROW: usize = 11;
/// The most patches that fit a frame.
pub(crate) const MOST_PATCHES: usize = 6 * PATCHES_PER_ROW;

/// Spawns flat unlit patches (linear sRGB) over the frame, and the same camera as a smile's. Returns their
/// middles in the mouth, mm.
pub(crate) fn spawn_patches(
    commands: &mut Commands,
    assets: &mut SceneAssets,
    view: &View,
    patches: &[[f32; 3]],
    target: Handle<Image>,
) {
    let mesh = assets.meshes.add(Rectangle::new(PATCH_MM * 0.9, PATCH_MM * 0.9));
    for (center, &[r, g, b]) in patch_centers(patches.len()).zip(patches) {
        let material = assets.materials.add(StandardMaterial {
            base_color: Color::linear_rgb(r, g, b),
            unlit: true,
            ..default()
        });
        commands.spawn((
            Mesh3d(mesh.clone()),
            MeshMaterial3d(material),
            Transform::from_translation(Vec3::from(center)),
            RenderLayers::layer(PICTURE_LAYER),
            PicturePart,
        ));
    }
    let light = assets.surroundings.light(Lighting::Matt, Lamp::default());
    commands.spawn((picture_camera(view, target), light, PicturePart));
}

/// Middles of the cells that patches lie in, mm.
pub(crate) fn patch_centers(count: usize) -> impl Iterator<Item = [f32; 3]> {
    (0..count).map(|k| {
        let column = (k % PATCHES_PER_ROW) as f32 - (PATCHES_PER_ROW - 1) as f32 / 2.0;
        let row = (k / PATCHES_PER_ROW) as f32 - 2.5;
        [column * PATCH_MM, 5.2 - row * PATCH_MM, 0.0]
    })
}
