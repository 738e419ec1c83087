//! A tooth that differs from its twin by a wanted amount in one direction.
//!
//! First a ceramic restoration is tried: the shade of a crown is solved until the layered model
//! itself gives the difference. A crown brings its own gradients, so for most teeth and small
//! differences no shade keeps every third of the tooth on the axis. Then the tooth's own
//! reflectance is shifted ([`SpectralShift`]), which keeps its pattern. What was done is said by
//! [`Recipe`].

use crate::bake::{self, BakeError, Condition, Estimator, Truth, ZONE_WEIGHTS, ZoneDifference};
use crate::colorimetry::{Illuminant, Lch};
use crate::material::Library;
use crate::psychophysics::Direction;
use crate::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, SpectralShift, Thickness,
    Translucency,
};
use nalgebra::{Matrix3, Vector3};
use thiserror::Error;

/// Largest off-axis difference of a stimulus, ΔE00; see [`off_axis_de00`].
pub const MOST_OFF_AXIS_DE00: f64 = 0.15;
/// Largest departure from the wanted size, as a share of it and at least, ΔE00.
const SIZE_TOLERANCE: (f64, f64) = (0.01, 0.01);
/// Newton steps on estimates, and corrections on bakes.
const STEPS: usize = 8;
const CORRECTIONS: usize = 5;

/// How a stimulus was made.
#[derive(Debug, Clone, PartialEq)]
pub enum Recipe {
    /// A ceramic restoration whose shade was solved.
    Ceramic(Box<Restoration>),
    /// The tooth's own reflectance, shifted.
    Shift(SpectralShift),
}

/// A stimulus on an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisStimulus {
    /// How it was made.
    pub recipe: Recipe,
    /// The truth of the baked maps. This tooth was baked alone, so nothing is said of the tooth
    /// opposite.
    pub truth: Truth,
    /// What of it lies off the axis, ΔE00, at most [`MOST_OFF_AXIS_DE00`].
    pub off_axis_de00: f64,
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
        tooth: crate::scene::Tooth,
        /// The wanted direction.
        direction: Direction,
        /// The wanted size, ΔE00.
        de00: f64,
        /// Size of the nearest try, ΔE00.
        reached: f64,
        /// Off-axis part of the nearest try, ΔE00.
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
    let off = |zone| {
        let parts = parts(direction, zone);
        parts.y.hypot(parts.z)
    };
    zones.iter().zip(ZONE_WEIGHTS).map(|(zone, weight)| weight * off(zone)).sum()
}

/// Solves a stimulus of `de00` in `direction` on a tooth: a ceramic restoration where one stays on
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
    let estimator = Estimator::new(canvas.natural, canvas.seed, canvas.illuminant, library)?;
    let search = Search { canvas, direction, de00, library, estimator };
    match search.ceramic()? {
        Some(stimulus) => Ok(stimulus),
        None => search.shift(),
    }
}

/// A graded crown of medium translucency with this thick-piece shade (L, C, h), over a light
/// prepared tooth in clear cement; `None` where no such shade is made.
fn crown(natural: &NaturalTooth, shade: &Vector3<f64>) -> Option<Restoration> {
    let made = (50.0..=92.0).contains(&shade[0]) && (2.0..=40.0).contains(&shade[1]);
    made.then(|| Restoration {
        tooth: natural.tooth,
        preparation: Preparation::Crown,
        ceramic: Ceramic {
            class: "lithium-disilicate".to_owned(),
            translucency: Translucency::Medium,
            shade: Lch { l: shade[0], c: shade[1], h: shade[2] },
            graded: true,
        },
        thickness: Thickness { margin_mm: 0.4, neck_mm: 0.8, body_mm: 1.0, incisal_mm: 1.2 },
        cement: "clear".to_owned(),
        cement_film_mm: 0.05,
        prepared_tooth: "light".to_owned(),
        drift: None,
    })
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

    /// The shade of a crown by Newton's method on the whole tooth; `None` unless every third then
    /// stays on the axis.
    fn ceramic(&self) -> Result<Option<AxisStimulus>, StimulusError> {
        let natural = self.canvas.natural;
        let at = |x: &Vector3<f64>| {
            let zones = self.estimator.differences(&crown(natural, x)?).ok()?;
            let whole: Vector3<f64> =
                zones.iter().zip(ZONE_WEIGHTS).map(|(zone, w)| self.parts(zone) * w).sum();
            Some((whole, zones))
        };
        let body = natural.body;
        let mut x = Vector3::new(body.l, body.c, body.h);
        let mut inverse = None;
        for _ in 0..STEPS {
            let Some((here, zones)) = at(&x) else { return Ok(None) };
            if inverse.is_some() && (self.wanted() - here).norm() < 0.01 {
                // Far from every third being on the axis: no bake will change that.
                if off_axis_de00(self.direction, &zones) > 2.0 * MOST_OFF_AXIS_DE00 {
                    return Ok(None);
                }
                break;
            }
            if inverse.is_none() {
                let mut columns = [Vector3::zeros(); 3];
                for (i, column) in columns.iter_mut().enumerate() {
                    let mut moved = x;
                    moved[i] += 0.5;
                    let Some((there, _)) = at(&moved) else { return Ok(None) };
                    *column = (there - here) / 0.5;
                }
                inverse = Matrix3::from_columns(&columns).try_inverse();
            }
            let Some(slopes) = inverse else { return Ok(None) };
            x += slopes * (self.wanted() - here);
        }
        let Some(slopes) = inverse else { return Ok(None) };
        let mut aim = self.wanted();
        for _ in 0..CORRECTIONS {
            let Some(restoration) = crown(natural, &x) else { return Ok(None) };
            let recipe = Recipe::Ceramic(Box::new(restoration));
            let Some(baked) = self.bake(&recipe)? else { return Ok(None) };
            if baked.fits {
                return Ok(Some(baked.stimulus(recipe)));
            }
            // Thirds that differ unevenly make the whole larger than its signed part: aim lower.
            let difference = baked.truth.difference;
            let here = self.parts(&difference);
            aim.x = here.x + self.direction.sign() * (self.de00 - difference.de00);
            x += slopes * (aim - here);
        }
        Ok(None)
    }

    /// Level, tilt and dip of every third so that each third differs by just the wanted amount.
    fn shift(&self) -> Result<AxisStimulus, StimulusError> {
        let tooth = self.canvas.natural.tooth;
        let make = |x: &[Vector3<f64>; 3]| SpectralShift { tooth, thirds: x.map(Into::into) };
        let parts = |zones: &[ZoneDifference; 3]| zones.map(|zone| self.parts(&zone));
        let at = |x: &[Vector3<f64>; 3]| parts(&self.estimator.shift_differences(&make(x)));
        let mut x = [Vector3::zeros(); 3];
        let step = 0.02;
        let mut columns = [[Vector3::zeros(); 3]; 3];
        for i in 0..3 {
            let mut unit = Vector3::zeros();
            unit[i] = step;
            for (third, moved) in at(&[unit; 3]).into_iter().enumerate() {
                columns[third][i] = moved / step;
            }
        }
        let slopes = columns.map(|c| Matrix3::from_columns(&c).try_inverse());
        let correct = |x: &mut [Vector3<f64>; 3], here: &[Vector3<f64>; 3]| {
            for third in 0..3 {
                let Some(slopes) = slopes[third] else { continue };
                x[third] += slopes * (self.wanted() - here[third]);
            }
        };
        for _ in 0..2 * STEPS {
            let here = at(&x);
            if here.iter().all(|part| (self.wanted() - part).norm() < 0.005) {
                break;
            }
            correct(&mut x, &here);
        }
        let mut nearest = (0.0, 0.0);
        for _ in 0..CORRECTIONS {
            let recipe = Recipe::Shift(make(&x));
            let Some(baked) = self.bake(&recipe)? else { break };
            if baked.fits {
                return Ok(baked.stimulus(recipe));
            }
            nearest = (baked.truth.difference.de00, baked.off_axis);
            correct(&mut x, &parts(&baked.truth.zones));
        }
        let (direction, de00) = (self.direction, self.de00);
        let (reached, off_axis) = nearest;
        Err(StimulusError::OutOfReach { tooth, direction, de00, reached, off_axis })
    }

    /// The truth of this tooth alone, and whether it is what was wanted and can be displayed.
    fn bake(&self, recipe: &Recipe) -> Result<Option<Baked>, StimulusError> {
        let canvas = self.canvas;
        let mut case = Case {
            seed: canvas.seed,
            patient: Patient {
                teeth: vec![*canvas.natural],
                gingiva: Lch { l: 50.0, c: 30.0, h: 35.0 },
            },
            restoration: None,
            shift: None,
            illuminant: canvas.illuminant,
            staging: crate::scene::Staging::default(),
        };
        recipe.clone().apply(&mut case);
        let scene = bake::bake(&case, self.library)?;
        let displayable = scene.tooth(canvas.natural.tooth).is_some_and(|baked| {
            let texels = &baked.map(Condition::Restored).texels;
            texels.iter().flatten().all(|value| (0.0..=1.0).contains(value))
        });
        Ok(scene.truth.map(|truth| {
            let off_axis = off_axis_de00(self.direction, &truth.zones);
            let (share, least) = SIZE_TOLERANCE;
            let miss = (self.de00 - truth.difference.de00).abs();
            let right_way = self.parts(&truth.difference).x * self.direction.sign() > 0.0;
            let fits = miss <= (share * self.de00).max(least)
                && off_axis <= MOST_OFF_AXIS_DE00
                && right_way
                && displayable;
            Baked { truth, off_axis, fits }
        }))
    }
}

struct Baked {
    truth: Truth,
    off_axis: f64,
    fits: bool,
}

impl Baked {
    fn stimulus(self, recipe: Recipe) -> AxisStimulus {
        AxisStimulus { recipe, truth: self.truth, off_axis_de00: self.off_axis }
    }
}

impl Recipe {
    /// Puts the stimulus into a case.
    pub fn apply(self, case: &mut Case) {
        match self {
            Self::Ceramic(restoration) => case.restoration = Some(*restoration),
            Self::Shift(shift) => case.shift = Some(shift),
        }
    }

    /// The name stored with results.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Ceramic(_) => "ceramic",
            Self::Shift(_) => "spectral shift",
        }
    }
}
