//! The bench: recipes and their limits, drafts, quick updates, the best that can be reached.

mod baking;
mod best;
mod filled_preparation;
mod recipes;
mod scores;

use crate::shared::levels::level;
use rand_chacha::ChaCha8Rng;
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::exercise::{BenchTask, Recipe, RecipeLimits, Round, Task, lay_out};
use second_glance::material::Library;
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Thickness, Tooth, Translucency,
};
use std::sync::OnceLock;
use std::time::Instant;

fn case(preparation: Preparation, number: u8) -> Case {
    let body = Lch { l: 75.0, c: 16.0, h: 88.0 };
    let tooth = |tooth| NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    Case {
        seed: 5,
        patient: Patient {
            teeth: Tooth::arch(10).into_iter().map(tooth).collect(),
            gingiva: Lch { l: 55.0, c: 25.0, h: 25.0 },
        },
        restorations: vec![Restoration {
            tooth: Tooth::new(number).unwrap(),
            preparation,
            ceramic: Ceramic {
                class: "feldspathic".to_owned(),
                translucency: Translucency::High,
                shade: body,
                graded: false,
                block_shift: 0.0,
            },
            thickness: Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.6, incisal_mm: 0.8 },
            cement: "clear".to_owned(),
            cement_film_mm: 0.05,
            prepared_tooth: "brown".to_owned(),
            drift: None,
        }],
        shift: None,
        illuminant: Illuminant::D65,
        staging: second_glance::scene::Staging::default(),
    }
}

fn recipe() -> Recipe {
    let mut recipe = Recipe::of(&case(Preparation::Veneer, 11).restorations[0]);
    recipe.thickness = Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.5, incisal_mm: 0.7 };
    recipe
}

fn tasks(round: &Round) -> impl Iterator<Item = &BenchTask> {
    round.questions.iter().map(|question| match &question.task {
        Task::Bench(task) => task,
        other => panic!("{}", other.name()),
    })
}

fn limits(library: &Library) -> RecipeLimits {
    let reduction = Thickness { margin_mm: 0.2, neck_mm: 0.5, body_mm: 0.7, incisal_mm: 1.0 };
    RecipeLimits::new(library, Preparation::Veneer, reduction)
}

fn stream(seed: u64) -> ChaCha8Rng {
    StreamKey { form: "test", seed, purpose: Purpose::Observer, block: 0, trial: 0 }.stream()
}

/// A round that several tests look at.
fn dark_round() -> &'static (Library, Round) {
    static ROUND: OnceLock<(Library, Round)> = OnceLock::new();
    ROUND.get_or_init(|| {
        let library = Library::shipped().unwrap();
        let level = level("bench-dark-central");
        let started = Instant::now();
        let round = lay_out(&level, &library, level.seed, Some(5)).unwrap();
        println!("five questions laid out in {:?}", started.elapsed());
        (library, round)
    })
}
