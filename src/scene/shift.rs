//! A tooth that differs from its twin by a spectral shift alone.

use crate::scene::Tooth;

/// Multiplies a tooth's own reflectance by smooth spectra that change slowly from neck to edge.
///
/// `R′(λ) = R(λ) · exp(level + tilt · t(λ) − dip · d(λ))` with `t` a straight line that is −1 at
/// 380 nm and +1 at 740 nm, and `d` a Gaussian of standard deviation 45 nm at 545 nm. The three
/// numbers move value, yellow against blue, and green against red. They are given for the middle of
/// each third, because the same factor is a different colour difference on thirds that differ in
/// colour; between the middles they change evenly. No edge or texture is added or lost, so
/// colour is all there is to see. No restoration is meant by it; it is a measuring stimulus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpectralShift {
    /// The tooth that is shifted.
    pub tooth: Tooth,
    /// Level, tilt and dip in the middle of the cervical, middle and incisal third: natural
    /// logarithms of the factor on the whole spectrum, of that at 740 nm over that at 560 nm, and of
    /// the depth at 545 nm.
    pub thirds: [[f64; 3]; 3],
}

impl SpectralShift {
    /// Level, tilt and dip at a height, 0 at the gingival margin to 1 at the incisal edge.
    #[must_use]
    pub fn at(&self, height: f64) -> [f64; 3] {
        let place = (3.0 * height - 0.5).clamp(0.0, 2.0);
        let from = (place.floor() as usize).min(1);
        let share = place - from as f64;
        let (above, below) = (self.thirds[from], self.thirds[from + 1]);
        std::array::from_fn(|i| above[i] + share * (below[i] - above[i]))
    }

    /// The factor of a level, tilt and dip at a wavelength, nm; above 0.
    #[must_use]
    pub fn factor([level, tilt, dip]: [f64; 3], wavelength_nm: f64) -> f64 {
        let line = (wavelength_nm - 560.0) / 180.0;
        let green = (-0.5 * ((wavelength_nm - 545.0) / 45.0).powi(2)).exp();
        (level + tilt * line - dip * green).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_thirds_are_met_in_their_middles_and_held_beyond_the_outer_ones() {
        let thirds = [[0.1, 0.0, 0.3], [0.2, -0.1, 0.0], [0.4, 0.2, 0.1]];
        let shift = SpectralShift { tooth: Tooth::new(11).unwrap(), thirds };
        for (height, third) in [(0.0, 0), (1.0 / 6.0, 0), (0.5, 1), (5.0 / 6.0, 2), (1.0, 2)] {
            for (got, wanted) in shift.at(height).iter().zip(thirds[third]) {
                assert!((got - wanted).abs() < 1e-12, "{height}");
            }
        }
        assert!((shift.at(1.0 / 3.0)[0] - 0.15).abs() < 1e-12);
    }
}
