//! Whiteness of teeth.

use super::Lab;

/// Whiteness index for dentistry `WI_D = 0.511 L* − 2.324 a* − 1.100 b*`; higher is whiter.
///
/// Stated for CIELAB under D65; the 50:50 acceptability threshold of a change is 2.6.
///
/// # References
/// Pérez et al. 2016, Dent Mater 32:461-467.
#[must_use]
pub fn wi_d(lab: Lab) -> f64 {
    0.511 * lab.l - 2.324 * lab.a - 1.100 * lab.b
}
