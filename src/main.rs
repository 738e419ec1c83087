//! The command `second-glance`.

use clap::Parser;
use second_glance::app::cli::Cli;
use second_glance::app::{command, environment};
use std::process::ExitCode;

fn main() -> ExitCode {
    environment::complete();
    command::dispatch(Cli::parse()).report()
}
