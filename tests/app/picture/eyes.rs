//! Simulated observers that look: what they read must come from the pixels.

use super::drawing::on_renderer;
use second_glance::app::picture::eyes::seen;
use second_glance::bake::{BakedScene, bake, within_reach};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::material::Library;
use second_glance::measure::{Canvas, solve};
use second_glance::psychophysics::{Direction, SeenDifference};
use second_glance::scene::{Case, NaturalTooth, Patient, Staging, Tooth};
use std::sync::Arc;

fn look(scene: &BakedScene) -> Option<SeenDifference> {
    let scene = Arc::new(scene.clone());
    on_renderer(move |renderer| seen(renderer, &scene)).unwrap()
}

/// The opposite direction on the same axis of colour.
fn opposite(direction: Direction) -> Direction {
    let signed = |d: &Direction| {
        SeenDifference::on_axis(Tooth::new(11).unwrap(), direction, -1.0).along(*d) > 0.0
    };
    Direction::ALL.into_iter().find(signed).unwrap()
}

#[test]
fn tooth_direction_and_size_are_read_from_the_pixels() {
    let library = Library::shipped().unwrap();
    let (seed, illuminant) = (5, Illuminant::D65);
    let natural = |tooth| {
        let body = Lch { l: 75.0, c: 16.0, h: 87.0 };
        let tooth = NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
        within_reach(&tooth, seed, &library).unwrap()
    };
    let teeth: Vec<NaturalTooth> = Tooth::arch(6).into_iter().map(natural).collect();
    for (direction, changed) in Direction::ALL.into_iter().zip(&teeth) {
        let canvas = Canvas { natural: changed, seed, illuminant };
        let made = solve(canvas, direction, 3.0, &library).unwrap();
        let gingiva = Lch { l: 51.0, c: 33.0, h: 33.0 };
        let case = Case {
            seed,
            patient: Patient { teeth: teeth.clone(), gingiva },
            restorations: Vec::new(),
            shift: Some(made.recipe),
            illuminant,
            staging: Staging::default(),
        };
        let mut scene = bake(&case, &library).unwrap();
        let read = look(&scene).unwrap();
        println!("{direction:?} on {}: {read:?}", changed.tooth);
        assert_eq!((read.tooth, read.direction()), (changed.tooth, Some(direction)));
        // The studio light's gloss shrinks differences; the band that pictures are held to.
        let share = read.along(direction) / 3.0;
        assert!((0.75..=1.15).contains(&share), "{direction:?}: {share}");

        // With the maps exchanged, and the truth left as it was, the pixels say the opposite.
        for baked in &mut scene.teeth {
            if let Some(restored) = &mut baked.restored {
                std::mem::swap(restored, &mut baked.natural);
            }
        }
        let read = look(&scene).unwrap();
        assert_eq!((read.tooth, read.direction()), (changed.tooth, Some(opposite(direction))));

        // Without a difference in the pixels there is nothing to see, whatever the truth says.
        for baked in &mut scene.teeth {
            baked.restored = baked.restored.as_ref().map(|_| baked.natural.clone());
        }
        assert!(scene.truth.is_some());
        assert_eq!(look(&scene), None);
    }
}
