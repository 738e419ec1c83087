//! Reflectance of a smooth surface between two dielectrics, unpolarised light.
//!
//! `n` is always the *relative* index: that of the far side over that of the near side, the side
//! the word "external" looks from. `n` must be positive and finite; below 1 the near side is the
//! denser one.

/// Nearer to 1 than this the closed form loses digits and a series takes over.
const NEAR_ONE: f64 = 1e-4;

/// Relative index of a surface seen from inside `near`, leading into `far`.
#[must_use]
pub fn relative_index(near: f64, far: f64) -> f64 {
    far / near
}

/// Reflectance at normal incidence, ((n-1)/(n+1))². The same from both sides.
#[must_use]
pub fn normal_reflectance(n: f64) -> f64 {
    ((n - 1.0) / (n + 1.0)).powi(2)
}

/// Reflectance of unpolarised light that goes from index `n1` to `n2` with (n·sin θ)² = `u`, which
/// must lie below both n²: total reflection is for the caller to see.
#[must_use]
pub fn oblique_reflectance(u: f64, n1: f64, n2: f64) -> f64 {
    let (c1, c2) = ((n1 * n1 - u).max(0.0).sqrt(), (n2 * n2 - u).max(0.0).sqrt());
    // c = n·cos θ, so that r_s = (c1-c2)/(c1+c2), and r_p follows with n².
    let s = (c1 - c2) / (c1 + c2);
    let (p1, p2) = (c1 * n2 * n2, c2 * n1 * n1);
    let p = (p1 - p2) / (p1 + p2);
    0.5 * (s * s + p * p)
}

/// Reflectance for diffuse (Lambertian) light on the near side of a surface of relative index `n`.
///
/// # References
/// Closed form of 2∫R(μ)μdμ: Duntley, J Opt Soc Am 1942;32:61-70 (from memory; equal to numeric
/// integration at 30 digits).
#[must_use]
pub fn external_diffuse(n: f64) -> f64 {
    if n >= 1.0 { into_denser(n) } else { out_of_denser(1.0 / n) }
}

/// Reflectance for diffuse light on the far side of a surface of relative index `n`, total
/// reflection included: what holds light inside a material of index `n` in air.
///
/// 1 - (1 - external)/n²: as much radiance enters as leaves.
#[must_use]
pub fn internal_diffuse(n: f64) -> f64 {
    if n >= 1.0 { out_of_denser(n) } else { into_denser(1.0 / n) }
}

fn out_of_denser(n: f64) -> f64 {
    1.0 - (1.0 - into_denser(n)) / (n * n)
}

fn into_denser(n: f64) -> f64 {
    let d = n - 1.0;
    if d <= 0.0 {
        return 0.0;
    }
    if d < NEAR_ONE {
        // Expansion of the closed form; the next term is of order d³·ln d, below 1e-11.
        return d / 3.0 + d * d * (0.5 * (d / 2.0).ln() + 19.0 / 24.0);
    }
    let n2 = n * n;
    let plus = n2 + 1.0;
    // n⁴-1 and n²-1 by their factors: d is exact near 1, the powers are not.
    let n2_minus_1 = d * (n + 1.0);
    let n4_minus_1 = n2_minus_1 * plus;
    0.5 + d * (3.0 * n + 1.0) / (6.0 * (n + 1.0).powi(2))
        + n2 * n2_minus_1.powi(2) / plus.powi(3) * (d / (n + 1.0)).ln()
        - 2.0 * n2 * n * (n2 + 2.0 * n - 1.0) / (plus * n4_minus_1)
        + 8.0 * n2 * n2 * (n2 * n2 + 1.0) / (plus * n4_minus_1.powi(2)) * d.ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stays_exact_near_index_one() {
        // computed: mpmath 1.3.0, closed form at 60 digits and quad of 2R(μ)μ at 30 digits.
        for (n, expected) in [
            (1.02, 0.006_052_258_116_382_137),
            (1.001, 3.303_232_370_818_162e-4),
            (1.000_01, 3.332_802_195_072_966e-6),
        ] {
            let got = external_diffuse(n);
            assert!((got - expected).abs() < 1e-10, "n = {n}: {got} not {expected}");
        }
        assert_eq!(external_diffuse(1.0), 0.0);
        assert_eq!(internal_diffuse(1.0), 0.0);
    }

    #[test]
    fn oblique_light_meets_the_other_formulas() {
        // At the normal the two agree, and averaged over a hemisphere (∫R du over 0..1, midpoints)
        // it is the diffuse reflectance: definitions.
        for n in [1.33, 1.53, 2.15] {
            assert!((oblique_reflectance(0.0, 1.0, n) - normal_reflectance(n)).abs() < 1e-15);
            let count = 200_000;
            let mean = (0..count)
                .map(|i| oblique_reflectance((f64::from(i) + 0.5) / f64::from(count), 1.0, n))
                .sum::<f64>()
                / f64::from(count);
            assert!((mean - external_diffuse(n)).abs() < 1e-5, "{n}: {mean}");
        }
    }

    #[test]
    fn closed_form_and_series_meet() {
        let below = external_diffuse(1.0 + NEAR_ONE * (1.0 - 1e-9));
        let above = external_diffuse(1.0 + NEAR_ONE * (1.0 + 1e-9));
        assert!((above - below).abs() < 1e-10, "{below} {above}");
    }

    #[test]
    fn the_two_sides_are_one_surface() {
        // Seen from glass, air has relative index 1/n: definition.
        assert_eq!(external_diffuse(1.0 / 1.5), internal_diffuse(1.5));
        assert_eq!(internal_diffuse(1.0 / 1.5), external_diffuse(1.5));
        let n = relative_index(1.5, 2.2);
        assert!((normal_reflectance(n) - normal_reflectance(1.0 / n)).abs() < 1e-16);
    }
}
