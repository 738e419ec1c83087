//! How long frames last, and what that says of a display: its refresh rate, and whether it keeps up.

use std::collections::VecDeque;

/// Frames needed before the refresh rate counts as known.
pub const FRAMES_NEEDED: usize = 50;
/// Frames remembered. Older ones may belong to another display.
const FRAMES_KEPT: usize = 121;
/// A frame longer than this many refresh periods came late.
const LATE_PERIODS: f64 = 1.2;
/// Largest share of late frames at which exposures are taken to be held. Design choice.
const MOST_LATE: f64 = 0.02;
/// Slowest refresh at which a glance is measured, Hz. Design choice: at 30 Hz one frame is 1.3 % of
/// an exposure of 2.5 s.
const SLOWEST_HZ: f64 = 30.0;
/// Frames ignored after the start, while pipelines are still compiling.
const WARM_UP: usize = 10;

/// The durations of the latest frames.
///
/// A duration is the time from one frame's submission to the next, which on a display with
/// vertical synchronisation is how long the frame was on screen. When it lit up is not known to
/// better than one refresh.
#[derive(Debug, Default)]
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

    /// How well the latest frames kept to the refresh; `None` before [`FRAMES_NEEDED`] frames.
    #[must_use]
    pub fn display_check(&self) -> Option<DisplayCheck> {
        let refresh_hz = self.refresh_hz()?;
        let late = self.latest.iter().filter(|s| **s * refresh_hz > LATE_PERIODS).count();
        let longest_s = self.latest.iter().copied().fold(0.0, f64::max);
        Some(DisplayCheck {
            refresh_hz,
            frames: self.latest.len(),
            late,
            longest_frame_ms: longest_s * 1000.0,
        })
    }
}

/// How well a display kept up over the latest frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DisplayCheck {
    /// Refresh rate: the inverse of the median frame, Hz.
    pub refresh_hz: f64,
    /// Frames looked at.
    pub frames: usize,
    /// Frames longer than 1.2 refresh periods.
    pub late: usize,
    /// The longest frame, ms.
    pub longest_frame_ms: f64,
}

impl DisplayCheck {
    /// Why exposures cannot be held on this display, in plain words; `None` where they can.
    #[must_use]
    pub fn fault(&self) -> Option<String> {
        let share = self.late as f64 / self.frames.max(1) as f64;
        if self.refresh_hz < SLOWEST_HZ {
            return Some(format!(
                "Pictures change only {:.0} times a second here; measuring needs at least \
                 {SLOWEST_HZ:.0}.",
                self.refresh_hz
            ));
        }
        (share > MOST_LATE).then(|| {
            format!(
                "{} of the last {} pictures came late; the longest stood for {:.0} ms instead of \
                 {:.0} ms.",
                self.late,
                self.frames,
                self.longest_frame_ms,
                1000.0 / self.refresh_hz
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_display_that_drops_frames_or_is_slow_has_a_fault() {
        let check = |period_s: f64, late: usize| {
            let mut times = FrameTimes::default();
            for frame in 0..WARM_UP + 100 {
                let is_late = frame >= WARM_UP && frame < WARM_UP + late;
                times.record(if is_late { 2.0 * period_s } else { period_s });
            }
            times.display_check().unwrap()
        };
        assert_eq!(check(1.0 / 60.0, 0).fault(), None);
        assert_eq!(check(1.0 / 60.0, 2).fault(), None);
        let fault = check(1.0 / 60.0, 3).fault().unwrap();
        assert!(fault.contains("3 of the last 100") && fault.contains("33 ms"), "{fault}");
        assert!(check(1.0 / 25.0, 0).fault().unwrap().contains("25 times a second"));
    }

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
