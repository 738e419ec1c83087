//! A small part of the contact sheet, kept as pictures: what changes by accident shows here.
//!
//! Software adapters of other makes rasterise edges and filter textures a little differently, so
//! pictures are compared as seen, by mean and 99th percentile of ΔE00 after averaging 4 × 4 pixels.
//! `SECOND_GLANCE_BLESS=1 cargo test --test app goldens` rewrites them; look at them before you
//! keep them.

use super::cases::restored_case;
use super::drawing::on_renderer;
use second_glance::app::picture::viewport::{Lighting, PictureRequest};
use second_glance::bake::{Condition, bake};
use second_glance::colorimetry::{Illuminant, Lab, ciede2000, from_display_8bit};
use second_glance::play::picture::Picture;
use second_glance::play::picture::edit::save_png;
use second_glance::scene::{Case, Framing, Staging};
use std::path::PathBuf;
use std::sync::Arc;

const SIZE: (u32, u32) = (192, 108);
/// Edge of the squares that are compared, pixels.
const SQUARE: usize = 4;
/// What another adapter may do, ΔE00 over the squares. The mean is a quarter of what half of
/// observers notice; single squares on edges may differ by more.
const MOST_MEAN: f64 = 0.2;
const MOST_99TH: f64 = 2.0;

/// Framing, light and condition of each picture.
const SET: [(Framing, Illuminant, Condition); 6] = [
    (Framing::Retracted, Illuminant::D65, Condition::Restored),
    (Framing::Retracted, Illuminant::D65, Condition::Twin),
    (Framing::Retracted, Illuminant::A, Condition::Restored),
    (Framing::Conversation, Illuminant::D65, Condition::Restored),
    (Framing::CloseUp, Illuminant::D65, Condition::Restored),
    (Framing::Posterior, Illuminant::D65, Condition::Restored),
];

fn path(framing: Framing, light: Illuminant, condition: Condition) -> PathBuf {
    let condition = if condition == Condition::Twin { "twin" } else { "restored" };
    let name = format!("{}-{}-{condition}.png", framing.name(), light.name());
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/app/goldens").join(name)
}

/// Colours of the squares of a picture given by its codes, `channels` to a pixel.
fn squares(codes: &[u8], channels: usize) -> Vec<Lab> {
    let (width, height) = (SIZE.0 as usize, SIZE.1 as usize);
    let places = (0..height / SQUARE).flat_map(|y| (0..width / SQUARE).map(move |x| (x, y)));
    places
        .map(|(x, y)| {
            let mut sum = [0.0; 3];
            for k in 0..SQUARE * SQUARE {
                let (x, y) = (x * SQUARE + k % SQUARE, y * SQUARE + k / SQUARE);
                let at = channels * (y * width + x);
                let linear = from_display_8bit([codes[at], codes[at + 1], codes[at + 2]]);
                for channel in 0..3 {
                    sum[channel] += linear[channel];
                }
            }
            Lab::from_linear_srgb(sum.map(|total| total / (SQUARE * SQUARE) as f64))
        })
        .collect()
}

#[test]
fn pictures_look_as_they_did() {
    let (case, library) = restored_case();
    let bless = std::env::var_os("SECOND_GLANCE_BLESS").is_some();
    let mut wrong = Vec::new();
    for (framing, light, condition) in SET {
        let staging = Staging { framing, ..Staging::default() };
        let case = Case { illuminant: light, staging, ..case.clone() };
        let scene = Arc::new(bake(&case, &library).unwrap());
        let (width, height) = SIZE;
        let request =
            PictureRequest { scene, condition, width, height, lighting: Lighting::Studio };
        let picture: Arc<Picture> = on_renderer(move |renderer| renderer.render(&request)).unwrap();
        let path = path(framing, light, condition);
        if bless {
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            save_png(&picture, &path).unwrap();
            continue;
        }
        let golden = image::open(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        assert_eq!((golden.width(), golden.height()), SIZE);
        let (was, is) = (squares(golden.to_rgb8().as_raw(), 3), squares(&picture.rgba, 4));
        let mut differences: Vec<f64> =
            was.iter().zip(&is).map(|(was, is)| ciede2000(*was, *is).de00).collect();
        differences.sort_by(f64::total_cmp);
        let mean = differences.iter().sum::<f64>() / differences.len() as f64;
        let high = differences[(0.99 * (differences.len() - 1) as f64).round() as usize];
        println!("{}: mean {mean:.3}, 99 % {high:.3}", path.display());
        if mean > MOST_MEAN || high > MOST_99TH {
            wrong.push(format!("{}: mean {mean:.3}, 99 % {high:.3}", path.display()));
        }
    }
    assert!(wrong.is_empty(), "ΔE00 from the goldens:\n{}", wrong.join("\n"));
}
