//! Failures that the learner should read.

/// A failure the learner should read: what is wrong and what to do.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Problem(pub Option<String>);

impl Problem {
    /// Shows `text`, unless an earlier failure is still on screen.
    pub fn report(&mut self, text: impl Into<String>) {
        let text = text.into();
        tracing::error!("{text}");
        self.0.get_or_insert(text);
    }

    /// Takes over what another has to report; touches nothing where that is nothing.
    pub fn take_over(&mut self, other: Self) {
        if let Some(text) = other.0 {
            self.0.get_or_insert(text);
        }
    }
}
