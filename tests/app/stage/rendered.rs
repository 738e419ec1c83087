//! The whole app on a graphics adapter, with the window's camera turned on an image that is read
//! back.

use super::content::{Gate, Short};
use bevy::app::PluginsState;
use bevy::asset::RenderAssetUsages;
use bevy::camera::RenderTarget;
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::gpu_readback::{Readback, ReadbackComplete};
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat, TextureUsages};
use bevy::render::settings::RenderCreation;
use bevy::tasks::tick_global_task_pools_on_main_thread;
use bevy::time::TimeUpdateStrategy;
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;
use bevy_egui::{EguiGlobalSettings, EguiPlugin, PrimaryEguiContext};
use second_glance::app::cli::launch::window_camera;
use second_glance::app::picture::viewport::adapter::renderer_settings;
use second_glance::app::shell::state::Screen;
use second_glance::app::{AppPlugin, ScreensPlugin};
use second_glance::play::content::ActiveContent;
use second_glance::play::records::Records;
use second_glance::play::session::Session;
use second_glance::play::start::SessionOptions;
use second_glance::trial::Phase;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// A row of 832 pixels fills 13 × 256 bytes, so that rows come back without padding.
pub const WINDOW: [u32; 2] = [832, 600];

#[derive(Resource)]
struct WindowSize([u32; 2]);

#[derive(Resource)]
struct WindowImage(Handle<Image>);

#[derive(Resource, Default)]
struct Pixels(Option<Vec<u8>>);

fn spawn_window_camera(
    mut commands: Commands,
    size: Res<WindowSize>,
    mut images: ResMut<Assets<Image>>,
) {
    let [width, height] = size.0;
    let mut image = Image::new_fill(
        Extent3d { width, height, depth_or_array_layers: 1 },
        TextureDimension::D2,
        &[0; 4],
        TextureFormat::Rgba8UnormSrgb,
        RenderAssetUsages::default(),
    );
    image.texture_descriptor.usage |= TextureUsages::RENDER_ATTACHMENT | TextureUsages::COPY_SRC;
    let image = images.add(image);
    let target = RenderTarget::Image(image.clone().into());
    commands.spawn((window_camera(), target, PrimaryEguiContext));
    commands.insert_resource(WindowImage(image));
}

/// The app with somebody who answers requests for pictures.
pub fn app_with(results: &Path, size: [u32; 2], pictures: impl FnOnce(&mut App)) -> App {
    let settings = renderer_settings().expect("this test needs a graphics adapter");
    let mut app = App::new();
    app.add_plugins(
        DefaultPlugins
            .set(WindowPlugin {
                primary_window: None,
                exit_condition: ExitCondition::DontExit,
                ..default()
            })
            .set(RenderPlugin {
                render_creation: RenderCreation::from(settings),
                synchronous_pipeline_compilation: true,
                ..default()
            })
            .disable::<WinitPlugin>()
            .disable::<LogPlugin>()
            .disable::<PipelinedRenderingPlugin>(),
    )
    .add_plugins((EguiPlugin::default(), AppPlugin, ScreensPlugin))
    .insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_secs_f64(1.0 / 60.0)))
    .insert_resource(ActiveContent(Arc::new(Short::new(None, Gate::new()))))
    .insert_resource(Records::open(Some(results)).unwrap())
    .insert_resource(SessionOptions { adaptation_s: Some(0.0) })
    .init_resource::<Pixels>()
    .insert_resource(WindowSize(size))
    .add_systems(PreStartup, spawn_window_camera);
    pictures(&mut app);
    app.world_mut().resource_mut::<EguiGlobalSettings>().auto_create_primary_context = false;
    while app.plugins_state() == PluginsState::Adding {
        tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
    app
}

pub fn phase(app: &App) -> Option<Phase> {
    app.world().get_resource::<Session>().map(Session::phase)
}

pub fn update_until(app: &mut App, what: &str, reached: impl Fn(&App) -> bool) {
    // Plans are laid out in the background, which takes seconds where the processor is busy.
    for _ in 0..20_000 {
        if reached(app) {
            return;
        }
        app.update();
    }
    panic!("never reached: {what}");
}

/// The window's pixels, some frames from now.
pub fn read_back(app: &mut App) -> Vec<u8> {
    app.world_mut().resource_mut::<Pixels>().0 = None;
    let image = app.world().resource::<WindowImage>().0.clone();
    let reader = app
        .world_mut()
        .spawn(Readback::texture(image))
        .observe(|read: On<ReadbackComplete>, mut pixels: ResMut<Pixels>| {
            pixels.0 = Some(read.data.clone());
        })
        .id();
    update_until(app, "pixels", |app| app.world().resource::<Pixels>().0.is_some());
    app.world_mut().despawn(reader);
    app.world_mut().resource_mut::<Pixels>().0.take().unwrap()
}

/// The screen that is shown.
pub fn screen(app: &App) -> Screen {
    *app.world().resource::<State<Screen>>().get()
}

/// Keeps the window as a picture once so many frames have settled it.
pub fn save(app: &mut App, path: &Path, [width, height]: [u32; 2], frames: usize) {
    for _ in 0..frames {
        app.update();
    }
    let pixels = read_back(app);
    image::save_buffer(path, &pixels, width, height, image::ExtendedColorType::Rgba8).unwrap();
}
