//! Items as several seats say that they saw them.

use super::shown::{ShownForm, ShownItem};
use crate::psychophysics::SeenDifference;
use crate::results::FormTrial;
use crate::scene::Tooth;

/// Differences that are equal at every seat: what rounding can make of one.
const SAME_DE00: f64 = 1e-6;

/// An item as several seats say that they saw it. What most say holds, so that no single hand-in
/// decides what everyone's answers are held against.
#[derive(Default)]
pub(super) struct Versions {
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
    pub fn note(&mut self, teeth: &[Tooth], trial: &FormTrial<'_>) {
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
    pub fn settle(self, form: &mut ShownForm, place: usize) {
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

pub(super) fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let middle = values.get(n / 2)?;
    Some(if n % 2 == 1 { *middle } else { 0.5 * (values[n / 2 - 1] + middle) })
}
