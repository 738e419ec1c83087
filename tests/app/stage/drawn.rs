//! The app with its screens and no graphics adapter: what egui would draw, and a hand on pointer
//! and keyboard.

use super::content::CHOICE_QUESTIONS;
use super::keys::{egui_key, key_of, strokes};
use super::screens::add_screens;
use super::walk::Walk;
use super::words::{Words, keep_words, words_in};
use bevy::asset::AssetId;
use bevy::platform::collections::HashSet;
use bevy::prelude::*;
use bevy_egui::egui::{self, Event, Modifiers, Pos2, Rect, vec2};
use bevy_egui::{
    EguiGlobalSettings, EguiInput, EguiInputSet, EguiManagedTextures, EguiPreUpdateSet,
    PrimaryEguiContext,
};
use second_glance::app::shell::clipboard::Clipboard;
use std::path::Path;

/// The window's size in points, and what is done in the next frame.
#[derive(Resource)]
struct Hand {
    size: [f32; 2],
    events: Vec<Event>,
}

fn reach_in(
    mut hand: ResMut<Hand>,
    mut contexts: Query<&mut EguiInput>,
    time: Res<Time<bevy::time::Real>>,
) {
    for mut input in &mut contexts {
        let [width, height] = hand.size;
        input.screen_rect = Some(Rect::from_min_size(Pos2::ZERO, vec2(width, height)));
        input.time = Some(time.elapsed_secs_f64());
        input.events.append(&mut hand.events);
    }
}

/// Textures of egui's that the renderer has not heard of by the end of the frame.
#[derive(Resource, Default)]
struct Unannounced(usize);

fn hear_of_textures(
    mut events: MessageReader<AssetEvent<Image>>,
    mut known: Local<HashSet<AssetId<Image>>>,
    textures: Res<EguiManagedTextures>,
    mut unannounced: ResMut<Unannounced>,
) {
    for event in events.read() {
        if let AssetEvent::Added { id } | AssetEvent::Modified { id } = event {
            known.insert(*id);
        }
    }
    let heard = textures.0.values().filter(|texture| known.contains(&texture.handle.id())).count();
    unannounced.0 = textures.0.len() - heard;
}

/// A running app that is looked at.
pub struct Drawn {
    pub walk: Walk,
}

impl Drawn {
    /// At the level list, in a window of this size, points.
    pub fn new(folder: &Path, size: [f32; 2]) -> Self {
        let walk = Walk::with(folder, CHOICE_QUESTIONS, |app| {
            add_screens(app, None);
            app.insert_resource(Clipboard::of_its_own())
                .insert_resource(Hand { size, events: Vec::new() })
                .init_resource::<Unannounced>()
                .add_systems(Last, hear_of_textures)
                .add_systems(
                    PreUpdate,
                    reach_in
                        .in_set(EguiPreUpdateSet::ProcessInput)
                        .after(EguiInputSet::WriteEguiEvents),
                );
            keep_words(app);
            app.world_mut().resource_mut::<EguiGlobalSettings>().auto_create_primary_context =
                false;
            app.world_mut().spawn(PrimaryEguiContext);
        });
        Self { walk }
    }

    /// Another size of the window, points.
    pub fn resize(&mut self, size: [f32; 2]) {
        self.walk.app.world_mut().resource_mut::<Hand>().size = size;
        self.walk.frames(3);
    }

    pub fn window(&self) -> Rect {
        let [width, height] = self.walk.app.world().resource::<Hand>().size;
        Rect::from_min_size(Pos2::ZERO, vec2(width, height))
    }

    /// A frame in which this is done.
    pub fn frame(&mut self, events: Vec<Event>) {
        self.walk.app.world_mut().resource_mut::<Hand>().events.extend(events);
        self.walk.frames(1);
    }

    /// Whether the renderer heard of every texture in the frame that shows it.
    pub fn all_announced(&self) -> bool {
        self.walk.app.world().resource::<Unannounced>().0 == 0
    }

    /// All words on the screen.
    pub fn words(&self) -> Vec<Words> {
        words_in(self.walk.app.world())
    }

    /// Where words that begin like this can be pressed; the last drawn, which lie on top.
    pub fn find(&self, text: &str) -> Option<Pos2> {
        let window = self.window();
        let seen = |words: &Words| words.place.intersect(words.clip).intersect(window);
        let words = self.words();
        let found = words
            .iter()
            .rev()
            .find(|words| words.text.starts_with(text) && seen(words).is_positive());
        found.map(|words| seen(words).center())
    }

    /// Moves the pointer to the control with these words and presses it.
    pub fn click(&mut self, text: &str) {
        let Some(at) = self.find(text) else {
            let all: Vec<_> = self.words().into_iter().map(|words| words.text).collect();
            panic!("nothing on the screen begins with \u{201c}{text}\u{201d}: {all:#?}");
        };
        self.click_at(at);
    }

    pub fn click_at(&mut self, at: Pos2) {
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(vec![Event::PointerMoved(at)]);
        self.frame(vec![button(true)]);
        self.frame(vec![button(false)]);
        // A change of state takes effect at the start of the next frame, and is drawn in it.
        self.frame(vec![Event::PointerGone]);
        self.walk.frames(2);
    }

    /// Letters and digits are typed, as a window says it: to the program, and to what egui draws.
    pub fn type_text(&mut self, text: &str) {
        for letter in text.chars() {
            self.send_letter(letter);
            self.frame(vec![Event::Text(letter.to_string())]);
        }
    }

    /// A letter with Control held: the program is told of the letter all the same.
    pub fn with_control(&mut self, letter: char, key: egui::Key) {
        self.send_letter(letter);
        self.key(key, Modifiers { ctrl: true, command: true, ..Modifiers::NONE });
    }

    fn send_letter(&mut self, letter: char) {
        let (code, key) = key_of(letter);
        let [pressed, _] = strokes(Entity::PLACEHOLDER, code, &key);
        self.walk.app.world_mut().write_message(pressed);
    }

    /// A key goes down and up.
    pub fn key(&mut self, key: egui::Key, modifiers: Modifiers) {
        for pressed in [true, false] {
            self.frame(vec![egui_key(key, pressed, modifiers)]);
        }
    }
}
