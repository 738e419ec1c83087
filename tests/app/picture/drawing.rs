//! Drawing and looking at pictures, for several tests.

use second_glance::app::picture::viewport::offscreen::OffscreenRenderer;
use second_glance::colorimetry::from_display_8bit;
use second_glance::play::picture::Picture;
use second_glance::scene::Tooth;
use std::sync::mpsc::{Sender, channel};
use std::sync::{Mutex, OnceLock, PoisonError};

type Job = Box<dyn FnOnce(&mut OffscreenRenderer) + Send>;

/// Runs `job` on the one renderer of all tests: starting one takes seconds, and a Bevy app stays
/// on the thread that made it.
pub fn on_renderer<T: Send + 'static>(
    job: impl FnOnce(&mut OffscreenRenderer) -> T + Send + 'static,
) -> T {
    static JOBS: OnceLock<Mutex<Sender<Job>>> = OnceLock::new();
    let jobs = JOBS.get_or_init(|| {
        let (sender, receiver) = channel::<Job>();
        std::thread::spawn(move || {
            let mut renderer = OffscreenRenderer::new().unwrap_or_else(|e| panic!("{e}"));
            for job in receiver {
                job(&mut renderer);
            }
        });
        Mutex::new(sender)
    });
    let (answer, result) = channel();
    let job: Job = Box::new(move |renderer| {
        let _ = answer.send(job(renderer));
    });
    jobs.lock()
        .unwrap_or_else(PoisonError::into_inner)
        .send(job)
        .expect("the renderer has stopped; its own message says why");
    result.recv().expect("the renderer has stopped; its own message says why")
}

pub fn tooth(number: u8) -> Tooth {
    Tooth::new(number).unwrap()
}

/// Pixels of one tooth that have only that tooth around them, `margin` pixels each way.
pub fn inner_pixels(picture: &Picture, tooth: Tooth, margin: i32) -> Vec<usize> {
    let (width, height) = (picture.width as i32, picture.height as i32);
    let is_tooth = |x: i32, y: i32| {
        (0..width).contains(&x)
            && (0..height).contains(&y)
            && picture.teeth[(y * width + x) as usize] == tooth.number()
    };
    (0..width * height)
        .filter(|i| {
            let (x, y) = (i % width, i / width);
            (-margin..=margin).all(|d| is_tooth(x + d, y) && is_tooth(x, y + d))
        })
        .map(|i| i as usize)
        .collect()
}

pub fn mean_linear(picture: &Picture, pixels: &[usize]) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for &i in pixels {
        let codes = [0, 1, 2].map(|channel| picture.rgba[4 * i + channel]);
        for (total, value) in sum.iter_mut().zip(from_display_8bit(codes)) {
            *total += value;
        }
    }
    sum.map(|total| total / pixels.len() as f64)
}
