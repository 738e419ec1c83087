//! Who may join: whoever knows the code that the room's screen shows, at a pace that a room needs.
//!
//! The pace is kept for each place that phones come from, since one machine must not fill the tally
//! with phones that nobody holds. Yet a whole room may come from one place (a router that hides it
//! behind one address), so a place may let in a class at once and two phones a second after that:
//! 300 phones behind one address are in after two minutes, while a machine that joins as fast as it
//! can has some ninety phones after the same sixteen seconds that gave it thousands without a pace.
//! The numbers are a judgement, no source. Tries with a wrong code count as well: at this pace a
//! day of guessing meets one code in 165. What one person with several phones, or one phone that
//! forgets its token, adds is not seen; names would be needed for that.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::fmt;
use thiserror::Error;

/// Letters and digits that are not taken for one another when read from afar or said aloud.
const LETTERS: &[u8; 31] = b"ABCDEFGHJKMNPQRSTUVWXYZ23456789";
/// 31⁵ is 28.6 million codes.
const LENGTH: usize = 5;
/// Places whose pace is kept before those that have rested are forgotten.
const MOST_PLACES: usize = 1024;

/// What the room's screen shows and a phone must name to join.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JoinCode(String);

impl JoinCode {
    /// The code of a seed: five capital letters and digits.
    #[must_use]
    pub fn of_seed(seed: u64) -> Self {
        let mut stream = ChaCha8Rng::seed_from_u64(seed);
        let letter = |_| char::from(LETTERS[stream.random_range(0..LETTERS.len())]);
        Self((0..LENGTH).map(letter).collect())
    }

    /// Whether this is what was typed, in capitals or not, with spaces or without.
    #[must_use]
    pub fn is_met_by(&self, typed: &str) -> bool {
        let typed = typed.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase());
        typed.eq(self.0.chars())
    }
}

impl fmt::Display for JoinCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// How fast phones may join from one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Tries at once, from rest.
    pub burst: f64,
    /// Tries a second after those.
    pub per_s: f64,
}

impl Default for Pace {
    fn default() -> Self {
        Self { burst: 60.0, per_s: 2.0 }
    }
}

/// Why a phone is not let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Unadmitted {
    /// Too many tries from the same place.
    #[error("too many phones join from one address at once: wait a few seconds and try again")]
    TooFast,
    /// Another code, or none.
    #[error("this is not the code on the screen in front")]
    WrongCode,
}

/// Lets phones in that know the code. `P` names the place that a phone comes from.
#[derive(Debug, Clone)]
pub struct Door<P> {
    code: JoinCode,
    pace: Pace,
    /// Tries left at each place, and when they were counted, s.
    left: BTreeMap<P, (f64, f64)>,
}

impl<P: Ord> Door<P> {
    /// A door that nobody has tried.
    #[must_use]
    pub const fn new(code: JoinCode, pace: Pace) -> Self {
        Self { code, pace, left: BTreeMap::new() }
    }

    /// The code that opens it.
    #[must_use]
    pub const fn code(&self) -> &JoinCode {
        &self.code
    }

    /// Whether a phone from `place` that names `typed` may join at `now_s`, s since any fixed
    /// moment.
    ///
    /// # Errors
    /// [`Unadmitted`].
    pub fn admit(&mut self, place: P, typed: &str, now_s: f64) -> Result<(), Unadmitted> {
        let Pace { burst, per_s } = self.pace;
        let rested =
            |(left, at_s): (f64, f64)| burst.min((now_s - at_s).max(0.0).mul_add(per_s, left));
        if self.left.len() >= MOST_PLACES {
            // A place that has rested enough is as one that never tried.
            self.left.retain(|_, kept| rested(*kept) < burst);
        }
        if self.left.len() >= MOST_PLACES && !self.left.contains_key(&place) {
            return Err(Unadmitted::TooFast);
        }
        let kept = self.left.entry(place).or_insert((burst, now_s));
        let left = rested(*kept);
        if left < 1.0 {
            return Err(Unadmitted::TooFast);
        }
        *kept = (left - 1.0, now_s);
        if self.code.is_met_by(typed) { Ok(()) } else { Err(Unadmitted::WrongCode) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_short_clear_to_read_and_typed_as_people_type() {
        let code = JoinCode::of_seed(7);
        assert_eq!(code, JoinCode::of_seed(7));
        assert_ne!(code, JoinCode::of_seed(8));
        let shown = code.to_string();
        assert_eq!(shown.len(), 5);
        assert!(!shown.contains(['0', 'O', '1', 'I', 'L']), "{shown}");
        assert!(code.is_met_by(&shown) && code.is_met_by(&shown.to_lowercase()));
        assert!(code.is_met_by(&format!(" {} {} ", &shown[..2], &shown[2..])));
        for other in ["", " ", &shown[..4], &format!("{shown}A"), "éééééé"] {
            assert!(!code.is_met_by(other), "{other}");
        }
    }

    #[test]
    fn a_place_that_joins_too_fast_waits_and_no_other_place_does() {
        let code = JoinCode::of_seed(1);
        let typed = code.to_string();
        let mut door = Door::new(code, Pace { burst: 60.0, per_s: 2.0 });
        // 5000 tries over 16 s, as one machine made them.
        let tries = (0..5000_u32).map(|n| f64::from(n) * 16.0 / 5000.0);
        let let_in = tries.filter(|at_s| door.admit("flood", &typed, *at_s).is_ok()).count();
        // 60 at once and 2 a second for 16 s, worked by hand; the last may be under way.
        assert!((90..=92).contains(&let_in), "{let_in}");
        assert_eq!(door.admit("flood", &typed, 16.0), Err(Unadmitted::TooFast));
        assert_eq!(door.admit("honest", &typed, 16.0), Ok(()));
        assert_eq!(door.admit("flood", &typed, 17.0), Ok(()), "it may go on at its pace");
        // A clock that runs back gives nothing and breaks nothing.
        assert_eq!(door.admit("honest", &typed, 0.0), Ok(()));
    }

    #[test]
    fn guesses_count_and_a_class_behind_one_address_comes_in_at_once() {
        let code = JoinCode::of_seed(1);
        let typed = code.to_string();
        let mut door = Door::new(code, Pace::default());
        assert!((0..60).all(|_| door.admit(1, &typed, 0.0).is_ok()));
        assert!((0..60).all(|_| door.admit(2, "guess", 0.0) == Err(Unadmitted::WrongCode)));
        assert_eq!(door.admit(2, &typed, 0.0), Err(Unadmitted::TooFast));
    }

    #[test]
    fn places_without_number_fill_no_memory_and_are_forgotten_when_they_have_rested() {
        let code = JoinCode::of_seed(1);
        let typed = code.to_string();
        let mut door = Door::new(code, Pace { burst: 2.0, per_s: 1.0 });
        let let_in = (0..5000).filter(|place| door.admit(*place, &typed, 0.0).is_ok()).count();
        assert_eq!((let_in, door.left.len()), (MOST_PLACES, MOST_PLACES));
        assert_eq!(door.admit(5000, &typed, 2.0), Ok(()));
        assert_eq!(door.left.len(), 1);
    }
}
