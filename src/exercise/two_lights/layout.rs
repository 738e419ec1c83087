//! How a case of Two lights is laid out.

use super::{LitOption, TwoLightsTask};
use crate::bake::{Estimator, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Illuminant};
use crate::exercise::cases::Layout;
use crate::exercise::seeing::{flags, shuffle, strata};
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::Exercise;
use crate::random::Purpose;
use crate::scene::{Case, Restoration, Tooth};
use rand::RngExt;
use rayon::prelude::*;

/// Share of cases in which the best choice holds in both lights. A setting of this program.
const STABLE_SHARE: f64 = 0.25;
/// How much nearer than any other the best option in the first light is by estimate, ΔE00; the baked
/// maps are asked afterwards.
const LEAD_DE00: f64 = 0.2;
/// How much worse than the best a choice that fails is in the second light, ΔE00.
const FAILS_BY_DE00: f64 = 0.6;
/// Cases tried until one holds on the baked maps.
const ATTEMPTS: usize = 8;
/// Sets of thicknesses tried until a case is found.
const THICKNESSES_TRIED: usize = 3;
/// Options that all but agree in both lights are one option, ΔE00.
const LEAST_APART_DE00: f64 = 0.4;
/// What an option that would do in both lights keeps from the limit by estimate, ΔE00; the baked maps
/// differ a little.
const CLEAR_DE00: f64 = 0.1;
/// The farthest options, ΔE00.
const FARTHEST_DE00: f64 = 4.5;

/// A restoration that may become an option.
struct Candidate {
    restoration: Restoration,
    first: ZoneDifference,
    second: ZoneDifference,
}

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::TwoLights { options, second_light, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    let teeth = layout.restorable();
    if teeth.is_empty() {
        return Err(layout.no_case(0, "no kind of restoration may stand on a tooth in view"));
    }
    let stable = flags(layout, STABLE_SHARE);
    let places = strata(layout, teeth.len(), 0);
    // All of them, so that the fault that is said is the first and not the quickest.
    let laid_out: Vec<Result<_, ExerciseError>> = (0..layout.questions)
        .into_par_iter()
        .zip(stable.into_par_iter().zip(places))
        .map(|(number, (stable, place))| {
            let case = Case { restorations: Vec::new(), ..layout.natural_case(number)? };
            let lit = Lit { layout, number, tooth: teeth[place], case, second_light };
            lit.question(usize::from(options), stable)
        })
        .collect();
    laid_out.into_iter().collect()
}

/// One question being laid out.
struct Lit<'a> {
    layout: &'a Layout<'a>,
    number: u32,
    tooth: Tooth,
    case: Case,
    second_light: Illuminant,
}

impl Lit<'_> {
    fn question(&self, options: usize, stable: bool) -> Result<Question, ExerciseError> {
        // Other thicknesses where the first ones drawn hold no such case; a case in which nothing
        // would do in both lights, and a best option that is no acceptable one, only where none of
        // them holds another: dark prepared teeth may leave nothing better.
        let mut pools = Vec::new();
        for (farthest_best, met) in
            [(ACCEPTABILITY_DE00, true), (ACCEPTABILITY_DE00, false), (FARTHEST_DE00, false)]
        {
            for skip in 0..THICKNESSES_TRIED {
                if pools.len() == skip {
                    pools.push(self.pool(skip)?);
                }
                let pool: &[Candidate] = &pools[skip];
                let mut avoided = Vec::new();
                for _ in 0..ATTEMPTS {
                    // The same draws every time; only the best of earlier attempts are left out.
                    let mut stream = self.layout.stream(Purpose::Restoration, self.number);
                    let wanted = Wanted { options, stable, farthest_best, met };
                    let Some(mut chosen) = choose(pool, &wanted, &avoided, &mut stream) else {
                        break;
                    };
                    avoided.extend(chosen.first().copied());
                    shuffle(&mut chosen, &mut stream);
                    let restorations = chosen.into_iter().map(|index| &pool[index].restoration);
                    let (task, sights) = self.task(restorations)?;
                    // The baked maps may differ a little from the estimates that the choice went by.
                    let keep = task.best_in_first().and_then(|best| task.keep_is_right(best));
                    if keep == Some(stable) {
                        return Ok(Question {
                            number: self.number,
                            seed_key: self.layout.seed_key(self.number),
                            catch: stable,
                            sights,
                            task: Task::TwoLights(task),
                        });
                    }
                }
            }
        }
        let why = format!(
            "no {options} options of which the best in {} {} in {}",
            self.case.illuminant.name(),
            if stable { "holds" } else { "fails" },
            self.second_light.name()
        );
        Err(self.layout.no_case(self.number, why))
    }

    /// The options in both lights, with their truth.
    fn task<'r>(
        &self,
        restorations: impl Iterator<Item = &'r Restoration>,
    ) -> Result<(TwoLightsTask, Vec<Sight>), ExerciseError> {
        let mut task = TwoLightsTask {
            tooth: self.tooth,
            first_light: self.case.illuminant,
            second_light: self.second_light,
            options: Vec::new(),
            second_sights: Vec::new(),
        };
        let mut sights = Vec::new();
        for (place, restoration) in restorations.enumerate() {
            let sight = |illuminant: Illuminant| Sight {
                name: format!("Option {}", place + 1),
                case: Case {
                    restorations: vec![restoration.clone()],
                    illuminant,
                    ..self.case.clone()
                },
            };
            let (first, second) = (sight(self.case.illuminant), sight(self.second_light));
            task.options.push(LitOption {
                restoration: restoration.clone(),
                ceramic: self.layout.library.ceramic_name(&restoration.ceramic.class).to_owned(),
                first: self.truth(&first.case)?,
                second: self.truth(&second.case)?,
            });
            sights.push(first);
            task.second_sights.push(second);
        }
        Ok((task, sights))
    }

    fn truth(&self, case: &Case) -> Result<ZoneDifference, ExerciseError> {
        let scene = self.layout.bake_alone(self.number, case, self.tooth)?;
        Ok(scene.truth.map(|truth| truth.difference).unwrap_or_default())
    }

    /// Every shade of the level's kinds on the tooth, in both lights. A shade that a ceramic
    /// cannot have is left out.
    fn pool(&self, skip: usize) -> Result<Vec<Candidate>, ExerciseError> {
        let wrap = |source| self.layout.bake_error(self.number, source);
        let natural = self.layout.natural(self.number, &self.case, self.tooth)?;
        let estimator = |light| {
            Estimator::new(natural, self.case.seed, light, self.layout.library).map_err(wrap)
        };
        let (first, second) = (estimator(self.case.illuminant)?, estimator(self.second_light)?);
        // One thickness a kind, another in every case: what comes back from the laboratory varies.
        let pick = self.layout.stream(Purpose::Restoration, self.number).random();
        let mut factors = self.layout.thickness_factors(pick).skip(skip);
        let mut pool = Vec::new();
        for kind in self.layout.kinds_for(self.tooth) {
            let factor = factors.next().unwrap_or(1.0);
            for restoration in self.layout.shades_of(kind, self.tooth, self.number, factor) {
                let seen = match first.difference(&restoration) {
                    Err(error) if error.is_no_such_shade() => continue,
                    seen => seen.map_err(wrap)?,
                };
                if seen.de00 > FARTHEST_DE00 {
                    continue;
                }
                let second = second.difference(&restoration).map_err(wrap)?;
                pool.push(Candidate { restoration, first: seen, second });
            }
        }
        Ok(pool)
    }
}

/// What is asked of a case.
struct Wanted {
    options: usize,
    /// Whether the best in the first light holds in the second, rather than fails there.
    stable: bool,
    /// How far off the best in the first light may be there, ΔE00.
    farthest_best: f64,
    /// Whether the option that is best over both lights would do in both, by estimate.
    met: bool,
}

/// Options of which the best in the first light holds or fails in the second, as wanted: indices into
/// the pool, the best first, which is none of `avoided`. Which case comes up is random, among those
/// whose best is near enough in the first light.
fn choose(
    pool: &[Candidate],
    wanted: &Wanted,
    avoided: &[usize],
    stream: &mut impl rand::Rng,
) -> Option<Vec<usize>> {
    let Wanted { options, stable, farthest_best, met } = *wanted;
    let mut order: Vec<usize> = (0..pool.len()).collect();
    shuffle(&mut order, stream);
    let near = |best: &&usize| pool[**best].first.de00 <= farthest_best && !avoided.contains(best);
    order.iter().filter(near).find_map(|&best| {
        let lead = pool[best].first.de00 + LEAD_DE00;
        let behind = |i: &usize| pool[*i].first.de00 >= lead;
        let does = |i: usize| {
            let worse = pool[i].first.de00.max(pool[i].second.de00);
            !met || worse <= ACCEPTABILITY_DE00 - CLEAR_DE00
        };
        let mut chosen = vec![best];
        let floor = if stable {
            if !does(best) {
                return None;
            }
            pool[best].second.de00
        } else {
            let beaten = pool[best].second.de00 - FAILS_BY_DE00;
            // The nearest to the lead: what is clearly worse in the first light teaches nothing.
            let better = order
                .iter()
                .filter(|i| behind(i) && pool[**i].second.de00 <= beaten && does(**i))
                .min_by(|a, b| pool[**a].first.de00.total_cmp(&pool[**b].first.de00))?;
            chosen.push(*better);
            pool[*better].second.de00
        };
        for &next in &order {
            if chosen.len() == options {
                break;
            }
            let worse = behind(&next) && pool[next].second.de00 >= floor + LEAD_DE00;
            if worse && chosen.iter().all(|&other| apart(&pool[other], &pool[next])) {
                chosen.push(next);
            }
        }
        (chosen.len() == options).then_some(chosen)
    })
}

/// Whether two options look different in one light at least.
fn apart(a: &Candidate, b: &Candidate) -> bool {
    let off = |a: &ZoneDifference, b: &ZoneDifference| {
        (a.dl00 - b.dl00).hypot(a.dc00 - b.dc00).hypot(a.dh00 - b.dh00)
    };
    off(&a.first, &b.first).max(off(&a.second, &b.second)) >= LEAST_APART_DE00
}
