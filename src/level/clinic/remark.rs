//! Saying where a colour is not the wanted one.

use crate::colorimetry::{Lab, Lch, PERCEPTIBILITY_DE00, ciede2000};

/// A difference in a colour that is worth a remark, ΔE00: a quarter of what half of people see.
pub(crate) const REMARK_DE00: f64 = 0.25 * PERCEPTIBILITY_DE00;

/// Says so where a colour is not the wanted one.
pub(crate) fn remark(what: &str, wanted: Lch, reached: Lch) -> Option<String> {
    let off = ciede2000(Lab::from(wanted), Lab::from(reached)).de00;
    (off > REMARK_DE00).then(|| {
        let (wanted, reached) = (wanted.name(), reached.name());
        format!("{what} cannot have {wanted}; the nearest is used, {reached} (ΔE00 {off:.1})")
    })
}
