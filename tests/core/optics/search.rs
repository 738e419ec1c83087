//! The quick search sees the colours that the tables see.

use second_glance::colorimetry::{Illuminant, Lab, Lch, Observer, ciede2000};
use second_glance::material::Library;
use second_glance::optics::search::{Choices, colours};
use second_glance::optics::transport::{
    Base, CEMENT_JOINT, joint_reflection, tabulated_reflectance,
};
use second_glance::optics::{Layer, Medium};
use second_glance::scene::Translucency;

#[test]
fn every_choice_has_the_colour_of_its_stack() {
    let library = Library::shipped().unwrap();
    let ceramics: Vec<Medium> = [
        ("feldspathic", Translucency::High, 80.0),
        ("lithium-disilicate", Translucency::Low, 74.0),
        ("zirconia", Translucency::High, 76.0),
    ]
    .iter()
    .map(|&(class, level, l)| *library.ceramic(class, level, Lch { l, c: 16.0, h: 88.0 }).unwrap())
    .collect();
    let cements: Vec<Medium> =
        ["clear", "opaque-light"].iter().map(|id| *library.cement(id).unwrap()).collect();
    let prepared = library.prepared_tooth("grey-brown").unwrap();
    let enamel = library.enamel();
    let closing = Layer { medium: enamel, thickness_mm: 0.5 };
    let base = Base::Mouth(closing, library.mouth_reflectance());
    let tooth = [Layer { medium: &*prepared, thickness_mm: 2.5 }];
    let below = joint_reflection(library.tables(), &tooth, base, CEMENT_JOINT);
    let thicknesses_mm = [0.3, 0.57, 1.0, 1.8];
    let choices = Choices {
        ceramics: &ceramics,
        thicknesses_mm: &thicknesses_mm,
        cements: &cements,
        film_mm: 0.06,
    };
    let light = (Illuminant::D65, Observer::Cie1931);
    let found = colours(library.tables(), &choices, &below, light);
    let mut worst = 0.0_f64;
    for (i, ceramic) in ceramics.iter().enumerate() {
        for (j, cement) in cements.iter().enumerate() {
            for (k, &thickness_mm) in thicknesses_mm.iter().enumerate() {
                let layers = [
                    Layer { medium: ceramic, thickness_mm },
                    Layer { medium: cement, thickness_mm: 0.06 },
                    tooth[0],
                ];
                let spectrum = tabulated_reflectance(library.tables(), &layers, base, CEMENT_JOINT);
                let lab = Lab::on_display(&spectrum, light.0, light.1);
                worst = worst.max(ciede2000(lab, found.of(i, j, k)).de00);
            }
        }
    }
    println!("worst {worst:.5} ΔE00");
    // Samples every 20 nm in single precision; an eightieth of the perceptibility threshold of
    // Paravina et al. 2015.
    assert!(worst < 0.01, "{worst}");
}
