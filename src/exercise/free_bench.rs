//! Free play on the bench: which tooth, what lies beneath, how much room, and in which smile.

use super::bench::BenchTask;
use super::recipe::{HEIGHTS, RecipePart, at, at_mut, moved, rounded};
use super::{Question, Round, Sight, Task};
use crate::bake::{BakeError, within_reach};
use crate::colorimetry::{Illuminant, Lab, Lch, ciede2000};
use crate::level::clinic::{PreparedCase, reachable_prepared};
use crate::level::format::{LchRanges, PatientRanges, Range};
use crate::level::patient;
use crate::material::{Library, LibraryError, own_tooth};
use crate::random::{Purpose, StreamKey};
use crate::scene::{Case, Framing, Lamp, Preparation, Staging, Thickness, Tooth};
use thiserror::Error;

/// Id of the round that free play is; no level has it, as ids of levels hold no colon.
pub const FREE_BENCH_ID: &str = "bench:free";
/// Teeth in view where the framing shows both sides.
const FRONT_ARCH: usize = 10;
/// Teeth in view from the cheek.
const SIDE_ARCH: usize = 12;
/// A difference in a prepared tooth's colour that is worth a remark, ΔE00.
const REMARK_DE00: f64 = 0.2;

/// What lies beneath the restoration.
#[derive(Debug, Clone, PartialEq)]
pub enum PreparedChoice {
    /// An entry of the material library, by its id.
    Listed(String),
    /// A colour of one's own: CIELAB LCh under D65/2°, middle third.
    Own(Lch),
}

/// A bench to be set up.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchSetup {
    /// The tooth to restore.
    pub tooth: Tooth,
    /// Veneer or crown.
    pub preparation: Preparation,
    /// What lies beneath.
    pub prepared: PreparedChoice,
    /// How much tooth was removed: room for ceramic and cement together, mm.
    pub reduction: Thickness,
    /// Colour of the central incisors; the other teeth lie their usual steps from it.
    pub central: Lch,
    /// The light.
    pub light: Illuminant,
    /// What is in the frame.
    pub framing: Framing,
    /// What makes the highlights.
    pub lamp: Lamp,
    /// Which mouth: seed of its shapes.
    pub mouth: u32,
}

/// One thing that can be changed about a bench to be set up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SetupPart {
    /// The tooth.
    Tooth,
    /// Veneer or crown.
    Preparation,
    /// The prepared tooth, by name or as a colour of one's own.
    Prepared,
    /// Lightness of the prepared tooth.
    PreparedLightness,
    /// Its chroma.
    PreparedChroma,
    /// Its hue.
    PreparedHue,
    /// Reduction at the margin.
    Margin,
    /// Reduction at the neck.
    Neck,
    /// Reduction in the middle.
    Middle,
    /// Reduction at the incisal third.
    Incisal,
    /// Lightness of the natural central incisors.
    CentralLightness,
    /// Their chroma.
    CentralChroma,
    /// Their hue.
    CentralHue,
    /// The light.
    Light,
    /// The framing.
    Framing,
    /// The lamp.
    Lamp,
    /// The mouth.
    Mouth,
}

/// Why a bench cannot be set up.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SetupError {
    /// The prepared tooth is not known, or no tissue has its colour.
    #[error("the prepared tooth: {0}")]
    Prepared(#[from] LibraryError),
    /// The smile cannot be baked.
    #[error(transparent)]
    Bake(#[from] BakeError),
}

/// A bench that was set up.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeBench {
    /// The round: one question, without attempts and without an end.
    pub round: Round,
    /// What differs from what was asked for, in words.
    pub remarks: Vec<String>,
}

impl Default for BenchSetup {
    /// A veneer on a single central incisor over the third of the listed prepared teeth.
    fn default() -> Self {
        Self {
            tooth: Tooth::arch(2)[1],
            preparation: Preparation::Veneer,
            prepared: PreparedChoice::Listed("warm-yellow".to_owned()),
            reduction: Thickness { margin_mm: 0.25, neck_mm: 0.55, body_mm: 0.75, incisal_mm: 1.0 },
            central: Lch { l: 76.0, c: 16.0, h: 88.0 },
            light: Illuminant::D65,
            framing: Framing::Retracted,
            lamp: Lamp::SoftBoxes,
            mouth: 1,
        }
    }
}

impl SetupPart {
    /// All parts in the order of a form.
    pub const ALL: [Self; 17] = [
        Self::Tooth,
        Self::Preparation,
        Self::Prepared,
        Self::PreparedLightness,
        Self::PreparedChroma,
        Self::PreparedHue,
        Self::Margin,
        Self::Neck,
        Self::Middle,
        Self::Incisal,
        Self::CentralLightness,
        Self::CentralChroma,
        Self::CentralHue,
        Self::Light,
        Self::Framing,
        Self::Lamp,
        Self::Mouth,
    ];

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tooth => "tooth",
            Self::Preparation => "restoration",
            Self::Prepared => "prepared tooth",
            Self::PreparedLightness | Self::CentralLightness => "lightness",
            Self::PreparedChroma | Self::CentralChroma => "chroma",
            Self::PreparedHue | Self::CentralHue => "hue",
            Self::Margin => "margin",
            Self::Neck => "neck",
            Self::Middle => "middle",
            Self::Incisal => "incisal third",
            Self::Light => "light",
            Self::Framing => "framing",
            Self::Lamp => "lamp",
            Self::Mouth => "mouth",
        }
    }

    /// Unit of a number, empty for names and pure numbers.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::PreparedHue | Self::CentralHue => "°",
            Self::Margin | Self::Neck | Self::Middle | Self::Incisal => " mm",
            _ => "",
        }
    }

    /// What one step of the keyboard changes, for numbers.
    #[must_use]
    pub const fn step(self) -> Option<f64> {
        Some(match self {
            Self::PreparedLightness
            | Self::PreparedChroma
            | Self::PreparedHue
            | Self::CentralLightness
            | Self::CentralChroma
            | Self::CentralHue
            | Self::Mouth => 1.0,
            Self::Margin | Self::Neck | Self::Middle | Self::Incisal => 0.05,
            _ => return None,
        })
    }

    /// Least and most of a number. Prepared and natural teeth: as far as the layered model's
    /// tissues reach, give or take; reduction: as in cases from the clinic.
    #[must_use]
    pub const fn range(self) -> Option<(f64, f64)> {
        Some(match self {
            Self::PreparedLightness => (35.0, 85.0),
            Self::PreparedChroma => (4.0, 36.0),
            Self::PreparedHue => (60.0, 100.0),
            Self::CentralLightness => (60.0, 84.0),
            Self::CentralChroma => (6.0, 30.0),
            Self::CentralHue => (72.0, 98.0),
            Self::Margin => (0.05, 1.2),
            Self::Neck | Self::Middle | Self::Incisal => (0.15, 2.5),
            Self::Mouth => (1.0, 999.0),
            _ => return None,
        })
    }

    const fn height(self) -> Option<RecipePart> {
        match self {
            Self::Margin => Some(RecipePart::Margin),
            Self::Neck => Some(RecipePart::Neck),
            Self::Middle => Some(RecipePart::Middle),
            Self::Incisal => Some(RecipePart::Incisal),
            _ => None,
        }
    }
}

/// Teeth that a framing shows, in the viewer's order.
fn teeth_in(framing: Framing) -> Vec<Tooth> {
    let count = if framing == Framing::Posterior { SIDE_ARCH } else { FRONT_ARCH };
    Tooth::arch(count).into_iter().filter(|tooth| framing.shows(*tooth)).collect()
}

/// A light in words with its CIE name.
#[must_use]
pub const fn light_in_words(light: Illuminant) -> &'static str {
    match light {
        Illuminant::D65 => "daylight, D65",
        Illuminant::D50 => "warmer daylight, D50",
        Illuminant::A => "incandescent, A",
        Illuminant::Fl11 => "three-band fluorescent, FL11",
        Illuminant::LedB3 => "LED, LED-B3",
    }
}

impl BenchSetup {
    /// The prepared tooth's colour; `None` for an id that the library does not know.
    #[must_use]
    pub fn prepared_colour(&self, library: &Library) -> Option<Lch> {
        match &self.prepared {
            PreparedChoice::Own(colour) => Some(*colour),
            PreparedChoice::Listed(id) => {
                library.prepared_tooth_entry(id).ok().map(|entry| entry.colour)
            }
        }
    }

    /// A part that is a number; `None` for names.
    #[must_use]
    pub fn number(&self, part: SetupPart, library: &Library) -> Option<f64> {
        if let Some(height) = part.height() {
            return Some(at(&self.reduction, height));
        }
        let prepared = || self.prepared_colour(library);
        match part {
            SetupPart::PreparedLightness => Some(prepared()?.l),
            SetupPart::PreparedChroma => Some(prepared()?.c),
            SetupPart::PreparedHue => Some(prepared()?.h),
            SetupPart::CentralLightness => Some(self.central.l),
            SetupPart::CentralChroma => Some(self.central.c),
            SetupPart::CentralHue => Some(self.central.h),
            SetupPart::Mouth => Some(f64::from(self.mouth)),
            _ => None,
        }
    }

    /// A part in words, with its unit.
    #[must_use]
    pub fn in_words(&self, part: SetupPart, library: &Library) -> String {
        if let (Some(value), Some(step)) = (self.number(part, library), part.step()) {
            let decimals = if step >= 1.0 { 0 } else { 2 };
            return format!("{value:.decimals$}{}", part.unit());
        }
        match part {
            SetupPart::Tooth => format!("{}, {}", self.tooth, self.tooth.name()),
            SetupPart::Preparation => match self.preparation {
                Preparation::Crown => "crown".to_owned(),
                _ => "veneer".to_owned(),
            },
            SetupPart::Prepared => match &self.prepared {
                PreparedChoice::Own(_) => "a colour of your own".to_owned(),
                PreparedChoice::Listed(id) => library
                    .prepared_tooth_entry(id)
                    .map_or_else(|_| id.clone(), |entry| entry.name.clone()),
            },
            SetupPart::Light => light_in_words(self.light).to_owned(),
            SetupPart::Framing => match self.framing {
                Framing::Conversation => "in conversation",
                Framing::Retracted => "lips held away",
                Framing::CloseUp => "close up",
                Framing::Posterior => "from the cheek",
            }
            .to_owned(),
            SetupPart::Lamp => match self.lamp {
                Lamp::SoftBoxes => "two soft boxes",
                Lamp::Ring => "ring around the lens",
            }
            .to_owned(),
            _ => String::new(),
        }
    }

    /// Sets a number within its range; a listed prepared tooth becomes a colour of one's own. Names are
    /// left as they are.
    #[must_use]
    pub fn with_number(&self, part: SetupPart, value: f64, library: &Library) -> Self {
        let mut setup = self.clone();
        let Some((low, high)) = part.range().filter(|_| value.is_finite()) else { return setup };
        let value = value.clamp(low, high);
        if let Some(height) = part.height() {
            *at_mut(&mut setup.reduction, height) = value;
            return setup;
        }
        let mut prepared = self.prepared_colour(library).unwrap_or(setup.central);
        match part {
            SetupPart::PreparedLightness => prepared.l = value,
            SetupPart::PreparedChroma => prepared.c = value,
            SetupPart::PreparedHue => prepared.h = value,
            SetupPart::CentralLightness => setup.central.l = value,
            SetupPart::CentralChroma => setup.central.c = value,
            SetupPart::CentralHue => setup.central.h = value,
            SetupPart::Mouth => setup.mouth = value.round() as u32,
            _ => {}
        }
        if Some(prepared) != self.prepared_colour(library) {
            setup.prepared = PreparedChoice::Own(prepared);
        }
        setup
    }

    /// The setup with a part moved by whole steps: numbers within their range, names along their
    /// list. After the last listed prepared tooth comes a colour of one's own.
    #[must_use]
    pub fn stepped(&self, part: SetupPart, steps: i32, library: &Library) -> Self {
        if let (Some(value), Some(step)) = (self.number(part, library), part.step()) {
            return self.with_number(part, rounded(value + f64::from(steps) * step, step), library);
        }
        let mut setup = self.clone();
        match part {
            SetupPart::Tooth => setup.tooth = along(&teeth_in(self.framing), &self.tooth, steps),
            SetupPart::Preparation => {
                let all = [Preparation::Veneer, Preparation::Crown];
                setup.preparation = along(&all, &self.preparation, steps);
            }
            SetupPart::Prepared => {
                let listed = library.tissues().prepared_teeth.iter();
                let mut all: Vec<PreparedChoice> =
                    listed.map(|entry| PreparedChoice::Listed(entry.id.clone())).collect();
                let own = match &self.prepared {
                    PreparedChoice::Own(_) => Some(self.prepared.clone()),
                    PreparedChoice::Listed(_) => {
                        self.prepared_colour(library).map(PreparedChoice::Own)
                    }
                };
                all.extend(own);
                setup.prepared = along(&all, &self.prepared, steps);
            }
            SetupPart::Light => setup.light = along(&Illuminant::ALL, &self.light, steps),
            SetupPart::Framing => {
                setup.framing = along(&Framing::ALL, &self.framing, steps);
                setup.tooth = nearest_shown(self.tooth, setup.framing);
            }
            SetupPart::Lamp => {
                setup.lamp = along(&[Lamp::SoftBoxes, Lamp::Ring], &self.lamp, steps);
            }
            _ => {}
        }
        setup
    }

    /// The natural smile.
    fn natural(&self, library: &Library) -> Result<Case, BakeError> {
        let key = StreamKey {
            form: FREE_BENCH_ID,
            seed: u64::from(self.mouth),
            purpose: Purpose::Scene,
            block: 0,
            trial: 0,
        };
        let mut stream = key.stream();
        let seed = rand::RngExt::random::<u64>(&mut stream);
        let gingiva = library.tissues().gingivae.first().map(|gingiva| gingiva.colour);
        let just = |value: f64| Range { low: value, high: value };
        let ranges = PatientRanges {
            central: LchRanges {
                l: just(self.central.l),
                c: just(self.central.c),
                h: just(self.central.h),
            },
            residual_sd_de00: 0.0,
            enamel_factor: just(1.0),
            teeth: None,
        };
        let gingiva = gingiva.unwrap_or(Lch { l: 51.0, c: 33.0, h: 34.0 });
        let mut patient = patient(&ranges, &teeth_in(self.framing), gingiva, &mut stream);
        for tooth in &mut patient.teeth {
            *tooth = within_reach(tooth, seed, library)?;
        }
        Ok(Case {
            seed,
            patient,
            restorations: Vec::new(),
            shift: None,
            illuminant: self.light,
            staging: Staging { framing: self.framing, lamp: self.lamp },
        })
    }

    /// Sets the bench up.
    ///
    /// # Errors
    /// [`SetupError`] when the prepared tooth is not known or nothing near a colour can be had.
    pub fn set_up(&self, library: &Library) -> Result<FreeBench, SetupError> {
        let mut remarks = Vec::new();
        let prepared = match &self.prepared {
            PreparedChoice::Listed(id) => id.clone(),
            PreparedChoice::Own(wanted) => {
                let reached = reachable_prepared(*wanted, library)?;
                remarks.extend(remark("a prepared tooth", *wanted, reached));
                own_tooth::id(reached)
            }
        };
        let natural = self.natural(library)?;
        if let Some(central) = natural.patient.teeth.iter().find(|t| t.tooth.position() == 1) {
            remarks.extend(remark("a natural central incisor", self.central, central.body));
        }
        let task = BenchTask::free(
            natural,
            self.tooth,
            self.preparation,
            &prepared,
            self.reduction,
            library,
        )?;
        Ok(FreeBench { round: free_round(task, u64::from(self.mouth)), remarks })
    }
}

impl FreeBench {
    /// The bench of a case from the clinic.
    ///
    /// # Errors
    /// [`SetupError`] when the case cannot be baked; a checked case can.
    pub fn of_case(
        case: &PreparedCase,
        light: Illuminant,
        seed: u64,
        library: &Library,
    ) -> Result<Self, SetupError> {
        let natural = Case {
            seed,
            patient: case.patient.clone(),
            restorations: Vec::new(),
            shift: None,
            illuminant: light,
            staging: case.staging,
        };
        let reduction = case.space.reduction;
        let mut task = BenchTask::free(
            natural,
            case.tooth,
            case.preparation,
            &case.prepared_tooth,
            reduction,
            library,
        )?;
        // The gap that was kept for the cement is the film to begin with.
        let film = case.space.cement_gap_mm;
        task.start = task.start.with_number(RecipePart::Film, film, &task.limits);
        for part in HEIGHTS {
            let room = task.limits.room_mm(part, task.start.cement_film_mm);
            task.start = task.start.with_number(part, room, &task.limits);
        }
        Ok(Self { round: free_round(task, seed), remarks: Vec::new() })
    }
}

/// One question without attempts: it is never answered, and nothing of it is stored.
fn free_round(task: BenchTask, seed: u64) -> Round {
    let natural = Sight { name: "Natural".to_owned(), case: task.natural.clone() };
    let start = Sight { name: "As it stands".to_owned(), case: task.case_with(&task.start) };
    let question = Question {
        number: 0,
        seed_key: format!("{FREE_BENCH_ID}/{seed}/0/0"),
        catch: false,
        sights: vec![start, natural],
        task: Task::Bench(task),
    };
    Round {
        level_id: FREE_BENCH_ID.to_owned(),
        title: "Bench, free play".to_owned(),
        teaches: String::new(),
        exercise: "bench",
        seed,
        questions: vec![question],
    }
}

/// Says so where a colour is not the wanted one.
fn remark(what: &str, wanted: Lch, reached: Lch) -> Option<String> {
    let off = ciede2000(Lab::from(wanted), Lab::from(reached)).de00;
    (off > REMARK_DE00).then(|| {
        let (wanted, reached) = (wanted.name(), reached.name());
        format!("{what} cannot have {wanted}; the nearest is used, {reached} (ΔE00 {off:.1})")
    })
}

fn along<T: PartialEq + Clone>(list: &[T], from: &T, steps: i32) -> T {
    moved(list, from, steps).unwrap_or(from).clone()
}

/// The tooth itself where a framing shows it, or the nearest on either side.
fn nearest_shown(tooth: Tooth, framing: Framing) -> Tooth {
    let off = |other: &Tooth| {
        let sides = other.is_patients_right() != tooth.is_patients_right();
        (other.position().abs_diff(tooth.position()), sides)
    };
    teeth_in(framing).into_iter().min_by_key(off).unwrap_or(tooth)
}
