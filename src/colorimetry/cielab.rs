//! CIELAB and its polar form.

use super::{Illuminant, Observer, Xyz, white_point, xyz};
use crate::spectrum::Spectrum;
use palette::convert::{FromColorUnclamped, IntoColorUnclamped};
use palette::white_point::E;
use serde::{Deserialize, Serialize};

/// CIELAB coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness L*, 0..100.
    pub l: f64,
    /// Red-green a*.
    pub a: f64,
    /// Yellow-blue b*.
    pub b: f64,
}

/// CIELAB in polar form: lightness, chroma, hue angle in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lch {
    /// Lightness L*, 0..100.
    #[serde(rename = "L")]
    pub l: f64,
    /// Chroma C*ab.
    #[serde(rename = "C")]
    pub c: f64,
    /// Hue angle hab, degrees 0..360.
    #[serde(rename = "h")]
    pub h: f64,
}

impl Lab {
    /// CIELAB of tristimulus values relative to a white (both Y = 100 scale, white all positive).
    ///
    /// # References
    /// ISO/CIE 11664-4: knee at (6/29)³.
    #[must_use]
    pub fn from_xyz(xyz: Xyz, white: Xyz) -> Self {
        // palette fixes its whites by type and to five digits. Under the equal-energy type its
        // white is (1, 1, 1), so that the division by our own white is the only one that counts.
        // Unclamped: the plain conversions cut XYZ at 0 and at their white, a* and b* at 128.
        let relative =
            palette::Xyz::<E, f64>::new(xyz.x / white.x, xyz.y / white.y, xyz.z / white.z);
        let lab = palette::Lab::<E, f64>::from_color_unclamped(relative);
        Self { l: lab.l, a: lab.a, b: lab.b }
    }

    /// Tristimulus values (Y = 100 scale) relative to a white, the inverse of [`Lab::from_xyz`].
    ///
    /// # References
    /// ISO/CIE 11664-4.
    #[must_use]
    pub fn to_xyz(self, white: Xyz) -> Xyz {
        let relative: palette::Xyz<E, f64> = palette_lab(self).into_color_unclamped();
        Xyz { x: relative.x * white.x, y: relative.y * white.y, z: relative.z * white.z }
    }

    /// CIELAB of a reflectance factor, relative to the white of the same light and observer.
    ///
    /// This is what an instrument reports. For what is seen on the display under the light see
    /// [`Lab::on_display`].
    #[must_use]
    pub fn from_reflectance(
        reflectance: &Spectrum,
        illuminant: Illuminant,
        observer: Observer,
    ) -> Self {
        Self::from_xyz(xyz(reflectance, illuminant, observer), white_point(illuminant, observer))
    }
}

fn palette_lab(lab: Lab) -> palette::Lab<E, f64> {
    palette::Lab::new(lab.l, lab.a, lab.b)
}

impl From<Lab> for Lch {
    /// Hue is 0 where chroma is 0.
    fn from(lab: Lab) -> Self {
        let lch = palette::Lch::<E, f64>::from_color_unclamped(palette_lab(lab));
        let h = lch.hue.into_positive_degrees();
        // A hue a hair below 0 rounds up to 360.
        Self { l: lch.l, c: lch.chroma, h: if h < 360.0 { h } else { 0.0 } }
    }
}

impl From<Lch> for Lab {
    /// A chroma below 0 counts as 0.
    fn from(lch: Lch) -> Self {
        let lab =
            palette::Lab::from_color_unclamped(palette::Lch::<E, f64>::new(lch.l, lch.c, lch.h));
        Self { l: lab.l, a: lab.a, b: lab.b }
    }
}

/// Chroma C*ab below which a colour is called neutral: the hue angle of a grey is undefined, and that
/// of a near grey turns by tens of degrees with steps that nobody sees. A step of 1 in a* or b* turns
/// it by 19° here. A setting of this program.
const NEUTRAL_BELOW: f64 = 3.0;

impl Lch {
    /// Whether the colour is far enough from grey for its hue to mean anything.
    #[must_use]
    pub fn has_hue(self) -> bool {
        self.c >= NEUTRAL_BELOW
    }

    /// The colour's name, rounded to whole units: `L78 C14 h88`; `L78 C1, no hue` for a near grey.
    #[must_use]
    pub fn name(self) -> String {
        // Whole numbers first, so that 359.7° is h0 and nothing reads "-0".
        let [l, c, h] = [self.l, self.c, self.h].map(|v| v.round() as i64);
        if self.has_hue() {
            format!("L{l} C{c} h{}", h.rem_euclid(360))
        } else {
            format!("L{l} C{c}, no hue")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_round_to_whole_units() {
        let name = |l, c, h| Lch { l, c, h }.name();
        assert_eq!(name(78.4, 13.6, 88.0), "L78 C14 h88");
        assert_eq!(name(50.2, 6.4, 359.7), "L50 C6 h0");
        // The hue of a near grey is undefined.
        assert_eq!(name(-0.2, 0.4, 359.7), "L0 C0, no hue");
        assert_eq!(name(40.0, 2.6, 204.1), "L40 C3, no hue");
    }

    #[test]
    fn hue_stays_below_360() {
        let h = Lch::from(Lab { l: 50.0, a: 10.0, b: -1e-20 }).h;
        assert!((0.0..360.0).contains(&h), "{h}");
        assert_eq!(Lch::from(Lab { l: 50.0, a: 0.0, b: 0.0 }).h, 0.0);
    }

    #[test]
    fn polar_form_of_a_right_triangle() {
        // Analytic: (3, 4) has chroma 5 and hue atan(4/3).
        let lch = Lch::from(Lab { l: 70.0, a: 3.0, b: 4.0 });
        assert!((lch.c - 5.0).abs() < 1e-14);
        assert!((lch.h - (4.0_f64 / 3.0).atan().to_degrees()).abs() < 1e-12);
        let back = Lab::from(lch);
        assert!((back.a - 3.0).abs() < 1e-13 && (back.b - 4.0).abs() < 1e-13);
    }
}
