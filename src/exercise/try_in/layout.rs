//! Laying out questions of Try-in.

use super::effect::{CementEffect, EffectDirection};
use super::{ASKED, TryInTask, capital};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::Lab;
use crate::exercise::cases::{Layout, restoration};
use crate::exercise::choosing::{OneTooth, kind_by_share};
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::{Exercise, RestorationKind};
use crate::random::Purpose;
use crate::scene::{Cure, Drift, Restoration, Tooth};
use rand::RngExt;

/// One question in this many shows no effect at all: thick or opaque ceramic.
const NONE_ONE_IN: u32 = 4;
/// Draws until a question is of the wanted kind.
const DRAWS: u32 = 16;

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::TryIn { months, .. } = layout.level.exercise else { return Ok(Vec::new()) };
    (0..layout.questions).map(|number| question(layout, number, months)).collect()
}

/// One tooth and restoration to be seated on any cement.
struct Fitting<'a> {
    tooth: OneTooth<'a>,
    restoration: Restoration,
    drift: Drift,
}

impl Fitting<'_> {
    fn with(&self, cement: &str, drift: Option<Drift>) -> Restoration {
        Restoration { cement: cement.to_owned(), drift, ..self.restoration.clone() }
    }

    /// What a cement does, against the colours with the first.
    fn effect(
        &mut self,
        id: &str,
        name: &str,
        first: &[Lab; 3],
    ) -> Result<CementEffect, BakeError> {
        let [natural, seen] = self.tooth.thirds(&self.with(id, None))?;
        let effect = ZoneDifference::of_thirds(first, &seen);
        let mut aged = |deviate: f64| {
            let drift = Drift { deviate, ..self.drift };
            let restoration = self.with(id, Some(drift));
            self.tooth.difference(&restoration)
        };
        // Quartiles of a normal distribution: 0.6745 standard deviations.
        let (low, high) = (aged(-0.6745)?.de00, aged(0.6745)?.de00);
        Ok(CementEffect {
            cement: id.to_owned(),
            name: name.to_owned(),
            effect,
            direction: EffectDirection::of(&effect),
            at_seating: ZoneDifference::of_thirds(&natural, &seen),
            after: aged(0.0)?,
            after_quartiles_de00: [low.min(high), low.max(high)],
        })
    }
}

fn question(layout: &Layout<'_>, number: u32, months: f64) -> Result<Question, ExerciseError> {
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let library = layout.library;
    let natural = layout.natural_case(number)?;
    let run = number / NONE_ONE_IN;
    let place = layout.stream(Purpose::Schedule, run).random_range(0..NONE_ONE_IN);
    // A stated case is not made thicker until nothing shows through.
    let without = number % NONE_ONE_IN == place && !layout.level.is_stated();
    let mut stream = layout.stream(Purpose::Restoration, number);
    for draw in 0..DRAWS {
        let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
        let Some(own) = natural.patient.teeth.iter().find(|t| t.tooth == tooth) else { continue };
        let estimator =
            Estimator::new(own, natural.seed, natural.illuminant, library).map_err(wrap)?;
        let cure = kind.drift.map_or(Cure::LightCured, |drift| drift.cure);
        let drift = Drift { months, cure, deviate: 0.0 };
        // Thicker until nothing shows through.
        let factor = if without { 1.0 + 0.1 * f64::from(draw) } else { 1.0 };
        let restoration = shaded(&estimator, kind, tooth, factor, drift, layout, &mut stream);
        let Some(restoration) = restoration.map_err(wrap)? else { continue };
        let tooth_alone = OneTooth::new(&natural, tooth, library).map_err(wrap)?;
        let mut fitting = Fitting { tooth: tooth_alone, restoration, drift };
        let [_, first] = fitting.tooth.thirds(&fitting.restoration).map_err(wrap)?;
        // Any of the others, in any order.
        let own = &fitting.restoration.cement;
        let (own, mut others): (Vec<_>, Vec<_>) =
            library.cements().cements.iter().partition(|cement| cement.id == *own);
        for i in (1..others.len()).rev() {
            others.swap(i, stream.random_range(0..=i));
        }
        let mut cements = Vec::new();
        for (place, cement) in own.into_iter().chain(others).enumerate() {
            let effect = fitting.effect(&cement.id, &cement.name, &first).map_err(wrap)?;
            if place == 0 || (effect.direction == EffectDirection::None) == without {
                cements.push(effect);
            }
            if cements.len() > ASKED {
                break;
            }
        }
        if cements.len() <= ASKED {
            continue;
        }
        let best = (0..cements.len())
            .min_by(|&a, &b| cements[a].after.de00.total_cmp(&cements[b].after.de00))
            .unwrap_or(0);
        let sights = cements.iter().map(|cement| {
            let mut case = natural.clone();
            let cement_id = cement.cement.clone();
            case.restorations =
                vec![Restoration { cement: cement_id, ..fitting.restoration.clone() }];
            Sight { name: format!("{} cement", capital(&cement.name)), case }
        });
        return Ok(Question {
            number,
            seed_key: layout.seed_key(number),
            catch: without,
            sights: sights.collect(),
            task: Task::TryIn(TryInTask { tooth, cements, drift, best }),
        });
    }
    let why = if without {
        format!("no restoration under which {ASKED} cements do nothing that could be seen")
    } else {
        format!("no restoration under which {ASKED} cements can be told apart")
    };
    Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why })
}

/// A restoration of the kind in a shade for which the choice of cement matters: on the level's cement
/// or one a little lighter or warmer it goes unnoticed when the time is over. One of the five best
/// shades, so that the level's cement is not always the answer.
fn shaded(
    estimator: &Estimator<'_>,
    kind: &RestorationKind,
    tooth: Tooth,
    factor: f64,
    drift: Drift,
    layout: &Layout<'_>,
    stream: &mut impl rand::Rng,
) -> Result<Option<Restoration>, BakeError> {
    let mut found = Vec::new();
    for shade in layout.library.shades(&kind.ceramic, kind.translucency) {
        let seated = restoration(kind, tooth, shade, factor);
        let later = Restoration { drift: Some(drift), ..seated.clone() };
        match estimator.difference(&later) {
            Err(error) if error.is_no_such_shade() => {}
            difference => found.push((difference?.de00, seated)),
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let place = stream.random_range(0..found.len().clamp(1, 5));
    Ok((place < found.len()).then(|| found.swap_remove(place).1))
}
