//! The command `second-glance`.

use clap::Parser;
use second_glance::app::cli::arguments::Cli;
use second_glance::app::cli::{command, environment};
use std::process::ExitCode;

fn main() -> ExitCode {
    environment::complete();
    command::dispatch(Cli::parse()).report()
}
