//! Speed of the layered model: one stack, one whole smile, a search through ten thousand stacks.

use criterion::measurement::WallTime;
use criterion::{BenchmarkGroup, Criterion, criterion_group, criterion_main};
use second_glance::bake::bake;
use second_glance::colorimetry::{Illuminant, Lab, Lch, Observer, ciede2000};
use second_glance::level;
use second_glance::material::Library;
use second_glance::optics::search::{Choices, colours};
use second_glance::optics::transport::modes::{BACK, INNER, TOP};
use second_glance::optics::transport::{
    BandLayer, Base, CEMENT_JOINT, DENTIN_JOINT, STREAMS_PER_BAND, Series, Tables, ThicknessTable,
    joint_reflection, over_backing, tabulated_reflectance,
};
use second_glance::optics::two_flux::{TwoFluxVectors, VectorLayer, measured_vectors};
use second_glance::optics::{Interface, Layer, Medium, TwoFluxMedium, measured_reflectance};
use second_glance::scene::{NaturalTooth, Tooth, Translucency};
use second_glance::spectrum::{BAND_VECTORS, Spectrum};
use std::hint::black_box;

const LEVEL: &str = include_str!("../../levels/whole-smile.ron");

fn stack_benches(c: &mut Criterion) {
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
    group.bench_function("two-flux in vectors", |b| {
        let vectors = two_flux.each_ref().map(TwoFluxVectors::from);
        let flat: Vec<VectorLayer> = vectors
            .iter()
            .zip(&layers)
            .map(|(medium, layer)| VectorLayer { medium, thickness_mm: layer.thickness_mm })
            .collect();
        let backing = backing.vectors();
        b.iter(|| measured_vectors(black_box(&flat), black_box(&backing), interface));
    });
    group.bench_function("tables", |b| {
        let base = Base::Backing(&backing);
        b.iter(|| tabulated_reflectance(library.tables(), black_box(&layers), base, DENTIN_JOINT));
    });
    thickness_benches(&mut group, &library, &layers);
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
}

/// What is known of a stack beforehand, and only thicknesses change.
fn thickness_benches(group: &mut BenchmarkGroup<WallTime>, library: &Library, layers: &[Layer; 3]) {
    let (enamel, dentin) = (layers[0].medium, layers[1].medium);
    let backing = Spectrum::constant(0.03);
    group.bench_function("tables, media written out over thickness", |b| {
        let (tables, joint) = (library.tables(), DENTIN_JOINT);
        let (n, g) = (enamel.refractive_index, enamel.anisotropy);
        let of = |medium: &Medium| (*medium.reduced_scattering.bands(), *medium.absorption.bands());
        let ((es, ea), (ds, da)) = (of(enamel), of(dentin));
        let front: Series<TOP, BAND_VECTORS> = Series::new(&tables.top(n, g, joint), &es, &ea, 3.0);
        let inner = tables.inner(dentin.refractive_index, dentin.anisotropy, joint);
        let body: Series<INNER, BAND_VECTORS> = Series::new(&inner, &ds, &da, 9.0);
        let back = tables.back(n, g, joint, 0.03);
        let back: Series<BACK, BAND_VECTORS> = Series::new(&back, &es, &ea, 3.0);
        b.iter(|| {
            let (f, m, r) =
                (front.step(black_box(0.8)), body.step(black_box(3.0)), back.step(black_box(0.6)));
            std::array::from_fn::<_, BAND_VECTORS, _>(|v| {
                front.layer(&f, v).over(&back.layer(&r, v).under(&body.layer(&m, v)))
            })
        });
    });
    group.bench_function("tables, base known", |b| {
        let base = Base::Backing(&backing);
        let below = joint_reflection(library.tables(), &layers[1..], base, DENTIN_JOINT);
        let table = ThicknessTable::new(library.tables(), enamel, &below, DENTIN_JOINT, 2.5, 0.1);
        b.iter(|| table.reflectance(black_box(0.83)));
    });
}

fn smile_benches(c: &mut Criterion) {
    let library = Library::shipped().expect("shipped materials");
    let level: level::format::Level =
        level::format::ron_options().from_str(LEVEL).expect("shipped level");
    let plan = level::lower(&level, &library, level.seed, Some(8)).expect("shipped level");
    let case = plan.trials.iter().find(|t| t.case.restoration().is_some()).expect("a signal trial");
    let mut group = c.benchmark_group("smile");
    group.sample_size(20);
    group.bench_function("bake ten teeth and a twin", |b| {
        b.iter(|| bake(black_box(&case.case), &library).expect("bakes"));
    });
    let mut arch = case.case.clone();
    arch.patient.teeth = Tooth::arch(12)
        .into_iter()
        .zip((0..).map(f64::from))
        .map(|(tooth, i)| NaturalTooth {
            tooth,
            body: Lch { l: 75.0 - 0.4 * i, c: 16.0 + 0.3 * i, h: 88.0 },
            enamel_factor: 1.0,
            residual_de00: 0.0,
        })
        .collect();
    group.bench_function("bake an arch of twelve teeth, 192 by 256 texels each", |b| {
        arch.restorations.clear();
        b.iter(|| bake(black_box(&arch), &library).expect("bakes"));
    });
    group.bench_function("lower a level of 20 trials", |b| {
        b.iter(|| level::lower(&level, &library, 7, Some(20)).expect("lowers"));
    });
    group.finish();
}

/// 3 classes × 3 translucencies × 16 shades × 6 cements × 12 thicknesses.
fn search_benches(c: &mut Criterion) {
    let library = Library::shipped().expect("shipped materials");
    let shades: Vec<Lch> = (0..16)
        .map(|i| Lch {
            l: 70.0 + 3.0 * f64::from(i / 4),
            c: 12.0 + 3.0 * f64::from(i % 4),
            h: 88.0,
        })
        .collect();
    let mut ceramics = Vec::new();
    for class in ["feldspathic", "leucite-glass-ceramic", "lithium-disilicate"] {
        for level in [Translucency::Low, Translucency::Medium, Translucency::High] {
            for shade in &shades {
                ceramics.push(*library.ceramic(class, level, *shade).expect("within reach"));
            }
        }
    }
    let cements: Vec<Medium> = library
        .cements()
        .cements
        .iter()
        .map(|cement| *library.cement(&cement.id).expect("shipped cement"))
        .collect();
    let thicknesses_mm: Vec<f64> = (0..12).map(|i| 0.3 + 0.15 * f64::from(i)).collect();
    let choices = Choices {
        ceramics: &ceramics,
        thicknesses_mm: &thicknesses_mm,
        cements: &cements,
        film_mm: 0.05,
    };
    let prepared = library.prepared_tooth("brown").expect("shipped tooth");
    let base = Base::Mouth(Layer { medium: library.enamel(), thickness_mm: 0.5 }, 0.03);
    let tooth = [Layer { medium: &*prepared, thickness_mm: 2.5 }];
    let below = joint_reflection(library.tables(), &tooth, base, CEMENT_JOINT);
    let wanted = Lab::from(Lch { l: 75.0, c: 17.0, h: 88.0 });
    let search = || {
        colours(library.tables(), black_box(&choices), &below, (Illuminant::D65, Observer::Cie1931))
            .all()
            .iter()
            .map(|lab| ciede2000(wanted, *lab).de00)
            .fold(f64::INFINITY, f64::min)
    };
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread");
    let count = ceramics.len() * cements.len() * thicknesses_mm.len();
    let mut group = c.benchmark_group(format!("search {count} stacks with ΔE00"));
    group.sample_size(20);
    group.bench_function("all threads", |b| b.iter(search));
    group.bench_function("one thread", |b| b.iter(|| one.install(search)));
    group.finish();
    c.bench_function("read the shipped tables", |b| b.iter(Tables::shipped));
}

criterion_group!(bake_benches, stack_benches, smile_benches, search_benches);
criterion_main!(bake_benches);
