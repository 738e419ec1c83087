//! How far a case may be from what its numbers say.

use crate::bake::{BakeError, Estimator};
use crate::colorimetry::Lch;
use crate::material::{Library, own_tooth};
use crate::scene::Restoration;

/// What is not known exactly, as half widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Thickness of the milled ceramic, mm.
    pub thickness_mm: f64,
    /// Lightness of the prepared tooth, L*.
    pub prepared_lightness: f64,
}

impl Spread {
    /// ±0.1 mm and ±2 L* (common practice, no source).
    pub const USUAL: Self = Self { thickness_mm: 0.1, prepared_lightness: 2.0 };
}

/// The case's uncertainty in the plane of the chart: an ellipse about where the restoration stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Half width along thickness, mm.
    pub thickness_mm: f64,
    /// Half height along the shade axis, L*: the change of shade that does to the middle of the
    /// tooth what the spread of the prepared tooth's lightness does.
    pub shade_lightness: f64,
}

/// Step of shade for its slope, L*.
const SHADE_STEP: f64 = 2.0;

impl Uncertainty {
    /// The spread seen through a restoration.
    ///
    /// # Errors
    /// [`BakeError`] when the restoration names a material that the library does not have.
    pub fn of(
        restoration: &Restoration,
        spread: Spread,
        shades: &[Lch],
        estimator: &Estimator<'_>,
        library: &Library,
    ) -> Result<Self, BakeError> {
        let lightness =
            |restoration: &Restoration| estimator.zones(restoration).map(|zones| zones[1].l);
        let own = library.prepared_tooth_entry(&restoration.prepared_tooth)?.colour;
        let prepared = |step: f64| {
            let colour = Lch { l: (own.l + step).clamp(5.0, 95.0), ..own };
            let prepared_tooth = own_tooth::id(colour);
            lightness(&Restoration { prepared_tooth, ..restoration.clone() })
        };
        let half = spread.prepared_lightness;
        // A colour that no tissue can have is left out of account: the other side says as much.
        let through = match (prepared(half), prepared(-half)) {
            (Ok(above), Ok(below)) => 0.5 * (above - below),
            (Ok(above), Err(_)) => above - lightness(restoration)?,
            (Err(_), Ok(below)) => lightness(restoration)? - below,
            (Err(error), Err(_)) => return Err(error),
        };
        let per_shade = shade_slope(restoration, shades, lightness)?;
        let shade_lightness =
            if per_shade > 0.05 { (through / per_shade).abs() } else { f64::INFINITY };
        Ok(Self { thickness_mm: spread.thickness_mm, shade_lightness })
    }
}

/// Lightness of the tooth's middle per L* of shade, between two shades of the axis near the
/// restoration's.
fn shade_slope(
    restoration: &Restoration,
    shades: &[Lch],
    lightness: impl Fn(&Restoration) -> Result<f64, BakeError>,
) -> Result<f64, BakeError> {
    let own = restoration.ceramic.shade.l;
    let near = |wanted: f64| {
        let off = |shade: &&Lch| (shade.l - wanted).abs();
        shades.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    };
    let (Some(low), Some(high)) = (near(own - SHADE_STEP), near(own + SHADE_STEP)) else {
        return Ok(0.0);
    };
    if high.l - low.l < 0.5 {
        return Ok(0.0);
    }
    let at = |shade: &Lch| {
        let mut moved = restoration.clone();
        moved.ceramic.shade = *shade;
        lightness(&moved)
    };
    Ok((at(high)? - at(low)?) / (high.l - low.l))
}
