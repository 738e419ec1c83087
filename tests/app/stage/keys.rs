//! Keys, as the window and as egui are told of them.

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput, NativeKeyCode};
use bevy::prelude::Entity;
use bevy_egui::egui;

/// A key goes down and up, as the window says it.
pub fn strokes(window: Entity, key_code: KeyCode, logical_key: &Key) -> [KeyboardInput; 2] {
    [ButtonState::Pressed, ButtonState::Released].map(|state| KeyboardInput {
        key_code,
        logical_key: logical_key.clone(),
        state,
        text: None,
        repeat: false,
        window,
    })
}

/// The key that writes a letter, a digit or a space.
pub fn key_of(letter: char) -> (KeyCode, Key) {
    let key = match letter {
        ' ' => Key::Space,
        letter => Key::Character(letter.to_string().into()),
    };
    (code_of(letter), key)
}

/// A key goes down alone, as egui is told of it.
pub fn key_down(key: egui::Key) -> egui::Event {
    egui_key(key, true, egui::Modifiers::NONE)
}

/// A key goes down or up, as egui is told of it.
pub fn egui_key(key: egui::Key, pressed: bool, modifiers: egui::Modifiers) -> egui::Event {
    egui::Event::Key { key, physical_key: None, pressed, repeat: false, modifiers }
}

/// The place of a letter or digit on an English keyboard.
fn code_of(letter: char) -> KeyCode {
    const LETTERS: [KeyCode; 26] = [
        KeyCode::KeyA,
        KeyCode::KeyB,
        KeyCode::KeyC,
        KeyCode::KeyD,
        KeyCode::KeyE,
        KeyCode::KeyF,
        KeyCode::KeyG,
        KeyCode::KeyH,
        KeyCode::KeyI,
        KeyCode::KeyJ,
        KeyCode::KeyK,
        KeyCode::KeyL,
        KeyCode::KeyM,
        KeyCode::KeyN,
        KeyCode::KeyO,
        KeyCode::KeyP,
        KeyCode::KeyQ,
        KeyCode::KeyR,
        KeyCode::KeyS,
        KeyCode::KeyT,
        KeyCode::KeyU,
        KeyCode::KeyV,
        KeyCode::KeyW,
        KeyCode::KeyX,
        KeyCode::KeyY,
        KeyCode::KeyZ,
    ];
    const DIGITS: [KeyCode; 10] = [
        KeyCode::Digit0,
        KeyCode::Digit1,
        KeyCode::Digit2,
        KeyCode::Digit3,
        KeyCode::Digit4,
        KeyCode::Digit5,
        KeyCode::Digit6,
        KeyCode::Digit7,
        KeyCode::Digit8,
        KeyCode::Digit9,
    ];
    match letter.to_ascii_lowercase() {
        digit @ '0'..='9' => DIGITS[digit as usize - '0' as usize],
        letter @ 'a'..='z' => LETTERS[letter as usize - 'a' as usize],
        ' ' => KeyCode::Space,
        _ => KeyCode::Unidentified(NativeKeyCode::Unidentified),
    }
}
