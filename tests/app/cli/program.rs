//! The built program, run as from a shell.

use std::path::Path;
use std::process::{Command, Output, Stdio};

/// The program in a folder, with a home of its own there, so that nothing of this machine is used.
pub fn program(home: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_second-glance"));
    at_home(&mut command, home);
    command
}

/// The same where new files may be read and written by everyone, unless the program forbids it.
#[cfg(unix)]
pub fn open_handed(home: &Path) -> Command {
    let mut command = Command::new("sh");
    // This process has many threads, which share one mask; a shell has its own.
    command.args(["-c", "umask 000; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_second-glance")]);
    at_home(&mut command, home);
    command
}

fn at_home(command: &mut Command, home: &Path) {
    command
        .current_dir(home)
        .env("HOME", home)
        .env_remove("XDG_CACHE_HOME")
        .env_remove("XDG_DATA_HOME")
        .stdin(Stdio::null());
}

/// What a run said and how it ended.
#[derive(Debug)]
pub struct Ran {
    /// The exit code; none after a signal.
    pub code: Option<i32>,
    /// Standard output.
    pub said: String,
    /// The error stream.
    pub complained: String,
}

/// Runs a command to its end.
pub fn run(mut command: Command, arguments: &[&str]) -> Ran {
    let Output { status, stdout, stderr } = command.args(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Ran { code: status.code(), said: text(stdout), complained: text(stderr) }
}
