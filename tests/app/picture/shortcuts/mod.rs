//! Nothing but colour gives a restoration away.
//!
//! Two tests. A restoration that has the twin's colours is the twin, byte for byte: nothing but the
//! map of colours differs between them. And, as a learner sees it: pairs of pictures, restored and
//! twin, of the same smiles, the restored tooth's mean colour made equal to the twin's. What a
//! picture then still tells (edges, gradients, highlights, local contrast, silhouette) goes into a
//! logistic regression, cross-validated by patient, that must not tell restored from natural teeth;
//! and the same regression must notice when a restoration is given a roughness of its own.

mod features;
mod logistic;

use super::cases::restored_case;
use super::drawing::on_renderer;
use features::{COUNT, features};
use logistic::{Sample, cross_validated_auc};
use second_glance::app::picture::viewport::offscreen::OffscreenRenderer;
use second_glance::app::picture::viewport::{Lighting, PictureRequest};
use second_glance::bake::{BakedScene, Condition, bake};
use second_glance::level::{self, format::Level};
use second_glance::material::Library;
use second_glance::play::picture::Picture;
use second_glance::scene::{Case, Framing, NaturalTooth, Patient, Restoration, Staging, Tooth};
use std::sync::Arc;

/// Teeth looked at in every smile.
const TEETH: [u8; 6] = [13, 12, 11, 21, 22, 23];
/// Smiles; six pairs of each.
const PATIENTS: usize = 34;
const SIZE: (u32, u32) = (384, 216);
/// Chance is 0.5. What chance alone reaches with 204 pairs is about 0.5 ± 0.03.
const MOST_AUC: f64 = 0.55;

/// A restored tooth as a shipped level makes it, with the natural tooth it replaces.
struct Restored {
    natural: NaturalTooth,
    restoration: Restoration,
    case: Case,
}

fn restorations(library: &Library, count: usize) -> Vec<Restored> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/levels");
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let parse = |path| {
        let text = std::fs::read_to_string(path).unwrap();
        level::format::ron_options().from_str::<Level>(&text).unwrap()
    };
    // Exercises with questions make no plan of trials.
    let levels: Vec<Level> =
        paths.iter().map(parse).filter(|level| level.difference.is_some()).collect();
    let each = (count * 4 / 3).div_ceil(levels.len()) as u32 + 4;
    let mut found = Vec::new();
    for level in levels {
        let plan = level::lower(&level, library, level.seed, Some(each)).unwrap();
        found.extend(plan.trials.into_iter().filter_map(|trial| {
            let restoration = trial.case.restoration().cloned()?;
            let natural =
                *trial.case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth)?;
            Some(Restored { natural, restoration, case: trial.case })
        }));
    }
    assert!(found.len() >= count, "{} of {count}", found.len());
    found
}

/// A smile of a seed whose six front teeth are all restored, each with the mean of its map made
/// equal to its twin's.
fn smile(seed: u64, restored: &[&Restored], library: &Library) -> BakedScene {
    let mut teeth = Vec::new();
    let mut scene = None;
    for (&number, restored) in TEETH.iter().zip(restored) {
        let tooth = Tooth::new(number).unwrap();
        let natural = NaturalTooth { tooth, ..restored.natural };
        let case = Case {
            seed,
            patient: Patient { teeth: vec![natural], ..restored.case.patient.clone() },
            restorations: vec![Restoration { tooth, ..restored.restoration.clone() }],
            shift: None,
            illuminant: restored.case.illuminant,
            staging: Staging { framing: Framing::CloseUp, ..Staging::default() },
        };
        // A level's tooth may be out of reach elsewhere in the mouth; the next nearest is not.
        let near = second_glance::bake::within_reach(&natural, seed, library).unwrap();
        let case = Case { patient: Patient { teeth: vec![near], ..case.patient }, ..case };
        let mut baked = bake(&case, library).unwrap();
        let mut one = baked.teeth.remove(0);
        if let Some(map) = one.restored.as_mut().map(Arc::make_mut) {
            let (from, to) = (map.mean(), one.natural.mean());
            for texel in &mut map.texels {
                for channel in 0..3 {
                    texel[channel] *= (to[channel] / from[channel]) as f32;
                }
            }
        }
        teeth.push(one);
        scene.get_or_insert(baked);
    }
    BakedScene { teeth, ..scene.unwrap() }
}

fn draw(
    renderer: &mut OffscreenRenderer,
    scene: &Arc<BakedScene>,
    condition: Condition,
) -> Arc<Picture> {
    let (width, height) = SIZE;
    let lighting = Lighting::Studio;
    let request = PictureRequest { scene: scene.clone(), condition, width, height, lighting };
    renderer.render(&request).unwrap()
}

/// Features of every pair: the honest restoration, the one with a planted cue, the twin.
struct Pairs {
    honest: Vec<Sample<COUNT>>,
    planted: Vec<Sample<COUNT>>,
}

fn pairs(renderer: &mut OffscreenRenderer) -> Pairs {
    let library = Library::shipped().unwrap();
    let restored = restorations(&library, PATIENTS * TEETH.len());
    let teeth = TEETH.map(|number| Tooth::new(number).unwrap());
    let (mut honest, mut planted) = (Vec::new(), Vec::new());
    for patient in 0..PATIENTS {
        // Every sixth, so that a smile's teeth come from all levels.
        let chosen: Vec<&Restored> =
            (0..TEETH.len()).map(|k| &restored[patient + k * PATIENTS]).collect();
        let scene = Arc::new(smile(1000 + patient as u64, &chosen, &library));
        let twin = draw(renderer, &scene, Condition::Twin);
        let shown = draw(renderer, &scene, Condition::Restored);
        renderer.plant_roughness(&teeth, 1.1);
        let flawed = draw(renderer, &scene, Condition::Restored);
        renderer.plant_roughness(&[], 1.0);
        for tooth in teeth {
            let of = |picture: &Picture| features(picture, &twin, tooth);
            let natural = of(&twin);
            let sample = |restored| Sample { patient, restored, natural };
            honest.push(sample(of(&shown)));
            planted.push(sample(of(&flawed)));
        }
    }
    Pairs { honest, planted }
}

#[test]
fn only_colour_tells_a_restoration_from_its_twin() {
    let Pairs { honest, planted } = on_renderer(pairs);
    assert!(honest.len() >= 200);
    let found = cross_validated_auc(&honest);
    let caught = cross_validated_auc(&planted);
    println!("{} pairs: AUC {found:.3}; with roughness × 1.1: {caught:.3}", honest.len());
    assert!(found <= MOST_AUC, "something other than colour tells restorations apart: {found:.3}");
    assert!(caught > 0.6, "a planted difference in roughness goes unnoticed: {caught:.3}");
}

#[test]
fn a_restoration_of_the_twins_colours_is_the_twin() {
    let (case, library) = restored_case();
    let mut scene = bake(&case, &library).unwrap();
    for baked in &mut scene.teeth {
        if baked.restored.is_some() {
            baked.restored = Some(baked.natural.clone());
        }
    }
    let scene = Arc::new(scene);
    let pictures = on_renderer(move |renderer| {
        [Condition::Restored, Condition::Twin].map(|condition| draw(renderer, &scene, condition))
    });
    assert!(pictures[0].rgba == pictures[1].rgba, "the pictures differ");
}
