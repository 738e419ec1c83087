//! Which of the candidates become the options of a question.
//!
//! No answer may hang on an error of the model: options keep away from everything that decides how
//! they are marked, and from each other.

use super::options::{Candidate, Field};
use super::{MARGIN_DE00, marks};
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

    /// What is wrong with it, if anything.
    fn fault(&self, wanted: &Wanted) -> Option<&'static str> {
        let of = |i: usize| self.options[i].difference();
        let best = self.best();
        let least = of(best).de00;
        let (darker, lighter) = (of(self.darker), of(self.lighter));
        let others = || (0..self.options.len()).filter(|i| *i != best);
        let clear = |de00: f64| wanted.clear(de00);
        let apart = |i: usize, j: usize| self.options[i].apart_de00(&self.options[j]) >= APART_DE00;
        if !(0..self.options.len()).all(|i| clear(of(i).de00)) {
            Some("an option lies near the limit of what is acceptable")
        } else if !wanted.catch && !(least <= ACCEPTABLE_DE00) {
            Some("no option is acceptable")
        } else if !wanted.catch && others().any(|i| of(i).de00 < least + MARGIN_DE00) {
            Some("two options are as good as each other")
        } else if !(is_darker(&darker) && is_lighter(&lighter))
            || (darker.de00 - lighter.de00).abs() > PAIR_DE00
        {
            Some("no darker option is as far off as a lighter one")
        } else if (0..self.options.len()).any(|i| (0..i).any(|j| !apart(i, j))) {
            Some("two options look alike")
        } else {
            None
        }
    }
}

fn is_darker(d: &crate::bake::ZoneDifference) -> bool {
    d.dl00 <= -PAIR_VALUE * d.de00
}

fn is_lighter(d: &crate::bake::ZoneDifference) -> bool {
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
}

/// Composes a question from candidates; `Err(Ok(why))` where none can be had from them.
pub(super) fn compose(
    field: &Field<'_>,
    mut candidates: Vec<Candidate>,
    wanted: &Wanted,
    stream: &mut ChaCha8Rng,
) -> Result<Result<Composition, String>, ExerciseError> {
    let mut why = String::new();
    for _ in 0..CHECKS {
        let picks = match pick(&candidates, wanted, stream) {
            Ok(picks) => picks,
            Err(reason) => return Ok(Err(reason)),
        };
        for &place in &picks {
            candidates[place] = field.judged(&candidates[place])?;
        }
        let options = picks.iter().map(|&place| candidates[place].clone()).collect();
        // The pair comes first in what was picked.
        let composition = Composition { options, darker: 0, lighter: 1 };
        match composition.fault(wanted) {
            None => return Ok(Ok(composition)),
            Some(fault) => why = fault.to_owned(),
        }
    }
    Ok(Err(why))
}

/// Places of the options among the candidates: the pair, the best, others. In a question without an
/// acceptable option the best is one of these others or of the pair.
fn pick(
    candidates: &[Candidate],
    wanted: &Wanted,
    stream: &mut ChaCha8Rng,
) -> Result<Vec<usize>, String> {
    let of: Vec<_> = candidates.iter().map(Candidate::difference).collect();
    let clear: Vec<usize> = (0..candidates.len()).filter(|&i| wanted.clear(of[i].de00)).collect();
    let apart = |i: usize, chosen: &[usize]| {
        chosen.iter().all(|&j| i != j && candidates[i].apart_de00(&candidates[j]) >= APART_DE00)
    };
    let (best, least) = if wanted.catch {
        (None, NONE_ACCEPTABLE_DE00)
    } else {
        let best = pick_best(&clear, |i| of[i].de00, stream).ok_or_else(|| {
            let nearest = of.iter().map(|d| d.de00).fold(f64::INFINITY, f64::min);
            format!("the nearest restoration is {nearest:.2} off, which is not clearly acceptable")
        })?;
        (Some(best), of[best].de00)
    };
    let floor = least + MARGIN_DE00;
    let mut aim = least + wanted.gap_de00;
    if !wanted.catch && aim > ACCEPTABLE_DE00 && aim < UNACCEPTABLE_DE00 {
        let room = ACCEPTABLE_DE00 - floor;
        aim = if aim < ACCEPTABILITY_DE00 && room > 0.2 {
            ACCEPTABLE_DE00 - 0.05
        } else {
            UNACCEPTABLE_DE00 + 0.05
        };
    }
    let usable = |i: &usize| of[*i].de00 >= floor && best.is_none_or(|best| apart(*i, &[best]));
    let darker: Vec<usize> =
        clear.iter().copied().filter(|i| usable(i) && is_darker(&of[*i])).collect();
    let lighter: Vec<usize> =
        clear.iter().copied().filter(|i| usable(i) && is_lighter(&of[*i])).collect();
    let mut pair: Option<(f64, usize, usize)> = None;
    for &d in &darker {
        for &l in &lighter {
            let unequal = (of[d].de00 - of[l].de00).abs();
            let off = (0.5 * (of[d].de00 + of[l].de00) - aim).abs();
            let skew = (of[d].dl00 + of[l].dl00).abs();
            let cost = off + 8.0 * (unequal - 0.03).max(0.0) + 0.5 * skew;
            if unequal <= PAIR_DE00 && pair.is_none_or(|(least, ..)| cost < least) {
                pair = Some((cost, d, l));
            }
        }
    }
    let Some((_, darker, lighter)) = pair else {
        return Err(format!(
            "no two restorations are as far off as each other, one darker and one lighter \
             ({} darker, {} lighter)",
            darker.len(),
            lighter.len()
        ));
    };
    let mut picks = vec![darker, lighter];
    picks.extend(best);
    let top = of[darker].de00.max(UNACCEPTABLE_DE00) + wanted.gap_de00.clamp(0.8, 2.0);
    while picks.len() < wanted.options {
        let aim = stream.random_range(floor..top.max(floor + 0.1));
        let cost = |i: usize| {
            let used = picks.iter().filter(|&&j| candidates[j].kind == candidates[i].kind).count();
            let value = of[i].dl00.abs() / of[i].de00.max(1e-9);
            let strays = if wanted.value_alone { (VALUE_ALONE - value).max(0.0) } else { 0.0 };
            (of[i].de00 - aim).abs() + 0.4 * used as f64 + 5.0 * strays
        };
        let next = clear
            .iter()
            .copied()
            .filter(|&i| of[i].de00 >= floor && apart(i, &picks))
            .map(|i| (cost(i), i))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, next)) = next else {
            return Err(format!("only {} restorations differ enough from each other", picks.len()));
        };
        picks.push(next);
    }
    Ok(picks)
}

/// The best option: one of the nearest, at random.
fn pick_best(
    clear: &[usize],
    de00: impl Fn(usize) -> f64,
    stream: &mut ChaCha8Rng,
) -> Option<usize> {
    let least = clear.iter().map(|&i| de00(i)).fold(f64::INFINITY, f64::min);
    let limit = (least + 0.4).min(ACCEPTABLE_DE00);
    let near: Vec<usize> = clear.iter().copied().filter(|&i| de00(i) <= limit).collect();
    (!near.is_empty()).then(|| near[stream.random_range(0..near.len())])
}
