//! Where rooms draw their screens.
//!
//! Each room draws its own screen while that is on, by a function from plain data to egui and intents;
//! menus and messages lie over it. What was asked for by pointer or assistive technology counts in the
//! frame that saw it, like what was asked for by key.

use crate::app::shell::asking::dispatch;
use crate::app::shell::state::{Pause, Screen};
use crate::exercise::Stage;
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::trial::Phase;
use bevy::asset::AssetEventSystems;
use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use bevy_egui::{
    EguiContext, EguiContexts, EguiInput, EguiPostUpdateSet, EguiPreUpdateSet,
    EguiPrimaryContextPass, egui,
};
use std::mem::{Discriminant, discriminant};

/// The steps of drawing a frame, in order.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Draw {
    /// The theme, sizes, textures.
    Before,
    /// The screen of the room that is on.
    Screen,
    /// The pause menu.
    Menu,
    /// Messages.
    Message,
    /// What was asked for is written down.
    After,
}

/// Whether a control held the keyboard focus when the last frame was drawn. While one does,
/// Enter, Space and the arrows belong to it and not to the screen.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct FocusHeld(pub bool);

/// What was asked for while this frame was drawn.
#[derive(Resource, Debug, Default)]
pub struct AskedOnScreen(Vec<Intent>);

/// How often another thing was shown so far: what was scrolled on one screen, or at one question, says
/// nothing of the next.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Visit(u64);

/// Where a screen is drawn.
#[derive(SystemParam)]
pub struct Canvas<'w, 's> {
    contexts: EguiContexts<'w, 's>,
    screen: Res<'w, State<Screen>>,
    visit: Res<'w, Visit>,
    asked: ResMut<'w, AskedOnScreen>,
}

impl Canvas<'_, '_> {
    /// Draws the screen that is on.
    ///
    /// # Errors
    /// Where the window is gone.
    pub fn draw<T: IntoIterator<Item = Intent>>(
        &mut self,
        draw: impl FnOnce(&mut egui::Ui) -> T,
    ) -> Result {
        let ctx = self.contexts.ctx_mut()?.clone();
        // Forms are found again as they were left.
        let is_form = matches!(self.screen.get(), Screen::ClinicForm | Screen::BenchSetup);
        let number = if is_form { 0 } else { self.visit.0 };
        let mut root = egui::Ui::new(
            ctx.clone(),
            egui::Id::new(("screen", *self.screen.get(), number)),
            egui::UiBuilder::new()
                .layer_id(egui::LayerId::background())
                .max_rect(ctx.viewport_rect()),
        );
        self.asked.0.extend(draw(&mut root));
        Ok(())
    }

    /// Draws over the screen.
    ///
    /// # Errors
    /// Where the window is gone.
    pub fn over<T: IntoIterator<Item = Intent>>(
        &mut self,
        draw: impl FnOnce(&egui::Context) -> T,
    ) -> Result {
        let ctx = self.contexts.ctx_mut()?.clone();
        self.asked.0.extend(draw(&ctx));
        Ok(())
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<AskedOnScreen>()
        .init_resource::<Visit>()
        // New glyphs and pictures reach the graphics card in the frame that shows them.
        .configure_sets(PostUpdate, EguiPostUpdateSet::PostProcessOutput.before(AssetEventSystems))
        .configure_sets(
            EguiPrimaryContextPass,
            (Draw::Before, Draw::Screen, Draw::Menu, Draw::Message, Draw::After).chain(),
        )
        .add_systems(
            EguiPrimaryContextPass,
            (drop_focus_on_change.in_set(Draw::Before), pass_on.in_set(Draw::After)),
        )
        .add_systems(
            PreUpdate,
            leave_out_what_says_nothing
                .after(EguiPreUpdateSet::ProcessInput)
                .before(EguiPreUpdateSet::BeginPass),
        )
        // Answers by pointer count in the frame that saw them, like those by key.
        .add_systems(PostUpdate, dispatch.after(EguiPostUpdateSet::ProcessOutput));
}

/// What decides which controls exist. When it changes, no old control keeps the focus.
type Place = (Screen, Pause, Option<Discriminant<Phase>>, Option<(Stage, bool)>, bool);

fn drop_focus_on_change(
    mut contexts: EguiContexts,
    mut before: Local<Option<Place>>,
    mut visit: ResMut<Visit>,
    screen: Res<State<Screen>>,
    pause: Res<State<Pause>>,
    problem: Res<Problem>,
    session: Option<Res<Session>>,
    exercising: Option<Res<Exercising>>,
) -> Result {
    let phase = session.map(|session| discriminant(&session.phase()));
    let stage = exercising.map(|round| (round.sitting().stage(), round.has_begun()));
    let now = (*screen.get(), *pause.get(), phase, stage, problem.0.is_some());
    let changed = before.replace(now);
    // A menu or a message over the screen leaves it as it is.
    let of_screen = |(screen, _, phase, stage, _): Place| (screen, phase, stage);
    if changed.map(of_screen) != Some(of_screen(now)) {
        visit.0 += 1;
    }
    if changed != Some(now) {
        contexts.ctx_mut()?.memory_mut(|memory| {
            if let Some(id) = memory.focused() {
                memory.surrender_focus(id);
            }
        });
    }
    Ok(())
}

/// `bevy_egui` 0.42 says in every frame which modifier keys are held. The interface takes that for
/// something that happened and asks for another frame, so that a window would never rest.
fn leave_out_what_says_nothing(mut contexts: Query<(&mut EguiContext, &mut EguiInput)>) {
    for (mut context, mut input) in &mut contexts {
        let held = context.get_mut().input(|input| input.modifiers);
        let says_nothing =
            |event: &egui::Event| matches!(event, egui::Event::ModifiersChanged(m) if *m == held);
        if input.events.iter().all(says_nothing) {
            input.events.clear();
        }
    }
}

fn pass_on(
    mut contexts: EguiContexts,
    mut asked: ResMut<AskedOnScreen>,
    mut focus: ResMut<FocusHeld>,
    mut intents: MessageWriter<Intent>,
) -> Result {
    focus.0 = contexts.ctx_mut()?.memory(|memory| memory.focused().is_some());
    intents.write_batch(asked.0.drain(..));
    Ok(())
}
