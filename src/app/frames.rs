//! How long frames last: the display's refresh rate, measured, and each frame's duration.

use bevy::prelude::*;
use std::collections::VecDeque;
use std::time::Duration;

use super::AppSystems;

/// Frames needed before the refresh rate counts as known.
pub const FRAMES_NEEDED: usize = 50;
/// Frames remembered. Older ones may belong to another display.
const FRAMES_KEPT: usize = 121;
/// Frames ignored after the start, while pipelines are still compiling.
const WARM_UP: usize = 10;

/// The durations of the latest frames.
///
/// A duration is the time from one frame's submission to the next, which on a display with
/// vertical synchronisation is how long the frame was on screen. When it lit up is not known to
/// better than one refresh.
#[derive(Resource, Debug, Default)]
pub struct FrameTimes {
    latest: VecDeque<f64>,
    seen: usize,
}

impl FrameTimes {
    /// Takes note of one frame that lasted `duration_s`.
    pub fn record(&mut self, duration_s: f64) {
        self.seen += 1;
        if self.seen <= WARM_UP || duration_s <= 0.0 {
            return;
        }
        if self.latest.len() == FRAMES_KEPT {
            self.latest.pop_front();
        }
        self.latest.push_back(duration_s);
    }

    /// The refresh rate, Hz: the inverse of the median frame duration, or `None` before
    /// [`FRAMES_NEEDED`] frames.
    #[must_use]
    pub fn refresh_hz(&self) -> Option<f64> {
        if self.latest.len() < FRAMES_NEEDED {
            return None;
        }
        let mut sorted: Vec<f64> = self.latest.iter().copied().collect();
        sorted.sort_by(f64::total_cmp);
        Some(1.0 / sorted[sorted.len() / 2])
    }
}

/// How long the frame that has just ended was shown.
#[derive(Resource, Debug, Default, Clone, Copy)]
pub struct LastFrame(pub Duration);

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<FrameTimes>()
        .init_resource::<LastFrame>()
        .add_systems(Update, measure_frame.in_set(AppSystems::Measure));
}

fn measure_frame(
    time: Res<Time<Real>>,
    mut times: ResMut<FrameTimes>,
    mut last: ResMut<LastFrame>,
) {
    last.0 = time.delta();
    times.record(time.delta_secs_f64());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_ignores_hitches_and_the_warm_up() {
        let mut times = FrameTimes::default();
        for _ in 0..WARM_UP {
            times.record(0.5);
        }
        for frame in 0..FRAMES_NEEDED {
            assert_eq!(times.refresh_hz(), None);
            times.record(if frame % 10 == 0 { 0.2 } else { 1.0 / 144.0 });
        }
        let hz = times.refresh_hz().unwrap();
        assert!((hz - 144.0).abs() < 1e-9, "{hz}");
    }
}
