//! How a trial went: verdict, times, and the exposure that was really shown.

use crate::scene::Tooth;
use crate::trial::{InputDevice, Response, TrialKind};

/// A response judged against the truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// The restored tooth was named.
    Found,
    /// There was a restoration, but this tooth was named instead.
    WrongTooth(Tooth),
    /// There was a restoration and the answer was "none".
    Missed,
    /// There was no restoration, but this tooth was named.
    FalseAlarm(Tooth),
    /// There was no restoration and the answer was "none".
    CorrectlyNone,
    /// No answer in time, whether or not there was a restoration.
    TimedOut,
}

/// The exposure asked for and the one that happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    /// Refresh periods the picture should stay, at least 1.
    pub requested_frames: u32,
    /// Frames in which the picture was shown.
    pub shown_frames: u32,
    /// The longest of those frames, ms.
    pub longest_frame_ms: f64,
    /// Refreshes that brought no new frame. A frame longer than 120 % of the refresh period
    /// counts for the refreshes it spans beyond its own, and at least for one.
    pub dropped_frames: u32,
    /// Refresh rate the counts refer to, Hz.
    pub refresh_hz: f64,
}

/// When each part of a trial began, in seconds since the engine was made.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Onsets {
    /// Fixation mark, s.
    pub fixation_s: f64,
    /// Picture, s.
    pub onset_s: f64,
    /// Mask, which opens the response window, s.
    pub mask_s: f64,
    /// The answer, s; `None` after a timeout.
    pub response_s: Option<f64>,
}

/// One finished trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialOutcome {
    /// 0-based trial number in the session.
    pub trial: u32,
    /// 0-based block number.
    pub block: u32,
    /// Signal or catch.
    pub kind: TrialKind,
    /// The restored tooth, or `None` for a smile without a restoration.
    pub restored: Option<Tooth>,
    /// What was answered.
    pub response: Response,
    /// How it was judged.
    pub verdict: Verdict,
    /// Seconds from mask onset to the answer, to one frame; `None` after a timeout.
    pub response_time_s: Option<f64>,
    /// The exposure.
    pub exposure: Exposure,
    /// The device of the answer; `None` after a timeout.
    pub input_device: Option<InputDevice>,
    /// When each part began.
    pub onsets: Onsets,
}

impl Verdict {
    /// Judges a response against the restored tooth.
    #[must_use]
    pub fn of(restored: Option<Tooth>, response: Response) -> Self {
        match (restored, response) {
            (_, Response::Timeout) => Self::TimedOut,
            (Some(restored), Response::Tooth(tooth)) if tooth == restored => Self::Found,
            (Some(_), Response::Tooth(tooth)) => Self::WrongTooth(tooth),
            (Some(_), Response::None) => Self::Missed,
            (None, Response::Tooth(tooth)) => Self::FalseAlarm(tooth),
            (None, Response::None) => Self::CorrectlyNone,
        }
    }

    /// Whether the answer was right.
    #[must_use]
    pub const fn is_right(self) -> bool {
        matches!(self, Self::Found | Self::CorrectlyNone)
    }

    /// The name stored with results, such as `wrong_tooth`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::WrongTooth(_) => "wrong_tooth",
            Self::Missed => "missed",
            Self::FalseAlarm(_) => "false_alarm",
            Self::CorrectlyNone => "correctly_none",
            Self::TimedOut => "timed_out",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_response_has_one_verdict() {
        let (a, b) = (Tooth::new(11).unwrap(), Tooth::new(22).unwrap());
        for (restored, response, verdict) in [
            (Some(a), Response::Tooth(a), Verdict::Found),
            (Some(a), Response::Tooth(b), Verdict::WrongTooth(b)),
            (Some(a), Response::None, Verdict::Missed),
            (Some(a), Response::Timeout, Verdict::TimedOut),
            (None, Response::Tooth(b), Verdict::FalseAlarm(b)),
            (None, Response::None, Verdict::CorrectlyNone),
            (None, Response::Timeout, Verdict::TimedOut),
        ] {
            assert_eq!(Verdict::of(restored, response), verdict);
            assert_eq!(
                verdict.is_right(),
                matches!(verdict.name(), "found" | "correctly_none"),
                "{verdict:?}"
            );
        }
    }
}
