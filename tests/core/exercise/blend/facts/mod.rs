//! What practitioners know, as statements about the cases that blend's levels generate.
//!
//! Every rule is `common practice, no source`. Patients, prepared teeth and lights are those of the
//! shipped questions; restorations are placed on them by the same model, with shades as fine as the
//! statement needs. Numbers are those of the fact where it gives some (steps of value, millimetres)
//! and the published 50:50 points otherwise (Paravina et al., J Esthet Restor Dent 2015;27 Suppl
//! 1:S1-S9). Fact 9 is tested on the cases of Bracket (`exercise/bracket.rs`), the onlays of fact 6
//! on those of Margin (`exercise/margin.rs`).
//!
//! Facts 3 to 5 are asked of the levels that teach them, `blend-thin-veneer` (over light teeth) and
//! `blend-one-step-or-several` (over mid yellow ones), all of whose questions count. Their patients
//! were given teeth a little lighter and paler than what lies beneath, because the amounts hang on
//! that: where the tooth is no lighter than the prepared one, its own shade is right however thin
//! the ceramic (`without_a_difference_beneath_the_tooth_s_own_shade_is_right`). So these tests hold
//! the cases to the trade's numbers; they are no independent evidence for the optics.
//! Steps are steps of value as fact 1 judges it: the shade, in the tooth's own chroma and hue,
//! whose lightness on the incisal half is the tooth's. Whether that value can be right is then
//! asked of the whole tooth by ΔE00, chroma being chosen after value.

mod beneath;
mod thin;

use crate::shared::blend::tasks;
use crate::shared::levels::LIBRARY;
use second_glance::bake::{Estimator, ZoneDifference};
use second_glance::colorimetry::{Lab, Lch};
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Preparation, Restoration, Thickness, Translucency,
};

const GLASS_CERAMICS: [&str; 3] = ["feldspathic", "leucite-glass-ceramic", "lithium-disilicate"];

/// A patient with one tooth to be restored over the question's prepared tooth.
struct Generated {
    name: String,
    case: Case,
    natural: NaturalTooth,
    prepared: String,
}

/// The patients of the shipped questions over these prepared teeth, one in `every`.
fn generated(prepared: &[&str], every: usize) -> Vec<Generated> {
    let all = tasks().filter_map(|(_, question, task)| {
        let sight = &question.sights[0];
        let first = &sight.case.restorations[0];
        let natural = *sight.case.patient.teeth.iter().find(|t| t.tooth == task.teeth[0]).unwrap();
        prepared.contains(&first.prepared_tooth.as_str()).then(|| Generated {
            name: question.seed_key.clone(),
            case: sight.case.clone(),
            natural,
            prepared: first.prepared_tooth.clone(),
        })
    });
    let found: Vec<Generated> = all.step_by(every).collect();
    assert!(found.len() >= 3, "{} cases over {prepared:?}", found.len());
    found
}

#[derive(Clone, Copy)]
struct Recipe<'a> {
    preparation: Preparation,
    class: &'a str,
    translucency: Translucency,
    graded: bool,
    mm: f64,
    cement: &'a str,
}

const fn veneer<'a>(class: &'a str, translucency: Translucency, mm: f64) -> Recipe<'a> {
    let preparation = Preparation::Veneer;
    Recipe { preparation, class, translucency, graded: false, mm, cement: "clear" }
}

impl Generated {
    fn estimator(&self) -> Estimator<'static> {
        Estimator::new(&self.natural, self.case.seed, self.case.illuminant, &LIBRARY).unwrap()
    }

    /// Ceramic as thick all over but for the margin.
    fn restoration(&self, recipe: &Recipe<'_>, shade: Lch) -> Restoration {
        let mm = recipe.mm;
        Restoration {
            tooth: self.natural.tooth,
            preparation: recipe.preparation,
            ceramic: Ceramic {
                class: recipe.class.to_owned(),
                translucency: recipe.translucency,
                shade,
                graded: recipe.graded,
                block_shift: 0.0,
            },
            thickness: Thickness {
                margin_mm: (0.4 * mm).max(0.05),
                neck_mm: 0.8 * mm,
                body_mm: mm,
                incisal_mm: 1.1 * mm,
            },
            cement: recipe.cement.to_owned(),
            cement_film_mm: 0.05,
            prepared_tooth: self.prepared.clone(),
            drift: None,
        }
    }

    /// Differences of every shade of the lattice.
    fn over_lattice(&self, recipe: &Recipe<'_>) -> Vec<(Lch, ZoneDifference)> {
        let estimator = self.estimator();
        let lattice = &LIBRARY.ceramics().shades.lattice;
        lattice
            .iter()
            .map(|&shade| (shade, estimator.difference(&self.restoration(recipe, shade)).unwrap()))
            .collect()
    }

    /// The shade nearest the twin, in half steps of value from two below the tooth's own colour to
    /// seven above, in its hue.
    fn best(&self, recipe: &Recipe<'_>) -> (Lch, ZoneDifference) {
        let estimator = self.estimator();
        let own = self.natural.body;
        let mut best: Option<(Lch, ZoneDifference)> = None;
        for half_steps in -4..=14 {
            for c in [-6.0, -3.0, 0.0, 3.0] {
                // Whole shades, so that patients share them.
                let l = (own.l + f64::from(half_steps)).round();
                let shade = Lch { l, c: (own.c + c).max(8.0).round(), h: own.h.round() };
                // Not every shade can be had in every class.
                let Ok(d) = estimator.difference(&self.restoration(recipe, shade)) else {
                    continue;
                };
                if best.as_ref().is_none_or(|(_, least)| d.de00 < least.de00) {
                    best = Some((shade, d));
                }
            }
        }
        best.unwrap()
    }

    /// The restoration so many value steps (2 L*) lighter than the tooth's own shade and of so much
    /// more chroma; `None` where no such ceramic can be made.
    fn brighter(
        &self,
        estimator: &Estimator<'_>,
        recipe: &Recipe<'_>,
        (steps, chroma): (f64, f64),
    ) -> Option<Placed> {
        let own = self.natural.body;
        let shade = Lch { l: own.l + VALUE_STEP * steps, c: (own.c + chroma).max(8.0), h: own.h };
        let thirds = estimator.zones(&self.restoration(recipe, shade)).ok()?;
        let natural = estimator.natural_zones();
        Some(Placed {
            lighter: incisal_half(&thirds) - incisal_half(natural),
            difference: ZoneDifference::of_thirds(natural, &thirds),
        })
    }

    /// Value steps above the tooth at which the incisal half has the tooth's lightness, in the
    /// tooth's own chroma, and how far off the whole tooth is there in the best chroma of that
    /// value.
    fn steps_of_value(&self, recipe: &Recipe<'_>) -> (f64, ZoneDifference) {
        let estimator = self.estimator();
        let (mut low, mut high) = (-4.0, 12.0);
        for _ in 0..10 {
            let middle = 0.5 * (low + high);
            // What cannot be made would be too light.
            match self.brighter(&estimator, recipe, (middle, 0.0)) {
                Some(placed) if placed.lighter < 0.0 => low = middle,
                _ => high = middle,
            }
        }
        let placed = self.brighter(&estimator, recipe, (low, 0.0)).unwrap();
        assert!(placed.lighter.abs() < 0.1, "{}: value is out of reach", self.name);
        let nearest = CHROMAS
            .into_iter()
            .filter_map(|chroma| self.brighter(&estimator, recipe, (low, chroma)))
            .map(|placed| placed.difference)
            .min_by(|a, b| a.de00.total_cmp(&b.de00));
        (low, nearest.unwrap())
    }

    /// The whole value step above the tooth that comes nearest by ΔE00, whatever its chroma.
    fn nearest_whole_step(&self, recipe: &Recipe<'_>) -> i32 {
        let estimator = self.estimator();
        let own = self.natural.body;
        let mut best = (f64::INFINITY, 0);
        for steps in -3..=7 {
            for c in CHROMAS {
                let l = own.l + VALUE_STEP * f64::from(steps);
                let shade = Lch { l, c: (own.c + c).max(8.0), h: own.h };
                // Not every shade can be had in every class.
                let Ok(d) = estimator.difference(&self.restoration(recipe, shade)) else {
                    continue;
                };
                if d.de00 < best.0 {
                    best = (d.de00, steps);
                }
            }
        }
        best.1
    }
}

/// Chromas that are tried, C* above the tooth's own.
const CHROMAS: [f64; 5] = [-4.0, -2.0, 0.0, 2.0, 4.0];

/// One value step, L*.
const VALUE_STEP: f64 = 2.0;

/// A restoration in place.
struct Placed {
    /// How much lighter the incisal half is than the natural tooth's, L*.
    lighter: f64,
    difference: ZoneDifference,
}

/// Lightness of the incisal half: the incisal third and half of the middle third.
fn incisal_half(thirds: &[Lab; 3]) -> f64 {
    (thirds[1].l + 2.0 * thirds[2].l) / 3.0
}

fn mean(values: impl IntoIterator<Item = f64>) -> f64 {
    let all: Vec<f64> = values.into_iter().collect();
    all.iter().sum::<f64>() / all.len() as f64
}

/// Every patient of the level that teaches it.
fn patients_of(level: &str) -> Vec<Generated> {
    let all = tasks().filter(|(l, ..)| l.id == level).map(|(_, question, task)| {
        let case = &question.sights[0].case;
        let natural = *case.patient.teeth.iter().find(|t| t.tooth == task.teeth[0]).unwrap();
        Generated {
            name: question.seed_key.clone(),
            case: case.clone(),
            natural,
            prepared: case.restorations[0].prepared_tooth.clone(),
        }
    });
    let found: Vec<Generated> = all.collect();
    assert!(found.len() >= 10, "{} cases of {level}", found.len());
    found
}
