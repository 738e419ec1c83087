//! Lines that commands print. Who reads them may go away before the last, as `head` does: then the
//! command does what it was asked for to its end, without a word and with its own exit code.

use std::fmt::Arguments;
use std::io::Write;

/// Prints a line or several. What names and texts from outside would do to a terminal is written out
/// instead, and a reader that went away is no fault.
macro_rules! say {
    ($($text:tt)*) => {
        crate::app::cli::say::line(
            std::io::stdout(),
            format_args!("{}", crate::printable::lines(&format!($($text)*))),
        )
    };
}
/// The same on the error stream.
macro_rules! complain {
    ($($text:tt)*) => {
        crate::app::cli::say::line(
            std::io::stderr(),
            format_args!("{}", crate::printable::lines(&format!($($text)*))),
        )
    };
}

/// Prints a line. A reader that went away is no fault, and nothing can be told to it.
pub fn line(mut to: impl Write, words: Arguments<'_>) {
    let _ = to.write_fmt(words).and_then(|()| to.write_all(b"\n")).and_then(|()| to.flush());
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Error, ErrorKind, Result};

    /// The end of a pipe that nobody reads.
    struct Closed;

    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> Result<usize> {
            Err(Error::from(ErrorKind::BrokenPipe))
        }

        fn flush(&mut self) -> Result<()> {
            Err(Error::from(ErrorKind::BrokenPipe))
        }
    }

    #[test]
    fn a_closed_pipe_is_no_fault() {
        line(Closed, format_args!("{} of {}", 1, 2));
        let mut open = Vec::new();
        line(&mut open, format_args!("{} of {}", 1, 2));
        assert_eq!(open, b"1 of 2\n");
    }
}
