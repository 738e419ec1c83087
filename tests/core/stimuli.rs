//! Stimuli on an axis, judged by the baked truth.

use proptest::prelude::*;
use second_glance::bake::{bake, within_reach};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::material::Library;
use second_glance::measure::{Canvas, Recipe, off_axis_de00, solve};
use second_glance::psychophysics::Direction;
use second_glance::scene::{Case, NaturalTooth, Patient, Tooth};
use std::sync::{LazyLock, Mutex};

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::shipped().unwrap());
/// (ceramic, shift) found over all cases, for the report.
static MADE: Mutex<(u32, u32)> = Mutex::new((0, 0));

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, max_shrink_iters: 0, failure_persistence: None, ..ProptestConfig::default() })]

    // The limits are the design's: at most 0.15 ΔE00 off the axis, the size within 1 %.
    #[test]
    fn a_stimulus_has_the_wanted_size_and_stays_on_its_axis(
        seed in any::<u64>(),
        number in prop::sample::select(vec![11_u8, 12, 13, 14, 21, 22, 23, 25]),
        l in 70.0..80.0_f64,
        c in 12.0..22.0_f64,
        h in 83.0..91.0_f64,
        direction in prop::sample::select(Direction::ALL.to_vec()),
        ln_size in 0.3_f64.ln()..6.0_f64.ln(),
    ) {
        let tooth = NaturalTooth {
            tooth: Tooth::new(number).unwrap(),
            body: Lch { l, c, h },
            enamel_factor: 1.0,
            residual_de00: 0.0,
        };
        let natural = within_reach(&tooth, seed, &LIBRARY).unwrap();
        let illuminant = Illuminant::D65;
        let size = ln_size.exp();
        let canvas = Canvas { natural: &natural, seed, illuminant };
        let found = solve(canvas, direction, size, &LIBRARY).unwrap();
        let gingiva = Lch { l: 51.0, c: 33.0, h: 33.0 };
        // A second tooth in view must change nothing.
        let other = NaturalTooth { tooth: natural.tooth.contralateral(), ..natural };
        let patient = Patient { teeth: vec![natural, other], gingiva };
        let mut case = Case { seed, patient, restoration: None, shift: None, illuminant, staging: Default::default() };
        let mut made = MADE.lock().unwrap();
        match &found.recipe {
            Recipe::Ceramic(_) => made.0 += 1,
            Recipe::Shift(_) => made.1 += 1,
        }
        println!("{} of {} are ceramic", made.0, made.0 + made.1);
        found.recipe.apply(&mut case);
        let scene = bake(&case, &LIBRARY).unwrap();
        let truth = scene.truth.unwrap();
        prop_assert_eq!(truth.tooth, natural.tooth);
        prop_assert_eq!(truth.difference, found.truth.difference);
        let difference = truth.difference;
        let off = off_axis_de00(direction, &truth.zones);
        prop_assert!(off <= 0.15, "{:?}: {:?}", direction, truth.zones);
        prop_assert!((difference.de00 - size).abs() <= 0.01_f64.max(0.01 * size), "{:?}", difference);
        let on = match direction {
            Direction::Darker | Direction::Lighter => difference.dl00,
            Direction::MoreChroma | Direction::LessChroma => difference.dc00,
            Direction::Redder | Direction::Yellower => difference.dh00,
        };
        prop_assert!(on * direction.sign() > 0.9 * size, "{:?} {:?}", direction, difference);
    }
}
