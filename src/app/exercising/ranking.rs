//! What the debrief lists: every option with how far it was off, the nearest first.

use crate::bake::ZoneDifference;
use crate::exercise::blend::Standing;
use crate::exercise::{Answer, MatchChoice, Question, Task};
use crate::words::{count, de00};

/// One line of the debrief's list.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// What it is called.
    pub name: String,
    /// How far it was off.
    pub difference: ZoneDifference,
    /// What there is to say about it: `your pick`, `acceptable`.
    pub notes: Vec<String>,
    /// Its place among the debrief's sights, where it can be looked at.
    pub sight: Option<usize>,
}

fn note(is: bool, words: &str) -> Option<String> {
    is.then(|| words.to_owned())
}

/// The options of an answered question, the nearest first. Empty where nothing is ranked. Where a room
/// answered, its answer is what it chose most often.
#[must_use]
pub fn ranking(question: &Question, answer: &Answer, in_room: bool) -> Vec<Ranked> {
    let mut ranked = listed(question, answer, in_room);
    ranked.sort_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00));
    ranked
}

/// The digit of each line that has one in its name, as `Option 3`, with the smile it leads to. Where two
/// lines have the same, the first smile has it. Empty where there is no list to read them from.
#[must_use]
pub fn numbered(ranked: &[Ranked]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    if ranked.len() < 2 {
        return found;
    }
    for line in ranked {
        let number = line.name.split([' ', ',']).nth(1).and_then(|word| word.parse().ok());
        if let (Some(number), Some(sight)) = (number, line.sight) {
            match found.iter_mut().find(|(known, _)| *known == number) {
                Some((_, first)) => *first = sight.min(*first),
                None => found.push((number, sight)),
            }
        }
    }
    found
}

fn listed(question: &Question, answer: &Answer, in_room: bool) -> Vec<Ranked> {
    let pick = if in_room { "chosen most" } else { "your pick" };
    let name_of = |sight: usize| {
        question.sights.get(sight).map_or_else(String::new, |sight| sight.name.clone())
    };
    match (&question.task, answer) {
        (Task::Blend(task), Answer::Blend(answer)) => task
            .options
            .iter()
            .enumerate()
            .map(|(k, option)| Ranked {
                name: name_of(k),
                difference: option.difference(),
                notes: [
                    note(answer.best == Some(k), pick),
                    note(answer.best != Some(k) && answer.acceptable.contains(&k), "ticked"),
                    Some(standing_in_words(option.standing).to_owned()),
                ]
                .into_iter()
                .flatten()
                .collect(),
                sight: Some(k),
            })
            .collect(),
        (Task::Match(task), Answer::Match(answer)) => {
            let chosen = match answer.choice {
                MatchChoice::Tab(tab) => vec![tab],
                MatchChoice::Between(one, other) => vec![one, other],
            };
            task.tabs
                .iter()
                .enumerate()
                .map(|(k, tab)| Ranked {
                    name: format!("Tab {}: {}", k + 1, tab.shade.name()),
                    difference: tab.difference,
                    notes: [
                        note(chosen.contains(&k), "chosen"),
                        note(task.exact == Some(k), "exactly the target"),
                    ]
                    .into_iter()
                    .flatten()
                    .collect(),
                    sight: None,
                })
                .collect()
        }
        (Task::TwoLights(task), Answer::TwoLights(answer)) => {
            let count = task.options.len();
            let lit = |second: bool, light: &str| {
                let chosen = if second { answer.second_choice } else { answer.choice };
                task.options
                    .iter()
                    .enumerate()
                    .map(|(k, option)| Ranked {
                        name: format!("{}, {light}", name_of(k)),
                        difference: if second { option.second } else { option.first },
                        notes: note(chosen == k, "your choice").into_iter().collect(),
                        sight: Some(if second { count + k } else { k }),
                    })
                    .collect::<Vec<_>>()
            };
            let mut all = lit(false, task.first_light.name());
            all.extend(lit(true, task.second_light.name()));
            all
        }
        (Task::Bench(task), Answer::Bench(answer)) => {
            let attempts = answer.attempts.iter().enumerate().map(|(k, reached)| Ranked {
                name: format!("Attempt {}", k + 1),
                difference: reached.difference,
                notes: Vec::new(),
                sight: Some(k),
            });
            let best = task.best.iter().map(|best| Ranked {
                name: "Best that was found".to_owned(),
                difference: best.difference,
                notes: Vec::new(),
                sight: Some(answer.attempts.len()),
            });
            attempts.chain(best).collect()
        }
        (Task::TryIn(task), Answer::TryIn(answer)) => {
            let cements = task.cements.len();
            let months = count(task.drift.months.round() as usize, "month", "months");
            task.cements
                .iter()
                .enumerate()
                .map(|(k, cement)| Ranked {
                    name: format!("{}, {months} later", cement.name),
                    difference: cement.after,
                    notes: [
                        Some(format!("{} when seated", de00(cement.at_seating.de00))),
                        note(answer.seated == k, "your choice"),
                        note(task.best == k, "best"),
                    ]
                    .into_iter()
                    .flatten()
                    .collect(),
                    sight: Some(cements + k),
                })
                .collect()
        }
        (Task::Bracket(task), Answer::Bracket(answer)) => task
            .options
            .iter()
            .enumerate()
            .map(|(k, option)| Ranked {
                name: name_of(k),
                difference: option.estimate,
                notes: [
                    Some(format!("acceptable in {:.0} %", 100.0 * option.acceptable)),
                    note(answer.options.contains(&k), "yours"),
                    note(
                        task.pairs.first().is_some_and(|best| best.options.contains(&k)),
                        "of the best pair",
                    ),
                ]
                .into_iter()
                .flatten()
                .collect(),
                sight: Some(k),
            })
            .collect(),
        (Task::Margin(task), Answer::Margin(answer)) => task
            .options
            .iter()
            .enumerate()
            .map(|(k, option)| Ranked {
                name: format!("{}, along its margin", name_of(k)),
                difference: option.contrast.mean,
                notes: [
                    note(answer.choice == Some(k), "your choice"),
                    note(task.acceptable.contains(&k), "acceptable"),
                ]
                .into_iter()
                .flatten()
                .collect(),
                sight: Some(k),
            })
            .collect(),
        (Task::Verdict(task), Answer::Verdict(answer)) => vec![Ranked {
            name: name_of(0),
            difference: task.difference,
            // How a room judged stands in its tally.
            notes: note(!in_room && answer.accept, "you accepted it")
                .or_else(|| note(!in_room, "you would remake it"))
                .into_iter()
                .collect(),
            sight: Some(0),
        }],
        _ => Vec::new(),
    }
}

const fn standing_in_words(standing: Standing) -> &'static str {
    match standing {
        Standing::Acceptable => "acceptable",
        Standing::Grey => "at the limit",
        Standing::Unacceptable => "not acceptable",
    }
}
