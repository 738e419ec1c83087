//! Which of the candidates become the options of a question.
//!
//! No answer may hang on an error of the model: options keep away from everything that decides how
//! they are marked, and from each other.

use super::options::{Candidate, Field};
use super::{MARGIN_DE00, marks};
use crate::bake::ZoneDifference;
use crate::exercise::ExerciseError;
use crate::psychophysics::ACCEPTABILITY_DE00;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Where none is acceptable, the nearest is at least so far off, ΔE00. A setting of this program.
pub const NONE_ACCEPTABLE_DE00: f64 = 2.3;
/// Options differ from each other by at least so much, ΔE00: several errors of the model.
pub const APART_DE00: f64 = 0.5;
/// How nearly equal the differences of the darker and the lighter option of the pair are, ΔE00.
pub const PAIR_DE00: f64 = 0.15;
/// Least share of value in the difference of either option of the pair.
const PAIR_VALUE: f64 = 0.45;
/// Least share of value in every option but the best, where value alone is taught.
const VALUE_ALONE: f64 = 0.8;
/// Largest difference of an acceptable option: clear of the grey zone.
const ACCEPTABLE_DE00: f64 = ACCEPTABILITY_DE00 - marks::GREY_DE00 - MARGIN_DE00;
/// Least difference of an unacceptable option.
const UNACCEPTABLE_DE00: f64 = ACCEPTABILITY_DE00 + marks::GREY_DE00 + MARGIN_DE00;
/// How much further off than the nearest the best option of a question is as often, ΔE00.
const NEAREST_DE00: f64 = 0.4;
/// Choices that are checked on the maps before a draw of candidates is given up.
const CHECKS: usize = 12;

/// What is asked of a question.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wanted {
    pub options: usize,
    /// Whether none is to be acceptable.
    pub catch: bool,
    /// How much further off than the best the equal pair is to be, ΔE00.
    pub gap_de00: f64,
    /// Whether all but the best differ mostly in value.
    pub value_alone: bool,
}

/// The options of a question, the truth of each known.
pub(super) struct Composition {
    pub options: Vec<Candidate>,
    pub darker: usize,
    pub lighter: usize,
}

impl Composition {
    pub fn best(&self) -> usize {
        let de00 = |i: usize| self.options[i].difference().de00;
        (0..self.options.len()).min_by(|&a, &b| de00(a).total_cmp(&de00(b))).unwrap_or(0)
    }
}

fn is_darker(d: &ZoneDifference) -> bool {
    d.dl00 <= -PAIR_VALUE * d.de00
}

fn is_lighter(d: &ZoneDifference) -> bool {
    d.dl00 >= PAIR_VALUE * d.de00
}

impl Wanted {
    /// Whether a difference is clear of all that decides how it is marked.
    fn clear(&self, de00: f64) -> bool {
        if self.catch {
            de00 >= NONE_ACCEPTABLE_DE00 + MARGIN_DE00
        } else {
            de00 <= ACCEPTABLE_DE00 || de00 >= UNACCEPTABLE_DE00
        }
    }

    /// How far off the equal pair is to be where the best is `least` off, ΔE00.
    fn pair_aim(&self, least: f64, floor: f64) -> f64 {
        let aim = least + self.gap_de00;
        if self.catch || aim <= ACCEPTABLE_DE00 || aim >= UNACCEPTABLE_DE00 {
            return aim;
        }
        if aim < ACCEPTABILITY_DE00 && ACCEPTABLE_DE00 - floor > 0.2 {
            ACCEPTABLE_DE00 - 0.05
        } else {
            UNACCEPTABLE_DE00 + 0.05
        }
    }
}

/// Why candidates do not make a question.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unmet {
    /// The nearest restoration is so far off, which is not clearly acceptable.
    Best(ZoneDifference),
    /// No two are as far off as each other, one darker and one lighter; so many there are of each.
    Pair { darker: usize, lighter: usize },
    /// So many options differ enough from each other at most.
    Apart(usize),
    /// Options kept turning out otherwise on the maps than they were estimated.
    Estimates,
}

impl std::fmt::Display for Unmet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Best(ZoneDifference { de00, dl00, dc00, dh00 }) => write!(
                f,
                "the nearest restoration is {de00:.2} off, not clearly acceptable ({dl00:+.2} in \
                 value, {dc00:+.2} in chroma, {dh00:+.2} in hue)"
            ),
            Self::Pair { darker, lighter } => write!(
                f,
                "no darker restoration is as far off as a lighter one ({darker} darker, {lighter} \
                 lighter)"
            ),
            Self::Apart(found) => write!(f, "only {found} restorations differ enough"),
            Self::Estimates => write!(f, "estimates did not hold on the maps"),
        }
    }
}

/// Composes a question from candidates; `Ok(Err(why))` where none can be had from them.
///
/// Options are picked by estimate, their truth is found, estimates of the others learn from it, and
/// options are picked anew, until all that are picked are known: what picking asks for then holds
/// on the maps that are drawn.
pub(super) fn compose(
    field: &Field<'_>,
    mut candidates: Vec<Candidate>,
    wanted: &Wanted,
    stream: &mut ChaCha8Rng,
) -> Result<Result<Composition, Unmet>, ExerciseError> {
    for _ in 0..CHECKS {
        // The same draws every time, so that only what was learned changes the choice.
        let picks = match pick(&candidates, wanted, &mut stream.clone()) {
            Ok(picks) => picks,
            Err(unmet) => return Ok(Err(unmet)),
        };
        let unknown: Vec<usize> =
            picks.iter().copied().filter(|&place| !candidates[place].exact).collect();
        if unknown.is_empty() {
            let options = picks.iter().map(|&place| candidates[place].clone()).collect();
            // The pair comes first in what was picked.
            return Ok(Ok(Composition { options, darker: 0, lighter: 1 }));
        }
        field.judge(&mut candidates, &unknown)?;
    }
    Ok(Err(Unmet::Estimates))
}

/// Candidates with what decides whether they may be picked.
struct Choice<'a> {
    candidates: &'a [Candidate],
    differences: Vec<ZoneDifference>,
    /// Places of those clear of all that decides how they are marked.
    clear: Vec<usize>,
}

/// Places of the options among the candidates: the pair, the best, others. In a question without an
/// acceptable option the best is one of these others or of the pair.
fn pick(
    candidates: &[Candidate],
    wanted: &Wanted,
    stream: &mut ChaCha8Rng,
) -> Result<Vec<usize>, Unmet> {
    let differences: Vec<_> = candidates.iter().map(Candidate::difference).collect();
    let clear = (0..candidates.len()).filter(|&i| wanted.clear(differences[i].de00)).collect();
    let choice = Choice { candidates, differences, clear };
    if wanted.catch {
        return choice.around(None, wanted, stream);
    }
    let bests = choice.bests(stream);
    let nearest = choice.differences.iter().min_by(|a, b| a.de00.total_cmp(&b.de00));
    let mut unmet = Unmet::Best(nearest.copied().unwrap_or_default());
    for best in bests {
        match choice.around(Some(best), wanted, stream) {
            Ok(picks) => return Ok(picks),
            Err(why) => unmet = why,
        }
    }
    Err(unmet)
}

impl Choice<'_> {
    /// What may be the best option: the nearest, and after them the rest of the acceptable ones, each
    /// in random order.
    fn bests(&self, stream: &mut ChaCha8Rng) -> Vec<usize> {
        let de00 = |i: usize| self.differences[i].de00;
        let mut bests: Vec<usize> =
            self.clear.iter().copied().filter(|&i| de00(i) <= ACCEPTABLE_DE00).collect();
        for last in (1..bests.len()).rev() {
            bests.swap(last, stream.random_range(0..=last));
        }
        let least = bests.iter().map(|&i| de00(i)).fold(f64::INFINITY, f64::min);
        bests.sort_by_key(|&i| de00(i) > least + NEAREST_DE00);
        bests
    }

    fn apart(&self, i: usize, chosen: &[usize]) -> bool {
        let of = |j: usize| self.candidates[i].apart_de00(&self.candidates[j]);
        chosen.iter().all(|&j| i != j && of(j) >= APART_DE00)
    }

    /// A question about this best option, or one without an acceptable option.
    fn around(
        &self,
        best: Option<usize>,
        wanted: &Wanted,
        stream: &mut ChaCha8Rng,
    ) -> Result<Vec<usize>, Unmet> {
        let of = &self.differences;
        let least = best.map_or(NONE_ACCEPTABLE_DE00, |best| of[best].de00);
        let floor = least + MARGIN_DE00;
        let (darker, lighter) = self.pair(best, floor, wanted.pair_aim(least, floor))?;
        let mut picks = vec![darker, lighter];
        picks.extend(best);
        let top = of[darker].de00.max(UNACCEPTABLE_DE00) + wanted.gap_de00.clamp(0.8, 2.0);
        while picks.len() < wanted.options {
            let aim = stream.random_range(floor..top.max(floor + 0.1));
            let cost = |i: usize| {
                let alike = |&&j: &&usize| self.candidates[j].kind == self.candidates[i].kind;
                let used = picks.iter().filter(alike).count();
                let value = of[i].dl00.abs() / of[i].de00.max(1e-9);
                let strays = if wanted.value_alone { (VALUE_ALONE - value).max(0.0) } else { 0.0 };
                (of[i].de00 - aim).abs() + 0.4 * used as f64 + 5.0 * strays
            };
            let next = self
                .clear
                .iter()
                .copied()
                .filter(|&i| of[i].de00 >= floor && self.apart(i, &picks))
                .map(|i| (cost(i), i))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let Some((_, next)) = next else { return Err(Unmet::Apart(picks.len())) };
            picks.push(next);
        }
        Ok(picks)
    }

    /// The darker and the lighter one that are as far off as each other, nearest what is aimed at.
    fn pair(&self, best: Option<usize>, floor: f64, aim: f64) -> Result<(usize, usize), Unmet> {
        let of = &self.differences;
        let usable =
            |i: &usize| of[*i].de00 >= floor && best.is_none_or(|best| self.apart(*i, &[best]));
        let those = |is: fn(&ZoneDifference) -> bool| -> Vec<usize> {
            self.clear.iter().copied().filter(|i| is(&of[*i]) && usable(i)).collect()
        };
        let (darker, lighter) = (those(is_darker), those(is_lighter));
        let mut pair: Option<(f64, usize, usize)> = None;
        for &d in &darker {
            for &l in &lighter {
                let unequal = (of[d].de00 - of[l].de00).abs();
                let off = (0.5 * (of[d].de00 + of[l].de00) - aim).abs();
                let skew = (of[d].dl00 + of[l].dl00).abs();
                let cost = off + 8.0 * (unequal - 0.03).max(0.0) + 0.5 * skew;
                if unequal <= PAIR_DE00
                    && pair.is_none_or(|(least, ..)| cost < least)
                    && self.apart(d, &[l])
                {
                    pair = Some((cost, d, l));
                }
            }
        }
        let none = Unmet::Pair { darker: darker.len(), lighter: lighter.len() };
        pair.map(|(_, d, l)| (d, l)).ok_or(none)
    }
}
