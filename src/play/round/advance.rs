//! What passes in a round from frame to frame: time, pictures that come, work that is done.

use super::Exercising;
use crate::exercise::{Stage, Task};
use crate::play::answer::{Draft, Outcome};
use crate::play::content::ActiveContent;
use crate::play::intents::Page;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::session::Desk;
use crate::play::smiles::{Leave, Preparation};
use crate::play::view::DebriefView;
use crate::play::work::Workers;

/// A frame that has passed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// How long it lasted, s.
    pub frame_s: f64,
    /// How far what moves by itself moved meanwhile, s.
    pub moved_s: f64,
    /// Whether the pause menu is open.
    pub is_paused: bool,
}

impl Exercising {
    /// Lets a frame pass: asks the question when its smiles are there, judges attempts. Whether the
    /// round is over.
    pub fn pass(
        &mut self,
        passed: Passed,
        preparation: &Preparation,
        (desk, workers): (&Desk<'_>, &Workers),
        view: &mut DebriefView,
        problem: &mut Problem,
    ) -> bool {
        self.sitting.pass(passed.frame_s, passed.is_paused);
        self.waited_s =
            if self.is_ready(preparation) { 0.0 } else { self.waited_s + passed.frame_s };
        if self.sights().iter().any(|sight| preparation.has_failed(&sight.case))
            && !self.step_back()
        {
            // The reason is on screen already.
            self.stop();
        }
        if self.mode.choosing().is_some() {
            measure_choice(self, passed.frame_s, desk.content, workers, problem);
        }
        match self.sitting.stage() {
            Stage::Preparing if self.begun && self.is_ready(preparation) => {
                begin_recording(self, desk.records, problem);
                self.sitting.show();
                *view = DebriefView::default();
            }
            Stage::Asked => {
                judge_attempt(self, preparation, desk.records, problem);
                if self.mode.compares_unmarked() {
                    view.tick(passed.moved_s);
                }
            }
            Stage::Marked => view.tick(passed.moved_s),
            Stage::Preparing | Stage::Finished => {}
        }
        self.sitting.stage() == Stage::Finished
    }

    /// Writes down what is left to be written when the round is over.
    pub fn wind_up(&self, records: &Records, problem: &mut Problem) {
        if let Some(recording) = self.recording
            && self.is_whole()
            && let Err(error) = records.finish(recording)
        {
            problem.report(error);
        }
    }

    /// Works out the chart or the layers when the debrief shows them.
    pub fn study_smile(
        &mut self,
        content: &ActiveContent,
        workers: &Workers,
        problem: &mut Problem,
    ) {
        if !self.may_compare() || self.page == Page::Smile {
            return;
        }
        let (sights, in_view) = (self.studied(), self.in_view());
        let (page, stays) = (self.page, self.mode.free().is_some());
        self.study.advance((page, stays), &sights, in_view, (content, workers), problem);
    }

    /// Looks for the best that can be reached, in free play, and takes it up.
    pub fn search_best(
        &mut self,
        content: &ActiveContent,
        workers: &Workers,
        problem: &mut Problem,
    ) {
        let Some(free) = self.mode.free_mut().filter(|free| free.is_searching()) else { return };
        let Some(Task::Bench(task)) = self.sitting.question().map(|q| &q.task) else { return };
        let Some(Draft::Bench(draft)) = &mut self.draft else { return };
        let film_mm = draft.recipe().cement_film_mm;
        if let Some(best) = free.search(task, film_mm, (content, workers), problem) {
            draft.change(best.recipe);
        }
    }

    /// Says which smiles are wanted next.
    pub fn want_smiles(&self, preparation: &mut Preparation) {
        let mut wanted = self.wanted();
        if preparation.is_quick() {
            wanted.extend(self.in_other_light());
        }
        let mut cases = Vec::new();
        for sight in &wanted {
            if !cases.contains(&&sight.case) {
                cases.push(&sight.case);
            }
        }
        // A brief view is a look at a picture: nothing may hold up its frames.
        let is_brief = self.sitting.stage() == Stage::Asked
            && matches!(self.draft, Some(Draft::Verdict))
            && self.may_look();
        if is_brief {
            preparation.pause();
        } else {
            preparation.want_sights(&cases, Leave::Everything);
            if self.is_composing() {
                preparation.hurry();
            }
        }
    }
}

/// A frame of a measurement of choosing: what was answered is learned from without a word, and the
/// next question is laid out.
fn measure_choice(
    exercising: &mut Exercising,
    duration_s: f64,
    content: &ActiveContent,
    workers: &Workers,
    problem: &mut Problem,
) {
    let in_view = exercising.in_view();
    let Some(choosing) = exercising.mode.choosing_mut() else { return };
    match exercising.sitting.stage() {
        Stage::Asked => choosing.pass(in_view, duration_s),
        Stage::Marked => {
            let more = match exercising.given.last() {
                Some((question, answer)) => choosing.learn(question, answer),
                None => true,
            };
            exercising.go_on();
            if !more {
                exercising.stop();
            }
        }
        Stage::Preparing if exercising.begun && exercising.sitting.question().is_none() => {
            match choosing.lay_out(content, workers, problem) {
                Some(Ok(question)) => {
                    exercising.draft = Some(Draft::new(&question));
                    exercising.sitting.append(question);
                }
                // The reason is on screen; what was answered stays.
                Some(Err(())) => exercising.stop(),
                None => {}
            }
        }
        Stage::Preparing | Stage::Finished => {}
    }
}

/// Takes in what an attempt came to once its smile is baked and drawn.
fn judge_attempt(
    exercising: &mut Exercising,
    preparation: &Preparation,
    records: &Records,
    problem: &mut Problem,
) {
    if let Some(shown) = exercising.shown(preparation).cloned()
        && exercising.is_composing()
    {
        exercising.last_shown = Some(shown);
    }
    let (Some(Draft::Bench(draft)), Some(question)) =
        (&mut exercising.draft, exercising.sitting.question())
    else {
        return;
    };
    let Task::Bench(task) = &question.task else { return };
    if !draft.awaits {
        return;
    }
    let judged = preparation.ready(&draft.judged_case(task));
    let truth = judged.map(|prepared| prepared.scene.truth.as_ref());
    let Some(truth) = truth else { return };
    let difference = truth.map(|truth| truth.difference).unwrap_or_default();
    if let Outcome::Answer(answer) = draft.attempted(difference, task) {
        exercising.answer(answer, exercising.device, records, problem);
    }
}

/// Begins the round's rows with its first question: a round left before it leaves no trace.
fn begin_recording(exercising: &mut Exercising, records: &Records, problem: &mut Problem) {
    if exercising.recording.is_some() || !exercising.mode.is_stored() {
        return;
    }
    let sitting = &exercising.sitting;
    let course = exercising.course.as_ref();
    let mode = exercising.mode.name();
    let questions = match exercising.mode.choosing() {
        Some(choosing) => choosing.measurement().most_questions(),
        None => sitting.round().questions.len(),
    };
    match records.begin_round(sitting.round(), mode, exercising.refresh_hz, questions, course) {
        Ok(recording) => exercising.recording = Some(recording),
        Err(error) => problem.report(format!("This round is not being stored: {error}")),
    }
}
