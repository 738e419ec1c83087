//! Stacking on modes: a few small matrices per band, no allocation.

use super::modes::{BACK, INNER, MODES, SYMMETRIC, TOP};
use crate::spectrum::LANES;
use std::ops::{Add, Div, Mul, Sub};
use wide::f32x8;

/// What stacking calculates with: one band, or several side by side.
pub trait Number:
    Copy + From<f32> + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
}

impl<T> Number for T where
    T: Copy + From<f32> + Add<Output = T> + Sub<Output = T> + Mul<Output = T> + Div<Output = T>
{
}

type Vector<T> = [T; MODES];
type Matrix<T> = [[T; MODES]; MODES];

/// Reflection of something on the modes of a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JointReflection<T = f64>([T; SYMMETRIC]);

/// Top layer at one band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TopLayer<T = f64>(pub(in crate::optics) [T; TOP]);

/// Inner layer at one band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InnerLayer<T = f64>(pub(in crate::optics) [T; INNER]);

const fn at(i: usize, j: usize) -> usize {
    if i >= j { i * (i + 1) / 2 + j } else { j * (j + 1) / 2 + i }
}

#[inline]
fn full<T: Number>(symmetric: &[T]) -> Matrix<T> {
    std::array::from_fn(|i| std::array::from_fn(|j| symmetric[at(i, j)]))
}

#[inline]
fn dot<T: Number>(a: &Vector<T>, b: &Vector<T>) -> T {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[inline]
fn times<T: Number>(a: &Matrix<T>, b: &Matrix<T>) -> Matrix<T> {
    std::array::from_fn(|i| {
        std::array::from_fn(|j| a[i][0] * b[0][j] + a[i][1] * b[1][j] + a[i][2] * b[2][j])
    })
}

#[inline]
fn apply<T: Number>(a: &Matrix<T>, x: &Vector<T>) -> Vector<T> {
    std::array::from_fn(|i| dot(&a[i], x))
}

/// (1 - A)⁻¹ by cofactors.
#[inline]
fn opened<T: Number>(a: &Matrix<T>) -> Matrix<T> {
    let m: Matrix<T> = std::array::from_fn(|i| {
        std::array::from_fn(|j| T::from(if i == j { 1.0 } else { 0.0 }) - a[i][j])
    });
    let minor = |i: usize, j: usize| {
        let (r, s) = ((i + 1) % 3, (i + 2) % 3);
        let (c, d) = ((j + 1) % 3, (j + 2) % 3);
        m[r][c] * m[s][d] - m[r][d] * m[s][c]
    };
    let cofactors: Matrix<T> = std::array::from_fn(|i| std::array::from_fn(|j| minor(i, j)));
    let scale = T::from(1.0) / dot(&m[0], &cofactors[0]);
    std::array::from_fn(|i| std::array::from_fn(|j| cofactors[j][i] * scale))
}

impl<T: Number> JointReflection<T> {
    /// A Lambertian backing of reflectance `rho`, 0..1, in optical contact.
    #[must_use]
    pub fn lambertian(rho: T) -> Self {
        let mut r = [T::from(0.0); SYMMETRIC];
        r[0] = rho;
        Self(r)
    }

    pub(in crate::optics) const fn new(numbers: [T; BACK]) -> Self {
        Self(numbers)
    }

    /// What `layer` lying on this reflects at its upper joint.
    #[must_use]
    #[inline]
    pub fn under(&self, layer: &InnerLayer<T>) -> Self {
        let below = full(&self.0);
        let r = full(&layer.0[..SYMMETRIC]);
        let t = full(&layer.0[SYMMETRIC..]);
        // t·Rb·(1 - r·Rb)⁻¹·t
        let between = times(&below, &opened(&times(&r, &below)));
        let returned = times(&t, &times(&between, &t));
        let half = T::from(0.5);
        let mut out = [T::from(0.0); SYMMETRIC];
        for i in 0..MODES {
            for j in 0..=i {
                out[at(i, j)] = layer.0[at(i, j)] + half * (returned[i][j] + returned[j][i]);
            }
        }
        Self(out)
    }

    /// Flux returned per unit of Lambertian flux.
    #[must_use]
    pub const fn albedo(&self) -> T {
        self.0[0]
    }
}

impl<T: Number> TopLayer<T> {
    /// Measured reflectance on something below: light along the normal in, everything that leaves
    /// collected, specular excluded, 0..1.
    #[must_use]
    #[inline]
    pub fn over(&self, below: &JointReflection<T>) -> T {
        let source: Vector<T> = std::array::from_fn(|i| self.0[1 + i]);
        let sink: Vector<T> = std::array::from_fn(|i| self.0[1 + MODES + i]);
        let bottom = full(&self.0[1 + 2 * MODES..]);
        let below = full(&below.0);
        let inside = apply(&opened(&times(&bottom, &below)), &source);
        self.0[0] + dot(&sink, &apply(&below, &inside))
    }
}

impl JointReflection<f32x8> {
    /// Eight bands side by side.
    #[must_use]
    pub fn from_lanes(bands: [JointReflection; LANES]) -> Self {
        Self(std::array::from_fn(|k| f32x8::from(bands.map(|band| band.0[k] as f32))))
    }
}

impl TopLayer {
    /// Measured reflectance on a Lambertian backing of reflectance `rho`, and its slopes along the
    /// numbers that describe this layer. `slopes` holds the slopes of those numbers along
    /// any unknowns.
    #[must_use]
    pub(crate) fn over_lambertian<const N: usize>(
        &self,
        rho: f64,
        slopes: &[[f64; TOP]; N],
    ) -> (f64, [f64; N]) {
        let (source, sink, bottom) = (self.0[1], self.0[1 + MODES], self.0[1 + 2 * MODES]);
        let open = 1.0 - bottom * rho;
        let gain = rho / open;
        let value = self.0[0] + source * sink * gain;
        let along = |d: &[f64; TOP]| {
            d[0] + gain
                * (d[1] * sink + source * d[1 + MODES] + source * sink * gain * d[1 + 2 * MODES])
        };
        (value, std::array::from_fn(|i| along(&slopes[i])))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::transport::modes::{Place, Projection, SALIVA_INDEX};
    use crate::optics::transport::solve::{BandLayer, over_backing};

    fn top(n: f64, g: f64, joint: f64, a: f64, s: f64) -> TopLayer {
        TopLayer(Projection::new(n, g, Place::Top { joint }, 12).solve(a, s).try_into().unwrap())
    }

    fn inner(n: f64, g: f64, joint: f64, a: f64, s: f64) -> InnerLayer {
        InnerLayer(
            Projection::new(n, g, Place::Inner { joint }, 12).solve(a, s).try_into().unwrap(),
        )
    }

    fn back(n: f64, g: f64, joint: f64, a: f64, s: f64) -> JointReflection {
        let place = Place::Back { joint, mouth: 0.03 };
        JointReflection(Projection::new(n, g, place, 12).solve(a, s).try_into().unwrap())
    }

    #[test]
    fn modes_lose_little() {
        let band = |n: f64, g: f64, a: f64, s: f64| BandLayer {
            absorption: a,
            scattering: s,
            anisotropy: g,
            refractive_index: n,
        };
        let wet = band(SALIVA_INDEX, 0.0, 0.0, 0.0);
        // Natural: enamel 0.8 mm, dentin 1 and 3 mm, enamel 0.6 mm, saliva, mouth.
        for (enamel, dentin, rear) in
            [(0.8, 3.0, 0.6), (0.3, 3.0, 0.6), (0.8, 0.5, 0.6), (1.0, 0.05, 1.0)]
        {
            for (ka, kd) in [(0.01, 0.05), (0.05, 0.4)] {
                let e = |x: f64| band(1.63, 0.68, ka * x, 6.6 * x);
                let d = band(1.54, 0.93, kd * dentin, 50.0 * dentin);
                let exact = over_backing(&[e(enamel), d, e(rear), wet], 0.03, 16);
                let joint = 1.54;
                let b = back(1.63, 0.68, joint, ka * rear, 6.6 * rear);
                let l = inner(1.54, 0.93, joint, d.absorption, d.scattering);
                let t = top(1.63, 0.68, joint, ka * enamel, 6.6 * enamel);
                let got = t.over(&b.under(&l));
                let exact = exact.normal - exact.specular;
                assert!((got - exact).abs() < 3e-4, "{got} not {exact}");
            }
        }
        for n in [1.52, 1.53, 2.15] {
            for (ceramic, cement_s) in [(0.3, 0.1), (0.5, 0.1), (0.5, 4.0), (1.0, 0.1)] {
                for ka in [0.02, 0.3] {
                    let sc = if n > 2.0 { 8.0 } else { 3.0 } * ceramic / (1.0 - 0.7);
                    let c = band(n, 0.7, ka * ceramic, sc);
                    let f = band(1.52, 0.7, 0.01, cement_s);
                    let p = band(1.54, 0.93, 0.3 * 2.0, 50.0 * 2.0);
                    let exact =
                        over_backing(&[c, f, p, band(1.63, 0.68, 0.01, 3.0), wet], 0.03, 16);
                    let joint = 1.52;
                    let b = back(1.63, 0.68, joint, 0.01, 3.0);
                    let l = inner(1.54, 0.93, joint, p.absorption, p.scattering);
                    let m = inner(1.52, 0.7, joint, f.absorption, f.scattering);
                    let t = top(n, 0.7, joint, c.absorption, c.scattering);
                    let got = t.over(&b.under(&l).under(&m));
                    let exact = exact.normal - exact.specular;
                    assert!((got - exact).abs() < 1e-4, "{got} not {exact}");
                }
            }
        }
    }
}
