//! Laying out questions of Bracket.

use super::{BracketOption, BracketPair, BracketTask, FAIR};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::Lch;
use crate::exercise::cases::{Layout, restoration};
use crate::exercise::chance::{DRAWS, Draws, Uncertain};
use crate::exercise::choosing::{OneTooth, kind_by_share};
use crate::exercise::recipe::Recipe;
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::{Exercise, RestorationKind};
use crate::random::Purpose;
use crate::scene::{Case, Restoration, Tooth, Translucency};
use rand::RngExt;

/// How far the outermost options lie from the target in value, ΔL00.
const SPREAD_DL00: f64 = 2.0;
/// One question in this many has its target outside the options: about 15 %.
const OUTSIDE_ONE_IN: u32 = 7;
/// Draws until a question is of the wanted kind.
const DRAWS_OF_CASES: u32 = 8;
/// Chance of the best pair above that of the worst, at least.
const SOMETHING_TO_CHOOSE: f64 = 0.15;

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
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
        let n = usize::from(wanted);
        let aims = aims(n, outside, &mut stream);
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
        let question = Question {
            number,
            seed_key: layout.seed_key(number),
            catch: one_sided,
            sights: sights(&natural, &chosen),
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

/// Differences in value to aim at: even steps over the spread, moved a little; outside, all of them
/// darker.
fn aims(n: usize, outside: bool, stream: &mut impl rand::Rng) -> Vec<f64> {
    let moved = stream.random_range(-0.3..0.3) - if outside { 2.6 } else { 0.0 };
    (0..n).map(|i| SPREAD_DL00 * (2.0 * i as f64 / (n - 1) as f64 - 1.0) + moved).collect()
}

/// The smile with each of the options in turn.
fn sights(natural: &Case, chosen: &[Restoration]) -> Vec<Sight> {
    let sight = |(place, restoration): (usize, &Restoration)| {
        let mut case = natural.clone();
        case.restorations = vec![restoration.clone()];
        Sight { name: format!("Option {}", place + 1), case }
    };
    chosen.iter().enumerate().map(sight).collect()
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
pub(super) fn options(
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
