//! Which smiles forms hold, for results that come from elsewhere.
//!
//! A form is a pure function of its seed and size, so what an item showed is known without asking
//! who says so: the tooth, the direction and the size of its difference.

use super::form::{Form, FormError, parse_seed_key};
use super::form_item::{EXAM_SPACE, Item, TEETH};
use crate::bake::ZoneDifference;
use crate::level::course_format::Course;
use crate::psychophysics::Direction;
use crate::results::{ItemClaim, ItemTruth, NotTheItem};
use crate::scene::Tooth;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// How far the difference of a smile may be from what its item asks for: a share of it, and at least,
/// ΔE00. Smiles are made to half of that.
const SIZE_TOLERANCE: (f64, f64) = (0.02, 0.02);
/// How much of it may lie off the item's axis, ΔE00. Smiles are made to 0.15 in every third.
const MOST_OFF_AXIS_DE00: f64 = 0.2;
/// Parts that are signed add up to a bit more or less than the whole: share of it.
const PARTS: f64 = 0.05;

/// Knows the items of every form. Forms are made when they are first asked for and kept.
#[derive(Debug, Default)]
pub struct FormTruth {
    courses: Vec<Course>,
    forms: Mutex<BTreeMap<(u64, u8), Result<Arc<Form>, FormError>>>,
}

impl FormTruth {
    /// With courses whose files are at hand: of these, no other form is believed.
    #[must_use]
    pub fn new(courses: Vec<Course>) -> Self {
        Self { courses, forms: Mutex::default() }
    }

    fn form(&self, seed: u64, per_cell: u8) -> Result<Arc<Form>, FormError> {
        // A panic elsewhere leaves the map as it was.
        let mut forms = self.forms.lock().unwrap_or_else(PoisonError::into_inner);
        let form = forms
            .entry((seed, per_cell))
            .or_insert_with(|| Form::new(seed, per_cell).map(Arc::new));
        form.clone()
    }
}

/// The items of each axis and level of a form of so many items.
fn per_cell(items: u32) -> Option<u8> {
    (1..=3).find(|per_cell| {
        let signals = 16 * u32::from(*per_cell);
        signals + (f64::from(signals) / 3.0).round() as u32 == items
    })
}

impl ItemTruth for FormTruth {
    fn is_of_form(&self, level: &str, seed_key: &str) -> bool {
        level == EXAM_SPACE || seed_key.starts_with(EXAM_SPACE)
    }

    fn item(&self, claim: &ItemClaim<'_>) -> Result<u32, NotTheItem> {
        let ItemClaim { seed_key, planned, block, .. } = *claim;
        let (seed, number) = parse_seed_key(seed_key)
            .filter(|(seed, item)| format!("{EXAM_SPACE}/{seed}/{block}/{item}") == seed_key)
            .ok_or(NotTheItem::SeedKey)?;
        if seed != claim.session_seed {
            return Err(NotTheItem::Seed { found: seed, session: claim.session_seed });
        }
        let id = claim.form.ok_or(NotTheItem::NoForm)?;
        let size = per_cell(planned).ok_or(NotTheItem::Planned(planned))?;
        if let Some(course) = self.courses.iter().find(|course| course.id == claim.course)
            && !course.forms.iter().any(|f| f.id == id && f.seed == seed && f.per_cell == size)
        {
            let (course, form) = (course.id.clone(), id.to_owned());
            return Err(NotTheItem::OtherCourse { course, form, seed, planned });
        }
        let form = self.form(seed, size).map_err(|error| NotTheItem::Unmade(error.to_string()))?;
        let item = form.items.get(number as usize).filter(|_| claim.trial < planned);
        let item = item.ok_or(NotTheItem::NoItem(planned))?;
        let teeth = Tooth::arch(TEETH);
        if claim.n_teeth as usize != TEETH || claim.residuals != TEETH {
            return Err(NotTheItem::Teeth(TEETH));
        }
        if claim.named.is_some_and(|(at, tooth)| teeth.get(at as usize - 1) != Some(&tooth)) {
            return Err(NotTheItem::Place);
        }
        same(item, claim, &teeth)?;
        Ok(number)
    }
}

/// Whether a trial showed an item.
fn same(item: &Item, claim: &ItemClaim<'_>, teeth: &[Tooth]) -> Result<(), NotTheItem> {
    let Some(signal) = item.signal else {
        if claim.tooth.is_some() || claim.target != 0 {
            return Err(NotTheItem::Natural(item.number));
        }
        return Ok(());
    };
    let place = teeth.iter().position(|tooth| *tooth == signal.tooth).map_or(0, |at| at as u32 + 1);
    if claim.tooth != Some(signal.tooth) || claim.target != place {
        return Err(NotTheItem::Tooth { item: item.number, tooth: signal.tooth });
    }
    let asked = signal.de00;
    let (share, least) = SIZE_TOLERANCE;
    let off = |difference: ZoneDifference| {
        let (axis, rest) = parts(signal.direction, &difference);
        (difference.de00 - asked).abs() > (share * asked).max(least)
            || rest > MOST_OFF_AXIS_DE00
            || (axis * signal.direction.sign() - asked).abs()
                > MOST_OFF_AXIS_DE00.max(PARTS * asked)
    };
    match claim.difference {
        Some(difference) if !off(difference) => Ok(()),
        found => Err(NotTheItem::Difference {
            item: item.number,
            asked,
            direction: signal.direction.name(),
            found,
        }),
    }
}

/// What of a difference lies on the axis of a direction, with its sign, and what lies off it.
fn parts(direction: Direction, found: &ZoneDifference) -> (f64, f64) {
    let ZoneDifference { dl00, dc00, dh00, .. } = *found;
    match direction {
        Direction::Darker | Direction::Lighter => (dl00, dc00.hypot(dh00)),
        Direction::MoreChroma | Direction::LessChroma => (dc00, dl00.hypot(dh00)),
        Direction::Redder | Direction::Yellower => (dh00, dl00.hypot(dc00)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_of_forms_are_known_by_their_items() {
        for per in 1..=3 {
            let items = Form::new(5, per).unwrap().items.len() as u32;
            assert_eq!(per_cell(items), Some(per));
        }
        assert_eq!([0, 20, 48, 65, u32::MAX].map(per_cell), [None; 5]);
    }
}
