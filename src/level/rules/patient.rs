//! What the patients of a level must be.

use crate::level::checker::Checker;
use crate::level::format::{LchRanges, PatientRanges};
use crate::level::limits::check_range;
use crate::scene::Tooth;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

// Natural centrals lie well inside these; outside them a file is more likely wrong than unusual.
const LIGHTNESS: RangeInclusive<f64> = 55.0..=90.0;
const CHROMA: RangeInclusive<f64> = 4.0..=34.0;
const HUE: RangeInclusive<f64> = 70.0..=100.0;
const ENAMEL_FACTOR: RangeInclusive<f64> = 0.4..=1.6;
const RESIDUAL_SD_DE00: RangeInclusive<f64> = 0.0..=3.0;
/// Below this a residual is a slip rather than a small one: a hundredth of a just noticeable step.
const LEAST_RESIDUAL_SD_DE00: f64 = 0.01;

pub(super) fn check_patient(patient: &PatientRanges, checker: &mut Checker<'_>) {
    let LchRanges { l, c, h } = patient.central;
    check_range("patient.central.L", l, LIGHTNESS, "", checker);
    check_range("patient.central.C", c, CHROMA, "", checker);
    check_range("patient.central.h", h, HUE, "°", checker);
    let sd = patient.residual_sd_de00;
    checker.within("patient.residual_sd_de00", sd, RESIDUAL_SD_DE00, "");
    if sd > 0.0 && sd < LEAST_RESIDUAL_SD_DE00 {
        checker.error(
            "patient.residual_sd_de00",
            format!("residual_sd_de00 is {sd}, far below what anybody could see or measure"),
            format!("write 0.0 for none, or at least {LEAST_RESIDUAL_SD_DE00}; teeth differ by about 0.6"),
        );
    }
    check_range("patient.enamel_factor", patient.enamel_factor, ENAMEL_FACTOR, "", checker);
    let mut seen = BTreeSet::new();
    for (index, known) in patient.teeth.iter().flatten().enumerate() {
        let path = format!("patient.teeth[{index}]");
        if let Err(error) = Tooth::new(known.tooth) {
            let help = "use two digits: quadrant 1 or 2, then 1 (central) to 8";
            checker.error(&format!("{path}.tooth"), error.to_string(), help);
        }
        if !seen.insert(known.tooth) {
            let message = format!("tooth {} is named twice", known.tooth);
            checker.error(&format!("{path}.tooth"), message, "remove one");
        }
        checker.within(&format!("{path}.colour.L"), known.colour.l, 0.0..=100.0, "");
        checker.within(&format!("{path}.colour.C"), known.colour.c, 0.0..=100.0, "");
        checker.within(&format!("{path}.colour.h"), known.colour.h, 0.0..=360.0, "°");
    }
}
