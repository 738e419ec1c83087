//! Copying and pasting in text fields: by the system's clipboard, or within the program where there is
//! none.
//!
//! The crate that draws egui can do this itself, but its way changes what all of the engine is built
//! with; `arboard` alone brings nothing that the window does not need in any case.

use crate::printable::one_line;
use bevy::prelude::*;
use bevy_egui::egui::{Event, Key, OutputCommand};
use bevy_egui::{EguiInput, EguiOutput, EguiPostUpdateSet, EguiPreUpdateSet};
use std::sync::Mutex;

/// The system's clipboard, opened when it is first needed, and what was copied last.
#[derive(Resource, Default)]
pub struct Clipboard {
    system: Option<Mutex<arboard::Clipboard>>,
    was_looked_for: bool,
    own: String,
}

impl Clipboard {
    /// One that leaves the system's alone.
    #[must_use]
    pub fn of_its_own() -> Self {
        Self { was_looked_for: true, ..Self::default() }
    }

    fn system(&mut self) -> Option<&mut arboard::Clipboard> {
        if !self.was_looked_for {
            self.was_looked_for = true;
            self.system = match arboard::Clipboard::new() {
                Ok(found) => Some(Mutex::new(found)),
                Err(error) => {
                    let why = error.to_string();
                    warn!("copying works within the program only: {}", one_line(&why));
                    None
                }
            };
        }
        self.system.as_mut()?.get_mut().ok()
    }

    /// What can be pasted: the system's text; where there is no clipboard, what was copied last.
    pub fn text(&mut self) -> String {
        let of_system = self.system().map(|system| system.get_text());
        match of_system {
            Some(Ok(text)) => text,
            // Nothing, or nothing that is text.
            Some(Err(_)) => String::new(),
            None => self.own.clone(),
        }
    }

    /// Copies a text.
    pub fn set_text(&mut self, text: &str) {
        text.clone_into(&mut self.own);
        if let Some(system) = self.system()
            && let Err(error) = system.set_text(text)
        {
            warn!("not copied: {}", one_line(&error.to_string()));
        }
    }
}

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<Clipboard>()
        .add_systems(
            PreUpdate,
            read_keys.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass),
        )
        .add_systems(PostUpdate, take_copies.after(EguiPostUpdateSet::ProcessOutput));
}

/// Says in egui's terms what the keys for copying, cutting and pasting ask for.
fn read_keys(mut clipboard: ResMut<Clipboard>, mut contexts: Query<&mut EguiInput>) {
    for mut input in &mut contexts {
        let asked: Vec<Event> = input
            .events
            .iter()
            .filter_map(|event| {
                let Event::Key { key, pressed: true, modifiers, .. } = event else { return None };
                match key {
                    Key::Copy | Key::C if *key == Key::Copy || modifiers.command => {
                        Some(Event::Copy)
                    }
                    Key::Cut | Key::X if *key == Key::Cut || modifiers.command => Some(Event::Cut),
                    Key::Insert if modifiers.command => Some(Event::Copy),
                    Key::Insert if modifiers.shift => Some(Event::Paste(clipboard.text())),
                    Key::Paste | Key::V if *key == Key::Paste || modifiers.command => {
                        Some(Event::Paste(clipboard.text()))
                    }
                    _ => None,
                }
            })
            .collect();
        input.events.extend(asked);
    }
}

fn take_copies(mut clipboard: ResMut<Clipboard>, contexts: Query<&EguiOutput>) {
    for output in &contexts {
        for command in &output.platform_output.commands {
            if let OutputCommand::CopyText(text) = command {
                clipboard.set_text(text);
            }
        }
    }
}
