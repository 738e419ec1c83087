//! How long the bench takes to show the new smile after a control was moved.

use clap::Parser;
use second_glance::app::cli::arguments::Cli;
use second_glance::app::cli::command::{ExitWith, dispatch};

/// As `second-glance frames --bench`, without the release build. Times and size may be given.
#[test]
#[ignore = "measures; for a machine with a graphics card and nothing else to do"]
fn bench_control_to_picture() {
    let times = std::env::var("SECOND_GLANCE_TIMES").unwrap_or_else(|_| "3".to_owned());
    let sizes = match std::env::var("SECOND_GLANCE_SIZE") {
        Ok(size) => vec![size],
        Err(_) => vec!["1280x720".to_owned(), "1920x1080".to_owned()],
    };
    for size in sizes {
        let cli =
            Cli::try_parse_from(["second-glance", "frames", "--bench", &times, "--size", &size]);
        assert_eq!(dispatch(cli.unwrap()), ExitWith::success());
    }
}
