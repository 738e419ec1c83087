//! What is said about an answer.

use super::{BenchAnswer, BenchTask};
use crate::exercise::recipe::Recipe;
use crate::exercise::recipe_part::{HEIGHTS, at, translucency_name};
use crate::words::{Part, de00, signed};

impl BenchTask {
    pub(super) fn sentences(
        &self,
        answer: &BenchAnswer,
        to_acceptable: Option<usize>,
    ) -> Vec<String> {
        let mut sentences = Vec::new();
        if let Some(first) = answer.attempts.first() {
            let d = &first.difference;
            let against = self.best.as_ref().map_or_else(String::new, |best| {
                format!("; the best that can be reached here is {}", de00(best.difference.de00))
            });
            sentences.push(format!(
                "Your first attempt differs by {}, {}{against}.",
                de00(d.de00),
                Part::Value.differs(d.dl00)
            ));
        }
        let came_to = match (self.can_be_met(), answer.change_plan, to_acceptable) {
            (Some(false), true, _) => "Nothing at hand is acceptable over this prepared tooth in this \
                                       space: changing the plan is right."
                .to_owned(),
            (Some(false), false, _) => "Nothing at hand is acceptable here: more space, whitening the \
                                        prepared tooth first or a darker aim would have to be agreed on."
                .to_owned(),
            (Some(true), true, _) => "This could have been met as planned.".to_owned(),
            (_, _, Some(0)) => "It is acceptable at once.".to_owned(),
            (_, _, Some(n)) => format!("Attempt {} is acceptable.", n + 1),
            (_, _, None) => "No attempt is acceptable.".to_owned(),
        };
        // Whether the plan holds comes first: the attempts count only where it does.
        let plan_is_the_matter = answer.change_plan || self.can_be_met() == Some(false);
        sentences.insert(if plan_is_the_matter { 0 } else { sentences.len() }, came_to);
        if let Some(best) = &self.best {
            sentences.push(format!("What would have worked: {}.", self.in_words(&best.recipe)));
            if self.thickness_is_free() {
                sentences.push(to_be_prepared(&best.recipe));
            }
        }
        let (Some(first), Some(_)) = (answer.attempts.first(), &self.best) else {
            return sentences;
        };
        let (needed, chosen) = (self.masking_needed(), self.masking_of(first));
        if needed.abs() >= 0.3 {
            sentences.push(format!(
                "In the tooth's own shade it would be {}; the best makes up for {} ΔL00, your recipe for {}.",
                Part::Value.compared(self.uncompensated.dl00, "the tooth"),
                signed(needed),
                signed(chosen)
            ));
        }
        if let Some(beyond) = self.beyond_best_mm(&first.recipe) {
            let thicker: Vec<String> = HEIGHTS
                .iter()
                .filter(|part| at(&beyond, **part) > 0.025)
                .map(|part| format!("{:.2} mm at the {}", at(&beyond, *part), part.name()))
                .collect();
            if !thicker.is_empty() {
                let where_ = thicker.join(", ");
                sentences.push(format!(
                    "It is thicker than needed: {where_}. So much more tooth would be prepared."
                ));
            }
        }
        sentences
    }

    /// A recipe in one line of plain words.
    #[must_use]
    pub fn in_words(&self, recipe: &Recipe) -> String {
        let ceramic = &recipe.ceramic;
        let class = self.limits.classes.iter().find(|class| class.id == ceramic.class);
        let class = class.map_or(ceramic.class.as_str(), |class| class.name.as_str());
        let block = if ceramic.graded {
            "graded block".to_owned()
        } else {
            format!("{} translucency", translucency_name(ceramic.translucency))
        };
        let cement = self.limits.cements.iter().find(|cement| cement.id == recipe.cement);
        let cement = cement.map_or(recipe.cement.as_str(), |cement| cement.name.as_str());
        format!(
            "{class}, {block}, shade {}, {:.2} mm in the middle, {cement} cement",
            ceramic.shade.name(),
            recipe.thickness.body_mm
        )
    }
}

/// How much tooth a recipe needs removed: ceramic and cement together.
fn to_be_prepared(recipe: &Recipe) -> String {
    let heights: Vec<String> = HEIGHTS
        .iter()
        .map(|part| {
            let removed_mm = at(&recipe.thickness, *part) + recipe.cement_film_mm;
            format!("{removed_mm:.2} mm at the {}", part.name())
        })
        .collect();
    format!("With its cement that needs a preparation of {}.", heights.join(", "))
}
