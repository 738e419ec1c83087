//! Whether the forms of a course can decide what the course asks of them.
//!
//! A mark is possible if a sitting without a mistake meets it and a sitting in which nothing was
//! found does not. Both are estimated as any sitting is, from the smiles of the forms as they are
//! designed, before any is drawn.

use super::estimate::{FormEstimator, ItemAnswer, SittingEstimate};
use super::form::Form;
use super::form_item::TEETH;
use super::group::Judgement;
use crate::level::course_format::{Course, CourseMode, FormEntry, Step};
use crate::psychophysics::ModelTrial;
use crate::scene::Tooth;
use std::collections::BTreeMap;

/// A mistake in a course that no rule about its text finds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CourseFault {
    /// What it is about, as a path into the file, such as `pass.threshold_de00`.
    pub path: String,
    /// What is wrong, with the values.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// The best and the worst that a form can say of somebody.
#[derive(Clone, Copy)]
struct Reach {
    best: SittingEstimate,
    worst: SittingEstimate,
}

/// What keeps the forms of a course from being made, and what of its marks and classes they cannot
/// decide.
#[must_use]
pub fn course_faults(course: &Course) -> Vec<CourseFault> {
    let mut faults = Vec::new();
    let mut forms: BTreeMap<&str, Form> = BTreeMap::new();
    for (index, entry) in course.forms.iter().enumerate() {
        match Form::new(entry.seed, entry.per_cell) {
            Ok(form) => {
                forms.insert(&entry.id, form);
            }
            Err(error) => faults.push(CourseFault {
                path: format!("forms[{index}].seed"),
                message: format!("form \"{}\" cannot be made: {error}", entry.id),
                help: "write another seed".to_owned(),
            }),
        }
    }
    if course.mode == CourseMode::Exam && (course.pass.is_some() || course.classes.is_some()) {
        // Forms of one size reach as far as each other: the first stands for those judged by.
        let judged = last_forms(course).into_iter().find_map(|entry| forms.get(entry.id.as_str()));
        if let Some(reach) = judged.and_then(|form| Reach::of(form, course.exposure_s)) {
            reach.check(course, &mut faults);
        }
    }
    faults
}

/// The forms of the last step with any: those that a learner is judged by.
fn last_forms(course: &Course) -> Vec<&FormEntry> {
    let last = course.steps.iter().rev().find_map(|step| match step {
        Step::Form { forms, .. } => Some(forms),
        _ => None,
    });
    let named = |entry: &&FormEntry| last.is_some_and(|ids| ids.contains(&entry.id));
    let mut forms: Vec<&FormEntry> = course.forms.iter().filter(named).collect();
    // The smallest says the least.
    forms.sort_by_key(|entry| entry.per_cell);
    forms
}

impl Reach {
    fn of(form: &Form, exposure_s: f64) -> Option<Self> {
        let teeth = Tooth::arch(TEETH);
        let item = |item: &super::form_item::Item| {
            let signal = item.signal.and_then(|signal| {
                let tooth = teeth.iter().position(|tooth| *tooth == signal.tooth)?;
                Some((tooth, signal.direction, signal.de00))
            });
            ModelTrial { signal, residuals_de00: Vec::new(), exposure_s, answer: 0 }
        };
        let items: Vec<ModelTrial> = form.items.iter().map(item).collect();
        let estimator = FormEstimator::new(&teeth, &items);
        let right = |item: &ModelTrial| {
            Some(if item.signal.is_some() { ItemAnswer::Right } else { ItemAnswer::None })
        };
        let best: Vec<Option<ItemAnswer>> = items.iter().map(right).collect();
        let worst = vec![Some(ItemAnswer::None); items.len()];
        Some(Self { best: estimator.estimate(&best)?, worst: estimator.estimate(&worst)? })
    }

    fn check(&self, course: &Course, faults: &mut Vec<CourseFault>) {
        let (best, best_low, best_high) = self.best.threshold_de00();
        let (worst, worst_low, worst_high) = self.worst.threshold_de00();
        // Rounded away from the limit, so that what is advised holds.
        let least = (20.0 * best_high).ceil() / 20.0;
        let most = (20.0 * worst_low).floor() / 20.0;
        let mut fault = |path: &str, message: String, help: String| {
            faults.push(CourseFault { path: path.to_owned(), message, help });
        };
        let flawless = format!(
            "a sitting without a mistake has a threshold of {best:.2} ΔE00 (95 %: {best_low:.2} to \
             {best_high:.2})"
        );
        let blind = format!(
            "a sitting in which nothing is found has a threshold of {worst:.2} ΔE00 (95 %: \
             {worst_low:.2} to {worst_high:.2})"
        );
        let higher = format!("write {least:.2} or more, or use larger forms (per_cell)");
        let lower = format!("write {most:.2} or less");
        if let Some(pass) = course.pass {
            let cut = pass.threshold_de00;
            let path = "pass.threshold_de00";
            if Judgement::of(best, cut, self.best.sd) != Judgement::Passed {
                let message = format!("nobody can pass at {cut} ΔE00: {flawless}");
                fault(path, message, higher.clone());
            } else if Judgement::of(worst, cut, self.worst.sd) != Judgement::NotPassed {
                let message = format!("nobody can fail at {cut} ΔE00: {blind}");
                fault(path, message, lower.clone());
            }
        }
        let Some(classes) = course.classes else { return };
        for (path, limit) in [
            ("classes.fine_de00", classes.fine_de00),
            ("classes.clinical_de00", classes.clinical_de00),
            ("classes.developing_de00", classes.developing_de00),
        ] {
            if best_high > limit {
                let message =
                    format!("nobody can reach a class that ends at {limit} ΔE00: {flawless}");
                fault(path, message, higher.clone());
            }
        }
        let limit = classes.developing_de00;
        if worst_low <= limit {
            let message = format!("nobody can be told to lie above {limit} ΔE00: {blind}");
            fault("classes.developing_de00", message, lower);
        }
    }
}
