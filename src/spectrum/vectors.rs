//! Spectra in single precision, eight bands to a vector, for millions of stacks.

use super::{N_BANDS, N_SAMPLES, Samples, Spectrum};
use wide::f32x8;

/// Bands in a vector.
pub const LANES: usize = 8;
/// Vectors that hold the samples of a spectrum.
pub const SAMPLE_VECTORS: usize = N_SAMPLES.div_ceil(LANES);
/// Vectors that hold all bands of a spectrum.
pub const BAND_VECTORS: usize = N_BANDS.div_ceil(LANES);

/// All bands in vectors; what is left of the last one repeats the last band.
pub type BandVectors = [f32x8; BAND_VECTORS];
/// The samples in vectors; what is left of the last one repeats the last sample.
pub type SampleVectors = [f32x8; SAMPLE_VECTORS];

/// Values in vectors of single precision, the last value repeated to the end.
///
/// # Panics
/// When there are no values.
#[must_use]
pub fn vectors<const V: usize>(values: &[f64]) -> [f32x8; V] {
    let last = values.len() - 1;
    std::array::from_fn(|v| {
        f32x8::from(std::array::from_fn::<f32, LANES, _>(|i| {
            values[(v * LANES + i).min(last)] as f32
        }))
    })
}

impl Spectrum {
    /// The bands in vectors.
    #[must_use]
    pub fn vectors(&self) -> BandVectors {
        vectors(self.bands())
    }

    /// The spectrum that vectors hold.
    #[must_use]
    pub fn from_vectors(vectors: &BandVectors) -> Self {
        let lanes = vectors.map(f32x8::to_array);
        Self::from_bands(std::array::from_fn(|i| f64::from(lanes[i / LANES][i % LANES])))
    }
}

/// The samples that vectors hold.
#[must_use]
#[inline]
pub fn samples_of(vectors: &SampleVectors) -> Samples {
    let lanes = vectors.map(f32x8::to_array);
    std::array::from_fn(|i| f64::from(lanes[i / LANES][i % LANES]))
}

/// Three weighted sums over vectors, such as tristimulus values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VectorWeights<const V: usize>([[f32x8; V]; 3]);

impl<const V: usize> VectorWeights<V> {
    /// Weights of bands or samples, at most as many as the vectors hold; none beyond their end.
    #[must_use]
    pub fn new(weights: &[[f64; 3]]) -> Self {
        Self(std::array::from_fn(|channel| {
            std::array::from_fn(|v| {
                f32x8::from(std::array::from_fn::<f32, LANES, _>(|i| {
                    weights.get(v * LANES + i).map_or(0.0, |w| w[channel] as f32)
                }))
            })
        }))
    }

    /// The three sums, to about 1e-6 of them.
    #[must_use]
    #[inline]
    pub fn sums(&self, values: &[f32x8; V]) -> [f64; 3] {
        self.0.map(|weights| {
            let mut sum = weights[0] * values[0];
            for v in 1..V {
                sum += weights[v] * values[v];
            }
            f64::from(sum.reduce_add())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vectors_hold_what_was_put_in() {
        // Definition: every band is back to single precision, and sums are sums.
        let spectrum = Spectrum::from_fn(|nm| nm / 1000.0);
        let back = Spectrum::from_vectors(&spectrum.vectors());
        assert!((back - spectrum).map(f64::abs).max() < 1e-7);
        let samples = spectrum.samples();
        let same = samples_of(&vectors(&samples));
        assert!(samples.iter().zip(same).all(|(a, b)| (a - b).abs() < 1e-7));
        let weights: Vec<[f64; 3]> = (0..N_BANDS).map(|i| [1.0, i as f64, 0.0]).collect();
        let sums =
            VectorWeights::<BAND_VECTORS>::new(&weights).sums(&Spectrum::constant(0.5).vectors());
        assert_eq!(sums, [40.5, 1620.0, 0.0]);
    }
}
