//! From stored trials to sittings of forms.

use super::course_answer::CourseAnswer;
use super::estimate::{Allowance, FormEstimator, ItemAnswer};
use super::form::parse_seed_key;
use super::reading::{claim, note_answer, opened};
use super::shown::{FormSitting, ShownForm, ShownItem};
use super::truth::FormTruth;
use super::versions::{Versions, median};
use crate::level::course_format::Phase;
use crate::psychophysics::{ModelTrial, Proportion};
use crate::results::{BadRow, ItemTruth, Store, StoreError};
use crate::scene::Tooth;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Largest item number that is believed.
const MOST_ITEMS: u32 = 1000;

/// Everything stored about a course.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CourseData {
    /// Forms, by seed.
    pub forms: Vec<ShownForm>,
    /// Sittings, by learner, phase and session.
    pub sittings: Vec<FormSitting>,
    /// Answers to questions, in the order in which they were given.
    pub answers: Vec<CourseAnswer>,
    /// Trials read.
    pub trials: u64,
    /// Stored rows that cannot be, and are counted nowhere.
    pub left_out: Vec<BadRow>,
}

impl CourseData {
    /// Reads the sittings of `course`, or of all courses. `progress` is told the share that is
    /// done, 0..1.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn read(
        store: &Store,
        course: Option<&str>,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Result<Self, StoreError> {
        let (mut open, form_ids) = opened(store, course)?;
        let mut data = Self { left_out: store.unreadable_sessions()?, ..Self::default() };
        let mut by_seed: BTreeMap<u64, usize> = BTreeMap::new();
        let mut shown: BTreeMap<(usize, u32), Versions> = BTreeMap::new();
        let truth = FormTruth::default();
        let bad = store.form_trials(|trial| {
            let Some((seed, item)) = parse_seed_key(trial.seed_key) else { return Ok(()) };
            let Some(of) = open.get_mut(&trial.session).filter(|_| item < MOST_ITEMS) else {
                return Ok(());
            };
            truth.item(&claim(of, &trial))?;
            data.trials += 1;
            if data.trials.is_multiple_of(50_000) {
                // How many there are is not known; the first half of the bar nears its end.
                progress(0.5 * (1.0 - (-(data.trials as f64) / 5e5).exp()));
            }
            let form = *by_seed.entry(seed).or_insert_with(|| {
                data.forms.push(ShownForm {
                    seed,
                    id: form_ids.get(&trial.session).cloned().unwrap_or_default(),
                    teeth: Tooth::arch(trial.teeth as usize),
                    items: Vec::new(),
                    unlike: 0,
                });
                data.forms.len() - 1
            });
            of.sitting.form = form;
            shown.entry((form, item)).or_default().note(&data.forms[form].teeth, &trial);
            note_answer(of, item, &trial);
            Ok(())
        })?;
        data.left_out.extend(bad.into_iter().filter(|row| open.contains_key(&row.session)));
        for ((form, item), versions) in shown {
            versions.settle(&mut data.forms[form], item as usize);
        }
        let bad = store.course_answers(|sitting, row| {
            if course.is_none_or(|course| course == sitting.course) {
                data.answers.push(CourseAnswer::new(&sitting.learner, row));
            }
        })?;
        data.left_out.extend(bad);
        progress(0.5);
        data.sittings = open
            .into_values()
            .filter(|open| !open.sitting.answers.is_empty())
            .map(|mut open| {
                open.sitting.median_right_s = median(&mut open.times);
                open.sitting
            })
            .collect();
        data.sittings.sort_by(|a, b| {
            (&a.learner, a.phase, a.session).cmp(&(&b.learner, b.phase, b.session))
        });
        data.estimate(Allowance::default());
        progress(1.0);
        Ok(data)
    }

    /// Estimates every sitting anew, with another [`Allowance`].
    pub fn estimate(&mut self, allowance: Allowance) {
        for (index, form) in self.forms.iter().enumerate() {
            let missing = ShownItem { signal: None, residuals_de00: vec![], exposure_s: 2.5 };
            let items: Vec<ModelTrial> = form
                .items
                .iter()
                .map(|item| item.as_ref().unwrap_or(&missing).model_trial(0))
                .collect();
            let estimator = FormEstimator::allowing(allowance, &form.teeth, &items);
            self.sittings
                .par_iter_mut()
                .filter(|sitting| sitting.form == index)
                .for_each(|sitting| sitting.estimate = estimator.estimate(&sitting.answers));
        }
    }

    /// The sittings that count: one of each learner in each phase.
    pub fn counting(&self) -> impl Iterator<Item = &FormSitting> {
        self.sittings.iter().filter(|sitting| sitting.counted.counts())
    }

    /// The sitting of each learner that counts in a phase, by learner.
    #[must_use]
    pub fn of_phase(&self, phase: Phase) -> BTreeMap<&str, &FormSitting> {
        let of_phase = self.counting().filter(|sitting| sitting.phase == phase);
        of_phase.map(|sitting| (sitting.learner.as_str(), sitting)).collect()
    }

    /// The last sitting of every learner that counts, and the false alarms of all of theirs.
    #[must_use]
    pub fn last_sittings(&self) -> BTreeMap<&str, (&FormSitting, Proportion)> {
        let mut last: BTreeMap<&str, (&FormSitting, Proportion)> = BTreeMap::new();
        for phase in self.phases() {
            for (learner, sitting) in self.of_phase(phase) {
                let more = self.false_alarms(sitting);
                let entry = last.entry(learner).or_insert((sitting, Proportion::default()));
                entry.0 = sitting;
                entry.1.successes += more.successes;
                entry.1.total += more.total;
            }
        }
        last
    }

    /// Phases that were sat, in order.
    #[must_use]
    pub fn phases(&self) -> Vec<Phase> {
        let mut phases: Vec<Phase> = self.sittings.iter().map(|sitting| sitting.phase).collect();
        phases.sort_unstable();
        phases.dedup();
        phases
    }

    /// Share of answered items that are right, in percent; those not answered in time are wrong.
    #[must_use]
    pub fn score(&self, sitting: &FormSitting) -> f64 {
        let (mut right, mut shown) = (0, 0);
        for (signal, answer) in self.judged(sitting) {
            shown += 1;
            right += u32::from(answer.is_right(signal));
        }
        100.0 * f64::from(right) / f64::from(shown.max(1))
    }

    /// Restorations found, of those shown.
    #[must_use]
    pub fn found(&self, sitting: &FormSitting) -> Proportion {
        let signal = self.judged(sitting).filter(|(signal, _)| *signal);
        tally(signal.map(|(_, answer)| answer == ItemAnswer::Right))
    }

    /// Smiles without a restoration on which a tooth was named, of those answered.
    #[must_use]
    pub fn false_alarms(&self, sitting: &FormSitting) -> Proportion {
        let none = self
            .judged(sitting)
            .filter(|(signal, answer)| !*signal && *answer != ItemAnswer::TimedOut);
        tally(none.map(|(_, answer)| answer == ItemAnswer::Wrong))
    }

    /// Whether each item shown has a restoration, and its answer.
    fn judged<'a>(
        &'a self,
        sitting: &'a FormSitting,
    ) -> impl Iterator<Item = (bool, ItemAnswer)> + 'a {
        let items = &self.forms[sitting.form].items;
        let signal = |i: usize| items.get(i)?.as_ref().map(|item| item.signal.is_some());
        let answers = sitting.answers.iter().enumerate();
        answers.filter_map(move |(i, answer)| Some((signal(i)?, (*answer)?)))
    }

    /// The trials of a sitting as the observer model sees them, those without an answer left out.
    #[must_use]
    pub fn model_trials(&self, sitting: &FormSitting) -> Vec<ModelTrial> {
        let items = &self.forms[sitting.form].items;
        let answers = sitting.answers.iter().zip(&sitting.named).enumerate();
        let trial = |(i, (answer, named)): (usize, (&Option<ItemAnswer>, &Option<u32>))| {
            let item = items.get(i)?.as_ref()?;
            match (*answer)? {
                ItemAnswer::TimedOut => None,
                ItemAnswer::None => Some(item.model_trial(0)),
                ItemAnswer::Right | ItemAnswer::Wrong => Some(item.model_trial((*named)? as usize)),
            }
        };
        answers.filter_map(trial).collect()
    }
}

fn tally(successes: impl Iterator<Item = bool>) -> Proportion {
    let mut proportion = Proportion::default();
    for success in successes {
        proportion.total += 1;
        proportion.successes += u32::from(success);
    }
    proportion
}
