//! What moving a control took: figures in words and as a file.

use crate::app::cli::command::unshown::REFRESH;
use crate::app::picture::viewport::request::DrawTimes;
use std::path::Path;
use std::time::Duration;

/// What a control's new picture may take on a graphics card, ms.
const AIM_MS: f64 = 50.0;

/// One control moved once.
#[derive(Debug, Clone)]
pub(crate) struct Moved {
    pub(crate) play: &'static str,
    pub(crate) at_60_hz: bool,
    pub(crate) control: &'static str,
    /// From the key to the picture.
    pub(crate) took: Duration,
    pub(crate) frames: u32,
    pub(crate) bake: Duration,
    pub(crate) drawn: DrawTimes,
    /// Pictures that were drawn until then.
    pub(crate) pictures: u32,
}

impl Moved {
    fn prepare(&self) -> Duration {
        let DrawTimes { shape, framing, tissue, maps, meshes, .. } = self.drawn;
        shape + framing + tissue + maps + meshes
    }

    /// Waiting for frames to begin, and drawing the window.
    fn rest(&self) -> Duration {
        self.took.saturating_sub(self.bake + self.drawn.total())
    }
}

fn ms(time: Duration) -> f64 {
    1000.0 * time.as_secs_f64()
}

/// The value below which a share of them lie.
fn quantile(moved: &[&Moved], share: f64, of: impl Fn(&Moved) -> f64) -> f64 {
    let mut values: Vec<f64> = moved.iter().map(|moved| of(moved)).collect();
    values.sort_by(f64::total_cmp);
    let last = values.len().saturating_sub(1);
    values.get((share * last as f64).round() as usize).copied().unwrap_or_default()
}

pub(crate) fn report(all: &[Moved], play: &str) {
    for at_60_hz in [false, true] {
        let moved: Vec<&Moved> =
            all.iter().filter(|m| m.play == play && m.at_60_hz == at_60_hz).collect();
        let how = if at_60_hz { "a frame every 1/60 s" } else { "frames at once" };
        say!(
            "\n{:<34}{:>5}{:>9}{:>8}{:>8}{:>8}{:>7}{:>8}{:>9}{:>9}{:>8}{:>8}",
            format!("{play}, {how}"),
            "moved",
            "median",
            "90 %",
            "worst",
            "frames",
            "most",
            "bake",
            "prepare",
            "adapter",
            "finish",
            "rest"
        );
        let mut names: Vec<&str> = Vec::new();
        for name in moved.iter().map(|moved| moved.control) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        for name in names {
            let of: Vec<&Moved> =
                moved.iter().copied().filter(|moved| moved.control == name).collect();
            say!("{}", line(name, &of));
        }
        say!("{}", line("all", &moved));
        let within = moved.iter().filter(|moved| ms(moved.took) <= AIM_MS).count();
        say!("within {AIM_MS} ms: {within} of {}", moved.len());
    }
}

/// What the figures mean.
pub(crate) fn explain() {
    say!(
        "\nFrom the key press until the adapter has drawn the frame of the window that shows the new \
         picture; the window's pixels are then read (outside the time) and must be that picture's. \
         Frames at once: each begins when the adapter is done with the one before. A frame every \
         1/60 s: keys come at any time between two frames, a frame that has read them waits for the \
         display before the window is drawn, as it does there, and is seen at the refresh after that \
         ({:.1} ms each); what the display itself adds is not counted.\n\
         Parts are medians. bake: light in the layers. prepare: maps and what pixels show. adapter: \
         upload, draw, read back. finish: dither. rest: waiting for frames, drawing the window, \
         value-only pictures.",
        ms(REFRESH)
    );
}

fn line(name: &str, moved: &[&Moved]) -> String {
    let took = |share: f64| quantile(moved, share, |m| ms(m.took));
    let half = |of: &dyn Fn(&Moved) -> f64| quantile(moved, 0.5, of);
    format!(
        "{name:<34}{:>5}{:>9.1}{:>8.1}{:>8.1}{:>8.0}{:>7.0}{:>8.1}{:>9.1}{:>9.1}{:>8.1}{:>8.1}",
        moved.len(),
        took(0.5),
        took(0.9),
        took(1.0),
        half(&|m| f64::from(m.frames)),
        quantile(moved, 1.0, |m| f64::from(m.frames)),
        half(&|m| ms(m.bake)),
        half(&|m| ms(m.prepare())),
        half(&|m| ms(m.drawn.adapter)),
        half(&|m| ms(m.drawn.finish)),
        half(&|m| ms(m.rest())),
    )
}

pub(crate) fn write_csv(
    path: &Path,
    adapter: &str,
    (width, height): (u32, u32),
    moved: &[Moved],
) -> Result<(), csv::Error> {
    let mut file = csv::Writer::from_path(path)?;
    file.write_record([
        "adapter",
        "width_px",
        "height_px",
        "play",
        "at_60_hz",
        "control",
        "took_ms",
        "frames",
        "pictures",
        "bake_ms",
        "prepare_ms",
        "adapter_ms",
        "finish_ms",
    ])?;
    for one in moved {
        let times = [one.bake, one.prepare(), one.drawn.adapter, one.drawn.finish];
        let mut record = vec![
            adapter.to_owned(),
            width.to_string(),
            height.to_string(),
            one.play.to_owned(),
            one.at_60_hz.to_string(),
            one.control.to_owned(),
            format!("{:.3}", ms(one.took)),
            one.frames.to_string(),
            one.pictures.to_string(),
        ];
        record.extend(times.map(|time| format!("{:.3}", ms(time))));
        file.write_record(&record)?;
    }
    file.flush()?;
    Ok(())
}
