//! Match: Which tab is nearest?

use super::cases::Layout;
use super::mark::score_of_regret;
use super::seeing::{deviate, flags, in_words, shuffle, strata};
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight, Task};
use crate::bake::{BakeError, Condition, Estimator, ZoneDifference};
use crate::colorimetry::{Ciede2000Weights, Lab, Lch, ciede2000_weights, is_displayable};
use crate::level::format::Exercise;
use crate::random::Purpose;
use crate::scene::{Case, NaturalTooth, Tooth};
use crate::words::de00;
use rand::RngExt;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One tab: a tooth-shaped patch without a name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tab {
    /// Colour of its middle third, CIELAB LCh under D65/2°; for the debrief only.
    pub shade: Lch,
    /// Colours of its thirds as displayed: cervical, body, incisal.
    pub zones: [Lab; 3],
    /// The same as linear sRGB.
    pub linear: [[f64; 3]; 3],
    /// The difference tab minus target tooth, thirds weighted as everywhere.
    pub difference: ZoneDifference,
}

/// A target tooth and tabs, with how far each is from it. The question's only sight is the mouth
/// that the target tooth stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchTask {
    /// The target tooth.
    pub tooth: Tooth,
    /// Its thirds as displayed: cervical, body, incisal.
    pub target: [Lab; 3],
    /// The tabs in the order they are shown.
    pub tabs: Vec<Tab>,
    /// The tab that is exactly like the target, if one is.
    pub exact: Option<usize>,
}

/// What a learner can say of the tabs; indices into [`MatchTask::tabs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MatchChoice {
    /// This tab is nearest.
    Tab(usize),
    /// The target lies between these two.
    Between(usize, usize),
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MatchAnswer {
    /// What was chosen.
    pub choice: MatchChoice,
}

impl MatchAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

/// Share of questions in which no tab is exactly like the target. A setting of this program.
const NO_EXACT_SHARE: f64 = 0.3;
/// Tabs nearer each other than this part of the spacing are too alike to be told apart.
const LEAST_APART: f64 = 0.6;
/// How far the lattice reaches from the target each way, steps.
const REACH: i32 = 3;

impl MatchTask {
    /// The difference of what was chosen minus the target; between two tabs lies their mean colour.
    ///
    /// # Errors
    /// [`AnswerError::Impossible`] when there is no such tab, or one tab is named twice.
    pub fn difference(&self, choice: MatchChoice) -> Result<ZoneDifference, AnswerError> {
        let tab = |i: usize| {
            self.tabs.get(i).ok_or_else(|| {
                AnswerError::Impossible(format!(
                    "there is no tab {} among {}",
                    i + 1,
                    self.tabs.len()
                ))
            })
        };
        match choice {
            MatchChoice::Tab(i) => Ok(tab(i)?.difference),
            MatchChoice::Between(a, b) if a == b => Err(AnswerError::Impossible(format!(
                "nothing lies between tab {} and itself",
                a + 1
            ))),
            MatchChoice::Between(a, b) => Ok(self.between(tab(a)?, tab(b)?)),
        }
    }

    fn between(&self, a: &Tab, b: &Tab) -> ZoneDifference {
        let middle = std::array::from_fn(|zone| {
            let (a, b) = (a.zones[zone], b.zones[zone]);
            Lab { l: 0.5 * (a.l + b.l), a: 0.5 * (a.a + b.a), b: 0.5 * (a.b + b.b) }
        });
        ZoneDifference::of_thirds(&self.target, &middle)
    }

    /// Everything that can be said of the tabs, with its difference to the target.
    fn choices(&self) -> Vec<(MatchChoice, ZoneDifference)> {
        let n = self.tabs.len();
        let single = (0..n).map(|i| (MatchChoice::Tab(i), self.tabs[i].difference));
        let double = (0..n)
            .flat_map(|a| (a + 1..n).map(move |b| (a, b)))
            .map(|(a, b)| (MatchChoice::Between(a, b), self.between(&self.tabs[a], &self.tabs[b])));
        single.chain(double).collect()
    }

    /// The best that can be said. Of equals a tab comes before two.
    #[must_use]
    pub fn best(&self) -> Option<(MatchChoice, ZoneDifference)> {
        self.choices().into_iter().min_by(|a, b| a.1.de00.total_cmp(&b.1.de00))
    }

    pub(super) fn mark(&self, answer: &MatchAnswer) -> Result<Mark, AnswerError> {
        let chosen = self.difference(answer.choice)?;
        let (best_choice, best) = self.best().unwrap_or((answer.choice, chosen));
        let regret = (chosen.de00 - best.de00).max(0.0);
        let sentences = self.sentences(answer.choice, &chosen, best_choice, &best);
        let truth = json!({
            "tooth": self.tooth.number(),
            "exact": self.exact,
            "best": best_choice,
            "tabs": self.tabs.iter().map(|tab| json!({
                "L": tab.shade.l, "C": tab.shade.c, "h": tab.shade.h,
                "de00": tab.difference.de00, "dl00": tab.difference.dl00,
                "dc00": tab.difference.dc00, "dh00": tab.difference.dh00,
            })).collect::<Vec<_>>(),
            "chosen": {
                "de00": chosen.de00, "dl00": chosen.dl00,
                "dc00": chosen.dc00, "dh00": chosen.dh00,
            },
        });
        Ok(Mark::new(Some(score_of_regret(regret)), Some(regret), sentences, truth))
    }

    fn sentences(
        &self,
        choice: MatchChoice,
        chosen: &ZoneDifference,
        best_choice: MatchChoice,
        best: &ZoneDifference,
    ) -> Vec<String> {
        let capital = |choice: MatchChoice| match choice {
            MatchChoice::Tab(i) => format!("Tab {}", i + 1),
            MatchChoice::Between(a, b) => format!("Between tabs {} and {}", a + 1, b + 1),
        };
        let mut said = vec![format!(
            "{} is {} from the target: {}.",
            capital(choice),
            de00(chosen.de00),
            in_words(chosen)
        )];
        if let Some(exact) = self.exact {
            if choice != MatchChoice::Tab(exact) {
                said.push(format!("Tab {} is exactly like the target.", exact + 1));
            }
        } else {
            said.push(if choice == best_choice {
                "No tab is exactly like the target; nothing here comes nearer.".to_owned()
            } else {
                format!(
                    "No tab is exactly like the target: {} comes nearest, {} away.",
                    capital(best_choice).to_lowercase(),
                    de00(best.de00)
                )
            });
        }
        let mut near: Vec<usize> =
            (0..self.tabs.len()).filter(|i| self.exact != Some(*i)).collect();
        let off = |i: usize| self.tabs[i].difference.de00;
        near.sort_by(|&a, &b| off(a).total_cmp(&off(b)));
        let list: Vec<String> = near
            .iter()
            .take(3)
            .map(|&i| {
                format!("tab {} ({}: {})", i + 1, de00(off(i)), in_words(&self.tabs[i].difference))
            })
            .collect();
        said.push(format!("The nearest others: {}.", list.join("; ")));
        said
    }

    /// Takes the tab that looks nearest, or the middle between it and another where that looks
    /// nearer still.
    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> MatchAnswer {
        let n = self.tabs.len();
        if learner.lapses(stream) {
            return MatchAnswer { choice: MatchChoice::Tab(stream.random_range(0..n.max(1))) };
        }
        let noise: Vec<f64> = (0..n).map(|_| learner.noise_de00 * deviate(stream)).collect();
        let single = |i: usize| learner.weighs(&self.tabs[i].difference) + noise[i];
        let Some(first) = (0..n).min_by(|&a, &b| single(a).total_cmp(&single(b))) else {
            return MatchAnswer { choice: MatchChoice::Tab(0) };
        };
        let pair = |(i, j): (usize, usize)| {
            let middle = self.between(&self.tabs[i], &self.tabs[j]);
            learner.weighs(&middle) + 0.5 * (noise[i] + noise[j])
        };
        let pairs = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
        let choice = match pairs.min_by(|&a, &b| pair(a).total_cmp(&pair(b))) {
            Some((i, j)) if pair((i, j)) < single(first) => MatchChoice::Between(i, j),
            _ => MatchChoice::Tab(first),
        };
        MatchAnswer { choice }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Match { tabs, spacing_de00, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    let between = flags(layout, NO_EXACT_SHARE);
    let places = strata(layout, layout.teeth.len(), 0);
    // All of them, so that the fault that is said is the first and not the quickest.
    let laid_out: Vec<Result<_, ExerciseError>> = (0..layout.questions)
        .into_par_iter()
        .zip(between.into_par_iter().zip(places))
        .map(|(number, (between, place))| {
            let case = layout.natural_case(number)?;
            let tooth = layout.teeth[place];
            let ring = Ring { layout, number, case: &case, spacing_de00 };
            let task = ring.draw(tooth, usize::from(tabs), between)?;
            Ok(Question {
                number,
                seed_key: layout.seed_key(number),
                catch: between,
                sights: vec![Sight { name: "Target".to_owned(), case }],
                task: Task::Match(task),
            })
        })
        .collect();
    laid_out.into_iter().collect()
}

/// Steps of the lattice: value, chroma, hue.
type Steps = [f64; 3];

/// The tabs of one question being drawn.
///
/// A tab is the target tooth with another dentin: same enamel, same layers, so that its thirds run
/// like those of a tooth and one tab can be exactly like the target. A thick piece of ceramic has
/// one colour from neck to edge and never is.
struct Ring<'a> {
    layout: &'a Layout<'a>,
    number: u32,
    case: &'a Case,
    spacing_de00: f64,
}

impl Ring<'_> {
    fn draw(&self, tooth: Tooth, tabs: usize, between: bool) -> Result<MatchTask, ExerciseError> {
        let natural = *self.layout.natural(self.number, self.case, tooth)?;
        let mut stream = self.layout.stream(Purpose::Restoration, self.number);
        // The ring is not centred on the target, or its middle would be the answer.
        let centre: Steps = std::array::from_fn(|_| f64::from(stream.random_range(-1..=1)));
        let shifted = stream.random_range(0..3);
        let start: Steps =
            std::array::from_fn(|axis| if between && axis == shifted { 0.5 } else { 0.0 });
        let mut places = lattice(start, centre, &mut stream);
        let own: Vec<Steps> =
            if between { vec![start, start.map(|step| -step)] } else { vec![start] };
        places.retain(|place| !own.contains(place));
        places.splice(0..0, own);

        let smooth = self.thirds(&natural)?;
        let scene = self.layout.bake_alone(self.number, self.case, tooth)?;
        let target = scene.zone_labs(tooth, Condition::Twin).unwrap_or(smooth);
        // What surface detail does to the target's thirds, the tabs get too.
        let detail: [[f64; 3]; 3] = std::array::from_fn(|zone| {
            let (drawn, smooth) = (target[zone].to_linear_srgb(), smooth[zone].to_linear_srgb());
            std::array::from_fn(|i| drawn[i] / smooth[i])
        });
        let mut found: Vec<Tab> = Vec::with_capacity(tabs);
        for (index, place) in places.iter().enumerate() {
            if found.len() == tabs {
                break;
            }
            let exact = index == 0 && !between;
            let Some(tab) = self.tab(&natural, *place, &target, &detail, exact)? else { continue };
            let apart = |other: &Tab| ZoneDifference::of_thirds(&other.zones, &tab.zones).de00;
            if found.iter().all(|other| apart(other) >= LEAST_APART * self.spacing_de00) {
                found.push(tab);
            }
        }
        if found.len() < tabs {
            let why = format!(
                "only {} of {tabs} tabs can be made around {}",
                found.len(),
                natural.body.name()
            );
            return Err(self.layout.no_case(self.number, why));
        }
        let mut order: Vec<usize> = (0..tabs).collect();
        shuffle(&mut order, &mut stream);
        let exact = (!between).then(|| order.iter().position(|i| *i == 0)).flatten();
        let tabs = order.into_iter().map(|i| found[i]).collect();
        Ok(MatchTask { tooth, target, tabs, exact })
    }

    fn thirds(&self, tooth: &NaturalTooth) -> Result<[Lab; 3], ExerciseError> {
        let light = self.layout.level.light;
        Estimator::new(tooth, self.case.seed, light, self.layout.library)
            .map(|estimator| *estimator.natural_zones())
            .map_err(|source| self.layout.bake_error(self.number, source))
    }

    /// The tab so many steps from the target; `None` where no tooth has that colour.
    fn tab(
        &self,
        target_tooth: &NaturalTooth,
        steps: Steps,
        target: &[Lab; 3],
        detail: &[[f64; 3]; 3],
        exact: bool,
    ) -> Result<Option<Tab>, ExerciseError> {
        let shade = self.shade(target_tooth.body, steps);
        let tooth = NaturalTooth { body: shade, ..*target_tooth };
        if exact {
            let linear = target.map(Lab::to_linear_srgb);
            let difference = ZoneDifference::default();
            return Ok(Some(Tab { shade, zones: *target, linear, difference }));
        }
        let thirds = match self.thirds(&tooth) {
            Ok(thirds) => thirds,
            Err(ExerciseError::Bake { source: BakeError::BodyOutOfReach { .. }, .. }) => {
                return Ok(None);
            }
            Err(other) => return Err(other),
        };
        let linear: [[f64; 3]; 3] = std::array::from_fn(|zone| {
            let smooth = thirds[zone].to_linear_srgb();
            std::array::from_fn(|i| smooth[i] * detail[zone][i])
        });
        let zones = linear.map(Lab::from_linear_srgb);
        let difference = ZoneDifference::of_thirds(target, &zones);
        Ok(linear.iter().all(|l| is_displayable(*l)).then_some(Tab {
            shade,
            zones,
            linear,
            difference,
        }))
    }

    /// The colour so many steps of the lattice from another.
    fn shade(&self, from: Lch, [value, chroma, hue]: Steps) -> Lch {
        let lab = Lab::from(from);
        let Ciede2000Weights { s_l, s_c, s_h, .. } = ciede2000_weights(lab, lab);
        let step = self.spacing_de00;
        Lch {
            l: from.l + value * step * s_l,
            c: from.c + chroma * step * s_c,
            h: from.h + (hue * step * s_h / from.c.max(1.0)).to_degrees(),
        }
    }
}

/// Points of the lattice through `start`, those near `centre` first, equals in random order.
fn lattice(start: Steps, centre: Steps, stream: &mut impl rand::Rng) -> Vec<Steps> {
    let steps = || -REACH..=REACH;
    let mut places: Vec<(f64, Steps)> = steps()
        .flat_map(|l| steps().flat_map(move |c| steps().map(move |h| [l, c, h])))
        .map(|place| {
            let at: Steps = std::array::from_fn(|i| start[i] + f64::from(place[i]));
            let off: f64 = (0..3).map(|i| (at[i] - 0.5 * centre[i]).powi(2)).sum();
            (off + 0.5 * stream.random::<f64>(), at)
        })
        .collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.into_iter().map(|(_, place)| place).collect()
}
