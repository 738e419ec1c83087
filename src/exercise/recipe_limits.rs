//! What a recipe may be in a case, and what keeps one from being made.

use super::at_hand::{self, CementChoice, ClassChoice, Offered};
use super::recipe::Recipe;
use super::recipe_part::{HEIGHTS, RecipePart, at, map_of, translucency_name};
use crate::colorimetry::Lch;
use crate::material::Library;
use crate::scene::{Ceramic, Preparation, Thickness, Translucency};
use thiserror::Error;

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

/// Thinnest ceramic at all, mm: a margin where next to nothing was removed (common practice, no
/// source).
const THINNEST_MM: f64 = 0.02;

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

    pub(super) fn class(&self, id: &str) -> Option<&ClassChoice> {
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
