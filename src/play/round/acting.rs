//! What is done in a round: an answer made, marked and stored, the debrief looked at and left.

use super::{Exercising, Study};
use crate::exercise::{Answer, RecipeLimits, Stage, Task};
use crate::play::answer::{BenchDraft, Draft, Outcome, first_reviewed};
use crate::play::around::around;
use crate::play::intents::{Act, ExerciseIntent, Page};
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::trial::InputDevice;

impl Exercising {
    /// Does what is asked for; an answer is stored in `records` at once.
    pub fn handle(&mut self, intent: ExerciseIntent, records: &Records, problem: &mut Problem) {
        let sights = self.sights().len();
        match intent {
            ExerciseIntent::Begin => self.begun = true,
            ExerciseIntent::ToggleSheet => self.sheet = !self.sheet && sights > 1,
            ExerciseIntent::TogglePage(page) if self.may_compare() => {
                self.page = if self.page == page { Page::Smile } else { page };
            }
            ExerciseIntent::Review(sight) if sight < sights => self.reviewed = sight,
            ExerciseIntent::ReviewNext(by) if sights > 0 => {
                self.reviewed = around(self.reviewed, by, sights);
            }
            _ if self.sitting.stage() != Stage::Asked => {}
            ExerciseIntent::Act(act, device) => self.act(act, device, records, problem),
            ExerciseIntent::Carry(from, to) => {
                if let Some(Draft::Ladder(draft)) = &mut self.draft {
                    draft.carry(from, to);
                    draft.cursor = to;
                    draft.held = false;
                }
            }
            ExerciseIntent::Compose(part, steps) => self.compose(|draft, limits| {
                draft.part = part;
                draft.change(draft.drafts.current().stepped(part, steps, limits));
            }),
            ExerciseIntent::Set(part, value, begins) => self.compose(|draft, limits| {
                draft.part = part;
                let to = draft.drafts.current().with_number(part, value, limits);
                if begins { draft.change(to) } else { draft.adjust(to) }
            }),
            ExerciseIntent::Predict(value) => {
                if let Some(Draft::TryIn(draft)) = &mut self.draft
                    && !draft.may_see()
                {
                    draft.set_value(value);
                }
            }
            ExerciseIntent::Place(percent) => {
                if let Some(Draft::Bracket(draft)) = &mut self.draft
                    && draft.placing
                {
                    draft.place = Some(percent.min(100));
                }
            }
            ExerciseIntent::TogglePage(_)
            | ExerciseIntent::Review(_)
            | ExerciseIntent::ReviewNext(_) => {}
        }
    }

    fn compose(&mut self, change: impl FnOnce(&mut BenchDraft, &RecipeLimits)) {
        if let Some(Draft::Bench(draft)) = &mut self.draft
            && let Some(Task::Bench(task)) = self.sitting.question().map(|q| &q.task)
            && !draft.awaits
        {
            change(draft, &task.limits);
        }
    }

    fn act(&mut self, act: Act, device: InputDevice, records: &Records, problem: &mut Problem) {
        let (Some(draft), Some(question)) = (&mut self.draft, self.sitting.question()) else {
            return;
        };
        self.missing = None;
        self.device = device;
        if matches!(act, Act::Choose(_) | Act::Move(_)) {
            self.sheet = false;
        }
        match draft.apply(act, question) {
            Outcome::Nothing | Outcome::Attempt => {}
            Outcome::FindBest => {
                if let Some(free) = self.mode.free_mut() {
                    free.want_best();
                }
            }
            Outcome::Missing(what) => self.missing = Some(what),
            Outcome::Answer(answer) => self.answer(answer, device, records, problem),
        }
    }

    /// Marks an answer and stores it at once.
    pub(super) fn answer(
        &mut self,
        answer: Answer,
        device: InputDevice,
        records: &Records,
        problem: &mut Problem,
    ) {
        let Some(question) = self.sitting.question().cloned() else { return };
        match self.sitting.answer(answer.clone(), device) {
            Ok(Some(row)) => {
                if let Some(recording) = self.recording
                    && let Err(error) = records.append_answer(recording, &row)
                {
                    problem.report(format!("This answer was not stored: {error}"));
                }
                self.reviewed = first_reviewed(&question, &answer);
                self.sheet = false;
                self.waited_s = 0.0;
                self.given.push((question, answer));
            }
            Ok(None) => {}
            Err(error) => problem.report(format!("This answer cannot be marked: {error}")),
        }
    }

    /// Leaves the debrief.
    pub(crate) fn go_on(&mut self) {
        if self.sitting.stage() == Stage::Marked {
            self.sitting.go_on();
            self.page = Page::Smile;
            self.study = Study::default();
            self.draft = self.sitting.question().map(Draft::new);
            self.last_shown = None;
            self.missing = None;
            self.reviewed = 0;
            self.waited_s = 0.0;
            self.sheet = self.mode.begins_with_sheet();
        }
    }

    /// Takes back the change of a recipe that could not be made. Returns whether there was one.
    pub(super) fn step_back(&mut self) -> bool {
        match &mut self.draft {
            Some(Draft::Bench(draft)) => {
                draft.awaits = false;
                draft.compared.take().is_some() || draft.drafts.undo()
            }
            _ => false,
        }
    }

    /// Answers the question as a room did.
    pub(crate) fn answer_for_room(&mut self, answer: Answer) {
        let Some(question) = self.sitting.question().cloned() else { return };
        if let Ok(Some(_)) = self.sitting.answer(answer.clone(), InputDevice::Simulated) {
            self.reviewed = first_reviewed(&question, &answer);
            self.sheet = false;
            self.waited_s = 0.0;
            self.given.push((question, answer));
        }
    }
}
