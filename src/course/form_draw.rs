//! Drawing the items of a form, and the order of a seat.

use super::form_item::{EXAM_SPACE, Item, ItemSignal, JITTER, LEVELS_DE00, TEETH};
use crate::psychophysics::Axis;
use crate::random::{Purpose, StreamKey};
use crate::scene::Tooth;
use rand::RngExt;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// Items in a block of the order.
pub(super) const BLOCK_ITEMS: usize = 16;
/// Longest run of answers of one class: none, a tooth on the left, a tooth on the right.
const LONGEST_RUN: usize = 3;
/// Orders tried for one block.
pub(super) const ATTEMPTS: usize = 2000;

pub(super) fn stream(seed: u64, purpose: Purpose, trial: u32) -> ChaCha8Rng {
    StreamKey { form: EXAM_SPACE, seed, purpose, block: 0, trial }.stream()
}

/// The third of the arch that a tooth stands in, by index: 0 left, 1 middle, 2 right.
pub(super) fn third(index: usize) -> usize {
    match index {
        0..=2 => 0,
        3..=6 => 1,
        _ => 2,
    }
}

/// A tooth of a third.
pub(super) fn place(rng: &mut ChaCha8Rng, wanted: usize) -> usize {
    let inside: Vec<usize> = (0..TEETH).filter(|i| third(*i) == wanted).collect();
    inside[rng.random_range(0..inside.len())]
}

pub(super) fn jittered(rng: &mut ChaCha8Rng, level: usize) -> f64 {
    let de00 = LEVELS_DE00[level] * (1.0 + JITTER * rng.random_range(-1.0..=1.0));
    (de00 * 1e4).round() / 1e4
}

/// The stratified draw.
pub(super) fn draw(rng: &mut ChaCha8Rng, per_cell: u8) -> Vec<Item> {
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
pub(super) fn arrange(
    rng: &mut ChaCha8Rng,
    before: &[(u32, Item)],
    pool: &[Item],
) -> Option<Vec<Item>> {
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
