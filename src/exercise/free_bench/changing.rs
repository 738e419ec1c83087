//! Going through what a bench is set up with: numbers, words and steps.

use super::parts::SetupPart;
use super::setup::{BenchSetup, FRONT_ARCH, MARGIN_HEIGHT, PreparedChoice, SIDE_ARCH};
use crate::colorimetry::{Illuminant, Lch};
use crate::exercise::recipe_part::{at, at_mut, moved, rounded};
use crate::material::Library;
use crate::scene::{Framing, Lamp, Preparation, Tooth};

/// Teeth that a framing shows, in the viewer's order.
pub(super) fn teeth_in(framing: Framing) -> Vec<Tooth> {
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
        if part == SetupPart::MarginHeight {
            return self.margin_height();
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
                Preparation::Veneer => "veneer",
                Preparation::Crown => "crown",
                Preparation::Onlay { .. } => "onlay of a back tooth",
            }
            .to_owned(),
            SetupPart::MarginHeight => "onlays only".to_owned(),
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
        if part == SetupPart::MarginHeight {
            if self.margin_height().is_some() {
                setup.preparation = Preparation::Onlay { margin_height: value };
            }
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
            SetupPart::Tooth => {
                let mut teeth = teeth_in(self.framing);
                if self.margin_height().is_some() {
                    teeth.retain(is_back);
                }
                setup.tooth = along(&teeth, &self.tooth, steps);
            }
            SetupPart::Preparation => {
                let margin_height = self.margin_height().unwrap_or(MARGIN_HEIGHT);
                let onlay = Preparation::Onlay { margin_height };
                let all = [Preparation::Veneer, Preparation::Crown, onlay];
                setup.preparation = along(&all, &self.preparation, steps);
                if setup.margin_height().is_some() {
                    setup.go_to_back_teeth();
                }
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
                // Close up there is no back tooth for an onlay.
                if self.margin_height().is_some() && !is_back(&setup.tooth) {
                    match nearest_back(self.tooth, setup.framing) {
                        Some(tooth) => setup.tooth = tooth,
                        None => setup.preparation = Preparation::Crown,
                    }
                }
            }
            SetupPart::Lamp => {
                setup.lamp = along(&[Lamp::SoftBoxes, Lamp::Ring], &self.lamp, steps);
            }
            _ => {}
        }
        setup
    }

    /// Height of an onlay's margin line, 0 at the gum to 1 at the cusp tip; `None` for what reaches
    /// the gum.
    #[must_use]
    pub const fn margin_height(&self) -> Option<f64> {
        match self.preparation {
            Preparation::Onlay { margin_height } => Some(margin_height),
            Preparation::Veneer | Preparation::Crown => None,
        }
    }

    /// Goes to a premolar or molar, seen from the cheek unless the one at hand is in view already.
    fn go_to_back_teeth(&mut self) {
        if is_back(&self.tooth) && self.framing.shows(self.tooth) {
            return;
        }
        self.framing = Framing::Posterior;
        if let Some(tooth) = nearest_back(self.tooth, self.framing) {
            self.tooth = tooth;
        }
    }
}

/// Whether a tooth is a premolar or molar.
const fn is_back(tooth: &Tooth) -> bool {
    tooth.position() >= 4
}

/// The back tooth in view that is nearest a tooth.
fn nearest_back(tooth: Tooth, framing: Framing) -> Option<Tooth> {
    let back = teeth_in(framing).into_iter().filter(is_back);
    back.min_by_key(|other| distance(tooth, *other))
}

fn along<T: PartialEq + Clone>(list: &[T], from: &T, steps: i32) -> T {
    moved(list, from, steps).unwrap_or(from).clone()
}

/// The tooth itself where a framing shows it, or the nearest on either side.
fn nearest_shown(tooth: Tooth, framing: Framing) -> Tooth {
    teeth_in(framing).into_iter().min_by_key(|other| distance(tooth, *other)).unwrap_or(tooth)
}

/// How far a tooth is from another: places, and then whether on the other side.
const fn distance(from: Tooth, to: Tooth) -> (u8, bool) {
    let sides = to.is_patients_right() != from.is_patients_right();
    (to.position().abs_diff(from.position()), sides)
}
