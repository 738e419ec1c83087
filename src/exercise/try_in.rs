//! Try-in: say what each cement does before seeing it, then choose one for the day of seating.

use super::cases::{Layout, restoration};
use super::choosing::{OneTooth, kind_by_share};
use super::mark::score_of_regret;
use super::perceive::deviate;
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight, Task};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Lab};
use crate::level::format::{Exercise, RestorationKind};
use crate::random::Purpose;
use crate::scene::{Case, Cure, Drift, Restoration, Tooth};
use crate::words::{Part, count, de00, is_nothing, tenths};
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// What a cement does to the colour of a restoration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EffectDirection {
    /// Lighter.
    Lighter,
    /// Darker.
    Darker,
    /// Warmer: more chromatic, by more than it changes value.
    Warmer,
    /// Nothing to see: below 0.3 ΔE00.
    None,
}

/// A try-in paste or cement, and what it does here.
#[derive(Debug, Clone, PartialEq)]
pub struct CementEffect {
    /// Cement id.
    pub cement: String,
    /// Plain words.
    pub name: String,
    /// With this cement minus with the first one, zone-weighted and signed; 0 for the first.
    pub effect: ZoneDifference,
    /// Which way the effect goes.
    pub direction: EffectDirection,
    /// Restoration minus twin on the day of seating.
    pub at_seating: ZoneDifference,
    /// Restoration minus twin when the time is over, in the middle case.
    pub after: ZoneDifference,
    /// ΔE00 to the twin when the time is over, in cases at the quartiles of drift.
    pub after_quartiles_de00: [f64; 2],
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct TryInTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The cements: the first is the one that is seen before anything is asked, the others are
    /// predicted in this order. The question's sights are these, on the day of seating.
    pub cements: Vec<CementEffect>,
    /// The middle case of drift when the time is over; months and cure are in it.
    pub drift: Drift,
    /// Which cement stays nearest to unnoticed, by its place in `cements`.
    pub best: usize,
}

/// What is said of one cement before it is seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    /// Which way.
    pub direction: EffectDirection,
    /// By how much, ΔE00, 0 or above; of no account for [`EffectDirection::None`].
    pub size_de00: f64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TryInAnswer {
    /// One prediction for every cement but the first, in order.
    pub predictions: Vec<Prediction>,
    /// The cement chosen for seating, by its place in the task's cements.
    pub seated: usize,
}

/// An effect below this is none, ΔE00: less than half of what is noticed side by side.
pub const NO_EFFECT_DE00: f64 = 0.3;
/// Cements predicted in a question, besides the one that is seen first.
const ASKED: usize = 3;
/// One question in this many shows no effect at all: thick or opaque ceramic.
const NONE_ONE_IN: u32 = 4;
/// Draws until a question is of the wanted kind.
const DRAWS: u32 = 16;

impl EffectDirection {
    /// Which way a signed difference goes: nowhere below `NO_EFFECT_DE00`, warmer when it adds
    /// more chroma than it changes value, else lighter or darker.
    #[must_use]
    pub fn of(effect: &ZoneDifference) -> Self {
        if effect.de00 < NO_EFFECT_DE00 {
            Self::None
        } else if effect.dc00 > effect.dl00.abs() {
            Self::Warmer
        } else if effect.dl00 < 0.0 {
            Self::Darker
        } else {
            Self::Lighter
        }
    }

    /// Plain word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lighter => "lighter",
            Self::Darker => "darker",
            Self::Warmer => "warmer",
            Self::None => "no effect",
        }
    }

    /// An effect of that size in words, with its unit: `0.8 ΔL00 darker`; `no effect` where it rounds to
    /// nothing.
    #[must_use]
    pub fn in_words(self, size: f64) -> String {
        let unit = match self {
            _ if is_nothing(size) => return Self::None.name().to_owned(),
            Self::None => return self.name().to_owned(),
            Self::Warmer => Part::Chroma.unit(),
            Self::Lighter | Self::Darker => Part::Value.unit(),
        };
        format!("{} {unit} {}", tenths(size), self.name())
    }

    /// The signed part of a difference that this direction is about.
    const fn part(self, difference: &ZoneDifference) -> f64 {
        match self {
            Self::Warmer => difference.dc00,
            _ => difference.dl00,
        }
    }
}

impl Prediction {
    /// What is predicted for the part that `axis` is about, signed.
    fn along(&self, axis: EffectDirection) -> f64 {
        let size = self.size_de00.max(0.0);
        match (self.direction, axis) {
            (EffectDirection::Warmer, EffectDirection::Warmer) => size,
            (EffectDirection::Warmer, _) | (_, EffectDirection::Warmer) => 0.0,
            (EffectDirection::Lighter, _) => size,
            (EffectDirection::Darker, _) => -size,
            (EffectDirection::None, _) => 0.0,
        }
    }

    /// How far the prediction is off, predicted minus true, in the part that the effect is about
    /// (ΔL00, or ΔC00 where it is warmer). Where there is no effect, in the part that the prediction
    /// is about.
    #[must_use]
    pub fn error(&self, effect: &ZoneDifference) -> f64 {
        let truth = EffectDirection::of(effect);
        let axis = if truth == EffectDirection::None { self.direction } else { truth };
        self.along(axis) - axis.part(effect)
    }

    /// 100 for a prediction in the right direction that is off by no more than could be seen
    /// (`NO_EFFECT_DE00`); else less the further it is off, and nothing from 1.8.
    #[must_use]
    pub fn score(&self, effect: &ZoneDifference) -> f64 {
        let is_right_way = self.direction == EffectDirection::of(effect);
        if is_right_way && self.error(effect).abs() <= NO_EFFECT_DE00 {
            return 100.0;
        }
        100.0 * (1.0 - self.error(effect).abs() / ACCEPTABILITY_DE00).max(0.0)
    }
}

impl TryInAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl TryInTask {
    /// A sight's smile when the time is over, in the middle case.
    #[must_use]
    pub fn after(&self, sight: &Case) -> Case {
        let mut case = sight.clone();
        for restoration in case.restorations.iter_mut().filter(|r| r.tooth == self.tooth) {
            restoration.drift = Some(self.drift);
        }
        case
    }

    /// The cements that are predicted: all but the first.
    #[must_use]
    pub fn asked(&self) -> &[CementEffect] {
        self.cements.get(1..).unwrap_or_default()
    }

    /// The score is the mean of the predictions' mean and the choice's.
    pub(super) fn mark(&self, answer: &TryInAnswer) -> Result<Mark, AnswerError> {
        let asked = self.asked();
        if answer.predictions.len() != asked.len() {
            let (given, asked) = (answer.predictions.len(), asked.len());
            let message = format!("{given} predictions were given for {asked} cements");
            return Err(AnswerError::Impossible(message));
        }
        if answer.predictions.iter().any(|p| !p.size_de00.is_finite() || p.size_de00 < 0.0) {
            let message = "a predicted size is not a number from 0 up".to_owned();
            return Err(AnswerError::Impossible(message));
        }
        let Some(seated) = self.cements.get(answer.seated) else {
            let message = format!("there is no cement {}", answer.seated + 1);
            return Err(AnswerError::Impossible(message));
        };
        let best = &self.cements[self.best];
        let regret = (seated.after.de00 - best.after.de00).max(0.0);
        let pairs = || answer.predictions.iter().zip(asked);
        let n = asked.len().max(1) as f64;
        let predicted = pairs().map(|(p, c)| p.score(&c.effect)).sum::<f64>() / n;
        let directions = pairs().filter(|(p, c)| p.direction == c.direction).count();
        let truth = json!({
            "cements": self.cements.iter().map(|c| json!({
                "cement": c.cement,
                "direction": c.direction,
                "effect": c.effect,
                "at_seating": c.at_seating,
                "after": c.after,
            })).collect::<Vec<_>>(),
            "errors": pairs().map(|(p, c)| p.error(&c.effect)).collect::<Vec<_>>(),
            "right_directions": directions,
            "prediction_score": predicted,
            "best": self.best,
            "months": self.drift.months,
        });
        let score = 0.5 * (predicted + score_of_regret(regret));
        Ok(Mark::new(Some(score), Some(regret), self.sentences(answer, seated, best), truth))
    }

    fn sentences(
        &self,
        answer: &TryInAnswer,
        seated: &CementEffect,
        best: &CementEffect,
    ) -> Vec<String> {
        let mut sentences = Vec::new();
        for (prediction, cement) in answer.predictions.iter().zip(self.asked()) {
            let said = match prediction.direction {
                EffectDirection::None => "no effect".to_owned(),
                way => way.in_words(prediction.size_de00),
            };
            let is = match cement.direction {
                EffectDirection::None => {
                    format!("does nothing that could be seen ({})", de00(cement.effect.de00))
                }
                // What is seen of it is paler, or another hue.
                way if is_nothing(way.part(&cement.effect)) => {
                    format!("changes it by {}, hardly in value,", de00(cement.effect.de00))
                }
                way => format!("is {}", way.in_words(way.part(&cement.effect).abs())),
            };
            let name = &cement.name;
            sentences.push(format!("You said {said}: {name} cement {is} here."));
        }
        if self.asked().iter().all(|c| c.direction == EffectDirection::None) {
            sentences.push(
                "This ceramic is too thick or too opaque for any cement to show through."
                    .to_owned(),
            );
        }
        let months = self.drift.months;
        let months = count(months.round() as usize, "month", "months");
        let value = |d: &ZoneDifference| Part::Value.differs(d.dl00);
        sentences.push(format!(
            "Seated with {} cement it differs by {} on the day ({}) and by {} after {months} ({}).",
            seated.name,
            de00(seated.at_seating.de00),
            value(&seated.at_seating),
            de00(seated.after.de00),
            value(&seated.after),
        ));
        if seated.cement != best.cement {
            sentences.push(format!(
                "{} cement would end at {}: it starts {} and the cement darkens with time.",
                capital(&best.name),
                de00(best.after.de00),
                Part::Value.compared(best.at_seating.dl00, "the tooth"),
            ));
        }
        sentences
    }

    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> TryInAnswer {
        let predictions = self
            .asked()
            .iter()
            .map(|cement| {
                if learner.lapses(stream) {
                    let all = [
                        EffectDirection::Lighter,
                        EffectDirection::Darker,
                        EffectDirection::Warmer,
                        EffectDirection::None,
                    ];
                    let direction = all[stream.random_range(0..all.len())];
                    return Prediction { direction, size_de00: stream.random_range(0.0..3.0) };
                }
                // Who likes it lighter expects it lighter.
                let mut seen = cement.effect;
                seen.dl00 += learner.value_bias + learner.noise_de00 * deviate(stream);
                seen.dc00 += learner.noise_de00 * deviate(stream);
                if learner.value_bias != 0.0 || learner.noise_de00 > 0.0 {
                    seen.de00 = (seen.dl00.powi(2) + seen.dc00.powi(2) + seen.dh00.powi(2)).sqrt();
                }
                let direction = EffectDirection::of(&seen);
                Prediction { direction, size_de00: direction.part(&seen).abs() }
            })
            .collect();
        let seated = learner.nearest(self.cements.iter().map(|cement| &cement.after), stream);
        TryInAnswer { predictions, seated }
    }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
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
