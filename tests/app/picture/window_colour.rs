//! Pictures reach the window's pixels unchanged: the whole app, with the window's camera turned on
//! an image that is read back.

use crate::stage::LEVEL;
use crate::stage::rendered::{WINDOW, app_with, phase, read_back, update_until};
use bevy::prelude::*;
use second_glance::app::picture::request::{PictureReady, RequestPicture};
use second_glance::app::shell::order::AppSystems;
use second_glance::play::intents::Intent;
use second_glance::play::picture::Picture;
use second_glance::play::session::Session;
use second_glance::trial::Phase;
use std::sync::Arc;

/// Every code on every channel, no two neighbours alike: a shift by a pixel, a filter or a curve
/// would all show.
fn test_card(width: u32, height: u32) -> Picture {
    let code = |x: u32, y: u32| [(x * 7 + y * 31) % 256, (x * 13 + y * 5) % 256, (x + y) % 256];
    let rgba = (0..width * height)
        .flat_map(|index| {
            let [r, g, b] = code(index % width, index / width);
            [r as u8, g as u8, b as u8, 255]
        })
        .collect();
    Picture { width, height, rgba, ..Picture::default() }
}

fn answer_with_test_cards(
    mut requests: MessageReader<RequestPicture>,
    mut ready: MessageWriter<PictureReady>,
) {
    for request in requests.read() {
        let picture = Arc::new(test_card(request.width, request.height));
        ready.write(PictureReady { id: request.id, picture });
    }
}

pub(crate) fn app(results: &std::path::Path, size: [u32; 2]) -> App {
    app_with(results, size, |app| {
        app.add_systems(Update, answer_with_test_cards.before(AppSystems::Arrivals));
    })
}

#[test]
fn pictures_and_the_grey_reach_the_window_within_one_code() {
    let results = tempfile::tempdir().unwrap();
    let mut app = app(results.path(), WINDOW);
    app.world_mut().write_message(Intent::StartLevel(LEVEL.to_owned()));
    update_until(&mut app, "exposure", |app| phase(app) == Some(Phase::Exposure));
    // The readback starts on a frame of the exposure and ends a few frames later, still in it.
    app.update();
    let pixels = read_back(&mut app);
    assert_eq!(phase(&app), Some(Phase::Exposure));
    let [width, height] = WINDOW;
    assert_eq!(pixels.len(), (width * height * 4) as usize);

    let shown = app.world().resource::<Session>().shown().unwrap().restored.clone();
    // The picture takes the whole width and starts at the top.
    assert_eq!(shown.width, width);
    let picture_bytes = shown.rgba.len();
    let worst = pixels[..picture_bytes]
        .iter()
        .zip(&shown.rgba)
        .map(|(is, should)| is.abs_diff(*should))
        .max();
    println!("largest difference in the picture: {worst:?} codes");
    assert!(worst.unwrap() <= 1, "{worst:?}");

    // Below it lies the adaptation grey: sRGB 119 is L* 50.03 (CIE 15, IEC 61966-2-1).
    let grey = &pixels[picture_bytes..];
    assert!(!grey.is_empty());
    assert!(grey.chunks_exact(4).all(|pixel| pixel == [119, 119, 119, 255]));
}
