//! One question at a time, answered once by each phone.

use std::collections::BTreeMap;
use std::fmt;
use thiserror::Error;

/// Phones that may join at most: far above a lecture hall, far below what would fill memory.
pub const MOST_PHONES: usize = 5000;

/// What a phone is known by: 32 hexadecimal digits that mean nothing else.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Token(String);

/// A text that is no token.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("a phone is known by 32 hexadecimal digits, not by {0} characters of another kind")]
pub struct TokenError(usize);

impl Token {
    /// The token of 16 random bytes.
    #[must_use]
    pub fn of_bytes(bytes: [u8; 16]) -> Self {
        Self(format!("{:032x}", u128::from_be_bytes(bytes)))
    }

    /// Reads a token.
    ///
    /// # Errors
    /// [`TokenError`] unless the text is 32 lower-case hexadecimal digits.
    pub fn parse(text: &str) -> Result<Self, TokenError> {
        let is_digit = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
        if text.len() == 32 && text.chars().all(is_digit) {
            Ok(Self(text.to_owned()))
        } else {
            Err(TokenError(text.chars().count()))
        }
    }
}

impl fmt::Display for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A question to the room.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ballot {
    /// What is asked.
    pub question: String,
    /// What can be answered, in the order shown.
    pub choices: Vec<String>,
    /// Places of the right choices; several may be right.
    pub right: Vec<usize>,
}

/// Where a question stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// None was asked yet, or the next is being shown.
    Waiting,
    /// Answers are taken.
    Open,
    /// No more answers; the solution is not shown yet.
    Closed,
    /// The solution is on the screen.
    Revealed,
}

impl Stage {
    /// The name sent to phones.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Open => "open",
            Self::Closed => "closed",
            Self::Revealed => "revealed",
        }
    }
}

/// Why a phone cannot join.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("{MOST_PHONES} phones have joined, which is the most")]
pub struct JoinError;

/// Why an answer is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Refusal {
    /// The phone has not joined.
    #[error("this phone has not joined: load the page again")]
    Stranger,
    /// Another question is on.
    #[error("question {asked} is on, not {answered}")]
    OtherQuestion {
        /// The question that is on.
        asked: u32,
        /// The question that was answered.
        answered: u32,
    },
    /// The question takes no answers now.
    #[error("the question is closed")]
    NotOpen,
    /// There is no such choice.
    #[error("there is no choice {choice}; there are {choices}")]
    NoSuchChoice {
        /// The place that was answered.
        choice: usize,
        /// How many there are.
        choices: usize,
    },
    /// The phone has answered this question.
    #[error("this phone has answered already")]
    Answered,
}

/// How a room answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tally {
    /// Answers for each choice, in the ballot's order.
    pub counts: Vec<u32>,
    /// Places of the right choices.
    pub right: Vec<usize>,
    /// Phones that had joined when it closed.
    pub phones: usize,
}

impl Tally {
    /// Number of answers.
    #[must_use]
    pub fn answers(&self) -> u32 {
        self.counts.iter().sum()
    }

    /// Number of right answers.
    #[must_use]
    pub fn right_answers(&self) -> u32 {
        self.right.iter().filter_map(|place| self.counts.get(*place)).sum()
    }
}

/// The room's question and its answers.
#[derive(Debug, Clone)]
pub struct Poll {
    number: u32,
    stage: Stage,
    ballot: Ballot,
    /// Every phone that joined, and its answer to the question that is on.
    phones: BTreeMap<Token, Option<usize>>,
}

impl Default for Poll {
    fn default() -> Self {
        Self::new()
    }
}

impl Poll {
    /// A room without phones and without a question.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            number: 0,
            stage: Stage::Waiting,
            ballot: Ballot { question: String::new(), choices: Vec::new(), right: Vec::new() },
            phones: BTreeMap::new(),
        }
    }

    /// Number of the question, counted from 1; 0 before the first.
    #[must_use]
    pub const fn number(&self) -> u32 {
        self.number
    }

    /// Where it stands.
    #[must_use]
    pub const fn stage(&self) -> Stage {
        self.stage
    }

    /// The question that is on.
    #[must_use]
    pub const fn ballot(&self) -> &Ballot {
        &self.ballot
    }

    /// Phones that have joined.
    #[must_use]
    pub fn phones(&self) -> usize {
        self.phones.len()
    }

    /// Phones that have answered the question that is on.
    #[must_use]
    pub fn answered(&self) -> usize {
        self.phones.values().flatten().count()
    }

    /// Whether this phone has joined.
    #[must_use]
    pub fn knows(&self, phone: &Token) -> bool {
        self.phones.contains_key(phone)
    }

    /// Whether this phone has answered the question that is on.
    #[must_use]
    pub fn has_answered(&self, phone: &Token) -> bool {
        self.phones.get(phone).is_some_and(Option::is_some)
    }

    /// Lets a phone in. One that has joined already stays as it is.
    ///
    /// # Errors
    /// [`JoinError`] when [`MOST_PHONES`] have joined.
    pub fn join(&mut self, phone: Token) -> Result<(), JoinError> {
        if self.phones.len() >= MOST_PHONES && !self.phones.contains_key(&phone) {
            return Err(JoinError);
        }
        self.phones.entry(phone).or_insert(None);
        Ok(())
    }

    /// Asks the next question.
    pub fn open(&mut self, ballot: Ballot) {
        self.number += 1;
        self.stage = Stage::Open;
        self.ballot = ballot;
        for answer in self.phones.values_mut() {
            *answer = None;
        }
    }

    /// Takes no more answers.
    pub fn close(&mut self) {
        if self.stage == Stage::Open {
            self.stage = Stage::Closed;
        }
    }

    /// The solution is shown.
    pub fn reveal(&mut self) {
        if matches!(self.stage, Stage::Open | Stage::Closed) {
            self.stage = Stage::Revealed;
        }
    }

    /// The next smile is on its way.
    pub fn wait(&mut self) {
        self.stage = Stage::Waiting;
    }

    /// Takes a phone's answer to question `number`: the place of a choice.
    ///
    /// # Errors
    /// [`Refusal`]; then nothing has changed.
    pub fn answer(&mut self, phone: &Token, number: u32, choice: usize) -> Result<(), Refusal> {
        let given = self.phones.get_mut(phone).ok_or(Refusal::Stranger)?;
        if number != self.number {
            return Err(Refusal::OtherQuestion { asked: self.number, answered: number });
        }
        if self.stage != Stage::Open {
            return Err(Refusal::NotOpen);
        }
        let choices = self.ballot.choices.len();
        if choice >= choices {
            return Err(Refusal::NoSuchChoice { choice, choices });
        }
        if given.is_some() {
            return Err(Refusal::Answered);
        }
        *given = Some(choice);
        Ok(())
    }

    /// What each phone answered to the question that is on, once no more answers are taken; empty
    /// before.
    #[must_use]
    pub fn answers(&self) -> Vec<(Token, usize)> {
        if !matches!(self.stage, Stage::Closed | Stage::Revealed) {
            return Vec::new();
        }
        let given = self.phones.iter();
        given.filter_map(|(phone, answer)| Some((phone.clone(), (*answer)?))).collect()
    }

    /// How the room answered; `None` while answers are taken or nothing was asked.
    #[must_use]
    pub fn tally(&self) -> Option<Tally> {
        if !matches!(self.stage, Stage::Closed | Stage::Revealed) {
            return None;
        }
        let mut counts = vec![0; self.ballot.choices.len()];
        for choice in self.phones.values().flatten() {
            counts[*choice] += 1;
        }
        Some(Tally { counts, right: self.ballot.right.clone(), phones: self.phones.len() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ballot() -> Ballot {
        let choices = ["1", "2", "None"].map(str::to_owned).to_vec();
        Ballot { question: "Which tooth?".to_owned(), choices, right: vec![1] }
    }

    fn phone(number: u8) -> Token {
        Token::of_bytes([number; 16])
    }

    #[test]
    fn each_phone_answers_once_and_only_while_the_question_is_open() {
        let mut poll = Poll::new();
        for number in 0..3 {
            poll.join(phone(number)).unwrap();
        }
        assert_eq!(poll.answer(&phone(0), 0, 0), Err(Refusal::NotOpen));
        poll.open(ballot());
        assert_eq!(poll.tally(), None, "nobody sees how others answer");
        assert_eq!(poll.answer(&phone(9), 1, 0), Err(Refusal::Stranger));
        let other = Refusal::OtherQuestion { asked: 1, answered: 2 };
        assert_eq!(poll.answer(&phone(0), 2, 0), Err(other));
        let none = Refusal::NoSuchChoice { choice: 3, choices: 3 };
        assert_eq!(poll.answer(&phone(0), 1, 3), Err(none));
        assert_eq!(poll.answer(&phone(0), 1, 1), Ok(()));
        assert_eq!(poll.answer(&phone(0), 1, 0), Err(Refusal::Answered));
        assert_eq!(poll.answer(&phone(1), 1, 2), Ok(()));
        poll.close();
        assert_eq!(poll.answer(&phone(2), 1, 1), Err(Refusal::NotOpen));
        let tally = poll.tally().unwrap();
        assert_eq!((tally.counts.as_slice(), tally.phones), (&[0, 1, 1][..], 3));
        assert_eq!((tally.answers(), tally.right_answers()), (2, 1));

        poll.open(ballot());
        assert_eq!((poll.number(), poll.answered()), (2, 0), "answers do not carry over");
        assert_eq!(poll.answer(&phone(0), 2, 0), Ok(()));
    }

    #[test]
    fn a_phone_that_loads_the_page_again_keeps_its_answer() {
        let mut poll = Poll::new();
        poll.join(phone(1)).unwrap();
        poll.open(ballot());
        poll.answer(&phone(1), 1, 0).unwrap();
        poll.join(phone(1)).unwrap();
        assert!(poll.has_answered(&phone(1)));
        assert_eq!(poll.answer(&phone(1), 1, 1), Err(Refusal::Answered));
    }

    #[test]
    fn tokens_are_read_as_written_and_nothing_else_is_one() {
        let token = phone(171);
        assert_eq!(Token::parse(&token.to_string()), Ok(token));
        for text in ["", "ab", &"G".repeat(32), &"A".repeat(32), &"0".repeat(33)] {
            assert!(Token::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_room_has_a_limit() {
        let mut poll = Poll::new();
        for number in 0..MOST_PHONES as u128 {
            poll.join(Token::of_bytes(number.to_be_bytes())).unwrap();
        }
        assert_eq!(poll.join(phone(255)), Err(JoinError));
        assert_eq!(poll.join(Token::of_bytes(3_u128.to_be_bytes())), Ok(()), "already in");
    }
}
