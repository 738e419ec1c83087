//! What is told of keys in sentences, made from the table.

use super::context::{Asked, KeyContext};
use super::row::{Key, digit_of};
use super::table::{PAUSE, key_name, rows};
use crate::exercise::Task;
use crate::play::answer::DIRECTIONS;
use crate::play::intents::{Act, ExerciseIntent, Intent, SetupIntent};
use crate::trial::InputDevice;

/// What a key of a step of a question is called.
fn key(asked: Asked, act: Act) -> String {
    let intent = ExerciseIntent::Act(act, InputDevice::Keyboard);
    key_name(KeyContext::Question(asked), &Intent::Exercise(intent))
}

/// What the keys are called that go left and right in a step.
fn sideways(asked: Asked) -> (String, String) {
    (key(asked, Act::Move(-1)), key(asked, Act::Move(1)))
}

/// What the keys are called that go up and down in a step.
fn up_and_down(asked: Asked) -> (String, String) {
    (key(asked, Act::Step(-1)), key(asked, Act::Step(1)))
}

/// What is told before choosing is measured.
#[must_use]
pub fn before_measured_choosing() -> Vec<String> {
    let (left, right) = sideways(Asked::Blend);
    let sheet = Intent::Exercise(ExerciseIntent::ToggleSheet);
    let sheet = key_name(KeyContext::Question(Asked::Blend), &sheet);
    let [mark, none] = marking_options();
    vec![
        format!(
            "1.  Digits or {left} and {right} put each option in the mouth; grey comes between them. \
             {sheet} shows all of them small."
        ),
        mark,
        none,
        "4.  You are not told how you did until the end. Take your time.".to_owned(),
    ]
}

/// How options are ticked, the best is marked, or none is.
fn marking_options() -> [String; 2] {
    let key = |act| key(Asked::Blend, act);
    [
        format!(
            "2.  {} ticks an option that would pass. {} marks the one that blends best.",
            key(Act::Tick),
            key(Act::Pick)
        ),
        format!(
            "3.  {} says that none would pass: about one time in five that is true. {} is done.",
            key(Act::None),
            key(Act::Confirm)
        ),
    ]
}

/// What is told before the first question.
#[must_use]
pub fn before_questions(task: &Task) -> Vec<String> {
    match task {
        Task::Blend(_) => blend(),
        Task::Ladder(_) => ladder(),
        Task::Match(_) => matching(),
        Task::TwoLights(_) => two_lights(),
        Task::Bench(_) => bench(),
        Task::TryIn(_) => try_in(),
        Task::Bracket(_) => bracket(),
        Task::Margin(_) => margin(),
        Task::Verdict(_) => verdict(),
    }
}

fn blend() -> Vec<String> {
    let (left, right) = sideways(Asked::Blend);
    let look = |intent| key_name(KeyContext::Question(Asked::Blend), &intent);
    let sheet = look(Intent::Exercise(ExerciseIntent::ToggleSheet));
    let value = look(Intent::ToggleValueOnly);
    let [mark, none] = marking_options();
    vec![
        format!(
            "1.  Digits or {left} and {right} put each option in the mouth. {sheet} shows all of them \
             small; {value} shows value alone."
        ),
        mark,
        none,
        "4.  Take your time. Then you see how far each option was off, and why.".to_owned(),
    ]
}

fn ladder() -> Vec<String> {
    let hold = key(Asked::Ladder, Act::Tick);
    vec![
        "1.  Put the patches in order of value, the lightest on the left. Chroma and hue mislead."
            .to_owned(),
        format!(
            "2.  Drag a patch; or digits and arrows go to one, {hold} picks it up, arrows carry it, \
             {hold} puts it down."
        ),
        format!("3.  {} is done.", key(Asked::Ladder, Act::Confirm)),
    ]
}

fn matching() -> Vec<String> {
    vec![
        "1.  One tooth is marked. Below it stand tabs without names.".to_owned(),
        format!(
            "2.  Click a tab, or drag it beside the tooth and let go there; or digits and arrows go to \
             one, {} chooses it. Choose two when the tooth lies between them.",
            key(Asked::Match, Act::Tick)
        ),
        format!("3.  {} is done.", key(Asked::Match, Act::Confirm)),
    ]
}

fn two_lights() -> Vec<String> {
    let choice = |act| key(Asked::LightChoice, act);
    let prediction = |act| key(Asked::LightPrediction, act);
    vec![
        format!(
            "1.  Compare the options by digits or arrows; {} picks the one that blends best in this \
             light. {} goes on.",
            choice(Act::Pick),
            choice(Act::Confirm)
        ),
        format!(
            "2.  Say before you see it: in the other light, will you keep it ({}) or change it ({})?",
            prediction(Act::Yes),
            prediction(Act::No)
        ),
        format!(
            "3.  Then the other light comes. Pick again ({}), and {}.",
            choice(Act::Pick),
            choice(Act::Confirm)
        ),
    ]
}

fn bench() -> Vec<String> {
    let key = |act| key(Asked::Bench, act);
    let ((up, down), (left, right)) = (up_and_down(Asked::Bench), sideways(Asked::Bench));
    // Kept with Shift and what shows it.
    let (a, b) = (key(Act::Compare(0)), key(Act::Compare(1)));
    vec![
        format!(
            "1.  The marked tooth is prepared. {up} and {down} go to a part of the restoration, {left} \
             and {right} change it; the smile follows."
        ),
        format!(
            "2.  {} and {} take changes back and bring them again. Shift with {a} or {b} keeps a \
             recipe, {a} or {b} shows it. {} shows value alone, {} another light.",
            key(Act::Undo),
            key(Act::Redo),
            key_name(KeyContext::Question(Asked::Bench), &Intent::ToggleValueOnly),
            key(Act::Light)
        ),
        format!(
            "3.  {} makes an attempt; there are few. {} ends with the attempts made. {} says that no \
             restoration will do here and the plan must change.",
            key(Act::Confirm),
            key(Act::Yes),
            key(Act::None)
        ),
    ]
}

fn try_in() -> Vec<String> {
    let (up, down) = up_and_down(Asked::CementEffect);
    let (left, right) = sideways(Asked::CementEffect);
    let last = digit_of(DIRECTIONS.len() - 1);
    vec![
        format!(
            "1.  You see the restoration with one cement. Say what each other cement will do: darker, \
             lighter, warmer or nothing to see ({up} and {down}, or 1 to {last}), and how much ({left}, \
             {right})."
        ),
        format!(
            "2.  When all are predicted you see them all. Pick the one to seat it with ({}): it should \
             go unnoticed in the months to come, and restorations tend to end up darker.",
            key(Asked::Seating, Act::Pick)
        ),
    ]
}

fn bracket() -> Vec<String> {
    let (left, right) = sideways(Asked::Placing);
    vec![
        "1.  The pictures are estimates: the milled thickness and the prepared tooth may turn out a \
         little different."
            .to_owned(),
        format!(
            "2.  Pick two options to mill ({}), so that at least one of them will blend. {}.",
            key(Asked::Milling, Act::Pick),
            key(Asked::Milling, Act::Confirm)
        ),
        format!(
            "3.  Then say where the natural teeth lie in value between the two ({left}, {right}), or \
             that they do not lie between them ({}).",
            key(Asked::Placing, Act::None)
        ),
    ]
}

fn margin() -> Vec<String> {
    let key = |act| key(Asked::Margin, act);
    vec![
        "1.  An onlay ends above the gum. Compare the options by digits or arrows and look along its \
         margin."
            .to_owned(),
        format!(
            "2.  {} picks the one whose margin disappears; {} says that none does. {} is done.",
            key(Act::Pick),
            key(Act::None),
            key(Act::Confirm)
        ),
    ]
}

fn verdict() -> Vec<String> {
    vec![
        "1.  A smile appears for a short time. One tooth is marked.".to_owned(),
        format!(
            "2.  {} accepts it, {} has it made again. Some marked teeth are natural.",
            key(Asked::Verdict, Act::Yes),
            key(Asked::Verdict, Act::No)
        ),
    ]
}

/// What key pauses: `Escape pauses`.
#[must_use]
pub fn pauses() -> String {
    let key: String = PAUSE.iter().map(|row| row.key.name()).collect();
    format!("{key} pauses")
}

/// How the answer row is answered by keys, from `1` on; `teeth` is how many there are, where that is
/// known.
#[must_use]
pub fn in_answer_row(teeth: Option<usize>) -> String {
    let last = match teeth {
        Some(teeth) => digit_of(teeth.clamp(1, 10) - 1).to_owned(),
        None => format!("{} and {}", digit_of(8), digit_of(9)),
    };
    let key = |intent| key_name(KeyContext::Response, &intent);
    format!(
        "1 to {last} from the left, {} for none; or {}, {} and {}",
        key(Intent::Answer(None, InputDevice::Keyboard)),
        key(Intent::MoveCursor(-1)),
        key(Intent::MoveCursor(1)),
        key(Intent::AnswerAtCursor)
    )
}

/// How a bench is set up by keys, in a sentence.
#[must_use]
pub fn while_set_up() -> String {
    let key = |intent| key_name(KeyContext::Setup, &Intent::Setup(intent));
    format!(
        "{} and {} go to a line, {} and {} change it ({} and {} by five).",
        key(SetupIntent::Step(-1)),
        key(SetupIntent::Step(1)),
        key(SetupIntent::Move(-1)),
        key(SetupIntent::Move(1)),
        key(SetupIntent::Move(5)),
        key(SetupIntent::Move(-5))
    )
}

/// The keys of About, each with what it does.
#[must_use]
pub fn about() -> Vec<(String, &'static str)> {
    let answer = |intent| key_name(KeyContext::Response, &intent);
    let debrief = |intent| key_name(KeyContext::Debrief, &intent);
    let none = Intent::Answer(None, InputDevice::Keyboard);
    let none: Vec<String> = rows(KeyContext::Response)
        .filter(|row| row.is_for(&none))
        .map(|row| row.key.name())
        .collect();
    vec![
        (
            format!("1 to {}, {}", digit_of(8), digit_of(9)),
            "answer: the first to the tenth tooth from the left",
        ),
        (none.join(" or "), "answer: none is restored"),
        (
            [
                answer(Intent::MoveCursor(-1)),
                answer(Intent::MoveCursor(1)),
                answer(Intent::AnswerAtCursor),
            ]
            .join(", "),
            "choose and answer",
        ),
        (debrief(Intent::ToggleTwin), "debrief: restored or natural"),
        (debrief(Intent::ToggleAutoBlink), "debrief: change by itself"),
        (debrief(Intent::ToggleValueOnly), "debrief: value only"),
        (debrief(Intent::ToggleMap), "debrief: map of the difference"),
        (debrief(Intent::ToggleSideBySide), "debrief: the tooth beside its natural twin"),
        (debrief(Intent::ToggleOutlines), "debrief: outlines"),
        (debrief(Intent::Continue), "start now, continue"),
        (debrief(Intent::Pause), "pause; from a menu, back"),
        // Where nothing else has a use for them, the screen itself moves by these.
        (
            [Key::PageUp.name(), Key::PageDown.name()].join(", "),
            "move what is longer than the window",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All that is told, with the keys that the table has by now.
    fn told() -> Vec<String> {
        let exercises = [
            blend(),
            ladder(),
            matching(),
            two_lights(),
            bench(),
            try_in(),
            bracket(),
            margin(),
            verdict(),
            before_measured_choosing(),
        ];
        let mut told = exercises.concat();
        told.extend([pauses(), in_answer_row(None), in_answer_row(Some(6)), while_set_up()]);
        told.extend(about().into_iter().map(|(keys, what)| format!("{keys}: {what}")));
        told
    }

    #[test]
    fn every_key_that_is_told_is_one_of_the_table() {
        for line in told() {
            // A number and two blanks begin a line of instructions.
            let words = line.split_once(".  ").map_or(line.as_str(), |(_, words)| words);
            for gap in ["  ", "()", "(,", " ,", " .", " )"] {
                assert!(!words.contains(gap), "a key is missing: {line}");
            }
            assert!(!words.starts_with([' ', ':', ',']), "a key is missing: {line}");
        }
    }

    #[test]
    fn what_is_kept_with_shift_is_shown_without() {
        for place in [0, 1] {
            let shown = key(Asked::Bench, Act::Compare(place));
            assert_eq!(key(Asked::Bench, Act::Keep(place)), format!("Shift {shown}"));
        }
    }

    #[test]
    fn the_answer_row_is_told_with_as_many_digits_as_it_has_teeth() {
        assert!(in_answer_row(Some(8)).starts_with("1 to 8 from"), "{}", in_answer_row(Some(8)));
        assert!(in_answer_row(Some(12)).starts_with("1 to 0 from"), "ten keys at most");
        assert!(in_answer_row(None).starts_with("1 to 9 and 0 from"));
    }
}
