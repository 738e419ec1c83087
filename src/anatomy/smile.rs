//! A whole smile of one seed.

use super::arch::{ArchCurve, Placement};
use super::crown::Crown;
use super::gum::Gum;
use super::kind::Individual;
use super::light::StudioLight;
use super::relief::{self, ByteMap, NormalMap, TintMap};
use super::surface::Surface;
use super::visibility;
use crate::scene::Tooth;
use rayon::prelude::*;

/// Teeth built on each side; the outermost close the frame.
const TEETH: usize = 12;

/// Every shape, highlight and shadow of one smile; no tooth colour.
#[derive(Debug, Clone)]
pub struct Smile {
    /// The seed it was built from.
    pub seed: u64,
    /// Crowns in the viewer's order, left to right: teeth 16-11, 21-26.
    pub crowns: Vec<Crown>,
    /// The gum.
    pub gum: Gum,
    /// Enamel relief per crown.
    pub crown_normals: Vec<NormalMap>,
    /// Roughness per crown (second byte of each texel).
    pub crown_gloss: Vec<ByteMap>,
    /// Reflectance parameter of each crown's gloss, 0..1; 0.5 means 4 % at normal incidence.
    pub crown_reflectance: Vec<f32>,
    /// Gum relief.
    pub gum_normals: NormalMap,
    /// Gum colour about its mean.
    pub gum_tint: TintMap,
}

impl Smile {
    /// The smile of a seed: the same vertices and maps on every run and thread count.
    #[must_use]
    pub fn build(seed: u64) -> Self {
        let (mut smile, (gum_normals, gum_tint)) = rayon::join(
            || Self::shapes(seed),
            || rayon::join(|| relief::gum_normals(seed), || relief::gum_tint(seed)),
        );
        let light = StudioLight::new();
        let mut surfaces: Vec<&mut Surface> =
            smile.crowns.iter_mut().map(|crown| &mut crown.surface).collect();
        visibility::bake(&mut surfaces, &mut smile.gum.surface, &light);
        smile.crown_normals =
            smile.crowns.par_iter().map(|crown| relief::crown_normals(seed, crown)).collect();
        smile.crown_gloss =
            smile.crowns.par_iter().map(|crown| relief::crown_gloss(seed, crown)).collect();
        smile.crown_reflectance = smile.crowns.iter().map(relief::crown_reflectance).collect();
        Self { gum_normals, gum_tint, ..smile }
    }

    /// The crown of a tooth.
    #[must_use]
    pub fn crown_index(&self, tooth: Tooth) -> Option<usize> {
        self.crowns.iter().position(|crown| crown.individual.tooth == tooth)
    }

    /// Crowns and gum before light and relief.
    fn shapes(seed: u64) -> Self {
        let curve = ArchCurve::new();
        let arch = Tooth::arch(TEETH);
        let (left, right) = arch.split_at(TEETH / 2);
        let mut left: Vec<Tooth> = left.to_vec();
        left.reverse();
        let side = |teeth: &[Tooth]| -> Vec<Crown> {
            let individuals: Vec<Individual> =
                teeth.iter().map(|&tooth| Individual::draw(seed, tooth)).collect();
            let placements = Placement::along(&curve, &individuals);
            individuals
                .into_par_iter()
                .zip(placements)
                .map(|(individual, placement)| Crown::build(seed, individual, placement, &curve))
                .collect()
        };
        let mut crowns = side(&left);
        crowns.reverse();
        crowns.extend(side(right));
        let gum = Gum::over(&crowns, &curve, seed);
        let empty = ByteMap { width: 0, height: 0, bytes: Vec::new() };
        Self {
            seed,
            crowns,
            gum,
            crown_normals: Vec::new(),
            crown_gloss: Vec::new(),
            crown_reflectance: Vec::new(),
            gum_normals: empty,
            gum_tint: TintMap { width: 0, height: 0, offsets: Vec::new() },
        }
    }
}
