//! A row of the table: a key, what it asks for, and what the control says that asks for the same.

use crate::play::intents::{ExerciseIntent, Intent};
use crate::trial::InputDevice;

/// Digits by the place that they mean: `1` is the first, `0` the tenth.
const DIGITS: [&str; 10] = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0"];

/// A key, or the digits together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// A key that writes this: a letter, minus or a blank. A capital means Shift.
    Writes(char),
    /// The digits, each for a place in a row.
    Digits,
    /// Enter, of the numbers too.
    Enter,
    /// Escape.
    Escape,
    /// Left.
    Left,
    /// Right.
    Right,
    /// Up.
    Up,
    /// Down.
    Down,
    /// Page Up.
    PageUp,
    /// Page Down.
    PageDown,
    /// F11.
    F11,
}

impl Key {
    /// What it is called, on controls and in sentences.
    #[must_use]
    pub fn name(self) -> String {
        let name = match self {
            Self::Writes(' ') => "Space",
            Self::Writes('-') => "\u{2212}",
            Self::Writes(capital) if capital.is_uppercase() => return format!("Shift {capital}"),
            Self::Writes(letter) => return letter.to_uppercase().to_string(),
            Self::Digits => "Digits",
            Self::Enter => "Enter",
            Self::Escape => "Escape",
            Self::Left => "Left",
            Self::Right => "Right",
            Self::Up => "Up",
            Self::Down => "Down",
            Self::PageUp => "Page Up",
            Self::PageDown => "Page Down",
            Self::F11 => "F11",
        };
        name.to_owned()
    }

    /// Whether it is a focused control's own: Enter, Space and the keys that move.
    #[must_use]
    pub const fn is_of_a_control(self) -> bool {
        !matches!(self, Self::Writes('!'..='\u{10ffff}') | Self::Digits | Self::Escape | Self::F11)
    }
}

/// What a key asks for.
#[derive(Debug, Clone)]
pub enum Does {
    /// This.
    Asks(Intent),
    /// This for the place that a digit means, or for what stands there.
    AsksOf(fn(usize) -> Intent),
}

/// What the control says that asks for the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Label {
    /// No control names the key.
    Unsaid,
    /// It is called by what it stands for: an option, a tooth, a step.
    Named,
    /// Always these words.
    Words(&'static str),
    /// The first while it is off, the second while it is on.
    Turns(&'static str, &'static str),
}

/// A key and what it means somewhere.
#[derive(Debug, Clone)]
pub struct Row {
    /// The key.
    pub key: Key,
    /// What it asks for.
    pub does: Does,
    /// What its control says.
    pub label: Label,
}

impl Row {
    /// What it asks for by this device; `None` for digits, which need a place.
    #[must_use]
    pub fn asks(&self, device: InputDevice) -> Option<Intent> {
        match &self.does {
            Does::Asks(Intent::Exercise(ExerciseIntent::Act(act, _))) => {
                Some(Intent::Exercise(ExerciseIntent::Act(*act, device)))
            }
            Does::Asks(Intent::Answer(tooth, _)) => Some(Intent::Answer(*tooth, device)),
            Does::Asks(intent) => Some(intent.clone()),
            Does::AsksOf(_) => None,
        }
    }

    /// Whether it asks for this, by whatever device.
    #[must_use]
    pub fn is_for(&self, intent: &Intent) -> bool {
        let device = match intent {
            Intent::Exercise(ExerciseIntent::Act(_, device)) | Intent::Answer(_, device) => *device,
            _ => InputDevice::Keyboard,
        };
        self.asks(device).as_ref() == Some(intent)
    }

    /// What its control says without the key; empty where it has no words of its own.
    #[must_use]
    pub const fn words(&self, is_on: bool) -> &'static str {
        match (self.label, is_on) {
            (Label::Words(words) | Label::Turns(words, _), false) | (Label::Words(words), true) => {
                words
            }
            (Label::Turns(_, words), true) => words,
            (Label::Unsaid | Label::Named, _) => "",
        }
    }

    /// Whether it has a control with words of its own.
    #[must_use]
    pub const fn is_said(&self) -> bool {
        matches!(self.label, Label::Words(_) | Label::Turns(..))
    }

    /// What its control says, with the key: `Done  (Enter)`.
    #[must_use]
    pub fn label(&self, is_on: bool) -> String {
        self.named(self.words(is_on))
    }

    /// The same, by what is on now.
    #[must_use]
    pub fn label_now(&self, is_on: impl Fn(&Intent) -> bool) -> String {
        self.label(self.asks(InputDevice::Keyboard).is_some_and(|intent| is_on(&intent)))
    }

    /// What a control says that is called by what it stands for.
    #[must_use]
    pub fn named(&self, words: &str) -> String {
        with_key(words, &self.key.name())
    }
}

/// The digit that means the place `index` of a row, counted from 0: `1` is the first, `0` the tenth;
/// empty beyond.
#[must_use]
pub fn digit_of(index: usize) -> &'static str {
    DIGITS.get(index).copied().unwrap_or("")
}

/// The place that a digit means, counted from 0.
#[must_use]
pub fn place_of(digit: char) -> Option<usize> {
    DIGITS.iter().position(|known| known.starts_with(digit))
}

/// What stands in a row says, with the digit that goes to it.
#[must_use]
pub fn with_digit(words: &str, index: usize) -> String {
    with_key(words, digit_of(index))
}

fn with_key(words: &str, key: &str) -> String {
    if key.is_empty() { words.to_owned() } else { format!("{words}  ({key})") }
}
