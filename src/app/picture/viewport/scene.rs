//! A smile's shapes as Bevy assets, kept by seed, and the entities of one picture.

use crate::anatomy::{Coverage, Covered, Part, Pigment, Smile, Surface, View, trace_outline};
use crate::app::picture::viewport::camera::{PICTURE_LAYER, picture_camera};
use crate::app::picture::viewport::light::Surroundings;
use crate::app::picture::viewport::material;
use crate::app::picture::viewport::material::Finish;
use crate::app::picture::viewport::{DrawTimes, Lighting, PictureRequest};
use crate::bake::{BakedScene, Complexion, ReflectanceMap};
use crate::scene::{Lamp, Tooth};
use bevy::asset::RenderAssetUsages;
use bevy::camera::visibility::{NoFrustumCulling, RenderLayers};
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Smiles kept ready to draw. A trial needs one; a debrief may go back a few.
const SHELF_LENGTH: usize = 6;
/// Lights whose colours are kept on the adapter for the smile drawn last: a recipe is looked at in two
/// in turn.
const MOST_LIGHTS: usize = 2;

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

/// A smile seen in a frame: what each pixel shows, and every crown's outline.
#[derive(Debug)]
pub(crate) struct Framing {
    pub(crate) view: View,
    pub(crate) coverage: Coverage,
    /// Outline per crown of the smile.
    pub(crate) outlines: Vec<Vec<[f32; 2]>>,
}

impl Framing {
    pub(crate) fn of(smile: &Smile, width: u32, height: u32) -> Self {
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

/// What the shelf already has for a picture.
#[derive(Default)]
pub(crate) struct Known {
    smile: Option<Arc<Smile>>,
    framing: Option<Arc<Framing>>,
    /// Whether the smile's meshes for the picture's lighting, and its soft tissue's colours, are
    /// with the adapter.
    meshes: bool,
    tissue: bool,
    /// Maps that are with the adapter, by [`place`].
    maps: BTreeSet<usize>,
    /// Those of them that an earlier scene of the same mouth brought there.
    carried: BTreeMap<usize, Handle<Image>>,
}

/// What can be computed for a picture away from the main thread: only what is not there yet.
pub(crate) struct Prepared {
    pub(crate) smile: Arc<Smile>,
    pub(crate) framing: Arc<Framing>,
    /// Crown meshes, then the parts'.
    meshes: Option<Vec<Mesh>>,
    /// Normals and gloss of the crowns, then of the parts.
    relief: Option<Vec<[Image; 2]>>,
    /// Colour image of every part of the smile that has a tint, in order.
    tissue: Option<Vec<Option<Image>>>,
    /// Maps of the scene by [`place`].
    maps: Vec<(usize, Image)>,
    carried: BTreeMap<usize, Handle<Image>>,
    pub(crate) times: DrawTimes,
}

impl Prepared {
    /// Computes what is not already known.
    pub(crate) fn build(request: &PictureRequest, known: Known) -> Self {
        let mut times = DrawTimes::default();
        let scene = &request.scene;
        let is_new = known.smile.is_none();
        let smile = timed(&mut times.shape, || {
            known.smile.unwrap_or_else(|| Arc::new(Smile::build(scene.seed, scene.staging)))
        });
        let framing = timed(&mut times.framing, || {
            known
                .framing
                .unwrap_or_else(|| Arc::new(Framing::of(&smile, request.width, request.height)))
        });
        let tissue = timed(&mut times.tissue, || {
            let colours = || smile.parts.iter().map(|part| part_color(scene, part)).collect();
            (!known.tissue).then(colours)
        });
        let maps = timed(&mut times.maps, || {
            let mut maps: Vec<(usize, Image)> = Vec::new();
            for map in maps_of(request, &smile).into_iter().flatten() {
                let at = place(map);
                if !known.maps.contains(&at) && maps.iter().all(|(other, _)| *other != at) {
                    maps.push((at, material::reflectance_image(map)));
                }
            }
            maps
        });
        let (meshes, relief) = timed(&mut times.meshes, || {
            let occluded = request.lighting == Lighting::Studio;
            let meshes = || surfaces(&smile).map(|surface| mesh(surface, occluded)).collect();
            let relief = || {
                let crowns = smile.crown_normals.iter().zip(&smile.crown_gloss);
                crowns
                    .chain(smile.parts.iter().map(|part| (&part.normals, &part.gloss)))
                    .map(|(normals, gloss)| [normals, gloss].map(material::data_image))
                    .collect()
            };
            ((!known.meshes).then(meshes), is_new.then(relief))
        });
        Self { smile, framing, meshes, relief, tissue, maps, carried: known.carried, times }
    }
}

fn timed<T>(time: &mut Duration, work: impl FnOnce() -> T) -> T {
    let start = Instant::now();
    let result = work();
    *time += start.elapsed();
    result
}

/// The surfaces of the crowns, then those of the parts.
fn surfaces(smile: &Smile) -> impl Iterator<Item = &Surface> {
    let crowns = smile.crowns.iter().map(|crown| &crown.surface);
    crowns.chain(smile.parts.iter().map(|part| &part.surface))
}

/// Where a map lies in memory. The shelf keeps the scene that a place belongs to.
fn place(map: &ReflectanceMap) -> usize {
    std::ptr::from_ref(map).addr()
}

/// Smiles whose shapes are built, the most recent last.
#[derive(Resource, Default)]
pub(crate) struct SmileShelf {
    smiles: VecDeque<ShelvedSmile>,
}

struct ShelvedSmile {
    smile: Arc<Smile>,
    framings: Vec<Arc<Framing>>,
    /// Crown meshes, then the parts', by lighting: with occlusion for the studio, without for
    /// matt light.
    meshes: Vec<(Lighting, Vec<Handle<Mesh>>)>,
    /// Finish per crown, then the parts'.
    finishes: Vec<Finish>,
    /// In the lights seen last, the latest last.
    tissue: Vec<Tissue>,
    /// Of the latest scene in each of the lights seen last, the latest last.
    maps: Vec<Maps>,
}

/// Colours of a smile's soft tissue on the adapter.
struct Tissue {
    gingiva: [f32; 3],
    complexion: Complexion,
    colors: Vec<Option<Handle<Image>>>,
}

/// Maps of a scene on the adapter. Restored and twin share all but one.
struct Maps {
    scene: Arc<BakedScene>,
    images: BTreeMap<usize, Handle<Image>>,
}

impl SmileShelf {
    /// What is there for a picture.
    pub(crate) fn find(&self, request: &PictureRequest) -> Known {
        let Some(shelved) = self.smiles.iter().find(|shelved| shelved.is(&request.scene)) else {
            return Known::default();
        };
        let framing = shelved.framings.iter().find(|framing| {
            framing.view.width == request.width && framing.view.height == request.height
        });
        let maps = shelved.maps_under(&request.scene);
        let (same, earlier) = match maps {
            Some(maps) if Arc::ptr_eq(&maps.scene, &request.scene) => (Some(maps), None),
            other => (None, other),
        };
        let carried = earlier.map(|maps| maps.carried_to(&request.scene)).unwrap_or_default();
        let known = match same {
            Some(maps) => maps.images.keys().copied().collect(),
            None => carried.keys().copied().collect(),
        };
        Known {
            smile: Some(shelved.smile.clone()),
            framing: framing.cloned(),
            meshes: shelved.meshes.iter().any(|(lighting, _)| *lighting == request.lighting),
            tissue: shelved.tissue_of(&request.scene).is_some(),
            maps: known,
            carried,
        }
    }

    fn shelve(
        &mut self,
        request: &PictureRequest,
        prepared: Prepared,
        meshes: &mut Assets<Mesh>,
        images: &mut Assets<Image>,
    ) -> &ShelvedSmile {
        let known = self.smiles.iter().position(|shelved| shelved.is(&request.scene));
        let mut shelved = match known.and_then(|index| self.smiles.remove(index)) {
            Some(shelved) => shelved,
            None => ShelvedSmile::new(prepared.smile.clone()),
        };
        shelved.take_in(request, prepared, meshes, images);
        if self.smiles.len() >= SHELF_LENGTH {
            self.smiles.pop_front();
        }
        self.smiles.push_back(shelved);
        let last = self.smiles.len() - 1;
        // Colours take most of the memory and are soon made again.
        for older in self.smiles.iter_mut().take(last) {
            older.tissue.clear();
            older.maps.clear();
        }
        &self.smiles[last]
    }
}

impl Tissue {
    fn is_of(&self, scene: &BakedScene) -> bool {
        self.gingiva == scene.gingiva && self.complexion == scene.complexion
    }
}

impl Maps {
    /// Maps that are the same to the bit in another scene of this mouth: between two recipes all
    /// but one are.
    fn carried_to(&self, scene: &BakedScene) -> BTreeMap<usize, Handle<Image>> {
        let mut carried = BTreeMap::new();
        for baked in &scene.teeth {
            let Some(before) = self.scene.teeth.iter().find(|t| t.tooth == baked.tooth) else {
                continue;
            };
            let restored = baked.restored.as_ref().zip(before.restored.as_ref());
            for (now, was) in std::iter::once((&baked.natural, &before.natural)).chain(restored) {
                let same = || Arc::ptr_eq(now, was) || now == was;
                if let Some(image) = self.images.get(&place(was)).filter(|_| same()) {
                    carried.insert(place(now), image.clone());
                }
            }
        }
        carried
    }
}

impl ShelvedSmile {
    fn is(&self, scene: &BakedScene) -> bool {
        self.smile.seed == scene.seed && self.smile.staging == scene.staging
    }

    const fn new(smile: Arc<Smile>) -> Self {
        Self {
            smile,
            framings: Vec::new(),
            meshes: Vec::new(),
            finishes: Vec::new(),
            tissue: Vec::new(),
            maps: Vec::new(),
        }
    }

    /// Maps of the scene or of another in its light.
    fn maps_under(&self, scene: &BakedScene) -> Option<&Maps> {
        self.maps.iter().find(|maps| maps.scene.illuminant == scene.illuminant)
    }

    fn tissue_of(&self, scene: &BakedScene) -> Option<&Tissue> {
        self.tissue.iter().find(|tissue| tissue.is_of(scene))
    }

    /// Hands to the adapter what was prepared for a picture.
    fn take_in(
        &mut self,
        request: &PictureRequest,
        prepared: Prepared,
        meshes: &mut Assets<Mesh>,
        images: &mut Assets<Image>,
    ) {
        if !self.framings.iter().any(|framing| Arc::ptr_eq(framing, &prepared.framing)) {
            self.framings.push(prepared.framing);
        }
        if let Some(new) = prepared.meshes {
            let handles = new.into_iter().map(|mesh| meshes.add(mesh)).collect();
            self.meshes.push((request.lighting, handles));
        }
        if let Some(relief) = prepared.relief {
            let crowns =
                self.smile.crown_reflectance.iter().map(|reflectance| (*reflectance, false));
            let parts = self.smile.parts.iter().map(|p| (p.reflectance, p.tint.is_some()));
            self.finishes = relief
                .into_iter()
                .zip(crowns.chain(parts))
                .map(|([normals, gloss], (reflectance, after_teeth))| Finish {
                    normals: images.add(normals),
                    gloss: images.add(gloss),
                    reflectance,
                    after_teeth,
                })
                .collect();
        }
        if let Some(colors) = prepared.tissue {
            let add = |color: Option<Image>| color.map(|image| images.add(image));
            self.tissue.push(Tissue {
                gingiva: request.scene.gingiva,
                complexion: request.scene.complexion,
                colors: colors.into_iter().map(add).collect(),
            });
            if self.tissue.len() > MOST_LIGHTS {
                self.tissue.remove(0);
            }
        }
        let light = request.scene.illuminant;
        let at = self.maps.iter().position(|maps| maps.scene.illuminant == light);
        let mut maps = match at.map(|at| self.maps.remove(at)) {
            Some(same) if Arc::ptr_eq(&same.scene, &request.scene) => same,
            _ => Maps { scene: request.scene.clone(), images: prepared.carried },
        };
        for (place, image) in prepared.maps {
            maps.images.insert(place, images.add(image));
        }
        self.maps.push(maps);
        if self.maps.len() > MOST_LIGHTS {
            self.maps.remove(0);
        }
    }

    /// The colour image of every crown, then of every part.
    fn colors(&self, request: &PictureRequest, black: &Handle<Image>) -> Vec<Handle<Image>> {
        let tissue = self.tissue_of(&request.scene);
        let tinted = tissue.iter().flat_map(|tissue| tissue.colors.iter().cloned());
        let tinted = self.smile.crowns.iter().map(|_| None).chain(tinted);
        let mapped = |map: Option<&ReflectanceMap>| {
            let maps = self.maps_under(&request.scene)?;
            maps.images.get(&place(map?)).cloned()
        };
        maps_of(request, &self.smile)
            .into_iter()
            .zip(tinted)
            .map(|(map, tinted)| tinted.or_else(|| mapped(map)).unwrap_or_else(|| black.clone()))
            .collect()
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

/// Size of a patch's cell, mm, and patches per row.
pub(crate) const PATCH_MM: f32 = 4.0;
const PATCHES_PER_ROW: usize = 11;
/// The most patches that fit a frame.
pub(crate) const MOST_PATCHES: usize = 6 * PATCHES_PER_ROW;

/// Middles of the cells that patches lie in, mm.
pub(crate) fn patch_centers(count: usize) -> impl Iterator<Item = [f32; 3]> {
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

/// The map of every crown, then of every part that has one. A crown shows its own; one that the
/// scene does not list shows the natural map of the nearest listed tooth on its side that is not
/// restored.
fn maps_of<'a>(request: &'a PictureRequest, smile: &Smile) -> Vec<Option<&'a ReflectanceMap>> {
    let scene = &*request.scene;
    let crowns = smile.crowns.iter().map(|crown| {
        let tooth = crown.individual.tooth;
        let listed = scene.teeth.iter().find(|baked| baked.tooth == tooth);
        match listed {
            Some(baked) => Some(baked.map(request.condition)),
            None => natural_map_near(scene, tooth),
        }
    });
    let parts = smile.parts.iter().map(|part| match part.pigment {
        Pigment::Tooth(tooth) => natural_map_near(scene, tooth),
        _ => None,
    });
    crowns.chain(parts).collect()
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
        .map(|baked| &*baked.natural)
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
