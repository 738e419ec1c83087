//! Failures that the learner should read.

/// A failure the learner should read: what is wrong and what to do.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Problem(pub Option<String>);

impl Problem {
    /// Shows `what`, unless an earlier failure is still on screen.
    pub fn report(&mut self, what: impl std::fmt::Display) {
        let text = what.to_string();
        tracing::error!("{}", crate::printable::lines(&text));
        self.0.get_or_insert(text);
    }

    /// Takes over what another has to report; touches nothing where that is nothing.
    pub fn take_over(&mut self, other: Self) {
        if let Some(text) = other.0 {
            self.0.get_or_insert(text);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{self, Write};
    use std::sync::{Arc, Mutex};
    use tracing::subscriber::with_default;
    use tracing_subscriber::fmt;

    /// A log that is kept.
    #[derive(Clone, Default)]
    struct Kept(Arc<Mutex<Vec<u8>>>);

    impl Write for Kept {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn what_a_name_would_do_to_a_terminal_is_written_out_in_the_log() {
        let kept = Kept::default();
        let to = kept.clone();
        let subscriber = fmt().with_ansi(false).with_writer(move || to.clone()).finish();
        let mut problem = Problem::default();
        // A right-to-left override (Unicode Standard Annex 9), an escape and a bell (ISO 6429).
        let text = "\u{202e}niaga\u{1b}[2J\u{7}: cannot be read";
        with_default(subscriber, || problem.report(text));
        let log = String::from_utf8(kept.0.lock().unwrap().clone()).unwrap();
        assert!(log.contains("\\u{202e}niaga\\u{1b}[2J\\u{7}: cannot be read"), "{log:?}");
        assert!(log.trim_end().chars().all(|c| crate::printable::is_printable(&c.to_string())));
        assert_eq!(problem.0.as_deref(), Some(text));
    }
}
