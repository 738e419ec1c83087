//! Forms: fixed lists of smiles of equal difficulty, the same for everyone who sits them.
//!
//! A form is drawn from its seed, stratified: every axis at every level of difference, spread over
//! the left, middle and right third of the arch and over both signs. Sizes are jittered by up to
//! 10 %. A swap search then exchanges single items for other draws of the same cell until the
//! form's expected score at three reference learners and its information at the cut are what the
//! design without jitter would give. Two forms therefore need no equating.

use crate::psychophysics::instrument::{Signal, Stimulus};
use crate::psychophysics::{
    ACCEPTABILITY_DE00, Axis, Direction, GlanceModel, GlanceParameters, ModelTrial,
};
use crate::random::{Purpose, StreamKey};
use crate::scene::Tooth;
use rand::RngExt;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use thiserror::Error;

/// The name that forms have instead of a level's id in random streams and results. Ids of levels
/// hold no colon, so no seed of practice names a stream of an exam.
pub const EXAM_SPACE: &str = "exam:form";
/// Nominal differences of the signal items, ΔE00. Design choice.
pub const LEVELS_DE00: [f64; 4] = [0.8, 1.3, 2.0, 3.2];
/// Largest jitter of a difference, as a share of it.
pub const JITTER: f64 = 0.10;
/// Thresholds of the reference learners, ΔE00, and their criterion. Design choice.
pub const REFERENCE_DE00: [f64; 3] = [1.0, 2.0, 3.5];
/// Criterion of the reference learners.
pub const REFERENCE_CRITERION: f64 = 2.0;
/// Threshold at which a form is meant to decide, ΔE00.
pub const CUT_DE00: f64 = ACCEPTABILITY_DE00;
/// Teeth in view.
pub const TEETH: usize = 10;
/// Exposure, s.
const EXPOSURE_S: f64 = 2.5;
/// How near the search brings a form to the design: expected score, and information as a share.
/// Two forms can then differ by twice as much, within the 0.015 and 5 % that are promised.
const SCORE_TOLERANCE: f64 = 0.004;
const INFORMATION_TOLERANCE: f64 = 0.02;
/// Proposals of the search before it gives up; a form of 64 items needs some tens.
const PROPOSALS: usize = 4000;
/// Items in a block of the order.
const BLOCK_ITEMS: usize = 16;
/// Longest run of answers of one class: none, a tooth on the left, a tooth on the right.
const LONGEST_RUN: usize = 3;
/// Orders tried for one block.
const ATTEMPTS: usize = 2000;

/// Why there is no form.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FormError {
    /// Each cell of axis and level holds 1 to 3 items.
    #[error("a form holds 1 to 3 items of each axis and level, not {0}")]
    PerCell(u8),
    /// The search did not come near the design.
    #[error(
        "form seed {seed}: no draw was found within {SCORE_TOLERANCE} of the expected score of the \
         design; choose another seed"
    )]
    NotBalanced {
        /// The form's seed.
        seed: u64,
    },
    /// No order keeps the rules.
    #[error("form seed {seed}, seat {seat}: no order of the items keeps the rules")]
    NoOrder {
        /// The form's seed.
        seed: u64,
        /// The seat.
        seat: u64,
    },
}

/// One smile of a form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    /// 0-based number in the form, the same at every seat. Signals come first, by axis, level and
    /// place; then the smiles without a restoration.
    pub number: u32,
    /// What is to be found; `None` where nothing is restored.
    pub signal: Option<ItemSignal>,
}

/// What an item hides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ItemSignal {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The direction of its difference.
    pub direction: Direction,
    /// Size of the difference that is asked for, ΔE00.
    pub de00: f64,
    /// Index into [`LEVELS_DE00`] of the level it was jittered from.
    pub level: usize,
}

/// A form.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// What its streams are drawn from.
    pub seed: u64,
    /// Items of each axis and level.
    pub per_cell: u8,
    /// The items by number.
    pub items: Vec<Item>,
}

/// What a form is expected to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormFigures {
    /// Expected share of items answered right by each reference learner, 0..1.
    pub expected_scores: [f64; 3],
    /// Fisher information about `ln τ` at the cut, all answers used.
    pub information: f64,
}

impl FormFigures {
    /// Standard error of `ln τ` that the information allows at best.
    #[must_use]
    pub fn sem_ln_threshold(&self) -> f64 {
        self.information.sqrt().recip()
    }
}

impl Form {
    /// The standard form: 48 items with a restoration and 16 without.
    ///
    /// # Errors
    /// [`FormError::NotBalanced`] for a seed that the search cannot balance. None is known for
    /// standard forms; seed 11 is one for the smallest.
    pub fn standard(seed: u64) -> Result<Self, FormError> {
        Self::new(seed, 3)
    }

    /// A form with `per_cell` (1 to 3) items of each axis and level, and a third as many without a
    /// restoration. A pure function of its arguments.
    ///
    /// # Errors
    /// [`FormError`] when `per_cell` is out of range, or for a seed that the search cannot balance.
    pub fn new(seed: u64, per_cell: u8) -> Result<Self, FormError> {
        if !(1..=3).contains(&per_cell) {
            return Err(FormError::PerCell(per_cell));
        }
        let mut rng = stream(seed, Purpose::Form, 0);
        let mut items = draw(&mut rng, per_cell);
        let judge = Judge::new();
        let target = judge.target(per_cell);
        if !judge.search(&mut rng, &mut items, &target) {
            return Err(FormError::NotBalanced { seed });
        }
        Ok(Self { seed, per_cell, items })
    }

    /// Expected scores and information.
    #[must_use]
    pub fn figures(&self) -> FormFigures {
        Judge::new().figures(&self.items)
    }

    /// What a form of this size without jitter would have.
    #[must_use]
    pub fn design(&self) -> FormFigures {
        Judge::new().target(self.per_cell)
    }

    /// Number of items with a restoration.
    #[must_use]
    pub fn signals(&self) -> usize {
        self.items.iter().filter(|item| item.signal.is_some()).count()
    }

    /// The order in which a seat sees the items, as `(block, item)`. Every seat sees the same items;
    /// restorations and smiles without one are spread evenly over blocks, no tooth is restored
    /// twice running, and at most three answers running are of one class.
    ///
    /// # Errors
    /// [`FormError::NoOrder`]; no seat is known to lead there.
    pub fn order(&self, seat: u64) -> Result<Vec<(u32, Item)>, FormError> {
        // The seat salts the stream: it takes the place of the trial number in both halves.
        let salt = (seat ^ (seat >> 32)) as u32;
        let mut rng = StreamKey {
            form: EXAM_SPACE,
            seed: self.seed,
            purpose: Purpose::FormOrder,
            block: (seat >> 32) as u32,
            trial: salt,
        }
        .stream();
        let (mut signals, mut none): (Vec<Item>, Vec<Item>) =
            self.items.iter().copied().partition(|item| item.signal.is_some());
        signals.shuffle(&mut rng);
        none.shuffle(&mut rng);
        let blocks = self.items.len().div_ceil(BLOCK_ITEMS).max(1);
        let mut order: Vec<(u32, Item)> = Vec::with_capacity(self.items.len());
        for block in 0..blocks {
            let part = |items: &[Item]| {
                let (from, to) = (block * items.len() / blocks, (block + 1) * items.len() / blocks);
                items[from..to].to_vec()
            };
            let pool = [part(&signals), part(&none)].concat();
            let arranged = (0..ATTEMPTS)
                .find_map(|_| arrange(&mut rng, &order, &pool))
                .ok_or(FormError::NoOrder { seed: self.seed, seat })?;
            order.extend(arranged.into_iter().map(|item| (block as u32, item)));
        }
        Ok(order)
    }

    /// What the instrument's language calls an item, for [`crate::measure::SmileRequest::exam`].
    #[must_use]
    pub fn stimulus(&self, block: u32, item: &Item) -> Stimulus {
        Stimulus {
            signal: item.signal.map(|signal| Signal {
                tooth: signal.tooth,
                direction: signal.direction,
                de00: signal.de00,
                anchor: false,
            }),
            block,
            slot: item.number,
            shown: item.number,
            repeat: false,
        }
    }

    /// The key that is stored with an item's trial: `exam:form/seed/block/item`.
    #[must_use]
    pub fn seed_key(&self, block: u32, item: &Item) -> String {
        format!("{EXAM_SPACE}/{}/{block}/{}", self.seed, item.number)
    }
}

/// The form seed and item number of a stored key; `None` for a trial that is of no form.
#[must_use]
pub fn parse_seed_key(key: &str) -> Option<(u64, u32)> {
    let mut parts = key.strip_prefix(EXAM_SPACE)?.strip_prefix('/')?.split('/');
    let seed = parts.next()?.parse().ok()?;
    let item = parts.nth(1)?.parse().ok()?;
    parts.next().is_none().then_some((seed, item))
}

fn stream(seed: u64, purpose: Purpose, trial: u32) -> ChaCha8Rng {
    StreamKey { form: EXAM_SPACE, seed, purpose, block: 0, trial }.stream()
}

/// The third of the arch that a tooth stands in, by index: 0 left, 1 middle, 2 right.
fn third(index: usize) -> usize {
    match index {
        0..=2 => 0,
        3..=6 => 1,
        _ => 2,
    }
}

/// A tooth of a third.
fn place(rng: &mut ChaCha8Rng, wanted: usize) -> usize {
    let inside: Vec<usize> = (0..TEETH).filter(|i| third(*i) == wanted).collect();
    inside[rng.random_range(0..inside.len())]
}

fn jittered(rng: &mut ChaCha8Rng, level: usize) -> f64 {
    let de00 = LEVELS_DE00[level] * (1.0 + JITTER * rng.random_range(-1.0..=1.0));
    (de00 * 1e4).round() / 1e4
}

/// The stratified draw.
fn draw(rng: &mut ChaCha8Rng, per_cell: u8) -> Vec<Item> {
    let teeth = Tooth::arch(TEETH);
    let mut items = Vec::new();
    let turn = rng.random_range(0..3_usize);
    for (a, axis) in Axis::ALL.into_iter().enumerate() {
        // Which sign is the more frequent of an odd cell alternates from level to level.
        let first = usize::from(rng.random::<bool>());
        for level in 0..LEVELS_DE00.len() {
            for repeat in 0..usize::from(per_cell) {
                let wanted = (turn + a + level + repeat) % 3;
                let sign = (first + level + repeat) % 2;
                let signal = ItemSignal {
                    tooth: teeth[place(rng, wanted)],
                    direction: axis.directions()[sign],
                    de00: jittered(rng, level),
                    level,
                };
                items.push(Item { number: items.len() as u32, signal: Some(signal) });
            }
        }
    }
    let none = (items.len() as f64 / 3.0).round() as usize;
    for _ in 0..none {
        items.push(Item { number: items.len() as u32, signal: None });
    }
    items
}

/// One order of a pool that keeps the rules after what came before, if luck has it.
fn arrange(rng: &mut ChaCha8Rng, before: &[(u32, Item)], pool: &[Item]) -> Option<Vec<Item>> {
    let class = |item: &Item| match item.signal {
        None => 0,
        Some(signal) if signal.tooth.is_patients_right() => 1,
        Some(_) => 2,
    };
    let mut left = pool.to_vec();
    left.shuffle(rng);
    let mut done: Vec<Item> =
        before.iter().rev().take(LONGEST_RUN).rev().map(|(_, item)| *item).collect();
    let skip = done.len();
    while !left.is_empty() {
        let tail = &done[done.len().saturating_sub(LONGEST_RUN)..];
        let allowed = |item: &Item| {
            let last = tail.last().and_then(|last| last.signal);
            let same_tooth =
                last.zip(item.signal).is_some_and(|(last, this)| last.tooth == this.tooth);
            let run = tail.len() == LONGEST_RUN && tail.iter().all(|t| class(t) == class(item));
            !same_tooth && !run
        };
        let next = left.iter().position(allowed)?;
        done.push(left.swap_remove(next));
    }
    Some(done.split_off(skip))
}

/// Expected scores and information by the observer model.
struct Judge {
    model: GlanceModel,
    teeth: Vec<Tooth>,
}

/// What one item adds to the figures of its form.
#[derive(Clone, Copy)]
struct Part {
    right: [f64; 3],
    information: f64,
}

impl Judge {
    fn new() -> Self {
        let teeth = Tooth::arch(TEETH);
        Self { model: GlanceModel::new(&teeth, &Axis::ALL), teeth }
    }

    fn trial(&self, signal: Option<ItemSignal>) -> ModelTrial {
        let index = |tooth: Tooth| self.teeth.iter().position(|t| *t == tooth).unwrap_or(0);
        ModelTrial {
            signal: signal.map(|s| (index(s.tooth), s.direction, s.de00)),
            residuals_de00: Vec::new(),
            exposure_s: EXPOSURE_S,
            answer: 0,
        }
    }

    fn part(&self, signal: Option<ItemSignal>) -> Part {
        let trial = self.trial(signal);
        let answer = trial.signal.map_or(0, |(index, _, _)| index + 1);
        let right = REFERENCE_DE00.map(|tau| {
            let learner = GlanceParameters::even(tau, REFERENCE_CRITERION);
            self.model.probabilities(&learner, &trial)[answer]
        });
        let learner = GlanceParameters::even(CUT_DE00, REFERENCE_CRITERION);
        let information = self.model.information(&learner, &trial);
        Part { right, information }
    }

    fn figures(&self, items: &[Item]) -> FormFigures {
        let parts: Vec<Part> = items.iter().map(|item| self.part(item.signal)).collect();
        total(&parts)
    }

    /// The design: every cell at its nominal size, averaged over the teeth of each third.
    fn target(&self, per_cell: u8) -> FormFigures {
        let mut cells = Vec::new();
        for (level, de00) in LEVELS_DE00.into_iter().enumerate() {
            for wanted in 0..3 {
                let inside: Vec<usize> = (0..TEETH).filter(|i| third(*i) == wanted).collect();
                let parts: Vec<Part> = inside
                    .iter()
                    .map(|i| {
                        self.part(Some(ItemSignal {
                            tooth: self.teeth[*i],
                            direction: Direction::Darker,
                            de00,
                            level,
                        }))
                    })
                    .collect();
                let mean = |of: &dyn Fn(&Part) -> f64| {
                    parts.iter().map(of).sum::<f64>() / parts.len() as f64
                };
                cells.push(Part {
                    right: [0, 1, 2].map(|k| mean(&|p| p.right[k])),
                    information: mean(&|p| p.information),
                });
            }
        }
        // A cell of axis and level holds `per_cell` items; the axes are alike here.
        let signals = Axis::ALL.len() * LEVELS_DE00.len() * usize::from(per_cell);
        let none = (signals as f64 / 3.0).round();
        let weight = signals as f64 / cells.len() as f64;
        let catch = self.part(None);
        let count = signals as f64 + none;
        FormFigures {
            expected_scores: [0, 1, 2].map(|k| {
                let found: f64 = cells.iter().map(|c| c.right[k]).sum();
                (weight * found + none * catch.right[k]) / count
            }),
            information: weight * cells.iter().map(|c| c.information).sum::<f64>()
                + none * catch.information,
        }
    }

    /// Exchanges items for other draws of their cell until the form meets the target.
    fn search(&self, rng: &mut ChaCha8Rng, items: &mut [Item], target: &FormFigures) -> bool {
        let mut parts: Vec<Part> = items.iter().map(|item| self.part(item.signal)).collect();
        let mut distance = off(&total(&parts), target);
        let signals = items.iter().filter(|item| item.signal.is_some()).count();
        for _ in 0..PROPOSALS {
            if distance <= 1.0 {
                return true;
            }
            let k = rng.random_range(0..signals);
            let Some(now) = items[k].signal else { continue };
            let index = self.teeth.iter().position(|t| *t == now.tooth).unwrap_or(0);
            let tooth = self.teeth[place(rng, third(index))];
            let other = ItemSignal { tooth, de00: jittered(rng, now.level), ..now };
            let kept = parts[k];
            parts[k] = self.part(Some(other));
            let nearer = off(&total(&parts), target);
            if nearer < distance {
                distance = nearer;
                items[k].signal = Some(other);
            } else {
                parts[k] = kept;
            }
        }
        distance <= 1.0
    }
}

fn total(parts: &[Part]) -> FormFigures {
    let count = parts.len().max(1) as f64;
    FormFigures {
        expected_scores: [0, 1, 2].map(|k| parts.iter().map(|p| p.right[k]).sum::<f64>() / count),
        information: parts.iter().map(|p| p.information).sum(),
    }
}

/// The largest departure from a target in units of what is tolerated.
fn off(found: &FormFigures, target: &FormFigures) -> f64 {
    let scores = found.expected_scores.iter().zip(target.expected_scores);
    let score = scores.map(|(a, b)| (a - b).abs() / SCORE_TOLERANCE).fold(0.0, f64::max);
    let information = (found.information / target.information - 1.0).abs() / INFORMATION_TOLERANCE;
    score.max(information)
}
