//! Questions and smiles answered by pointer alone.

use super::hands::Hands;
use second_glance::app::shell::state::Screen;
use second_glance::exercise::{Question, Stage, Task};
use second_glance::play::answer::Draft;
use second_glance::trial::Phase;

/// The question on screen.
pub fn question(hands: &Hands) -> Question {
    hands.walk.exercising().sitting().question().expect("a question").clone()
}

fn stage(hands: &Hands) -> Stage {
    hands.walk.exercising().sitting().stage()
}

/// From the instructions to the first question.
pub fn begin(hands: &mut Hands) {
    hands.walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
    hands.frame();
    hands.click("Begin");
    hands.walk.until_asked();
    hands.frame();
}

/// Answers the question on screen, up to its debrief.
pub fn answer(hands: &mut Hands) {
    match question(hands).task {
        Task::Ladder(task) => {
            put_in_order(hands, &task.true_order());
            hands.click("Done");
        }
        Task::Match(_) => {
            hands.click("tab 2");
            hands.click("Done");
        }
        Task::Blend(_) => {
            hands.click("Option 2");
            hands.click("Blends best");
            hands.click("Done");
        }
        Task::TwoLights(_) => {
            hands.click("Option 2");
            hands.click("Blends best");
            hands.click("Go on");
            hands.click("I will keep it");
            hands.click("Show the other light");
            hands.click("Option 1");
            hands.click("Blends best");
            hands.click("Done");
        }
        Task::Bench(_) => try_until_marked(hands),
        Task::TryIn(task) => {
            for number in 1..task.cements.len() {
                hands.click("Darker");
                let is_last = number + 1 == task.cements.len();
                hands.click(if is_last { "Show all cements" } else { "Next cement" });
            }
            let first = task.cements[0].name.clone();
            hands.click(&first);
            hands.click("Seat with this one");
            hands.click("Done");
        }
        Task::Bracket(_) => {
            for option in ["Option 1", "Option 3"] {
                hands.click(option);
                hands.click("Mill this one");
            }
            hands.click("Go on");
            hands.click("Lighter");
            hands.click("Done");
        }
        Task::Margin(_) => {
            hands.click("Option 1");
            hands.click("Hides it best");
            hands.click("Done");
        }
        Task::Verdict(_) => hands.click("Accept"),
    }
    assert_eq!(stage(hands), Stage::Marked, "{:?}", hands.walk.problem());
}

/// The patches of a ladder as they lie.
pub fn order(hands: &Hands) -> Vec<usize> {
    match hands.walk.exercising().draft() {
        Some(Draft::Ladder(draft)) => draft.order.clone(),
        _ => panic!("patches"),
    }
}

/// Drags patches until they lie in this order.
fn put_in_order(hands: &mut Hands, wanted: &[usize]) {
    for (place, patch) in wanted.iter().enumerate() {
        let from = order(hands).iter().position(|other| other == patch).expect("a patch");
        carry(hands, from, place);
    }
    assert_eq!(order(hands), wanted, "dragged into order");
}

/// Tries the recipe as it stands until no attempt is left.
fn try_until_marked(hands: &mut Hands) {
    hands.reach_one("more lightness", 0, |target| {
        target.label.starts_with("shade, lightness") && target.label.ends_with("more")
    });
    while stage(hands) == Stage::Asked {
        let made = attempts(hands);
        hands.click("Try it");
        hands.walk.until("the attempt", |walk| {
            walk.exercising().sitting().stage() != Stage::Asked
                || matches!(
                    walk.exercising().draft(),
                    Some(Draft::Bench(draft)) if draft.attempts.len() > made
                )
        });
        hands.frame();
    }
}

fn attempts(hands: &Hands) -> usize {
    match hands.walk.exercising().draft() {
        Some(Draft::Bench(draft)) => draft.attempts.len(),
        _ => panic!("a recipe"),
    }
}

/// Drags the patch in one place to another.
pub fn carry(hands: &mut Hands, from: usize, to: usize) {
    if from == to {
        return;
    }
    let mut centre =
        |place: usize| hands.reach(&format!("patch in place {} ", place + 1)).rect.center();
    let (from, to) = (centre(from), centre(to));
    let way: Vec<_> = [0.1, 0.4, 0.8].map(|share| from + share * (to - from)).into();
    hands.drag(from, &way, to);
}

/// Leaves the debrief by its first button, which says whether more is to come.
pub fn go_on(hands: &mut Hands) {
    let label = if hands.has("Finish") { "Finish" } else { "Continue" };
    hands.click(label);
}

/// Plays the round on screen from its instructions to its summary.
pub fn play_round(hands: &mut Hands) {
    begin(hands);
    let questions = hands.walk.exercising().sitting().round().questions.len();
    for number in 0..questions {
        hands.walk.until_asked();
        hands.frame();
        answer(hands);
        assert_eq!(hands.walk.answers().len(), number + 1);
        go_on(hands);
    }
    hands.walk.until("summary", |walk| walk.screen() == Screen::Summary);
    hands.frame();
}

/// Plays the session of glances on screen from its adaptation to its summary.
pub fn play_session(hands: &mut Hands) {
    hands.walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    hands.frame();
    hands.click("Start now");
    let trials = hands.walk.session().progress().total;
    for number in 0..trials {
        hands.walk.until("mask", |walk| walk.phase() == Phase::Mask);
        hands.frame();
        // The first smile is called natural, of the others the third tooth is named.
        let label = if number == 0 { "none is restored".to_owned() } else { third_tooth(hands) };
        hands.click(&label);
        assert_eq!(hands.walk.phase(), Phase::Debrief);
        hands.frame();
        go_on(hands);
    }
    hands.walk.until("summary", |walk| walk.screen() == Screen::Summary);
    hands.frame();
}

fn third_tooth(hands: &Hands) -> String {
    format!("tooth {},", hands.walk.session().plan().teeth[2])
}
