//! The lines of the debrief's list: every option with how far it was off.

use crate::bake::ZoneDifference;
use crate::exercise::Question;

/// One line of the debrief's list.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// What it is called.
    pub name: String,
    /// How far it was off.
    pub difference: ZoneDifference,
    /// What there is to say about it: `your pick`, `acceptable`.
    pub notes: Vec<String>,
    /// Its place among the debrief's sights, where it can be looked at.
    pub sight: Option<usize>,
}

/// A note, where it holds.
pub(super) fn note(is: bool, words: &str) -> Option<String> {
    is.then(|| words.to_owned())
}

/// What a smile of the question is called.
pub(super) fn name_of(question: &Question, sight: usize) -> String {
    question.sights.get(sight).map_or_else(String::new, |sight| sight.name.clone())
}

/// The digit of each line that has one in its name, as `Option 3`, with the smile it leads to. Where two
/// lines have the same, the first smile has it. Empty where there is no list to read them from.
#[must_use]
pub fn numbered(ranked: &[Ranked]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    if ranked.len() < 2 {
        return found;
    }
    for line in ranked {
        let number = line.name.split([' ', ',']).nth(1).and_then(|word| word.parse().ok());
        if let (Some(number), Some(sight)) = (number, line.sight) {
            match found.iter_mut().find(|(known, _)| *known == number) {
                Some((_, first)) => *first = sight.min(*first),
                None => found.push((number, sight)),
            }
        }
    }
    found
}
