//! Which rows of the table count at the moment: keys and controls go by the same lists.

use super::context::{Asked, KeyContext};
use super::row::{Does, Key, Row, place_of};
use super::table::{actions, rows};
use crate::exercise::{Question, Slot};
use crate::level::course_format::Step;
use crate::play::answer::{BenchDraft, DIRECTIONS, Draft, LightStep};
use crate::play::course::Seat;
use crate::play::intents::{Act, CourseIntent, ExerciseIntent, Intent, Page, RoomIntent};
use crate::play::lecture::Lecture;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::start::PendingStart;
use crate::play::view::{DebriefView, Look, Side};
use crate::trial::InputDevice;

/// Digits that there are.
const MOST_PLACES: usize = 10;

/// The rows that count at the moment, and what digits mean.
#[derive(Debug, Clone, Default)]
pub struct Offered {
    rows: Vec<&'static Row>,
    /// Places that digits go to, counted from 0, and what stands there.
    places: Vec<(usize, usize)>,
}

impl Offered {
    /// All that a context has, without digits.
    #[must_use]
    pub fn all(context: KeyContext) -> Self {
        Self { rows: rows(context).collect(), places: Vec::new() }
    }

    /// With digits for so many places.
    fn with_places(self, count: usize) -> Self {
        let places = (0..count.min(MOST_PLACES)).map(|place| (place, place)).collect();
        Self { places, ..self }
    }

    /// Those only whose intents count.
    fn only(mut self, counts: impl Fn(&Intent) -> bool) -> Self {
        self.rows
            .retain(|row| row.asks(InputDevice::Keyboard).is_none_or(|intent| counts(&intent)));
        self
    }

    /// What a key asks for. A capital is looked for first, then the small letter, so that Caps Lock
    /// changes nothing where capitals have no meaning of their own.
    #[must_use]
    pub fn intent(&self, key: Key) -> Option<Intent> {
        if let Key::Writes(digit @ '0'..='9') = key {
            let meant = place_of(digit)?;
            let (_, what) = self.places.iter().find(|(place, _)| *place == meant)?;
            return self.rows.iter().find_map(|row| match row.does {
                Does::AsksOf(asks) => Some(asks(*what)),
                Does::Asks(_) => None,
            });
        }
        let found = |key| self.rows.iter().find(|row| row.key == key);
        let small = match key {
            Key::Writes(letter) => Key::Writes(letter.to_ascii_lowercase()),
            key => key,
        };
        found(key).or_else(|| found(small))?.asks(InputDevice::Keyboard)
    }

    /// The rows that have controls, in order. What pauses is drawn apart everywhere.
    pub fn controls(&self) -> impl Iterator<Item = &'static Row> {
        let rows = self.rows.iter().copied();
        rows.filter(|row| row.is_said() && !row.is_for(&Intent::Pause))
    }
}

/// In a trial: while it is answered, and in its debrief.
#[must_use]
pub fn in_trial(context: KeyContext, session: &Session) -> Offered {
    let has_twin = session.shown().is_some_and(|shown| shown.scene.truth.is_some());
    Offered::all(context)
        .with_places(session.plan().teeth.len())
        .only(|intent| has_twin || !compares(intent))
}

/// Whether something compares a smile with its twin.
const fn compares(intent: &Intent) -> bool {
    matches!(
        intent,
        Intent::ToggleTwin | Intent::ToggleAutoBlink | Intent::ToggleMap | Intent::ToggleSideBySide
    )
}

/// While a question is asked. `little_room`: chart and layers of free play have the window to
/// themselves.
#[must_use]
pub fn in_question(exercising: &Exercising, little_room: bool) -> Offered {
    let question = exercising.sitting().question();
    let (Some(question), Some(draft)) = (question, exercising.draft()) else {
        return Offered::default();
    };
    let is_free = exercising.mode().free().is_some();
    let context =
        if is_free { KeyContext::FreePlay } else { KeyContext::Question(Asked::of(draft)) };
    let page = exercising.page();
    let mut offered = Offered::all(context).with_places(places(draft, question)).only(|intent| {
        let counts_here = match intent {
            Intent::Exercise(ExerciseIntent::Act(act, _)) => match draft {
                Draft::Bench(draft) => counts_on_bench(*act, draft),
                _ => true,
            },
            intent => counts_to_look(intent, exercising),
        };
        // Nothing of a smile is in view on the other pages.
        counts_here && (page == Page::Smile || !compares(intent))
    });
    if is_free && little_room && page != Page::Smile {
        let leads_back = Intent::Exercise(ExerciseIntent::TogglePage(page));
        offered.rows.retain(|row| !matches!(row.key, Key::Writes(_)) || row.is_for(&leads_back));
    }
    offered
}

/// The places that digits go to.
fn places(draft: &Draft, question: &Question) -> usize {
    match draft {
        Draft::Blend(draft) => draft.count,
        Draft::Ladder(draft) => draft.order.len(),
        Draft::Match(draft) => draft.count,
        Draft::TwoLights(draft) => draft.count,
        Draft::TryIn(draft) if draft.may_see() => draft.count,
        Draft::TryIn(_) => DIRECTIONS.len(),
        Draft::Bracket(_) => question.sights.len(),
        Draft::Margin(draft) => draft.count,
        Draft::Bench(_) | Draft::Verdict => 0,
    }
}

/// A recipe can be shown where one is kept, and kept where it is not the one in view.
fn counts_on_bench(act: Act, draft: &BenchDraft) -> bool {
    let slot = |place| if place == 0 { Slot::A } else { Slot::B };
    match act {
        Act::Compare(place) => draft.drafts.kept(slot(place)).is_some(),
        Act::Keep(place) => draft.compared != Some(slot(place)),
        _ => true,
    }
}

/// Whether something looks at the smiles of a question in a way that there is.
fn counts_to_look(intent: &Intent, exercising: &Exercising) -> bool {
    match intent {
        // Nothing that changes what is measured.
        Intent::ToggleValueOnly => exercising.mode().choosing().is_none(),
        Intent::Exercise(ExerciseIntent::ToggleSheet) => {
            exercising.sights().len() > 1 && !exercising.is_composing()
        }
        _ => true,
    }
}

/// Ways to look at the smiles of a question, in the order of their controls.
#[must_use]
pub fn views(exercising: &Exercising) -> Vec<&'static Row> {
    let sheet = Intent::Exercise(ExerciseIntent::ToggleSheet);
    let looks = [Intent::ToggleValueOnly, sheet, Intent::ToggleOutlines];
    let is_one = |row: &&Row| looks.iter().any(|look| row.is_for(look));
    in_question(exercising, false).controls().filter(is_one).collect()
}

/// The controls of a bench besides those that answer, in their order: recipes taken back, kept and
/// compared, ways to look, and what free play has besides composing.
#[must_use]
pub fn on_bench(exercising: &Exercising) -> Vec<&'static Row> {
    let is_free = exercising.mode().free().is_some();
    let answers = |row: &Row| actions(Asked::Bench).any(|action| action.key == row.key);
    let offered = in_question(exercising, false);
    offered.controls().filter(|row| is_free || !answers(row)).collect()
}

/// In the debrief of a question.
#[must_use]
pub fn in_debrief(exercising: &Exercising, preparation: &Preparation) -> Offered {
    let Some((question, ..)) = exercising.marked() else { return Offered::default() };
    let is_flat = !question.has_layers();
    let is_smile = exercising.page() == Page::Smile;
    let shown = exercising.shown(preparation);
    let has_twin = !is_flat && shown.is_some_and(|shown| shown.scene.truth.is_some());
    let mut offered = Offered::all(KeyContext::QuestionDebrief).only(|intent| match intent {
        Intent::Exercise(ExerciseIntent::TogglePage(_)) => !is_flat,
        Intent::ToggleValueOnly => is_smile,
        intent if compares(intent) => is_smile && has_twin,
        _ => true,
    });
    if is_smile {
        let numbered = exercising.numbered().into_iter();
        offered.places =
            numbered.filter_map(|(number, sight)| Some((number.checked_sub(1)?, sight))).collect();
    }
    offered
}

/// While a room is asked about options, and before it sees the solution.
#[must_use]
pub fn in_room_question(context: KeyContext, exercising: &Exercising) -> Offered {
    let sights = exercising.sights().len();
    let sheet = Intent::Exercise(ExerciseIntent::ToggleSheet);
    Offered::all(context).with_places(sights).only(|intent| *intent != sheet || sights > 1)
}

/// In a course, at a seat. `waits`: a step is being laid out.
#[must_use]
pub fn in_course(seat: &Seat, start: &PendingStart) -> Offered {
    let may_skip = matches!(
        seat.current(),
        Some(Step::Practice { .. } | Step::Measure { .. } | Step::FindIt { .. })
    );
    let skip = Intent::Course(CourseIntent::Skip);
    let counts = |intent: &Intent| *intent != skip || (may_skip && !start.waits());
    Offered::all(KeyContext::CourseStep).only(counts)
}

/// In a lecture, between its questions and after them.
#[must_use]
pub fn in_hub(context: KeyContext, lecture: &Lecture, start: &PendingStart) -> Offered {
    Offered::all(context).only(|intent| match intent {
        Intent::Room(RoomIntent::OtherPort) => lecture.address().is_none() && !start.waits(),
        Intent::Room(RoomIntent::Save) => !lecture.record().items().is_empty(),
        _ => true,
    })
}

/// Whether what turns a view is on.
#[must_use]
pub fn is_on(intent: &Intent, view: DebriefView) -> bool {
    match intent {
        Intent::ToggleTwin => view.side() == Some(Side::Twin),
        Intent::ToggleAutoBlink => view.auto_blink,
        Intent::ToggleMap => view.look == Look::Map,
        Intent::ToggleSideBySide => view.look == Look::SideBySide,
        Intent::ToggleValueOnly => view.value_only,
        Intent::ToggleOutlines => view.outlines,
        _ => false,
    }
}

/// The same with what a round turns: the sheet, its pages, the end of its questions, the recipes.
#[must_use]
pub fn is_on_in_round(intent: &Intent, view: DebriefView, exercising: &Exercising) -> bool {
    let sitting = exercising.sitting();
    match (intent, exercising.draft()) {
        (Intent::Continue, _) => sitting.answered() >= sitting.round().questions.len(),
        (Intent::Exercise(ExerciseIntent::ToggleSheet), _) => exercising.shows_sheet(),
        (Intent::Exercise(ExerciseIntent::TogglePage(page)), _) => exercising.page() == *page,
        (Intent::Exercise(ExerciseIntent::Act(act, _)), Some(draft)) => {
            is_on_in_answer(*act, draft)
        }
        _ => is_on(intent, view),
    }
}

/// Whether what turns a part of an answer is on.
#[must_use]
pub fn is_on_in_answer(act: Act, draft: &Draft) -> bool {
    match (draft, act) {
        (Draft::Blend(draft), Act::Tick) => draft.ticked.contains(&draft.current),
        (Draft::Blend(draft), Act::None) => draft.none,
        (Draft::Ladder(draft), Act::Tick) => draft.held,
        (Draft::TwoLights(draft), Act::Confirm) => draft.step == LightStep::Second,
        (Draft::TryIn(draft), Act::Confirm) => draft.predictions.len() + 2 >= draft.count,
        (Draft::Margin(draft), Act::None) => draft.none,
        (Draft::Bench(draft), Act::Compare(place)) => {
            draft.compared == Some(if place == 0 { Slot::A } else { Slot::B })
        }
        (Draft::Bench(draft), Act::Light) => draft.other_light,
        _ => false,
    }
}
