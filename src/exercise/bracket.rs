//! Bracket: choose two options to mill, so that at least one blends.

use super::cases::{Layout, restoration};
use super::chance::{DRAWS, Draws, Uncertain};
use super::choosing::{OneTooth, kind_by_share};
use super::perceive::deviate;
use super::recipe::Recipe;
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight, Task};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::Lch;
use crate::level::format::{Exercise, RestorationKind};
use crate::random::Purpose;
use crate::scene::{Restoration, Tooth, Translucency};
use crate::words::{Part, is_nothing, tenths};
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One option that could be milled.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketOption {
    /// What it is made of.
    pub recipe: Recipe,
    /// Difference to the twin if thickness and prepared tooth are as estimated.
    pub estimate: ZoneDifference,
    /// Probability that it is acceptable.
    pub acceptable: f64,
    /// 10th, 50th and 90th percentile of its signed difference in value, ΔL00.
    pub value_percentiles: [f64; 3],
}

/// Two options.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BracketPair {
    /// The options, the lower place first.
    pub options: [usize; 2],
    /// Probability that at least one of the two is acceptable.
    pub chance: f64,
    /// Expected ΔE00 of the better of the two.
    pub expected_de00: f64,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Prepared-tooth colour id, as estimated.
    pub prepared_tooth: String,
    /// Standard deviation of the ceramic's thickness, mm; each milling has its own.
    pub thickness_sd_mm: f64,
    /// Standard deviation of the prepared tooth's lightness, L*; both options meet the same.
    pub prepared_sd: f64,
    /// The options. The question's sights are these as estimated, in the same order.
    pub options: Vec<BracketOption>,
    /// All pairs, the likeliest to succeed first.
    pub pairs: Vec<BracketPair>,
    /// Drawn cases behind the probabilities.
    pub draws: usize,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BracketAnswer {
    /// The two options, by their places, in either order.
    pub options: [usize; 2],
    /// Where the natural tooth lies in value between the darker (0) and the lighter (1) of the two
    /// as estimated; `None` for "it does not lie between them" or not asked.
    pub placed: Option<f64>,
}

/// How far the outermost options lie from the target in value, ΔL00.
const SPREAD_DL00: f64 = 2.0;
/// One question in this many has its target outside the options: about 15 %.
const OUTSIDE_ONE_IN: u32 = 7;
/// Draws until a question is of the wanted kind.
const DRAWS_OF_CASES: u32 = 8;
/// Chance of the best pair above that of the worst, at least.
const SOMETHING_TO_CHOOSE: f64 = 0.15;
/// A chance this near the best is as good: half a hundred draws in a thousand, less is chance.
const AS_GOOD_CHANCE: f64 = 0.05;
/// A chance from which a pair is called a fair bet.
const FAIR: f64 = 0.5;

impl BracketAnswer {
    pub(super) fn to_json(self) -> Value {
        json!(self)
    }
}

impl BracketTask {
    /// The pair of two options, in either order; `None` when they are not two of this question.
    #[must_use]
    pub fn pair(&self, [a, b]: [usize; 2]) -> Option<&BracketPair> {
        self.pairs.iter().find(|pair| pair.options == [a.min(b), a.max(b)])
    }

    /// Where the natural tooth lies in value between the darker (0) and the lighter (1) of two
    /// options as estimated, and the distance between the two, ΔL00; `None` where it does not lie
    /// between them.
    #[must_use]
    pub fn place_between(&self, [a, b]: [usize; 2]) -> Option<(f64, f64)> {
        let value = |i: usize| self.options.get(i).map(|option| option.estimate.dl00);
        let (a, b) = (value(a)?, value(b)?);
        let (low, high) = (a.min(b), a.max(b));
        (low < 0.0 && high > 0.0).then(|| (-low / (high - low), high - low))
    }

    /// How far off a placing is, ΔL00: its distance from the true place times the width of the
    /// bracket. `None` where nothing was placed or nothing can be.
    #[must_use]
    pub fn placing_error(&self, answer: &BracketAnswer) -> Option<f64> {
        let (place, width) = self.place_between(answer.options)?;
        Some(placing_error(answer.placed?, place, width))
    }

    /// The score is the chance of the chosen pair as a share of the best pair's; in full where the draws
    /// cannot tell the two.
    pub(super) fn mark(&self, answer: &BracketAnswer) -> Result<Mark, AnswerError> {
        let Some(chosen) = self.pair(answer.options) else {
            let [a, b] = answer.options.map(|i| i + 1);
            let message = format!("options {a} and {b} are not two of {}", self.options.len());
            return Err(AnswerError::Impossible(message));
        };
        if answer.placed.is_some_and(|placed| !(0.0..=1.0).contains(&placed)) {
            let message = "a place between two options lies between 0 and 1".to_owned();
            return Err(AnswerError::Impossible(message));
        }
        let Some(best) = self.pairs.first() else {
            return Err(AnswerError::Impossible("there are no pairs".to_owned()));
        };
        let least = self.pairs.iter().map(|pair| pair.expected_de00).fold(f64::INFINITY, f64::min);
        let score = (best.chance > 0.0).then(|| {
            let as_good = best.chance - chosen.chance <= AS_GOOD_CHANCE;
            if as_good { 100.0 } else { 100.0 * (chosen.chance / best.chance) }
        });
        let truth = json!({
            "options": self.options.iter().map(|option| json!({
                "recipe": option.recipe,
                "estimate": option.estimate,
                "acceptable": option.acceptable,
            })).collect::<Vec<_>>(),
            "pairs": self.pairs.iter().map(|pair| json!({
                "options": pair.options,
                "chance": pair.chance,
                "expected_de00": pair.expected_de00,
            })).collect::<Vec<_>>(),
            "straddles": self.place_between(answer.options).is_some(),
            "placing_error_dl00": self.placing_error(answer),
            "draws": self.draws,
        });
        let regret = (chosen.expected_de00 - least).max(0.0);
        Ok(Mark::new(score, Some(regret), self.sentences(answer, chosen, best), truth))
    }

    fn sentences(
        &self,
        answer: &BracketAnswer,
        chosen: &BracketPair,
        best: &BracketPair,
    ) -> Vec<String> {
        let percent = |p: f64| (100.0 * p).round();
        let [a, b] = chosen.options;
        let mut sentences = vec![format!(
            "Options {} and {}: in {:.0} of 100 cases at least one is acceptable ({:.0} and {:.0} by \
             themselves).",
            a + 1,
            b + 1,
            percent(chosen.chance),
            percent(self.options[a].acceptable),
            percent(self.options[b].acceptable),
        )];
        if best.chance <= 0.0 {
            sentences.push("No two of these would: none is ever acceptable.".to_owned());
        } else if chosen.options == best.options {
            sentences.push("No other two would do better.".to_owned());
        } else if best.chance - chosen.chance <= AS_GOOD_CHANCE {
            sentences.push("No other two would do better by more than chance.".to_owned());
        } else {
            let [c, d] = best.options.map(|i| i + 1);
            sentences.push(format!(
                "Options {c} and {d} would succeed in {:.0} of 100.",
                percent(best.chance)
            ));
        }
        match (self.place_between(chosen.options), answer.placed) {
            (Some((place, width)), Some(placed)) => {
                let off = placing_error(placed, place, width);
                let came_to = if is_nothing(off) {
                    "which is right".to_owned()
                } else {
                    format!("which is {} ΔL00 off", tenths(off))
                };
                sentences.push(format!(
                    "The natural tooth lies {:.0} % of the way from the darker to the lighter; you \
                     said {:.0} %, {came_to}.",
                    percent(place),
                    percent(placed)
                ));
            }
            (None, Some(_)) => {
                let lighter = self.options[a].estimate.dl00.max(self.options[b].estimate.dl00);
                let side = Part::Value.way(lighter);
                sentences.push(format!("Both are {side} than the tooth: they do not bound it."));
            }
            _ => {}
        }
        if self.place_between(chosen.options).is_some() {
            sentences.push(
                "They bound it in value. When both are in hand, keep the one that blends; in doubt \
                 the lighter, as too dark is the worse mistake and time darkens."
                    .to_owned(),
            );
        }
        if best.chance < FAIR {
            sentences.push(
                "No two options are a fair bet here: more space or a better estimate of the prepared \
                 tooth would help more than another shade."
                    .to_owned(),
            );
        }
        sentences
    }

    /// Takes what looks nearest and, on its other side in value, the nearest that bounds it.
    pub(super) fn answer_of(
        &self,
        learner: &Learner,
        stream: &mut impl rand::Rng,
    ) -> BracketAnswer {
        let n = self.options.len();
        if learner.lapses(stream) || n < 2 {
            let a = stream.random_range(0..n.max(1));
            let b = (a + stream.random_range(1..n.max(2))) % n.max(1);
            return BracketAnswer { options: [a, b], placed: Some(stream.random()) };
        }
        if learner.noise_de00 <= 0.0 && learner.value_bias == 0.0 {
            let options = self.pairs.first().map_or([0, 1], |pair| pair.options);
            let placed = self.place_between(options).map(|(place, _)| place);
            return BracketAnswer { options, placed };
        }
        // Sees every option's value and the rest of its difference through the same noise.
        let seen: Vec<ZoneDifference> = self
            .options
            .iter()
            .map(|option| {
                let mut seen = option.estimate;
                seen.dl00 += learner.noise_de00 * deviate(stream) - learner.value_bias;
                seen
            })
            .collect();
        let off = |i: usize| {
            let d = &seen[i];
            ((learner.value_weight * d.dl00).powi(2) + d.dc00.powi(2) + d.dh00.powi(2)).sqrt()
        };
        let by_off = |places: &mut dyn Iterator<Item = usize>| {
            places.min_by(|&a, &b| off(a).total_cmp(&off(b)))
        };
        let first = by_off(&mut (0..n)).unwrap_or(0);
        let side = seen[first].dl00.signum();
        let beyond = by_off(&mut (0..n).filter(|&i| seen[i].dl00.signum() != side));
        let second = beyond.or(by_off(&mut (0..n).filter(|&i| i != first))).unwrap_or(0);
        let (low, high) =
            (seen[first].dl00.min(seen[second].dl00), seen[first].dl00.max(seen[second].dl00));
        let placed = (low < 0.0 && high > 0.0).then(|| -low / (high - low));
        BracketAnswer { options: [first, second], placed }
    }
}

/// Error of a placing between two options `width` apart in value, ΔL00.
fn placing_error(placed: f64, place: f64, width: f64) -> f64 {
    (placed - place).abs() * width
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    (0..layout.questions).map(|number| question(layout, number)).collect()
}

fn question(layout: &Layout<'_>, number: u32) -> Result<Question, ExerciseError> {
    let Exercise::Bracket { options: wanted, thickness_sd_mm, prepared_sd, .. } =
        layout.level.exercise
    else {
        let why = "the level is of another exercise".to_owned();
        return Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why });
    };
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let library = layout.library;
    let natural = layout.natural_case(number)?;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let run = number / OUTSIDE_ONE_IN;
    let place = layout.stream(Purpose::Schedule, run).random_range(0..OUTSIDE_ONE_IN);
    let outside = number % OUTSIDE_ONE_IN == place;
    let mut likeliest: Option<(f64, Question)> = None;
    for draw in 0..DRAWS_OF_CASES {
        let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
        let Some(own) = natural.patient.teeth.iter().find(|t| t.tooth == tooth) else { continue };
        let estimator =
            Estimator::new(own, natural.seed, natural.illuminant, library).map_err(wrap)?;
        // Even steps over the spread, moved a little; outside, all of them darker.
        let moved = stream.random_range(-0.3..0.3) - if outside { 2.6 } else { 0.0 };
        let n = usize::from(wanted);
        let aims: Vec<f64> =
            (0..n).map(|i| SPREAD_DL00 * (2.0 * i as f64 / (n - 1) as f64 - 1.0) + moved).collect();
        // A little more ceramic until the tooth can be met.
        let factor = if layout.level.is_stated() { 1.0 } else { 1.0 + 0.1 * f64::from(draw) };
        let chosen = options(layout, &estimator, (kind, factor), tooth, &aims, &mut stream);
        let chosen = chosen.map_err(wrap)?;
        let uncertain = Uncertain { thickness_sd_mm, prepared_sd };
        let stream = &mut layout.stream(Purpose::Uncertainty, number);
        let draws = uncertain.draw(&estimator, &chosen, library, stream).map_err(wrap)?;
        let pairs = pairs(&draws, chosen.len());
        let chances = || pairs.iter().map(|pair| pair.chance);
        let best = chances().fold(0.0, f64::max);
        let worst = chances().fold(1.0, f64::min);
        if chosen.len() < n {
            continue;
        }
        let fair = best - worst >= SOMETHING_TO_CHOOSE && (outside || best >= FAIR);
        let mut alone = OneTooth::new(&natural, tooth, library).map_err(wrap)?;
        let mut options = Vec::new();
        for (place, restoration) in chosen.iter().enumerate() {
            options.push(BracketOption {
                recipe: Recipe::of(restoration),
                estimate: alone.difference(restoration).map_err(wrap)?,
                acceptable: draws.acceptable(place),
                value_percentiles: draws.value_percentiles(place),
            });
        }
        let side = |o: &BracketOption| o.estimate.dl00 > 0.0;
        let one_sided = options.iter().all(side) || !options.iter().any(side);
        let sights = chosen.iter().enumerate().map(|(place, restoration)| {
            let mut case = natural.clone();
            case.restorations = vec![restoration.clone()];
            Sight { name: format!("Option {}", place + 1), case }
        });
        let question = Question {
            number,
            seed_key: layout.seed_key(number),
            catch: one_sided,
            sights: sights.collect(),
            task: Task::Bracket(BracketTask {
                tooth,
                prepared_tooth: kind.prepared_tooth.clone(),
                thickness_sd_mm,
                prepared_sd,
                options,
                pairs,
                draws: DRAWS,
            }),
        };
        if fair && one_sided == outside {
            return Ok(question);
        }
        // A poor bet is better than none.
        if likeliest.as_ref().is_none_or(|(chance, _)| best > *chance) {
            likeliest = Some((best, question));
        }
    }
    if let Some((_, question)) = likeliest {
        return Ok(question);
    }
    let why = format!("no {wanted} options between which there is something to choose");
    Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why })
}

/// All pairs of options, the likeliest to succeed first.
fn pairs(draws: &Draws, options: usize) -> Vec<BracketPair> {
    let mut pairs: Vec<BracketPair> = (0..options)
        .flat_map(|a| (a + 1..options).map(move |b| [a, b]))
        .map(|pair| BracketPair {
            options: pair,
            chance: draws.either_acceptable(pair),
            expected_de00: draws.expected_better(pair),
        })
        .collect();
    pairs.sort_by(|a, b| {
        b.chance.total_cmp(&a.chance).then(a.expected_de00.total_cmp(&b.expected_de00))
    });
    pairs
}

/// Options at value steps around the target (or all on one side of it): of every translucency and
/// value the chroma that comes nearest, then the one nearest to each aim, in any order.
fn options(
    layout: &Layout<'_>,
    estimator: &Estimator<'_>,
    (kind, factor): (&RestorationKind, f64),
    tooth: Tooth,
    aims: &[f64],
    stream: &mut impl rand::Rng,
) -> Result<Vec<Restoration>, BakeError> {
    let library = layout.library;
    let levels: Vec<Translucency> =
        if kind.graded { vec![kind.translucency] } else { library.translucencies(&kind.ceramic) };
    let rest = |d: &ZoneDifference| (d.de00.powi(2) - d.dl00.powi(2)).max(0.0).sqrt();
    let mut found: Vec<(ZoneDifference, Restoration)> = Vec::new();
    for translucency in levels {
        let lattice = library.shades(&kind.ceramic, translucency);
        let mut values: Vec<f64> = lattice.iter().map(|shade| shade.l).collect();
        values.dedup();
        for value in values {
            let same = lattice.iter().filter(|shade| (shade.l - value).abs() < 1e-9);
            let mut best: Option<(ZoneDifference, Restoration)> = None;
            // Between the columns of the lattice too; a measured ceramic has nothing there.
            for shade in same {
                for lower in [0.0, 2.5] {
                    let shade = Lch { c: shade.c - lower, h: shade.h + 0.8 * lower, ..*shade };
                    let mut restoration = restoration(kind, tooth, shade, factor);
                    restoration.ceramic.translucency = translucency;
                    // A shade that cannot be made is not offered.
                    let Ok(difference) = estimator.difference(&restoration) else { continue };
                    if best.as_ref().is_none_or(|(other, _)| rest(&difference) < rest(other)) {
                        best = Some((difference, restoration));
                    }
                }
            }
            found.extend(best);
        }
    }
    let mut chosen = Vec::new();
    for aim in aims {
        let off = |(d, _): &(ZoneDifference, Restoration)| (d.dl00 - aim).abs() + rest(d);
        let nearest = (0..found.len()).min_by(|&a, &b| off(&found[a]).total_cmp(&off(&found[b])));
        let Some(nearest) = nearest else { break };
        chosen.push(found.swap_remove(nearest).1);
    }
    for i in (1..chosen.len()).rev() {
        chosen.swap(i, stream.random_range(0..=i));
    }
    Ok(chosen)
}
