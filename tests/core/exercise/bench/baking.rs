//! One tooth baked anew, as the bench does after each step.

use super::case;
use second_glance::bake::{BakedScene, ReflectanceMap, bake};
use second_glance::material::Library;
use second_glance::scene::{Preparation, Tooth};
use std::time::Instant;

fn bytes(scene: &BakedScene) -> Vec<u8> {
    let map = |map: &ReflectanceMap| -> Vec<u8> {
        map.texels.iter().flatten().flat_map(|v| v.to_le_bytes()).collect()
    };
    let maps = scene.teeth.iter().flat_map(|t| [Some(&*t.natural), t.restored.as_deref()]);
    maps.flatten().flat_map(map).collect()
}

#[test]
fn one_tooth_baked_anew_is_the_whole_bake() {
    let library = Library::shipped().unwrap();
    for preparation in
        [Preparation::Veneer, Preparation::Crown, Preparation::Onlay { margin_height: 0.4 }]
    {
        let mut case = case(preparation, 14);
        let before = bake(&case, &library).unwrap();
        case.restorations[0].ceramic.shade.l = 80.0;
        case.restorations[0].cement = "warm".to_owned();
        let started = Instant::now();
        let whole = bake(&case, &library).unwrap();
        let full = started.elapsed();
        let mut anew = before.clone();
        let started = Instant::now();
        anew.rebake(&case, case.restorations[0].tooth, &library).unwrap();
        println!("{preparation:?}: whole {full:?}, one tooth {:?}", started.elapsed());
        assert!(bytes(&whole) != bytes(&before));
        assert!(bytes(&whole) == bytes(&anew));
        assert_eq!(whole, anew);
        let other = Tooth::new(11).unwrap();
        assert!(anew.rebake(&case, other, &library).is_err());
        assert_eq!(whole, anew);
    }
}

#[test]
fn below_its_margin_an_onlay_is_the_natural_tooth() {
    let library = Library::shipped().unwrap();
    let mut case = case(Preparation::Onlay { margin_height: 0.5 }, 14);
    case.restorations[0].ceramic.shade.l = 84.0;
    let scene = bake(&case, &library).unwrap();
    let tooth = scene.tooth(case.restorations[0].tooth).unwrap();
    let restored = tooth.restored.as_ref().unwrap();
    let row = |y: usize| {
        let width = restored.width;
        (0..width).map(|x| (restored.texel(x, y), tooth.natural.texel(x, y))).collect::<Vec<_>>()
    };
    // Light spreads by 0.45 mm; the bake's kernel reaches a little over three times that.
    let length_mm = tooth.tooth.kind().crown_dimensions().length_mm;
    let clear = ((0.5 - 1.8 / length_mm) * restored.height as f64) as usize;
    for y in 0..clear {
        assert!(row(y).iter().all(|(restored, natural)| restored == natural), "row {y}");
    }
    let above = ((0.5 + 0.3 / length_mm) * restored.height as f64) as usize;
    assert!(row(above).iter().all(|(restored, natural)| restored != natural));
}
