//! `frames`: how long a frame takes to draw, for every framing.

use super::ExitWith;
use super::draw::DrawError;
use crate::app::cli::Frames;
use crate::app::content::Content;
use crate::app::viewport::{Lighting, OffscreenRenderer, PictureRequest};
use crate::bake::{BakedScene, Condition};
use crate::scene::{Case, Framing, Staging};
use std::fmt::Write;
use std::sync::Arc;
use std::time::{Duration, Instant};

pub(super) fn run(arguments: &Frames, content: &dyn Content) -> ExitWith {
    match table(arguments, content) {
        Ok(table) => {
            print!("{table}");
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}

/// Measures and lays out the table.
fn table(arguments: &Frames, content: &dyn Content) -> Result<String, DrawError> {
    let level = content.levels().last().map(|level| level.id.clone()).unwrap_or_default();
    let seed = content.level_seed(&level)?;
    let plan = content.plan(&level, seed, Some(16))?;
    let cases: Vec<_> =
        plan.trials.iter().map(|t| &t.case).filter(|c| c.restoration.is_some()).collect();
    let (width, height) = arguments.size;
    let mut renderer = OffscreenRenderer::new()?;
    let mut text = format!(
        "{}\n{width}×{height}, {} frames a framing, ms\n{:<14}{:>9}{:>9}{:>9}{:>12}{:>12}\n",
        renderer.adapter(),
        arguments.count,
        "framing",
        "median",
        "95 %",
        "fps",
        "first smile",
        "next picture",
    );
    let lighting = Lighting::Studio;
    let request = |scene: &Arc<BakedScene>, condition| PictureRequest {
        scene: scene.clone(),
        condition,
        width,
        height,
        lighting,
    };
    // A picture of some other smile first: pipelines are compiled, light is there.
    if let Some(case) = cases.last() {
        let scene = Arc::new(content.bake(case)?);
        renderer.render(&request(&scene, Condition::Twin))?;
    }
    for (framing, case) in Framing::ALL.into_iter().zip(cases.iter().cycle()) {
        let staging = Staging { framing, ..case.staging };
        let scene = Arc::new(content.bake(&Case { staging, ..(*case).clone() })?);
        let restored = request(&scene, Condition::Restored);
        let twin = request(&scene, Condition::Twin);
        let first = timed(|| renderer.render(&restored))?;
        let next = timed(|| renderer.render(&twin))?;
        let mut times = renderer.time_frames(&restored, arguments.count)?;
        times.sort_unstable();
        let at = |share: f64| times[(share * (times.len() - 1) as f64).round() as usize];
        let ms = |time: Duration| 1000.0 * time.as_secs_f64();
        let _ = writeln!(
            text,
            "{:<14}{:>9.2}{:>9.2}{:>9.0}{:>12.0}{:>12.0}",
            framing.name(),
            ms(at(0.5)),
            ms(at(0.95)),
            1.0 / at(0.5).as_secs_f64(),
            ms(first),
            ms(next),
        );
    }
    text.push_str(
        "median, 95 %: from one finished frame to the next, nothing shown and no vertical sync.\n\
         first smile: from a baked smile whose shapes are new to its 8-bit picture.\n\
         next picture: the same smile's twin.\n",
    );
    Ok(text)
}

fn timed<T, E>(work: impl FnOnce() -> Result<T, E>) -> Result<Duration, E> {
    let start = Instant::now();
    work()?;
    Ok(start.elapsed())
}
