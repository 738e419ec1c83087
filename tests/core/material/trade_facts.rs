//! What practitioners know about ceramics, as tests on the shipped materials.
//!
//! Every rule here is `common practice, no source`. Perceptible (0.8) and acceptable (1.8 ΔE00)
//! are the 50:50 points of Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9.

use second_glance::colorimetry::{
    ACCEPTABILITY_DE00, Illuminant, Lab, Lch, Observer, PERCEPTIBILITY_DE00, ciede2000,
};
use second_glance::material::Library;
use second_glance::optics::transport::{Base, CEMENT_JOINT, tabulated_reflectance};
use second_glance::optics::{Layer, Medium};
use second_glance::scene::{Ceramic, Translucency};
use second_glance::spectrum::Spectrum;

const TARGET: Lch = Lch { l: 76.0, c: 15.0, h: 90.0 };
const GLASS_CERAMICS: [&str; 3] = ["feldspathic", "leucite-glass-ceramic", "lithium-disilicate"];
const TRANSLUCENCIES: [Translucency; 3] =
    [Translucency::Low, Translucency::Medium, Translucency::High];

fn library() -> Library {
    Library::shipped().unwrap()
}

/// Colour of a flat stack: ceramic, cement, prepared tooth.
fn seen(
    library: &Library,
    ceramic: &Medium,
    mm: f64,
    cement: &Medium,
    film_mm: f64,
    prepared: &Medium,
) -> Lab {
    let layers = [
        Layer { medium: ceramic, thickness_mm: mm },
        Layer { medium: cement, thickness_mm: film_mm },
        Layer { medium: prepared, thickness_mm: 10.0 },
    ];
    let black = Spectrum::constant(0.03);
    let base = Base::Backing(&black);
    let reflectance = tabulated_reflectance(library.tables(), &layers, base, CEMENT_JOINT);
    Lab::from_reflectance(&reflectance, Illuminant::D65, Observer::Cie1931)
}

struct Best {
    shade: Lch,
    de00: f64,
}

/// The shade of the lattice that comes nearest the target over a prepared tooth.
fn best_shade(library: &Library, class: &str, t: Translucency, mm: f64, prepared: &str) -> Best {
    let cement = library.cement("clear").unwrap();
    let prepared = library.prepared_tooth(prepared).unwrap();
    library
        .ceramics()
        .shades
        .lattice
        .iter()
        .map(|&shade| {
            let ceramic = library.ceramic(class, t, shade).unwrap();
            let lab = seen(library, &ceramic, mm, &cement, 0.05, &prepared);
            Best { shade, de00: ciede2000(Lab::from(TARGET), lab).de00 }
        })
        .min_by(|a, b| a.de00.total_cmp(&b.de00))
        .unwrap()
}

/// Value steps (2 L*) of the best shade above a target, between the shades of the lattice too.
fn steps_above(
    library: &Library,
    class: &str,
    t: Translucency,
    mm: f64,
    prepared: &str,
    target: Lch,
) -> f64 {
    let cement = library.cement("clear").unwrap();
    let prepared = library.prepared_tooth(prepared).unwrap();
    let mut best = (f64::INFINITY, 0.0);
    for l in 0..=56 {
        for c in 0..=10 {
            let shade = Lch { l: 73.0 + 0.25 * f64::from(l), c: 9.0 + f64::from(c), h: target.h };
            let Ok(ceramic) = library.ceramic(class, t, shade) else { continue };
            let lab = seen(library, &ceramic, mm, &cement, 0.05, &prepared);
            let de00 = ciede2000(Lab::from(target), lab).de00;
            if de00 < best.0 {
                best = (de00, (shade.l - target.l) / 2.0);
            }
        }
    }
    best.1
}

#[test]
fn low_translucency_hides_more_and_reflects_more() {
    // Trade fact 2; common practice, no source.
    let library = library();
    let clear = library.cement("clear").unwrap();
    let light = library.prepared_tooth("light").unwrap();
    let dark = library.prepared_tooth("grey-brown").unwrap();
    for class in GLASS_CERAMICS.iter().chain(&["zirconia"]) {
        let of = |t| {
            let ceramic = library.ceramic(class, t, TARGET).unwrap();
            let over_light = seen(&library, &ceramic, 0.7, &clear, 0.05, &light);
            let over_dark = seen(&library, &ceramic, 0.7, &clear, 0.05, &dark);
            (ciede2000(over_light, over_dark).de00, over_dark.l)
        };
        let (low, medium, high) =
            (of(Translucency::Low), of(Translucency::Medium), of(Translucency::High));
        assert!(low.0 < medium.0 && medium.0 < high.0, "{class}: {low:?} {medium:?} {high:?}");
        assert!(low.1 > medium.1 && medium.1 > high.1, "{class}: {low:?} {medium:?} {high:?}");
    }
}

#[test]
fn high_translucency_suits_a_light_tooth_and_fails_over_a_dark_one() {
    // Trade fact 2; common practice, no source.
    let library = library();
    for class in GLASS_CERAMICS {
        let light = best_shade(&library, class, Translucency::High, 0.5, "light");
        assert!(light.de00 <= ACCEPTABILITY_DE00, "{class} over light: {}", light.de00);
        for prepared in ["grey-brown", "severe-grey-brown"] {
            let dark = best_shade(&library, class, Translucency::High, 0.5, prepared);
            assert!(dark.de00 > ACCEPTABILITY_DE00, "{class} over {prepared}: {}", dark.de00);
        }
    }
}

#[test]
fn the_same_shade_is_right_only_when_thick() {
    // Trade fact 3; common practice, no source.
    let library = library();
    let share = |mm: f64| {
        let (mut right, mut all) = (0, 0);
        for class in GLASS_CERAMICS {
            for t in TRANSLUCENCIES {
                for prepared in ["light", "mid-yellow", "warm-yellow", "brown"] {
                    all += 1;
                    right +=
                        i32::from(best_shade(&library, class, t, mm, prepared).shade == TARGET);
                }
            }
        }
        f64::from(right) / f64::from(all)
    };
    let (thin, thick) = (share(0.5), share(3.0));
    assert!(thin <= 0.1, "the target's own shade is best in {thin} of thin cases");
    assert!(thick >= 0.75, "the target's own shade is best in {thick} of thick cases");
}

#[test]
fn over_a_darker_tooth_a_thin_veneer_must_be_brighter() {
    // Trade fact 4: low translucency about one value step above the target, high translucency
    // several; both can be right. Common practice, no source.
    let library = library();
    let target = Lch { l: 75.0, ..TARGET };
    for class in GLASS_CERAMICS {
        let steps = |t| steps_above(&library, class, t, 0.5, "mid-yellow", target);
        let (low, high) = (steps(Translucency::Low), steps(Translucency::High));
        println!("{class}: {low} steps above at low translucency, {high} at high");
        assert!((0.5..=1.5).contains(&low), "{class}: {low} steps at low translucency");
        assert!(high >= 2.0, "{class}: {low} steps at low, {high} at high");
        for t in [Translucency::Low, Translucency::High] {
            let best = best_shade(&library, class, t, 0.5, "mid-yellow");
            assert!(best.de00 <= ACCEPTABILITY_DE00, "{class} {t:?}: {}", best.de00);
        }
    }
}

#[test]
fn over_a_light_tooth_a_thin_translucent_veneer_is_about_two_steps_brighter() {
    // Trade fact 5: 0.3-0.5 mm; common practice, no source.
    let library = library();
    let target = Lch { l: 76.0, ..TARGET };
    for class in GLASS_CERAMICS {
        let steps = [0.3, 0.4, 0.5]
            .map(|mm| steps_above(&library, class, Translucency::High, mm, "light", target));
        println!("{class}: {steps:?} steps above at 0.3, 0.4, 0.5 mm");
        let mean = steps.iter().sum::<f64>() / 3.0;
        assert!((1.5..=2.5).contains(&mean), "{class}: {mean} steps above on average");
        assert!(steps[0] > steps[1] && steps[1] > steps[2], "{class}: thinner needs brighter");
        let best = best_shade(&library, class, Translucency::High, 0.4, "light");
        assert!(best.de00 <= ACCEPTABILITY_DE00, "{class}: {}", best.de00);
    }
}

#[test]
fn cement_shifts_thin_veneers_and_not_thick_ones() {
    // Trade fact 6; common practice, no source.
    let library = library();
    let prepared = library.prepared_tooth("mid-yellow").unwrap();
    let clear = library.cement("clear").unwrap();
    for cement in ["very-light", "very-warm"] {
        let cement = library.cement(cement).unwrap();
        let shift = |class: &str, t, mm| {
            let ceramic = library.ceramic(class, t, TARGET).unwrap();
            let with = seen(&library, &ceramic, mm, &cement, 0.05, &prepared);
            ciede2000(seen(&library, &ceramic, mm, &clear, 0.05, &prepared), with).de00
        };
        for class in GLASS_CERAMICS {
            let thin = shift(class, Translucency::High, 0.3);
            let thick = shift(class, Translucency::Low, 2.0);
            assert!(thin > PERCEPTIBILITY_DE00, "{class}: {thin} at 0.3 mm");
            assert!(thick < PERCEPTIBILITY_DE00, "{class}: {thick} at 2 mm");
        }
    }
}

#[test]
fn graded_blocks_hide_the_neck_and_keep_a_translucent_edge() {
    // Trade fact 8; common practice, no source.
    let library = library();
    let clear = library.cement("clear").unwrap();
    let light = library.prepared_tooth("light").unwrap();
    let dark = library.prepared_tooth("severe-grey-brown").unwrap();
    for class in ["feldspathic", "leucite-glass-ceramic", "zirconia"] {
        let placed = |graded: bool, block_shift: f64, height: f64| {
            let ceramic = Ceramic {
                class: class.to_owned(),
                translucency: Translucency::Medium,
                shade: TARGET,
                graded,
                block_shift,
            };
            let medium = library.ceramic_at(&ceramic, height).unwrap();
            let over = |under| seen(&library, &medium, 0.8, &clear, 0.05, under);
            ciede2000(over(&light), over(&dark)).de00
        };
        let show_through = |graded: bool, height: f64| placed(graded, 0.0, height);
        assert!(show_through(true, 0.1) < show_through(false, 0.1), "{class} at the neck");
        assert!(show_through(true, 0.95) > show_through(false, 0.95), "{class} at the edge");
        // The same tooth nearer the incisal end of its block lets more through, and beyond the end
        // of the grading nothing changes; in a uniform block its place does not count.
        assert!(placed(true, 0.3, 0.1) > placed(true, 0.0, 0.1), "{class} set higher");
        assert!(placed(true, -0.3, 0.5) < placed(true, 0.0, 0.5), "{class} set lower");
        assert!(placed(true, 0.3, 0.95) == placed(true, 0.0, 1.0), "{class} beyond the end");
        assert!(placed(false, 0.3, 0.5) == placed(false, 0.0, 0.5), "{class} uniform");
    }
}
