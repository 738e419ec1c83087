//! The program's window seen and handled as a person does: screenshots, keys, a pointer.

use bevy_egui::egui::{Pos2, Rect, vec2};
use second_glance::app::ui::tooth_row::{ToothRow, row_area};
use second_glance::level::course_format::ToothNames;
use second_glance::scene::Tooth;
use std::collections::BTreeSet;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// The window's size as the program opens it, pixels.
const SIZE: (f32, f32) = (1280.0, 800.0);

/// A screenshot.
pub struct Screen(image::RgbImage);

impl Screen {
    /// The number of different colours.
    pub fn colours(&self) -> usize {
        self.0.pixels().map(|pixel| pixel.0).collect::<BTreeSet<_>>().len()
    }

    /// The share of pixels that `wanted` holds for, 0..=1.
    pub fn share(&self, wanted: impl Fn([u8; 3]) -> bool) -> f64 {
        let count = self.0.pixels().filter(|pixel| wanted(pixel.0)).count();
        count as f64 / self.0.pixels().len() as f64
    }

    fn at(&self, place: Pos2) -> Option<[u8; 3]> {
        self.0.get_pixel_checked(place.x as u32, place.y as u32).map(|pixel| pixel.0)
    }
}

/// Whether `pixel` is this grey, give or take a code.
fn is_grey(pixel: [u8; 3], grey: u8) -> bool {
    pixel.iter().all(|channel| channel.abs_diff(grey) <= 1)
}

/// Whether cards lie on the grey: a menu.
pub fn shows_cards(screen: &Screen) -> bool {
    let card = second_glance::app::ui::theme::SURFACE.r();
    screen.share(|pixel| is_grey(pixel, card)) > 0.1
}

/// Whether little but cards is there: the level list.
pub fn shows_level_list(screen: &Screen) -> bool {
    let card = second_glance::app::ui::theme::SURFACE.r();
    screen.share(|pixel| is_grey(pixel, card)) > 0.35
}

/// Whether a dialog lies over the screen.
pub fn shows_dialog(screen: &Screen) -> bool {
    let card = second_glance::app::ui::theme::SURFACE.r();
    screen.share(|pixel| is_grey(pixel, card)) > 0.02
}

/// Where the cells of the answer row lie.
pub fn answer_cells(teeth: &[Tooth]) -> Vec<Rect> {
    let window = Rect::from_min_size(Pos2::ZERO, vec2(SIZE.0, SIZE.1));
    ToothRow { teeth, cursor: None, names: ToothNames::Iso3950 }.cells(row_area(window))
}

/// Whether the answer row is there. Looks above and to the left of the words in each cell.
pub fn shows_answer_row(screen: &Screen, cells: &[Rect]) -> bool {
    use second_glance::app::ui::theme::{CONTROL, CONTROL_HOVER};
    cells.iter().all(|cell| {
        let place = cell.center() - vec2(0.3 * cell.width(), 0.28 * cell.height());
        screen
            .at(place)
            .is_some_and(|pixel| is_grey(pixel, CONTROL.r()) || is_grey(pixel, CONTROL_HOVER.r()))
    })
}

/// The one display: whoever looks at it has it to themselves.
static DISPLAY: Mutex<()> = Mutex::new(());

/// The running program. It is ended when this goes out of scope.
pub struct Desk {
    program: Child,
    shots: PathBuf,
    taken: u32,
    // Given back last, when the program has ended.
    _display: MutexGuard<'static, ()>,
}

/// Which graphics drivers a machine has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drivers {
    /// All that are installed.
    All,
    /// OpenGL only.
    OpenGl,
    /// None.
    None,
}

/// The program on a machine with these drivers, without a folder for sockets, as in a root shell.
pub fn program(drivers: Drivers) -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_second-glance"));
    program.env_remove("XDG_RUNTIME_DIR").stdin(Stdio::null());
    if drivers != Drivers::All {
        // Names of the Vulkan loader's and of the OpenGL dispatch library's documentation.
        program.env("VK_DRIVER_FILES", "/nonexistent");
    }
    if drivers == Drivers::None {
        program.env("__EGL_VENDOR_LIBRARY_DIRS", "/nonexistent");
    }
    program
}

impl Desk {
    /// Starts the program with results in `folder`. What it says on the error stream is kept there.
    pub fn start(drivers: Drivers, arguments: &[&str], folder: &Path) -> Self {
        let display = DISPLAY.lock().unwrap_or_else(PoisonError::into_inner);
        let shots = Path::new(env!("CARGO_TARGET_TMPDIR")).join("window");
        std::fs::create_dir_all(&shots).expect("a folder for screenshots");
        let said = File::create(folder.join("said.txt")).expect("a file for what is said");
        let program = program(drivers)
            .args(arguments)
            .arg("--data-dir")
            .arg(folder)
            .stderr(said)
            .spawn()
            .expect("the program starts");
        Self { program, shots, taken: 0, _display: display }
    }

    /// A screenshot of the whole display.
    fn look(&mut self) -> Screen {
        let file = self.shots.join("now.png");
        let status = Command::new("import").args(["-window", "root"]).arg(&file).status();
        assert!(status.is_ok_and(|status| status.success()), "`import` takes no screenshot");
        Screen(image::open(&file).expect("the screenshot can be read").to_rgb8())
    }

    /// Keeps the latest screenshot under a name of its own.
    fn keep(&mut self, what: &str) {
        self.taken += 1;
        let name = format!("{:02}-{}.png", self.taken, what.replace(' ', "-"));
        let _ = std::fs::copy(self.shots.join("now.png"), self.shots.join(name));
    }

    fn assert_running(&mut self, what: &str) {
        let status = self.program.try_wait().expect("the program's state is known");
        assert_eq!(status, None, "the program ended while waiting for {what}");
    }

    /// Waits until the screen shows what is wanted and returns it.
    pub fn until(
        &mut self,
        what: &str,
        patience: Duration,
        wanted: impl Fn(&Screen) -> bool,
    ) -> Screen {
        let start = Instant::now();
        loop {
            self.assert_running(what);
            let screen = self.look();
            if wanted(&screen) {
                println!("{:5.1} s: {what}", start.elapsed().as_secs_f64());
                self.keep(what);
                return screen;
            }
            if start.elapsed() > patience {
                self.keep(&format!("instead of {what}"));
                panic!("no sight of {what}; see {}", self.shots.display());
            }
            std::thread::sleep(Duration::from_millis(150));
        }
    }

    /// Waits until `wanted` holds.
    pub fn until_true(&mut self, what: &str, patience: Duration, wanted: impl Fn() -> bool) {
        let start = Instant::now();
        while !wanted() {
            self.assert_running(what);
            assert!(start.elapsed() < patience, "no sign of {what}");
            std::thread::sleep(Duration::from_millis(100));
        }
        println!("{:5.1} s: {what}", start.elapsed().as_secs_f64());
    }

    /// Presses and releases a key, by its X name.
    pub fn key(&mut self, name: &str) {
        // Without a window manager nobody gives the window the focus.
        xdotool(&["search", "--name", "^Second Glance$", "windowfocus", "--sync"]);
        xdotool(&["key", name]);
    }

    /// Moves the pointer and presses its first button, holding it for a few frames.
    pub fn click(&mut self, x: i32, y: i32) {
        let (x, y) = (x.to_string(), y.to_string());
        xdotool(&["mousemove", "--sync", &x, &y, "sleep", "0.3", "mousedown", "1"]);
        xdotool(&["sleep", "0.3", "mouseup", "1"]);
    }

    /// Clicks "Quit" on the level list and waits for the program to end well.
    pub fn quit(&mut self) {
        self.click(SIZE.0 as i32 - 48, 38);
        let start = Instant::now();
        loop {
            if let Some(status) = self.program.try_wait().expect("the program's state is known") {
                assert!(status.success(), "{status}");
                return;
            }
            assert!(start.elapsed() < Duration::from_secs(20), "the program does not end");
            std::thread::sleep(Duration::from_millis(100));
        }
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

fn xdotool(arguments: &[&str]) {
    let status = Command::new("xdotool").args(arguments).stdout(Stdio::null()).status();
    assert!(status.is_ok_and(|status| status.success()), "`xdotool {arguments:?}` failed");
}
