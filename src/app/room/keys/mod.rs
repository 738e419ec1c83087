//! Devices → intents. [`Intent`] is everything a learner can ask for; nothing else changes state.

mod letters;

pub use letters::Letters;

use crate::play::intents::Intent;
use crate::play::keys::KeyContext;
use crate::trial::InputDevice;
use bevy::ecs::system::SystemParam;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::prelude::*;
use bevy::window::PrimaryWindow;

use crate::app::shell::canvas::FocusHeld;
use crate::app::shell::order::AppSystems;
use crate::app::shell::state::{Pause, Screen};
use crate::app::ui::picture_view::ROOM_FOR_BOTH;
use crate::exercise::Stage;
use crate::play::course::Seat;
use crate::play::intents::CourseIntent;
use crate::play::intents::RoomIntent;
use crate::play::intents::SetupIntent;
use crate::play::intents::{Act, ExerciseIntent};
use crate::play::lecture::{Lecture, RoomStage};
use crate::play::problem::Problem;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::start::PendingStart;
use crate::trial::Phase;

/// The intent of a key press, or `None` for keys without a meaning here. `letters` are the keys that
/// write something and mean something now.
///
/// `focus_held` tells that a control has the keyboard focus: then Enter, Space and the arrows
/// are that control's.
#[must_use]
pub fn intent_for_key(
    context: KeyContext,
    letters: &Letters,
    code: KeyCode,
    key: &Key,
    focus_held: bool,
) -> Option<Intent> {
    use KeyContext as In;
    if let Some(intent) = intent_in_course(context, code, focus_held) {
        return Some(intent);
    }
    match (context, code) {
        (In::Problem, KeyCode::Escape) => return Some(Intent::DismissProblem),
        (In::SeatForm | In::CourseStep | In::HandIn, KeyCode::Escape) => {
            return Some(Intent::BackToTitle);
        }
        (In::Paused, KeyCode::Escape) => return Some(Intent::Resume),
        (In::Menu | In::Setup, KeyCode::Escape) => return Some(Intent::BackToTitle),
        (_, KeyCode::Escape) => return Some(Intent::Pause),
        _ => {}
    }
    if let Some(written) = written_by(code, key) {
        if written == ' ' && focus_held {
            return None;
        }
        let meant = |letter: char| letters.iter().find(|(known, _)| *known == letter);
        let found = meant(written).or_else(|| meant(written.to_ascii_lowercase()));
        return found.map(|(_, intent)| intent.clone());
    }
    if focus_held {
        return None;
    }
    let is_enter = matches!(code, KeyCode::Enter | KeyCode::NumpadEnter);
    match (context, code) {
        (In::Problem, _) if is_enter => Some(Intent::DismissProblem),
        (In::Setup, KeyCode::ArrowUp) => Some(Intent::Setup(SetupIntent::Step(-1))),
        (In::Setup, KeyCode::ArrowDown) => Some(Intent::Setup(SetupIntent::Step(1))),
        (In::Setup, KeyCode::ArrowLeft) => Some(Intent::Setup(SetupIntent::Move(-1))),
        (In::Setup, KeyCode::ArrowRight) => Some(Intent::Setup(SetupIntent::Move(1))),
        (In::Setup, KeyCode::PageDown) => Some(Intent::Setup(SetupIntent::Move(-5))),
        (In::Setup, KeyCode::PageUp) => Some(Intent::Setup(SetupIntent::Move(5))),
        (In::Setup, _) if is_enter => Some(Intent::Setup(SetupIntent::Start)),
        (In::Instructions, _) if is_enter => Some(Intent::Exercise(ExerciseIntent::Begin)),
        (In::FreePlay | In::Question, KeyCode::PageDown) => Some(act(Act::Move(-5))),
        (In::FreePlay | In::Question, KeyCode::PageUp) => Some(act(Act::Move(5))),
        (In::FreePlay | In::Question, KeyCode::ArrowLeft) => Some(act(Act::Move(-1))),
        (In::FreePlay | In::Question, KeyCode::ArrowRight) => Some(act(Act::Move(1))),
        (In::FreePlay | In::Question, KeyCode::ArrowUp) => Some(act(Act::Step(-1))),
        (In::FreePlay | In::Question, KeyCode::ArrowDown) => Some(act(Act::Step(1))),
        (In::FreePlay | In::Question, _) if is_enter => Some(act(Act::Confirm)),
        (In::QuestionDebrief | In::RoomRevealedQuestion, KeyCode::ArrowLeft | KeyCode::ArrowUp) => {
            Some(Intent::Exercise(ExerciseIntent::ReviewNext(-1)))
        }
        (
            In::QuestionDebrief | In::RoomRevealedQuestion,
            KeyCode::ArrowRight | KeyCode::ArrowDown,
        ) => Some(Intent::Exercise(ExerciseIntent::ReviewNext(1))),
        (In::Adaptation, _) if is_enter => Some(Intent::StartNow),
        (In::Response, KeyCode::ArrowLeft) => Some(Intent::MoveCursor(-1)),
        (In::Response, KeyCode::ArrowRight) => Some(Intent::MoveCursor(1)),
        (In::Response, _) if is_enter => Some(Intent::AnswerAtCursor),
        (In::Searching, _) if is_enter => Some(Intent::Seen),
        (
            In::Debrief
            | In::Rest
            | In::QuestionDebrief
            | In::RoomRevealed
            | In::RoomRevealedQuestion,
            _,
        ) if is_enter => Some(Intent::Continue),
        _ => None,
    }
}

/// The letter, digit, minus or space that a key writes. Digits are known by their place on the keyboard,
/// so that they need no Shift on any layout.
fn written_by(code: KeyCode, key: &Key) -> Option<char> {
    if let Some(place) = place_of(code) {
        return char::from_digit((place as u32 + 1) % 10, 10);
    }
    match key {
        Key::Character(text) => text.chars().next(),
        Key::Space => Some(' '),
        _ => None,
    }
}

/// Whether a key that is held down goes on doing what it does: changing a recipe or a setup.
const fn repeats(context: KeyContext, code: KeyCode) -> bool {
    matches!(context, KeyContext::FreePlay | KeyContext::Setup)
        && matches!(
            code,
            KeyCode::ArrowLeft | KeyCode::ArrowRight | KeyCode::PageUp | KeyCode::PageDown
        )
}

/// What keys mean in courses alone.
fn intent_in_course(context: KeyContext, code: KeyCode, focus_held: bool) -> Option<Intent> {
    use KeyContext as In;
    let course = |intent| Some(Intent::Course(intent));
    let room = |intent| Some(Intent::Room(intent));
    let is_enter = matches!(code, KeyCode::Enter | KeyCode::NumpadEnter) && !focus_held;
    match (context, code) {
        (_, KeyCode::F11) => Some(Intent::ToggleFullScreen),
        (In::SeatForm, _) if is_enter => course(CourseIntent::Enter),
        (In::HandIn, _) if is_enter => course(CourseIntent::HandIn),
        (In::CourseStep, _) if is_enter => course(CourseIntent::Begin),
        (In::RoomHub, _) if is_enter => room(RoomIntent::Begin),
        (In::RoomAsked | In::RoomQuestion, _) if is_enter => room(RoomIntent::Close),
        (In::RoomClosed, _) if is_enter => room(RoomIntent::Reveal),
        _ => None,
    }
}

const fn act(act: Act) -> Intent {
    Intent::Exercise(ExerciseIntent::Act(act, InputDevice::Keyboard))
}

/// The place in the answer row that a number key means: `1` is the leftmost, `0` the tenth.
fn place_of(code: KeyCode) -> Option<usize> {
    let place = match code {
        KeyCode::Digit1 | KeyCode::Numpad1 => 0,
        KeyCode::Digit2 | KeyCode::Numpad2 => 1,
        KeyCode::Digit3 | KeyCode::Numpad3 => 2,
        KeyCode::Digit4 | KeyCode::Numpad4 => 3,
        KeyCode::Digit5 | KeyCode::Numpad5 => 4,
        KeyCode::Digit6 | KeyCode::Numpad6 => 5,
        KeyCode::Digit7 | KeyCode::Numpad7 => 6,
        KeyCode::Digit8 | KeyCode::Numpad8 => 7,
        KeyCode::Digit9 | KeyCode::Numpad9 => 8,
        KeyCode::Digit0 | KeyCode::Numpad0 => 9,
        _ => return None,
    };
    Some(place)
}

pub(crate) fn plugin(app: &mut App) {
    app.add_message::<KeyboardInput>()
        .init_resource::<FocusHeld>()
        .add_systems(Update, read_keys.in_set(AppSystems::Input));
}

/// What is on screen, as far as keys go by it.
#[derive(SystemParam)]
struct OnScreen<'w, 's> {
    screen: Res<'w, State<Screen>>,
    pause: Res<'w, State<Pause>>,
    problem: Res<'w, Problem>,
    session: Option<Res<'w, Session>>,
    exercising: Option<Res<'w, Exercising>>,
    lecture: Option<Res<'w, Lecture>>,
    seat: Option<Res<'w, Seat>>,
    start: Res<'w, PendingStart>,
    preparation: Res<'w, Preparation>,
    window: Query<'w, 's, &'static Window, With<PrimaryWindow>>,
}

impl OnScreen<'_, '_> {
    fn context(&self) -> KeyContext {
        let session = self.session.as_deref();
        let (screen, pause) = (*self.screen.get(), *self.pause.get());
        match (screen, self.exercising.as_deref()) {
            _ if self.problem.0.is_some() => KeyContext::Problem,
            (Screen::Seat, _) => KeyContext::SeatForm,
            (Screen::Course, _) => KeyContext::CourseStep,
            (Screen::HandIn, _)
                if self.seat.as_ref().is_some_and(|seat| seat.hand_in().written.is_none()) =>
            {
                KeyContext::HandIn
            }
            (Screen::Lecture | Screen::Trial | Screen::Exercise, round)
                if let Some(context) = self
                    .lecture
                    .as_deref()
                    .and_then(|lecture| room_context(screen, pause, lecture, session, round)) =>
            {
                context
            }
            (Screen::Exercise, Some(exercising)) => exercise_context(pause, exercising),
            _ => key_context(screen, pause, session),
        }
    }

    fn letters(&self, context: KeyContext) -> Letters {
        use KeyContext as In;
        let low = |window: &Window| window.height() < ROOM_FOR_BOTH;
        let round = self.exercising.as_deref();
        let lecture = self.lecture.as_deref();
        match (context, self.session.as_deref(), round) {
            (In::Response | In::Searching | In::Debrief | In::RoomRevealed, Some(session), _) => {
                letters::of_trial(session)
            }
            (
                In::Question | In::FreePlay | In::QuestionDebrief | In::RoomRevealedQuestion,
                _,
                Some(round),
            ) => letters::of_round(round, &self.preparation, self.window.iter().any(low)),
            (In::RoomQuestion | In::RoomClosed, _, Some(round)) => letters::of_room_question(round),
            (In::CourseStep, ..) => self
                .seat
                .as_deref()
                .map_or_else(Letters::new, |seat| letters::of_course(seat, &self.start)),
            (In::RoomHub, ..) => {
                lecture.map_or_else(Letters::new, |room| letters::of_hub(room, &self.start))
            }
            _ => Letters::new(),
        }
    }
}

fn read_keys(
    mut keys: MessageReader<KeyboardInput>,
    mut intents: MessageWriter<Intent>,
    focus: Res<FocusHeld>,
    on_screen: OnScreen,
) {
    let pressed: Vec<&KeyboardInput> =
        keys.read().filter(|input| input.state == ButtonState::Pressed).collect();
    if pressed.is_empty() {
        return;
    }
    let context = on_screen.context();
    let letters = on_screen.letters(context);
    for input in pressed {
        if (!input.repeat || repeats(context, input.key_code))
            && let Some(intent) =
                intent_for_key(context, &letters, input.key_code, &input.logical_key, focus.0)
        {
            intents.write(intent);
        }
    }
}

/// What keys mean to the instructor of a lecture; `None` where they mean what they always do.
fn room_context(
    screen: Screen,
    pause: Pause,
    lecture: &Lecture,
    session: Option<&Session>,
    exercising: Option<&Exercising>,
) -> Option<KeyContext> {
    if pause == Pause::Paused {
        return Some(KeyContext::Paused);
    }
    let of_smile =
        screen == Screen::Trial && session.is_some_and(|session| session.mode().is_room());
    let of_options = screen == Screen::Exercise
        && exercising.is_some_and(|exercising| exercising.mode().is_room());
    Some(match (screen, lecture.stage()) {
        (Screen::Lecture, _) => KeyContext::RoomHub,
        (_, RoomStage::Asked) if of_smile => KeyContext::RoomAsked,
        (_, RoomStage::Asked) if of_options => KeyContext::RoomQuestion,
        (_, RoomStage::Closed) if of_smile || of_options => KeyContext::RoomClosed,
        (_, RoomStage::Revealed) if of_smile => KeyContext::RoomRevealed,
        (_, RoomStage::Revealed) if of_options => KeyContext::RoomRevealedQuestion,
        (_, RoomStage::Watching) if of_smile => KeyContext::Watching,
        _ => return None,
    })
}

fn exercise_context(pause: Pause, exercising: &Exercising) -> KeyContext {
    match (pause, exercising.sitting().stage()) {
        (Pause::Paused, _) => KeyContext::Paused,
        _ if exercising.mode().free().is_some() => match exercising.sitting().stage() {
            Stage::Asked => KeyContext::FreePlay,
            _ => KeyContext::Watching,
        },
        _ if !exercising.has_begun() => KeyContext::Instructions,
        (_, Stage::Asked) => KeyContext::Question,
        (_, Stage::Marked) => KeyContext::QuestionDebrief,
        (_, Stage::Preparing | Stage::Finished) => KeyContext::Watching,
    }
}

fn key_context(screen: Screen, pause: Pause, session: Option<&Session>) -> KeyContext {
    if screen == Screen::BenchSetup {
        return KeyContext::Setup;
    }
    if screen != Screen::Trial {
        return KeyContext::Menu;
    }
    if pause == Pause::Paused {
        return KeyContext::Paused;
    }
    match session.map(Session::phase) {
        Some(Phase::Adaptation { .. }) => KeyContext::Adaptation,
        Some(Phase::Mask | Phase::Response { .. }) => KeyContext::Response,
        Some(Phase::Exposure) if session.is_some_and(|s| s.mode().is_find()) => {
            KeyContext::Searching
        }
        Some(Phase::Debrief) if session.is_some_and(letters::is_rest) => KeyContext::Rest,
        Some(Phase::Debrief) => KeyContext::Debrief,
        _ => KeyContext::Watching,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn intent(context: KeyContext, code: KeyCode, text: &str, held: bool) -> Option<Intent> {
        let letters = vec![
            ('1', Intent::AnswerPlace(0)),
            ('a', Intent::ToggleMap),
            ('b', Intent::ToggleTwin),
            ('B', Intent::ToggleOutlines),
            (' ', Intent::ToggleAutoBlink),
        ];
        let key = match text {
            " " => Key::Space,
            _ => Key::Character(text.into()),
        };
        intent_for_key(context, &letters, code, &key, held)
    }

    #[test]
    fn letters_mean_what_they_mean_now_and_nothing_else() {
        let pressed = |code, text, held| intent(KeyContext::Question, code, text, held);
        assert_eq!(pressed(KeyCode::KeyA, "a", true), Some(Intent::ToggleMap));
        assert_eq!(pressed(KeyCode::KeyA, "A", false), Some(Intent::ToggleMap));
        assert_eq!(pressed(KeyCode::KeyB, "b", false), Some(Intent::ToggleTwin));
        assert_eq!(pressed(KeyCode::KeyB, "B", false), Some(Intent::ToggleOutlines));
        assert_eq!(pressed(KeyCode::KeyC, "c", false), None);
        // On a French keyboard the key writes an ampersand.
        assert_eq!(pressed(KeyCode::Digit1, "&", false), Some(Intent::AnswerPlace(0)));
        assert_eq!(pressed(KeyCode::Numpad1, "1", false), Some(Intent::AnswerPlace(0)));
        assert_eq!(pressed(KeyCode::Digit2, "2", false), None);
    }

    #[test]
    fn a_focused_control_keeps_enter_space_and_arrows() {
        for (context, code, text) in [
            (KeyContext::Debrief, KeyCode::Enter, ""),
            (KeyContext::Debrief, KeyCode::Space, " "),
            (KeyContext::Response, KeyCode::ArrowLeft, ""),
            (KeyContext::Adaptation, KeyCode::Enter, ""),
        ] {
            assert!(intent(context, code, text, false).is_some(), "{code:?}");
            assert_eq!(intent(context, code, text, true), None, "{code:?}");
        }
    }

    #[test]
    fn escape_pauses_resumes_goes_back_and_closes() {
        let escape = |context| intent(context, KeyCode::Escape, "", true);
        assert_eq!(escape(KeyContext::Response), Some(Intent::Pause));
        assert_eq!(escape(KeyContext::Paused), Some(Intent::Resume));
        assert_eq!(escape(KeyContext::Menu), Some(Intent::BackToTitle));
        assert_eq!(escape(KeyContext::Problem), Some(Intent::DismissProblem));
    }
}
