//! What must hold for any colour.

use proptest::prelude::*;
use second_glance::colorimetry::{
    Adaptation, Illuminant, Lab, Lch, Observer, ciede2000, de76, display_linear, from_display,
    linear_srgb_to_xyz, to_display, to_display_8bit, to_display_unclamped, white_point, xyz,
    xyz_to_linear_srgb,
};
use second_glance::spectrum::{N_BANDS, Spectrum};

fn any_lab() -> impl Strategy<Value = Lab> {
    // The neutral axis and equal coordinates are where angles break, so they get a share.
    let axis =
        || prop_oneof![4 => -128.0..128.0, 1 => Just(0.0), 1 => (-20i32..20).prop_map(f64::from)];
    (0.0..=100.0, axis(), axis()).prop_map(|(l, a, b)| Lab { l, a, b })
}

fn any_reflectance() -> impl Strategy<Value = Spectrum> {
    prop::array::uniform::<_, N_BANDS>(0.0..=1.0).prop_map(Spectrum::from_bands)
}

fn any_light() -> impl Strategy<Value = (Illuminant, Observer)> {
    (prop::sample::select(&Illuminant::ALL[..]), prop::sample::select(&Observer::ALL[..]))
}

fn near(a: f64, b: f64, tolerance: f64) -> bool {
    (a - b).abs() <= tolerance
}

fn near3(a: [f64; 3], b: [f64; 3], tolerance: f64) -> bool {
    a.iter().zip(b).all(|(a, b)| near(*a, b, tolerance))
}

proptest! {
    #[test]
    fn ciede2000_is_symmetric_and_its_parts_are_not(one in any_lab(), two in any_lab()) {
        let there = ciede2000(one, two);
        let back = ciede2000(two, one);
        prop_assert!(near(there.de00, back.de00, 1e-11));
        prop_assert!(near(there.dl00, -back.dl00, 1e-11));
        prop_assert!(near(there.dc00, -back.dc00, 1e-11));
        prop_assert!(near(there.dh00, -back.dh00, 1e-11));
        prop_assert!(near(there.rotation, back.rotation, 1e-11));
    }

    #[test]
    fn the_parts_make_up_the_whole(one in any_lab(), two in any_lab()) {
        let d = ciede2000(one, two);
        let sum = d.dl00.powi(2) + d.dc00.powi(2) + d.dh00.powi(2) + d.rotation * d.dc00 * d.dh00;
        prop_assert!(near(d.de00.powi(2), sum, 1e-9 * (1.0 + sum.abs())));
        prop_assert!((-2.0..=0.0).contains(&d.rotation));
        prop_assert!(d.de00.is_finite() && d.dh00.is_finite());
        prop_assert_eq!(ciede2000(one, one).de00, 0.0);
        prop_assert_eq!(de76(one, one), 0.0);
    }

    #[test]
    fn lab_returns_from_xyz_and_from_lch(lab in any_lab(), (illuminant, observer) in any_light()) {
        let white = white_point(illuminant, observer);
        let back = Lab::from_xyz(lab.to_xyz(white), white);
        prop_assert!(near3([lab.l, lab.a, lab.b], [back.l, back.a, back.b], 1e-9));
        let polar = Lch::from(lab);
        prop_assert!((0.0..360.0).contains(&polar.h) && polar.c >= 0.0);
        let back = Lab::from(polar);
        prop_assert!(near3([lab.l, lab.a, lab.b], [back.l, back.a, back.b], 1e-10));
    }

    #[test]
    fn linear_srgb_returns_from_xyz_lab_and_code(linear in prop::array::uniform3(-0.5..1.5)) {
        prop_assert!(near3(linear, xyz_to_linear_srgb(linear_srgb_to_xyz(linear)), 1e-12));
        prop_assert!(near3(linear, Lab::from_linear_srgb(linear).to_linear_srgb(), 1e-9));
        // 2.5e-9 is the joint of the standard's curve; see the fact test.
        prop_assert!(near3(linear, from_display(to_display_unclamped(linear)), 2.5e-9));
    }

    #[test]
    fn eight_bit_codes_return(codes in any::<[u8; 3]>()) {
        prop_assert_eq!(to_display_8bit(Lab::from_srgb8(codes).to_linear_srgb()), codes);
    }

    #[test]
    fn no_colour_is_not_a_number(
        linear in prop::array::uniform3(-1e6..1e6),
        reflectance in any_reflectance(),
        (illuminant, observer) in any_light(),
    ) {
        let lab = Lab::from_linear_srgb(linear);
        prop_assert!(lab.l.is_finite() && lab.a.is_finite() && lab.b.is_finite());
        prop_assert!(to_display(linear).iter().all(|v| (0.0..=1.0).contains(v)));
        let shown = display_linear(&reflectance, illuminant, observer);
        prop_assert!(shown.iter().all(|v| v.is_finite()));
        let seen = Lab::on_display(&reflectance, illuminant, observer);
        prop_assert!(seen.l.is_finite() && seen.a.is_finite() && seen.b.is_finite());
    }

    #[test]
    fn tristimulus_values_are_linear_and_bounded(
        reflectance in any_reflectance(),
        factor in 0.0..=1.0,
        (illuminant, observer) in any_light(),
    ) {
        let whole = xyz(&reflectance, illuminant, observer);
        let part = xyz(&(reflectance * factor), illuminant, observer);
        let rest = xyz(&(reflectance * (1.0 - factor)), illuminant, observer);
        prop_assert!(near3(
            [whole.x, whole.y, whole.z],
            [part.x + rest.x, part.y + rest.y, part.z + rest.z],
            1e-10
        ));
        let white = white_point(illuminant, observer);
        prop_assert!(whole.x <= white.x && whole.y <= white.y && whole.z <= white.z);
        prop_assert!(whole.x >= 0.0 && whole.y >= 0.0 && whole.z >= 0.0);
    }

    #[test]
    fn adaptation_takes_white_to_white_and_back(
        reflectance in any_reflectance(),
        (illuminant, observer) in any_light(),
    ) {
        let from = white_point(illuminant, observer);
        let to = white_point(Illuminant::D65, Observer::Cie1931);
        let colour = xyz(&reflectance, illuminant, observer);
        for adaptation in [Adaptation::Bradford, Adaptation::Cat16] {
            let white = adaptation.adapt(from, from, to);
            prop_assert!(near3([white.x, white.y, white.z], [to.x, to.y, to.z], 1e-10));
            let back = adaptation.adapt(adaptation.adapt(colour, from, to), to, from);
            prop_assert!(near3(
                [back.x, back.y, back.z],
                [colour.x, colour.y, colour.z],
                1e-10
            ));
        }
    }
}
