//! `frames`: how long a frame takes, and how long a new smile takes, for every framing.
//!
//! # What was measured
//! 1920 × 1080, one NVIDIA H100, 16 cores, medians: the finished picture, as in an exposure,
//! 2.8-3.7 ms a frame (worst 5.3), redrawn scenes 11-15 ms. A new smile takes 0.6-1.0 s to both
//! pictures (with two threads 1.5-3.0 s), most of it the shape and the visibility of its vertices;
//! prepared ahead, it is ready at an answer that takes longer.

use crate::app::cli::arguments::Frames;
use crate::app::cli::command::pictures::DrawError;
use crate::app::cli::exit::ExitWith;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::request::{DrawTimes, Lighting, PictureRequest};
use crate::bake::{BakedScene, Condition};
use crate::play::content::{Content, ContentError};
use crate::play::picture::Picture;
use crate::scene::{Case, Framing, Staging};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

pub(crate) fn run(arguments: &Frames, content: &dyn Content) -> ExitWith {
    match measure(arguments, content) {
        Ok(()) => ExitWith::success(),
        Err(error) => ExitWith::failure(error),
    }
}

/// Why frames cannot be measured.
#[derive(Debug, thiserror::Error)]
enum FramesError {
    #[error(transparent)]
    Draw(#[from] DrawError),
    #[error("cannot write {}: {source}", crate::printable::path(path))]
    File { path: PathBuf, source: csv::Error },
    #[error("this level has no restored smiles to draw")]
    NoSmiles,
}

impl From<RendererError> for FramesError {
    fn from(error: RendererError) -> Self {
        Self::Draw(error.into())
    }
}

impl From<ContentError> for FramesError {
    fn from(error: ContentError) -> Self {
        Self::Draw(error.into())
    }
}

/// What it takes until a trial's two pictures are there.
#[derive(Debug, Clone, Copy)]
struct NewSmile {
    bake: Duration,
    restored: DrawTimes,
    /// All of the restored picture, with waiting for frames to begin.
    restored_wall: Duration,
    twin_wall: Duration,
}

impl NewSmile {
    fn total(&self) -> Duration {
        self.bake + self.restored_wall + self.twin_wall
    }
}

/// A framing's figures.
#[derive(Debug, Clone)]
struct Row {
    framing: Framing,
    shown: Spread,
    redrawn: Spread,
    first: NewSmile,
    next: NewSmile,
}

/// Frame times, ms.
#[derive(Debug, Clone, Copy)]
struct Spread {
    median_ms: f64,
    high_ms: f64,
    worst_ms: f64,
}

impl Spread {
    fn of(mut times: Vec<Duration>) -> Self {
        times.sort_unstable();
        let last = times.len().saturating_sub(1);
        let at = |share: f64| times.get((share * last as f64).round() as usize).map_or(0.0, ms);
        Self { median_ms: at(0.5), high_ms: at(0.95), worst_ms: at(1.0) }
    }
}

fn ms(time: &Duration) -> f64 {
    1000.0 * time.as_secs_f64()
}

fn measure(arguments: &Frames, content: &dyn Content) -> Result<(), FramesError> {
    let level = content.levels().last().map(|level| level.id.clone()).unwrap_or_default();
    let seed = content.level_seed(&level)?;
    let plan = content.plan(&level, seed, Some(16))?;
    let cases: Vec<Case> = plan
        .trials
        .into_iter()
        .map(|trial| trial.case)
        .filter(|case| case.restoration().is_some())
        .collect();
    if cases.is_empty() {
        return Err(FramesError::NoSmiles);
    }
    let start = Instant::now();
    let mut renderer = OffscreenRenderer::new()?;
    let started = start.elapsed();
    let adapter = renderer.adapter();
    let (width, height) = arguments.size;
    say!(
        "{adapter}\n{width}×{height}, {} frames a framing, times in ms; renderer started in {:.0}\n\n\
         {:<13}{:^24}{:^24}{:^16}{:^48}\n\
         {:<13}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}",
        arguments.count,
        ms(&started),
        "",
        "smile shown",
        "smile redrawn",
        "new smile",
        "next, of which",
        "framing",
        "median",
        "95 %",
        "worst",
        "median",
        "95 %",
        "worst",
        "first",
        "next",
        "bake",
        "shape",
        "prepare",
        "adapter",
        "finish",
        "twin",
    );
    let mut rows = Vec::new();
    let mut cases = cases.iter().cycle();
    for framing in Framing::ALL {
        let mut staged = || {
            let case = cases.next().cloned()?;
            Some(Case { staging: Staging { framing, ..case.staging }, ..case })
        };
        let (Some(first), Some(next)) = (staged(), staged()) else { break };
        let (first, ..) = new_smile(&mut renderer, content, &first, arguments.size)?;
        let (next, request, picture) = new_smile(&mut renderer, content, &next, arguments.size)?;
        let shown = Spread::of(renderer.time_shown(&picture, arguments.count));
        let redrawn = Spread::of(renderer.time_frames(&request, arguments.count)?);
        let row = Row { framing, shown, redrawn, first, next };
        say!("{}", row.line());
        rows.push(row);
    }
    say!(
        "\nsmile shown: the finished picture stands, as in an exposure. smile redrawn: its scene is \
         drawn anew each frame, which the program does once a picture. Both from one finished frame \
         to the next, no vertical sync.\n\
         new smile: from the planned case to both 8-bit pictures; first: the first one of the \
         framing (the first line includes compiling shaders), next: the one after, another smile. prepare: what \
         pixels show, soft tissue, maps, meshes. adapter: upload, draw, read back. finish: dither. \
         twin: the second picture."
    );
    if let Some(path) = &arguments.out {
        write_csv(path, &adapter, arguments, &rows)
            .map_err(|source| FramesError::File { path: path.clone(), source })?;
    }
    Ok(())
}

/// Bakes a case and draws both pictures of it; returns the request and picture as restored.
fn new_smile(
    renderer: &mut OffscreenRenderer,
    content: &dyn Content,
    case: &Case,
    (width, height): (u32, u32),
) -> Result<(NewSmile, PictureRequest, Arc<Picture>), FramesError> {
    let mut clock = Instant::now();
    let scene: Arc<BakedScene> = Arc::new(content.bake(case)?);
    let mut lap = || {
        let took = clock.elapsed();
        clock = Instant::now();
        took
    };
    let bake = lap();
    let lighting = Lighting::Studio;
    let request = PictureRequest { scene, condition: Condition::Restored, width, height, lighting };
    let (picture, restored) = renderer.render_timed(&request)?;
    let restored_wall = lap();
    renderer.render(&PictureRequest { condition: Condition::Twin, ..request.clone() })?;
    let twin_wall = lap();
    Ok((NewSmile { bake, restored, restored_wall, twin_wall }, request, picture))
}

impl Row {
    fn line(&self) -> String {
        let parts = &self.next.restored;
        let prepare = parts.framing + parts.tissue + parts.maps + parts.meshes;
        let mut line = format!("{:<13}", self.framing.name());
        for spread in [self.shown, self.redrawn] {
            for value in [spread.median_ms, spread.high_ms, spread.worst_ms] {
                line.push_str(&format!("{value:>8.2}"));
            }
        }
        let times = [
            self.first.total(),
            self.next.total(),
            self.next.bake,
            parts.shape,
            prepare,
            parts.adapter,
            parts.finish,
            self.next.twin_wall,
        ];
        for time in &times {
            line.push_str(&format!("{:>8.0}", ms(time)));
        }
        line
    }
}

fn write_csv(
    path: &Path,
    adapter: &str,
    arguments: &Frames,
    rows: &[Row],
) -> Result<(), csv::Error> {
    let mut file = csv::Writer::from_path(path)?;
    let new_smile = |name: &str| {
        [
            "total", "bake", "shape", "framing", "tissue", "maps", "meshes", "adapter", "finish",
            "twin",
        ]
        .map(|part| format!("{name}_{part}_ms"))
    };
    let mut header: Vec<String> = ["adapter", "width_px", "height_px", "frames", "framing"]
        .into_iter()
        .chain(["shown_median_ms", "shown_95_ms", "shown_worst_ms"])
        .chain(["redrawn_median_ms", "redrawn_95_ms", "redrawn_worst_ms"])
        .map(str::to_owned)
        .collect();
    header.extend(new_smile("first"));
    header.extend(new_smile("next"));
    file.write_record(&header)?;
    for row in rows {
        let (width, height) = arguments.size;
        let mut record = vec![
            adapter.to_owned(),
            width.to_string(),
            height.to_string(),
            arguments.count.to_string(),
            row.framing.name().to_owned(),
        ];
        for spread in [row.shown, row.redrawn] {
            let values = [spread.median_ms, spread.high_ms, spread.worst_ms];
            record.extend(values.map(|value| format!("{value:.3}")));
        }
        for smile in [&row.first, &row.next] {
            let DrawTimes { shape, framing, tissue, maps, meshes, adapter, finish } =
                smile.restored;
            let times = [
                smile.total(),
                smile.bake,
                shape,
                framing,
                tissue,
                maps,
                meshes,
                adapter,
                finish,
                smile.twin_wall,
            ];
            record.extend(times.map(|time| format!("{:.3}", ms(&time))));
        }
        file.write_record(&record)?;
    }
    file.flush()?;
    Ok(())
}
