//! Side by side with numpy: the same stacks, the same colours, one core each. Run by
//! `tests/bench/against_numpy.py`; prints one JSON object.
//!
//! 10,368 stacks of three two-flux layers (ceramic, cement, prepared tooth) over a dark backing,
//! each to CIELAB and to its difference from one colour. The curves are formulas, so that both
//! sides make them for themselves.

use second_glance::colorimetry::{
    Illuminant, Lab, Observer, ciede2000, white_point, xyz_of_vectors,
};
use second_glance::optics::search::{Choices, colours};
use second_glance::optics::transport::{Base, CEMENT_JOINT, Tables, joint_reflection};
use second_glance::optics::two_flux::{TwoFluxVectors, VectorLayer, measured_vectors};
use second_glance::optics::{Interface, Layer, Medium, TwoFluxMedium};
use second_glance::spectrum::Spectrum;
use std::hint::black_box;
use std::time::Instant;

const CERAMICS: usize = 144;
const CEMENTS: usize = 6;
const THICKNESSES: usize = 12;
const ROUNDS: usize = 15;

fn medium(k: f64, tail_nm: f64, s: f64, power: f64) -> TwoFluxMedium {
    TwoFluxMedium::new(
        Spectrum::from_fn(|nm| k * ((450.0 - nm) / tail_nm).exp()),
        Spectrum::from_fn(|nm| s * (nm / 550.0).powf(-power)),
        1.52,
    )
    .expect("coefficients are positive")
}

fn median(mut seconds: Vec<f64>) -> f64 {
    seconds.sort_by(f64::total_cmp);
    seconds[seconds.len() / 2]
}

/// The media of both sides.
struct Media {
    ceramics: Vec<TwoFluxMedium>,
    cements: Vec<TwoFluxMedium>,
    tooth: TwoFluxMedium,
    thicknesses_mm: Vec<f64>,
}

const WANTED: Lab = Lab { l: 72.0, a: 1.0, b: 17.0 };
const LIGHT: (Illuminant, Observer) = (Illuminant::D65, Observer::Cie1931);
const STACKS: usize = CERAMICS * CEMENTS * THICKNESSES;

fn media() -> Media {
    let ceramics: Vec<TwoFluxMedium> = (0..CERAMICS)
        .map(|i| medium(0.05 + 0.004 * i as f64, 60.0, 0.8 + 0.02 * i as f64, 1.0))
        .collect();
    let cements: Vec<TwoFluxMedium> = (0..CEMENTS)
        .map(|i| medium(0.2 + 0.1 * i as f64, 80.0, 0.5 + 2.0 * i as f64, 0.8))
        .collect();
    let tooth = medium(0.3, 90.0, 6.0, 1.2);
    let thicknesses_mm = (0..THICKNESSES).map(|i| 0.3 + 0.15 * i as f64).collect();
    Media { ceramics, cements, tooth, thicknesses_mm }
}

/// Differences of all stacks, worked directly; what does not hang on the stack is made once.
fn by_two_flux(media: &Media) -> impl Fn() -> Vec<f64> {
    let white = white_point(LIGHT.0, LIGHT.1);
    let interface = Interface::between_air_and(1.5);
    let vectors = |media: &[TwoFluxMedium]| -> Vec<TwoFluxVectors> {
        media.iter().map(TwoFluxVectors::from).collect()
    };
    let (ceramic, cement, dentin) =
        (vectors(&media.ceramics), vectors(&media.cements), TwoFluxVectors::from(&media.tooth));
    let backing = Spectrum::constant(0.03).vectors();
    let thicknesses_mm = media.thicknesses_mm.clone();
    move || {
        let mut differences = Vec::with_capacity(STACKS);
        for ceramic in &ceramic {
            for cement in &cement {
                for &thickness_mm in &thicknesses_mm {
                    let layers = [
                        VectorLayer { medium: ceramic, thickness_mm },
                        VectorLayer { medium: cement, thickness_mm: 0.05 },
                        VectorLayer { medium: &dentin, thickness_mm: 3.0 },
                    ];
                    let seen = measured_vectors(&layers, &backing, interface);
                    let lab = Lab::from_xyz(xyz_of_vectors(&seen, LIGHT.0, LIGHT.1), white);
                    differences.push(ciede2000(WANTED, lab).de00);
                }
            }
        }
        differences
    }
}

/// The same choices by the tables of radiative transfer, on one thread.
fn by_table(media: &Media) -> impl Fn() -> Vec<f64> {
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread");
    let transfer = |media: &[TwoFluxMedium]| -> Vec<Medium> {
        media.iter().map(|m| Medium::from_two_flux(m, 0.7)).collect()
    };
    let (rt_ceramics, rt_cements) = (transfer(&media.ceramics), transfer(&media.cements));
    let rt_tooth = Medium::from_two_flux(&media.tooth, 0.93);
    let tables = Tables::default();
    let below = joint_reflection(
        &tables,
        &[Layer { medium: &rt_tooth, thickness_mm: 3.0 }],
        Base::Backing(&Spectrum::constant(0.03)),
        CEMENT_JOINT,
    );
    let thicknesses_mm = media.thicknesses_mm.clone();
    move || {
        let choices = Choices {
            ceramics: &rt_ceramics,
            thicknesses_mm: &thicknesses_mm,
            cements: &rt_cements,
            film_mm: 0.05,
        };
        let found = one.install(|| colours(&tables, black_box(&choices), &below, LIGHT));
        found.all().iter().map(|lab| ciede2000(WANTED, *lab).de00).collect()
    }
}

fn main() {
    let media = media();
    let (direct, by_table) = (by_two_flux(&media), by_table(&media));
    let time = |work: &dyn Fn() -> Vec<f64>| {
        black_box(work());
        let seconds = (0..ROUNDS)
            .map(|_| {
                let start = Instant::now();
                black_box(work());
                start.elapsed().as_secs_f64()
            })
            .collect();
        median(seconds) / STACKS as f64 * 1e6
    };
    let differences = direct();
    println!(
        "{{\"direct_us\": {}, \"table_us\": {}, \"differences\": {:?}}}",
        time(&direct),
        time(&by_table),
        differences.iter().step_by(97).collect::<Vec<_>>()
    );
}
