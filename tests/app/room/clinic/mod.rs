//! The form for cases from the clinic: typed by keyboard, kept as a level, played and composed.

mod by_keyboard;
mod files;

use crate::stage::Walk;
use crate::stage::keys::key_down;
use bevy_egui::egui::{self, Event, Key, Rect, vec2};
use second_glance::app::room::clinic as clinic_form;
use second_glance::level::clinic::CaseField;
use second_glance::play::clinic::ClinicForm;
use second_glance::play::content::ActiveContent;
use second_glance::play::content::shipped::Shipped;
use second_glance::play::intents::Intent;
use second_glance::play::start::PendingStart;
use std::collections::HashSet;
use std::path::Path;
use std::sync::Arc;

fn content(own: &Path) -> Shipped {
    Shipped::for_window(None, Some(own.to_owned()), None, None).unwrap()
}

/// A walk whose levels of one's own are kept in a folder.
fn walk_with_own(own: &Path) -> Walk {
    let mut walk = Walk::new();
    walk.app.insert_resource(ActiveContent(Arc::new(content(own))));
    walk
}

fn form(walk: &Walk) -> ClinicForm {
    walk.app.world().resource::<ClinicForm>().clone()
}

/// The form in a window of its own, fed by keys.
struct Typed {
    ctx: egui::Context,
    form: ClinicForm,
    content: ActiveContent,
    pending: PendingStart,
}

impl Typed {
    fn new(own: &Path) -> Self {
        let mut typed = Self {
            ctx: egui::Context::default(),
            form: ClinicForm::default(),
            content: ActiveContent(Arc::new(content(own))),
            pending: PendingStart::default(),
        };
        typed.frame(Vec::new());
        typed
    }

    fn frame(&mut self, events: Vec<Event>) {
        // 1280 × 720 at 200 %.
        let window = Rect::from_min_size(egui::Pos2::ZERO, vec2(640.0, 360.0));
        let input = egui::RawInput { screen_rect: Some(window), events, ..Default::default() };
        let mut asked = Vec::new();
        let mut output = self.ctx.run_ui(input, |ui| {
            asked = clinic_form::draw(ui, &self.form, &self.content, false);
        });
        output.textures_delta.clear();
        for intent in asked {
            if let Intent::Form(intent) = intent {
                self.form.handle(intent, &self.content, &mut self.pending);
            }
        }
    }

    fn focused(&self) -> Option<egui::Id> {
        self.ctx.memory(|memory| memory.focused())
    }

    /// Tab until a field has the focus.
    fn tab_to(&mut self, field: CaseField) {
        let wanted = egui::Id::new(("case field", field));
        for _ in 0..80 {
            if self.focused() == Some(wanted) {
                return;
            }
            self.frame(vec![key_down(Key::Tab)]);
        }
        panic!("{field:?} is not reached by Tab");
    }

    /// What gets the focus by Tab, until something has it for the second time.
    fn reached(&mut self) -> HashSet<egui::Id> {
        let mut reached = HashSet::new();
        for _ in 0..500 {
            self.frame(vec![key_down(Key::Tab)]);
            if self.focused().is_some_and(|focused| !reached.insert(focused)) {
                return reached;
            }
        }
        panic!("Tab does not come round");
    }

    /// Everything that can be clicked or typed into.
    fn controls(&self) -> HashSet<egui::Id> {
        self.ctx.viewport(|viewport| {
            let widgets = viewport.prev_pass.widgets.layers().flat_map(|(_, widgets)| widgets);
            widgets.filter(|widget| widget.sense.is_focusable()).map(|widget| widget.id).collect()
        })
    }

    /// Tab and Enter through what can be pressed until something has come of it. Fields are passed
    /// over, as Enter does nothing in them.
    fn press_button(&mut self, done: impl Fn(&ClinicForm) -> bool) {
        let form = self.form.form.clone();
        for _ in 0..120 {
            self.frame(vec![key_down(Key::Tab)]);
            let pressed = self.form.clone();
            self.frame(vec![key_down(Key::Enter)]);
            if done(&self.form) {
                return;
            }
            // Another control: as if it had not been pressed.
            if self.form.form != form || self.form.listed != pressed.listed {
                self.form = pressed;
            }
        }
        panic!("no such control is reached by Tab");
    }

    fn type_in(&mut self, field: CaseField, text: &str) {
        self.tab_to(field);
        for c in text.chars() {
            self.frame(vec![Event::Text(c.to_string())]);
        }
    }
}
