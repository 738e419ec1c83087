//! What the graphics adapter does to colour: nothing.
//!
//! These tests draw. Without a graphics adapter they fail and name the packages to install.

use super::cases::{restored_case, synthetic_scene};
use super::drawing::{inner_pixels, mean_linear, on_renderer, tooth};
use second_glance::app::picture::viewport::{Lighting, PictureRequest};
use second_glance::bake::{BakedScene, Condition, ReflectanceMap, bake};
use second_glance::colorimetry::{Lab, Lch, ciede2000, from_display_8bit, to_display_8bit};
use second_glance::play::picture::Picture;
use second_glance::play::picture::edit::{scrambled, value_only};
use second_glance::scene::{Framing, Lamp, Staging, Tooth};
use std::collections::BTreeMap;
use std::sync::Arc;

const SIZE: (u32, u32) = (640, 360);

fn draw(scene: &Arc<BakedScene>, condition: Condition, lighting: Lighting) -> Arc<Picture> {
    let (width, height) = SIZE;
    let request = PictureRequest { scene: scene.clone(), condition, width, height, lighting };
    on_renderer(move |renderer| renderer.render(&request)).unwrap()
}

#[test]
fn flat_patches_come_back_within_one_code() {
    let mut patches: Vec<[u8; 3]> = (0..=40).map(|i| [(i * 6) as u8; 3]).collect();
    // Twenty colours over the range of natural teeth (CIE LCh).
    for i in 0..20 {
        let colour = Lch {
            l: 60.0 + 1.4 * f64::from(i),
            c: 8.0 + f64::from(i * 7 % 20),
            h: 78.0 + f64::from(i * 3 % 20),
        };
        let linear = Lab::from(colour).to_linear_srgb();
        patches.push(to_display_8bit(linear));
    }
    let sent: Vec<[f32; 3]> =
        patches.iter().map(|codes| from_display_8bit(*codes).map(|v| v as f32)).collect();
    let back = on_renderer(move |renderer| renderer.render_patches(&sent)).unwrap();
    for (sent, got) in patches.iter().zip(&back) {
        for channel in 0..3 {
            let off = i32::from(sent[channel]) - i32::from(got.middle[channel]);
            assert!(off.abs() <= 1, "sent {sent:?}, came back {got:?}");
        }
    }
}

#[test]
fn dithered_patches_of_colours_between_codes_have_their_colour_on_average() {
    // Colours of natural teeth (CIE LCh), none of them a code.
    let colours: Vec<[f64; 3]> = (0..40)
        .map(|i| {
            let (l, c, h) = (60.0 + 0.713 * f64::from(i), 8.0 + f64::from(i * 7 % 20), 85.3);
            Lab::from(Lch { l, c, h }).to_linear_srgb()
        })
        .collect();
    let sent: Vec<[f32; 3]> = colours.iter().map(|c| c.map(|v| v as f32)).collect();
    let back = on_renderer(move |renderer| renderer.render_patches(&sent)).unwrap();
    let difference = |a, b| ciede2000(Lab::from_linear_srgb(a), Lab::from_linear_srgb(b)).de00;
    let (mut worst, mut total, mut total_rounded) = (0.0_f64, 0.0, 0.0);
    for (sent, got) in colours.iter().zip(&back) {
        let off = difference(*sent, got.mean);
        worst = worst.max(off);
        total += off;
        total_rounded += difference(*sent, from_display_8bit(to_display_8bit(*sent)));
    }
    let count = colours.len() as f64;
    println!(
        "ΔE00 dithered: mean {:.4}, worst {worst:.4}; rounded: mean {:.4}",
        total / count,
        total_rounded / count
    );
    // Rounding to the nearest code costs about 0.2 here; a tenth of that must be left.
    assert!(total_rounded / count > 0.1, "{}", total_rounded / count);
    assert!(total < 0.1 * total_rounded, "{total} {total_rounded}");
    assert!(worst < 0.1, "{worst}");
}

#[test]
fn the_difference_shown_is_the_difference_drawn() {
    let (case, library) = restored_case();
    let scene = Arc::new(bake(&case, &library).unwrap());
    let truth = scene.truth.as_ref().unwrap();
    let restored = draw(&scene, Condition::Restored, Lighting::Studio);
    let twin = draw(&scene, Condition::Twin, Lighting::Studio);
    let difference = restored.difference_to(&twin, truth.tooth).unwrap();
    println!("intended {:?}\n{difference:?}", truth.difference);
    let (drawn, shown) = (difference.drawn, difference.shown);
    for (drawn, shown) in [
        (drawn.de00, shown.de00),
        (drawn.dl00, shown.dl00),
        (drawn.dc00, shown.dc00),
        (drawn.dh00, shown.dh00),
    ] {
        // Rounding alone, without dithering, can move it by 0.5 (95 %).
        assert!((drawn - shown).abs() < 0.02, "{difference:?}");
    }
    assert_eq!(twin.difference_to(&twin, truth.tooth).unwrap().shown.de00, 0.0);
}

#[test]
fn a_matt_tooth_of_one_colour_shows_that_colour() {
    let colour = Lch { l: 75.0, c: 17.0, h: 87.0 };
    let scene = Arc::new(synthetic_scene(7, colour));
    let picture = draw(&scene, Condition::Twin, Lighting::Matt);
    for number in [13, 11, 21, 22, 24] {
        let pixels = inner_pixels(&picture, tooth(number), 2);
        assert!(pixels.len() > 200, "{number}: {} pixels", pixels.len());
        let seen = Lab::from_linear_srgb(mean_linear(&picture, &pixels));
        let off = ciede2000(Lab::from(colour), seen).de00;
        assert!(off < 0.3, "tooth {number}: {seen:?} is {off} off");
    }
}

#[test]
fn a_matt_tooth_has_its_baked_colour() {
    let (case, library) = restored_case();
    let scene = Arc::new(bake(&case, &library).unwrap());
    let restored = scene.truth.as_ref().unwrap().tooth;
    for condition in [Condition::Restored, Condition::Twin] {
        let picture = draw(&scene, condition, Lighting::Matt);
        for tooth in [restored, tooth(11), tooth(21)] {
            let pixels = inner_pixels(&picture, tooth, 2);
            let seen = Lab::from_linear_srgb(mean_linear(&picture, &pixels));
            let map = scene.tooth(tooth).unwrap().map(condition);
            let baked = Lab::from_linear_srgb(visible_mean(map, &picture, tooth, &pixels));
            let off = ciede2000(baked, seen).de00;
            println!("{tooth} {condition:?}: {off:.3} ΔE00");
            assert!(off < 0.3, "{tooth} {condition:?}: baked {baked:?}, seen {seen:?}: {off}");
        }
    }
}

/// Mean of a map over the part of the face that `pixels` show: rows and columns are found from
/// where the pixels lie between the tooth's lowest and highest, leftmost and rightmost pixel.
fn visible_mean(
    map: &ReflectanceMap,
    picture: &Picture,
    tooth: Tooth,
    pixels: &[usize],
) -> [f64; 3] {
    let width = picture.width as usize;
    let all: Vec<(usize, usize)> = (0..picture.teeth.len())
        .filter(|&i| picture.teeth[i] == tooth.number())
        .map(|i| (i % width, i / width))
        .collect();
    let top = all.iter().map(|p| p.1).min().unwrap();
    let bottom = all.iter().map(|p| p.1).max().unwrap();
    let mut span: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
    for &(x, y) in &all {
        let ends = span.entry(y).or_insert((x, x));
        *ends = (ends.0.min(x), ends.1.max(x));
    }
    let mut sum = [0.0; 3];
    for &i in pixels {
        let (x, y) = (i % width, i / width);
        let (left, right) = span[&y];
        let down = (y - top) as f64 / (bottom - top).max(1) as f64;
        let across = (x - left) as f64 / (right - left).max(1) as f64;
        let texel = map.texel(
            ((across * map.width as f64) as usize).min(map.width - 1),
            ((down * map.height as f64) as usize).min(map.height - 1),
        );
        for (total, value) in sum.iter_mut().zip(texel) {
            *total += f64::from(value);
        }
    }
    sum.map(|total| total / pixels.len() as f64)
}

#[test]
fn restored_and_twin_differ_only_on_the_restored_tooth() {
    let (case, library) = restored_case();
    let scene = Arc::new(bake(&case, &library).unwrap());
    let restored = scene.truth.as_ref().unwrap().tooth;
    let one = draw(&scene, Condition::Restored, Lighting::Studio);
    let other = draw(&scene, Condition::Twin, Lighting::Studio);
    assert_eq!(one.outlines, other.outlines);
    let width = one.width as usize;
    let near = |i: usize| {
        let (x, y) = ((i % width) as i32, (i / width) as i32);
        (-1..=1).any(|dy| {
            (-1..=1).any(|dx| {
                let (x, y) = (x + dx, y + dy);
                (0..width as i32).contains(&x)
                    && (0..one.height as i32).contains(&y)
                    && one.teeth[y as usize * width + x as usize] == restored.number()
            })
        })
    };
    let mut changed = 0;
    for i in 0..one.teeth.len() {
        let pixel = |picture: &Picture| [0, 1, 2].map(|c| picture.rgba[4 * i + c]);
        if pixel(&one) != pixel(&other) {
            changed += 1;
            assert!(near(i), "pixel {}, {} differs off the tooth", i % width, i / width);
        }
    }
    assert!(changed > 200, "only {changed} pixels differ");
}

#[test]
fn studio_light_keeps_the_difference() {
    // What a learner compares is the restored tooth and its twin under the studio light. Gloss and
    // shade are equal on both, so the difference must survive.
    let (case, library) = restored_case();
    let scene = Arc::new(bake(&case, &library).unwrap());
    let truth = scene.truth.as_ref().unwrap();
    let lab = |condition| {
        let picture = draw(&scene, condition, Lighting::Studio);
        let pixels = inner_pixels(&picture, truth.tooth, 2);
        Lab::from_linear_srgb(mean_linear(&picture, &pixels))
    };
    let seen = ciede2000(lab(Condition::Twin), lab(Condition::Restored));
    let matt = {
        let map = |condition| {
            Lab::from_linear_srgb(scene.tooth(truth.tooth).unwrap().map(condition).mean())
        };
        ciede2000(map(Condition::Twin), map(Condition::Restored))
    };
    println!("seen {seen:?}, baked {matt:?}");
    let ratio = seen.de00 / matt.de00;
    assert!((0.75..1.15).contains(&ratio), "{ratio}: seen {seen:?}, baked {matt:?}");
}

#[test]
fn other_framings_and_the_ring_keep_the_difference() {
    let (mut case, library) = restored_case();
    for (framing, lamp) in
        [(Framing::Conversation, Lamp::SoftBoxes), (Framing::CloseUp, Lamp::Ring)]
    {
        case.staging = Staging { framing, lamp };
        let scene = Arc::new(bake(&case, &library).unwrap());
        let restored = scene.truth.as_ref().unwrap().tooth;
        let [one, other] = [Condition::Restored, Condition::Twin]
            .map(|condition| draw(&scene, condition, Lighting::Studio));
        let pixels = inner_pixels(&one, restored, 2);
        assert!(pixels.len() > 200, "{framing:?}: {} pixels", pixels.len());
        let lab = |picture: &Picture| Lab::from_linear_srgb(mean_linear(picture, &pixels));
        let seen = ciede2000(lab(&other), lab(&one)).de00;
        let map =
            |condition| Lab::from_linear_srgb(scene.tooth(restored).unwrap().map(condition).mean());
        let baked = ciede2000(map(Condition::Twin), map(Condition::Restored)).de00;
        let ratio = seen / baked;
        println!("{framing:?} {lamp:?}: seen {seen:.2}, baked {baked:.2}, ratio {ratio:.2}");
        // The same band as under the soft boxes; the lips' shade takes a little more.
        assert!((0.70..1.15).contains(&ratio), "{framing:?} {lamp:?}: {ratio}");
        let away = (0..one.teeth.len()).filter(|&i| one.teeth[i] == 0).filter(|&i| {
            let near = [1, one.width as usize].iter().any(|&step| {
                [i.wrapping_sub(step), i + step]
                    .iter()
                    .any(|&k| one.teeth.get(k).is_some_and(|&tooth| tooth == restored.number()))
            });
            !near && one.rgba[4 * i..4 * i + 3] != other.rgba[4 * i..4 * i + 3]
        });
        // Diagonal neighbours of the tooth may carry a blended edge pixel.
        assert!(away.count() < 12, "{framing:?}: soft tissue differs between the conditions");
    }
}

#[test]
fn studio_light_shows_a_body_near_its_baked_colour() {
    let colour = Lch { l: 75.0, c: 17.0, h: 87.0 };
    let scene = Arc::new(synthetic_scene(7, colour));
    let picture = draw(&scene, Condition::Twin, Lighting::Studio);
    let width = picture.width as usize;
    for number in [11, 21] {
        let pixels = inner_pixels(&picture, tooth(number), 4);
        let rows: Vec<usize> = pixels.iter().map(|i| i / width).collect();
        let (top, bottom) = (*rows.iter().min().unwrap(), *rows.iter().max().unwrap());
        // The middle fifth by height, and by median so that highlights do not count.
        let mut lightness: Vec<f64> = pixels
            .iter()
            .filter(|&&i| {
                let down = (i / width - top) as f64 / (bottom - top) as f64;
                (0.45..0.65).contains(&down)
            })
            .map(|&i| Lab::from_srgb8([0, 1, 2].map(|c| picture.rgba[4 * i + c])).l)
            .collect();
        lightness.sort_by(f64::total_cmp);
        let median = lightness[lightness.len() / 2];
        println!("{number}: median L* {median:.2} for a baked {}", colour.l);
        assert!((median - colour.l).abs() < 3.0, "{number}: {median}");
    }
}

#[test]
fn the_mask_has_exactly_the_pictures_colours() {
    let scene = Arc::new(synthetic_scene(3, Lch { l: 74.0, c: 16.0, h: 88.0 }));
    let picture = draw(&scene, Condition::Twin, Lighting::Studio);
    let mask = scrambled(&picture, 5);
    assert_ne!(mask.rgba, picture.rgba);
    let count = |picture: &Picture| {
        let mut counts: BTreeMap<[u8; 4], usize> = BTreeMap::new();
        for pixel in picture.rgba.chunks_exact(4) {
            *counts.entry([pixel[0], pixel[1], pixel[2], pixel[3]]).or_default() += 1;
        }
        counts
    };
    assert_eq!(count(&mask), count(&picture));
}

#[test]
fn value_only_keeps_lightness() {
    let scene = Arc::new(synthetic_scene(3, Lch { l: 74.0, c: 16.0, h: 88.0 }));
    let picture = draw(&scene, Condition::Twin, Lighting::Studio);
    let grey = value_only(&picture);
    for (colour, grey) in picture.rgba.chunks_exact(4).zip(grey.rgba.chunks_exact(4)).step_by(97) {
        assert!(grey[0] == grey[1] && grey[1] == grey[2]);
        let l = |p: &[u8]| Lab::from_srgb8([p[0], p[1], p[2]]).l;
        // Half a code of grey is at most 0.4 L* above the darkest codes.
        assert!((l(colour) - l(grey)).abs() < 0.5, "{colour:?} {grey:?}");
    }
}
