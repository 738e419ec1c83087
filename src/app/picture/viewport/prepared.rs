//! What is computed for a picture away from the main thread: shapes, what each pixel shows, meshes and
//! images.

use crate::anatomy::{Coverage, Covered, Part, Pigment, Smile, Surface, View, trace_outline};
use crate::app::picture::viewport::material;
use crate::app::picture::viewport::request::{DrawTimes, Lighting, PictureRequest};
use crate::bake::{BakedScene, ReflectanceMap};
use crate::scene::Tooth;
use bevy::asset::RenderAssetUsages;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::{Duration, Instant};

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
    pub(crate) smile: Option<Arc<Smile>>,
    pub(crate) framing: Option<Arc<Framing>>,
    /// Whether the smile's meshes for the picture's lighting, and its soft tissue's colours, are
    /// with the adapter.
    pub(crate) meshes: bool,
    pub(crate) tissue: bool,
    /// Maps that are with the adapter, by [`place`].
    pub(crate) maps: BTreeSet<usize>,
    /// Those of them that an earlier scene of the same mouth brought there.
    pub(crate) carried: BTreeMap<usize, Handle<Image>>,
}

/// What can be computed for a picture away from the main thread: only what is not there yet.
pub(crate) struct Prepared {
    pub(crate) smile: Arc<Smile>,
    pub(crate) framing: Arc<Framing>,
    /// Crown meshes, then the parts'.
    pub(crate) meshes: Option<Vec<Mesh>>,
    /// Normals and gloss of the crowns, then of the parts.
    pub(crate) relief: Option<Vec<[Image; 2]>>,
    /// Colour image of every part of the smile that has a tint, in order.
    pub(crate) tissue: Option<Vec<Option<Image>>>,
    /// Maps of the scene by [`place`].
    pub(crate) maps: Vec<(usize, Image)>,
    pub(crate) carried: BTreeMap<usize, Handle<Image>>,
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
pub(crate) fn place(map: &ReflectanceMap) -> usize {
    std::ptr::from_ref(map).addr()
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

/// The map of every crown, then of every part that has one. A crown shows its own; one that the
/// scene does not list shows the natural map of the nearest listed tooth on its side that is not
/// restored.
pub(crate) fn maps_of<'a>(
    request: &'a PictureRequest,
    smile: &Smile,
) -> Vec<Option<&'a ReflectanceMap>> {
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
