//! Devices → intents. [`Intent`] is everything a learner can ask for; nothing else changes state.

use crate::scene::Tooth;
use crate::trial::InputDevice;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::prelude::*;

use super::bench_setup::SetupIntent;
use super::clinic_form::FormIntent;
use super::courses::{CourseIntent, Seat};
use super::exercising::{Act, ExerciseIntent, Exercising, Page};
use super::lecture::{Lecture, RoomIntent, RoomStage};
use super::measuring::MeasureChoice;
use super::session::{Conduct, Session};
use super::ui::FocusHeld;
use super::{AppSystems, Pause, Screen};
use crate::exercise::Stage;
use crate::trial::Phase;

/// Everything the learner can ask for.
#[derive(Message, Debug, Clone, PartialEq)]
pub enum Intent {
    /// Begin a session of the level with this id.
    StartLevel(String),
    /// Go on with the unfinished session of the level with this id.
    ContinueLevel(String),
    /// Show what can be measured.
    OpenMeasure,
    /// Begin a measurement.
    StartMeasure(MeasureChoice),
    /// Go on with the unfinished measurement of this session.
    ContinueMeasure(i64),
    /// Show the result of the measurement of this session.
    ShowMeasured(i64),
    /// Go on with the unfinished measurement of choosing of this session.
    ContinueChoice(i64),
    /// Show the result of the measurement of choosing of this session.
    ShowChoice(i64),
    /// Set up free play on the bench.
    OpenBenchSetup,
    /// Type a case from the clinic.
    OpenClinicForm,
    /// While a bench is set up.
    Setup(SetupIntent),
    /// In the form for cases.
    Form(FormIntent),
    /// Show cautions, keys and where results are kept.
    OpenAbout,
    /// Back to the level list.
    BackToTitle,
    /// Leave the program.
    Quit,
    /// End the grey adaptation now.
    StartNow,
    /// Move the answer row's cursor by this many cells.
    MoveCursor(i32),
    /// Answer with the cell under the cursor.
    AnswerAtCursor,
    /// Answer with the cell at this place, counted from the viewer's left.
    AnswerPlace(usize),
    /// Answer: this tooth, or `None` for "none is restored".
    Answer(Option<Tooth>, InputDevice),
    /// "I have found it": the smile goes away and the answer row comes.
    Seen,
    /// Show the other of restored and natural.
    ToggleTwin,
    /// Let the picture change by itself, or stop that.
    ToggleAutoBlink,
    /// Show lightness only, or colour again.
    ToggleValueOnly,
    /// Show the map of the difference, or the smile again.
    ToggleMap,
    /// Show the restored tooth beside its twin, or the smile again.
    ToggleSideBySide,
    /// Show or hide the outlines.
    ToggleOutlines,
    /// In an exercise with questions.
    Exercise(ExerciseIntent),
    /// Leave the debrief.
    Continue,
    /// Open the pause menu.
    Pause,
    /// Close the pause menu.
    Resume,
    /// End the session; every answered trial stays.
    StopSession,
    /// Close the message about a failure.
    DismissProblem,
    /// Show the courses.
    OpenCourses,
    /// About a course.
    Course(CourseIntent),
    /// About a lecture.
    Room(RoomIntent),
    /// Fill the screen with the window, or not.
    ToggleFullScreen,
}

/// What the keyboard means at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyContext {
    /// Menus: the focused control handles keys; Escape goes back.
    Menu,
    /// Grey adaptation.
    Adaptation,
    /// The answer row is open.
    Response,
    /// A smile that stays until it is searched.
    Searching,
    /// The debrief.
    Debrief,
    /// Instructions before a round of questions.
    Instructions,
    /// A question is asked.
    Question,
    /// A question of a measurement: no view that changes what is measured.
    MeasuredQuestion,
    /// Free play on the bench.
    FreePlay,
    /// A bench is set up.
    Setup,
    /// The debrief of a question.
    QuestionDebrief,
    /// The pause menu.
    Paused,
    /// Parts of a trial without controls.
    Watching,
    /// Who sits where.
    SeatForm,
    /// The steps of a course.
    CourseStep,
    /// Handing in: the folder's name.
    HandIn,
    /// A lecture between its questions.
    RoomHub,
    /// A room is asked about a smile.
    RoomAsked,
    /// A room is asked about options.
    RoomQuestion,
    /// A room's question is closed.
    RoomClosed,
    /// The room sees the solution of a smile.
    RoomRevealed,
    /// The room sees the solution of a question about options.
    RoomRevealedQuestion,
}

/// The intent of a key press, or `None` for keys without a meaning here.
///
/// `focus_held` tells that a control has the keyboard focus: then Enter, Space and the arrows
/// are that control's.
#[must_use]
pub fn intent_for_key(
    context: KeyContext,
    code: KeyCode,
    key: &Key,
    focus_held: bool,
) -> Option<Intent> {
    use KeyContext as In;
    let letter = match key {
        Key::Character(text) => text.chars().next().map(|c| c.to_ascii_lowercase()),
        _ => None,
    };
    if let Some(intent) = intent_in_course(context, code, key, focus_held) {
        return Some(intent);
    }
    match (context, code) {
        (In::SeatForm | In::CourseStep | In::HandIn, KeyCode::Escape) => Some(Intent::BackToTitle),
        (In::RoomRevealed, _) => intent_for_key(In::Debrief, code, key, focus_held),
        (In::RoomRevealedQuestion, _) => intent_for_key(In::QuestionDebrief, code, key, focus_held),
        (In::Paused, KeyCode::Escape) => Some(Intent::Resume),
        (In::Menu | In::Setup, KeyCode::Escape) => Some(Intent::BackToTitle),
        (_, KeyCode::Escape) => Some(Intent::Pause),
        (In::Response, _) if place_of(code).is_some() => place_of(code).map(Intent::AnswerPlace),
        (In::Response | In::Searching, _) if matches!(letter, Some('n' | '-')) => {
            Some(Intent::Answer(None, InputDevice::Keyboard))
        }
        (In::Debrief, _) if letter == Some('v') => Some(Intent::ToggleValueOnly),
        (In::Debrief, _) if letter == Some('m') => Some(Intent::ToggleMap),
        (In::Debrief, _) if letter == Some('s') => Some(Intent::ToggleSideBySide),
        (In::Debrief, _) if letter == Some('o') => Some(Intent::ToggleOutlines),
        (In::Debrief, _) if letter == Some('b') => Some(Intent::ToggleAutoBlink),
        (In::QuestionDebrief, _) if place_of(code).is_some() => {
            place_of(code).map(|place| Intent::Exercise(ExerciseIntent::Review(place)))
        }
        (In::QuestionDebrief, _) if letter == Some('c') => {
            Some(Intent::Exercise(ExerciseIntent::TogglePage(Page::Chart)))
        }
        (In::QuestionDebrief, _) if letter == Some('l') => {
            Some(Intent::Exercise(ExerciseIntent::TogglePage(Page::Layers)))
        }
        (In::QuestionDebrief, _) if letter.is_some() => {
            intent_for_key(In::Debrief, code, key, focus_held)
        }
        (In::MeasuredQuestion, _) if letter == Some('v') => None,
        (In::MeasuredQuestion, _) => intent_for_key(In::Question, code, key, focus_held),
        (In::FreePlay, _) if letter.is_some_and(|letter| "msovcxe".contains(letter)) => {
            letter.and_then(free_play)
        }
        (In::FreePlay, _) if act_for_letter(code, key).is_some() => {
            act_for_letter(code, key).map(act)
        }
        (In::Question, _) if letter == Some('v') => Some(Intent::ToggleValueOnly),
        (In::Question, _) if letter == Some('o') => Some(Intent::ToggleOutlines),
        (In::Question, _) if letter == Some('g') => {
            Some(Intent::Exercise(ExerciseIntent::ToggleSheet))
        }
        (In::Question, _) if act_for_letter(code, key).is_some() => {
            act_for_letter(code, key).map(act)
        }
        _ if focus_held => None,
        (In::Setup, KeyCode::ArrowUp) => Some(Intent::Setup(SetupIntent::Step(-1))),
        (In::Setup, KeyCode::ArrowDown) => Some(Intent::Setup(SetupIntent::Step(1))),
        (In::Setup, KeyCode::ArrowLeft) => Some(Intent::Setup(SetupIntent::Move(-1))),
        (In::Setup, KeyCode::ArrowRight) => Some(Intent::Setup(SetupIntent::Move(1))),
        (In::Setup, KeyCode::PageDown) => Some(Intent::Setup(SetupIntent::Move(-5))),
        (In::Setup, KeyCode::PageUp) => Some(Intent::Setup(SetupIntent::Move(5))),
        (In::Setup, KeyCode::Enter | KeyCode::NumpadEnter) => {
            Some(Intent::Setup(SetupIntent::Start))
        }
        (In::FreePlay, KeyCode::Space) => Some(Intent::ToggleTwin),
        (In::FreePlay | In::Question, KeyCode::PageDown) => Some(act(Act::Move(-5))),
        (In::FreePlay | In::Question, KeyCode::PageUp) => Some(act(Act::Move(5))),
        (In::FreePlay, _) => intent_for_key(In::Question, code, key, focus_held),
        (In::Instructions, KeyCode::Enter | KeyCode::NumpadEnter) => {
            Some(Intent::Exercise(ExerciseIntent::Begin))
        }
        (In::Question, KeyCode::ArrowLeft) => Some(act(Act::Move(-1))),
        (In::Question, KeyCode::ArrowRight) => Some(act(Act::Move(1))),
        (In::Question, KeyCode::ArrowUp) => Some(act(Act::Step(-1))),
        (In::Question, KeyCode::ArrowDown) => Some(act(Act::Step(1))),
        (In::Question, KeyCode::Space) => Some(act(Act::Tick)),
        (In::Question, KeyCode::Enter | KeyCode::NumpadEnter) => Some(act(Act::Confirm)),
        (In::QuestionDebrief, KeyCode::ArrowLeft | KeyCode::ArrowUp) => {
            Some(Intent::Exercise(ExerciseIntent::ReviewNext(-1)))
        }
        (In::QuestionDebrief, KeyCode::ArrowRight | KeyCode::ArrowDown) => {
            Some(Intent::Exercise(ExerciseIntent::ReviewNext(1)))
        }
        (In::QuestionDebrief, KeyCode::Space) => Some(Intent::ToggleTwin),
        (In::QuestionDebrief, KeyCode::Enter | KeyCode::NumpadEnter) => Some(Intent::Continue),
        (In::Adaptation, KeyCode::Enter | KeyCode::NumpadEnter) => Some(Intent::StartNow),
        (In::Response, KeyCode::ArrowLeft) => Some(Intent::MoveCursor(-1)),
        (In::Response, KeyCode::ArrowRight) => Some(Intent::MoveCursor(1)),
        (In::Response, KeyCode::Enter | KeyCode::NumpadEnter) => Some(Intent::AnswerAtCursor),
        (In::Searching, KeyCode::Space | KeyCode::Enter | KeyCode::NumpadEnter) => {
            Some(Intent::Seen)
        }
        (In::Debrief, KeyCode::Space) => Some(Intent::ToggleTwin),
        (In::Debrief, KeyCode::Enter | KeyCode::NumpadEnter) => Some(Intent::Continue),
        _ => None,
    }
}

/// What a letter does in free play besides composing.
const fn free_play(letter: char) -> Option<Intent> {
    Some(match letter {
        'm' => Intent::ToggleMap,
        's' => Intent::ToggleSideBySide,
        'o' => Intent::ToggleOutlines,
        'v' => Intent::ToggleValueOnly,
        'c' => Intent::Exercise(ExerciseIntent::TogglePage(Page::Chart)),
        'x' => Intent::Exercise(ExerciseIntent::TogglePage(Page::Layers)),
        'e' => Intent::StopSession,
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

/// What keys mean in courses alone.
fn intent_in_course(
    context: KeyContext,
    code: KeyCode,
    key: &Key,
    focus_held: bool,
) -> Option<Intent> {
    use KeyContext as In;
    let course = |intent| Some(Intent::Course(intent));
    let room = |intent| Some(Intent::Room(intent));
    let is_enter = matches!(code, KeyCode::Enter | KeyCode::NumpadEnter) && !focus_held;
    let typed = match key {
        Key::Character(text) => text.chars().next(),
        Key::Space => Some(' '),
        _ => None,
    };
    let letter = typed.map(|letter| letter.to_ascii_lowercase());
    match (context, code) {
        (_, KeyCode::F11) => Some(Intent::ToggleFullScreen),
        (In::SeatForm, _) if is_enter => course(CourseIntent::Enter),
        (In::HandIn, _) if is_enter => course(CourseIntent::HandIn),
        (In::CourseStep, _) if is_enter => course(CourseIntent::Begin),
        (In::CourseStep, _) if letter == Some('s') => course(CourseIntent::Skip),
        (In::RoomHub, _) if is_enter => room(RoomIntent::Begin),
        (In::RoomHub, _) if letter == Some('p') => room(RoomIntent::OtherPort),
        (In::RoomHub, _) if letter == Some('w') => room(RoomIntent::Save),
        (In::RoomAsked | In::RoomQuestion, _) if is_enter || letter == Some('c') => {
            room(RoomIntent::Close)
        }
        (In::RoomQuestion | In::RoomClosed, _) if place_of(code).is_some() => {
            place_of(code).map(|place| act(Act::Choose(place)))
        }
        (In::RoomQuestion, _) if letter == Some('g') => {
            Some(Intent::Exercise(ExerciseIntent::ToggleSheet))
        }
        (In::RoomQuestion, _) if letter == Some('v') => Some(Intent::ToggleValueOnly),
        (In::RoomClosed, _) if is_enter || letter == Some('r') => room(RoomIntent::Reveal),
        _ => None,
    }
}

const fn act(act: Act) -> Intent {
    Intent::Exercise(ExerciseIntent::Act(act, InputDevice::Keyboard))
}

/// What a digit or letter does while a question is asked. Capitals keep a recipe, small letters
/// show it.
fn act_for_letter(code: KeyCode, key: &Key) -> Option<Act> {
    if let Some(place) = place_of(code) {
        return Some(Act::Choose(place));
    }
    let Key::Character(text) = key else { return None };
    Some(match text.chars().next()? {
        'A' => Act::Keep(0),
        'B' => Act::Keep(1),
        'a' => Act::Compare(0),
        'b' => Act::Pick,
        'c' | 'C' => Act::No,
        'f' | 'F' | 'k' | 'K' => Act::Yes,
        'l' | 'L' => Act::Light,
        'n' | 'N' | '-' => Act::None,
        'r' | 'R' | 'y' | 'Y' => Act::Redo,
        'u' | 'U' | 'z' | 'Z' => Act::Undo,
        _ => return None,
    })
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

pub(super) fn plugin(app: &mut App) {
    app.add_message::<Intent>()
        .add_message::<KeyboardInput>()
        .init_resource::<FocusHeld>()
        .add_systems(Update, read_keys.in_set(AppSystems::Input));
}

fn read_keys(
    mut keys: MessageReader<KeyboardInput>,
    mut intents: MessageWriter<Intent>,
    focus: Res<FocusHeld>,
    screen: Res<State<Screen>>,
    pause: Res<State<Pause>>,
    session: Option<Res<Session>>,
    exercising: Option<Res<Exercising>>,
    lecture: Option<Res<Lecture>>,
    seat: Option<Res<Seat>>,
) {
    let context = match (screen.get(), exercising.as_deref()) {
        (Screen::Seat, _) => KeyContext::SeatForm,
        (Screen::Course, _) => KeyContext::CourseStep,
        (Screen::HandIn, _) if seat.is_some_and(|seat| seat.hand_in().written.is_none()) => {
            KeyContext::HandIn
        }
        (Screen::Lecture | Screen::Trial | Screen::Exercise, _)
            if let Some(context) = lecture.as_deref().and_then(|lecture| {
                let (session, round) = (session.as_deref(), exercising.as_deref());
                room_context(*screen.get(), *pause.get(), lecture, session, round)
            }) =>
        {
            context
        }
        (Screen::Exercise, Some(exercising)) => exercise_context(*pause.get(), exercising),
        _ => key_context(*screen.get(), *pause.get(), session.as_deref()),
    };
    for input in keys.read() {
        if input.state == ButtonState::Pressed
            && (!input.repeat || repeats(context, input.key_code))
            && let Some(intent) =
                intent_for_key(context, input.key_code, &input.logical_key, focus.0)
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
    let of_smile = screen == Screen::Trial
        && session.is_some_and(|session| *session.conduct() == Conduct::Room);
    let of_options =
        screen == Screen::Exercise && exercising.is_some_and(|exercising| exercising.is_in_room());
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
        _ if exercising.free_play().is_some() => match exercising.sitting().stage() {
            Stage::Asked => KeyContext::FreePlay,
            _ => KeyContext::Watching,
        },
        _ if !exercising.has_begun() => KeyContext::Instructions,
        (_, Stage::Asked) if exercising.measured().is_some() => KeyContext::MeasuredQuestion,
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
        Some(Phase::Exposure) if session.is_some_and(Session::is_search) => KeyContext::Searching,
        Some(Phase::Debrief) => KeyContext::Debrief,
        _ => KeyContext::Watching,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn intent(context: KeyContext, code: KeyCode, text: &str, held: bool) -> Option<Intent> {
        intent_for_key(context, code, &Key::Character(text.into()), held)
    }

    #[test]
    fn number_keys_name_places_from_the_left_and_n_or_minus_mean_none() {
        let response = KeyContext::Response;
        assert_eq!(intent(response, KeyCode::Digit1, "1", true), Some(Intent::AnswerPlace(0)));
        assert_eq!(intent(response, KeyCode::Digit0, "0", false), Some(Intent::AnswerPlace(9)));
        for text in ["n", "N", "-"] {
            assert_eq!(
                intent(response, KeyCode::KeyN, text, false),
                Some(Intent::Answer(None, InputDevice::Keyboard))
            );
        }
        assert_eq!(intent(KeyContext::Watching, KeyCode::Digit1, "1", false), None);
    }

    #[test]
    fn a_focused_control_keeps_enter_space_and_arrows() {
        for (context, code) in [
            (KeyContext::Debrief, KeyCode::Enter),
            (KeyContext::Debrief, KeyCode::Space),
            (KeyContext::Response, KeyCode::ArrowLeft),
            (KeyContext::Adaptation, KeyCode::Enter),
        ] {
            assert!(intent(context, code, "", false).is_some(), "{code:?}");
            assert_eq!(intent(context, code, "", true), None, "{code:?}");
        }
    }

    #[test]
    fn every_aid_of_the_debrief_has_a_key_even_while_a_control_is_focused() {
        for (code, text, intended) in [
            (KeyCode::KeyV, "v", Intent::ToggleValueOnly),
            (KeyCode::KeyM, "m", Intent::ToggleMap),
            (KeyCode::KeyS, "S", Intent::ToggleSideBySide),
            (KeyCode::KeyO, "o", Intent::ToggleOutlines),
            (KeyCode::KeyB, "b", Intent::ToggleAutoBlink),
        ] {
            assert_eq!(intent(KeyContext::Debrief, code, text, true), Some(intended));
            assert_eq!(intent(KeyContext::Watching, code, text, false), None);
        }
    }

    #[test]
    fn escape_pauses_resumes_and_goes_back() {
        let escape = |context| intent(context, KeyCode::Escape, "", true);
        assert_eq!(escape(KeyContext::Response), Some(Intent::Pause));
        assert_eq!(escape(KeyContext::Paused), Some(Intent::Resume));
        assert_eq!(escape(KeyContext::Menu), Some(Intent::BackToTitle));
    }
}
