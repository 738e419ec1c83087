//! What a restoration is to be made of, as it is composed: parts, limits and steps.

use super::at_hand::{self, CementChoice, ClassChoice, Offered};
use crate::colorimetry::Lch;
use crate::material::Library;
use crate::scene::{Ceramic, Preparation, Restoration, Thickness, Tooth, Translucency};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Everything that is chosen about a restoration; the prepared tooth is not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    /// Class, translucency, shade, graded or not, and where the tooth stands in its block.
    pub ceramic: Ceramic,
    /// Thickness of the ceramic at four heights, mm.
    pub thickness: Thickness,
    /// Cement id.
    pub cement: String,
    /// Cement film, mm.
    pub cement_film_mm: f64,
}

/// One thing that can be changed about a recipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RecipePart {
    /// Ceramic class.
    Class,
    /// Translucency.
    Translucency,
    /// Shade: lightness L*.
    Lightness,
    /// Shade: chroma C*ab.
    Chroma,
    /// Shade: hue angle, degrees.
    Hue,
    /// Uniform or graded block.
    Graded,
    /// Place in a graded block.
    BlockShift,
    /// Thickness at the margin.
    Margin,
    /// Thickness at the neck.
    Neck,
    /// Thickness in the middle.
    Middle,
    /// Thickness at the incisal third (the cusps of a back tooth).
    Incisal,
    /// Cement.
    Cement,
    /// Cement film.
    Film,
}

/// What a recipe may be in a case: the materials at hand and the space that was prepared.
#[derive(Debug, Clone, PartialEq)]
pub struct RecipeLimits {
    /// Ceramic classes.
    pub classes: Vec<ClassChoice>,
    /// Cements.
    pub cements: Vec<CementChoice>,
    /// The shades of the lattice; of designed classes any shade within their range may be chosen.
    pub shades: Vec<Lch>,
    /// How much tooth was removed at each height: room for ceramic and cement, mm.
    pub reduction: Thickness,
    /// Thinnest ceramic at each height, mm.
    pub least: Thickness,
    /// Thinnest and thickest cement film, mm.
    pub film_mm: [f64; 2],
}

/// Why a recipe cannot be made.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RecipeProblem {
    /// The class is not at hand.
    #[error("no ceramic is called \"{0}\" here: choose another class")]
    Class(String),
    /// The class lacks the translucency.
    #[error("{class} does not come in {} translucency", translucency_name(*.translucency))]
    Translucency {
        /// Name of the class.
        class: String,
        /// The missing one.
        translucency: Translucency,
    },
    /// The measured class lacks the shade.
    #[error("{class} was not measured in {}: choose one of its shades", shade.name())]
    Shade {
        /// Name of the class.
        class: String,
        /// The missing one.
        shade: Lch,
    },
    /// The class has no graded block.
    #[error("{0} does not come as a graded block: choose a uniform one or another class")]
    Graded(String),
    /// The cement is not at hand.
    #[error("no cement is called \"{0}\" here: choose another")]
    Cement(String),
    /// A number is outside its limits.
    #[error("{what} is {value:.2}{unit}, but must lie between {low:.2} and {high:.2}{unit}")]
    Outside {
        /// Which part.
        part: RecipePart,
        /// In words.
        what: &'static str,
        /// What it is.
        value: f64,
        /// Least.
        low: f64,
        /// Most.
        high: f64,
        /// Unit, with a space where one belongs.
        unit: &'static str,
    },
    /// Ceramic and cement need more room than was prepared.
    #[error(
        "at the {place}, {ceramic_mm:.2} mm of ceramic and {film_mm:.2} mm of cement need more than \
         the {room_mm:.2} mm that were prepared"
    )]
    NoRoom {
        /// Which part.
        part: RecipePart,
        /// Height in words.
        place: &'static str,
        /// Ceramic, mm.
        ceramic_mm: f64,
        /// Cement, mm.
        film_mm: f64,
        /// Reduction, mm.
        room_mm: f64,
    },
}

/// Plain word for a translucency.
#[must_use]
pub const fn translucency_name(translucency: Translucency) -> &'static str {
    match translucency {
        Translucency::Low => "low",
        Translucency::Medium => "medium",
        Translucency::High => "high",
    }
}

/// Thinnest ceramic at all, mm: a margin where next to nothing was removed (common practice, no
/// source).
const THINNEST_MM: f64 = 0.02;

/// The four heights at which thickness is chosen.
pub(super) const HEIGHTS: [RecipePart; 4] =
    [RecipePart::Margin, RecipePart::Neck, RecipePart::Middle, RecipePart::Incisal];

/// Thickness at a height, by its part.
pub(super) const fn at(thickness: &Thickness, part: RecipePart) -> f64 {
    match part {
        RecipePart::Margin => thickness.margin_mm,
        RecipePart::Neck => thickness.neck_mm,
        RecipePart::Incisal => thickness.incisal_mm,
        _ => thickness.body_mm,
    }
}

pub(super) fn at_mut(thickness: &mut Thickness, part: RecipePart) -> &mut f64 {
    match part {
        RecipePart::Margin => &mut thickness.margin_mm,
        RecipePart::Neck => &mut thickness.neck_mm,
        RecipePart::Incisal => &mut thickness.incisal_mm,
        _ => &mut thickness.body_mm,
    }
}

/// A thickness map from its values at the four heights.
pub(super) fn map_of(value: impl Fn(RecipePart) -> f64) -> Thickness {
    let [margin_mm, neck_mm, body_mm, incisal_mm] = HEIGHTS.map(value);
    Thickness { margin_mm, neck_mm, body_mm, incisal_mm }
}

/// Rounds to a multiple of a step without leaving its last digits behind.
pub(super) fn rounded(value: f64, step: f64) -> f64 {
    let per_unit = (1.0 / step).round();
    if per_unit >= 1.0 { (value * per_unit).round() / per_unit } else { value }
}

impl RecipePart {
    /// All parts in the order of a form.
    pub const ALL: [Self; 13] = [
        Self::Class,
        Self::Translucency,
        Self::Lightness,
        Self::Chroma,
        Self::Hue,
        Self::Graded,
        Self::BlockShift,
        Self::Margin,
        Self::Neck,
        Self::Middle,
        Self::Incisal,
        Self::Cement,
        Self::Film,
    ];

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Class => "ceramic",
            Self::Translucency => "translucency",
            Self::Lightness => "lightness",
            Self::Chroma => "chroma",
            Self::Hue => "hue",
            Self::Graded => "graded block",
            Self::BlockShift => "place in the block",
            Self::Margin => "margin",
            Self::Neck => "neck",
            Self::Middle => "middle",
            Self::Incisal => "incisal third",
            Self::Cement => "cement",
            Self::Film => "cement film",
        }
    }

    /// Unit of a number, empty for names and pure numbers.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Hue => "°",
            Self::Margin | Self::Neck | Self::Middle | Self::Incisal | Self::Film => " mm",
            _ => "",
        }
    }

    /// What one step of the keyboard changes, for numbers: one L*, C* or degree, 0.05 mm of
    /// ceramic, 0.01 mm of cement, a twentieth of the tooth's height.
    #[must_use]
    pub const fn step(self) -> Option<f64> {
        match self {
            Self::Lightness | Self::Chroma | Self::Hue => Some(1.0),
            Self::BlockShift | Self::Margin | Self::Neck | Self::Middle | Self::Incisal => {
                Some(0.05)
            }
            Self::Film => Some(0.01),
            Self::Class | Self::Translucency | Self::Graded | Self::Cement => None,
        }
    }
}

impl RecipeLimits {
    /// The materials of a library in the space of a case.
    ///
    /// `reduction` is what was removed at each height, ceramic and cement together. Ceramic is at
    /// least 0.3 mm thick (0.5 mm in a crown or onlay) and 0.05 mm at the margin: common practice,
    /// no source; where less room was prepared, ceramic may be as thin as the room allows.
    #[must_use]
    pub fn new(library: &Library, preparation: Preparation, reduction: Thickness) -> Self {
        let film_mm = [0.02, 0.12];
        let face = if preparation == Preparation::Veneer { 0.3 } else { 0.5 };
        let least = map_of(|part| {
            let least: f64 = if part == RecipePart::Margin { 0.05 } else { face };
            least.min(at(&reduction, part) - film_mm[0]).max(THINNEST_MM)
        });
        let cements = library.cements().cements.iter();
        let cements = cements.map(|c| CementChoice { id: c.id.clone(), name: c.name.clone() });
        Self {
            classes: at_hand::plain_classes(library),
            cements: cements.collect(),
            shades: library.ceramics().shades.lattice.clone(),
            reduction,
            least,
            film_mm,
        }
    }

    /// The same with these ceramics and no other.
    #[must_use]
    pub fn with_ceramics(self, library: &Library, ceramics: &[Offered]) -> Self {
        Self { classes: at_hand::offered(library, ceramics), ..self }
    }

    /// The same with a cement film of this thickness among those that may be chosen, mm. What is
    /// stated counts, be it beyond what is offered otherwise.
    #[must_use]
    pub const fn with_film(mut self, film_mm: f64) -> Self {
        self.film_mm = [self.film_mm[0].min(film_mm), self.film_mm[1].max(film_mm)];
        self
    }

    /// The same with this cement film and no other, and ceramic that fills the rest of what was
    /// removed: thickness is reduction less the film.
    #[must_use]
    pub fn filled(self, film_mm: f64) -> Self {
        let least = map_of(|part| at(&self.reduction, part) - film_mm);
        Self { least, film_mm: [film_mm; 2], ..self }
    }

    /// The same with this cement film and no other, mm; ceramic may be thinner than the room.
    #[must_use]
    pub const fn on_film(mut self, film_mm: f64) -> Self {
        self.film_mm = [film_mm; 2];
        self
    }

    /// Whether a part has a single value here, so that there is nothing to choose.
    #[must_use]
    pub fn is_fixed(&self, recipe: &Recipe, part: RecipePart) -> bool {
        self.range(recipe, part).is_some_and(|(low, high)| high - low < 1e-9)
    }

    /// The shades in which a ceramic comes here: those of the pieces of a measured class, or the
    /// lattice.
    pub(super) fn shades_of(&self, class: &str, translucency: Translucency) -> Vec<Lch> {
        let pieces = self.class(class).and_then(|class| class.piece_shades(translucency));
        pieces.unwrap_or_else(|| self.shades.clone())
    }

    /// The shades of the pieces of a recipe's ceramic, where it is measured.
    fn pieces_of(&self, ceramic: &Ceramic) -> Option<Vec<Lch>> {
        self.class(&ceramic.class)?.piece_shades(ceramic.translucency)
    }

    fn class(&self, id: &str) -> Option<&ClassChoice> {
        self.classes.iter().find(|class| class.id == id)
    }

    /// Room for ceramic at a height over a cement film, mm.
    #[must_use]
    pub fn room_mm(&self, part: RecipePart, film_mm: f64) -> f64 {
        at(&self.reduction, part) - film_mm
    }

    fn over_shades(&self, of: impl Fn(&Lch) -> f64) -> (f64, f64) {
        let ends = (f64::INFINITY, f64::NEG_INFINITY);
        self.shades.iter().map(of).fold(ends, |(low, high), v| (low.min(v), high.max(v)))
    }

    /// Largest chroma that the lattice has at a lightness: straight between its values.
    fn most_chroma(&self, lightness: f64) -> f64 {
        let at_value = |l: f64| {
            let same = self.shades.iter().filter(|shade| (shade.l - l).abs() < 1e-9);
            same.map(|shade| shade.c).fold(f64::NEG_INFINITY, f64::max)
        };
        let below = self.shades.iter().map(|s| s.l).filter(|l| *l <= lightness);
        let above = self.shades.iter().map(|s| s.l).filter(|l| *l >= lightness);
        let (low, high) =
            (below.fold(f64::NEG_INFINITY, f64::max), above.fold(f64::INFINITY, f64::min));
        if !low.is_finite() || !high.is_finite() {
            return self.over_shades(|shade| shade.c).0;
        }
        let share = if high > low { (lightness - low) / (high - low) } else { 0.0 };
        at_value(low) + share * (at_value(high) - at_value(low))
    }

    /// Least and most of a number in a recipe; `None` for names.
    #[must_use]
    pub fn range(&self, recipe: &Recipe, part: RecipePart) -> Option<(f64, f64)> {
        if let Some(pieces) = self.pieces_of(&recipe.ceramic)
            && let Some(range) = at_hand::range_over(&pieces, part)
        {
            return Some(range);
        }
        Some(match part {
            RecipePart::Lightness => self.over_shades(|shade| shade.l),
            RecipePart::Chroma => {
                (self.over_shades(|shade| shade.c).0, self.most_chroma(recipe.ceramic.shade.l))
            }
            RecipePart::Hue => self.over_shades(|shade| shade.h),
            RecipePart::BlockShift => (*Ceramic::BLOCK_SHIFT.start(), *Ceramic::BLOCK_SHIFT.end()),
            RecipePart::Film => (self.film_mm[0], self.film_mm[1]),
            RecipePart::Margin | RecipePart::Neck | RecipePart::Middle | RecipePart::Incisal => {
                let room = self.room_mm(part, recipe.cement_film_mm).max(THINNEST_MM);
                (at(&self.least, part).min(room), room)
            }
            _ => return None,
        })
    }

    /// Everything that keeps a recipe from being made; empty when it can be.
    #[must_use]
    pub fn problems(&self, recipe: &Recipe) -> Vec<RecipeProblem> {
        let mut problems = Vec::new();
        let ceramic = &recipe.ceramic;
        match self.class(&ceramic.class) {
            None => problems.push(RecipeProblem::Class(ceramic.class.clone())),
            Some(class) => {
                if !ceramic.graded && !class.translucencies.contains(&ceramic.translucency) {
                    let (class, translucency) = (class.name.clone(), ceramic.translucency);
                    problems.push(RecipeProblem::Translucency { class, translucency });
                }
                let shade = ceramic.shade;
                let pieces = class.piece_shades(ceramic.translucency);
                if pieces.is_some_and(|all| all.iter().all(|one| one.name() != shade.name())) {
                    problems.push(RecipeProblem::Shade { class: class.name.clone(), shade });
                }
                if ceramic.graded && !class.graded {
                    problems.push(RecipeProblem::Graded(class.name.clone()));
                }
            }
        }
        if !self.cements.iter().any(|cement| cement.id == recipe.cement) {
            problems.push(RecipeProblem::Cement(recipe.cement.clone()));
        }
        for part in RecipePart::ALL {
            let (Some(value), Some((low, high))) = (recipe.number(part), self.range(recipe, part))
            else {
                continue;
            };
            // A hundredth of a step: sums of decimals are not exact.
            let slack = 0.01 * part.step().unwrap_or(0.0);
            let film_mm = recipe.cement_film_mm;
            if HEIGHTS.contains(&part) && value > high + slack {
                let room_mm = at(&self.reduction, part);
                let place = part.name();
                let problem =
                    RecipeProblem::NoRoom { part, place, ceramic_mm: value, film_mm, room_mm };
                problems.push(problem);
            } else if !(low - slack..=high + slack).contains(&value) {
                let (what, unit) = (part.name(), part.unit());
                problems.push(RecipeProblem::Outside { part, what, value, low, high, unit });
            }
        }
        problems
    }
}

impl Recipe {
    /// The recipe of a restoration.
    #[must_use]
    pub fn of(restoration: &Restoration) -> Self {
        Self {
            ceramic: restoration.ceramic.clone(),
            thickness: restoration.thickness,
            cement: restoration.cement.clone(),
            cement_film_mm: restoration.cement_film_mm,
        }
    }

    /// The restoration that this recipe makes on a prepared tooth, just seated.
    #[must_use]
    pub fn restoration(
        &self,
        tooth: Tooth,
        preparation: Preparation,
        prepared_tooth: &str,
    ) -> Restoration {
        Restoration {
            tooth,
            preparation,
            ceramic: self.ceramic.clone(),
            thickness: self.thickness,
            cement: self.cement.clone(),
            cement_film_mm: self.cement_film_mm,
            prepared_tooth: prepared_tooth.to_owned(),
            drift: None,
        }
    }

    /// A part that is a number; `None` for names.
    #[must_use]
    pub const fn number(&self, part: RecipePart) -> Option<f64> {
        Some(match part {
            RecipePart::Lightness => self.ceramic.shade.l,
            RecipePart::Chroma => self.ceramic.shade.c,
            RecipePart::Hue => self.ceramic.shade.h,
            RecipePart::BlockShift => self.ceramic.block_shift,
            RecipePart::Film => self.cement_film_mm,
            RecipePart::Margin | RecipePart::Neck | RecipePart::Middle | RecipePart::Incisal => {
                at(&self.thickness, part)
            }
            _ => return None,
        })
    }

    /// Sets a number and holds the recipe within its limits: a thicker film or a lighter shade may
    /// take room or chroma away. Names are left as they are.
    #[must_use]
    pub fn with_number(&self, part: RecipePart, value: f64, limits: &RecipeLimits) -> Self {
        let mut recipe = self.clone();
        let class = limits.class(&recipe.ceramic.class).filter(|_| value.is_finite());
        if let Some(shade) = class.and_then(|class| class.piece_at(&recipe.ceramic, part, value)) {
            recipe.ceramic.shade = shade;
            return recipe.held(limits);
        }
        let slot = match part {
            RecipePart::Lightness => &mut recipe.ceramic.shade.l,
            RecipePart::Chroma => &mut recipe.ceramic.shade.c,
            RecipePart::Hue => &mut recipe.ceramic.shade.h,
            RecipePart::BlockShift => &mut recipe.ceramic.block_shift,
            RecipePart::Film => &mut recipe.cement_film_mm,
            RecipePart::Margin | RecipePart::Neck | RecipePart::Middle | RecipePart::Incisal => {
                at_mut(&mut recipe.thickness, part)
            }
            _ => return recipe,
        };
        if value.is_finite() {
            *slot = value;
        }
        recipe.held(limits)
    }

    /// The nearest recipe within the limits; names that are not at hand become the first that is.
    #[must_use]
    pub fn held(&self, limits: &RecipeLimits) -> Self {
        let mut recipe = self.clone();
        if let Some(class) = limits.class(&recipe.ceramic.class).or(limits.classes.first()) {
            recipe.ceramic.class.clone_from(&class.id);
            recipe.ceramic.graded &= class.graded;
            if !class.translucencies.contains(&recipe.ceramic.translucency)
                && let Some(first) = class.translucencies.first()
            {
                recipe.ceramic.translucency = *first;
            }
            recipe.ceramic.shade = class.nearest_shade(&recipe.ceramic);
        }
        if !recipe.ceramic.graded {
            recipe.ceramic.block_shift = 0.0;
        }
        if !limits.cements.iter().any(|cement| cement.id == recipe.cement)
            && let Some(first) = limits.cements.first()
        {
            recipe.cement.clone_from(&first.id);
        }
        let hold = |value: f64, range: Option<(f64, f64)>| {
            range.map_or(value, |(low, high)| value.clamp(low, high.max(low)))
        };
        let (low, high) = (limits.film_mm[0], limits.film_mm[1]);
        recipe.cement_film_mm = hold(recipe.cement_film_mm, Some((low, high)));
        recipe.ceramic.shade.l =
            hold(recipe.ceramic.shade.l, limits.range(&recipe, RecipePart::Lightness));
        recipe.ceramic.shade.c =
            hold(recipe.ceramic.shade.c, limits.range(&recipe, RecipePart::Chroma));
        recipe.ceramic.shade.h =
            hold(recipe.ceramic.shade.h, limits.range(&recipe, RecipePart::Hue));
        recipe.ceramic.block_shift =
            hold(recipe.ceramic.block_shift, limits.range(&recipe, RecipePart::BlockShift));
        for part in HEIGHTS {
            let held = hold(at(&recipe.thickness, part), limits.range(&recipe, part));
            *at_mut(&mut recipe.thickness, part) = held;
        }
        recipe
    }

    /// The recipe with a part moved by whole steps, held within its limits. Names move along their
    /// list and stop at its ends; a graded block is a step above a uniform one.
    #[must_use]
    pub fn stepped(&self, part: RecipePart, steps: i32, limits: &RecipeLimits) -> Self {
        let class = limits.class(&self.ceramic.class);
        if let Some(shade) = class.and_then(|c| c.further_piece(&self.ceramic, part, steps)) {
            let mut recipe = self.clone();
            recipe.ceramic.shade = shade;
            return recipe.held(limits);
        }
        if let (Some(value), Some(step)) = (self.number(part), part.step()) {
            let to = rounded(value + f64::from(steps) * step, step);
            return self.with_number(part, to, limits);
        }
        let mut recipe = self.clone();
        match part {
            RecipePart::Class => {
                let ids: Vec<&String> = limits.classes.iter().map(|class| &class.id).collect();
                if let Some(id) = moved(&ids, &&recipe.ceramic.class, steps) {
                    recipe.ceramic.class = (*id).clone();
                }
            }
            RecipePart::Translucency => {
                if let Some(class) = limits.class(&recipe.ceramic.class)
                    && let Some(to) =
                        moved(&class.translucencies, &recipe.ceramic.translucency, steps)
                {
                    recipe.ceramic.translucency = *to;
                }
            }
            RecipePart::Graded => recipe.ceramic.graded = steps > 0,
            RecipePart::Cement => {
                let ids: Vec<&String> = limits.cements.iter().map(|cement| &cement.id).collect();
                if let Some(id) = moved(&ids, &&recipe.cement, steps) {
                    recipe.cement = (*id).clone();
                }
            }
            _ => {}
        }
        recipe.held(limits)
    }
}

/// The entry `steps` further along a list, its first or last at the ends.
pub(super) fn moved<'a, T: PartialEq>(list: &'a [T], from: &T, steps: i32) -> Option<&'a T> {
    let at = list.iter().position(|entry| entry == from).unwrap_or(0);
    let last = list.len().checked_sub(1)?;
    let to = i64::try_from(at).ok()? + i64::from(steps);
    list.get(usize::try_from(to.max(0)).ok()?.min(last))
}
