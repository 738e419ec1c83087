//! Screen readers: what is on the screen goes to them as a tree, and what they ask for is done.
//!
//! The tree is egui's, of the controls and words of each frame; `bevy_egui` hands it to the window's
//! adapter. Two things it leaves to the program: it builds the tree in every frame, whether anybody reads
//! it or not, and it drops what a reader asks to be done. So the tree is built only once a reader has asked
//! for it, and requests are passed on to egui, which clicks and focuses as the pointer would; controls drawn
//! by hand take no values, and have steps by key and button instead.
//!
//! A request wakes no window that rests, so with a reader on it looks for requests [`LISTENING`] apart.
//!
//! What was not tried: a real reader. The tree is read by tests on every screen; the way from the window
//! to the system is Bevy's and AccessKit's. On Linux `accesskit_unix` 0.21 waits for
//! `org.a11y.Status.ScreenReaderEnabled`, which newer versions of AT-SPI no longer say: there it may stay
//! silent until Bevy brings 0.22. It needs a session bus with `at-spi2-core` as well.

use bevy::a11y::{AccessibilityPlugin, AccessibilityRequested, ActionRequest};
use bevy::prelude::*;
use bevy_egui::input::EguiInputEvent;
use bevy_egui::{EguiContext, EguiInputSet, EguiPreUpdateSet, PrimaryEguiContext, egui};
use std::time::Duration;

/// How long a resting window lets a reader's request wait at most.
pub const LISTENING: Duration = Duration::from_millis(50);

pub(crate) fn plugin(app: &mut App) {
    if !app.is_plugin_added::<AccessibilityPlugin>() {
        app.add_plugins(AccessibilityPlugin);
    }
    app.add_message::<ActionRequest>().add_systems(
        PreUpdate,
        (
            build_only_what_is_read
                .after(EguiPreUpdateSet::InitContexts)
                .before(EguiPreUpdateSet::BeginPass),
            pass_requests_on.in_set(EguiInputSet::ReadBevyMessages),
        ),
    );
}

/// A tree for whoever asked for it, and none in frames that nobody reads.
fn build_only_what_is_read(
    requested: Res<AccessibilityRequested>,
    mut told: Local<Option<bool>>,
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
) {
    let is_read = requested.get();
    let is_known = told.replace(is_read) == Some(is_read);
    for mut context in &mut contexts {
        // `bevy_egui` switches it on for a context that is new.
        if is_known && !context.is_added() {
            continue;
        }
        if is_read {
            context.get_mut().enable_accesskit();
        } else {
            context.get_mut().disable_accesskit();
        }
    }
}

/// What a reader asks for, said to egui.
fn pass_requests_on(
    mut requests: MessageReader<ActionRequest>,
    contexts: Query<Entity, With<PrimaryEguiContext>>,
    mut events: MessageWriter<EguiInputEvent>,
) {
    for request in requests.read() {
        for context in &contexts {
            let event = egui::Event::AccessKitActionRequest(request.0.clone());
            events.write(EguiInputEvent { context, event });
        }
    }
}
