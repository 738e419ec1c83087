//! What the room answered, item by item: hits, false alarms, and before against after.

use super::poll::{Ballot, Tally, Token};
use crate::psychophysics::{Change, Paired, Proportion, mean_interval};
use std::collections::BTreeMap;

/// Share of the items of both parts that a phone must have answered to count in a comparison.
/// Design choice.
const LEAST_ANSWERED: f64 = 0.5;

/// One question that was asked, and what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedItem {
    /// Which part of the lecture it belongs to, from 0.
    pub part: usize,
    /// What the item was, such as `tooth 21, 2.0 ΔE00`.
    pub truth: String,
    /// Whether there was something to be found: the right answer is not "none".
    pub has_target: bool,
    /// What the room answered; `None` where hands were shown.
    pub tally: Option<Tally>,
    /// What could be answered.
    pub choices: Vec<String>,
    right_by_phone: BTreeMap<Token, bool>,
}

impl AskedItem {
    /// Answers that found what there was; `None` where there was nothing to find.
    #[must_use]
    pub fn hits(&self) -> Option<Proportion> {
        let tally = self.tally.as_ref().filter(|_| self.has_target)?;
        Some(Proportion { successes: tally.right_answers(), total: tally.answers() })
    }

    /// Answers that found something where nothing was; `None` where there was something.
    #[must_use]
    pub fn false_alarms(&self) -> Option<Proportion> {
        let tally = self.tally.as_ref().filter(|_| !self.has_target)?;
        let (right, total) = (tally.right_answers(), tally.answers());
        Some(Proportion { successes: total - right, total })
    }

    /// The wrong answer that was given most often, and how often; `None` where all were right.
    #[must_use]
    pub fn commonest_error(&self) -> Option<(&str, u32)> {
        let tally = self.tally.as_ref()?;
        let wrong = tally.counts.iter().enumerate().filter(|(i, _)| !tally.right.contains(i));
        let (place, count) = wrong.max_by_key(|(i, count)| (**count, usize::MAX - i))?;
        (*count > 0).then_some((self.choices.get(place)?.as_str(), *count))
    }
}

/// A part of the lecture: the questions of one form or one level.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LecturePart {
    /// What it is called.
    pub title: String,
    /// The phase, for forms that are compared, such as `pre`.
    pub phase: Option<&'static str>,
}

/// All that a room was asked. Nothing about a person is in it: phones are known by random tokens,
/// which are never stored.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LectureRecord {
    parts: Vec<LecturePart>,
    items: Vec<AskedItem>,
}

/// Figures of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFigures {
    /// The part.
    pub part: LecturePart,
    /// Questions asked.
    pub asked: usize,
    /// Answers that found what there was, over all its items.
    pub hits: Proportion,
    /// Answers that found something where nothing was.
    pub false_alarms: Proportion,
}

/// Two parts compared, over the phones that answered most of both.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The parts' names.
    pub titles: [String; 2],
    /// Mean share of right answers in each, 0..1.
    pub means: [f64; 2],
    /// The change of the share, with its 95 % interval.
    pub change: Change,
}

impl LectureRecord {
    /// Begins a part.
    pub fn begin(&mut self, part: LecturePart) {
        self.parts.push(part);
    }

    /// Keeps a question of the part begun last. `tally` is `None` where hands were shown;
    /// `answers` are what phones answered, as [`Poll::answers`](super::Poll::answers) gives them.
    pub fn keep(
        &mut self,
        truth: String,
        has_target: bool,
        ballot: &Ballot,
        tally: Option<Tally>,
        answers: &[(Token, usize)],
    ) {
        let right =
            |(phone, choice): &(Token, usize)| (phone.clone(), ballot.right.contains(choice));
        self.items.push(AskedItem {
            part: self.parts.len().saturating_sub(1),
            truth,
            has_target,
            tally,
            choices: ballot.choices.clone(),
            right_by_phone: answers.iter().map(right).collect(),
        });
    }

    /// The questions, in the order asked.
    #[must_use]
    pub fn items(&self) -> &[AskedItem] {
        &self.items
    }

    /// What the part of an item is called.
    #[must_use]
    pub fn title_of(&self, item: &AskedItem) -> &str {
        self.parts.get(item.part).map_or("", |part| part.title.as_str())
    }

    /// The figures of every part in which something was asked.
    #[must_use]
    pub fn parts(&self) -> Vec<PartFigures> {
        let add = |sum: &mut Proportion, of: Option<Proportion>| {
            let of = of.unwrap_or_default();
            sum.successes += of.successes;
            sum.total += of.total;
        };
        let figures = self.parts.iter().enumerate().map(|(place, part)| {
            let (mut hits, mut false_alarms) = (Proportion::default(), Proportion::default());
            let mut asked = 0;
            for item in self.items.iter().filter(|item| item.part == place) {
                asked += 1;
                add(&mut hits, item.hits());
                add(&mut false_alarms, item.false_alarms());
            }
            PartFigures { part: part.clone(), asked, hits, false_alarms }
        });
        figures.filter(|figures| figures.asked > 0).collect()
    }

    /// The first form against the last, if forms of two phases were asked and two phones answered
    /// at least half of both.
    #[must_use]
    pub fn comparison(&self) -> Option<Comparison> {
        let forms: Vec<usize> =
            (0..self.parts.len()).filter(|place| self.parts[*place].phase.is_some()).collect();
        let (first, last) = (*forms.first()?, *forms.last()?);
        if first == last {
            return None;
        }
        let (before, after) = (self.shares(first), self.shares(last));
        let pairs: Vec<Paired> = before
            .iter()
            .filter_map(|(phone, share)| {
                let after = *after.get(phone)?;
                Some(Paired { before: *share, before_sem: 0.0, after, after_sem: 0.0 })
            })
            .collect();
        let n = pairs.len().max(1) as f64;
        let mean = |of: fn(&Paired) -> f64| pairs.iter().map(of).sum::<f64>() / n;
        let by: Vec<f64> = pairs.iter().map(|p| p.after - p.before).collect();
        let mut change = Change::new(&pairs)?;
        // Phones that all changed alike have no spread to make an interval of.
        if change.interval.1 - change.interval.0 < 1e-9 {
            let (_, low, high) = mean_interval(&by, (-1.0, 1.0))?;
            change.interval = (low, high);
        }
        Some(Comparison {
            titles: [first, last].map(|place| self.parts[place].title.clone()),
            means: [mean(|p| p.before), mean(|p| p.after)],
            change,
        })
    }

    /// Share of right answers of each phone that answered most of a part.
    fn shares(&self, part: usize) -> BTreeMap<&Token, f64> {
        let mut counts: BTreeMap<&Token, (u32, u32)> = BTreeMap::new();
        let items: Vec<&AskedItem> = self.items.iter().filter(|item| item.part == part).collect();
        for (phone, right) in items.iter().flat_map(|item| &item.right_by_phone) {
            let count = counts.entry(phone).or_default();
            count.0 += u32::from(*right);
            count.1 += 1;
        }
        counts
            .retain(|_, (_, answered)| f64::from(*answered) >= LEAST_ANSWERED * items.len() as f64);
        counts
            .into_iter()
            .map(|(phone, (right, answered))| (phone, f64::from(right) / f64::from(answered)))
            .collect()
    }

    /// The questions as CSV: part, item, truth, whether there was something to find, phones,
    /// answers, right answers, and the count of every choice as `choice=count`.
    #[must_use]
    pub fn to_csv(&self) -> String {
        let mut text = String::from("part,item,truth,has_target,phones,answers,right,counts\n");
        let quoted = |field: &str| format!("\"{}\"", field.replace('"', "\"\""));
        for (number, item) in self.items.iter().enumerate() {
            let part = self.title_of(item);
            let (phones, answers, right, counts) = match &item.tally {
                Some(tally) => {
                    let counts = item.choices.iter().zip(&tally.counts);
                    let counts: Vec<String> = counts.map(|(c, n)| format!("{c}={n}")).collect();
                    (
                        tally.phones.to_string(),
                        tally.answers().to_string(),
                        tally.right_answers().to_string(),
                        counts.join("; "),
                    )
                }
                None => ["n/a"; 4].map(str::to_owned).into(),
            };
            text.push_str(&format!(
                "{},{},{},{},{phones},{answers},{right},{}\n",
                quoted(part),
                number + 1,
                quoted(&item.truth),
                u8::from(item.has_target),
                quoted(&counts),
            ));
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lecture::Poll;

    /// Asks one question of four phones.
    fn ask(poll: &mut Poll, record: &mut LectureRecord, right: usize, given: [usize; 4]) {
        let choices = ["1", "2", "None"].map(str::to_owned).to_vec();
        let ballot = Ballot { question: "Which?".to_owned(), choices, right: vec![right] };
        poll.open(ballot.clone());
        for (phone, choice) in given.into_iter().enumerate() {
            let phone = Token::of_bytes([phone as u8; 16]);
            poll.join(phone.clone()).unwrap();
            poll.answer(&phone, poll.number(), choice).unwrap();
        }
        poll.close();
        record.keep("item".to_owned(), right != 2, &ballot, poll.tally(), &poll.answers());
    }

    #[test]
    fn hits_false_alarms_and_the_change_are_counted_by_part() {
        let (mut poll, mut record) = (Poll::new(), LectureRecord::default());
        let part = |title: &str, phase| LecturePart { title: title.to_owned(), phase };
        record.begin(part("before", Some("pre")));
        ask(&mut poll, &mut record, 0, [0, 1, 2, 0]);
        ask(&mut poll, &mut record, 2, [2, 0, 2, 1]);
        record.begin(part("practice", None));
        record.begin(part("after", Some("post")));
        ask(&mut poll, &mut record, 1, [1, 1, 2, 1]);
        ask(&mut poll, &mut record, 2, [2, 2, 2, 1]);

        let parts = record.parts();
        assert_eq!(parts.len(), 2, "nothing was asked in practice");
        let of = |successes, total| Proportion { successes, total };
        assert_eq!((parts[0].hits, parts[0].false_alarms), (of(2, 4), of(2, 4)));
        assert_eq!((parts[1].hits, parts[1].false_alarms), (of(3, 4), of(1, 4)));
        assert_eq!(record.items()[0].commonest_error(), Some(("2", 1)));
        // Shares by phone: 1, 0, ½, ½ before; 1, 1, ½, ½ after. Changes 0, 1, 0, 0: mean ¼ and,
        // worked by hand, standard error ¼, t(0.975; 3) = 3.1824 (Student's t tables).
        let compared = record.comparison().unwrap();
        assert_eq!((compared.means, compared.change.count), ([0.5, 0.75], 4));
        let half = 0.25 * 3.1824;
        let (low, high) = compared.change.interval;
        assert!((low - (0.25 - half)).abs() < 1e-4 && (high - (0.25 + half)).abs() < 1e-4);
    }

    #[test]
    fn phones_that_all_changed_alike_leave_the_change_uncertain() {
        let (mut poll, mut record) = (Poll::new(), LectureRecord::default());
        for (title, phase) in [("before", "pre"), ("after", "post")] {
            record.begin(LecturePart { title: title.to_owned(), phase: Some(phase) });
            ask(&mut poll, &mut record, 0, [0, 0, 0, 0]);
        }
        let change = record.comparison().unwrap().change;
        // Four phones: a share of at least 0.025^(1/4) = 0.398 is like them (Clopper and Pearson, by
        // hand), and the others may have changed by all there is.
        assert!(change.mean.abs() < 1e-12);
        assert!((change.interval.0 + 0.602).abs() < 1e-3, "{change:?}");
        assert!((change.interval.1 - 0.602).abs() < 1e-3, "{change:?}");
    }

    #[test]
    fn a_show_of_hands_leaves_the_item_without_counts() {
        let mut record = LectureRecord::default();
        record.begin(LecturePart { title: "a, \"b\"".to_owned(), phase: Some("pre") });
        let choices = vec!["1".to_owned(), "None".to_owned()];
        let ballot = Ballot { question: String::new(), choices, right: vec![0] };
        record.keep("tooth 1".to_owned(), true, &ballot, None, &[]);
        assert_eq!(record.items()[0].hits(), None);
        assert_eq!(record.parts()[0].hits, Proportion::default());
        assert_eq!(record.comparison(), None);
        let csv = record.to_csv();
        assert!(csv.ends_with("\"a, \"\"b\"\"\",1,\"tooth 1\",1,n/a,n/a,n/a,\"n/a\"\n"), "{csv}");
    }
}
