//! What a trial says of a form's smile that the form does not.

use crate::bake::ZoneDifference;
use crate::scene::Tooth;

/// What a trial says of a form's smile that the form does not.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotTheItem {
    /// What names its random streams is no item's.
    #[error("its seed key names no item of a form in its block")]
    SeedKey,
    /// Its form is not its session's.
    #[error("it is of form seed {found}, and its session of {session}")]
    Seed {
        /// The seed of its form.
        found: u64,
        /// The seed of its session.
        session: u64,
    },
    /// Its session names no form.
    #[error("its session is of no form")]
    NoForm,
    /// Its session was planned for so many smiles.
    #[error("no form has the {0} items of its session")]
    Planned(u32),
    /// The course is known, and has no such form.
    #[error(
        "course {course} has no form \"{}\" of seed {seed} with {planned} items; gather with the course file \
         that was sat",
        crate::printable::printable(form)
    )]
    OtherCourse {
        /// The course's id.
        course: String,
        /// The form's id.
        form: String,
        /// Its seed.
        seed: u64,
        /// Smiles that the session was planned for.
        planned: u32,
    },
    /// Why the form cannot be made, in words.
    #[error("{0}")]
    Unmade(String),
    /// The form is too short.
    #[error("a form of {0} items has no such one")]
    NoItem(u32),
    /// A form shows so many teeth.
    #[error("a form shows {0} teeth")]
    Teeth(usize),
    /// The tooth and its position do not go together.
    #[error("the tooth answered is not where it says")]
    Place,
    /// Nothing was restored in this item.
    #[error("item {0} of its form has no restoration")]
    Natural(u32),
    /// Another tooth was restored in this item.
    #[error("item {item} of its form restores tooth {tooth}, no other")]
    Tooth {
        /// The item.
        item: u32,
        /// Its restored tooth.
        tooth: Tooth,
    },
    /// The difference is not the item's.
    #[error(
        "item {item} of its form is {asked} ΔE00 {direction}, not {}",
        found.map_or_else(
            || "nothing".to_owned(),
            |d| format!(
                "{:.3} ΔE00 with {:+.3} in value, {:+.3} in chroma, {:+.3} in hue",
                d.de00, d.dl00, d.dc00, d.dh00
            )
        )
    )]
    Difference {
        /// The item.
        item: u32,
        /// Its difference, ΔE00.
        asked: f64,
        /// Its direction, by name.
        direction: &'static str,
        /// The difference that is stored.
        found: Option<ZoneDifference>,
    },
}
