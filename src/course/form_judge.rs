//! What a form is expected to do, and the search that brings one to its design.

use super::form_draw::{jittered, place, third};
use super::form_item::{EXPOSURE_S, Item, ItemSignal, LEVELS_DE00, TEETH};
use crate::psychophysics::{
    ACCEPTABILITY_DE00, Axis, Direction, GlanceModel, GlanceParameters, ModelTrial,
};
use crate::scene::Tooth;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Thresholds of the reference learners, ΔE00, and their criterion. Design choice.
pub const REFERENCE_DE00: [f64; 3] = [1.0, 2.0, 3.5];
/// Criterion of the reference learners.
pub const REFERENCE_CRITERION: f64 = 2.0;
/// Threshold at which a form is meant to decide, ΔE00.
pub const CUT_DE00: f64 = ACCEPTABILITY_DE00;

/// How near the search brings a form to the design: expected score, and information as a share.
/// Two forms can then differ by twice as much, within the 0.015 and 5 % that are promised.
pub(super) const SCORE_TOLERANCE: f64 = 0.004;
const INFORMATION_TOLERANCE: f64 = 0.02;
/// Proposals of the search before it gives up; a form of 64 items needs some tens.
const PROPOSALS: usize = 4000;

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

/// Expected scores and information by the observer model.
pub(super) struct Judge {
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
    pub fn new() -> Self {
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

    pub fn figures(&self, items: &[Item]) -> FormFigures {
        let parts: Vec<Part> = items.iter().map(|item| self.part(item.signal)).collect();
        total(&parts)
    }

    /// The design: every cell at its nominal size, averaged over the teeth of each third.
    pub fn target(&self, per_cell: u8) -> FormFigures {
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
    pub fn search(&self, rng: &mut ChaCha8Rng, items: &mut [Item], target: &FormFigures) -> bool {
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
