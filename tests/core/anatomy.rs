//! The shapes of a smile, measured.

use second_glance::anatomy::{Crown, Individual, Smile};

/// Largest distance between the two flanks of the labial face over its rows, mm.
fn width_mm(crown: &Crown) -> f32 {
    let surface = &crown.surface;
    (0..surface.rows)
        .map(|row| {
            let at = |column| surface.positions[row * surface.columns + column];
            let uv = |column| surface.uvs[row * surface.columns + column];
            // Columns of the face have texture coordinates of their own; flanks behind repeat 0, 1.
            let face: Vec<usize> = (0..surface.columns)
                .filter(|&c| (0.0..=1.0).contains(&uv(c)[0]) && (0.02..=1.0).contains(&uv(c)[1]))
                .collect();
            // Opposite columns only: a diagonal would take in the depth of the flanks.
            let mut widest = 0.0_f32;
            for (&a, &b) in face.iter().zip(face.iter().rev()) {
                let (p, q) = (at(a), at(b));
                widest = widest.max((p[0] - q[0]).hypot(p[2] - q[2]));
            }
            widest
        })
        .fold(0.0, f32::max)
}

/// Height from the neck to the lowest point, mm.
fn length_mm(crown: &Crown) -> f32 {
    let surface = &crown.surface;
    let neck = (0..surface.positions.len())
        .min_by(|&a, &b| {
            let off = |i: usize| {
                let [u, v] = surface.uvs[i];
                (u - 0.5).abs() + v.abs()
            };
            off(a).total_cmp(&off(b))
        })
        .map(|i| surface.positions[i][1])
        .unwrap();
    let lowest = surface.positions.iter().map(|p| p[1]).fold(f32::INFINITY, f32::min);
    neck - lowest
}

#[test]
fn crowns_have_the_standard_dimensions() {
    // Standard carving table: dental-anatomy appendix table of permanent dentition traits
    // (incisors); from memory, Ash & Nelson, Dental Anatomy (others). Individuals depart from it
    // by up to 1.2 % in width and 0.12 mm in length; rounding of flanks and edge, and the lean of
    // the tooth, take a little more.
    for seed in [1, 2, 3] {
        let smile = Smile::build(seed);
        for crown in &smile.crowns {
            let tooth = crown.individual.tooth;
            let standard = tooth.kind().crown_dimensions();
            let (width, length) = (f64::from(width_mm(crown)), f64::from(length_mm(crown)));
            println!(
                "{tooth}: {width:.2} × {length:.2}, standard {} × {}",
                standard.width_mm, standard.length_mm
            );
            assert!((width / standard.width_mm - 1.0).abs() < 0.025, "{tooth}: {width} wide");
            assert!((length / standard.length_mm - 1.0).abs() < 0.04, "{tooth}: {length} long");
        }
    }
}

#[test]
fn shapes_depend_on_the_seed_alone() {
    let on = |threads: usize, seed: u64| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| Smile::build(seed))
    };
    let bytes = |smile: &Smile| -> Vec<u8> {
        let crowns = smile.crowns.iter().map(|crown| &crown.surface);
        let surfaces = crowns.chain([&smile.gum.surface]);
        surfaces
            .flat_map(|s| s.positions.iter().chain(&s.normals).chain(&s.visibility))
            .flatten()
            .flat_map(|v| v.to_le_bytes())
            .collect()
    };
    let one = bytes(&on(1, 11));
    assert_eq!(one, bytes(&on(3, 11)));
    assert_ne!(one, bytes(&on(3, 12)));
}

#[test]
fn normals_are_unit_vectors_and_sides_differ() {
    let smile = Smile::build(4);
    for crown in &smile.crowns {
        for normal in &crown.surface.normals {
            let length = normal.iter().map(|v| v * v).sum::<f32>().sqrt();
            assert!((length - 1.0).abs() < 1e-4, "{normal:?}");
        }
        assert!(crown.surface.positions.iter().flatten().all(|v| v.is_finite()));
    }
    let individual = |number| {
        let tooth = second_glance::scene::Tooth::new(number).unwrap();
        smile.crowns[smile.crown_index(tooth).unwrap()].individual
    };
    let (right, left): (Individual, Individual) = (individual(11), individual(21));
    assert_ne!(right.width_mm, left.width_mm);
    assert_ne!(right.length_mm, left.length_mm);
}

#[test]
fn neighbours_touch() {
    // The gap between facing flanks, measured along the row of teeth, is closed: contacts overlap
    // by a hair.
    let smile = Smile::build(5);
    for pair in smile.crowns.windows(2) {
        let reach = |crown: &Crown, right: bool| {
            crown.surface.positions.iter().map(|p| p[0]).fold(
                if right { f32::NEG_INFINITY } else { f32::INFINITY },
                |a, b| {
                    if right { a.max(b) } else { a.min(b) }
                },
            )
        };
        let gap = reach(&pair[1], false) - reach(&pair[0], true);
        let names = (pair[0].individual.tooth, pair[1].individual.tooth);
        assert!(gap < 0.1, "{names:?}: gap of {gap} mm seen from the front");
    }
}
