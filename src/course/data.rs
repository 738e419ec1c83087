//! From stored trials to sittings of forms.

use super::estimate::{Allowance, FormEstimator, ItemAnswer, SittingEstimate};
use super::form::parse_seed_key;
use super::questions::CourseAnswer;
use super::truth::FormTruth;
use crate::bake::ZoneDifference;
use crate::level::course_format::Phase;
use crate::psychophysics::{Direction, ModelTrial, Proportion, SeenDifference};
use crate::results::{BadRow, Counted, FormTrial, ItemClaim, ItemTruth, Store, StoreError};
use crate::scene::Tooth;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// A frame longer than this spoils an exposure, ms, and so does being off by this many frames.
/// As in measurements.
const LONGEST_FRAME_MS: f64 = 50.0;
const FRAMES_OFF: u32 = 2;
/// Largest item number that is believed.
const MOST_ITEMS: u32 = 1000;
/// Differences that are equal at every seat: what rounding can make of one.
const SAME_DE00: f64 = 1e-6;

/// An item as it was shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownItem {
    /// Index of the restored tooth in the viewer's order, direction and achieved difference;
    /// `None` where nothing is restored.
    pub signal: Option<(usize, Direction, f64)>,
    /// Natural residuals in value, ΔE00, per tooth.
    pub residuals_de00: Vec<f64>,
    /// Exposure, s.
    pub exposure_s: f64,
}

/// A form as it was shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownForm {
    /// The form's seed.
    pub seed: u64,
    /// Its id in the course.
    pub id: String,
    /// Teeth in view, in the viewer's order.
    pub teeth: Vec<Tooth>,
    /// Items by number; `None` where nobody saw one.
    pub items: Vec<Option<ShownItem>>,
    /// Trials whose difference was not that of the same item at other seats.
    pub unlike: u32,
}

/// One person sitting one form once.
#[derive(Debug, Clone, PartialEq)]
pub struct FormSitting {
    /// Session number in the store.
    pub session: i64,
    /// The learner's random id.
    pub learner: String,
    /// The seat.
    pub seat: u64,
    /// When in the course.
    pub phase: Phase,
    /// Index into [`CourseData::forms`].
    pub form: usize,
    /// The day, UTC.
    pub day: String,
    /// Whether it counts, where the learner sat in this phase more than once.
    pub counted: Counted,
    /// Factor on the time to answer, 1 for none; 0 for unlimited.
    pub response_factor: f64,
    /// Answers by item; `None` where it was not shown or the exposure did not hold.
    pub answers: Vec<Option<ItemAnswer>>,
    /// Tooth named by item, 1 at the viewer's left.
    pub named: Vec<Option<u32>>,
    /// Median time to right answers on restorations, s.
    pub median_right_s: Option<f64>,
    /// Exposures that did not hold.
    pub spoilt: u32,
    /// What it says about the threshold.
    pub estimate: Option<SittingEstimate>,
}

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

impl FormSitting {
    /// Items answered or timed out.
    #[must_use]
    pub fn shown(&self) -> usize {
        self.answers.iter().flatten().count()
    }
}

/// What is being filled in while rows are read.
struct Open {
    sitting: FormSitting,
    times: Vec<f64>,
    /// The session's course, form, seed and planned smiles: what its trials are held against.
    of: (String, String, u64, u32),
}

/// What a trial says about its item.
fn claim<'a>(of: &'a Open, trial: &FormTrial<'a>) -> ItemClaim<'a> {
    let (course, form, seed, planned) = &of.of;
    let [de00, dl00, dc00, dh00] = trial.de00;
    ItemClaim {
        course,
        form: Some(form),
        session_seed: *seed,
        planned: *planned,
        trial: trial.trial,
        block: trial.block,
        seed_key: trial.seed_key,
        n_teeth: trial.teeth,
        target: trial.target,
        tooth: trial.target_tooth,
        named: trial.named.zip(trial.named_tooth),
        difference: (trial.target > 0).then_some(ZoneDifference { de00, dl00, dc00, dh00 }),
        residuals: trial.residuals.split(',').count(),
    }
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
        let sessions = store.course_sessions()?;
        let counted = store.counted_sittings()?;
        let mut open: BTreeMap<i64, Open> = BTreeMap::new();
        let mut form_ids: BTreeMap<i64, String> = BTreeMap::new();
        for session in sessions {
            let sitting = session.sitting;
            if course.is_some_and(|course| course != sitting.course) {
                continue;
            }
            let Some(phase) = sitting.phase.as_deref().and_then(Phase::named) else { continue };
            let form = sitting.form.unwrap_or_default();
            let of = (sitting.course, form.clone(), session.seed, session.planned);
            form_ids.insert(session.session, form);
            let sitting = FormSitting {
                session: session.session,
                learner: sitting.learner,
                seat: sitting.seat,
                phase,
                form: 0,
                day: session.day,
                counted: counted.get(&session.session).copied().unwrap_or(Counted::Only),
                response_factor: sitting.response_factor,
                answers: Vec::new(),
                named: Vec::new(),
                median_right_s: None,
                spoilt: 0,
                estimate: None,
            };
            open.insert(session.session, Open { sitting, times: Vec::new(), of });
        }
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

impl ShownItem {
    fn model_trial(&self, answer: usize) -> ModelTrial {
        ModelTrial {
            signal: self.signal,
            residuals_de00: self.residuals_de00.clone(),
            exposure_s: self.exposure_s,
            answer,
        }
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

/// An item as several seats say that they saw it. What most say holds, so that no single hand-in
/// decides what everyone's answers are held against.
#[derive(Default)]
struct Versions {
    seen: Vec<Version>,
}

struct Version {
    item: ShownItem,
    residuals: String,
    target: u32,
    exposures_s: Vec<f64>,
}

/// Versions of one item that are told apart; more are unlike all the same.
const MOST_VERSIONS: usize = 32;

impl Versions {
    fn note(&mut self, teeth: &[Tooth], trial: &FormTrial<'_>) {
        let [de00, dl00, dc00, dh00] = trial.de00;
        let known = self.seen.iter_mut().position(|version| {
            let x = version.item.signal.map_or(0.0, |(_, _, x)| x);
            version.target == trial.target
                && (trial.target == 0 || (x - de00).abs() <= SAME_DE00)
                && version.residuals == trial.residuals
        });
        let at = known.unwrap_or_else(|| {
            let signal = (trial.target as usize).checked_sub(1).and_then(|tooth| {
                let seen = SeenDifference {
                    tooth: *teeth.get(tooth)?,
                    value: dl00,
                    chroma: dc00,
                    hue: dh00,
                };
                Some((tooth, seen.direction()?, de00))
            });
            let residuals_de00 = serde_json::from_str(trial.residuals).unwrap_or_default();
            let item = ShownItem { signal, residuals_de00, exposure_s: 0.0 };
            let (residuals, target) = (trial.residuals.to_owned(), trial.target);
            self.seen.push(Version { item, residuals, target, exposures_s: Vec::new() });
            self.seen.len() - 1
        });
        let at = at.min(MOST_VERSIONS - 1);
        self.seen.truncate(MOST_VERSIONS);
        self.seen[at].exposures_s.push(trial.exposure_s);
    }

    /// Puts down what most saw; of as many, the first.
    fn settle(self, form: &mut ShownForm, place: usize) {
        let all: usize = self.seen.iter().map(|version| version.exposures_s.len()).sum();
        let most = self.seen.into_iter().rev().max_by_key(|version| version.exposures_s.len());
        let Some(Version { mut item, mut exposures_s, .. }) = most else { return };
        form.unlike += (all - exposures_s.len()) as u32;
        // To a hundredth of a second: seats differ by parts of a frame.
        item.exposure_s = (median(&mut exposures_s).unwrap_or_default() * 100.0).round() / 100.0;
        if form.items.len() <= place {
            form.items.resize(place + 1, None);
        }
        form.items[place] = Some(item);
    }
}

fn note_answer(of: &mut Open, item: u32, trial: &FormTrial<'_>) {
    let place = item as usize;
    let sitting = &mut of.sitting;
    if sitting.answers.len() <= place {
        sitting.answers.resize(place + 1, None);
        sitting.named.resize(place + 1, None);
    }
    let (requested, shown, longest_ms) = trial.frames;
    // One that the program's end cut off was seen for a time that nobody knows: it is not shown
    // again, and counts as not answered.
    let was_cut_off = trial.timed_out && shown == 0;
    let is_spoilt = requested.abs_diff(shown) >= FRAMES_OFF || longest_ms > LONGEST_FRAME_MS;
    if is_spoilt && !was_cut_off {
        sitting.spoilt += 1;
        return;
    }
    let answer = match trial.named {
        _ if trial.timed_out => ItemAnswer::TimedOut,
        None => ItemAnswer::None,
        Some(named) if trial.target > 0 && named == trial.target => ItemAnswer::Right,
        Some(_) => ItemAnswer::Wrong,
    };
    if answer == ItemAnswer::Right
        && let Some(seconds) = trial.response_s
    {
        of.times.push(seconds);
    }
    sitting.answers[place] = Some(answer);
    sitting.named[place] = trial.named;
}

fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let middle = values.get(n / 2)?;
    Some(if n % 2 == 1 { *middle } else { 0.5 * (values[n / 2 - 1] + middle) })
}
