//! Restorations that may be offered in a question, and how far each is from its twin.

use crate::bake::{BakeError, Estimator, Judge, ZoneDifference};
use crate::colorimetry::{Illuminant, Lab, Lch, ciede2000};
use crate::exercise::ExerciseError;
use crate::exercise::blend::ToothDifference;
use crate::exercise::cases::{Layout, restoration};
use crate::level::format::RestorationKind;
use crate::scene::{Case, NaturalTooth, Restoration, Tooth};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Thicknesses each kind of restoration is offered in, in every question.
const THICKNESSES: usize = 2;
/// How much thinner and thicker than its level says a kind may be, as a factor.
const THICKNESS_FACTOR: (f64, f64) = (0.8, 1.25);

/// A restoration that may be offered.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    /// Place of its kind among the level's kinds.
    pub kind: usize,
    pub shade: Lch,
    /// Thickness relative to the kind's.
    pub factor: f64,
    /// Colours of the thirds as estimated.
    estimated: Vec<[Lab; 3]>,
    /// Colours of the thirds of every restored tooth.
    pub thirds: Vec<[Lab; 3]>,
    /// Difference of every restored tooth to its twin.
    pub teeth: Vec<ZoneDifference>,
    /// Whether these are those of the maps that are drawn, rather than estimates.
    pub exact: bool,
}

/// The patient of a question and everything that may be placed in it.
pub(super) struct Field<'a> {
    layout: &'a Layout<'a>,
    number: u32,
    pub kinds: Vec<&'a RestorationKind>,
    /// The natural smile.
    pub case: Case,
    pub restored: Vec<NaturalTooth>,
    estimators: Vec<Estimator<'a>>,
    /// Of every restored tooth, in the lights other than the question's.
    lights: Vec<Vec<(Illuminant, Estimator<'a>)>>,
    judges: Vec<Judge<'a>>,
}

impl Candidate {
    /// Place of the tooth that is furthest from its twin.
    pub fn worst(&self) -> usize {
        let de00 = |i: usize| self.teeth[i].de00;
        (0..self.teeth.len()).max_by(|&a, &b| de00(a).total_cmp(&de00(b))).unwrap_or(0)
    }

    /// The difference that counts.
    pub fn difference(&self) -> ZoneDifference {
        self.teeth.get(self.worst()).copied().unwrap_or_default()
    }

    /// Moves the estimate by the errors of those known of its kind, weighed by how like it they are.
    fn learn(&mut self, known: &[Self]) {
        let mut total = 0.0;
        let mut moved: Vec<[[f64; 3]; 3]> = vec![[[0.0; 3]; 3]; self.thirds.len()];
        for other in known.iter().filter(|other| other.kind == self.kind) {
            let weight = 1.0 / (1.0 + self.unlike(other));
            total += weight;
            for ((moved, from), to) in moved.iter_mut().zip(&other.estimated).zip(&other.thirds) {
                for ((moved, from), to) in moved.iter_mut().zip(from).zip(to) {
                    for (moved, off) in
                        moved.iter_mut().zip([to.l - from.l, to.a - from.a, to.b - from.b])
                    {
                        *moved += weight * off;
                    }
                }
            }
        }
        if total > 0.0 {
            for ((third, from), off) in self.thirds.iter_mut().zip(&self.estimated).zip(&moved) {
                for ((third, from), off) in third.iter_mut().zip(from).zip(off) {
                    third.l = from.l + off[0] / total;
                    third.a = from.a + off[1] / total;
                    third.b = from.b + off[2] / total;
                }
            }
        }
    }

    /// How unlike another of its kind it is, in squared steps of shade and thickness.
    fn unlike(&self, other: &Self) -> f64 {
        let value = (self.shade.l - other.shade.l) / 2.0;
        let chroma = (self.shade.c - other.shade.c) / 5.0;
        let thickness = (self.factor / other.factor).ln() / 0.1;
        4.0 * (value * value + chroma * chroma + thickness * thickness)
    }

    /// How different two options look, ΔE00: on the tooth where they differ most.
    pub fn apart_de00(&self, other: &Self) -> f64 {
        let pairs = self.thirds.iter().zip(&other.thirds);
        pairs.map(|(a, b)| ZoneDifference::of_thirds(a, b).de00).fold(0.0, f64::max)
    }
}

impl<'a> Field<'a> {
    /// The patient of a question, with these teeth to be restored.
    pub fn new(
        layout: &'a Layout<'a>,
        number: u32,
        teeth: &[Tooth],
        kinds: Vec<&'a RestorationKind>,
    ) -> Result<Self, ExerciseError> {
        let case = layout.natural_case(number)?;
        let restored: Vec<NaturalTooth> = teeth
            .iter()
            .filter_map(|tooth| case.patient.teeth.iter().find(|t| t.tooth == *tooth).copied())
            .collect();
        if restored.len() < teeth.len() || restored.is_empty() {
            let names: Vec<String> = teeth.iter().map(ToString::to_string).collect();
            return Err(ExerciseError::NoCase {
                level: layout.level.id.clone(),
                number,
                why: format!("not all of the teeth {} are in view", names.join(", ")),
            });
        }
        let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
        let (seed, light, library) = (case.seed, case.illuminant, layout.library);
        let estimators: Vec<Estimator<'a>> = restored
            .par_iter()
            .map(|tooth| Estimator::new(tooth, seed, light, library))
            .collect::<Result<_, _>>()
            .map_err(wrap)?;
        let others = || Illuminant::ALL.into_iter().filter(|other| *other != light);
        let lights = estimators
            .iter()
            .map(|estimator| others().map(|other| (other, estimator.under(other))).collect())
            .collect();
        let judges = restored
            .par_iter()
            .map(|tooth| Judge::new(tooth, seed, light, library))
            .collect::<Result<_, _>>()
            .map_err(wrap)?;
        Ok(Self { layout, number, kinds, case, restored, estimators, lights, judges })
    }

    fn wrap(&self, source: BakeError) -> ExerciseError {
        ExerciseError::Bake { level: self.layout.level.id.clone(), number: self.number, source }
    }

    /// Every kind in every shade that its ceramic comes in and in a few thicknesses, or those of a
    /// stated case alone; estimated and then moved by what the estimates of some of its kind are off.
    pub fn candidates(&self, stream: &mut ChaCha8Rng) -> Result<Vec<Candidate>, ExerciseError> {
        if self.layout.level.is_stated() {
            return self.candidates_in(|_| vec![1.0]);
        }
        let (thin, thick) = THICKNESS_FACTOR;
        self.candidates_in(|_| {
            // One in each part of the range, so that thin and thick both come up.
            let mut factor = |part: usize| {
                let t = (part as f64 + stream.random::<f64>()) / THICKNESSES as f64;
                thin * (thick / thin).powf(t)
            };
            (0..THICKNESSES).map(&mut factor).collect()
        })
    }

    /// Every kind in every shade, in thicknesses relative to its own.
    pub fn candidates_in(
        &self,
        mut factors: impl FnMut(usize) -> Vec<f64>,
    ) -> Result<Vec<Candidate>, ExerciseError> {
        let mut recipes = Vec::new();
        for (kind, of) in self.kinds.iter().enumerate() {
            let shades = self.layout.library.shades(&of.ceramic, of.translucency);
            for factor in factors(kind) {
                recipes.extend(shades.iter().map(|shade| (kind, *shade, factor)));
            }
        }
        let mut candidates: Vec<Candidate> = recipes
            .par_iter()
            .filter_map(|&(kind, shade, factor)| match self.estimate(kind, shade, factor) {
                // A shade that a ceramic cannot have is not offered.
                Err(error) if error.is_no_such_shade() => None,
                estimated => Some(estimated),
            })
            .collect::<Result<_, _>>()
            .map_err(|source| self.wrap(source))?;
        self.calibrate(&mut candidates)?;
        Ok(candidates)
    }

    /// The candidate's restoration of a tooth.
    pub fn restoration(&self, candidate: &Candidate, tooth: Tooth) -> Restoration {
        self.recipe(candidate.kind, candidate.shade, candidate.factor, tooth)
    }

    fn recipe(&self, kind: usize, shade: Lch, factor: f64, tooth: Tooth) -> Restoration {
        restoration(self.kinds[kind], tooth, shade, factor)
    }

    fn estimate(&self, kind: usize, shade: Lch, factor: f64) -> Result<Candidate, BakeError> {
        let mut thirds: Vec<[Lab; 3]> = Vec::with_capacity(self.restored.len());
        for (i, natural) in self.restored.iter().enumerate() {
            // A restored tooth's colours depend on its kind; those of its twin are its own.
            let alike = |j: &usize| self.restored[*j].tooth.kind() == natural.tooth.kind();
            thirds.push(match (0..i).find(alike) {
                Some(same) => thirds[same],
                None => {
                    let restoration = self.recipe(kind, shade, factor, natural.tooth);
                    self.estimators[i].zones(&restoration)?
                }
            });
        }
        let teeth = self.differences(&thirds);
        let estimated = thirds.clone();
        Ok(Candidate { kind, shade, factor, estimated, thirds, teeth, exact: false })
    }

    fn differences(&self, thirds: &[[Lab; 3]]) -> Vec<ZoneDifference> {
        let judged = self.judges.iter().zip(thirds);
        judged
            .map(|(judge, thirds)| ZoneDifference::of_thirds(judge.natural_thirds(), thirds))
            .collect()
    }

    /// Finds the truth of the one of every kind that lies nearest its twin.
    fn calibrate(&self, candidates: &mut [Candidate]) -> Result<(), ExerciseError> {
        let nearest: Vec<usize> = (0..self.kinds.len())
            .filter_map(|kind| {
                let de00 = |i: usize| candidates[i].difference().de00;
                (0..candidates.len())
                    .filter(|&i| candidates[i].kind == kind)
                    .min_by(|&a, &b| de00(a).total_cmp(&de00(b)))
            })
            .collect();
        self.judge(candidates, &nearest)
    }

    /// Finds the truth of candidates, and moves the estimates of others of their kinds by what those
    /// are off, the most like the estimate the most.
    pub fn judge(
        &self,
        candidates: &mut [Candidate],
        places: &[usize],
    ) -> Result<(), ExerciseError> {
        let judged: Vec<(usize, Candidate)> = places
            .par_iter()
            .map(|&place| Ok((place, self.judged(&candidates[place])?)))
            .collect::<Result<_, ExerciseError>>()?;
        let kinds: Vec<usize> = judged.iter().map(|(_, candidate)| candidate.kind).collect();
        for (place, candidate) in judged {
            candidates[place] = candidate;
        }
        let known: Vec<Candidate> = candidates.iter().filter(|c| c.exact).cloned().collect();
        candidates.par_iter_mut().filter(|c| !c.exact && kinds.contains(&c.kind)).for_each(
            |candidate| {
                candidate.learn(&known);
                candidate.teeth = self.differences(&candidate.thirds);
            },
        );
        Ok(())
    }

    /// The candidate with the truth of the maps that are drawn.
    pub fn judged(&self, candidate: &Candidate) -> Result<Candidate, ExerciseError> {
        if candidate.exact {
            return Ok(candidate.clone());
        }
        let thirds: Vec<[Lab; 3]> = self
            .judges
            .par_iter()
            .zip(&self.restored)
            .map(|(judge, natural)| judge.thirds(&self.restoration(candidate, natural.tooth)))
            .collect::<Result<_, _>>()
            .map_err(|source| self.wrap(source))?;
        let teeth = self.differences(&thirds);
        Ok(Candidate { thirds, teeth, exact: true, ..candidate.clone() })
    }

    /// The restored teeth with their differences.
    pub fn tooth_differences(&self, candidate: &Candidate) -> Vec<ToothDifference> {
        let pairs = self.restored.iter().zip(&candidate.teeth);
        pairs.map(|(n, d)| ToothDifference { tooth: n.tooth, difference: *d }).collect()
    }

    /// The light in which an option is furthest from its twin, with that difference, ΔE00. Under the
    /// question's light it is the truth; the others are estimated on a coarse grid and moved by
    /// what the estimate is off under the question's.
    pub fn robust(&self, candidate: &Candidate) -> Result<(Illuminant, f64), ExerciseError> {
        let wrap = |source| self.wrap(source);
        let mut worst = (self.case.illuminant, candidate.difference().de00);
        for (i, natural) in self.restored.iter().enumerate() {
            let restoration = self.restoration(candidate, natural.tooth);
            let own = self.estimators[i].difference(&restoration).map_err(wrap)?.de00;
            let off = candidate.teeth[i].de00 - own;
            for (light, estimator) in &self.lights[i] {
                let de00 = estimator.difference(&restoration).map_err(wrap)?.de00 + off;
                if de00 > worst.1 {
                    worst = (*light, de00);
                }
            }
        }
        Ok(worst)
    }

    /// Differences of the thirds of one restored tooth, by place: cervical, body, incisal.
    pub fn zones(&self, candidate: &Candidate, place: usize) -> [ZoneDifference; 3] {
        let (natural, thirds) = (self.judges[place].natural_thirds(), &candidate.thirds[place]);
        std::array::from_fn(|third| {
            let difference = ciede2000(natural[third], thirds[third]);
            ZoneDifference {
                de00: difference.de00,
                dl00: difference.dl00,
                dc00: difference.dc00,
                dh00: difference.dh00,
            }
        })
    }
}
