//! The app with its screens in a window that is not there, and a hand at its pointer and keyboard:
//! what the window would be told comes as messages, and what is on screen is read from egui.
//!
//! No graphics adapter is needed: pictures are flat ([`super::pictures`]) and nothing is painted.
//! Targets are found by their labels, as assistive technology finds them, and must lie in the
//! window.

use super::content::CHOICE_QUESTIONS;
use super::keys::{key_of, strokes};
use super::screens::add_screens;
use super::walk::Walk;
use super::words::{Words, keep_words, words_in};
use bevy::a11y::AccessibilityRequested;
use bevy::camera::{ComputedCameraValues, RenderTargetInfo};
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode};
use bevy::input::mouse::{MouseButtonInput, MouseScrollUnit, MouseWheel};
use bevy::input::touch::TouchPhase;
use bevy::prelude::*;
use bevy::window::{CursorLeft, CursorMoved, PrimaryWindow, WindowEvent, WindowResolution};
use bevy_egui::egui::accesskit::{Role, TreeUpdate};
use bevy_egui::egui::{self, Pos2, Rect, vec2};
use bevy_egui::{EguiContext, EguiGlobalSettings, EguiOutput, EguiPostUpdateSet};
use second_glance::app::shell::order::AppSystems;
use second_glance::play::intents::Intent;
use std::collections::BTreeMap;
use std::path::Path;

/// Intents that were asked for while [`Dry::0`] holds: they change nothing.
#[derive(Resource, Default)]
pub struct Dry(pub bool, pub Vec<Intent>);

fn catch(mut dry: ResMut<Dry>, mut intents: ResMut<Messages<Intent>>) {
    if dry.0 {
        let caught: Vec<Intent> = intents.drain().collect();
        dry.1.extend(caught);
    }
}

/// Something on screen that can be pressed.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// What it says.
    pub label: String,
    /// The whole of it, points.
    pub rect: Rect,
    /// The part that is not scrolled out of sight.
    pub seen: Rect,
    /// Whether it can be used.
    pub enabled: bool,
}

impl Target {
    /// The key that its label names: what stands in brackets at its end.
    pub fn key(&self) -> Option<&str> {
        Some(self.label.strip_suffix(')')?.rsplit_once('(')?.1)
    }
}

/// A running app in a window, and a hand.
pub struct Hands {
    pub walk: Walk,
    window: Entity,
    size: [u32; 2],
}

impl Hands {
    /// At the level list, in a window of so many points.
    pub fn new(folder: &Path, size: [u32; 2]) -> Self {
        let mut walk = Walk::with(folder, CHOICE_QUESTIONS, |app| in_window(app, size));
        let world = walk.app.world_mut();
        let window = world.query_filtered::<Entity, With<PrimaryWindow>>().single(world);
        let window = window.expect("one window");
        let mut hands = Self { walk, window, size };
        // Somebody reads what is on screen.
        hands.walk.app.world().resource::<AccessibilityRequested>().set(true);
        // Layout settles, and the display is measured.
        hands.walk.frames(70);
        hands
    }

    fn context(&mut self) -> egui::Context {
        let world = self.walk.app.world_mut();
        let mut contexts = world.query::<&mut EguiContext>();
        contexts.single_mut(world).expect("one interface").get_mut().clone()
    }

    /// The window's area, points.
    pub fn screen(&self) -> Rect {
        Rect::from_min_size(Pos2::ZERO, vec2(self.size[0] as f32, self.size[1] as f32))
    }

    fn send(&mut self, event: WindowEvent) {
        let world = self.walk.app.world_mut();
        match event.clone() {
            WindowEvent::CursorMoved(moved) => world.write_message(moved).map(|_| ()),
            WindowEvent::CursorLeft(left) => world.write_message(left).map(|_| ()),
            WindowEvent::MouseButtonInput(input) => world.write_message(input).map(|_| ()),
            WindowEvent::MouseWheel(wheel) => world.write_message(wheel).map(|_| ()),
            WindowEvent::KeyboardInput(input) => world.write_message(input).map(|_| ()),
            _ => None,
        };
        world.write_message(event);
    }

    /// The pointer is elsewhere; told with the next frame.
    pub fn point(&mut self, at: Pos2) {
        let position = Vec2::new(at.x, at.y);
        let moved = CursorMoved { window: self.window, position, delta: None };
        self.send(WindowEvent::CursorMoved(moved));
    }

    /// The pointer leaves the window.
    pub fn leave(&mut self) {
        self.send(WindowEvent::CursorLeft(CursorLeft { window: self.window }));
    }

    /// The first button goes down or up; told with the next frame.
    pub fn button(&mut self, is_down: bool) {
        let state = if is_down { ButtonState::Pressed } else { ButtonState::Released };
        let input = MouseButtonInput { button: MouseButton::Left, state, window: self.window };
        self.send(WindowEvent::MouseButtonInput(input));
    }

    /// The wheel turns by so many points, down below 0.
    fn wheel(&mut self, y: f32) {
        self.send(WindowEvent::MouseWheel(MouseWheel {
            unit: MouseScrollUnit::Pixel,
            x: 0.0,
            y,
            window: self.window,
            phase: TouchPhase::Moved,
        }));
    }

    /// A frame passes.
    pub fn frame(&mut self) {
        self.walk.app.update();
    }

    /// To a place, and there down and up, each in a frame of its own.
    pub fn click_at(&mut self, at: Pos2) {
        self.point(at);
        self.frame();
        self.button(true);
        self.frame();
        self.button(false);
        self.frame();
        // A change of state takes effect at the start of the next frame.
        self.frame();
    }

    /// The button goes down at one place and up at another, with moves between, a frame each.
    pub fn drag(&mut self, from: Pos2, by_way_of: &[Pos2], to: Pos2) {
        self.point(from);
        self.frame();
        self.button(true);
        self.frame();
        for at in by_way_of.iter().chain([&to]) {
            self.point(*at);
            self.frame();
        }
        self.button(false);
        self.frame();
        self.frame();
    }

    /// A key goes down and up.
    pub fn press(&mut self, key_code: KeyCode, logical_key: Key) {
        self.strike(key_code, logical_key);
        self.frame();
        self.frame();
    }

    /// The same, told with the next frame.
    pub fn strike(&mut self, key_code: KeyCode, logical_key: Key) {
        for stroke in strokes(self.window, key_code, &logical_key) {
            self.send(WindowEvent::KeyboardInput(stroke));
        }
    }

    /// The key of a letter or digit; told with the next frame.
    pub fn write(&mut self, letter: char) {
        let (code, key) = key_of(letter);
        self.strike(code, key);
    }

    /// What the interface said of the last frame.
    pub fn output(&mut self) -> &EguiOutput {
        let world = self.walk.app.world_mut();
        let mut outputs = world.query::<&EguiOutput>();
        outputs.single(world).expect("one interface")
    }

    /// What a screen reader is told.
    pub fn tree(&mut self) -> TreeUpdate {
        self.output().platform_output.accesskit_update.clone().expect("somebody reads")
    }

    /// All words drawn in the last frame.
    pub fn words(&self) -> Vec<Words> {
        words_in(self.walk.app.world())
    }

    /// What can be pressed, in reading order. Below a dialog nothing can.
    pub fn targets(&mut self) -> Vec<Target> {
        let (ctx, tree) = (self.context(), self.tree());
        let dialog = ctx.memory(|memory| memory.top_modal_layer());
        let seen: BTreeMap<u64, (Rect, egui::LayerId)> = ctx.viewport(|viewport| {
            let rects = viewport.prev_pass.widgets.layers().flat_map(|(_, rects)| rects);
            rects.map(|w| (w.id.accesskit_id().0, (w.interact_rect, w.layer_id))).collect()
        });
        let pressable = [Role::Button, Role::CheckBox, Role::RadioButton, Role::TextInput];
        let nodes = tree.nodes.into_iter().filter(|(_, node)| pressable.contains(&node.role()));
        let mut targets: Vec<Target> = nodes
            .filter_map(|(id, node)| {
                let bounds = node.bounds()?;
                let (seen, layer) = *seen.get(&id.0)?;
                let corner = |x: f64, y: f64| egui::pos2(x as f32, y as f32);
                let rect =
                    Rect::from_min_max(corner(bounds.x0, bounds.y0), corner(bounds.x1, bounds.y1));
                let label = node.label().or_else(|| node.value()).unwrap_or_default().to_owned();
                let is_free = dialog.is_none_or(|dialog| dialog == layer);
                is_free.then(|| Target { label, rect, seen, enabled: !node.is_disabled() })
            })
            .collect();
        targets.sort_by(|a, b| {
            let place = |target: &Target| (target.rect.min.y, target.rect.min.x);
            let ((ya, xa), (yb, xb)) = (place(a), place(b));
            ya.total_cmp(&yb).then(xa.total_cmp(&xb))
        });
        targets
    }

    /// The texts on screen, controls among them.
    pub fn texts(&mut self) -> Vec<String> {
        let tree = self.tree();
        let said = tree.nodes.iter().filter_map(|(_, node)| node.label().or_else(|| node.value()));
        said.map(str::to_owned).collect()
    }

    /// Whether there is a target whose label begins so.
    pub fn has(&mut self, label: &str) -> bool {
        self.targets().iter().any(|target| target.label.starts_with(label))
    }

    /// The first target whose label begins so, wholly in sight: scrolled to with the wheel where it
    /// must be.
    ///
    /// # Panics
    /// Where there is none, it cannot be used or does not come into sight.
    pub fn reach(&mut self, label: &str) -> Target {
        self.reach_one(label, 0, |target| target.label.starts_with(label))
    }

    /// The target with this number, from 0 in reading order, among those that are wanted, wholly in
    /// sight.
    ///
    /// # Panics
    /// As [`Self::reach`].
    pub fn reach_one(
        &mut self,
        label: &str,
        number: usize,
        wanted: impl Fn(&Target) -> bool,
    ) -> Target {
        let mut last = None;
        for _ in 0..80 {
            let found = self.targets().into_iter().filter(&wanted).nth(number);
            let Some(target) = found else {
                let known: Vec<String> = self.targets().into_iter().map(|t| t.label).collect();
                panic!("no {label:?} on screen; there are {known:?}, and {:?}", self.texts());
            };
            assert!(target.enabled, "{label:?} cannot be used");
            let screen = self.screen();
            let whole = target.seen.expand(0.5).contains_rect(target.rect);
            if whole && screen.contains_rect(target.rect) {
                return target;
            }
            // Where the pointer must be for the wheel to turn what holds the target.
            let over = Pos2::new(target.rect.center().x, screen.center().y);
            let down = target.rect.center().y > screen.center().y;
            self.point(over.clamp(screen.min, screen.max));
            self.wheel(if down { -60.0 } else { 60.0 });
            // Scrolling is smoothed.
            for _ in 0..12 {
                self.frame();
            }
            last = Some(target);
        }
        panic!("{label:?} does not come into sight of {:?}: {last:?}", self.size);
    }

    /// Clicks the target whose label begins so.
    pub fn click(&mut self, label: &str) {
        let target = self.reach(label);
        self.click_at(target.rect.center());
    }

    /// What a click or a key asks for, without its being done.
    pub fn asked_by(&mut self, act: impl FnOnce(&mut Self)) -> Vec<Intent> {
        *self.walk.app.world_mut().resource_mut::<Dry>() = Dry(true, Vec::new());
        act(self);
        let mut dry = self.walk.app.world_mut().resource_mut::<Dry>();
        dry.0 = false;
        std::mem::take(&mut dry.1)
    }
}

/// The screens in a window of this size, and everything that they need, but no renderer.
fn in_window(app: &mut App, [width, height]: [u32; 2]) {
    let resolution = WindowResolution::new(width, height);
    add_screens(app, Some(Window { resolution, ..default() }));
    app.init_resource::<Dry>()
        .add_systems(Update, catch.after(AppSystems::Input).before(AppSystems::Arrivals))
        .add_systems(
            PostUpdate,
            catch.after(EguiPostUpdateSet::EndPass).before(EguiPostUpdateSet::ProcessOutput),
        );
    keep_words(app);
    app.world_mut().resource_mut::<EguiGlobalSettings>().enable_ime = false;
    let target_info =
        Some(RenderTargetInfo { physical_size: UVec2::new(width, height), scale_factor: 1.0 });
    let computed = ComputedCameraValues { target_info, ..default() };
    app.world_mut().spawn(Camera { computed, ..default() });
}
