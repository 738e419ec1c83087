//! Devices → intents. [`Intent`] is everything a learner can ask for; nothing else changes state. What a
//! key means is in the table of [`crate::play::keys`]; here is which context it is, and which key.

use crate::app::shell::canvas::FocusHeld;
use crate::app::shell::order::AppSystems;
use crate::app::shell::state::{Pause, Screen};
use crate::app::ui::picture_view::ROOM_FOR_BOTH;
use crate::exercise::Stage;
use crate::play::course::Seat;
use crate::play::intents::Intent;
use crate::play::keys::{
    Asked, Key, KeyContext, Offered, in_course, in_debrief, in_hub, in_question, in_room_question,
    in_trial,
};
use crate::play::lecture::{Lecture, RoomStage};
use crate::play::problem::Problem;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::start::PendingStart;
use crate::trial::Phase;
use bevy::ecs::system::SystemParam;
use bevy::input::ButtonState;
use bevy::input::keyboard::{self, KeyCode, KeyboardInput};
use bevy::prelude::*;
use bevy::window::PrimaryWindow;

/// The intent of a key press, or `None` for keys without a meaning here. `offered` is what counts now.
///
/// `focus_held` tells that a control has the keyboard focus: then Enter, Space and the arrows
/// are that control's.
#[must_use]
pub fn intent_for_key(
    offered: &Offered,
    code: KeyCode,
    written: &keyboard::Key,
    focus_held: bool,
) -> Option<Intent> {
    let key = pressed(code, written)?;
    if focus_held && key.is_of_a_control() { None } else { offered.intent(key) }
}

/// The key as the table has it. Digits are known by their place on the keyboard, so that they need no
/// Shift on any layout.
fn pressed(code: KeyCode, written: &keyboard::Key) -> Option<Key> {
    Some(match code {
        KeyCode::Digit1 | KeyCode::Numpad1 => Key::Writes('1'),
        KeyCode::Digit2 | KeyCode::Numpad2 => Key::Writes('2'),
        KeyCode::Digit3 | KeyCode::Numpad3 => Key::Writes('3'),
        KeyCode::Digit4 | KeyCode::Numpad4 => Key::Writes('4'),
        KeyCode::Digit5 | KeyCode::Numpad5 => Key::Writes('5'),
        KeyCode::Digit6 | KeyCode::Numpad6 => Key::Writes('6'),
        KeyCode::Digit7 | KeyCode::Numpad7 => Key::Writes('7'),
        KeyCode::Digit8 | KeyCode::Numpad8 => Key::Writes('8'),
        KeyCode::Digit9 | KeyCode::Numpad9 => Key::Writes('9'),
        KeyCode::Digit0 | KeyCode::Numpad0 => Key::Writes('0'),
        KeyCode::Escape => Key::Escape,
        KeyCode::F11 => Key::F11,
        _ => match written {
            keyboard::Key::Character(text) => Key::Writes(text.chars().next()?),
            keyboard::Key::Space => Key::Writes(' '),
            _ => named(code)?,
        },
    })
}

/// A key that writes nothing.
const fn named(code: KeyCode) -> Option<Key> {
    Some(match code {
        KeyCode::Enter | KeyCode::NumpadEnter => Key::Enter,
        KeyCode::ArrowLeft => Key::Left,
        KeyCode::ArrowRight => Key::Right,
        KeyCode::ArrowUp => Key::Up,
        KeyCode::ArrowDown => Key::Down,
        KeyCode::PageUp => Key::PageUp,
        KeyCode::PageDown => Key::PageDown,
        _ => return None,
    })
}

/// Whether a key that is held down goes on doing what it does: changing a recipe or a setup.
const fn repeats(context: KeyContext, code: KeyCode) -> bool {
    matches!(context, KeyContext::FreePlay | KeyContext::Setup)
        && matches!(
            code,
            KeyCode::ArrowLeft | KeyCode::ArrowRight | KeyCode::PageUp | KeyCode::PageDown
        )
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

    /// What counts at the moment.
    fn offered(&self, context: KeyContext) -> Offered {
        use KeyContext as In;
        let low = |window: &Window| window.height() < ROOM_FOR_BOTH;
        let round = self.exercising.as_deref();
        match (context, self.session.as_deref(), round) {
            (In::Response | In::Searching | In::Debrief | In::RoomRevealed, Some(session), _) => {
                in_trial(context, session)
            }
            (In::Question(_) | In::FreePlay, _, Some(round)) => {
                in_question(round, self.window.iter().any(low))
            }
            (In::QuestionDebrief | In::RoomRevealedQuestion, _, Some(round)) => {
                in_debrief(round, &self.preparation)
            }
            (In::RoomQuestion | In::RoomClosedQuestion, _, Some(round)) => {
                in_room_question(context, round)
            }
            (In::CourseStep, ..) if let Some(seat) = self.seat.as_deref() => {
                in_course(seat, &self.start)
            }
            (In::RoomHub | In::RoomOver, ..) if let Some(room) = self.lecture.as_deref() => {
                in_hub(context, room, &self.start)
            }
            _ => Offered::all(context),
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
    let offered = on_screen.offered(context);
    for input in pressed {
        if (!input.repeat || repeats(context, input.key_code))
            && let Some(intent) =
                intent_for_key(&offered, input.key_code, &input.logical_key, focus.0)
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
        (Screen::Lecture, _) if lecture.is_over() => KeyContext::RoomOver,
        (Screen::Lecture, _) => KeyContext::RoomHub,
        (_, RoomStage::Asked) if of_smile => KeyContext::RoomAsked,
        (_, RoomStage::Asked) if of_options => KeyContext::RoomQuestion,
        (_, RoomStage::Closed) if of_options => KeyContext::RoomClosedQuestion,
        (_, RoomStage::Closed) if of_smile => KeyContext::RoomClosed,
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
        (_, Stage::Asked) => exercising
            .draft()
            .map_or(KeyContext::Watching, |draft| KeyContext::Question(Asked::of(draft))),
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
        // Where nothing is told of the smile, what follows an answer is a rest.
        Some(Phase::Debrief) if session.is_some_and(|s| !s.mode().feeds_back()) => KeyContext::Rest,
        Some(Phase::Debrief) => KeyContext::Debrief,
        _ => KeyContext::Watching,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::play::intents::{Act, ExerciseIntent};
    use crate::trial::InputDevice;

    fn intent(context: KeyContext, code: KeyCode, text: &str, held: bool) -> Option<Intent> {
        let key = match text {
            " " => keyboard::Key::Space,
            "" => keyboard::Key::Unidentified(keyboard::NativeKey::Unidentified),
            _ => keyboard::Key::Character(text.into()),
        };
        intent_for_key(&Offered::all(context), code, &key, held)
    }

    const fn act(act: Act) -> Option<Intent> {
        Some(Intent::Exercise(ExerciseIntent::Act(act, InputDevice::Keyboard)))
    }

    #[test]
    fn letters_mean_what_they_mean_now_and_nothing_else() {
        let pressed = |code, text, held| intent(KeyContext::FreePlay, code, text, held);
        assert_eq!(pressed(KeyCode::KeyU, "u", true), act(Act::Undo));
        assert_eq!(pressed(KeyCode::KeyU, "U", false), act(Act::Undo));
        assert_eq!(pressed(KeyCode::KeyB, "b", false), act(Act::Compare(1)));
        assert_eq!(pressed(KeyCode::KeyB, "B", false), act(Act::Keep(1)));
        assert_eq!(pressed(KeyCode::KeyN, "n", false), None);
    }

    #[test]
    fn digits_are_known_by_their_place() {
        // On a French keyboard the key writes an ampersand.
        for (code, text) in [(KeyCode::Digit1, "&"), (KeyCode::Numpad1, "1")] {
            assert_eq!(
                pressed(code, &keyboard::Key::Character(text.into())),
                Some(Key::Writes('1'))
            );
        }
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
