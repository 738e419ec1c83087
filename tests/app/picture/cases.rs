//! Scenes that several app tests draw.

use second_glance::bake::{BakedScene, BakedTooth, Complexion, ReflectanceMap};
use second_glance::colorimetry::{Illuminant, Lab, Lch};
use second_glance::level::{self, format::Level};
use second_glance::material::Library;
use second_glance::scene::{Case, Staging, Tooth};

/// A restored case of a shipped level, and the shipped materials.
pub fn restored_case() -> (Case, Library) {
    let library = Library::shipped().unwrap();
    let text = include_str!("../../../levels/four-incisors.ron");
    let level: Level = level::format::ron_options().from_str(text).unwrap();
    let plan = level::lower(&level, &library, level.seed, Some(8)).unwrap();
    let case = plan.trials.into_iter().map(|t| t.case).find(|c| c.restoration().is_some()).unwrap();
    (case, library)
}

/// Ten teeth of one flat colour.
pub fn synthetic_scene(seed: u64, colour: Lch) -> BakedScene {
    let texel = Lab::from(colour).to_linear_srgb().map(|v| v as f32);
    let map = ReflectanceMap { width: 4, height: 4, texels: vec![texel; 16] };
    let teeth = Tooth::arch(10)
        .into_iter()
        .map(|tooth| BakedTooth { tooth, natural: map.clone().into(), restored: None })
        .collect();
    BakedScene {
        seed,
        illuminant: Illuminant::D65,
        teeth,
        gingiva: [0.42, 0.14, 0.11],
        complexion: Complexion::draw(seed, Lch { l: 51.0, c: 33.2, h: 33.5 }),
        staging: Staging::default(),
        truth: None,
        truths: Vec::new(),
    }
}
