//! The best that can be reached over a prepared tooth: every ceramic on every cement in several
//! thicknesses by the quick search, then the best of each by the whole face, then small steps.
//!
//! Every block on every cement in the lattice's shades and three thicknesses (where a film is kept,
//! only that which fills the preparation) goes by [`optics::search`](crate::optics::search) on flat
//! stacks at neck and middle, the best of each by [`bake::Estimator`](crate::bake::Estimator), the
//! best three downhill in keyboard steps.

use super::recipe::Recipe;
use super::recipe_limits::RecipeLimits;
use super::recipe_part::{HEIGHTS, RecipePart, at, map_of};
use crate::bake::{BakeError, Estimator, ZONE_WEIGHTS, ZoneDifference};
use crate::colorimetry::{Lab, Lch, Observer, ciede2000};
use crate::material::Library;
use crate::optics::search::{Choices, colours};
use crate::optics::transport::{Base, CEMENT_JOINT, joint_reflection};
use crate::optics::{Layer, Medium};
use crate::scene::{Case, Ceramic, Preparation, Thickness, Tooth, Translucency};
use crate::spectrum::Spectrum;
use serde::{Deserialize, Serialize};

/// Thicknesses tried, as shares of the room at each height.
const SHARES: [f64; 3] = [1.0, 0.8, 0.6];
/// Thickness of the prepared tooth in the flat search, mm.
const CORE_MM: f64 = 6.0;
/// Cement film where none is stated, mm.
const USUAL_FILM_MM: f64 = 0.05;
/// Refined candidates.
const FINALISTS: usize = 3;

/// A recipe and what it comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reached {
    /// The recipe.
    pub recipe: Recipe,
    /// Difference to the twin, zone-weighted, from the baked maps.
    pub difference: ZoneDifference,
}

/// One tooth to restore, ready for many recipes.
pub(super) struct Desk<'a> {
    library: &'a Library,
    estimator: Estimator<'a>,
    case: &'a Case,
    tooth: Tooth,
    preparation: Preparation,
    prepared_tooth: &'a str,
    body: Lch,
}

impl<'a> Desk<'a> {
    pub fn new(
        case: &'a Case,
        tooth: Tooth,
        preparation: Preparation,
        prepared_tooth: &'a str,
        library: &'a Library,
    ) -> Result<Self, BakeError> {
        let natural = case.patient.teeth.iter().find(|t| t.tooth == tooth);
        let Some(natural) = natural else {
            let teeth: Vec<_> = case.patient.teeth.iter().map(|t| t.tooth.to_string()).collect();
            return Err(BakeError::NotInView { restored: tooth, in_view: teeth.join(", ") });
        };
        let estimator = Estimator::new(natural, case.seed, case.illuminant, library)?;
        let body = natural.body;
        Ok(Self { library, estimator, case, tooth, preparation, prepared_tooth, body })
    }

    /// The estimated difference of a recipe.
    pub fn difference(&self, recipe: &Recipe) -> Result<ZoneDifference, BakeError> {
        let restoration = recipe.restoration(self.tooth, self.preparation, self.prepared_tooth);
        self.estimator.difference(&restoration)
    }

    /// The tooth's own shade at medium translucency on clear cement (the first at hand) in full
    /// thickness.
    pub fn uncompensated(&self, limits: &RecipeLimits) -> Recipe {
        let clear = limits.cements.iter().find(|cement| cement.id == "clear");
        let cement = clear.or(limits.cements.first()).map_or_else(String::new, |c| c.id.clone());
        let class = limits.classes.first().map_or_else(String::new, |class| class.id.clone());
        let film = USUAL_FILM_MM.clamp(limits.film_mm[0], limits.film_mm[1]);
        Recipe {
            ceramic: Ceramic {
                class,
                translucency: Translucency::Medium,
                shade: self.body,
                graded: false,
                block_shift: 0.0,
            },
            thickness: map_of(|part| limits.room_mm(part, film)),
            cement,
            cement_film_mm: film,
        }
        .held(limits)
    }
}

/// Every class in every translucency, and as a graded block where there is one.
fn blocks(limits: &RecipeLimits) -> Vec<(String, Translucency, bool)> {
    let mut blocks = Vec::new();
    for class in &limits.classes {
        blocks.extend(class.translucencies.iter().map(|&t| (class.id.clone(), t, false)));
        if class.graded {
            blocks.push((class.id.clone(), Translucency::Medium, true));
        }
    }
    blocks
}

fn full(limits: &RecipeLimits, film: f64, share: f64) -> Thickness {
    map_of(|part| {
        let room = limits.room_mm(part, film);
        (room * share).max(at(&limits.least, part)).min(room)
    })
}

/// The best recipe of every block on every cement, and the best few refined, nearest first; differences
/// are estimated.
pub(super) fn search(desk: &Desk<'_>, limits: &RecipeLimits) -> Result<Vec<Reached>, BakeError> {
    let film = USUAL_FILM_MM.clamp(limits.film_mm[0], limits.film_mm[1]);
    let mut reached = Vec::new();
    for recipe in quick(desk, limits, film)? {
        let difference = desk.difference(&recipe)?;
        reached.push(Reached { recipe, difference });
    }
    reached.sort_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00));
    let refined: Vec<Reached> =
        reached.iter().take(FINALISTS).map(|one| refine(desk, limits, one.clone())).collect();
    reached.extend(refined);
    reached.sort_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00));
    reached.dedup_by(|a, b| a.recipe == b.recipe);
    Ok(reached)
}

/// The likeliest recipe of every block on every cement, from flat stacks at neck and middle.
fn quick(desk: &Desk<'_>, limits: &RecipeLimits, film: f64) -> Result<Vec<Recipe>, BakeError> {
    let library = desk.library;
    let prepared = library.prepared_tooth(desk.prepared_tooth)?;
    let mouth = Spectrum::constant(library.mouth_reflectance());
    let core = [Layer { medium: prepared.as_ref(), thickness_mm: CORE_MM }];
    let tooth = joint_reflection(library.tables(), &core, Base::Backing(&mouth), CEMENT_JOINT);
    let cements = limits
        .cements
        .iter()
        .map(|cement| library.cement(&cement.id).map(|medium| *medium))
        .collect::<Result<Vec<Medium>, _>>()?;
    let maps = SHARES.map(|share| full(limits, film, share));
    let thicknesses: Vec<f64> = maps.iter().flat_map(|map| [map.neck_mm, map.body_mm]).collect();
    let natural = desk.estimator.natural_zones();
    let light = (desk.case.illuminant, Observer::Cie1931);
    let mut found = Vec::new();
    for (class, translucency, graded) in blocks(limits) {
        let ceramic =
            |shade| Ceramic { class: class.clone(), translucency, shade, graded, block_shift: 0.0 };
        // Shades that no material of the class can have are left out.
        let made: Vec<(Lch, Medium)> = limits
            .shades_of(&class, translucency)
            .into_iter()
            .filter_map(|shade| Some((shade, library.ceramic_at(&ceramic(shade), 0.4).ok()?)))
            .collect();
        let media: Vec<Medium> = made.iter().map(|(_, medium)| *medium).collect();
        let choices = Choices {
            ceramics: &media,
            thicknesses_mm: &thicknesses,
            cements: &cements,
            film_mm: film,
        };
        let colours = colours(library.tables(), &choices, &tooth, light);
        for (c, cement) in limits.cements.iter().enumerate() {
            let off = |shade: usize, map: usize| {
                let of = |zone: usize, seen: Lab| {
                    ZONE_WEIGHTS[zone] * ciede2000(natural[zone], seen).de00
                };
                of(0, colours.of(shade, c, 2 * map)) + of(1, colours.of(shade, c, 2 * map + 1))
            };
            let places = (0..made.len()).flat_map(|s| (0..maps.len()).map(move |m| (s, m)));
            let best = places.min_by(|a, b| off(a.0, a.1).total_cmp(&off(b.0, b.1)));
            let Some((shade, map)) = best else { continue };
            found.push(Recipe {
                ceramic: ceramic(made[shade].0),
                thickness: maps[map],
                cement: cement.id.clone(),
                cement_film_mm: film,
            });
        }
    }
    Ok(found)
}

/// Goes downhill in steps of the keyboard, coarse ones first.
fn refine(desk: &Desk<'_>, limits: &RecipeLimits, start: Reached) -> Reached {
    let mut best = start;
    let mut parts = vec![RecipePart::Lightness, RecipePart::Chroma, RecipePart::Hue];
    parts.extend(&HEIGHTS[1..]);
    if best.recipe.ceramic.graded {
        parts.push(RecipePart::BlockShift);
    }
    for size in [2, 1] {
        for _ in 0..4 {
            let before = best.difference.de00;
            for &part in &parts {
                for steps in [size, -size] {
                    let recipe = best.recipe.stepped(part, steps, limits);
                    if recipe == best.recipe {
                        continue;
                    }
                    // A shade that cannot be made is no way down.
                    let Ok(difference) = desk.difference(&recipe) else { continue };
                    if difference.de00 < best.difference.de00 - 1e-9 {
                        best = Reached { recipe, difference };
                        break;
                    }
                }
            }
            if before - best.difference.de00 < 0.01 {
                break;
            }
        }
    }
    best
}
