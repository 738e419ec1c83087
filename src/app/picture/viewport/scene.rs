//! The entities of one picture.

use crate::app::picture::viewport::camera::{PICTURE_LAYER, picture_camera};
use crate::app::picture::viewport::light::Surroundings;
use crate::app::picture::viewport::material;
use crate::app::picture::viewport::prepared::Prepared;
use crate::app::picture::viewport::request::PictureRequest;
use crate::app::picture::viewport::shelf::SmileShelf;
use crate::bake::ReflectanceMap;
use crate::scene::Tooth;
use bevy::camera::visibility::{NoFrustumCulling, RenderLayers};
use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<SmileShelf>().init_resource::<PlantedCue>();
}

/// A flaw put on purpose, for the test that such a flaw would be noticed: roughness of some teeth
/// is multiplied. Empty in every picture a learner sees.
#[derive(Resource, Debug, Clone, Default)]
pub(crate) struct PlantedCue {
    pub(crate) teeth: Vec<Tooth>,
    pub(crate) roughness_factor: f32,
}

/// Everything that belongs to the picture being drawn.
#[derive(Component)]
pub(crate) struct PicturePart;

/// Assets that a picture's entities are made of.
#[derive(bevy::ecs::system::SystemParam)]
pub(crate) struct SceneAssets<'w> {
    pub(crate) shelf: ResMut<'w, SmileShelf>,
    pub(crate) meshes: ResMut<'w, Assets<Mesh>>,
    pub(crate) images: ResMut<'w, Assets<Image>>,
    pub(crate) materials: ResMut<'w, Assets<StandardMaterial>>,
    pub(crate) surroundings: Res<'w, Surroundings>,
    pub(crate) cue: Res<'w, PlantedCue>,
}

/// Spawns the smile of a request and its camera.
pub(crate) fn spawn_smile(
    commands: &mut Commands,
    assets: &mut SceneAssets,
    request: &PictureRequest,
    prepared: Prepared,
    target: Handle<Image>,
) {
    let SceneAssets { shelf, meshes, images, materials, surroundings, cue } = assets;
    let view = prepared.framing.view;
    let shelved = shelf.shelve(request, prepared, meshes, images);
    let black = images.add(black_image());
    let colors = shelved.colors(request, &black);
    let meshes = shelved.meshes.iter().find(|(lighting, _)| *lighting == request.lighting);
    let Some((_, meshes)) = meshes else { return };
    for (index, ((mesh, color), finish)) in
        meshes.iter().zip(colors).zip(&shelved.finishes).enumerate()
    {
        let mut material = material::surface_material(color, finish, request.lighting);
        let crown = shelved.smile.crowns.get(index);
        if crown.is_some_and(|crown| cue.teeth.contains(&crown.individual.tooth)) {
            material.perceptual_roughness *= cue.roughness_factor;
        }
        spawn_part(commands, mesh.clone(), materials.add(material));
    }
    commands.spawn((
        picture_camera(&view, target),
        surroundings.light(request.lighting, request.scene.staging.lamp),
        PicturePart,
    ));
}

fn spawn_part(commands: &mut Commands, mesh: Handle<Mesh>, material: Handle<StandardMaterial>) {
    commands.spawn((
        Mesh3d(mesh),
        MeshMaterial3d(material),
        RenderLayers::layer(PICTURE_LAYER),
        // Everything is in the frame by construction.
        NoFrustumCulling,
        PicturePart,
    ));
}

fn black_image() -> Image {
    material::reflectance_image(&ReflectanceMap { width: 1, height: 1, texels: vec![[0.0; 3]] })
}
