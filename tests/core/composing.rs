//! The bench: recipes and their limits, drafts, quick updates, the best that can be reached.

use second_glance::bake::{BakedScene, Estimator, ReflectanceMap, bake};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::material::Library;
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Thickness, Tooth, Translucency,
};
use std::time::Instant;

fn case(preparation: Preparation, number: u8) -> Case {
    let body = Lch { l: 75.0, c: 16.0, h: 88.0 };
    let tooth = |tooth| NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    Case {
        seed: 5,
        patient: Patient {
            teeth: Tooth::arch(10).into_iter().map(tooth).collect(),
            gingiva: Lch { l: 55.0, c: 25.0, h: 25.0 },
        },
        restorations: vec![Restoration {
            tooth: Tooth::new(number).unwrap(),
            preparation,
            ceramic: Ceramic {
                class: "feldspathic".to_owned(),
                translucency: Translucency::High,
                shade: body,
                graded: false,
                block_shift: 0.0,
            },
            thickness: Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.6, incisal_mm: 0.8 },
            cement: "clear".to_owned(),
            cement_film_mm: 0.05,
            prepared_tooth: "brown".to_owned(),
            drift: None,
        }],
        shift: None,
        illuminant: Illuminant::D65,
        staging: second_glance::scene::Staging::default(),
    }
}

fn bytes(scene: &BakedScene) -> Vec<u8> {
    let map = |map: &ReflectanceMap| -> Vec<u8> {
        map.texels.iter().flatten().flat_map(|v| v.to_le_bytes()).collect()
    };
    let maps = scene.teeth.iter().flat_map(|t| [Some(&t.natural), t.restored.as_ref()]);
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
        println!("{preparation:?}: whole {full:?}, anew {:?}", started.elapsed());
        let started = Instant::now();
        let natural = case.patient.teeth.iter().find(|t| t.tooth.number() == 14).unwrap();
        let estimator = Estimator::new(natural, 5, Illuminant::D65, &library).unwrap();
        println!("new {:?}", started.elapsed());
        for l in [80.0, 80.0, 80.3, 80.3] {
            case.restorations[0].ceramic.shade.l = l;
            let started = Instant::now();
            let d = estimator.difference(&case.restorations[0]).unwrap();
            println!("difference {:?} {d:?}", started.elapsed());
        }
        let started = Instant::now();
        println!("margin {:?}", estimator.margin(&case.restorations[0]).unwrap());
        println!("took {:?}", started.elapsed());
        assert!(bytes(&whole) != bytes(&before));
        assert!(bytes(&whole) == bytes(&anew));
        assert_eq!(whole, anew);
    }
}
