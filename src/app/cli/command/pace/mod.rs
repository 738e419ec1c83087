//! `frames --bench`: how long the bench takes to show the new smile after a control was moved.

mod figures;

use crate::app::cli::arguments::Frames;
use crate::app::cli::command::pace::figures::{Moved, explain, report, write_csv};
use crate::app::cli::command::unshown::{Unshown, UnshownError, shows};
use crate::app::cli::exit::ExitWith;
use crate::app::picture::viewport::queue::PictureDrawn;
use crate::app::picture::viewport::request::DrawTimes;
use crate::app::shell::state::Screen;
use crate::exercise::{RecipePart, Stage, Task};
use crate::play::answer::BenchDraft;
use crate::play::answer::Draft;
use crate::play::content::Content;
use crate::play::intents::ExerciseIntent;
use crate::play::intents::Intent;
use crate::play::intents::SetupIntent;
use crate::play::picture::Picture;
use crate::play::picture::edit::value_only;
use crate::play::problem::Problem;
use crate::play::round::Exercising;
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use crate::scene::Case;
use bevy::input::keyboard::{Key, KeyCode};
use bevy::prelude::*;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// After this something awaited is given up. A software adapter on a busy machine takes minutes.
const MOST_WAIT: Duration = Duration::from_secs(300);
/// Frames within which the window shows a picture that is ready.
const MOST_UNSEEN: u32 = 30;
/// Why the bench's pace cannot be measured.
#[derive(Debug, thiserror::Error)]
enum PaceError {
    #[error(transparent)]
    Unshown(#[from] UnshownError),
    #[error("there is no folder for the session's rows: {0}")]
    Folder(#[from] std::io::Error),
    #[error("cannot write {}: {source}", crate::printable::path(path))]
    File { path: PathBuf, source: csv::Error },
    #[error("no level composes a restoration")]
    NoBench,
    #[error("the program stopped: {0}")]
    Stopped(String),
    #[error("the window does not show the smile after {control}, although it is ready")]
    NotShown { control: &'static str },
    #[error("{what} did not come within {} s", MOST_WAIT.as_secs())]
    Never { what: String },
}

pub(crate) fn run(times: u32, arguments: &Frames, content: Arc<dyn Content>) -> ExitWith {
    match measure(times, arguments, content) {
        Ok(()) => ExitWith::success(),
        Err(error) => ExitWith::failure(error),
    }
}

fn measure(times: u32, arguments: &Frames, content: Arc<dyn Content>) -> Result<(), PaceError> {
    let folder = tempfile::tempdir()?;
    let levels = content.levels();
    let is_bench = |id: &&str| content.exercise(id).is_ok_and(|name| name == "bench");
    let level = levels.iter().map(|level| level.id.as_str()).find(is_bench);
    let level = level.ok_or(PaceError::NoBench)?.to_owned();
    let mut bench = Bench {
        window: Unshown::open(arguments.size, content, folder.path())?,
        moved: Vec::new(),
        play: "free play",
    };
    let (width, height) = arguments.size;
    say!("{}\nwindow of {width}×{height}, times in ms", bench.window.adapter());
    bench.intend(Intent::OpenBenchSetup);
    bench.until("the setup", |bench| bench.is_on(Screen::BenchSetup))?;
    bench.intend(Intent::Setup(SetupIntent::Start));
    bench.play(times)?;
    report(&bench.moved, bench.play);
    bench.intend(Intent::StopSession);
    bench.until("the setup", |bench| bench.is_on(Screen::BenchSetup))?;
    bench.play = "scored";
    bench.intend(Intent::StartLevel(level));
    bench.until("the instructions", |bench| bench.is_on(Screen::Exercise))?;
    bench.intend(Intent::Exercise(ExerciseIntent::Begin));
    bench.play(times)?;
    report(&bench.moved, bench.play);
    explain();
    if let Some(path) = &arguments.out {
        write_csv(path, &bench.window.adapter(), arguments.size, &bench.moved)
            .map_err(|source| PaceError::File { path: path.clone(), source })?;
    }
    Ok(())
}

/// The bench in a window that is not shown.
struct Bench {
    window: Unshown,
    moved: Vec<Moved>,
    play: &'static str,
}

/// What is in view: the smile, and whether by value alone.
type InView = (Case, bool);

impl Bench {
    fn world(&self) -> &World {
        self.window.app.world()
    }

    fn is_on(&self, screen: Screen) -> bool {
        *self.world().resource::<State<Screen>>().get() == screen
    }

    fn intend(&mut self, intent: Intent) {
        self.window.app.world_mut().write_message(intent);
        self.window.frame();
    }

    fn until(&mut self, what: &str, reached: impl Fn(&Self) -> bool) -> Result<(), PaceError> {
        let start = Instant::now();
        while start.elapsed() < MOST_WAIT {
            if reached(self) {
                return Ok(());
            }
            self.frame()?;
        }
        Err(PaceError::Never { what: what.to_owned() })
    }

    fn frame(&mut self) -> Result<(), PaceError> {
        self.window.frame();
        match &self.world().resource::<Problem>().0 {
            Some(text) => Err(PaceError::Stopped(text.clone())),
            None => Ok(()),
        }
    }

    fn draft(&self) -> Option<&BenchDraft> {
        match self.world().get_resource::<Exercising>()?.draft()? {
            Draft::Bench(draft) => Some(draft),
            _ => None,
        }
    }

    fn in_view(&self) -> Option<InView> {
        let exercising = self.world().get_resource::<Exercising>()?;
        let Task::Bench(task) = &exercising.sitting().question()?.task else { return None };
        let value_only = self.world().resource::<DebriefView>().value_only;
        Some((self.draft()?.case(task), value_only))
    }

    /// The picture in view, if it is that of the recipe in view.
    fn picture(&self) -> Option<Arc<Picture>> {
        let preparation = self.world().resource::<Preparation>();
        let (case, value) = self.in_view()?;
        let restored = &preparation.ready(&case)?.restored;
        Some(if value { Arc::new(value_only(restored)) } else { restored.clone() })
    }

    /// Waits until nothing is being prepared.
    fn settle(&mut self) -> Result<(), PaceError> {
        self.until("the smile", |bench| {
            let preparation = bench.world().resource::<Preparation>();
            bench.picture().is_some() && preparation.count_ready() == preparation.count()
        })?;
        for _ in 0..3 {
            self.frame()?;
        }
        Ok(())
    }

    /// Moves every control: frames first follow each other at once, then at 60 Hz.
    fn play(&mut self, times: u32) -> Result<(), PaceError> {
        self.until("the question", |bench| {
            let exercising = bench.world().get_resource::<Exercising>();
            exercising.is_some_and(|exercising| exercising.sitting().stage() == Stage::Asked)
        })?;
        for at_60_hz in [false, true] {
            self.settle()?;
            self.window.wait_for_refresh(at_60_hz);
            for _ in 0..times {
                self.once(at_60_hz)?;
            }
            self.window.wait_for_refresh(false);
        }
        Ok(())
    }

    /// Every control once.
    fn once(&mut self, at_60_hz: bool) -> Result<(), PaceError> {
        let letter = |letter: &str| (KeyCode::KeyQ, Key::Character(letter.into()));
        let right = (KeyCode::ArrowRight, Key::ArrowRight);
        let left = (KeyCode::ArrowLeft, Key::ArrowLeft);
        for part in RecipePart::ALL {
            self.go_to(part)?;
            // Towards the middle of its range where it is at an end, and for a graded block off
            // or on.
            for key in [&right, &left] {
                if self.change(part.name(), key, at_60_hz)? {
                    break;
                }
            }
        }
        self.change("undo", &letter("u"), at_60_hz)?;
        self.change("redo", &letter("r"), at_60_hz)?;
        self.change("other light", &letter("l"), at_60_hz)?;
        self.go_to(RecipePart::Lightness)?;
        self.change("lightness, other light", &right, at_60_hz)?;
        self.change("first light", &letter("l"), at_60_hz)?;
        self.change("value only", &letter("v"), at_60_hz)?;
        self.change("lightness, value only", &left, at_60_hz)?;
        self.change("in colour", &letter("v"), at_60_hz)?;
        // Two kept recipes that differ from the one at hand.
        self.change("kept", &letter("A"), at_60_hz)?;
        self.change("lightness", &right, at_60_hz)?;
        self.change("kept", &letter("B"), at_60_hz)?;
        self.change("lightness", &right, at_60_hz)?;
        for name in ["a", "a", "b", "b"] {
            self.change("A or B", &letter(name), at_60_hz)?;
        }
        for _ in 0..2 {
            self.change("lightness", &left, at_60_hz)?;
        }
        Ok(())
    }

    fn go_to(&mut self, part: RecipePart) -> Result<(), PaceError> {
        let down = Key::ArrowDown;
        for _ in RecipePart::ALL {
            if self.draft().is_some_and(|draft| draft.part == part) {
                break;
            }
            self.window.press(KeyCode::ArrowDown, &down, 0.0);
            self.frame()?;
        }
        Ok(())
    }

    /// Presses a key and counts until the window's own pixels are those of the new picture. Returns
    /// whether the key changed what is in view.
    fn change(
        &mut self,
        control: &'static str,
        (code, key): &(KeyCode, Key),
        at_60_hz: bool,
    ) -> Result<bool, PaceError> {
        self.settle()?;
        let (before, old) = (self.in_view(), self.picture());
        let baked_before = self.world().resource::<Preparation>().baked_for();
        // Key presses come at any time between two frames.
        let phase = (self.moved.len() as f64 * 0.618_034).fract();
        let pressed = self.window.press(*code, key, phase);
        let mut drawn = DrawTimes::default();
        let (mut frames, mut pictures, mut ready_for) = (0, 0, 0);
        let start = Instant::now();
        while start.elapsed() < MOST_WAIT {
            self.frame()?;
            frames += 1;
            let seen_at = self.window.seen_at();
            if frames == 1 && self.in_view() == before {
                return Ok(false);
            }
            let ready = self.world().resource::<Messages<PictureDrawn>>();
            for ready in ready.iter_current_update_messages() {
                drawn = sum(drawn, ready.times);
                pictures += 1;
            }
            let Some(new) = self.picture() else { continue };
            let is_seen = self.window.pixels().is_some_and(|p| shows(&p, &new, old.as_deref()));
            if is_seen {
                let bake = self.world().resource::<Preparation>().baked_for() - baked_before;
                let took = seen_at.saturating_duration_since(pressed);
                let play = self.play;
                let _ = std::io::Write::write_all(&mut std::io::stderr(), b".");
                self.moved.push(Moved {
                    play,
                    at_60_hz,
                    control,
                    took,
                    frames,
                    bake,
                    drawn,
                    pictures,
                });
                return Ok(true);
            }
            ready_for += 1;
            if ready_for > MOST_UNSEEN {
                return Err(PaceError::NotShown { control });
            }
        }
        Err(PaceError::Never { what: format!("the picture after {control}") })
    }
}

fn sum(a: DrawTimes, b: DrawTimes) -> DrawTimes {
    DrawTimes {
        shape: a.shape + b.shape,
        framing: a.framing + b.framing,
        tissue: a.tissue + b.tissue,
        maps: a.maps + b.maps,
        meshes: a.meshes + b.meshes,
        adapter: a.adapter + b.adapter,
        finish: a.finish + b.finish,
    }
}
