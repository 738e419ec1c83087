//! The shipped content in short sessions, and a gate that makes work in the background late.

use second_glance::bake::BakedScene;
use second_glance::bake::cross_section::CrossSection;
use second_glance::chart::BlendChart;
use second_glance::exercise::{ChoiceMeasurement, Round};
use second_glance::level::course_format::{Course, FormEntry};
use second_glance::level::format::{Level, ron_options};
use second_glance::material::Library;
use second_glance::measure::{ComposedSmile, FormPlan, SmileRequest};
use second_glance::play::content::shipped::Shipped;
use second_glance::play::content::{Content, ContentError, FaultyFile, LevelEntry};
use second_glance::psychophysics::OptionStop;
use second_glance::scene::{Case, Restoration};
use second_glance::trial::{Plan, Response, Timing};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::Duration;

/// The level every walk plays.
pub const LEVEL: &str = "first-look";

/// Trials in a walk's session: one of them without a restoration.
pub const TRIALS: u32 = 4;

/// Questions in a walk's round.
pub const QUESTIONS: u32 = 2;

/// Most questions of a walk's measurement of choosing: one of them is asked again.
pub const CHOICE_QUESTIONS: usize = 8;

/// What ships, read once for all tests.
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
    pub fn new() -> Arc<Self> {
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

/// The shipped content with short sessions, at most so many questions where choosing is measured if
/// that is said, and a gate before whatever is laid out.
pub struct Short {
    shipped: Arc<Shipped>,
    choice_questions: Option<usize>,
    gate: Arc<Gate>,
}

impl Short {
    pub fn new(choice_questions: Option<usize>, gate: Arc<Gate>) -> Self {
        Self { shipped: SHIPPED.clone(), choice_questions, gate }
    }
}

impl Content for Short {
    fn levels(&self) -> Vec<LevelEntry> {
        self.shipped.levels()
    }
    fn choice_measurement(&self, seed: u64) -> Result<ChoiceMeasurement, ContentError> {
        self.gate.pass();
        let Some(max_questions) = self.choice_questions else {
            return self.shipped.choice_measurement(seed);
        };
        let text = include_str!("../../../levels/blend-value-first.ron");
        let level: Level = ron_options().from_str(text).expect("a shipped level is sound");
        let stop = OptionStop { max_questions, ..OptionStop::default() };
        ChoiceMeasurement::new(level, seed, stop)
            .map_err(|error| ContentError::Invalid(error.to_string()))
    }
    fn library(&self) -> &Library {
        self.gate.pass();
        self.shipped.library()
    }
    fn own_folder(&self) -> Option<PathBuf> {
        self.shipped.own_folder()
    }
    fn own_levels(&self) -> Vec<String> {
        self.shipped.own_levels()
    }
    fn faulty(&self) -> Vec<FaultyFile> {
        self.shipped.faulty()
    }
    fn look_again(&self) {
        self.shipped.look_again();
    }

    fn plan(&self, level: &str, seed: u64, _: Option<u32>) -> Result<Plan, ContentError> {
        self.gate.pass();
        // Searches are laid out longer, so that no rest comes between.
        self.shipped.plan(level, seed, Some(if level == "find" { 2 * TRIALS } else { TRIALS }))
    }

    fn level_seed(&self, level: &str) -> Result<u64, ContentError> {
        self.shipped.level_seed(level)
    }

    fn exercise(&self, level: &str) -> Result<&'static str, ContentError> {
        self.shipped.exercise(level)
    }

    fn round(&self, level: &str, seed: u64, _: Option<u32>) -> Result<Round, ContentError> {
        self.gate.pass();
        self.shipped.round(level, seed, Some(QUESTIONS))
    }

    fn courses(&self) -> Vec<Course> {
        self.shipped.courses()
    }

    fn course(&self, name: &str) -> Result<Course, ContentError> {
        self.shipped.course(name)
    }

    fn form(&self, form: &FormEntry, seat: u64, timing: Timing) -> Result<FormPlan, ContentError> {
        self.gate.pass();
        self.shipped.form(form, seat, timing)
    }

    fn compose(&self, request: &SmileRequest) -> Result<ComposedSmile, ContentError> {
        self.shipped.compose(request)
    }

    fn bake(&self, case: &Case) -> Result<BakedScene, ContentError> {
        self.shipped.bake(case)
    }

    fn chart(
        &self,
        case: &Case,
        name: &str,
        tried: &[(String, Restoration)],
    ) -> Result<Option<BlendChart>, ContentError> {
        self.shipped.chart(case, name, tried)
    }

    fn cross_section(&self, case: &Case) -> Result<Option<CrossSection>, ContentError> {
        self.shipped.cross_section(case)
    }

    fn cause(&self, case: &Case, scene: &BakedScene, response: Response) -> Option<String> {
        self.shipped.cause(case, scene, response)
    }
}
