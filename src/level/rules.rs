//! What a level must be beyond well-formed.

use super::checker::Checker;
use super::diagnostic::{nearest, one_of, one_of_ids};
use super::format::{BenchThickness, Exercise, LEVEL_FORMAT, Level, PatientRanges, Range};
use super::format::{LchRanges, RestorationKind};
use crate::colorimetry::Illuminant;
use crate::material::Library;
use crate::material::format::{Cements, Ceramics, MATERIAL_FORMAT, MeasuredCeramics, Tissues};
use crate::material::own_tooth;
use crate::random::{Purpose, StreamKey};
use crate::scene::{Ceramic, Drift, Framing, Preparation, Thickness, Tooth, Translucency};
use crate::trial::schedule;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

/// Ids that levels and courses may refer to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct KnownMaterials {
    /// Ceramic classes.
    pub ceramics: BTreeSet<String>,
    /// Ceramic classes that also come as graded blocks.
    pub graded_ceramics: BTreeSet<String>,
    /// Translucencies of the measured ceramic classes, which need not have all three.
    pub measured_ceramics: BTreeMap<String, BTreeSet<Translucency>>,
    /// Cements.
    pub cements: BTreeSet<String>,
    /// Prepared-tooth colours.
    pub prepared_teeth: BTreeSet<String>,
    /// Levels, which courses refer to.
    pub levels: BTreeSet<String>,
    /// Those of them that ask questions, such as which option blends, instead of showing smiles to
    /// find a restoration in.
    pub question_levels: BTreeSet<String>,
}

impl KnownMaterials {
    /// Adds a level.
    pub fn add_level(&mut self, level: &Level) {
        self.levels.insert(level.id.clone());
        if !matches!(level.exercise, Exercise::Glance { .. }) {
            self.question_levels.insert(level.id.clone());
        }
    }

    /// Whether a level asks questions instead of showing smiles to find a restoration in.
    #[must_use]
    pub fn asks_questions(&self, level: &str) -> bool {
        self.question_levels.contains(level)
    }

    /// Adds the ids of a ceramics file.
    pub fn add_ceramics(&mut self, file: &Ceramics) {
        for class in &file.classes {
            self.ceramics.insert(class.id.clone());
            if class.graded.is_some() {
                self.graded_ceramics.insert(class.id.clone());
            }
        }
        self.ceramics.extend(file.pigmented.iter().flatten().map(|class| class.id.clone()));
    }

    /// Adds the ids of a file of measured ceramics.
    pub fn add_measured(&mut self, file: &MeasuredCeramics) {
        for class in &file.classes {
            let found = class.pieces.iter().map(|piece| piece.translucency);
            self.measured_ceramics.entry(class.id.clone()).or_default().extend(found);
            self.ceramics.insert(class.id.clone());
        }
    }

    /// The ids of a library.
    #[must_use]
    pub fn of(library: &Library) -> Self {
        let mut known = Self::default();
        known.add_ceramics(library.ceramics());
        known.add_cements(library.cements());
        known.add_tissues(library.tissues());
        for class in library.measured_ceramics() {
            let (format, classes) = (MATERIAL_FORMAT, vec![class.clone()]);
            known.add_measured(&MeasuredCeramics { format, classes });
        }
        known
    }

    /// Adds the ids of a cements file.
    pub fn add_cements(&mut self, file: &Cements) {
        self.cements.extend(file.cements.iter().map(|cement| cement.id.clone()));
    }

    /// Adds the ids of a tissues file.
    pub fn add_tissues(&mut self, file: &Tissues) {
        self.prepared_teeth.extend(file.prepared_teeth.iter().map(|tooth| tooth.id.clone()));
    }
}

// Natural centrals lie well inside these; outside them a file is more likely wrong than unusual.
const LIGHTNESS: RangeInclusive<f64> = 55.0..=90.0;
const CHROMA: RangeInclusive<f64> = 4.0..=34.0;
const HUE: RangeInclusive<f64> = 70.0..=100.0;
const ENAMEL_FACTOR: RangeInclusive<f64> = 0.4..=1.6;
const RESIDUAL_SD_DE00: RangeInclusive<f64> = 0.0..=3.0;
/// Below this a residual is a slip rather than a small one: a hundredth of a just noticeable step.
const LEAST_RESIDUAL_SD_DE00: f64 = 0.01;
const EXPOSURE_S: RangeInclusive<f64> = 0.25..=8.0;
const TRIALS: RangeInclusive<u32> = 4..=400;
const QUESTIONS: RangeInclusive<f64> = 1.0..=100.0;
const DIFFICULTY: RangeInclusive<u8> = 1..=10;
/// Above the gum, and below the cusps with ceramic to speak of.
const MARGIN_HEIGHT: RangeInclusive<f64> = 0.15..=0.7;
pub(super) const MARGIN_MM: RangeInclusive<f64> = 0.02..=1.0;
pub(super) const CERAMIC_MM: RangeInclusive<f64> = 0.1..=3.0;
const CEMENT_FILM_MM: RangeInclusive<f64> = 0.01..=0.2;
const DRIFT_MONTHS: RangeInclusive<f64> = 1.0..=Drift::MAX_MONTHS;
const DIFFERENCE_DE00: RangeInclusive<f64> = 0.3..=12.0;

/// Between the darkest teeth and what a screen still shows with the chroma of teeth.
const LADDER_LIGHTNESS: RangeInclusive<f64> = 45.0..=92.0;

/// One trial in this many shows no restoration.
const CATCH_TRIALS_ONE_IN: u32 = 4;

/// Common practice, no source: a labial veneer beyond this is a partial crown, a crown below it
/// breaks.
const THICK_VENEER_MM: f64 = 1.2;
const THIN_CROWN_MM: f64 = 0.8;

/// Drift is published for 0.3 to 0.8 mm; under more it is below what most people notice.
const THICK_FOR_DRIFT_MM: f64 = 0.8;

pub(super) fn check_level(level: &Level, known: &KnownMaterials, checker: &mut Checker<'_>) {
    checker.format(level.format, LEVEL_FORMAT);
    checker.id("id", &level.id);
    if let Some(stem) = checker.file_stem().filter(|stem| *stem != level.id) {
        checker.error(
            "id",
            format!("id \"{}\" differs from the file name \"{stem}\"", level.id),
            format!("write `id: \"{stem}\"` or rename the file to \"{}.ron\"", level.id),
        );
    }
    checker.not_blank("title", &level.title);
    checker.not_blank("teaches", &level.teaches);
    if !DIFFICULTY.contains(&level.difficulty) {
        let message = format!("difficulty is {}, outside 1 to 10", level.difficulty);
        checker.error("difficulty", message, "choose 1 (easy) to 10 (hard)");
    }
    check_exercise(level, checker);
    check_patient(&level.patient, checker);
    check_restorations(level, known, checker);
    check_difference(level, checker);
    check_framing(level, checker);
    check_schedule(level, checker);
    check_ladder(level, checker);
    check_lights(level, checker);
    check_asked_thickness(level, checker);
}

/// All patches of a ladder must be colours that a screen can show and a tooth can have.
fn check_ladder(level: &Level, checker: &mut Checker<'_>) {
    let Exercise::Ladder { patches, step, .. } = level.exercise else { return };
    if checker.has_errors() {
        return;
    }
    let half = 0.5 * f64::from(patches.saturating_sub(1)) * step.high;
    let l = level.patient.central.l;
    let (low, high) = (l.low - half, l.high + half);
    if low < *LADDER_LIGHTNESS.start() || high > *LADDER_LIGHTNESS.end() {
        let (least, most) = (LADDER_LIGHTNESS.start(), LADDER_LIGHTNESS.end());
        checker.error(
            "exercise.step",
            format!(
                "with steps up to {} patches reach from L {low:.1} to L {high:.1}, outside {least} \
                 to {most}",
                step.high
            ),
            "make the steps smaller, or narrow or move `patient.central.L`",
        );
    }
    if level.light != Illuminant::D65 {
        let light = level.light.name();
        let message = format!("light is {light}, but patches are screen colours under D65");
        checker.error("light", message, "write `light: D65`");
    }
}

/// The second light must be another one, and options must have something to differ in.
fn check_lights(level: &Level, checker: &mut Checker<'_>) {
    let Exercise::TwoLights { second_light, .. } = level.exercise else { return };
    if checker.usable("exercise.second_light")
        && checker.usable("light")
        && second_light == level.light
    {
        checker.error(
            "exercise.second_light",
            format!("both lights are {}", second_light.name()),
            "choose another second light, or another `light`",
        );
    }
}

/// A measured case has the room that it has: there is no thickness to ask for.
fn check_asked_thickness(level: &Level, checker: &mut Checker<'_>) {
    let Exercise::Bench { thickness: BenchThickness::Free, .. } = level.exercise else { return };
    if level.is_stated() {
        checker.error(
            "exercise.thickness",
            "thickness is free, but every colour of this case is measured, and so is its room",
            "leave `thickness` out",
        );
    }
}

/// What cannot be seen cannot be found.
fn check_framing(level: &Level, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let in_view = Tooth::arch(usize::from(level.exercise.arch()));
    let hidden: Vec<String> = restorable_teeth(level, &in_view)
        .into_iter()
        .filter(|tooth| !level.staging().framing.shows(*tooth))
        .map(|tooth| tooth.to_string())
        .collect();
    if !hidden.is_empty() {
        checker.error(
            "framing",
            format!(
                "the framing {} hides teeth that may be restored: {}",
                level.staging().framing.name(),
                hidden.join(", ")
            ),
            "list only visible teeth under `teeth`, lower the arch, or choose another framing",
        );
    }
}

/// Lays out a session to see that the teeth allow one; only worth it when all that it takes is
/// right so far.
fn check_schedule(level: &Level, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let in_view = level.teeth();
    let restorable = restorable_teeth(level, &in_view);
    let purpose = Purpose::Schedule;
    let key = StreamKey { form: &level.id, seed: level.seed, purpose, block: 0, trial: 0 };
    let trials = level.exercise.trials() as usize;
    let Some(difference) = level.difference else { return };
    if let Err(error) = schedule(key, trials, &restorable, difference.darker_share) {
        let help = "allow restorations on more teeth, on both sides alike";
        checker.error("restorations", error.to_string(), help);
    }
}

/// Whether a smile of so many upper teeth can be shown; molars only where they are in the frame.
fn can_be_in_view(level: &Level) -> bool {
    let arch = level.exercise.arch();
    [6, 8, 10].contains(&arch) || (arch == 12 && level.framing == Some(Framing::Posterior))
}

/// The teeth in view that some kind of restoration may stand on.
fn restorable_teeth(level: &Level, in_view: &[Tooth]) -> Vec<Tooth> {
    let allowed = |tooth: &&Tooth| {
        let names_it = |teeth: &Vec<u8>| teeth.contains(&tooth.number());
        level.restorations.iter().any(|kind| kind.teeth.as_ref().is_none_or(names_it))
    };
    in_view.iter().filter(allowed).copied().collect()
}

fn check_exercise(level: &Level, checker: &mut Checker<'_>) {
    if !can_be_in_view(level) {
        let arch = level.exercise.arch();
        let message = format!("arch is {arch}, but 6, 8 or 10 upper teeth can be in view");
        checker.error("exercise.arch", message, "choose 6, 8 or 10");
    }
    let Exercise::Glance { trials, exposure_s, .. } = &level.exercise else {
        return check_questions(&level.exercise, checker);
    };
    let lower = trials - trials % CATCH_TRIALS_ONE_IN;
    if !TRIALS.contains(trials) {
        checker.error(
            "exercise.trials",
            format!("trials is {trials}, outside {} to {}", TRIALS.start(), TRIALS.end()),
            "choose a multiple of 4; blocks of 20 are usual",
        );
    } else if lower != *trials {
        checker.error(
            "exercise.trials",
            format!("trials is {trials}, not a multiple of 4; a quarter must show no restoration"),
            format!("write {lower} or {}", lower + CATCH_TRIALS_ONE_IN),
        );
    }
    checker.within("exercise.exposure_s", *exposure_s, EXPOSURE_S, " s");
}

/// What exercises with questions must be.
fn check_questions(exercise: &Exercise, checker: &mut Checker<'_>) {
    checker.within("exercise.questions", f64::from(exercise.trials()), QUESTIONS, "");
    let mut options = |options: u8, limits: RangeInclusive<f64>| {
        checker.within("exercise.options", f64::from(options), limits, "");
    };
    match *exercise {
        Exercise::Glance { .. } => {}
        Exercise::Blend { options: n, restored, questions, .. } => {
            options(n, 3.0..=6.0);
            if ![1, 2, 4].contains(&restored) {
                let message = format!("restored is {restored}, but must be 1, 2 or 4 incisors");
                checker.error("exercise.restored", message, "write 1, 2 or 4");
            }
            if questions % 5 != 0 {
                let message = format!(
                    "questions is {questions}, not a multiple of 5; in a fifth none is acceptable"
                );
                let lower = questions - questions % 5;
                let help = match lower {
                    0 => "write 5".to_owned(),
                    lower => format!("write {lower} or {}", lower + 5),
                };
                checker.error("exercise.questions", message, help);
            }
        }
        Exercise::TwoLights { options: n, .. } | Exercise::Margin { options: n, .. } => {
            options(n, 3.0..=6.0);
        }
        Exercise::Ladder { patches, step, .. } => {
            if ![5, 7].contains(&patches) {
                let message = format!("patches is {patches}, but must be 5 or 7");
                checker.error("exercise.patches", message, "write 5 or 7");
            }
            check_range("exercise.step", step, 0.2..=8.0, " L*", checker);
        }
        Exercise::Match { tabs, spacing_de00, .. } => {
            checker.within("exercise.tabs", f64::from(tabs), 4.0..=12.0, "");
            checker.within("exercise.spacing_de00", spacing_de00, 0.5..=6.0, " ΔE00");
        }
        Exercise::Bench { attempts, .. } => {
            checker.within("exercise.attempts", f64::from(attempts), 1.0..=10.0, "");
        }
        Exercise::TryIn { months, .. } => {
            checker.within("exercise.months", months, DRIFT_MONTHS, " months");
        }
        Exercise::Bracket { options: n, thickness_sd_mm, prepared_sd, .. } => {
            options(n, 4.0..=8.0);
            checker.within("exercise.thickness_sd_mm", thickness_sd_mm, 0.0..=0.3, " mm");
            checker.within("exercise.prepared_sd", prepared_sd, 0.0..=6.0, " L*");
        }
        Exercise::Verdict { exposure_s, .. } => {
            checker.within("exercise.exposure_s", exposure_s, EXPOSURE_S, " s");
        }
    }
}

fn check_patient(patient: &PatientRanges, checker: &mut Checker<'_>) {
    let LchRanges { l, c, h } = patient.central;
    check_range("patient.central.L", l, LIGHTNESS, "", checker);
    check_range("patient.central.C", c, CHROMA, "", checker);
    check_range("patient.central.h", h, HUE, "°", checker);
    let sd = patient.residual_sd_de00;
    checker.within("patient.residual_sd_de00", sd, RESIDUAL_SD_DE00, "");
    if sd > 0.0 && sd < LEAST_RESIDUAL_SD_DE00 {
        checker.error(
            "patient.residual_sd_de00",
            format!("residual_sd_de00 is {sd}, far below what anybody could see or measure"),
            format!("write 0.0 for none, or at least {LEAST_RESIDUAL_SD_DE00}; teeth differ by about 0.6"),
        );
    }
    check_range("patient.enamel_factor", patient.enamel_factor, ENAMEL_FACTOR, "", checker);
    let mut seen = BTreeSet::new();
    for (index, known) in patient.teeth.iter().flatten().enumerate() {
        let path = format!("patient.teeth[{index}]");
        if let Err(error) = Tooth::new(known.tooth) {
            let help = "use two digits: quadrant 1 or 2, then 1 (central) to 8";
            checker.error(&format!("{path}.tooth"), error.to_string(), help);
        }
        if !seen.insert(known.tooth) {
            let message = format!("tooth {} is named twice", known.tooth);
            checker.error(&format!("{path}.tooth"), message, "remove one");
        }
        checker.within(&format!("{path}.colour.L"), known.colour.l, 0.0..=100.0, "");
        checker.within(&format!("{path}.colour.C"), known.colour.c, 0.0..=100.0, "");
        checker.within(&format!("{path}.colour.h"), known.colour.h, 0.0..=360.0, "°");
    }
}

/// Requires both ends within limits and in order.
fn check_range(
    path: &str,
    range: Range,
    limits: RangeInclusive<f64>,
    unit: &str,
    checker: &mut Checker<'_>,
) {
    checker.within(&format!("{path}[0]"), range.low, limits.clone(), unit);
    checker.within(&format!("{path}[1]"), range.high, limits, unit);
    if range.low > range.high {
        let (low, high) = (range.low, range.high);
        checker.error(
            path,
            format!("the range ({low}, {high}) runs downwards"),
            format!("write the lower end first: ({high}, {low})"),
        );
    }
}

fn check_restorations(level: &Level, known: &KnownMaterials, checker: &mut Checker<'_>) {
    let arch = level.exercise.arch();
    let arch = (checker.usable("exercise.arch") && can_be_in_view(level)).then_some(arch);
    for (index, kind) in level.restorations.iter().enumerate() {
        let path = format!("restorations[{index}]");
        check_teeth(&path, kind, arch, checker);
        check_thickness(&path, kind, checker);
        check_onlay(&path, level, kind, checker);
        check_materials(&path, kind, known, checker);
        check_block_shift(&path, kind, checker);
        let darker_share = level.difference.map(|difference| difference.darker_share);
        check_drift(&path, kind, darker_share, checker);
    }
    if level.exercise.restores() {
        check_shares(&level.restorations, checker);
    } else if !level.restorations.is_empty() && checker.usable("exercise") {
        let message = format!("restorations is given, but `{}` has none", level.exercise.name());
        let help = "remove it: patches and tabs stand on no tooth";
        checker.error("restorations", message, help);
    }
}

fn check_shares(kinds: &[RestorationKind], checker: &mut Checker<'_>) {
    if kinds.is_empty() {
        let help = "describe at least one kind of restoration";
        return checker.error("restorations", "restorations is empty", help);
    }
    let mut sound = checker.entire("restorations");
    for (index, kind) in kinds.iter().enumerate() {
        let path = format!("restorations[{index}].share");
        sound &= checker.usable(&path);
        if !(kind.share > 0.0 && kind.share <= 1.0) {
            sound = false;
            checker.error(
                &path,
                format!("share is {}, but must be above 0 and at most 1", kind.share),
                "give the part of the restored cases that are of this kind",
            );
        }
    }
    let sum: f64 = kinds.iter().map(|kind| kind.share).sum();
    if sound && (sum - 1.0).abs() > 1e-6 {
        let rounded = (sum * 1e6).round() / 1e6;
        checker.error(
            "restorations[0].share",
            format!("the shares sum to {rounded}, but must sum to 1"),
            "change them so that they do",
        );
    }
}

fn check_teeth(path: &str, kind: &RestorationKind, arch: Option<u8>, checker: &mut Checker<'_>) {
    let Some(teeth) = &kind.teeth else { return };
    if teeth.is_empty() {
        let help = "name teeth, or leave `teeth` out for all in view";
        checker.error(&format!("{path}.teeth"), "teeth is empty", help);
    }
    let mut seen = BTreeSet::new();
    for (index, number) in teeth.iter().enumerate() {
        let at = format!("{path}.teeth[{index}]");
        match Tooth::new(*number) {
            Err(error) => {
                let help = "use two digits: quadrant 1 or 2, then 1 (central) to 8";
                checker.error(&at, error.to_string(), help);
            }
            Ok(tooth) => {
                if let Some(arch) = arch.filter(|arch| tooth.position() > arch / 2) {
                    let last = arch / 2;
                    checker.error(
                        &at,
                        format!("tooth {tooth} is not among the {arch} teeth in view"),
                        format!("use 11 to 1{last} and 21 to 2{last}, or widen `arch`"),
                    );
                }
            }
        }
        if !seen.insert(number) {
            checker.error(&at, format!("tooth {number} is named twice"), "remove one");
        }
    }
}

fn check_thickness(path: &str, kind: &RestorationKind, checker: &mut Checker<'_>) {
    let Thickness { margin_mm, neck_mm, body_mm, incisal_mm } = kind.thickness_mm;
    let at = |field: &str| format!("{path}.thickness_mm.{field}");
    checker.within(&at("margin_mm"), margin_mm, MARGIN_MM, " mm");
    let margin_usable = checker.usable(&at("margin_mm"));
    for (field, value) in [("neck_mm", neck_mm), ("body_mm", body_mm), ("incisal_mm", incisal_mm)] {
        checker.within(&at(field), value, CERAMIC_MM, " mm");
        if margin_usable && value < margin_mm {
            checker.error(
                &at(field),
                format!("{field} is {value} mm, thinner than the margin of {margin_mm} mm"),
                format!("make it at least {margin_mm} mm or the margin thinner"),
            );
        }
        let odd = "leave it if it is meant";
        match kind.preparation {
            Preparation::Veneer if value > THICK_VENEER_MM && CERAMIC_MM.contains(&value) => {
                let message =
                    format!("{field} of a veneer is {value} mm, above {THICK_VENEER_MM} mm");
                checker.warning(&at(field), message, odd);
            }
            Preparation::Crown if value < THIN_CROWN_MM && CERAMIC_MM.contains(&value) => {
                let message = format!("{field} of a crown is {value} mm, below {THIN_CROWN_MM} mm");
                checker.warning(&at(field), message, odd);
            }
            Preparation::Veneer | Preparation::Crown | Preparation::Onlay { .. } => {}
        }
    }
    let film = format!("{path}.cement_film_mm");
    checker.within(&film, kind.cement_film_mm, CEMENT_FILM_MM, " mm");
}

/// Onlays stand on back teeth and end above the gum; a margin is hidden on an onlay only.
fn check_onlay(path: &str, level: &Level, kind: &RestorationKind, checker: &mut Checker<'_>) {
    let Preparation::Onlay { margin_height } = kind.preparation else {
        if matches!(level.exercise, Exercise::Margin { .. }) && checker.usable("exercise") {
            checker.error(
                &format!("{path}.preparation"),
                "only an onlay has a margin above the gum to hide",
                "write `preparation: onlay(margin_height: 0.45)`",
            );
        }
        return;
    };
    let at = format!("{path}.preparation");
    let height = format!("{at}.margin_height");
    checker.within(&height, margin_height, MARGIN_HEIGHT, " of the face's height");
    let front = |number: &u8| Tooth::new(*number).is_ok_and(|tooth| tooth.position() < 4);
    let fronts = kind.teeth.as_ref().map(|teeth| teeth.iter().any(front));
    if fronts.unwrap_or(true) {
        checker.error(
            &at,
            "an onlay stands on a premolar or molar",
            "name back teeth under `teeth`, such as 14 or 25",
        );
    }
}

fn check_materials(
    path: &str,
    kind: &RestorationKind,
    known: &KnownMaterials,
    checker: &mut Checker<'_>,
) {
    let mut check = |field: &str, what: &str, id: &str, ids: &BTreeSet<String>| {
        let own = field == "prepared_tooth" && own_tooth::colour(id).is_some();
        if own || ids.contains(id) {
            return;
        }
        let help = match nearest(id, ids.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None if ids.is_empty() => format!("no {what} is known: check the material files"),
            None => format!("write {}", one_of_ids(ids)),
        };
        checker.error(&format!("{path}.{field}"), format!("no {what} has the id \"{id}\""), help);
    };
    check("ceramic", "ceramic", &kind.ceramic, &known.ceramics);
    check("cement", "cement", &kind.cement, &known.cements);
    check("prepared_tooth", "prepared tooth", &kind.prepared_tooth, &known.prepared_teeth);
    if let Some(measured) = known.measured_ceramics.get(&kind.ceramic)
        && !measured.contains(&kind.translucency)
    {
        let words: Vec<String> = measured.iter().map(|t| word(*t).to_owned()).collect();
        checker.error(
            &format!("{path}.translucency"),
            format!(
                "\"{}\" was not measured in {} translucency",
                kind.ceramic,
                word(kind.translucency)
            ),
            format!("write {}", one_of(words.iter().map(String::as_str))),
        );
    }
    if kind.graded
        && known.ceramics.contains(&kind.ceramic)
        && !known.graded_ceramics.contains(&kind.ceramic)
    {
        let choices = one_of_ids(&known.graded_ceramics);
        checker.error(
            &format!("{path}.graded"),
            format!("\"{}\" does not come as a graded block", kind.ceramic),
            format!("write `graded: false`, or choose {choices}"),
        );
    }
}

/// The word that files use.
const fn word(translucency: Translucency) -> &'static str {
    match translucency {
        Translucency::Low => "low",
        Translucency::Medium => "medium",
        Translucency::High => "high",
    }
}

fn check_block_shift(path: &str, kind: &RestorationKind, checker: &mut Checker<'_>) {
    let Some(shift) = kind.block_shift else { return };
    let path = format!("{path}.block_shift");
    checker.within(&path, shift, Ceramic::BLOCK_SHIFT, " of the tooth's height");
    if !kind.graded {
        checker.error(
            &path,
            "a place in the block matters only when the block is graded".to_owned(),
            "write `graded: true`, or leave block_shift out",
        );
    }
}

fn check_drift(
    path: &str,
    kind: &RestorationKind,
    darker_share: Option<f64>,
    checker: &mut Checker<'_>,
) {
    let Some(drift) = kind.drift else { return };
    let path = format!("{path}.drift");
    checker.within(&format!("{path}.months"), drift.months, DRIFT_MONTHS, " months");
    if checker.usable("difference.darker_share")
        && let Some(darker_share) = darker_share.filter(|share| (0.0..1.0).contains(share))
    {
        checker.error(
            &path,
            format!("drift makes restorations darker, but darker_share is {darker_share}"),
            "write `darker_share: 1.0`, or give what drifts a level of its own",
        );
    }
    let body_mm = kind.thickness_mm.body_mm;
    if body_mm > THICK_FOR_DRIFT_MM && CERAMIC_MM.contains(&body_mm) {
        checker.warning(
            &path,
            format!("drift under {body_mm} mm of ceramic hardly shows"),
            format!("make body_mm at most {THICK_FOR_DRIFT_MM} mm, or leave drift out"),
        );
    }
}

fn check_difference(level: &Level, checker: &mut Checker<'_>) {
    let is_glance = matches!(level.exercise, Exercise::Glance { .. });
    let Some(difference) = level.difference else {
        if is_glance && checker.usable("exercise") {
            let message = "field `difference` of `Level` is missing";
            checker.error(
                "difference",
                message,
                "add `difference: (de00: (…, …), darker_share: …)`",
            );
        }
        return;
    };
    if !is_glance {
        let message = format!("difference is given, but `{}` has none", level.exercise.name());
        return checker.error("difference", message, "remove it: here the learner brings it about");
    }
    check_range("difference.de00", difference.de00, DIFFERENCE_DE00, "", checker);
    checker.within("difference.darker_share", difference.darker_share, 0.0..=1.0, "");
}
