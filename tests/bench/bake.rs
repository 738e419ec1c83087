//! Speed of the layered model: one stack, one whole smile, and the ratio between them.

use criterion::{Criterion, criterion_group, criterion_main};
use second_glance::bake::bake;
use second_glance::level;
use second_glance::material::Library;
use second_glance::optics::{Interface, Layer, measured_reflectance};
use second_glance::spectrum::Spectrum;
use std::hint::black_box;

const LEVEL: &str = include_str!("../../levels/whole-smile.ron");

fn benches(c: &mut Criterion) {
    let library = Library::shipped().expect("shipped materials");
    let enamel = *library.enamel();
    let dentin = library.dentin("adult").expect("shipped dentin");
    let layers = [
        Layer { medium: &enamel, thickness_mm: 0.8 },
        Layer { medium: &dentin, thickness_mm: 3.0 },
        Layer { medium: &enamel, thickness_mm: 0.6 },
    ];
    let backing = Spectrum::constant(0.03);
    let interface = Interface::between_air_and(1.63);
    c.bench_function("one stack of three layers, 81 bands", |b| {
        b.iter(|| measured_reflectance(black_box(&layers), black_box(&backing), interface));
    });
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
