//! Why an option looks as it does.

use super::options::{Candidate, Field};
use crate::bake::{BakeError, Truth, ZoneDifference};
use crate::material::Library;
use crate::psychophysics::PERCEPTIBILITY_DE00;
use crate::report::cause_of;

/// Why an option looks as it does on the tooth where it is furthest off.
pub(super) fn cause(
    field: &Field<'_>,
    candidate: &Candidate,
    library: &Library,
) -> Result<String, BakeError> {
    let place = candidate.worst();
    let difference = candidate.difference();
    if difference.de00 < PERCEPTIBILITY_DE00 {
        return Ok("it differs by less than most people see.".to_owned());
    }
    let natural = &field.restored[place];
    let restoration = field.restoration(candidate, natural.tooth);
    let zones = field.zones(candidate, place);
    let truth = Truth {
        tooth: natural.tooth,
        difference,
        zones,
        // What a sentence does not need is left at nothing.
        percentiles: [0.0; 3],
        contralateral: ZoneDifference::default(),
    };
    cause_of(&field.case, natural, &restoration, &truth, library)
}
