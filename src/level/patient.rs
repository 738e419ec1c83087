//! Patients drawn from a level's ranges.

use crate::colorimetry::{Lab, Lch};
use crate::level::format::PatientRanges;
use crate::scene::{NaturalTooth, Patient, Tooth, ToothKind};
use rand::RngExt;
use statrs::distribution::{ContinuousCDF, Normal};

/// Draws a patient: centrals from the level's ranges, other teeth by their natural distance from
/// them, and a residual of its own for each tooth.
///
/// # References
/// Lateral and canine relative to the central, and the share of residual in chroma: generator
/// derived from published tooth colours (surveys differ in level, so only differences are
/// used): central minus lateral +1.7 L* (Oh et al., J Korean Acad Pediatr Dent
/// 2022;49:414-427), canines the darkest and most chromatic (Pop-Ciutrila et al., Clujul Med
/// 2015;88:537-544; Turgut et al., Niger J Clin Pract 2018). Premolars: common practice, no
/// source.
pub(crate) fn patient(
    ranges: &PatientRanges,
    teeth: &[Tooth],
    gingiva: Lch,
    stream: &mut impl rand::Rng,
) -> Patient {
    let mut uniform = || stream.random::<f64>();
    let central = Lab::from(Lch {
        l: ranges.central.l.at(uniform()),
        c: ranges.central.c.at(uniform()),
        h: ranges.central.h.at(uniform()),
    });
    let enamel = ranges.enamel_factor.at(uniform());
    let normal = Normal::standard();
    let known = ranges.teeth.as_deref().unwrap_or_default();
    let teeth = teeth
        .iter()
        .map(|&tooth| {
            let mut deviate = || normal.inverse_cdf(uniform().clamp(1e-3, 1.0 - 1e-3));
            let (dl, da, db) = position_step(tooth.kind());
            let residual_de00 = ranges.residual_sd_de00 * deviate();
            let other = ranges.residual_sd_de00 * deviate();
            // Near L* 75 one ΔE00 of lightness is 1.37 L* and one of chroma 1.8 b*.
            let body = Lab {
                l: central.l + dl + 1.37 * residual_de00,
                a: central.a + da + 0.15 * deviate(),
                b: central.b + db + 0.6 * other,
            };
            let enamel_factor = enamel * (1.0 + 0.03 * deviate());
            // Drawn all the same, so that the streams of the others do not change.
            match known.iter().find(|known| known.tooth == tooth.number()) {
                Some(known) => NaturalTooth {
                    tooth,
                    body: known.colour,
                    enamel_factor: enamel,
                    residual_de00: (known.colour.l - central.l - dl) / 1.37,
                },
                None => NaturalTooth { tooth, body: Lch::from(body), enamel_factor, residual_de00 },
            }
        })
        .collect();
    Patient { teeth, gingiva }
}

/// How far a tooth usually lies from the central incisor: L*, a*, b*. Sources: see [`patient`].
pub(crate) const fn position_step(kind: ToothKind) -> (f64, f64, f64) {
    match kind {
        ToothKind::Central => (0.0, 0.0, 0.0),
        ToothKind::Lateral => (-1.5, 0.2, 1.5),
        ToothKind::Canine => (-4.5, 1.0, 4.0),
        ToothKind::FirstPremolar => (-2.5, 0.5, 2.0),
        _ => (-3.0, 0.6, 2.4),
    }
}
