//! Stimuli on an axis, judged by the baked truth.

use proptest::prelude::*;
use second_glance::bake::{bake, within_reach};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::material::Library;
use second_glance::measure::{Canvas, Means, off_axis_de00, solve, solve_by, thirds_off_axis_de00};
use second_glance::psychophysics::Direction;
use second_glance::scene::{AxisChange, Case, NaturalTooth, Patient, Tooth};
use std::sync::{LazyLock, Mutex};

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::shipped().unwrap());
/// (build-up, shift) found over all cases, for the report.
static MADE: Mutex<(u32, u32)> = Mutex::new((0, 0));

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 0, failure_persistence: None, ..ProptestConfig::default() })]

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
        let case = Case { seed, patient, restorations: Vec::new(), shift: Some(found.recipe), illuminant, staging: Default::default() };
        let mut made = MADE.lock().unwrap();
        match &found.recipe {
            AxisChange::BuildUp(_) => made.0 += 1,
            AxisChange::Shift(_) => made.1 += 1,
        }
        println!("{} of {} are build-ups", made.0, made.0 + made.1);
        let scene = bake(&case, &LIBRARY).unwrap();
        let truth = scene.truth.unwrap();
        prop_assert_eq!(truth.tooth, natural.tooth);
        prop_assert_eq!(truth.difference, found.truth.difference);
        let difference = truth.difference;
        let off = off_axis_de00(direction, &truth.zones);
        prop_assert!(off <= 0.15, "{:?}: {:?}", direction, truth.zones);
        let thirds = thirds_off_axis_de00(direction, &truth.zones);
        prop_assert!(thirds.iter().all(|off| *off <= 0.15), "{:?}: {:?}", direction, truth.zones);
        prop_assert!((difference.de00 - size).abs() <= 0.01_f64.max(0.01 * size), "{:?}", difference);
        let on = match direction {
            Direction::Darker | Direction::Lighter => difference.dl00,
            Direction::MoreChroma | Direction::LessChroma => difference.dc00,
            Direction::Redder | Direction::Yellower => difference.dh00,
        };
        prop_assert!(on * direction.sign() > 0.9 * size, "{:?} {:?}", direction, difference);
    }
}

/// A tooth of the middle of what surveys find, another one for each number.
fn tooth(n: u64) -> NaturalTooth {
    let number = [11, 22, 13, 24, 12, 21, 23, 15][(n % 8) as usize];
    let step = |of: u64, steps: u64| (n / of % steps) as f64;
    let tooth = NaturalTooth {
        tooth: Tooth::new(number).unwrap(),
        body: Lch {
            l: 72.0 + 1.4 * step(1, 6),
            c: 13.0 + 1.5 * step(5, 5),
            h: 84.0 + 1.5 * step(7, 5),
        },
        enamel_factor: 0.9 + 0.1 * step(3, 3),
        residual_de00: 0.0,
    };
    within_reach(&tooth, n, &LIBRARY).unwrap()
}

/// Stimuli by a build-up and by a shift in every direction and over the sizes that are measured, on
/// `teeth` teeth each. Returns the share that a build-up meets.
fn survey(teeth: u64) -> f64 {
    let sizes = [0.3, 0.6, 1.2, 2.4, 4.0, 6.0];
    let (mut asked, mut built, mut widest, mut most_off) = (0_u32, 0_u32, 0.0_f64, [0.0_f64; 2]);
    for (d, direction) in Direction::ALL.into_iter().enumerate() {
        for (s, size) in sizes.into_iter().enumerate() {
            for k in 0..teeth {
                let seed = (d as u64 * 6 + s as u64) * teeth + k;
                let natural = tooth(seed);
                let canvas = Canvas { natural: &natural, seed, illuminant: Illuminant::D65 };
                let by = |means| solve_by(means, canvas, direction, size, &LIBRARY);
                asked += 1;
                let shifted = by(Means::Reflectance).unwrap();
                let Ok(mass) = by(Means::Masses) else {
                    println!("no build-up: {direction:?} {size} on {natural:?}");
                    continue;
                };
                built += 1;
                // Which means was used must not be visible: the same size (both within 1 %),
                // and as even over the face. 12 % is three times the unevenness of a chroma shift.
                let (one, other) = (mass.truth.difference.de00, shifted.truth.difference.de00);
                assert!((one - other).abs() <= 0.02_f64.max(0.02 * size), "{one} {other}");
                let [low, _, high] = mass.truth.percentiles;
                let uneven = (size - low).max(high - size) / size;
                assert!(uneven < 0.12, "{direction:?} {size}: {:?}", mass.truth.percentiles);
                widest = widest.max(uneven);
                most_off[0] = most_off[0].max(mass.off_axis_de00);
                most_off[1] = most_off[1].max(mass.worst_third_de00);
            }
        }
    }
    println!(
        "{built} of {asked} by a build-up; over the face 90 % within {:.1} % of the size, at most \
         {:.3} ΔE00 off the axis, {:.3} in a third by itself",
        100.0 * widest,
        most_off[0],
        most_off[1]
    );
    f64::from(built) / f64::from(asked)
}

// The share measured over 288 stimuli is in the documentation of `measure`; the margin is for
// other patients.
#[test]
fn nearly_every_stimulus_is_a_build_up() {
    assert!(survey(1) >= 0.95);
}

#[test]
#[ignore = "the survey of the documentation: 288 stimuli by both means, a quarter of an hour"]
fn survey_of_stimuli() {
    assert!(survey(8) >= 0.95);
}
