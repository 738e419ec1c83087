//! The table: what every key means, in every context. What is read of keys anywhere is made from it.

use super::context::{Asked, KeyContext};
use super::row::{Does, Key, Label, Row};
use crate::play::intents::{
    Act, CourseIntent, ExerciseIntent, Intent, Page, RoomIntent, SetupIntent,
};
use crate::trial::InputDevice;

const SPACE: Key = Key::Writes(' ');

const fn act(act: Act) -> Intent {
    Intent::Exercise(ExerciseIntent::Act(act, InputDevice::Keyboard))
}

const fn page(page: Page) -> Intent {
    Intent::Exercise(ExerciseIntent::TogglePage(page))
}

const fn next(by: i32) -> Intent {
    Intent::Exercise(ExerciseIntent::ReviewNext(by))
}

/// A key whose control always says the same.
const fn says(key: Key, intent: Intent, words: &'static str) -> Row {
    Row { key, does: Does::Asks(intent), label: Label::Words(words) }
}

/// A key whose control says what it would turn to.
const fn turns(key: Key, intent: Intent, off: &'static str, on: &'static str) -> Row {
    Row { key, does: Does::Asks(intent), label: Label::Turns(off, on) }
}

/// A key whose control is called by what it stands for.
const fn called(key: Key, intent: Intent) -> Row {
    Row { key, does: Does::Asks(intent), label: Label::Named }
}

/// A key that no control names.
const fn unsaid(key: Key, intent: Intent) -> Row {
    Row { key, does: Does::Asks(intent), label: Label::Unsaid }
}

/// The digits, each for what stands at its place.
const fn digits(asks: fn(usize) -> Intent) -> Row {
    Row { key: Key::Digits, does: Does::AsksOf(asks), label: Label::Named }
}

const fn choose(place: usize) -> Intent {
    act(Act::Choose(place))
}

const fn review(sight: usize) -> Intent {
    Intent::Exercise(ExerciseIntent::Review(sight))
}

const FULL_SCREEN: &[Row] = &[unsaid(Key::F11, Intent::ToggleFullScreen)];
/// Opens the menu that pauses and leaves.
pub(super) const PAUSE: &[Row] = &[says(Key::Escape, Intent::Pause, "Pause")];
const BACK: &[Row] = &[unsaid(Key::Escape, Intent::BackToTitle)];

const PROBLEM: &[Row] =
    &[unsaid(Key::Escape, Intent::DismissProblem), unsaid(Key::Enter, Intent::DismissProblem)];
const PAUSED: &[Row] = &[unsaid(Key::Escape, Intent::Resume)];

// A session of glances.

const ADAPTATION: &[Row] = &[unsaid(Key::Enter, Intent::StartNow)];
const RESPONSE: &[Row] = &[
    digits(Intent::AnswerPlace),
    called(Key::Writes('n'), Intent::Answer(None, InputDevice::Keyboard)),
    unsaid(Key::Writes('-'), Intent::Answer(None, InputDevice::Keyboard)),
    unsaid(Key::Left, Intent::MoveCursor(-1)),
    unsaid(Key::Right, Intent::MoveCursor(1)),
    unsaid(Key::Enter, Intent::AnswerAtCursor),
];
const SEARCHING: &[Row] = &[
    says(SPACE, Intent::Seen, "Found it"),
    says(Key::Writes('n'), Intent::Answer(None, InputDevice::Keyboard), "None is restored"),
    unsaid(Key::Writes('-'), Intent::Answer(None, InputDevice::Keyboard)),
    unsaid(Key::Enter, Intent::Seen),
];
const REST: &[Row] = &[unsaid(Key::Enter, Intent::Continue)];
const GO_ON: &[Row] = &[turns(Key::Enter, Intent::Continue, "Continue", "Finish")];
/// Ways to compare a smile with its twin.
const COMPARED: &[Row] = &[
    turns(SPACE, Intent::ToggleTwin, "Show natural", "Show restored"),
    turns(Key::Writes('b'), Intent::ToggleAutoBlink, "Blink", "Stop blinking"),
    turns(Key::Writes('m'), Intent::ToggleMap, "Difference map", "Whole smile"),
    turns(Key::Writes('s'), Intent::ToggleSideBySide, "Side by side", "Whole smile"),
];
const VALUE: &[Row] =
    &[turns(Key::Writes('v'), Intent::ToggleValueOnly, "Value only", "Show colour")];
const OUTLINES: &[Row] =
    &[turns(Key::Writes('o'), Intent::ToggleOutlines, "Show outlines", "Hide outlines")];

// Questions.

const INSTRUCTIONS: &[Row] = &[unsaid(Key::Enter, Intent::Exercise(ExerciseIntent::Begin))];
const SIDEWAYS: &[Row] =
    &[unsaid(Key::Left, act(Act::Move(-1))), unsaid(Key::Right, act(Act::Move(1)))];
const ONWARDS: &[Row] = &[
    unsaid(Key::Up, act(Act::Step(-1))),
    unsaid(Key::Down, act(Act::Step(1))),
    unsaid(Key::PageUp, act(Act::Move(5))),
    unsaid(Key::PageDown, act(Act::Move(-5))),
];
/// Ways to look at the smiles of a question.
const VIEWS: &[Row] = &[
    turns(Key::Writes('v'), Intent::ToggleValueOnly, "Value only", "Show colour"),
    turns(Key::Writes('g'), Intent::Exercise(ExerciseIntent::ToggleSheet), "All small", "One"),
    turns(Key::Writes('o'), Intent::ToggleOutlines, "Show the mark", "Hide the mark"),
];
const PLACES: &[Row] = &[digits(choose)];

const BLEND: &[Row] = &[
    turns(SPACE, act(Act::Tick), "Would pass", "Untick"),
    says(Key::Writes('b'), act(Act::Pick), "Blends best"),
    turns(Key::Writes('n'), act(Act::None), "None would pass", "Some would pass"),
    says(Key::Enter, act(Act::Confirm), "Done"),
];
const LADDER: &[Row] = &[
    turns(SPACE, act(Act::Tick), "Pick it up", "Put it down"),
    says(Key::Enter, act(Act::Confirm), "Done"),
];
const MATCH: &[Row] =
    &[says(SPACE, act(Act::Tick), "Choose this tab"), says(Key::Enter, act(Act::Confirm), "Done")];
const LIGHT_CHOICE: &[Row] = &[
    says(Key::Writes('b'), act(Act::Pick), "Blends best"),
    turns(Key::Enter, act(Act::Confirm), "Go on", "Done"),
];
const LIGHT_PREDICTION: &[Row] = &[
    says(Key::Writes('k'), act(Act::Yes), "I will keep it"),
    says(Key::Writes('c'), act(Act::No), "I will change it"),
    says(Key::Enter, act(Act::Confirm), "Show the other light"),
];
const BENCH: &[Row] = &[
    says(Key::Enter, act(Act::Confirm), "Try it"),
    says(Key::Writes('f'), act(Act::Yes), "Finish"),
    says(Key::Writes('n'), act(Act::None), "Change the plan"),
];
/// Taking back, bringing again, and the two kept recipes.
const KEPT: &[Row] = &[
    says(Key::Writes('u'), act(Act::Undo), "Undo"),
    says(Key::Writes('r'), act(Act::Redo), "Redo"),
    turns(Key::Writes('a'), act(Act::Compare(0)), "Show A", "Leave A"),
    says(Key::Writes('A'), act(Act::Keep(0)), "Keep as A"),
    turns(Key::Writes('b'), act(Act::Compare(1)), "Show B", "Leave B"),
    says(Key::Writes('B'), act(Act::Keep(1)), "Keep as B"),
];
const LIGHT: &[Row] = &[turns(Key::Writes('l'), act(Act::Light), "Other light", "Own light")];
const TAKE_UP: &[Row] = &[says(Key::Enter, act(Act::Confirm), "Take it up")];
const PAGES: &[Row] = &[
    turns(Key::Writes('c'), page(Page::Chart), "Blend chart", "Back to the smile"),
    turns(Key::Writes('x'), page(Page::Layers), "Layers", "Back to the smile"),
];
const FREE_LOOKS: &[Row] = &[
    turns(SPACE, Intent::ToggleTwin, "Show natural", "Show restored"),
    turns(Key::Writes('s'), Intent::ToggleSideBySide, "Side by side", "Whole smile"),
    turns(Key::Writes('m'), Intent::ToggleMap, "Difference map", "Whole smile"),
];
const FREE_TOOLS: &[Row] = &[
    says(Key::Writes('e'), Intent::StopSession, "Change the case"),
    says(Key::Writes('f'), act(Act::Yes), "Find the best"),
];
const CEMENT_EFFECT: &[Row] = &[
    says(Key::Left, act(Act::Move(-1)), "Less"),
    says(Key::Right, act(Act::Move(1)), "More"),
    turns(Key::Enter, act(Act::Confirm), "Next cement", "Show all cements"),
];
const SEATING: &[Row] = &[
    says(Key::Writes('b'), act(Act::Pick), "Seat with this one"),
    says(Key::Enter, act(Act::Confirm), "Done"),
];
const MILLING: &[Row] = &[
    says(Key::Writes('b'), act(Act::Pick), "Mill this one"),
    says(Key::Enter, act(Act::Confirm), "Go on"),
];
const PLACING: &[Row] = &[
    says(Key::Left, act(Act::Move(-1)), "Darker"),
    says(Key::Right, act(Act::Move(1)), "Lighter"),
    says(Key::Writes('n'), act(Act::None), "Not between them"),
    says(Key::Writes('u'), act(Act::Undo), "Other options"),
    says(Key::Enter, act(Act::Confirm), "Done"),
];
const MARGIN: &[Row] = &[
    says(Key::Writes('b'), act(Act::Pick), "Hides it best"),
    turns(Key::Writes('n'), act(Act::None), "None hides it", "One does"),
    says(Key::Enter, act(Act::Confirm), "Done"),
];
const VERDICT: &[Row] = &[
    says(Key::Writes('a'), act(Act::Yes), "Accept"),
    says(Key::Writes('r'), act(Act::No), "Remake"),
    unsaid(Key::Enter, act(Act::Confirm)),
];
const REVIEWED: &[Row] = &[
    says(Key::Right, next(1), "Next smile"),
    unsaid(Key::Down, next(1)),
    unsaid(Key::Left, next(-1)),
    unsaid(Key::Up, next(-1)),
    digits(review),
];

// A bench is set up.

const SETUP: &[Row] = &[
    says(Key::Enter, Intent::Setup(SetupIntent::Start), "To the bench"),
    unsaid(Key::Up, Intent::Setup(SetupIntent::Step(-1))),
    unsaid(Key::Down, Intent::Setup(SetupIntent::Step(1))),
    unsaid(Key::Left, Intent::Setup(SetupIntent::Move(-1))),
    unsaid(Key::Right, Intent::Setup(SetupIntent::Move(1))),
    unsaid(Key::PageUp, Intent::Setup(SetupIntent::Move(5))),
    unsaid(Key::PageDown, Intent::Setup(SetupIntent::Move(-5))),
];

// Courses.

const SEAT_FORM: &[Row] = &[
    says(Key::Enter, Intent::Course(CourseIntent::Enter), "Take the seat"),
    says(Key::Escape, Intent::BackToTitle, "Back"),
];
const COURSE_STEP: &[Row] = &[
    called(Key::Enter, Intent::Course(CourseIntent::Begin)),
    says(Key::Writes('s'), Intent::Course(CourseIntent::Skip), "Leave it out"),
    turns(Key::Escape, Intent::BackToTitle, "Leave the seat", "Back"),
];
const HAND_IN: &[Row] = &[
    turns(Key::Enter, Intent::Course(CourseIntent::HandIn), "Hand in", "Try again"),
    says(Key::Escape, Intent::BackToTitle, "Later"),
];

// A lecture.

const ROOM_HUB: &[Row] = &[
    called(Key::Enter, Intent::Room(RoomIntent::Begin)),
    says(Key::Writes('p'), Intent::Room(RoomIntent::OtherPort), "Try a free port"),
    says(Key::Escape, Intent::Pause, "Pause or end"),
    says(Key::F11, Intent::ToggleFullScreen, "Full screen"),
];
const ROOM_OVER: &[Row] = &[
    says(Key::Enter, Intent::Room(RoomIntent::Begin), "Done"),
    says(Key::Writes('w'), Intent::Room(RoomIntent::Save), "Write counts to a file"),
];
const CLOSE: &[Row] = &[says(Key::Enter, Intent::Room(RoomIntent::Close), "Close")];
const REVEAL: &[Row] = &[says(Key::Enter, Intent::Room(RoomIntent::Reveal), "Reveal")];
/// Ways to look at options before a room.
const ROOM_VIEWS: &[Row] = &[
    turns(Key::Writes('v'), Intent::ToggleValueOnly, "Value", "Colour"),
    turns(Key::Writes('g'), Intent::Exercise(ExerciseIntent::ToggleSheet), "All", "One"),
];
/// The debrief of a smile, in words short enough for one line below it.
const ROOM_SOLUTION: &[Row] = &[
    says(Key::Enter, Intent::Continue, "Next"),
    says(SPACE, Intent::ToggleTwin, "Twin"),
    turns(Key::Writes('b'), Intent::ToggleAutoBlink, "Blink", "Stop"),
    turns(Key::Writes('s'), Intent::ToggleSideBySide, "Pair", "Smile"),
    turns(Key::Writes('m'), Intent::ToggleMap, "Map", "Smile"),
    turns(Key::Writes('v'), Intent::ToggleValueOnly, "Value", "Colour"),
];

/// The rows of a context, in the order of its controls.
pub fn rows(context: KeyContext) -> impl Iterator<Item = &'static Row> {
    use KeyContext as In;
    let groups: &[&[Row]] = match context {
        In::Menu => &[BACK],
        In::Problem => &[PROBLEM],
        In::Paused => &[PAUSED],
        In::Watching => &[PAUSE],
        In::Adaptation => &[ADAPTATION, PAUSE],
        In::Response => &[RESPONSE, PAUSE],
        In::Searching => &[SEARCHING, PAUSE],
        In::Debrief => &[GO_ON, COMPARED, VALUE, OUTLINES, PAUSE],
        In::Rest => &[REST, PAUSE],
        In::Instructions => &[INSTRUCTIONS, PAUSE],
        In::Question(asked) => of_question(asked),
        In::FreePlay => {
            &[KEPT, TAKE_UP, LIGHT, VIEWS, FREE_LOOKS, PAGES, FREE_TOOLS, PAUSE, SIDEWAYS, ONWARDS]
        }
        In::QuestionDebrief | In::RoomRevealedQuestion => {
            &[GO_ON, COMPARED, VALUE, PAGES, REVIEWED, PAUSE]
        }
        In::Setup => &[SETUP, BACK],
        In::SeatForm => &[SEAT_FORM],
        In::CourseStep => &[COURSE_STEP],
        In::HandIn => &[HAND_IN],
        In::RoomHub => &[ROOM_HUB],
        In::RoomOver => &[ROOM_OVER, PAUSE],
        In::RoomAsked => &[CLOSE, PAUSE],
        In::RoomClosed => &[REVEAL, PAUSE],
        In::RoomQuestion => &[CLOSE, ROOM_VIEWS, PLACES, PAUSE],
        In::RoomClosedQuestion => &[REVEAL, ROOM_VIEWS, PLACES, PAUSE],
        In::RoomRevealed => &[ROOM_SOLUTION, PAUSE],
    };
    // There it has a control.
    let everywhere = if context == In::RoomHub { &[] } else { FULL_SCREEN };
    groups.iter().copied().chain([everywhere]).flatten()
}

/// The rows of a step of a question.
const fn of_question(asked: Asked) -> &'static [&'static [Row]] {
    match asked {
        Asked::Blend => &[BLEND, PLACES, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        // Patches, and a smile that is gone after a while, have one look only.
        Asked::Ladder => &[LADDER, PLACES, PAUSE, SIDEWAYS, ONWARDS],
        Asked::Match => &[MATCH, PLACES, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::LightChoice => &[LIGHT_CHOICE, PLACES, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::LightPrediction => &[LIGHT_PREDICTION, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::Bench => &[BENCH, KEPT, LIGHT, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::CementEffect => &[CEMENT_EFFECT, PLACES, VIEWS, PAUSE, ONWARDS],
        Asked::Seating => &[SEATING, PLACES, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::Milling => &[MILLING, PLACES, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::Placing => &[PLACING, PLACES, VIEWS, PAUSE, ONWARDS],
        Asked::Margin => &[MARGIN, PLACES, VIEWS, PAUSE, SIDEWAYS, ONWARDS],
        Asked::Verdict => &[VERDICT, PAUSE, SIDEWAYS, ONWARDS],
    }
}

/// The controls by which a step of a question is answered, in their order.
pub fn actions(asked: Asked) -> impl Iterator<Item = &'static Row> {
    of_question(asked)[0].iter().filter(|row| row.is_said())
}

/// The row of what a control asks for.
#[must_use]
pub fn row(context: KeyContext, intent: &Intent) -> Option<&'static Row> {
    rows(context).find(|row| row.is_for(intent))
}

/// What a control says with its key, as the table has it. Empty where the context does not have what
/// it asks for: a control without a name, which no screen may have.
#[must_use]
pub fn label(context: KeyContext, intent: &Intent, is_on: bool) -> String {
    row(context, intent).map_or_else(String::new, |row| row.label(is_on))
}

/// What a control says that is called by what it stands for, with its key.
#[must_use]
pub fn named(context: KeyContext, intent: &Intent, words: &str) -> String {
    row(context, intent).map_or_else(|| words.to_owned(), |row| row.named(words))
}

/// What the key is called that asks for this; empty where none does.
#[must_use]
pub fn key_name(context: KeyContext, intent: &Intent) -> String {
    row(context, intent).map_or_else(String::new, |row| row.key.name())
}

/// What the control says that pauses, wherever there is one.
#[must_use]
pub fn pause_label() -> String {
    PAUSE.iter().map(|row| row.label(false)).collect()
}
