//! The app without a window: real content, time by hand, keys as messages, flat pictures.

use super::content::{CHOICE_QUESTIONS, Gate, LEVEL, Short};
use super::keys::{key_of, strokes};
use super::pictures::{Asked, CanDraw, answer_requests};
use bevy::input::keyboard::{Key, KeyCode};
use bevy::prelude::*;
use bevy::state::app::StatesPlugin;
use bevy::time::TimeUpdateStrategy;
use second_glance::app::AppPlugin;
use second_glance::app::shell::order::AppSystems;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::exercise::Stage;
use second_glance::play::content::ActiveContent;
use second_glance::play::intents::Intent;
use second_glance::play::problem::Problem;
use second_glance::play::records::Records;
use second_glance::play::round::Exercising;
use second_glance::play::session::Session;
use second_glance::play::smiles::Preparation;
use second_glance::play::start::PendingStart;
use second_glance::results::{AnswerRow, Store, StoredSession, TrialRow};
use second_glance::trial::Phase;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tempfile::TempDir;

/// The display's frame, s.
pub const FRAME_S: f64 = 1.0 / 60.0;

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
            .insert_resource(ActiveContent(Arc::new(Short::new(Some(questions), gate.clone()))))
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
        for stroke in strokes(Entity::PLACEHOLDER, key_code, &logical_key) {
            self.app.world_mut().write_message(stroke);
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
        let Some(odd) = planned.case.odd_tooth() else { return key_of('n') };
        let place = session.plan().teeth.iter().position(|tooth| *tooth == odd);
        let place = place.expect("the restored tooth can be answered");
        key_of(['1', '2', '3', '4', '5', '6', '7', '8', '9', '0'][place])
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

    /// The digit of a place, from 1.
    pub fn press_digit(&mut self, digit: usize) {
        self.letter(char::from_digit(digit as u32, 10).expect("a digit"));
    }

    /// A letter or digit.
    pub fn letter(&mut self, letter: char) {
        let (code, key) = key_of(letter);
        self.press(code, key);
    }

    pub fn rows(&self) -> Vec<TrialRow> {
        let sessions = self.stored();
        let last = sessions.last().expect("a session is stored");
        self.store.trials(last.session).expect("trials can be read")
    }
}
