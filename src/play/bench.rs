//! Setting up free play on the bench: which part the keys are at, and what was chosen.

use crate::exercise::{BenchSetup, SetupPart};
use crate::play::around::around;
use crate::play::content::ActiveContent;
use crate::play::intents::SetupIntent;
use crate::play::start::PendingStart;
use crate::play::wanted::{BenchWanted, Start};

/// A bench being set up; what was chosen stays while the program runs.
#[derive(Debug, Clone, Default)]
pub struct BenchBeingSet {
    /// What was chosen.
    pub setup: BenchSetup,
    at: usize,
}

impl BenchBeingSet {
    /// The part that the keys are at.
    #[must_use]
    pub fn part(&self) -> SetupPart {
        SetupPart::ALL[self.at.min(SetupPart::ALL.len() - 1)]
    }

    fn go_to(&mut self, part: SetupPart) {
        self.at = SetupPart::ALL.iter().position(|p| *p == part).unwrap_or(0);
    }

    /// Takes an intent in.
    pub fn handle(
        &mut self,
        intent: SetupIntent,
        content: &ActiveContent,
        pending: &mut PendingStart,
    ) {
        let library = content.0.library();
        match intent {
            SetupIntent::Step(by) => {
                self.at = around(self.at, by, SetupPart::ALL.len());
            }
            SetupIntent::Move(by) => self.setup = self.setup.stepped(self.part(), by, library),
            SetupIntent::Change(part, by) => {
                self.go_to(part);
                self.setup = self.setup.stepped(part, by, library);
            }
            SetupIntent::Set(part, value) => {
                self.go_to(part);
                self.setup = self.setup.with_number(part, value, library);
            }
            SetupIntent::Reset => self.setup = BenchSetup::default(),
            SetupIntent::Start => {
                pending.ask(Start::Bench(Box::new(BenchWanted::Setup(self.setup.clone()))));
            }
        }
    }
}
