//! A tooth that differs from its twin by a wanted amount in one direction.
//!
//! A layered build-up that copies the tooth ([`BuildUp`]) is solved first: its masses are changed
//! until the layered model itself gives the difference in every third. Where no such masses exist
//! the tooth's own reflectance is shifted ([`SpectralShift`]). What was done is said by
//! [`AxisChange`].

use crate::bake::{self, BakeError, Condition, Estimator, Truth, ZONE_WEIGHTS, ZoneDifference};
use crate::colorimetry::{Illuminant, Lch};
use crate::material::Library;
use crate::psychophysics::Direction;
use crate::scene::{AxisChange, BuildUp, Case, NaturalTooth, Patient, SpectralShift, Tooth};
use nalgebra::{Matrix3, Vector3};
use thiserror::Error;

/// Largest off-axis difference of a stimulus, ΔE00, in every third by itself and so in their
/// weighted sum; see [`off_axis_de00`].
pub const MOST_OFF_AXIS_DE00: f64 = 0.15;
/// Largest departure from the wanted size, as a share of it and at least, ΔE00.
const SIZE_TOLERANCE: (f64, f64) = (0.01, 0.01);
/// Newton steps on estimates, and corrections on bakes.
const STEPS: usize = 8;
const CORRECTIONS: usize = 5;
/// Longest step in the numbers of a third, natural logarithms: a factor of e.
const LONGEST_STEP: f64 = 1.0;

/// Level, tilt and dip of the thirds.
type Thirds = [Vector3<f64>; 3];

/// What is changed about a tooth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Means {
    /// The masses that its layers are built from: [`BuildUp`].
    Masses,
    /// Its reflectance: [`SpectralShift`].
    Reflectance,
}

impl Means {
    fn change(self, tooth: Tooth, thirds: [[f64; 3]; 3]) -> AxisChange {
        match self {
            Self::Masses => AxisChange::BuildUp(BuildUp { tooth, masses: thirds }),
            Self::Reflectance => AxisChange::Shift(SpectralShift { tooth, thirds }),
        }
    }
}

/// A stimulus on an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisStimulus {
    /// How it was made.
    pub recipe: AxisChange,
    /// The truth of the baked maps. This tooth was baked alone, so nothing is said of the tooth
    /// opposite.
    pub truth: Truth,
    /// What of it lies off the axis, ΔE00, at most [`MOST_OFF_AXIS_DE00`].
    pub off_axis_de00: f64,
    /// The same in the third that is furthest off, ΔE00, at most [`MOST_OFF_AXIS_DE00`].
    pub worst_third_de00: f64,
}

/// Which tooth to change, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Canvas<'a> {
    /// The tooth as it is by nature; its colour is within reach of its layers.
    pub natural: &'a NaturalTooth,
    /// Seed of the mouth.
    pub seed: u64,
    /// The light.
    pub illuminant: Illuminant,
}

/// Why there is no stimulus.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StimulusError {
    /// The tooth cannot be baked.
    #[error(transparent)]
    Bake(#[from] BakeError),
    /// No reflectance between 0 and 1 differs by that much in that direction.
    #[error(
        "tooth {tooth} cannot be made {de00:.2} ΔE00 {} on its axis; the nearest was \
         {reached:.2} ΔE00 with {off_axis:.2} ΔE00 off the axis", direction.name()
    )]
    OutOfReach {
        /// The tooth.
        tooth: Tooth,
        /// The wanted direction.
        direction: Direction,
        /// The wanted size, ΔE00.
        de00: f64,
        /// Size of the nearest try, ΔE00.
        reached: f64,
        /// Off-axis part of the nearest try in its worst third, ΔE00.
        off_axis: f64,
    },
}

/// Signed parts as (axis, the two others).
fn parts(direction: Direction, found: &ZoneDifference) -> Vector3<f64> {
    let ZoneDifference { dl00, dc00, dh00, .. } = *found;
    match direction {
        Direction::Darker | Direction::Lighter => Vector3::new(dl00, dc00, dh00),
        Direction::MoreChroma | Direction::LessChroma => Vector3::new(dc00, dl00, dh00),
        Direction::Redder | Direction::Yellower => Vector3::new(dh00, dl00, dc00),
    }
}

/// How far a difference lies off the axis of `direction`, ΔE00: the length of the two other signed
/// parts in each third, weighted as the truth weights thirds. Thirds cannot make up for one
/// another.
#[must_use]
pub fn off_axis_de00(direction: Direction, zones: &[ZoneDifference; 3]) -> f64 {
    let thirds = thirds_off_axis_de00(direction, zones);
    thirds.iter().zip(ZONE_WEIGHTS).map(|(off, weight)| weight * off).sum()
}

/// How far each third lies off the axis of `direction`, ΔE00: the length of its two other signed
/// parts.
#[must_use]
pub fn thirds_off_axis_de00(direction: Direction, zones: &[ZoneDifference; 3]) -> [f64; 3] {
    zones.map(|zone| {
        let parts = parts(direction, &zone);
        parts.y.hypot(parts.z)
    })
}

/// Solves a stimulus of `de00` in `direction` on a tooth: a layered build-up where one is on
/// the axis, a spectral shift otherwise. The result is checked on the baked maps, not on
/// estimates.
///
/// # Errors
/// [`StimulusError`] when the tooth cannot be baked or the difference is out of reach.
pub fn solve(
    canvas: Canvas<'_>,
    direction: Direction,
    de00: f64,
    library: &Library,
) -> Result<AxisStimulus, StimulusError> {
    match solve_by(Means::Masses, canvas, direction, de00, library) {
        Err(StimulusError::OutOfReach { .. }) => {
            solve_by(Means::Reflectance, canvas, direction, de00, library)
        }
        solved => solved,
    }
}

/// As [`solve`], by these means alone.
///
/// # Errors
/// [`StimulusError`] when the tooth cannot be baked or the difference is out of reach.
pub fn solve_by(
    means: Means,
    canvas: Canvas<'_>,
    direction: Direction,
    de00: f64,
    library: &Library,
) -> Result<AxisStimulus, StimulusError> {
    let estimator = Estimator::new(canvas.natural, canvas.seed, canvas.illuminant, library)?;
    Search { canvas, direction, de00, library, estimator }.thirds(means)
}

struct Search<'a> {
    canvas: Canvas<'a>,
    direction: Direction,
    de00: f64,
    library: &'a Library,
    estimator: Estimator<'a>,
}

impl Search<'_> {
    fn wanted(&self) -> Vector3<f64> {
        Vector3::new(self.direction.sign() * self.de00, 0.0, 0.0)
    }

    fn parts(&self, found: &ZoneDifference) -> Vector3<f64> {
        parts(self.direction, found)
    }

    /// Level, tilt and dip of every third so that each third differs by just the wanted amount.
    fn thirds(&self, means: Means) -> Result<AxisStimulus, StimulusError> {
        let tooth = self.canvas.natural.tooth;
        let make = |x: &Thirds| means.change(tooth, x.map(Into::into));
        let parts = |zones: &[ZoneDifference; 3]| zones.map(|zone| self.parts(&zone));
        let at = |x: &Thirds| parts(&self.estimator.change_differences(&make(x)));
        // A third answers to its own numbers first; what it takes from its neighbours is made up
        // for by the next step.
        let slopes = |x: &Thirds, here: &Thirds| {
            let step = 0.02;
            let moved: [Thirds; 3] = std::array::from_fn(|i| {
                let mut unit = Vector3::zeros();
                unit[i] = step;
                at(&x.map(|third| third + unit))
            });
            std::array::from_fn::<_, 3, _>(|third| {
                let column = |i: usize| (moved[i][third] - here[third]) / step;
                Matrix3::from_columns(&[column(0), column(1), column(2)]).try_inverse()
            })
        };
        let correct = |x: &mut Thirds, here: &Thirds, slopes: &[Option<Matrix3<f64>>; 3]| {
            for third in 0..3 {
                let Some(slopes) = slopes[third] else { continue };
                let step = slopes * (self.wanted() - here[third]);
                x[third] += step.cap_magnitude(LONGEST_STEP);
            }
        };
        let mut x = [Vector3::zeros(); 3];
        let mut here = at(&x);
        let mut inverse = slopes(&x, &here);
        for _ in 0..STEPS {
            if here.iter().all(|part| (self.wanted() - part).norm() < 0.005) {
                break;
            }
            correct(&mut x, &here, &inverse);
            here = at(&x);
            inverse = slopes(&x, &here);
        }
        let mut nearest = (0.0, 0.0);
        for _ in 0..CORRECTIONS {
            let change = make(&x);
            let Some(baked) = self.bake(change)? else { break };
            if baked.fits {
                return Ok(baked.stimulus(change));
            }
            nearest = (baked.truth.difference.de00, baked.worst_third);
            correct(&mut x, &parts(&baked.truth.zones), &inverse);
        }
        let (direction, de00) = (self.direction, self.de00);
        let (reached, off_axis) = nearest;
        Err(StimulusError::OutOfReach { tooth, direction, de00, reached, off_axis })
    }

    /// The truth of this tooth alone, and whether it is what was wanted and can be displayed.
    fn bake(&self, change: AxisChange) -> Result<Option<Baked>, StimulusError> {
        let canvas = self.canvas;
        let case = Case {
            seed: canvas.seed,
            patient: Patient {
                teeth: vec![*canvas.natural],
                gingiva: Lch { l: 50.0, c: 30.0, h: 35.0 },
            },
            restorations: Vec::new(),
            shift: Some(change),
            illuminant: canvas.illuminant,
            staging: crate::scene::Staging::default(),
        };
        let scene = bake::bake(&case, self.library)?;
        let displayable = scene.tooth(canvas.natural.tooth).is_some_and(|baked| {
            let texels = &baked.map(Condition::Restored).texels;
            texels.iter().flatten().all(|value| (0.0..=1.0).contains(value))
        });
        Ok(scene.truth.map(|truth| {
            let off_axis = off_axis_de00(self.direction, &truth.zones);
            let worst_third =
                thirds_off_axis_de00(self.direction, &truth.zones).into_iter().fold(0.0, f64::max);
            let (share, least) = SIZE_TOLERANCE;
            let miss = (self.de00 - truth.difference.de00).abs();
            let right_way = self.parts(&truth.difference).x * self.direction.sign() > 0.0;
            let fits = miss <= (share * self.de00).max(least)
                && worst_third <= MOST_OFF_AXIS_DE00
                && right_way
                && displayable;
            Baked { truth, off_axis, worst_third, fits }
        }))
    }
}

struct Baked {
    truth: Truth,
    off_axis: f64,
    worst_third: f64,
    fits: bool,
}

impl Baked {
    fn stimulus(self, recipe: AxisChange) -> AxisStimulus {
        AxisStimulus {
            recipe,
            truth: self.truth,
            off_axis_de00: self.off_axis,
            worst_third_de00: self.worst_third,
        }
    }
}
