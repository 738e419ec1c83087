//! Two lights: Does the choice hold in another light?

use super::cases::Layout;
use super::seeing::{FREE_REGRET_DE00, flags, in_words, score_of_regret, shuffle, strata};
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight, Task};
use crate::bake::{BakeError, Estimator, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, Illuminant};
use crate::level::format::Exercise;
use crate::material::LibraryError;
use crate::random::Purpose;
use crate::scene::{Case, Restoration, Tooth};
use rand::RngExt;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One option, with how far it is from the twin in each light.
#[derive(Debug, Clone, PartialEq)]
pub struct LitOption {
    /// The restoration.
    pub restoration: Restoration,
    /// Its ceramic in plain words.
    pub ceramic: String,
    /// Restored minus twin in the first light.
    pub first: ZoneDifference,
    /// Restored minus twin in the second light.
    pub second: ZoneDifference,
}

/// Options seen first in one light, then in another. The question's sights are the options in the
/// first light, in the same order.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoLightsTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The light of the choice.
    pub first_light: Illuminant,
    /// The other light.
    pub second_light: Illuminant,
    /// The options, with their truth.
    pub options: Vec<LitOption>,
    /// The options in the second light, in the same order; to be shown after the prediction only.
    pub second_sights: Vec<Sight>,
}

/// The answer; indices into [`TwoLightsTask::options`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TwoLightsAnswer {
    /// The option chosen in the first light.
    pub choice: usize,
    /// Whether the learner predicts to keep it in the second light.
    pub keep: bool,
    /// The option chosen after seeing the second light.
    pub second_choice: usize,
}

impl TwoLightsAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

/// Share of cases in which the best choice holds in both lights. A setting of this program.
const STABLE_SHARE: f64 = 0.25;
/// How near the limit of keeping an option's loss must be for the prediction to count neither way,
/// ΔE00. A setting of this program.
const UNSURE_DE00: f64 = 0.1;

impl LitOption {
    /// The difference in the worse of the two lights, ΔE00.
    #[must_use]
    pub const fn robust_de00(&self) -> f64 {
        self.first.de00.max(self.second.de00)
    }
}

impl TwoLightsTask {
    fn least(&self, by: impl Fn(&LitOption) -> f64) -> Option<usize> {
        let of = |i: &usize| by(&self.options[*i]);
        (0..self.options.len()).min_by(|a, b| of(a).total_cmp(&of(b)))
    }

    /// The option nearest its twin in the first light.
    #[must_use]
    pub fn best_in_first(&self) -> Option<usize> {
        self.least(|option| option.first.de00)
    }

    /// The option nearest its twin in the second light.
    #[must_use]
    pub fn best_in_second(&self) -> Option<usize> {
        self.least(|option| option.second.de00)
    }

    /// The option whose worse light is best.
    #[must_use]
    pub fn most_robust(&self) -> Option<usize> {
        self.least(LitOption::robust_de00)
    }

    /// How much worse an option is in the second light than the best there, ΔE00.
    fn loss(&self, choice: usize) -> Option<f64> {
        let best = &self.options[self.best_in_second()?];
        Some(self.options.get(choice)?.second.de00 - best.second.de00)
    }

    /// Whether an option chosen in the first light should be kept in the second: it is at most 0.4
    /// ΔE00 worse there than the best. `None` where it is too near that limit to say, or there is no
    /// such option.
    #[must_use]
    pub fn keep_is_right(&self, choice: usize) -> Option<bool> {
        let loss = self.loss(choice)?;
        ((loss - FREE_REGRET_DE00).abs() > UNSURE_DE00).then_some(loss < FREE_REGRET_DE00)
    }

    fn option(&self, index: usize) -> Result<&LitOption, AnswerError> {
        self.options.get(index).ok_or_else(|| {
            AnswerError::Impossible(format!(
                "there is no option {} among {}",
                index + 1,
                self.options.len()
            ))
        })
    }

    pub(super) fn mark(&self, answer: &TwoLightsAnswer) -> Result<Mark, AnswerError> {
        let chosen = self.option(answer.choice)?;
        self.option(answer.second_choice)?;
        let robust = self.most_robust().unwrap_or(answer.choice);
        let regret = chosen.robust_de00() - self.options[robust].robust_de00();
        let keep = self.keep_is_right(answer.choice);
        Ok(Mark {
            score: Some(score_of_regret(regret)),
            regret_de00: Some(regret),
            right: keep.map(|keep| keep == answer.keep),
            sentences: self.sentences(answer, chosen, robust),
            truth: json!({
                "tooth": self.tooth.number(),
                "first_light": self.first_light.name(),
                "second_light": self.second_light.name(),
                "options": self.options.iter().map(|option| json!({
                    "first": parts(&option.first),
                    "second": parts(&option.second),
                    "robust_de00": option.robust_de00(),
                })).collect::<Vec<_>>(),
                "best_in_first": self.best_in_first(),
                "best_in_second": self.best_in_second(),
                "most_robust": robust,
                "keep_is_right": keep,
            }),
        })
    }

    fn sentences(
        &self,
        answer: &TwoLightsAnswer,
        chosen: &LitOption,
        robust: usize,
    ) -> Vec<String> {
        let (first, second) = (self.first_light.name(), self.second_light.name());
        let mut said = vec![format!(
            "Option {} ({}) differs from its natural twin by {:.1} under {first} and by {:.1} under \
             {second} ({}).",
            answer.choice + 1,
            chosen.ceramic,
            chosen.first.de00,
            chosen.second.de00,
            in_words(&chosen.second)
        )];
        let predicted = if answer.keep { "keep" } else { "change" };
        let best = self.best_in_second().unwrap_or(answer.choice);
        let best_de00 = self.options.get(best).map_or(0.0, |option| option.second.de00);
        said.push(match self.keep_is_right(answer.choice) {
            Some(true) if best == answer.choice => {
                format!("It is the best in the second light too; you said {predicted}.")
            }
            Some(true) => format!(
                "It holds: option {} is best in the second light, but by less than matters. You \
                 said {predicted}.",
                best + 1
            ),
            Some(false) => format!(
                "It does not hold: under {second} option {} is nearer ({best_de00:.1}). You said \
                 {predicted}.",
                best + 1
            ),
            None => {
                "Whether it holds is too close to call; your prediction does not count.".to_owned()
            }
        });
        said.push(if robust == answer.choice {
            "Of all options it is the safest over both lights.".to_owned()
        } else {
            format!(
                "The safest over both lights is option {}: never more than {:.1} away.",
                robust + 1,
                self.options[robust].robust_de00()
            )
        });
        said
    }

    /// Chooses what looks nearest in each light, and foresees the second light as it would see it.
    pub(super) fn answer_of(
        &self,
        learner: &Learner,
        stream: &mut impl rand::Rng,
    ) -> TwoLightsAnswer {
        let n = self.options.len();
        if learner.lapses(stream) {
            let mut any = || stream.random_range(0..n.max(1));
            let (choice, second_choice) = (any(), any());
            return TwoLightsAnswer { choice, keep: stream.random(), second_choice };
        }
        let mut look = |of: fn(&LitOption) -> &ZoneDifference| -> Vec<f64> {
            self.options.iter().map(|option| learner.sees(of(option), stream)).collect()
        };
        let nearest = |seen: &[f64]| {
            (0..seen.len()).min_by(|&a, &b| seen[a].total_cmp(&seen[b])).unwrap_or(0)
        };
        let choice = nearest(&look(|option| &option.first));
        let foreseen = look(|option| &option.second);
        let loss = foreseen.get(choice).copied().unwrap_or(0.0)
            - foreseen.get(nearest(&foreseen)).copied().unwrap_or(0.0);
        let second_choice = nearest(&look(|option| &option.second));
        TwoLightsAnswer { choice, keep: loss <= FREE_REGRET_DE00, second_choice }
    }
}

fn parts(difference: &ZoneDifference) -> Value {
    json!({
        "de00": difference.de00, "dl00": difference.dl00,
        "dc00": difference.dc00, "dh00": difference.dh00,
    })
}

/// How much nearer than any other the best option in the first light is, ΔE00: more than the
/// estimate of a difference is off (0.15).
const LEAD_DE00: f64 = 0.3;
/// How much worse than the best a choice that fails is in the second light, ΔE00.
const FAILS_BY_DE00: f64 = 0.7;
/// Options that all but agree in both lights are one option, ΔE00.
const LEAST_APART_DE00: f64 = 0.4;
/// The farthest options, ΔE00.
const FARTHEST_DE00: f64 = 6.0;

/// A restoration that may become an option.
struct Candidate {
    restoration: Restoration,
    first: ZoneDifference,
    second: ZoneDifference,
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::TwoLights { options, second_light, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    let teeth = layout.restorable();
    if teeth.is_empty() {
        return Err(layout.no_case(0, "no kind of restoration may stand on a tooth in view"));
    }
    let stable = flags(layout, STABLE_SHARE);
    let places = strata(layout, teeth.len(), 0);
    (0..layout.questions)
        .into_par_iter()
        .zip(stable.into_par_iter().zip(places))
        .map(|(number, (stable, place))| {
            let case = Case { restorations: Vec::new(), ..layout.natural_case(number)? };
            let lit = Lit { layout, number, tooth: teeth[place], case, second_light };
            lit.question(usize::from(options), stable)
        })
        .collect()
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
        let pool = self.pool()?;
        let mut stream = self.layout.stream(Purpose::Restoration, self.number);
        let found = choose(&pool, options, stable, &mut stream);
        let Some(mut chosen) = found else {
            let wanted = if stable { "holds" } else { "fails" };
            let why = format!(
                "no {options} options of which the best in {} {wanted} in {}",
                self.case.illuminant.name(),
                self.second_light.name()
            );
            return Err(self.layout.no_case(self.number, why));
        };
        shuffle(&mut chosen, &mut stream);
        let mut task = TwoLightsTask {
            tooth: self.tooth,
            first_light: self.case.illuminant,
            second_light: self.second_light,
            options: Vec::with_capacity(options),
            second_sights: Vec::with_capacity(options),
        };
        let mut sights = Vec::with_capacity(options);
        for (place, index) in chosen.into_iter().enumerate() {
            let restoration = &pool[index].restoration;
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
        Ok(Question {
            number: self.number,
            seed_key: self.layout.seed_key(self.number),
            catch: stable,
            sights,
            task: Task::TwoLights(task),
        })
    }

    fn truth(&self, case: &Case) -> Result<ZoneDifference, ExerciseError> {
        let scene = self.layout.bake_alone(self.number, case, self.tooth)?;
        Ok(scene.truth.map(|truth| truth.difference).unwrap_or_default())
    }

    /// Everything the level's kinds allow on the tooth, in both lights. A shade that a ceramic
    /// cannot have is left out.
    fn pool(&self) -> Result<Vec<Candidate>, ExerciseError> {
        let wrap = |source| self.layout.bake_error(self.number, source);
        let natural = self.layout.natural(self.number, &self.case, self.tooth)?;
        let estimator = |light| {
            Estimator::new(natural, self.case.seed, light, self.layout.library).map_err(wrap)
        };
        let (first, second) = (estimator(self.case.illuminant)?, estimator(self.second_light)?);
        let mut pool = Vec::new();
        for kind in self.layout.kinds_for(self.tooth) {
            for restoration in self.layout.variants(kind, self.tooth, self.number) {
                let seen = match first.difference(&restoration) {
                    Err(BakeError::Library(LibraryError::Design { .. })) => continue,
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

/// Options of which the best in the first light holds in the second (`stable`) or fails there:
/// indices into the pool. Which case comes up is random, among those that are good enough in the
/// first light to be chosen in earnest.
fn choose(
    pool: &[Candidate],
    options: usize,
    stable: bool,
    stream: &mut impl rand::Rng,
) -> Option<Vec<usize>> {
    let mut order: Vec<usize> = (0..pool.len()).collect();
    shuffle(&mut order, stream);
    let acceptable = |i: &&usize| pool[**i].first.de00 <= ACCEPTABILITY_DE00;
    let starts: Vec<usize> = order.iter().filter(acceptable).copied().collect();
    // Good starts first, the rest as they come: dark prepared teeth may leave nothing better.
    let rest: Vec<usize> = order.iter().filter(|i| !starts.contains(i)).copied().collect();
    starts.iter().chain(&rest).find_map(|&best| {
        let lead = pool[best].first.de00 + LEAD_DE00;
        let behind = |i: &usize| pool[*i].first.de00 >= lead;
        let mut chosen = vec![best];
        let floor = if stable {
            pool[best].second.de00
        } else {
            let beaten = pool[best].second.de00 - FAILS_BY_DE00;
            // The nearest to the lead: what is clearly worse in the first light teaches nothing.
            let better = order
                .iter()
                .filter(|i| behind(i) && pool[**i].second.de00 <= beaten)
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
