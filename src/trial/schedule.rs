//! Order of trials: where the restoration is, when there is none, and which way it errs.
//!
//! Rules, for a session of any length:
//! - Blocks of 20 trials hold exactly 5 catch trials; a shorter last block holds a quarter,
//!   rounded.
//! - Within every 3 blocks each tooth is restored equally often, give or take one.
//! - A tooth is never restored in two trials running.
//! - At most 3 trials running have an answer of one class: "none", a tooth on the viewer's left,
//!   a tooth on the viewer's right.
//! - The darker and lighter errors keep their share to within one trial at the end of every
//!   block, and exactly (rounded) over the session.
//!
//! The run limit is on those three classes, not on "signal" and "none". With a quarter of catch
//! trials, at most three signal trials running would leave the order almost no freedom: nearly
//! every fourth trial would be a catch trial, and after three signals always the next. Whoever
//! counts would need no eyes.

use crate::random::StreamKey;
use crate::scene::Tooth;
use crate::trial::TrialKind;
use rand::RngExt;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use thiserror::Error;

/// Trials in a block.
const BLOCK_TRIALS: usize = 20;
/// Blocks over which positions are balanced.
const BALANCE_BLOCKS: usize = 3;
/// Longest run of one answer class.
const LONGEST_RUN: usize = 3;
/// Orders tried per three blocks before giving up. A workable list of teeth needs a few.
const ATTEMPTS: usize = 2000;

/// Which way a restoration errs in value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sign {
    /// Lower in value than its twin.
    Darker,
    /// Higher in value than its twin.
    Lighter,
}

/// One trial of a schedule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScheduledTrial {
    /// 0-based block number.
    pub block: u32,
    /// 0-based trial number in the session.
    pub trial: u32,
    /// Signal or catch.
    pub kind: TrialKind,
    /// The tooth to restore; `None` on catch trials.
    pub tooth: Option<Tooth>,
    /// Which way to err; `None` on catch trials.
    pub sign: Option<Sign>,
}

/// Why no schedule can be made.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ScheduleError {
    /// Nothing to schedule.
    #[error("a session needs at least one trial")]
    NoTrials,
    /// Too few teeth for "never the same tooth twice running".
    #[error("a schedule needs at least 2 different teeth that can be restored, got {0}")]
    TooFewTeeth(usize),
    /// A tooth is listed twice.
    #[error("tooth {0} is listed twice among the teeth that can be restored")]
    RepeatedTooth(Tooth),
    /// A share outside 0..1.
    #[error("the share of darker restorations must lie in 0..1, got {0}")]
    DarkerShare(f64),
    /// No order that keeps the rules was found. No list of upper teeth is known to lead here.
    #[error(
        "no order of the {teeth} teeth keeps the rules (no tooth twice running, at most \
         {LONGEST_RUN} answers running on one side); give both sides of the arch more equal numbers"
    )]
    NoOrder {
        /// Number of teeth given.
        teeth: usize,
    },
}

/// Lays out `n_trials` trials over `teeth`, a pure function of its arguments.
///
/// `teeth` are those that may be restored, at least 2; `darker_share` is the share of signal
/// trials whose restoration is darker than its twin, 0..1. The side rule applies only when both
/// sides of the mouth are listed.
///
/// # Errors
/// [`ScheduleError`] when an argument is out of range or no order keeps the rules.
pub fn schedule(
    key: StreamKey<'_>,
    n_trials: usize,
    teeth: &[Tooth],
    darker_share: f64,
) -> Result<Vec<ScheduledTrial>, ScheduleError> {
    check(n_trials, teeth, darker_share)?;
    let mut rng = key.stream();
    let both_sides =
        teeth.iter().any(|t| t.is_patients_right()) && teeth.iter().any(|t| !t.is_patients_right());

    // `None` is a catch trial, `Some` the restored tooth.
    let mut order: Vec<Option<Tooth>> = Vec::with_capacity(n_trials);
    let mut uses = vec![0_usize; teeth.len()];
    while order.len() < n_trials {
        let span = (n_trials - order.len()).min(BLOCK_TRIALS * BALANCE_BLOCKS);
        let signals: usize = block_lengths(span).map(|n| n - catch_trials(n)).sum();
        let deck = deal(&mut rng, teeth, &mut uses, signals);
        let part = (0..ATTEMPTS)
            .find_map(|_| arrange(&mut rng, &order, span, &deck, both_sides))
            .ok_or(ScheduleError::NoOrder { teeth: teeth.len() })?;
        order.extend(part);
    }

    let signs = signs(&mut rng, &order, darker_share);
    Ok(order
        .into_iter()
        .zip(signs)
        .enumerate()
        .map(|(trial, (tooth, sign))| ScheduledTrial {
            block: (trial / BLOCK_TRIALS) as u32,
            trial: trial as u32,
            kind: if tooth.is_some() { TrialKind::Signal } else { TrialKind::Catch },
            tooth,
            sign,
        })
        .collect())
}

fn check(n_trials: usize, teeth: &[Tooth], darker_share: f64) -> Result<(), ScheduleError> {
    if n_trials == 0 {
        return Err(ScheduleError::NoTrials);
    }
    if let Some(tooth) =
        teeth.iter().enumerate().find_map(|(i, tooth)| teeth[..i].contains(tooth).then_some(*tooth))
    {
        return Err(ScheduleError::RepeatedTooth(tooth));
    }
    if teeth.len() < 2 {
        return Err(ScheduleError::TooFewTeeth(teeth.len()));
    }
    if !(0.0..=1.0).contains(&darker_share) {
        return Err(ScheduleError::DarkerShare(darker_share));
    }
    Ok(())
}

/// Lengths of the blocks that `n_trials` trials fall into.
fn block_lengths(n_trials: usize) -> impl Iterator<Item = usize> {
    (0..n_trials).step_by(BLOCK_TRIALS).map(move |start| (n_trials - start).min(BLOCK_TRIALS))
}

/// A quarter of a block, rounded half up.
const fn catch_trials(block: usize) -> usize {
    (block + 2) / 4
}

/// One card per signal trial, each tooth equally often; the odd cards go to the teeth used least
/// so far. `uses` is brought up to date.
fn deal(rng: &mut ChaCha8Rng, teeth: &[Tooth], uses: &mut [usize], signals: usize) -> Vec<Tooth> {
    let mut by_use: Vec<usize> = (0..teeth.len()).collect();
    by_use.shuffle(rng);
    by_use.sort_by_key(|&i| uses[i]);
    let mut deck = Vec::with_capacity(signals);
    for &i in by_use.iter().cycle().take(signals) {
        deck.push(teeth[i]);
        uses[i] += 1;
    }
    deck
}

/// One try at ordering `span` trials after those in `before`; `None` at a dead end.
fn arrange(
    rng: &mut ChaCha8Rng,
    before: &[Option<Tooth>],
    span: usize,
    deck: &[Tooth],
    both_sides: bool,
) -> Option<Vec<Option<Tooth>>> {
    let mut is_signal = Vec::with_capacity(span);
    for block in block_lengths(span) {
        let start = is_signal.len();
        is_signal.extend((0..block).map(|i| i >= catch_trials(block)));
        is_signal[start..].shuffle(rng);
    }
    let mut deck = deck.to_vec();
    let mut order = before.to_vec();
    for signal in is_signal {
        let allowed = |candidate: Option<Tooth>| keeps_the_rules(&order, candidate, both_sides);
        let next = if signal {
            let choices: Vec<usize> = (0..deck.len()).filter(|&i| allowed(Some(deck[i]))).collect();
            if choices.is_empty() {
                return None;
            }
            let card = choices[rng.random_range(0..choices.len())];
            Some(deck.swap_remove(card))
        } else if allowed(None) {
            None
        } else {
            return None;
        };
        order.push(next);
    }
    Some(order.split_off(before.len()))
}

/// Whether `candidate` may follow `order`.
fn keeps_the_rules(order: &[Option<Tooth>], candidate: Option<Tooth>, both_sides: bool) -> bool {
    if candidate.is_some() && order.last() == Some(&candidate) {
        return false;
    }
    if candidate.is_some() && !both_sides {
        return true;
    }
    let class = |tooth: Option<Tooth>| tooth.map(Tooth::is_patients_right);
    let run = order.iter().rev().take_while(|&&t| class(t) == class(candidate)).count();
    run < LONGEST_RUN
}

/// Errs darker in `darker_share` of the signal trials, balanced at the end of every block.
fn signs(rng: &mut ChaCha8Rng, order: &[Option<Tooth>], darker_share: f64) -> Vec<Option<Sign>> {
    let mut signs = Vec::with_capacity(order.len());
    let (mut signals_so_far, mut darker_so_far) = (0_usize, 0_usize);
    for block in order.chunks(BLOCK_TRIALS) {
        let signals = block.iter().flatten().count();
        signals_so_far += signals;
        let darker_by_now = (signals_so_far as f64 * darker_share).round() as usize;
        // The target rises by at most the block's signals, up to rounding.
        let darker = (darker_by_now - darker_so_far).min(signals);
        darker_so_far += darker;
        let mut cards: Vec<Sign> =
            (0..signals).map(|i| if i < darker { Sign::Darker } else { Sign::Lighter }).collect();
        cards.shuffle(rng);
        signs.extend(block.iter().map(|tooth| tooth.and_then(|_| cards.pop())));
    }
    signs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_of_a_block_is_catch() {
        // 5 of 20 is the rule; shorter blocks are rounded.
        for (block, catch) in [(20, 5), (16, 4), (8, 2), (4, 1), (2, 1), (1, 0), (10, 3)] {
            assert_eq!(catch_trials(block), catch, "block of {block}");
        }
    }

    #[test]
    fn bad_arguments_are_refused() {
        let key = StreamKey {
            form: "t",
            seed: 1,
            purpose: crate::random::Purpose::Schedule,
            block: 0,
            trial: 0,
        };
        let teeth = Tooth::arch(4);
        assert_eq!(schedule(key, 0, &teeth, 0.5), Err(ScheduleError::NoTrials));
        assert_eq!(schedule(key, 8, &teeth[..1], 0.5), Err(ScheduleError::TooFewTeeth(1)));
        assert_eq!(
            schedule(key, 8, &[teeth[0], teeth[1], teeth[0]], 0.5),
            Err(ScheduleError::RepeatedTooth(teeth[0]))
        );
        assert!(matches!(schedule(key, 8, &teeth, f64::NAN), Err(ScheduleError::DarkerShare(_))));
        assert!(matches!(schedule(key, 8, &teeth, 1.01), Err(ScheduleError::DarkerShare(_))));
    }
}
