//! The ceramics and cements at hand when a restoration is composed.
//!
//! A designed class comes in any shade within the lattice; a measured one only in the shades of its
//! pieces, so that composing goes from piece to piece.

use super::recipe_part::RecipePart;
use crate::colorimetry::{Lab, Lch};
use crate::level::clinic::CeramicChoice;
use crate::level::format::RestorationKind;
use crate::material::Library;
use crate::scene::{Ceramic, Translucency};

/// A ceramic class that can be chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassChoice {
    /// Id in the material library.
    pub id: String,
    /// Plain words.
    pub name: String,
    /// Its translucencies, from low to high.
    pub translucencies: Vec<Translucency>,
    /// Whether it also comes as a graded block.
    pub graded: bool,
    /// Of a measured class the shades of its pieces, by translucency; `None` for a designed one,
    /// which comes in any shade of the lattice and between them.
    pub pieces: Option<Vec<(Translucency, Lch)>>,
}

/// A cement that can be chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct CementChoice {
    /// Id in the material library.
    pub id: String,
    /// Plain words.
    pub name: String,
}

/// A ceramic that a case offers: a class in a translucency, or its graded block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offered {
    /// Class id.
    pub class: String,
    /// Translucency; of a graded block that of its body.
    pub translucency: Translucency,
    /// Whether it is the graded block.
    pub graded: bool,
}

impl From<&RestorationKind> for Offered {
    fn from(kind: &RestorationKind) -> Self {
        Self { class: kind.ceramic.clone(), translucency: kind.translucency, graded: kind.graded }
    }
}

impl From<&CeramicChoice> for Offered {
    fn from(choice: &CeramicChoice) -> Self {
        let (class, translucency) = (choice.class.clone(), choice.translucency);
        Self { class, translucency, graded: false }
    }
}

/// Every plain class of a library, designed ones before measured ones.
#[must_use]
pub fn plain_classes(library: &Library) -> Vec<ClassChoice> {
    let designed = library.ceramics().classes.iter();
    let designed = designed.map(|class| (&class.id, &class.name, class.graded.is_some()));
    let measured = library.measured_ceramics().iter();
    let measured = measured
        .filter(|class| library.measured_class(&class.id).is_some())
        .map(|class| (&class.id, &class.name, false));
    designed.chain(measured).map(|(id, name, graded)| choice(library, id, name, graded)).collect()
}

fn choice(library: &Library, id: &str, name: &str, graded: bool) -> ClassChoice {
    let pieces = library
        .measured_class(id)
        .map(|class| class.pieces.iter().map(|piece| (piece.translucency, piece.shade)).collect());
    let translucencies = library.translucencies(id);
    ClassChoice { id: id.to_owned(), name: name.to_owned(), translucencies, graded, pieces }
}

/// The classes of a library that a case offers, in its order, each only as it is offered.
pub(super) fn offered(library: &Library, ceramics: &[Offered]) -> Vec<ClassChoice> {
    let mut classes: Vec<ClassChoice> = Vec::new();
    for one in ceramics {
        let known = classes.iter().position(|class| class.id == one.class);
        let place = known.unwrap_or_else(|| {
            let mut class = choice(library, &one.class, library.ceramic_name(&one.class), false);
            class.translucencies.clear();
            classes.push(class);
            classes.len() - 1
        });
        let class = &mut classes[place];
        if one.graded {
            class.graded = true;
        } else if !class.translucencies.contains(&one.translucency) {
            class.translucencies.push(one.translucency);
            class.translucencies.sort();
        }
    }
    classes
}

impl ClassChoice {
    /// The shades of a measured class in a translucency; `None` for a designed class.
    #[must_use]
    pub fn piece_shades(&self, translucency: Translucency) -> Option<Vec<Lch>> {
        let pieces = self.pieces.as_ref()?.iter();
        Some(pieces.filter(|(of, _)| *of == translucency).map(|(_, shade)| *shade).collect())
    }

    /// Of a measured class the piece nearest a ceramic's shade; the shade itself otherwise.
    pub(super) fn nearest_shade(&self, ceramic: &Ceramic) -> Lch {
        let shades = self.piece_shades(ceramic.translucency).unwrap_or_default();
        let wanted = Lab::from(ceramic.shade);
        let off = |shade: &Lch| {
            let lab = Lab::from(*shade);
            (lab.l - wanted.l).hypot(lab.a - wanted.a).hypot(lab.b - wanted.b)
        };
        shades.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(ceramic.shade)
    }

    /// Of a measured class the piece some steps further in lightness, chroma or hue; where there is
    /// none, the last that way. `None` for a designed class and for other parts.
    pub(super) fn further_piece(
        &self,
        ceramic: &Ceramic,
        part: RecipePart,
        steps: i32,
    ) -> Option<Lch> {
        let of = part_of(part)?;
        let shades = self.piece_shades(ceramic.translucency)?;
        let mut at = ceramic.shade;
        for _ in 0..steps.unsigned_abs() {
            let ahead = |shade: &&Lch| f64::from(steps.signum()) * (of(shade) - of(&at)) > 1e-9;
            let step = |shade: &Lch| (of(shade) - of(&at)).abs();
            let next = shades.iter().filter(ahead).min_by(|a, b| {
                let near = |shade: &Lch| (shade.l - at.l).hypot(shade.c - at.c);
                step(a).total_cmp(&step(b)).then(near(a).total_cmp(&near(b)))
            });
            let Some(next) = next else { break };
            at = *next;
        }
        Some(at)
    }

    /// Of a measured class the piece whose lightness, chroma or hue is nearest a value.
    pub(super) fn piece_at(&self, ceramic: &Ceramic, part: RecipePart, value: f64) -> Option<Lch> {
        let of = part_of(part)?;
        let at = ceramic.shade;
        let off = |shade: &Lch| (of(shade) - value).abs();
        let near = |shade: &Lch| (shade.l - at.l).hypot(shade.c - at.c);
        let shades = self.piece_shades(ceramic.translucency)?;
        shades
            .into_iter()
            .min_by(|a, b| off(a).total_cmp(&off(b)).then(near(a).total_cmp(&near(b))))
    }
}

fn part_of(part: RecipePart) -> Option<fn(&Lch) -> f64> {
    Some(match part {
        RecipePart::Lightness => |shade| shade.l,
        RecipePart::Chroma => |shade| shade.c,
        RecipePart::Hue => |shade| shade.h,
        _ => return None,
    })
}

/// Least and most of lightness, chroma or hue over the pieces of a measured class.
pub(super) fn range_over(shades: &[Lch], part: RecipePart) -> Option<(f64, f64)> {
    let of = part_of(part)?;
    let ends = (f64::INFINITY, f64::NEG_INFINITY);
    let (low, high) = shades.iter().map(of).fold(ends, |(low, high), v| (low.min(v), high.max(v)));
    (low <= high).then_some((low, high))
}
