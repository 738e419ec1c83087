//! A smile's shapes as Bevy assets, kept by seed, and the entities of one picture.

use super::camera::{PICTURE_LAYER, picture_camera};
use super::light::Surroundings;
use super::material::{self, Finish};
use super::{Lighting, PictureRequest};
use crate::anatomy::{Coverage, Covered, Part, Pigment, Smile, Surface, View, trace_outline};
use crate::bake::{BakedScene, ReflectanceMap};
use crate::scene::{Lamp, Staging, Tooth};
use bevy::asset::RenderAssetUsages;
use bevy::camera::visibility::{NoFrustumCulling, RenderLayers};
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use std::collections::VecDeque;
use std::sync::Arc;

/// Smiles kept ready to draw. A trial needs one; a debrief may go back a few.
const SHELF_LENGTH: usize = 6;

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<SmileShelf>().init_resource::<PlantedCue>();
}

/// A flaw put on purpose, for the test that such a flaw would be noticed: roughness of some teeth
/// is multiplied. Empty in every picture a learner sees.
#[derive(Resource, Debug, Clone, Default)]
pub(super) struct PlantedCue {
    pub(super) teeth: Vec<Tooth>,
    pub(super) roughness_factor: f32,
}

/// A smile seen in a frame: what each pixel shows, and every crown's outline.
#[derive(Debug)]
pub(super) struct Framing {
    pub(super) view: View,
    pub(super) coverage: Coverage,
    /// Outline per crown of the smile.
    pub(super) outlines: Vec<Vec<[f32; 2]>>,
}

impl Framing {
    pub(super) fn of(smile: &Smile, width: u32, height: u32) -> Self {
        let view = View::of(smile.staging.framing, width, height);
        let coverage = Coverage::of(smile, &view);
        let outlines = (0..smile.crowns.len())
            .map(|index| {
                let wanted = Covered::Crown(index as u8);
                let stride = coverage.width;
                trace_outline(
                    |x, y| coverage.covered[y * stride + x] == wanted,
                    coverage.width,
                    coverage.height,
                )
            })
            .collect();
        Self { view, coverage, outlines }
    }
}

/// What can be computed for a picture away from the main thread.
pub(super) struct Prepared {
    pub(super) smile: Arc<Smile>,
    pub(super) framing: Arc<Framing>,
    /// Colour image of every part of the smile that has a tint, in order.
    pub(super) part_colors: Vec<Option<Image>>,
}

impl Prepared {
    /// Computes what is not already known.
    pub(super) fn build(
        request: &PictureRequest,
        smile: Option<Arc<Smile>>,
        framing: Option<Arc<Framing>>,
    ) -> Self {
        let smile = smile
            .unwrap_or_else(|| Arc::new(Smile::build(request.scene.seed, request.scene.staging)));
        let framing =
            framing.unwrap_or_else(|| Arc::new(Framing::of(&smile, request.width, request.height)));
        let part_colors = smile.parts.iter().map(|part| part_color(&request.scene, part)).collect();
        Self { smile, framing, part_colors }
    }
}

/// Smiles whose shapes are built, the most recent last.
#[derive(Resource, Default)]
pub(super) struct SmileShelf {
    smiles: VecDeque<ShelvedSmile>,
}

struct ShelvedSmile {
    smile: Arc<Smile>,
    framings: Vec<Arc<Framing>>,
    /// Crown meshes, then the parts'; with occlusion for the studio, without for matt light.
    studio_meshes: Vec<Handle<Mesh>>,
    matt_meshes: Vec<Handle<Mesh>>,
    /// Finish per crown, then the parts'.
    finishes: Vec<Finish>,
}

impl SmileShelf {
    /// The smile of a seed and its framing at a size, where known.
    pub(super) fn find(
        &self,
        seed: u64,
        staging: Staging,
        width: u32,
        height: u32,
    ) -> (Option<Arc<Smile>>, Option<Arc<Framing>>) {
        let Some(shelved) = self.smiles.iter().find(|shelved| shelved.is(seed, staging)) else {
            return (None, None);
        };
        let framing = shelved
            .framings
            .iter()
            .find(|framing| framing.view.width == width && framing.view.height == height);
        (Some(shelved.smile.clone()), framing.cloned())
    }

    fn shelve(
        &mut self,
        prepared: &Prepared,
        meshes: &mut Assets<Mesh>,
        images: &mut Assets<Image>,
    ) -> &ShelvedSmile {
        let (seed, staging) = (prepared.smile.seed, prepared.smile.staging);
        let known = self.smiles.iter().position(|shelved| shelved.is(seed, staging));
        let mut shelved = match known.and_then(|index| self.smiles.remove(index)) {
            Some(shelved) => shelved,
            None => ShelvedSmile::new(prepared.smile.clone(), meshes, images),
        };
        if !shelved.framings.iter().any(|framing| Arc::ptr_eq(framing, &prepared.framing)) {
            shelved.framings.push(prepared.framing.clone());
        }
        if self.smiles.len() >= SHELF_LENGTH {
            self.smiles.pop_front();
        }
        self.smiles.push_back(shelved);
        &self.smiles[self.smiles.len() - 1]
    }
}

impl ShelvedSmile {
    fn is(&self, seed: u64, staging: Staging) -> bool {
        self.smile.seed == seed && self.smile.staging == staging
    }

    fn new(smile: Arc<Smile>, meshes: &mut Assets<Mesh>, images: &mut Assets<Image>) -> Self {
        let surfaces = || {
            let crowns = smile.crowns.iter().map(|crown| &crown.surface);
            crowns.chain(smile.parts.iter().map(|part| &part.surface))
        };
        let studio_meshes = surfaces().map(|surface| meshes.add(mesh(surface, true))).collect();
        let matt_meshes = surfaces().map(|surface| meshes.add(mesh(surface, false))).collect();
        let mut finishes: Vec<Finish> = (0..smile.crowns.len())
            .map(|index| Finish {
                normals: images.add(material::data_image(&smile.crown_normals[index])),
                gloss: images.add(material::data_image(&smile.crown_gloss[index])),
                reflectance: smile.crown_reflectance[index],
                after_teeth: false,
            })
            .collect();
        finishes.extend(smile.parts.iter().map(|part| Finish {
            normals: images.add(material::data_image(&part.normals)),
            gloss: images.add(material::data_image(&part.gloss)),
            reflectance: part.reflectance,
            after_teeth: part.tint.is_some(),
        }));
        Self { smile, framings: Vec::new(), studio_meshes, matt_meshes, finishes }
    }
}

/// A surface as a Bevy mesh; with occlusion, vertex colours dim what the surface diffuses.
fn mesh(surface: &Surface, occluded: bool) -> Mesh {
    let mut mesh = Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, surface.positions.clone())
        .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, surface.normals.clone())
        .with_inserted_attribute(Mesh::ATTRIBUTE_TANGENT, surface.tangents.clone())
        .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, surface.uvs.clone())
        .with_inserted_indices(Indices::U32(surface.indices.clone()));
    if occluded {
        let colors: Vec<[f32; 4]> =
            surface.visibility.iter().map(|&[r, g, b]| [r, g, b, 1.0]).collect();
        mesh.insert_attribute(Mesh::ATTRIBUTE_COLOR, colors);
    }
    mesh
}

/// Everything that belongs to the picture being drawn.
#[derive(Component)]
pub(super) struct PicturePart;

/// Assets that a picture's entities are made of.
#[derive(bevy::ecs::system::SystemParam)]
pub(super) struct SceneAssets<'w> {
    pub(super) shelf: ResMut<'w, SmileShelf>,
    pub(super) meshes: ResMut<'w, Assets<Mesh>>,
    pub(super) images: ResMut<'w, Assets<Image>>,
    pub(super) materials: ResMut<'w, Assets<StandardMaterial>>,
    pub(super) surroundings: Res<'w, Surroundings>,
    pub(super) cue: Res<'w, PlantedCue>,
}

/// Spawns the smile of a request and its camera.
pub(super) fn spawn_smile(
    commands: &mut Commands,
    assets: &mut SceneAssets,
    request: &PictureRequest,
    prepared: Prepared,
    target: Handle<Image>,
) {
    let SceneAssets { shelf, meshes, images, materials, surroundings, cue } = assets;
    let shelved = shelf.shelve(&prepared, meshes, images);
    let mut colors: Vec<Handle<Image>> = shelved
        .smile
        .crowns
        .iter()
        .map(|crown| {
            let map = map_of(&request.scene, request, crown.individual.tooth);
            images.add(map.map_or_else(black_image, material::reflectance_image))
        })
        .collect();
    for (part, color) in shelved.smile.parts.iter().zip(prepared.part_colors) {
        let image = color.unwrap_or_else(|| {
            let map = match part.pigment {
                Pigment::Tooth(tooth) => natural_map_near(&request.scene, tooth),
                _ => None,
            };
            map.map_or_else(black_image, material::reflectance_image)
        });
        colors.push(images.add(image));
    }
    let chosen = match request.lighting {
        Lighting::Studio => &shelved.studio_meshes,
        Lighting::Matt => &shelved.matt_meshes,
    };
    for (index, ((mesh, color), finish)) in
        chosen.iter().zip(colors).zip(&shelved.finishes).enumerate()
    {
        let mut material = material::surface_material(color, finish, request.lighting);
        let crown = shelved.smile.crowns.get(index);
        if crown.is_some_and(|crown| cue.teeth.contains(&crown.individual.tooth)) {
            material.perceptual_roughness *= cue.roughness_factor;
        }
        spawn_part(commands, mesh.clone(), materials.add(material));
    }
    commands.spawn((
        picture_camera(&prepared.framing.view, target),
        surroundings.light(request.lighting, request.scene.staging.lamp),
        PicturePart,
    ));
}

/// Spawns flat unlit patches (linear sRGB) over the frame, and the same camera as a smile's. Returns their
/// middles in the mouth, mm.
pub(super) fn spawn_patches(
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

/// Size of a patch's cell, mm, and patches per row.
pub(super) const PATCH_MM: f32 = 4.0;
const PATCHES_PER_ROW: usize = 11;
/// The most patches that fit a frame.
pub(super) const MOST_PATCHES: usize = 6 * PATCHES_PER_ROW;

/// Middles of the cells that patches lie in, mm.
pub(super) fn patch_centers(count: usize) -> impl Iterator<Item = [f32; 3]> {
    (0..count).map(|k| {
        let column = (k % PATCHES_PER_ROW) as f32 - (PATCHES_PER_ROW - 1) as f32 / 2.0;
        let row = (k / PATCHES_PER_ROW) as f32 - 2.5;
        [column * PATCH_MM, 5.2 - row * PATCH_MM, 0.0]
    })
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

/// The map a crown shows: its own, or for a tooth the scene does not list the natural map of the
/// nearest listed tooth on its side that is not restored.
fn map_of<'a>(
    scene: &'a BakedScene,
    request: &PictureRequest,
    tooth: Tooth,
) -> Option<&'a ReflectanceMap> {
    if let Some(baked) = scene.teeth.iter().find(|baked| baked.tooth == tooth) {
        return Some(baked.map(request.condition));
    }
    natural_map_near(scene, tooth)
}

/// The natural map of the listed, unrestored tooth nearest to `tooth`.
fn natural_map_near(scene: &BakedScene, tooth: Tooth) -> Option<&ReflectanceMap> {
    scene
        .teeth
        .iter()
        .filter(|baked| baked.restored.is_none())
        .min_by_key(|baked| {
            let other_side = baked.tooth.is_patients_right() != tooth.is_patients_right();
            (other_side, baked.tooth.position().abs_diff(tooth.position()))
        })
        .map(|baked| &baked.natural)
}

/// The colour of a part that has a tint.
fn part_color(scene: &BakedScene, part: &Part) -> Option<Image> {
    let tint = part.tint.as_ref()?;
    let means = match part.pigment {
        Pigment::Skin => [scene.complexion.skin, scene.complexion.lips],
        // Clear plastic over the inside of the lips.
        Pigment::Retractor => [[0.40; 3], scene.gingiva],
        // The wet inside of cheeks, tongue and palate is darker than the gum before it.
        Pigment::Cavity => [scene.gingiva.map(|value| 0.30 * value); 2],
        _ => [scene.gingiva; 2],
    };
    Some(material::tinted_image(means, tint))
}

fn black_image() -> Image {
    material::reflectance_image(&ReflectanceMap { width: 1, height: 1, texels: vec![[0.0; 3]] })
}
