//! Forms: fixed lists of smiles of equal difficulty, the same for everyone who sits them.
//!
//! A form is drawn from its seed, stratified: every axis at every level of difference, spread over
//! the left, middle and right third of the arch and over both signs. Sizes are jittered by up to
//! 10 %. A swap search then exchanges single items for other draws of the same cell until the
//! form's expected score at three reference learners and its information at the cut are what the
//! design without jitter would give. Two forms therefore need no equating.

use super::form_draw::{ATTEMPTS, BLOCK_ITEMS, arrange, draw, stream};
use super::form_item::{EXAM_SPACE, Item};
use super::form_judge::{FormFigures, Judge, SCORE_TOLERANCE};
use crate::psychophysics::instrument::{Signal, Stimulus};
use crate::random::{Purpose, StreamKey};
use rand::seq::SliceRandom;
use thiserror::Error;

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
