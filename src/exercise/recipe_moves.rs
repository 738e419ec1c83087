//! Recipes changed within their limits.

use super::recipe::Recipe;
use super::recipe_limits::RecipeLimits;
use super::recipe_part::{HEIGHTS, RecipePart, at, at_mut, moved, rounded};

impl Recipe {
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
