//! Tristimulus values of reflecting objects by plain summation over the tabulated bands.

use super::{Illuminant, Observer};
use crate::spectrum::{
    BAND_VECTORS, BandVectors, N_BANDS, N_SAMPLES, Samples, Spectrum, VectorWeights, interpolation,
    wavelength_nm,
};
use std::sync::LazyLock;

/// CIE XYZ tristimulus values on the scale where the perfect diffuser has Y = 100.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Xyz {
    /// X.
    pub x: f64,
    /// Y, luminance factor in percent.
    pub y: f64,
    /// Z.
    pub z: f64,
}

impl Xyz {
    pub(super) const fn from_array([x, y, z]: [f64; 3]) -> Self {
        Self { x, y, z }
    }

    pub(super) const fn to_array(self) -> [f64; 3] {
        [self.x, self.y, self.z]
    }
}

/// Which bands a tristimulus sum runs over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Summation {
    /// All 81 bands, 380 to 780 nm every 5 nm. Used everywhere unless a name says otherwise.
    Full5,
    /// The 31 bands 400 to 700 nm every 10 nm, as published 10 nm data are often evaluated.
    ///
    /// Never meaningful under [`Illuminant::Fl11`]: its lines fall between the bands and errors
    /// reach several CIEDE2000 units.
    Part10,
}

impl Summation {
    /// Both summations.
    pub const ALL: [Self; 2] = [Self::Full5, Self::Part10];

    fn includes(self, band: usize) -> bool {
        match self {
            Self::Full5 => true,
            Self::Part10 => {
                let nm = wavelength_nm(band);
                // Band 0 is at 380 nm, so even bands are the multiples of 10 nm.
                band.is_multiple_of(2) && (400.0..=700.0).contains(&nm)
            }
        }
    }
}

/// Adds up three weighted sums at once; `weights` and `values` run over the same bands.
pub(super) fn weighted_sums(weights: &[[f64; 3]; N_BANDS], values: &Spectrum) -> [f64; 3] {
    let mut sums = [0.0; 3];
    for (weight, value) in weights.iter().zip(values.bands()) {
        sums[0] += weight[0] * value;
        sums[1] += weight[1] * value;
        sums[2] += weight[2] * value;
    }
    sums
}

/// Weights on samples that do what `weights` do on the bands of the smooth spectrum through them.
pub(super) fn on_samples(weights: &[[f64; 3]; N_BANDS]) -> [[f64; 3]; N_SAMPLES] {
    let rows = interpolation();
    std::array::from_fn(|sample| {
        std::array::from_fn(|i| {
            weights.iter().zip(rows).map(|(weight, row)| weight[i] * row[sample]).sum()
        })
    })
}

/// [`weighted_sums`] over samples.
#[inline]
pub(super) fn weighted_sample_sums(weights: &[[f64; 3]; N_SAMPLES], values: &Samples) -> [f64; 3] {
    let mut sums = [0.0; 3];
    for (weight, value) in weights.iter().zip(values) {
        sums[0] += weight[0] * value;
        sums[1] += weight[1] * value;
        sums[2] += weight[2] * value;
    }
    sums
}

/// XYZ of a smooth reflectance factor given by its samples: all 81 bands by cubic interpolation.
#[must_use]
pub fn xyz_of_samples(reflectance: &Samples, illuminant: Illuminant, observer: Observer) -> Xyz {
    static WEIGHTS: LazyLock<[[[[f64; 3]; N_SAMPLES]; 2]; 5]> = LazyLock::new(|| {
        Illuminant::ALL.map(|illuminant| {
            Observer::ALL.map(|observer| {
                on_samples(TristimulusWeights::of(illuminant, observer, Summation::Full5).bands())
            })
        })
    });
    let weights = &WEIGHTS[illuminant as usize][observer as usize];
    Xyz::from_array(weighted_sample_sums(weights, reflectance))
}

/// Weights W(λ) = k·S(λ)·c̄(λ) of one light and one observer: XYZ of a reflectance is one weighted
/// sum.
///
/// k = 100 / Σ S·ȳ, without trapezoid ends and without bandpass correction.
///
/// # References
/// CIE 015:2018, tristimulus values by summation.
#[derive(Debug, Clone, PartialEq)]
pub struct TristimulusWeights {
    weights: [[f64; 3]; N_BANDS],
    white: Xyz,
}

impl TristimulusWeights {
    /// Weights for any relative spectral power distribution with some power where ȳ > 0; one
    /// without any gives values that are not numbers.
    #[must_use]
    pub fn new(spectral_power: &Spectrum, observer: Observer, summation: Summation) -> Self {
        let cmf = observer.colour_matching_functions();
        let product = |band: usize, c: &Spectrum| {
            if summation.includes(band) { spectral_power[band] * c[band] } else { 0.0 }
        };
        let k = 100.0 / (0..N_BANDS).map(|band| product(band, &cmf[1])).sum::<f64>();
        let weights =
            std::array::from_fn(|band| std::array::from_fn(|i| k * product(band, &cmf[i])));
        let white = Xyz::from_array(weighted_sums(&weights, &Spectrum::constant(1.0)));
        Self { weights, white }
    }

    /// The stored weights of a tabulated illuminant.
    #[must_use]
    pub fn of(illuminant: Illuminant, observer: Observer, summation: Summation) -> &'static Self {
        static TABULATED: LazyLock<[[[TristimulusWeights; 2]; 2]; 5]> = LazyLock::new(|| {
            Illuminant::ALL.map(|illuminant| {
                Observer::ALL.map(|observer| {
                    Summation::ALL.map(|summation| {
                        TristimulusWeights::new(illuminant.spectrum(), observer, summation)
                    })
                })
            })
        });
        &TABULATED[illuminant as usize][observer as usize][summation as usize]
    }

    /// XYZ of a reflectance factor (0..1 per band, the perfect diffuser is 1).
    #[must_use]
    pub fn xyz(&self, reflectance: &Spectrum) -> Xyz {
        Xyz::from_array(weighted_sums(&self.weights, reflectance))
    }

    /// XYZ of the perfect diffuser, Y = 100 within rounding.
    #[must_use]
    pub const fn white(&self) -> Xyz {
        self.white
    }

    pub(super) const fn bands(&self) -> &[[f64; 3]; N_BANDS] {
        &self.weights
    }
}

/// XYZ of a reflectance factor (0..1 per band) by the full 5 nm sum.
///
/// Allocates nothing; about 250 multiplications.
///
/// # References
/// CIE 015:2018.
#[must_use]
pub fn xyz(reflectance: &Spectrum, illuminant: Illuminant, observer: Observer) -> Xyz {
    TristimulusWeights::of(illuminant, observer, Summation::Full5).xyz(reflectance)
}

/// [`xyz`] of a reflectance in vectors, to about 1e-6 of it.
#[must_use]
#[inline]
pub fn xyz_of_vectors(
    reflectance: &BandVectors,
    illuminant: Illuminant,
    observer: Observer,
) -> Xyz {
    static VECTORS: LazyLock<[[VectorWeights<BAND_VECTORS>; 2]; 5]> = LazyLock::new(|| {
        Illuminant::ALL.map(|illuminant| {
            Observer::ALL.map(|observer| {
                let weights = TristimulusWeights::of(illuminant, observer, Summation::Full5);
                VectorWeights::new(weights.bands())
            })
        })
    });
    Xyz::from_array(VECTORS[illuminant as usize][observer as usize].sums(reflectance))
}

/// XYZ of the perfect diffuser by the full 5 nm sum, the white that goes with [`xyz`].
#[must_use]
pub fn white_point(illuminant: Illuminant, observer: Observer) -> Xyz {
    TristimulusWeights::of(illuminant, observer, Summation::Full5).white()
}
