//! Opens the window.
//!
//! Where results cannot be written, `Records::open_or_pass_over` keeps them for the run and the
//! level list says why.

use crate::app::AppPlugin;
use crate::app::ScreensPlugin;
use crate::app::cli::arguments::Options;
use crate::app::cli::exit::ExitWith;
use crate::app::picture::source::ViewportSource;
use crate::app::picture::viewport::adapter::{NoRenderer, WindowRenderer};
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::order::WindowCamera;
use crate::app::room::course::{HandInFolder, OpenWith};
use crate::app::room::lecture::{LectureAddress, LecturePort};
use crate::app::shell::pace::Pace;
use crate::app::shell::rest::Settle;
use crate::app::ui::theme;
use crate::play::content::{ActiveContent, Content};
use crate::play::records::Records;
use crate::play::start::SessionOptions;
use bevy::camera::ClearColorConfig;
use bevy::core_pipeline::tonemapping::{DebandDither, Tonemapping};
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::window::{PresentMode, WindowEvent};
use bevy::winit::{UpdateMode, WinitSettings};
use bevy_egui::EguiPlugin;
use std::fmt::Display;
use std::num::NonZero;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, PoisonError};

const NO_DISPLAY: &str = "There is no display to open a window on. Run `second-glance rehearse` \
for a session without a window, or start under a display (for example `xvfb-run second-glance`).";
const NO_WINDOW: &str = "`second-glance rehearse` runs a session without a window.";
const NO_SURFACE: &str = "The graphics driver here draws no windows on this display. Install \
another; on Debian `apt-get install libvulkan1 mesa-vulkan-drivers` gives one for Vulkan that needs \
no graphics card, and `apt-get install libegl1 libgl1-mesa-dri` one for OpenGL, which \
`WGPU_BACKEND=gl` chooses.";

/// What the window opens with instead of the level list.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// The course.
    pub with: OpenWith,
    /// The port of the page for phones; `None` for the usual one.
    pub port: Option<LecturePort>,
    /// The address that phones are sent to.
    pub address: LectureAddress,
}

/// Opens the window, with the level list or with a course, and runs until it is closed.
#[must_use]
pub fn run(options: &Options, content: Arc<dyn Content>, opening: Option<Opening>) -> ExitWith {
    if !has_display() {
        return ExitWith::no_display(NO_DISPLAY);
    }
    let records = match Records::open_or_pass_over(options.data_dir.as_deref()) {
        Ok(records) => records,
        Err(error) => return ExitWith::failure(error),
    };
    // Window and renderer set-up panic where they cannot go on. The learner gets a sentence
    // instead, and the panic's own words only where they say something new.
    let said = Arc::new(Mutex::new(String::new()));
    let usual_hook = std::panic::take_hook();
    std::panic::set_hook(Box::new({
        let said = said.clone();
        move |info| {
            let mut said = said.lock().unwrap_or_else(PoisonError::into_inner);
            *said = format!("{said}{info}\n");
        }
    }));
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        let mut app = App::new();
        build(&mut app, options, content, records)?;
        if let Some(opening) = opening {
            app.insert_resource(opening.with)
                .insert_resource(opening.port.unwrap_or_default())
                .insert_resource(opening.address);
        }
        Ok::<_, RendererError>(app.run())
    }));
    std::panic::set_hook(usual_hook);
    match outcome {
        Ok(Ok(AppExit::Success)) => ExitWith::success(),
        Ok(Ok(AppExit::Error(_))) => ExitWith::failure("the window closed because of an error"),
        Ok(Err(error)) => ExitWith::no_display(sentence(error)),
        Err(_) => {
            let said = said.lock().unwrap_or_else(PoisonError::into_inner);
            in_words(&said)
        }
    }
}

/// Why no window can be drawn, and what there is without one.
fn sentence(why: impl Display) -> String {
    let why = why.to_string();
    let mut letters = why.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    let why = format!("{first}{}", letters.as_str());
    format!("{}. {NO_WINDOW}", why.trim_end_matches('.'))
}

/// What a panic of the windowing or drawing libraries means.
fn in_words(panic: &str) -> ExitWith {
    // What Bevy says of an adapter that draws, but not into this window.
    let no_surface = [
        "failed to choose present mode",
        "No supported formats for surface",
        "Failed to create wgpu surface",
        "Unable to find a GPU",
    ];
    if panic.contains("Failed to build event loop") {
        ExitWith::no_display(NO_DISPLAY)
    } else if no_surface.iter().any(|said| panic.contains(said)) {
        ExitWith::no_display(sentence(NO_SURFACE))
    } else {
        ExitWith::failure(format!(
            "The window had to close. Answered smiles are stored. This is a fault in the program; \
             please report these lines:\n{panic}"
        ))
    }
}

/// Whether a display is announced. Elsewhere than on Linux there always is one.
fn has_display() -> bool {
    let named = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux") || named("DISPLAY") || named("WAYLAND_DISPLAY")
}

fn build(
    app: &mut App,
    options: &Options,
    content: Arc<dyn Content>,
    records: Records,
) -> Result<(), RendererError> {
    let window = Window {
        title: "Second Glance".to_owned(),
        resolution: (1280, 800).into(),
        resize_constraints: bevy::window::WindowResizeConstraints {
            min_width: 800.0,
            min_height: 600.0,
            ..default()
        },
        // Frames are counted: each must wait for the display, and none may queue up.
        present_mode: PresentMode::Fifo,
        desired_maximum_frame_latency: NonZero::new(1),
        ..default()
    };
    let plugins = DefaultPlugins
        .set(WindowPlugin { primary_window: Some(window), ..default() })
        .disable::<RenderPlugin>()
        .add_after::<RenderPlugin>(WindowRenderer)
        .set(LogPlugin { filter: "warn,second_glance=info".to_owned(), ..default() })
        // Drawing one frame behind would put pictures on screen a frame later than recorded.
        .disable::<PipelinedRenderingPlugin>();
    app.add_plugins(plugins);
    if let Some(NoRenderer(error)) = app.world_mut().remove_resource() {
        return Err(error);
    }
    app.add_plugins((EguiPlugin::default(), AppPlugin, ScreensPlugin, ViewportSource))
        .insert_resource(WinitSettings::continuous())
        .insert_resource(ActiveContent(content))
        .insert_resource(records)
        .insert_resource(SessionOptions { adaptation_s: options.adaptation_s })
        .insert_resource(HandInFolder(options.hand_ins_to.clone()))
        .add_systems(PreStartup, spawn_camera)
        .add_systems(PreUpdate, stir.run_if(on_message::<WindowEvent>))
        .add_systems(Last, follow_pace.after(Settle));
    Ok(())
}

/// Whatever happens to the window, frames follow one another for a while.
fn stir(mut pace: ResMut<Pace>) {
    pace.stir();
}

/// Lets the window rest, whether it has the focus or not.
fn follow_pace(pace: Res<Pace>, mut settings: ResMut<WinitSettings>) {
    let mode = pace.rests().map_or(UpdateMode::Continuous, UpdateMode::reactive_low_power);
    if settings.focused_mode != mode {
        *settings = WinitSettings { focused_mode: mode, unfocused_mode: mode };
    }
}

fn spawn_camera(mut commands: Commands) {
    commands.spawn(window_camera());
}

/// The window's camera: neutral grey, and nothing that changes colours.
#[must_use]
pub fn window_camera() -> impl Bundle {
    let [r, g, b, _] = theme::GREY.to_array();
    (
        Camera2d,
        WindowCamera,
        Camera { clear_color: ClearColorConfig::Custom(Color::srgb_u8(r, g, b)), ..default() },
        Tonemapping::None,
        DebandDither::Disabled,
        Msaa::Off,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_panics_become_sentences() {
        let display = in_words("Failed to build event loop: Os(..)");
        assert_eq!((display.code, display.message.as_deref()), (3, Some(NO_DISPLAY)));
        let adapter =
            in_words("called `Option::unwrap` on: failed to choose present mode, Options: []");
        assert_eq!(adapter.code, 3);
        let told = adapter.message.unwrap();
        for package in ["mesa-vulkan-drivers", "libgl1-mesa-dri", "rehearse"] {
            assert!(told.contains(package), "{told}");
        }
        let other = in_words("index out of bounds");
        assert_eq!(other.code, 1);
        assert!(other.message.unwrap().contains("index out of bounds"));
    }
}
