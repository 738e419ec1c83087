//! The app without a window: real content, time by hand, keys as messages, flat pictures.

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::prelude::*;
use bevy::state::app::StatesPlugin;
use bevy::time::TimeUpdateStrategy;
use second_glance::app::AppPlugin;
use second_glance::app::picture::request::{PictureFailed, PictureReady, RequestPicture};
use second_glance::app::shell::order::AppSystems;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::bake::BakedScene;
use second_glance::bake::cross_section::CrossSection;
use second_glance::chart::BlendChart;
use second_glance::exercise::{ChoiceMeasurement, Round, Stage};
use second_glance::level::course_format::{Course, FormEntry};
use second_glance::level::format::{Level, ron_options};
use second_glance::material::Library;
use second_glance::measure::{ComposedSmile, FormPlan, SmileRequest};
use second_glance::play::content::shipped::Shipped;
use second_glance::play::content::{ActiveContent, Content, ContentError, FaultyFile, LevelEntry};
use second_glance::play::intents::Intent;
use second_glance::play::picture::{Picture, ToothOutline};
use second_glance::play::problem::Problem;
use second_glance::play::records::Records;
use second_glance::play::round::Exercising;
use second_glance::play::session::Session;
use second_glance::play::smiles::Preparation;
use second_glance::play::start::PendingStart;
use second_glance::psychophysics::OptionStop;
use second_glance::results::{AnswerRow, Store, StoredSession, TrialRow};
use second_glance::scene::{Case, Restoration};
use second_glance::trial::{Phase, Plan, Response, Timing};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::Duration;
use tempfile::TempDir;

/// The level every walk plays.
pub const LEVEL: &str = "first-look";
/// Trials in a walk's session: one of them without a restoration.
pub const TRIALS: u32 = 4;
/// Questions in a walk's round.
pub const QUESTIONS: u32 = 2;
/// Most questions of a walk's measurement of choosing: one of them is asked again.
pub const CHOICE_QUESTIONS: usize = 8;
/// The display's frame, s.
pub const FRAME_S: f64 = 1.0 / 60.0;

static SHIPPED: LazyLock<Arc<Shipped>> =
    LazyLock::new(|| Arc::new(Shipped::load(None).expect("shipped content is sound")));

/// The materials that come with the program.
pub fn library() -> &'static Library {
    SHIPPED.library()
}

/// Holds work in the background up, so that it is late.
pub struct Gate {
    held: AtomicBool,
    waiting: AtomicUsize,
}

impl Gate {
    fn new() -> Arc<Self> {
        Arc::new(Self { held: AtomicBool::new(false), waiting: AtomicUsize::new(0) })
    }

    /// Lets nothing pass from now on.
    pub fn hold(&self) {
        self.held.store(true, Ordering::SeqCst);
    }

    /// Lets everything pass.
    pub fn open(&self) {
        self.held.store(false, Ordering::SeqCst);
    }

    /// Whether something waits.
    pub fn is_reached(&self) -> bool {
        self.waiting.load(Ordering::SeqCst) > 0
    }

    fn pass(&self) {
        // Systems, which run on threads of other names, are not held: the app would stand still.
        let name = std::thread::current().name().unwrap_or_default().to_owned();
        if !name.starts_with("Async Compute") {
            return;
        }
        self.waiting.fetch_add(1, Ordering::SeqCst);
        while self.held.load(Ordering::SeqCst) {
            std::thread::sleep(Duration::from_millis(1));
        }
        self.waiting.fetch_sub(1, Ordering::SeqCst);
    }
}

/// The shipped content with short sessions, at most so many questions where choosing is measured, and
/// a gate before whatever is laid out.
struct Short(Arc<Shipped>, usize, Arc<Gate>);

impl Content for Short {
    fn levels(&self) -> Vec<LevelEntry> {
        self.0.levels()
    }
    fn choice_measurement(&self, seed: u64) -> Result<ChoiceMeasurement, ContentError> {
        self.2.pass();
        let text = include_str!("../../levels/blend-value-first.ron");
        let level: Level = ron_options().from_str(text).expect("a shipped level is sound");
        let stop = OptionStop { max_questions: self.1, ..OptionStop::default() };
        ChoiceMeasurement::new(level, seed, stop)
            .map_err(|error| ContentError::Invalid(error.to_string()))
    }
    fn library(&self) -> &Library {
        self.2.pass();
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
        self.2.pass();
        // Searches are laid out longer, so that no rest comes between.
        self.0.plan(level, seed, Some(if level == "find" { 2 * TRIALS } else { TRIALS }))
    }

    fn level_seed(&self, level: &str) -> Result<u64, ContentError> {
        self.0.level_seed(level)
    }

    fn exercise(&self, level: &str) -> Result<&'static str, ContentError> {
        self.0.exercise(level)
    }

    fn round(&self, level: &str, seed: u64, _: Option<u32>) -> Result<Round, ContentError> {
        self.2.pass();
        self.0.round(level, seed, Some(QUESTIONS))
    }

    fn courses(&self) -> Vec<Course> {
        self.0.courses()
    }

    fn course(&self, name: &str) -> Result<Course, ContentError> {
        self.0.course(name)
    }

    fn form(&self, form: &FormEntry, seat: u64, timing: Timing) -> Result<FormPlan, ContentError> {
        self.2.pass();
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

/// Whether pictures can be drawn.
#[derive(Resource, PartialEq, Eq)]
pub struct CanDraw(pub bool);

/// Pictures asked for so far.
#[derive(Resource, Default, PartialEq, Eq)]
pub struct Asked(pub u32);

fn answer_requests(
    mut requests: MessageReader<RequestPicture>,
    can_draw: Res<CanDraw>,
    mut asked: ResMut<Asked>,
    mut ready: MessageWriter<PictureReady>,
    mut failed: MessageWriter<PictureFailed>,
) {
    for request in requests.read() {
        asked.0 += 1;
        if can_draw.0 {
            let picture = Arc::new(flat_picture(&request.scene, request.width, request.height));
            ready.write(PictureReady { id: request.id, picture });
        } else {
            let reason = "the adapter went away".to_owned();
            failed.write(PictureFailed { id: request.id, reason });
        }
    }
}

/// One grey for everything, and a box for each tooth.
fn flat_picture(scene: &BakedScene, width: u32, height: u32) -> Picture {
    let pitch = width as f32 / scene.teeth.len() as f32;
    let outlines = scene.teeth.iter().enumerate().map(|(index, baked)| {
        let (left, right) = (pitch * index as f32, pitch * (index as f32 + 0.9));
        let polygon = vec![[left, 10.0], [right, 10.0], [right, 90.0], [left, 90.0]];
        ToothOutline { tooth: baked.tooth, polygon }
    });
    Picture {
        width,
        height,
        rgba: [119, 119, 119, 255].repeat((width * height) as usize),
        outlines: outlines.collect(),
        teeth: vec![0; (width * height) as usize],
        ..Picture::default()
    }
}

/// A running app and its results folder.
pub struct Walk {
    pub app: App,
    /// Before whatever is laid out in the background.
    pub gate: Arc<Gate>,
    _folder: Option<TempDir>,
    store: Store,
}

impl Walk {
    /// A fresh app on an empty results folder, at the level list.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder for results");
        let mut walk = Self::in_folder(folder.path());
        walk._folder = Some(folder);
        walk
    }

    /// A fresh app on a results folder that may have results.
    pub fn in_folder(folder: &Path) -> Self {
        Self::measuring_choice(folder, CHOICE_QUESTIONS)
    }

    /// The same with at most so many questions where choosing is measured.
    pub fn measuring_choice(folder: &Path, questions: usize) -> Self {
        Self::with(folder, questions, |_| ())
    }

    /// The same with more in the app.
    pub fn with(folder: &Path, questions: usize, add: impl FnOnce(&mut App)) -> Self {
        let mut app = App::new();
        let gate = Gate::new();
        app.add_plugins((MinimalPlugins, StatesPlugin, AppPlugin))
            .insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_secs_f64(FRAME_S)))
            .insert_resource(ActiveContent(Arc::new(Short(
                SHIPPED.clone(),
                questions,
                gate.clone(),
            ))))
            .insert_resource(Records::open(Some(folder)).expect("results can be kept"))
            .insert_resource(CanDraw(true))
            .init_resource::<Asked>()
            .add_systems(Update, answer_requests.before(AppSystems::Arrivals));
        add(&mut app);
        app.update();
        let store = Store::open(folder).expect("the results can be read");
        Self { app, gate, _folder: None, store }
    }

    pub fn screen(&self) -> Screen {
        *self.app.world().resource::<State<Screen>>().get()
    }

    pub fn pause(&self) -> Pause {
        *self.app.world().resource::<State<Pause>>().get()
    }

    pub fn problem(&self) -> Option<String> {
        self.app.world().resource::<Problem>().0.clone()
    }

    pub fn session(&self) -> &Session {
        self.app.world().resource::<Session>()
    }

    /// Pictures asked for so far.
    pub fn asked(&self) -> u32 {
        self.app.world().resource::<Asked>().0
    }

    /// What is being prepared.
    pub fn preparation(&self) -> &Preparation {
        self.app.world().resource::<Preparation>()
    }

    pub fn phase(&self) -> Phase {
        self.session().phase()
    }

    /// Simulated seconds since the app began.
    pub fn seconds(&self) -> f64 {
        self.app.world().resource::<Time<Real>>().elapsed_secs_f64()
    }

    /// Frames pass.
    pub fn frames(&mut self, count: usize) {
        for _ in 0..count {
            self.app.update();
        }
    }

    /// Frames last this long from now on.
    pub fn frame_lasts(&mut self, seconds: f64) {
        let strategy = TimeUpdateStrategy::ManualDuration(Duration::from_secs_f64(seconds));
        self.app.insert_resource(strategy);
    }

    pub fn intend(&mut self, intent: Intent) {
        self.app.world_mut().write_message(intent);
        self.app.update();
    }

    /// A key goes down and up.
    pub fn press(&mut self, key_code: KeyCode, logical_key: Key) {
        for state in [ButtonState::Pressed, ButtonState::Released] {
            self.app.world_mut().write_message(KeyboardInput {
                key_code,
                logical_key: logical_key.clone(),
                state,
                text: None,
                repeat: false,
                window: Entity::PLACEHOLDER,
            });
        }
        self.app.update();
        // A change of state takes effect at the start of the next frame.
        self.app.update();
    }

    /// Lets frames pass until `reached`. Baking goes on in the background, so a few frames are
    /// also given real time.
    pub fn until(&mut self, what: &str, reached: impl Fn(&Self) -> bool) {
        for frame in 0..4000 {
            if reached(self) {
                return;
            }
            self.app.update();
            let awaits_work = matches!(
                self.app.world().get_resource::<Session>(),
                Some(s) if matches!(s.phase(), Phase::Preparing | Phase::Response { .. })
            );
            let world = self.app.world();
            let awaits_smiles = world
                .get_resource::<Exercising>()
                .is_some_and(|e| e.sitting().stage() != Stage::Finished);
            let awaits_plan = world.resource::<PendingStart>().waits();
            if awaits_work || awaits_smiles || awaits_plan {
                std::thread::sleep(Duration::from_millis(20));
            } else if frame % 20 == 0 {
                std::thread::sleep(Duration::from_millis(5));
            }
        }
        panic!("never reached: {what}; problem: {:?}", self.problem());
    }

    /// From the level list to the grey adaptation of a new session.
    pub fn start(&mut self) {
        self.intend(Intent::StartLevel(LEVEL.to_owned()));
        self.until("adaptation", |walk| walk.screen() == Screen::Trial);
        assert!(matches!(self.phase(), Phase::Adaptation { .. }), "{:?}", self.phase());
    }

    pub fn enter(&mut self) {
        self.press(KeyCode::Enter, Key::Enter);
    }

    /// Waits for the mask of the next trial, without the rest of the adaptation.
    pub fn run_to_mask(&mut self) {
        if matches!(self.phase(), Phase::Adaptation { .. }) {
            self.press(KeyCode::Enter, Key::Enter);
        }
        self.until("mask", |walk| walk.phase() == Phase::Mask);
    }

    /// The number key of the restored tooth, or N.
    pub fn right_key(&self) -> (KeyCode, Key) {
        let session = self.session();
        let planned = &session.plan().trials[session.trial().expect("a trial") as usize];
        let Some(odd) = planned.case.odd_tooth() else {
            return (KeyCode::KeyN, Key::Character("n".into()));
        };
        let place = session.plan().teeth.iter().position(|tooth| *tooth == odd);
        let digits = [
            KeyCode::Digit1,
            KeyCode::Digit2,
            KeyCode::Digit3,
            KeyCode::Digit4,
            KeyCode::Digit5,
            KeyCode::Digit6,
            KeyCode::Digit7,
            KeyCode::Digit8,
            KeyCode::Digit9,
            KeyCode::Digit0,
        ];
        let place = place.expect("the restored tooth can be answered");
        (digits[place], Key::Character(((place + 1) % 10).to_string().into()))
    }

    /// Answers the trial rightly by key and leaves the debrief.
    pub fn answer_and_go_on(&mut self) {
        self.run_to_mask();
        let (code, key) = self.right_key();
        self.press(code, key);
        assert_eq!(self.phase(), Phase::Debrief);
        self.press(KeyCode::Enter, Key::Enter);
    }

    pub fn stored(&self) -> Vec<StoredSession> {
        self.store.sessions().expect("sessions can be read")
    }

    pub fn answers(&self) -> Vec<AnswerRow> {
        let sessions = self.stored();
        let last = sessions.last().expect("a round is stored");
        self.store.answers(last.session).expect("answers can be read")
    }

    pub fn exercising(&self) -> &Exercising {
        self.app.world().resource::<Exercising>()
    }

    /// From the level list to the first question of a round.
    pub fn start_round(&mut self, level: &str) {
        self.intend(Intent::StartLevel(level.to_owned()));
        self.until("instructions", |walk| walk.screen() == Screen::Exercise);
        assert!(!self.exercising().has_begun());
        self.press(KeyCode::Enter, Key::Enter);
        self.until_asked();
    }

    /// Waits for a question.
    pub fn until_asked(&mut self) {
        self.until("question", |walk| walk.exercising().sitting().stage() == Stage::Asked);
    }

    /// A letter or digit.
    pub fn letter(&mut self, text: &str) {
        let code = match text {
            "1" => KeyCode::Digit1,
            "2" => KeyCode::Digit2,
            "3" => KeyCode::Digit3,
            "4" => KeyCode::Digit4,
            "5" => KeyCode::Digit5,
            "6" => KeyCode::Digit6,
            "7" => KeyCode::Digit7,
            "8" => KeyCode::Digit8,
            "9" => KeyCode::Digit9,
            // What a letter means depends on its character alone.
            _ => KeyCode::KeyQ,
        };
        self.press(code, Key::Character(text.into()));
    }

    pub fn rows(&self) -> Vec<TrialRow> {
        let sessions = self.stored();
        let last = sessions.last().expect("a session is stored");
        self.store.trials(last.session).expect("trials can be read")
    }
}
