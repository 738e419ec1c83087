//! Smiles whose shapes and colours are with the graphics adapter, kept by seed.

use crate::anatomy::Smile;
use crate::app::picture::viewport::material::Finish;
use crate::app::picture::viewport::prepared::{Framing, Known, Prepared, maps_of, place};
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::bake::{BakedScene, Complexion, ReflectanceMap};
use bevy::prelude::*;
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

/// Smiles kept ready to draw. A trial needs one; a debrief may go back a few.
const SHELF_LENGTH: usize = 6;
/// Lights whose colours are kept on the adapter for the smile drawn last: a recipe is looked at in two
/// in turn.
const MOST_LIGHTS: usize = 2;

/// Smiles whose shapes are built, the most recent last.
#[derive(Resource, Default)]
pub(crate) struct SmileShelf {
    smiles: VecDeque<ShelvedSmile>,
}

pub(crate) struct ShelvedSmile {
    pub(crate) smile: Arc<Smile>,
    framings: Vec<Arc<Framing>>,
    /// Crown meshes, then the parts', by lighting: with occlusion for the studio, without for
    /// matt light.
    pub(crate) meshes: Vec<(Lighting, Vec<Handle<Mesh>>)>,
    /// Finish per crown, then the parts'.
    pub(crate) finishes: Vec<Finish>,
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

    /// Takes in what was prepared for a picture, and keeps its smile as the most recent.
    pub(crate) fn shelve(
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
    pub(crate) fn colors(
        &self,
        request: &PictureRequest,
        black: &Handle<Image>,
    ) -> Vec<Handle<Image>> {
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
