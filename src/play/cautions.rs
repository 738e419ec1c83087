//! What a learner must be told wherever the work could mislead.

/// Cautions, shown in the help text and on the first screen.
pub const CAUTIONS: &str = "\
Teaching software: not a medical device and not an instrument for taking shades in the clinic.
Practice on a screen does not prove clinical skill. The materials are invented and only resemble
their class; real ceramics follow their maker's instructions. A poor result says nothing certain
about colour vision: if in doubt, see an eye-care professional. Decisions about treatment belong
to licensed practitioners under local rules.";
