//! From a case to a patient, the room for the restoration, and a level.

use super::format::{CaseExercise, CeramicChoice, ClinicCase};
use super::remark::remark;
use super::rules::reachable_prepared;
use crate::bake::{BakeError, within_reach};
use crate::colorimetry::{Lab, Lch};
use crate::level::format::{
    BenchThickness, Difference, Exercise, LEVEL_FORMAT, LchRanges, Level, MeasuredTooth,
    PatientRanges, Range, RestorationKind, ron_options,
};
use crate::level::patient::position_step;
use crate::material::{Library, own_tooth};
use crate::scene::{
    NaturalTooth, Patient, Preparation, Space, Staging, Thickness, Tooth, ToothKind,
};
use ron::ser::PrettyConfig;

/// A case ready for exercises: what is natural, what lies beneath, and how much room there is.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedCase {
    /// The tooth to be restored.
    pub tooth: Tooth,
    /// Veneer or crown.
    pub preparation: Preparation,
    /// Natural teeth in view, the twin of the restored one among them with its wanted colour.
    pub patient: Patient,
    /// Room for ceramic and cement.
    pub space: Space,
    /// Id of the prepared tooth: its colour in open notation, which every library knows.
    pub prepared_tooth: String,
    /// Framing and lamp.
    pub staging: Staging,
    /// Ceramics to choose from.
    pub ceramics: Vec<CeramicChoice>,
    /// Cement id.
    pub cement: String,
    /// Colours that the layered model cannot have, and what is used instead, in words.
    pub remarks: Vec<String>,
}

/// Trials of a level made from a case.
const TRIALS: u32 = 8;
/// Questions of a level made from a case, each with other options for the same tooth.
const QUESTIONS: u32 = 5;

impl ClinicCase {
    /// Teeth, prepared tooth and room. A colour that the layered model cannot have is replaced by
    /// the nearest that it can; checking the file says so.
    ///
    /// # Errors
    /// [`BakeError`] when no colour near one of them can be had; a checked case gives none.
    pub fn prepare(&self, library: &Library) -> Result<PreparedCase, BakeError> {
        let no_tooth = || BakeError::NoSuchTooth(self.tooth);
        let tooth = Tooth::new(self.tooth).map_err(|_| no_tooth())?;
        let seed = self.seed.unwrap_or(1);
        let central = self.central();
        let mut remarks = Vec::new();
        let teeth = Tooth::arch(usize::from(self.arch))
            .into_iter()
            .map(|tooth| {
                let (body, norm) = (self.body(tooth, central), norm(tooth, central));
                let residual_de00 = (body.l - norm.l) / L_PER_DE00;
                let body = Lch::from(body);
                let natural = NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00 };
                let reached = within_reach(&natural, seed, library)?;
                if self.is_stated(tooth) {
                    remarks.extend(remark(&format!("tooth {tooth}"), body, reached.body));
                }
                Ok(reached)
            })
            .collect::<Result<Vec<_>, BakeError>>()?;
        let gingivae = &library.tissues().gingivae;
        let gingiva = match &self.gingiva {
            Some(id) => library.gingiva(id)?,
            None => gingivae.first().map_or(Lch { l: 51.0, c: 33.0, h: 34.0 }, |g| g.colour),
        };
        let wanted = Lch::from(self.prepared_tooth);
        let prepared = reachable_prepared(wanted, library)?;
        remarks.extend(remark("the prepared tooth", wanted, prepared));
        Ok(PreparedCase {
            tooth,
            preparation: self.preparation,
            patient: Patient { teeth, gingiva },
            space: self.space,
            prepared_tooth: own_tooth::id(prepared),
            staging: Staging { framing: self.framing.unwrap_or_default(), ..Staging::default() },
            ceramics: self.ceramics.clone(),
            cement: self.cement.clone(),
            remarks,
        })
    }

    /// Colour of a central incisor that goes with the measured teeth: each less its usual step
    /// from the central, averaged.
    fn central(&self) -> Lab {
        let mut sum = [0.0; 3];
        let target = self.target().map(|colour| (self.tooth, colour));
        let measured = self.teeth.iter().map(|t| (t.tooth, t.colour));
        let known: Vec<_> = measured.chain(target).collect();
        for (number, colour) in &known {
            let kind = Tooth::new(*number).map_or(ToothKind::Central, Tooth::kind);
            let (dl, da, db) = position_step(kind);
            sum[0] += colour.l - dl;
            sum[1] += colour.a - da;
            sum[2] += colour.b - db;
        }
        let [l, a, b] = sum.map(|v| v / known.len().max(1) as f64);
        Lab { l, a, b }
    }

    /// Whether the colour of a tooth is measured or wanted rather than what goes with the others.
    fn is_stated(&self, tooth: Tooth) -> bool {
        tooth.number() == self.tooth || self.teeth.iter().any(|t| t.tooth == tooth.number())
    }

    /// Colour of a tooth: measured, wanted, or what goes with the others.
    fn body(&self, tooth: Tooth, central: Lab) -> Lab {
        if tooth.number() == self.tooth
            && let Some(target) = self.target()
        {
            return target.into();
        }
        let measured = self.teeth.iter().find(|t| t.tooth == tooth.number());
        measured.map_or_else(|| norm(tooth, central), |t| t.colour.into())
    }

    /// The level: the smile of this case and a restoration on its tooth in any of the ceramics.
    /// Glance also restores the same tooth on the other side, or there would be nothing to find.
    ///
    /// # Errors
    /// As [`Self::prepare`].
    pub fn level(&self, library: &Library) -> Result<Level, BakeError> {
        let prepared = self.prepare(library)?;
        let central = Lch::from(self.central());
        let at = |value: f64, (low, high): (f64, f64)| {
            let held = hundredth(value.clamp(low, high));
            Range { low: held, high: held }
        };
        let glance = self.exercise == CaseExercise::Glance;
        let mut restored = vec![prepared.tooth.number()];
        if glance {
            restored.push(prepared.tooth.contralateral().number());
        }
        let arch = self.arch;
        let exercise = match self.exercise {
            CaseExercise::Glance => Exercise::Glance { trials: TRIALS, exposure_s: 2.5, arch },
            CaseExercise::Blend => {
                Exercise::Blend { questions: QUESTIONS, options: 5, arch, restored: 1 }
            }
            CaseExercise::Bench => Exercise::Bench {
                questions: 1,
                attempts: 5,
                arch,
                thickness: BenchThickness::Prepared,
            },
        };
        let restorations = self.restorations(&prepared, &restored);
        let teeth = prepared
            .patient
            .teeth
            .iter()
            .map(|t| MeasuredTooth {
                tooth: t.tooth.number(),
                colour: Lch {
                    l: hundredth(t.body.l),
                    c: hundredth(t.body.c),
                    h: hundredth(t.body.h),
                },
            })
            .collect();
        Ok(Level {
            format: LEVEL_FORMAT,
            id: self.id.clone(),
            title: self.title.clone(),
            teaches: format!(
                "A case from the clinic: tooth {} over a prepared tooth of {}.",
                self.tooth,
                own_tooth::colour(&prepared.prepared_tooth)
                    .map_or_else(|| prepared.prepared_tooth.clone(), Lch::name)
            ),
            difficulty: 5,
            seed: self.seed.unwrap_or(1),
            exercise,
            patient: PatientRanges {
                central: LchRanges {
                    l: at(central.l, (55.0, 90.0)),
                    c: at(central.c, (4.0, 34.0)),
                    h: at(central.h, (70.0, 100.0)),
                },
                residual_sd_de00: 0.0,
                enamel_factor: Range { low: 1.0, high: 1.0 },
                teeth: Some(teeth),
            },
            light: self.light,
            framing: self.framing,
            lamp: None,
            restorations,
            difference: glance
                .then_some(Difference { de00: Range { low: 0.8, high: 4.0 }, darker_share: 0.5 }),
        })
    }

    /// A kind of restoration for each ceramic, in even shares.
    fn restorations(&self, prepared: &PreparedCase, restored: &[u8]) -> Vec<RestorationKind> {
        let thickness = prepared.space.ceramic();
        let thousandths = |mm: f64| (mm * 1000.0).round() / 1000.0;
        let thickness_mm = Thickness {
            margin_mm: thousandths(thickness.margin_mm),
            neck_mm: thousandths(thickness.neck_mm),
            body_mm: thousandths(thickness.body_mm),
            incisal_mm: thousandths(thickness.incisal_mm),
        };
        let mut left = 1.0;
        let count = self.ceramics.len();
        self.ceramics
            .iter()
            .enumerate()
            .map(|(index, choice)| {
                // The last share makes the sum exactly 1.
                let share = if index + 1 == count {
                    left
                } else {
                    (1000.0 / count as f64).floor() / 1000.0
                };
                left = ((left - share) * 1000.0).round() / 1000.0;
                RestorationKind {
                    share,
                    teeth: Some(restored.to_vec()),
                    preparation: self.preparation,
                    ceramic: choice.class.clone(),
                    translucency: choice.translucency,
                    graded: false,
                    block_shift: None,
                    thickness_mm,
                    cement: self.cement.clone(),
                    cement_film_mm: self.space.cement_gap_mm,
                    prepared_tooth: prepared.prepared_tooth.clone(),
                    drift: None,
                }
            })
            .collect()
    }
}

/// L* that make one ΔE00 near L* 75, as where patients are drawn.
const L_PER_DE00: f64 = 1.37;

/// What a tooth's colour usually is beside this central incisor.
fn norm(tooth: Tooth, central: Lab) -> Lab {
    let (dl, da, db) = position_step(tooth.kind());
    Lab { l: central.l + dl, a: central.a + da, b: central.b + db }
}

fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// The text of a level file.
///
/// # Errors
/// When a value has no notation, which no level's has.
pub fn level_text(level: &Level, remark: &str) -> Result<String, ron::Error> {
    let config = PrettyConfig::new().compact_arrays(true).struct_names(false);
    let body = ron_options().to_string_pretty(level, config)?;
    let remark: String = remark.lines().map(|line| format!("// {line}\n")).collect();
    Ok(format!("{remark}Level{body}\n"))
}
