//! The choices in the form for cases from the clinic: what they are called and what comes next.

use crate::exercise::light_in_words;
use crate::level::clinic::CaseExercise;
use crate::play::around::around;
use crate::play::clinic::ClinicForm;
use crate::play::content::ActiveContent;
use crate::play::intents::CaseChoice;
use crate::scene::{Framing, Preparation, Tooth};

impl ClinicForm {
    /// A choice in words.
    #[must_use]
    pub fn in_words(&self, choice: CaseChoice, content: &ActiveContent) -> String {
        let form = &self.form;
        match choice {
            CaseChoice::Tooth => format!("{}, {}", form.tooth, form.tooth.name()),
            CaseChoice::Preparation => match form.preparation {
                Preparation::Crown => "crown".to_owned(),
                _ => "veneer".to_owned(),
            },
            CaseChoice::Cement => {
                let cements = &content.0.library().cements().cements;
                let found = cements.iter().find(|cement| cement.id == form.cement);
                found.map_or_else(|| form.cement.clone(), |cement| cement.name.clone())
            }
            CaseChoice::Arch => format!("{}", form.arch),
            CaseChoice::Light => light_in_words(form.light).to_owned(),
            CaseChoice::Framing => match form.framing {
                Framing::Conversation => "in conversation".to_owned(),
                Framing::CloseUp => "close up".to_owned(),
                Framing::Posterior => "from the cheek".to_owned(),
                Framing::Retracted => "lips held away".to_owned(),
            },
            CaseChoice::Exercise => match form.exercise {
                CaseExercise::Bench => "Bench: compose it".to_owned(),
                CaseExercise::Blend => "Blend: compare options".to_owned(),
                CaseExercise::Glance => "Glance: find it".to_owned(),
            },
        }
    }

    pub(crate) fn choose(&mut self, choice: CaseChoice, steps: i32, content: &ActiveContent) {
        let form = &mut self.form;
        match choice {
            CaseChoice::Tooth => {
                let teeth = Tooth::arch(usize::from(form.arch));
                form.set_tooth(along(&teeth, &form.tooth, steps));
            }
            CaseChoice::Preparation => {
                let all = [Preparation::Veneer, Preparation::Crown];
                form.preparation = along(&all, &form.preparation, steps);
            }
            CaseChoice::Cement => {
                let cements = content.0.library().cements().cements.iter();
                let ids: Vec<String> = cements.map(|cement| cement.id.clone()).collect();
                form.cement = along(&ids, &form.cement, steps);
            }
            CaseChoice::Arch => {
                form.arch = along(&[6, 8, 10], &form.arch, steps);
                form.set_tooth(form.tooth);
            }
            CaseChoice::Light => {
                form.light = along(&crate::colorimetry::Illuminant::ALL, &form.light, steps);
            }
            CaseChoice::Framing => {
                form.framing = along(&Framing::ALL, &form.framing, steps);
            }
            CaseChoice::Exercise => {
                let all = [CaseExercise::Bench, CaseExercise::Blend, CaseExercise::Glance];
                form.exercise = along(&all, &form.exercise, steps);
            }
        }
    }
}

/// The entry some steps further along a list; its ends are joined.
fn along<T: PartialEq + Clone>(list: &[T], from: &T, steps: i32) -> T {
    let at = list.iter().position(|entry| entry == from).unwrap_or(0);
    list.get(around(at, steps, list.len())).unwrap_or(from).clone()
}
