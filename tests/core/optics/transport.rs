//! Tables and modes against the direct solution of radiative transfer, and radiative transfer
//! against photons followed one by one.

use rand::RngExt;
use rayon::prelude::*;
use second_glance::colorimetry::{Illuminant, Lab, Observer, ciede2000};
use second_glance::material::Library;
use second_glance::optics::explain::explain;
use second_glance::optics::inverse::TwoBackings;
use second_glance::optics::transport::inverse::transport_from_two_backings;
use second_glance::optics::transport::{
    BandLayer, Base, CEMENT_JOINT, DENTIN_JOINT, SALIVA_INDEX, ThicknessTable, free,
    joint_reflection, over_backing, tabulated_reflectance,
};
use second_glance::optics::{Layer, Medium};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::Translucency;
use second_glance::spectrum::{Spectrum, sampled_band};

fn stream(seed: u64, trial: u32) -> impl RngExt {
    StreamKey { form: "transport", seed, purpose: Purpose::Scene, block: 0, trial }.stream()
}

fn band_layer(layer: &Layer, band: usize) -> BandLayer {
    let Medium { absorption, reduced_scattering, anisotropy, refractive_index } = *layer.medium;
    BandLayer {
        absorption: absorption[band] * layer.thickness_mm,
        scattering: reduced_scattering[band] * layer.thickness_mm / (1.0 - anisotropy),
        anisotropy,
        refractive_index,
    }
}

const AIR: BandLayer =
    BandLayer { absorption: 0.0, scattering: 0.0, anisotropy: 0.0, refractive_index: 1.0 };

/// Direct solution at the sampled bands, joined smoothly.
fn direct(layers: &[Layer], mouth: f64) -> Spectrum {
    let samples = std::array::from_fn(|i| {
        let mut stack: Vec<BandLayer> =
            layers.iter().map(|layer| band_layer(layer, sampled_band(i))).collect();
        stack.push(BandLayer { refractive_index: SALIVA_INDEX, ..AIR });
        let r = over_backing(&stack, mouth, 12);
        r.normal - r.specular
    });
    Spectrum::through(&samples)
}

fn lab(spectrum: &Spectrum) -> Lab {
    Lab::from_reflectance(spectrum, Illuminant::D65, Observer::Cie1931)
}

#[test]
fn tables_agree_with_the_direct_solution() {
    // Limit 0.02 ΔE00: a fortieth of the perceptibility threshold. Random stacks over the whole
    // range of teeth and restorations; none lies on a node of the tables.
    let library = Library::shipped().unwrap();
    let mouth = library.mouth_reflectance();
    let classes = &library.ceramics().classes;
    let worst = (0..48_u32)
        .into_par_iter()
        .map(|i| {
            let mut rng = stream(11, i);
            let enamel = library.enamel();
            let mut within = |lo: f64, hi: f64| rng.random_range(lo..hi);
            let (layers, joint) = if i % 2 == 0 {
                let dentin = library.dentin("adult").unwrap();
                let mm = [within(0.15, 2.0), within(0.0, 4.0), within(0.1, 1.0)];
                (vec![(*enamel, mm[0]), (*dentin, mm[1]), (*enamel, mm[2])], DENTIN_JOINT)
            } else {
                let class = &classes[(i as usize / 2) % classes.len()];
                let shade = library.ceramics().shades.lattice[(7 * i as usize) % 32];
                let t = [Translucency::Low, Translucency::Medium, Translucency::High]
                    [(i as usize / 3) % 3];
                let ceramic = library.ceramic(&class.id, t, shade).unwrap();
                let cements = &library.cements().cements;
                let cement = library.cement(&cements[i as usize % cements.len()].id).unwrap();
                let prepared = &library.tissues().prepared_teeth;
                let prepared =
                    library.prepared_tooth(&prepared[i as usize % prepared.len()].id).unwrap();
                let mm = [within(0.2, 2.5), within(0.02, 0.1), within(0.3, 4.0), within(0.2, 0.8)];
                let layers =
                    vec![(*ceramic, mm[0]), (*cement, mm[1]), (*prepared, mm[2]), (*enamel, mm[3])];
                (layers, CEMENT_JOINT)
            };
            let layers: Vec<Layer> =
                layers.iter().map(|(medium, mm)| Layer { medium, thickness_mm: *mm }).collect();
            let exact = lab(&direct(&layers, mouth));
            let (last, front) = layers.split_last().unwrap();
            let base = Base::Mouth(*last, mouth);
            let table = tabulated_reflectance(library.tables(), front, base, joint);
            // The same bands for both: what sampling costs is a test of its own.
            let got = lab(&Spectrum::through(&table.samples()));
            (ciede2000(exact, got).de00, i)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap();
    println!("worst of 48 stacks: {:.4} ΔE00 (number {})", worst.0, worst.1);
    assert!(worst.0 < 0.02, "{worst:?}");
}

#[test]
fn sampling_every_fourth_band_costs_nothing_visible() {
    let library = Library::shipped().unwrap();
    let base = Spectrum::constant(0.2);
    for illuminant in Illuminant::ALL {
        for &shade in &library.ceramics().shades.lattice {
            let ceramic = library.ceramic("feldspathic", Translucency::Medium, shade).unwrap();
            let layers = [Layer { medium: &*ceramic, thickness_mm: 0.6 }];
            let base = Base::Backing(&base);
            let full = tabulated_reflectance(library.tables(), &layers, base, CEMENT_JOINT);
            let sampled = Spectrum::through(&full.samples());
            let colour = |s: &Spectrum| Lab::from_reflectance(s, illuminant, Observer::Cie1931);
            let apart = ciede2000(colour(&full), colour(&sampled)).de00;
            assert!(apart < 0.005, "{illuminant:?} {}: {apart}", shade.name());
        }
    }
}

#[test]
fn a_thickness_table_agrees_with_the_stack_it_stands_for() {
    let library = Library::shipped().unwrap();
    let ceramic = library
        .ceramic("lithium-disilicate", Translucency::High, library.ceramics().shades.lattice[5])
        .unwrap();
    let cement = library.cement("warm").unwrap();
    let prepared = library.prepared_tooth("brown").unwrap();
    let black = Spectrum::constant(0.03);
    let under = [
        Layer { medium: &*cement, thickness_mm: 0.05 },
        Layer { medium: &*prepared, thickness_mm: 5.0 },
    ];
    let below = joint_reflection(library.tables(), &under, Base::Backing(&black), CEMENT_JOINT);
    let table = ThicknessTable::new(library.tables(), &ceramic, &below, CEMENT_JOINT, 2.5, 0.1);
    for i in 0..60_u32 {
        let mm = stream(3, i).random_range(0.1..2.5);
        let layers = [Layer { medium: &*ceramic, thickness_mm: mm }, under[0], under[1]];
        let base = Base::Backing(&black);
        let exact = tabulated_reflectance(library.tables(), &layers, base, CEMENT_JOINT);
        let apart = ciede2000(lab(&exact), lab(&table.reflectance(mm))).de00;
        assert!(apart < 0.005, "{mm} mm: {apart}");
    }
}

#[test]
fn inversion_recovers_what_was_measured() {
    let library = Library::shipped().unwrap();
    for (n, g) in [(1.53, 0.7), (2.15, 0.7)] {
        let table = library.tables().top(n, g, CEMENT_JOINT);
        for i in 0..40_u32 {
            let mut rng = stream(5, i);
            let absorption = 10.0_f64.powf(rng.random_range(-2.5..0.0));
            let reduced_scattering = 10.0_f64.powf(rng.random_range(-0.3..0.9));
            let thickness_mm = rng.random_range(0.4..1.2);
            let medium = Medium::new(
                Spectrum::constant(absorption),
                Spectrum::constant(reduced_scattering),
                g,
                n,
            )
            .unwrap();
            // Measured by the direct solution, a joint of cement's index below.
            let over = |rho: f64| {
                let film = BandLayer { refractive_index: CEMENT_JOINT, ..AIR };
                let layer = band_layer(&Layer { medium: &medium, thickness_mm }, 0);
                let r = over_backing(&[layer, film], rho, 12);
                r.normal - r.specular
            };
            let (white, black) = (0.88, 0.03);
            let r = TwoBackings { over_white: over(white), over_black: over(black), white, black };
            let found = transport_from_two_backings(&table, n, r, thickness_mm).unwrap();
            // As exact as the table's reflectances, 1e-4, times the sensitivity.
            let allowed = |sensitivity: f64| 1e-4 * sensitivity + 1e-6;
            let (da, ds) = (
                (found.absorption - absorption).abs(),
                (found.reduced_scattering - reduced_scattering).abs(),
            );
            assert!(da <= allowed(found.conditioning.k_per_reflectance), "{da} {found:?}");
            assert!(ds <= allowed(found.conditioning.s_per_reflectance), "{ds} {found:?}");
            assert!(da < 0.02 * absorption + 2e-3, "σ_a {absorption}: {found:?}");
            assert!(ds < 0.02 * reduced_scattering, "σ_s' {reduced_scattering}: {found:?}");
        }
    }
}

#[test]
fn explanations_add_up() {
    let library = Library::shipped().unwrap();
    let shade = library.ceramics().shades.lattice[9];
    let ceramic = library.ceramic("feldspathic", Translucency::High, shade).unwrap();
    let cement = library.cement("clear").unwrap();
    let dark = library.prepared_tooth("severe-grey-brown").unwrap();
    let black = Spectrum::constant(0.03);
    let take_apart = |mm: f64| {
        let layers = [
            Layer { medium: &*ceramic, thickness_mm: mm },
            Layer { medium: &*cement, thickness_mm: 0.05 },
            Layer { medium: &*dark, thickness_mm: 5.0 },
        ];
        let base = Base::Backing(&black);
        explain(library.tables(), &layers, base, CEMENT_JOINT, Illuminant::D65)
    };
    let thin = take_apart(0.3);
    assert_eq!(thin.parts.len(), 4);
    let sum = thin.parts.iter().fold(Spectrum::constant(0.0), |sum, p| sum + p.returned);
    assert!((sum - thin.reflectance).map(f64::abs).max() < 1e-12);
    let shares: f64 = thin.parts.iter().map(|p| p.luminance_share).sum();
    assert!((shares - 1.0).abs() < 1e-12);
    let l: f64 = thin.parts.iter().map(|p| p.change[0]).sum();
    let c: f64 = thin.parts.iter().map(|p| p.change[1]).sum();
    assert!((l - thin.colour.l).abs() < 1e-9 && (c - thin.colour.c).abs() < 1e-9);
    // Thin ceramic lets the dark tooth speak; thick ceramic speaks for itself.
    let thick = take_apart(2.0);
    assert!(thick.parts[0].luminance_share > thin.parts[0].luminance_share);
    assert!(thick.parts[2].luminance_share < thin.parts[2].luminance_share);
    assert!(thick.parts[0].luminance_share > 0.8, "{}", thick.parts[0].luminance_share);
    // A nearly clear film returns nearly nothing itself.
    assert!(thin.parts[1].luminance_share.abs() < 0.02, "{}", thin.parts[1].luminance_share);
}

/// Follows photons through layers of different index: an independent method for what no table
/// covers.
///
/// # References
/// Wang, Jacques, Zheng, Comput Methods Programs Biomed 1995;47:131-146.
fn photons(layers: &[BandLayer], backing: f64, count: u32) -> f64 {
    let returned: f64 =
        (0..count).into_par_iter().map(|i| photon(layers, backing, &mut stream(23, i))).sum();
    returned / f64::from(count)
}

/// Weight with which one photon along the normal comes back, specular excluded. Layers are one
/// unit thick, so that their depths are their coefficients.
fn photon(layers: &[BandLayer], backing: f64, rng: &mut impl RngExt) -> f64 {
    let index = |i: usize| if i == 0 { 1.0 } else { layers[i - 1].refractive_index };
    let fresnel = |c1: f64, n1: f64, n2: f64| {
        let s2 = n1 / n2 * (1.0 - c1 * c1).max(0.0).sqrt();
        if s2 >= 1.0 {
            return (1.0, 0.0);
        }
        let c2 = (1.0 - s2 * s2).sqrt();
        let s = (n1 * c1 - n2 * c2) / (n1 * c1 + n2 * c2);
        let p = (n1 * c2 - n2 * c1) / (n1 * c2 + n2 * c1);
        (0.5 * (s * s + p * p), c2)
    };
    let (r0, _) = fresnel(1.0, 1.0, index(1));
    let (mut layer, mut z, mut mu, mut weight) = (1, 0.0, 1.0_f64, 1.0 - r0);
    loop {
        let BandLayer { absorption, scattering, .. } = layers[layer - 1];
        let total = absorption + scattering;
        let mut free_path =
            if total > 0.0 { -(1.0 - rng.random::<f64>()).ln() / total } else { f64::INFINITY };
        loop {
            let wall = if mu > 0.0 { (1.0 - z) / mu } else { z / -mu };
            if free_path < wall {
                z += mu * free_path;
                break;
            }
            free_path -= wall;
            let down = mu > 0.0;
            z = if down { 1.0 } else { 0.0 };
            if down && layer == layers.len() {
                // Lambertian backing in optical contact.
                weight *= backing;
                if weight < 1e-4 {
                    return 0.0;
                }
                mu = -rng.random::<f64>().sqrt();
                continue;
            }
            let next = if down { layer + 1 } else { layer - 1 };
            let (r, c2) = fresnel(mu.abs(), index(layer), index(next));
            if rng.random::<f64>() < r {
                mu = -mu;
                continue;
            }
            if next == 0 {
                return weight;
            }
            mu = c2 * mu.signum();
            // What is left of the free path, counted in the new layer's optical depth.
            let here = layers[layer - 1].absorption + layers[layer - 1].scattering;
            layer = next;
            z = if down { 0.0 } else { 1.0 };
            let there = layers[layer - 1].absorption + layers[layer - 1].scattering;
            free_path = if there > 0.0 { free_path * here / there } else { f64::INFINITY };
        }
        let BandLayer { absorption, scattering, anisotropy: g, .. } = layers[layer - 1];
        weight *= scattering / (absorption + scattering);
        if weight < 1e-4 {
            return 0.0;
        }
        let xi: f64 = rng.random();
        let cos = if g.abs() < 1e-6 {
            2.0 * xi - 1.0
        } else {
            let f = (1.0 - g * g) / (1.0 - g + 2.0 * g * xi);
            (1.0 + g * g - f * f) / (2.0 * g)
        };
        let phi = std::f64::consts::TAU * rng.random::<f64>();
        mu = (mu * cos + ((1.0 - mu * mu) * (1.0 - cos * cos)).max(0.0).sqrt() * phi.cos())
            .clamp(-1.0, 1.0);
        if mu == 0.0 {
            mu = 1e-12;
        }
    }
}

#[test]
fn layers_of_different_index_agree_with_followed_photons() {
    let layer = |absorption: f64, scattering: f64, anisotropy: f64, refractive_index: f64| {
        BandLayer { absorption, scattering, anisotropy, refractive_index }
    };
    for (layers, backing) in [
        (vec![layer(0.02, 3.0, 0.5, 1.63), layer(0.3, 6.0, 0.6, 1.54)], 0.4),
        (
            vec![
                layer(0.1, 6.0, 0.3, 2.15),
                layer(0.01, 0.2, 0.7, 1.52),
                layer(0.2, 4.0, 0.0, 1.54),
            ],
            0.2,
        ),
        (vec![layer(0.05, 2.0, 0.7, 1.4), layer(0.05, 2.0, 0.0, 1.9)], 0.8),
    ] {
        let count = 200_000;
        let followed = photons(&layers, backing, count);
        let solved = over_backing(&layers, backing, 16);
        let solved = solved.normal - solved.specular;
        // Four standard errors of a share near one half; fixed seed.
        let allowed = 4.0 * 0.5 / f64::from(count).sqrt();
        println!("followed {followed:.4}, solved {solved:.4}, allowed {allowed:.4}");
        assert!((followed - solved).abs() < allowed, "{followed} {solved}");
    }
}

#[test]
fn a_free_slab_conserves_energy() {
    for n in [1.0, 1.5, 2.15] {
        for g in [0.0, 0.8] {
            let layer =
                BandLayer { absorption: 0.0, scattering: 5.0, anisotropy: g, refractive_index: n };
            let slab = free(&[layer], 12);
            assert!((slab.reflectance.normal + slab.transmittance_normal - 1.0).abs() < 1e-9);
            assert!((slab.reflectance.diffuse + slab.transmittance_diffuse - 1.0).abs() < 1e-9);
        }
    }
}
