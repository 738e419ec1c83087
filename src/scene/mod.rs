//! What is in the picture: teeth, the patient they belong to, the restoration, the light.
//!
//! Plain data. A [`Case`] is everything that optics and drawing need to know about one smile.

mod build_up;
mod case;
mod drift;
mod shift;
mod space;
mod staging;
mod tooth;

pub use build_up::{AxisChange, BuildUp};
pub use case::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Thickness, Translucency,
};
pub use drift::{Cure, Drift};
pub use shift::SpectralShift;
pub use space::Space;
pub use staging::{Framing, Lamp, Staging};
pub use tooth::{CrownDimensions, Tooth, ToothKind, ToothNumberError};
