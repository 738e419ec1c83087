//! Speed of the layered model: one stack, one whole smile, and the ratio between them.

use criterion::{Criterion, criterion_group, criterion_main};
use second_glance::bake::bake;
use second_glance::level;
use second_glance::material::Library;
use second_glance::optics::transport::{
    BandLayer, Base, DENTIN_JOINT, STREAMS_PER_BAND, ThicknessTable, joint_reflection,
    over_backing, tabulated_reflectance,
};
use second_glance::optics::{Interface, Layer, TwoFluxMedium, measured_reflectance};
use second_glance::spectrum::Spectrum;
use std::hint::black_box;

const LEVEL: &str = include_str!("../../levels/whole-smile.ron");

fn benches(c: &mut Criterion) {
    let library = Library::shipped().expect("shipped materials");
    let enamel = *library.enamel();
    let dentin = library.dentin("adult").expect("shipped dentin");
    let layers = [
        Layer { medium: &enamel, thickness_mm: 0.8 },
        Layer { medium: &*dentin, thickness_mm: 3.0 },
        Layer { medium: &enamel, thickness_mm: 0.6 },
    ];
    let backing = Spectrum::constant(0.03);
    let two_flux = layers.map(|layer| layer.medium.two_flux());
    let flat: Vec<Layer<TwoFluxMedium>> = two_flux
        .iter()
        .zip(&layers)
        .map(|(medium, layer)| Layer { medium, thickness_mm: layer.thickness_mm })
        .collect();
    let interface = Interface::between_air_and(1.63);
    let mut group = c.benchmark_group("one stack of three layers, 81 bands");
    group.bench_function("two-flux", |b| {
        b.iter(|| measured_reflectance(black_box(&flat), black_box(&backing), interface));
    });
    group.bench_function("tables", |b| {
        let base = Base::Backing(&backing);
        b.iter(|| tabulated_reflectance(library.tables(), black_box(&layers), base, DENTIN_JOINT));
    });
    group.bench_function("tables, base known", |b| {
        let base = Base::Backing(&backing);
        let below = joint_reflection(library.tables(), &layers[1..], base, DENTIN_JOINT);
        let table = ThicknessTable::new(library.tables(), &enamel, &below, DENTIN_JOINT, 2.5, 0.1);
        b.iter(|| table.reflectance(black_box(0.83)));
    });
    group.sample_size(10);
    group.bench_function("direct radiative transfer, one band", |b| {
        let stack = layers.map(|layer| BandLayer {
            absorption: layer.medium.absorption[40] * layer.thickness_mm,
            scattering: layer.medium.reduced_scattering[40] * layer.thickness_mm
                / (1.0 - layer.medium.anisotropy),
            anisotropy: layer.medium.anisotropy,
            refractive_index: layer.medium.refractive_index,
        });
        b.iter(|| over_backing(black_box(&stack), 0.03, STREAMS_PER_BAND));
    });
    group.finish();
    let level: level::format::Level =
        level::format::ron_options().from_str(LEVEL).expect("shipped level");
    let plan = level::lower(&level, &library, level.seed, Some(8)).expect("shipped level");
    let case = plan.trials.iter().find(|t| t.case.restoration.is_some()).expect("a signal trial");
    let mut group = c.benchmark_group("smile");
    group.sample_size(20);
    group.bench_function("bake ten teeth and a twin", |b| {
        b.iter(|| bake(black_box(&case.case), &library).expect("bakes"));
    });
    group.bench_function("lower a level of 20 trials", |b| {
        b.iter(|| level::lower(&level, &library, 7, Some(20)).expect("lowers"));
    });
    group.finish();
}

criterion_group!(bake_benches, benches);
criterion_main!(bake_benches);
