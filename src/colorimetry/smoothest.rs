//! A reflectance for surfaces of which only the colour is known.

use super::{Illuminant, Lab, Observer, display_linear};
use crate::spectrum::{N_BANDS, Spectrum};
use nalgebra::{DMatrix, DVector};
use std::sync::LazyLock;

/// The reflectance of least squared slope that has this colour on the display under D65, 2°
/// observer; per band, relative to the perfect diffuser.
///
/// It gives soft tissue, of which colours but no spectra are published here, a plausible colour under
/// other lights. One of many metamers: for skin, gum and lip colours it lies within 0..1, for very
/// chromatic colours it may not.
///
/// # References
/// Burns, Color Res Appl 2020;45:8-21 (least slope squared).
#[must_use]
pub fn smoothest_reflectance(colour: Lab) -> Spectrum {
    let target = colour.to_linear_srgb();
    let solution = &*COEFFICIENTS * DVector::from_column_slice(&target);
    Spectrum::from_bands(std::array::from_fn(|band| solution[band]))
}

/// Bands × 3: the smoothest reflectance is linear in linear sRGB.
static COEFFICIENTS: LazyLock<DMatrix<f64>> = LazyLock::new(|| {
    let rows = N_BANDS + 3;
    let mut system = DMatrix::<f64>::zeros(rows, rows);
    // Twice the squared slope is ρᵀDρ with D the second difference, free at both ends.
    for band in 0..N_BANDS {
        let end = band == 0 || band == N_BANDS - 1;
        system[(band, band)] = if end { 2.0 } else { 4.0 };
        if band > 0 {
            system[(band, band - 1)] = -2.0;
            system[(band - 1, band)] = -2.0;
        }
        // What one band alone contributes to the colour.
        let unit = Spectrum::from_bands(std::array::from_fn(|b| f64::from(u8::from(b == band))));
        let weights = display_linear(&unit, Illuminant::D65, Observer::Cie1931);
        for (channel, weight) in weights.into_iter().enumerate() {
            system[(N_BANDS + channel, band)] = weight;
            system[(band, N_BANDS + channel)] = weight;
        }
    }
    let inverse = system.try_inverse().expect("a constant, regular system");
    inverse.view((0, N_BANDS), (N_BANDS, 3)).into_owned()
});

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colorimetry::ciede2000;

    #[test]
    fn soft_tissue_gets_a_reflectance_of_its_colour() {
        // Attached gingiva: Ito, Marx, Cheng, Wee, J Prosthodont (120 people); grey.
        for (l, a, b) in
            [(51.0, 27.7, 18.3), (61.4, 24.3, 17.6), (36.1, 21.0, 16.0), (50.0, 0.0, 0.0)]
        {
            let wanted = Lab { l, a, b };
            let spectrum = smoothest_reflectance(wanted);
            assert!(spectrum.bands().iter().all(|v| (0.0..1.0).contains(v)), "{spectrum:?}");
            let got = Lab::on_display(&spectrum, Illuminant::D65, Observer::Cie1931);
            assert!(ciede2000(wanted, got).de00 < 1e-6, "{wanted:?} {got:?}");
        }
        let grey = smoothest_reflectance(Lab { l: 50.0, a: 0.0, b: 0.0 });
        let (low, high) = (grey.bands().iter().copied().fold(1.0, f64::min), grey.max());
        assert!(high - low < 1e-9, "a grey is flat: {low} to {high}");
    }
}
