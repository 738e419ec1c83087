//! Letters, digits and Space: each does what a label on the screen says, and no other does anything.
//!
//! One letter means different things in different exercises, so there is no table of letters for all of
//! them: each state of a screen has its own list, with exactly the keys that its controls name.
//! `tests/app/letters` compares every list with the labels that are drawn.

use crate::exercise::{Slot, Stage, Task};
use crate::level::course_format::Step;
use crate::play::answer::BenchDraft;
use crate::play::answer::{DIRECTIONS, Draft, LightStep};
use crate::play::course::Seat;
use crate::play::intents::CourseIntent;
use crate::play::intents::Intent;
use crate::play::intents::RoomIntent;
use crate::play::intents::{Act, ExerciseIntent, Page};
use crate::play::lecture::Lecture;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::start::PendingStart;
use crate::trial::{InputDevice, Phase};

/// What keys that write something mean at the moment. A capital is looked for first, then the small
/// letter, so that Caps Lock changes nothing where capitals have no meaning of their own.
pub type Letters = Vec<(char, Intent)>;

const DIGITS: [char; 10] = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '0'];

fn act(letter: char, act: Act) -> (char, Intent) {
    (letter, Intent::Exercise(ExerciseIntent::Act(act, InputDevice::Keyboard)))
}

/// The digits of so many places, from the left.
fn places(count: usize) -> impl Iterator<Item = (char, Intent)> {
    DIGITS.into_iter().take(count).enumerate().map(|(place, digit)| act(digit, Act::Choose(place)))
}

/// In a trial.
pub(crate) fn of_trial(session: &Session) -> Letters {
    let none = Intent::Answer(None, InputDevice::Keyboard);
    match session.phase() {
        Phase::Mask | Phase::Response { .. } => {
            let teeth = session.plan().teeth.len();
            let digits = DIGITS.into_iter().take(teeth).enumerate();
            let mut letters: Letters =
                digits.map(|(place, digit)| (digit, Intent::AnswerPlace(place))).collect();
            letters.extend([('n', none.clone()), ('-', none)]);
            letters
        }
        Phase::Exposure if session.mode().is_find() => {
            vec![(' ', Intent::Seen), ('n', none.clone()), ('-', none)]
        }
        Phase::Debrief if is_rest(session) => Letters::new(),
        Phase::Debrief => {
            let mut letters = compared(session.shown().is_some_and(|s| s.scene.truth.is_some()));
            letters.push(('v', Intent::ToggleValueOnly));
            if !session.mode().is_room() {
                letters.push(('o', Intent::ToggleOutlines));
            }
            letters
        }
        _ => Letters::new(),
    }
}

/// Whether what follows an answer is a rest: nothing is told of the smile.
pub(crate) fn is_rest(session: &Session) -> bool {
    !session.mode().feeds_back()
}

/// Ways to compare a smile with its twin, where it has one.
fn compared(has_twin: bool) -> Letters {
    if !has_twin {
        return Letters::new();
    }
    vec![
        (' ', Intent::ToggleTwin),
        ('b', Intent::ToggleAutoBlink),
        ('m', Intent::ToggleMap),
        ('s', Intent::ToggleSideBySide),
    ]
}

/// While a question is asked or explained. `little_room`: chart and layers of free play have the window
/// to themselves.
pub(crate) fn of_round(
    exercising: &Exercising,
    preparation: &Preparation,
    little_room: bool,
) -> Letters {
    let (Some(question), true) = (exercising.sitting().question(), exercising.has_begun()) else {
        return Letters::new();
    };
    match (exercising.sitting().stage(), exercising.draft()) {
        (Stage::Asked, Some(Draft::Bench(draft))) if exercising.mode().free().is_some() => {
            free_play(exercising, draft, little_room)
        }
        (Stage::Asked, Some(draft)) => asked(draft, question.sights.len(), exercising),
        (Stage::Marked, _) => marked(exercising, preparation),
        _ => Letters::new(),
    }
}

/// Ways to look at the smiles of a question.
fn views(exercising: &Exercising) -> Letters {
    let mut letters = vec![('o', Intent::ToggleOutlines)];
    if exercising.mode().choosing().is_none() {
        letters.push(('v', Intent::ToggleValueOnly));
    }
    if exercising.sights().len() > 1 && !exercising.is_composing() {
        letters.push(('g', Intent::Exercise(ExerciseIntent::ToggleSheet)));
    }
    letters
}

fn asked(draft: &Draft, options: usize, exercising: &Exercising) -> Letters {
    let (count, acts): (usize, &[(char, Act)]) = match draft {
        Draft::Blend(draft) => {
            (draft.count, &[('b', Act::Pick), ('n', Act::None), (' ', Act::Tick)])
        }
        Draft::Ladder(draft) => (draft.order.len(), &[(' ', Act::Tick)]),
        Draft::Match(draft) => (draft.count, &[(' ', Act::Tick)]),
        Draft::TwoLights(draft) if draft.step == LightStep::Predict => {
            (0, &[('k', Act::Yes), ('c', Act::No)])
        }
        Draft::TwoLights(draft) => (draft.count, &[('b', Act::Pick)]),
        Draft::Bench(_) => (0, &[('f', Act::Yes), ('n', Act::None)]),
        Draft::TryIn(draft) if !draft.may_see() => (DIRECTIONS.len(), &[]),
        Draft::TryIn(draft) => (draft.count, &[('b', Act::Pick)]),
        Draft::Bracket(draft) if draft.placing => (options, &[('n', Act::None), ('u', Act::Undo)]),
        Draft::Bracket(_) => (options, &[('b', Act::Pick)]),
        Draft::Margin(draft) => (draft.count, &[('b', Act::Pick), ('n', Act::None)]),
        Draft::Verdict => (0, &[('a', Act::Yes), ('r', Act::No)]),
    };
    let mut letters: Letters = places(count).collect();
    letters.extend(acts.iter().map(|(letter, what)| act(*letter, *what)));
    if let Draft::Bench(draft) = draft {
        letters.extend(recipes(draft));
    }
    // Patches and a smile that is gone after a while have one look only.
    if !matches!(draft, Draft::Ladder(_) | Draft::Verdict) {
        letters.extend(views(exercising));
    }
    letters
}

/// Taking back, bringing again, the two kept recipes and the other light.
fn recipes(draft: &BenchDraft) -> Letters {
    let mut letters = vec![act('u', Act::Undo), act('r', Act::Redo), act('l', Act::Light)];
    for (place, slot, small, capital) in [(0, Slot::A, 'a', 'A'), (1, Slot::B, 'b', 'B')] {
        if draft.drafts.kept(slot).is_some() {
            letters.push(act(small, Act::Compare(place)));
        }
        if draft.compared != Some(slot) {
            letters.push(act(capital, Act::Keep(place)));
        }
    }
    letters
}

fn page(letter: char, page: Page) -> (char, Intent) {
    (letter, Intent::Exercise(ExerciseIntent::TogglePage(page)))
}

fn free_play(exercising: &Exercising, draft: &BenchDraft, little_room: bool) -> Letters {
    let pages = [page('c', Page::Chart), page('x', Page::Layers)];
    match exercising.page() {
        Page::Chart if little_room => return vec![page('c', Page::Chart)],
        Page::Layers if little_room => return vec![page('x', Page::Layers)],
        _ => {}
    }
    let mut letters = recipes(draft);
    letters.extend(views(exercising));
    letters.extend(pages);
    letters.extend([act('f', Act::Yes), ('e', Intent::StopSession)]);
    if exercising.page() == Page::Smile {
        letters.extend([
            (' ', Intent::ToggleTwin),
            ('s', Intent::ToggleSideBySide),
            ('m', Intent::ToggleMap),
        ]);
    }
    letters
}

/// In the debrief of a question.
fn marked(exercising: &Exercising, preparation: &Preparation) -> Letters {
    let Some((question, ..)) = exercising.marked() else { return Letters::new() };
    let is_flat = matches!(question.task, Task::Ladder(_) | Task::Match(_));
    let mut letters = Letters::new();
    if !is_flat {
        letters.extend([page('c', Page::Chart), page('x', Page::Layers)]);
    }
    if exercising.page() != Page::Smile {
        return letters;
    }
    letters.push(('v', Intent::ToggleValueOnly));
    let shown = exercising.shown(preparation);
    letters.extend(compared(!is_flat && shown.is_some_and(|shown| shown.scene.truth.is_some())));
    letters.extend(exercising.numbered().into_iter().filter_map(|(number, sight)| {
        let digit = DIGITS.get(number.checked_sub(1)?)?;
        Some((*digit, Intent::Exercise(ExerciseIntent::Review(sight))))
    }));
    letters
}

/// In a course, at a seat.
pub(crate) fn of_course(seat: &Seat, start: &PendingStart) -> Letters {
    let may_skip = matches!(
        seat.current(),
        Some(Step::Practice { .. } | Step::Measure { .. } | Step::FindIt { .. })
    );
    if may_skip && !start.waits() {
        vec![('s', Intent::Course(CourseIntent::Skip))]
    } else {
        Letters::new()
    }
}

/// In a lecture, between its questions.
pub(crate) fn of_hub(lecture: &Lecture, start: &PendingStart) -> Letters {
    let room = |letter, intent| vec![(letter, Intent::Room(intent))];
    match lecture.is_over() {
        true if !lecture.record().items().is_empty() => room('w', RoomIntent::Save),
        false if lecture.address().is_none() && !start.waits() => room('p', RoomIntent::OtherPort),
        _ => Letters::new(),
    }
}

/// While a room is asked about options, and before it sees the solution.
pub(crate) fn of_room_question(exercising: &Exercising) -> Letters {
    let mut letters: Letters = places(exercising.sights().len()).collect();
    letters.push(('v', Intent::ToggleValueOnly));
    if exercising.sights().len() > 1 {
        letters.push(('g', Intent::Exercise(ExerciseIntent::ToggleSheet)));
    }
    letters
}
