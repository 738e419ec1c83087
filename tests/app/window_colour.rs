//! Pictures reach the window's pixels unchanged: the whole app, with the window's camera turned on
//! an image that is read back.

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
use second_glance::app::AppPlugin;
use second_glance::app::ScreensPlugin;
use second_glance::app::cli::launch::window_camera;
use second_glance::app::picture::request::{PictureReady, RequestPicture};
use second_glance::app::picture::viewport::adapter::renderer_settings;
use second_glance::app::shell::order::AppSystems;
use second_glance::bake::BakedScene;
use second_glance::bake::cross_section::CrossSection;
use second_glance::chart::BlendChart;
use second_glance::exercise::{ChoiceMeasurement, Round};
use second_glance::level::course_format::{Course, FormEntry};
use second_glance::material::Library;
use second_glance::measure::{ComposedSmile, FormPlan, SmileRequest};
use second_glance::play::content::shipped::Shipped;
use second_glance::play::content::{ActiveContent, Content, ContentError, FaultyFile, LevelEntry};
use second_glance::play::intents::Intent;
use second_glance::play::picture::Picture;
use second_glance::play::records::Records;
use second_glance::play::session::Session;
use second_glance::play::start::SessionOptions;
use second_glance::scene::{Case, Restoration};
use second_glance::trial::{Phase, Plan, Response, Timing};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

/// A row of 832 pixels fills 13 × 256 bytes, so that rows come back without padding.
pub(crate) const WINDOW: [u32; 2] = [832, 600];
const LEVEL: &str = "first-look";

/// Shipped content in short sessions; half-baked colours would do, the picture is not drawn from
/// them.
struct Short(Shipped);

impl Content for Short {
    fn levels(&self) -> Vec<LevelEntry> {
        self.0.levels()
    }
    fn choice_measurement(&self, seed: u64) -> Result<ChoiceMeasurement, ContentError> {
        self.0.choice_measurement(seed)
    }
    fn library(&self) -> &Library {
        self.0.library()
    }
    fn own_folder(&self) -> Option<PathBuf> {
        self.0.own_folder()
    }
    fn own_levels(&self) -> Vec<String> {
        self.0.own_levels()
    }
    fn faulty(&self) -> Vec<FaultyFile> {
        self.0.faulty()
    }
    fn look_again(&self) {
        self.0.look_again();
    }
    fn plan(&self, level: &str, seed: u64, _: Option<u32>) -> Result<Plan, ContentError> {
        self.0.plan(level, seed, Some(4))
    }
    fn level_seed(&self, level: &str) -> Result<u64, ContentError> {
        self.0.level_seed(level)
    }
    fn exercise(&self, level: &str) -> Result<&'static str, ContentError> {
        self.0.exercise(level)
    }

    fn round(&self, level: &str, seed: u64, _: Option<u32>) -> Result<Round, ContentError> {
        self.0.round(level, seed, Some(2))
    }

    fn courses(&self) -> Vec<Course> {
        self.0.courses()
    }

    fn course(&self, name: &str) -> Result<Course, ContentError> {
        self.0.course(name)
    }

    fn form(&self, form: &FormEntry, seat: u64, timing: Timing) -> Result<FormPlan, ContentError> {
        self.0.form(form, seat, timing)
    }

    fn compose(&self, request: &SmileRequest) -> Result<ComposedSmile, ContentError> {
        self.0.compose(request)
    }
    fn bake(&self, case: &Case) -> Result<BakedScene, ContentError> {
        self.0.bake(case)
    }
    fn chart(
        &self,
        case: &Case,
        name: &str,
        tried: &[(String, Restoration)],
    ) -> Result<Option<BlendChart>, ContentError> {
        self.0.chart(case, name, tried)
    }

    fn cross_section(&self, case: &Case) -> Result<Option<CrossSection>, ContentError> {
        self.0.cross_section(case)
    }

    fn cause(&self, case: &Case, scene: &BakedScene, response: Response) -> Option<String> {
        self.0.cause(case, scene, response)
    }
}

/// Every code on every channel, no two neighbours alike: a shift by a pixel, a filter or a curve
/// would all show.
fn test_card(width: u32, height: u32) -> Picture {
    let code = |x: u32, y: u32| [(x * 7 + y * 31) % 256, (x * 13 + y * 5) % 256, (x + y) % 256];
    let rgba = (0..width * height)
        .flat_map(|index| {
            let [r, g, b] = code(index % width, index / width);
            [r as u8, g as u8, b as u8, 255]
        })
        .collect();
    Picture { width, height, rgba, ..Picture::default() }
}

fn answer_with_test_cards(
    mut requests: MessageReader<RequestPicture>,
    mut ready: MessageWriter<PictureReady>,
) {
    for request in requests.read() {
        let picture = Arc::new(test_card(request.width, request.height));
        ready.write(PictureReady { id: request.id, picture });
    }
}

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

pub(crate) fn app(results: &std::path::Path, size: [u32; 2]) -> App {
    app_with(results, size, |app| {
        app.add_systems(Update, answer_with_test_cards.before(AppSystems::Arrivals));
    })
}

/// The app with somebody who answers requests for pictures.
pub(crate) fn app_with(
    results: &std::path::Path,
    size: [u32; 2],
    pictures: impl FnOnce(&mut App),
) -> App {
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
    .insert_resource(ActiveContent(Arc::new(Short(Shipped::load(None).unwrap()))))
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

pub(crate) fn phase(app: &App) -> Option<Phase> {
    app.world().get_resource::<Session>().map(Session::phase)
}

pub(crate) fn update_until(app: &mut App, what: &str, reached: impl Fn(&App) -> bool) {
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
pub(crate) fn read_back(app: &mut App) -> Vec<u8> {
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

#[test]
fn pictures_and_the_grey_reach_the_window_within_one_code() {
    let results = tempfile::tempdir().unwrap();
    let mut app = app(results.path(), WINDOW);
    app.world_mut().write_message(Intent::StartLevel(LEVEL.to_owned()));
    update_until(&mut app, "exposure", |app| phase(app) == Some(Phase::Exposure));
    // The readback starts on a frame of the exposure and ends a few frames later, still in it.
    app.update();
    let pixels = read_back(&mut app);
    assert_eq!(phase(&app), Some(Phase::Exposure));
    let [width, height] = WINDOW;
    assert_eq!(pixels.len(), (width * height * 4) as usize);

    let shown = app.world().resource::<Session>().shown().unwrap().restored.clone();
    // The picture takes the whole width and starts at the top.
    assert_eq!(shown.width, width);
    let picture_bytes = shown.rgba.len();
    let worst = pixels[..picture_bytes]
        .iter()
        .zip(&shown.rgba)
        .map(|(is, should)| is.abs_diff(*should))
        .max();
    println!("largest difference in the picture: {worst:?} codes");
    assert!(worst.unwrap() <= 1, "{worst:?}");

    // Below it lies the adaptation grey: sRGB 119 is L* 50.03 (CIE 15, IEC 61966-2-1).
    let grey = &pixels[picture_bytes..];
    assert!(!grey.is_empty());
    assert!(grey.chunks_exact(4).all(|pixel| pixel == [119, 119, 119, 255]));
}
