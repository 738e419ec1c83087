//! The command `second-glance`.

use clap::Parser;
use second_glance::app::cli::Cli;
use second_glance::app::command;
use std::process::ExitCode;

fn main() -> ExitCode {
    command::dispatch(Cli::parse()).report()
}
