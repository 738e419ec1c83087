//! Screen readers: every control has a name, a role and a state, all words on a screen can be read, a
//! question gives nothing away, and what a reader asks for is done.
//!
//! Every screen and every state of it is checked where keys are ([`crate::letters`]).

use crate::stage::Hands;
use bevy::a11y::{AccessibilityRequested, ActionRequest};
use bevy::prelude::*;
use bevy_egui::egui::accesskit::{self, Action, ActionData, Node, NodeId, Role, TreeId};
use bevy_egui::egui::{Rect, pos2};
use second_glance::app::shell::pace::Pace;
use second_glance::app::shell::reading::LISTENING;
use second_glance::app::shell::state::Screen;
use second_glance::play::intents::{CourseIntent, Intent, SeatField};
use second_glance::trial::{InputDevice, Phase};
use std::collections::BTreeMap;

/// What somebody hears of a node.
fn heard(node: &Node) -> String {
    let parts = [node.label(), node.value(), node.description(), node.placeholder()];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// A node's name: its own, or that of what labels it.
fn name(node: &Node, nodes: &BTreeMap<NodeId, &Node>) -> String {
    let own = node.label().map(str::to_owned);
    let of_labels = || {
        let labels = node.labelled_by().iter().filter_map(|id| nodes.get(id));
        labels.map(|label| heard(label)).collect::<Vec<_>>().join(" ")
    };
    own.unwrap_or_else(of_labels)
}

/// What is wrong with the controls of a tree.
fn faults_of_controls(tree: &accesskit::TreeUpdate) -> Vec<String> {
    let nodes: BTreeMap<NodeId, &Node> = tree.nodes.iter().map(|(id, node)| (*id, node)).collect();
    let mut faults = Vec::new();
    for (id, node) in &tree.nodes {
        let role = node.role();
        // What scrolls says so by its role and has no name of its own.
        let scrolls = role == Role::ScrollBar;
        let is_control = (node.supports_action(Action::Click) && !scrolls)
            || matches!(
                role,
                Role::Button
                    | Role::CheckBox
                    | Role::RadioButton
                    | Role::TextInput
                    | Role::MultilineTextInput
                    | Role::Slider
                    | Role::SpinButton
                    | Role::ComboBox
                    | Role::Link
                    | Role::Image
                    | Role::ProgressIndicator
            );
        if !is_control {
            continue;
        }
        if name(node, &nodes).trim().is_empty() {
            faults.push(format!("{id:?}, a {role:?} at {:?}, has no name", node.bounds()));
        }
        if matches!(role, Role::Unknown | Role::GenericContainer) {
            faults.push(format!("{:?} can be pressed and has no role", name(node, &nodes)));
        }
        let is_chosen = matches!(role, Role::CheckBox | Role::RadioButton);
        if is_chosen && node.toggled().is_none() {
            faults.push(format!("{:?}, a {role:?}, says not whether it is on", name(node, &nodes)));
        }
        if role == Role::Slider && node.numeric_value().is_none() {
            faults.push(format!("{:?} says not where it stands", name(node, &nodes)));
        }
        if role == Role::TextInput && node.value().is_none() {
            faults.push(format!("{:?} says not what was typed", name(node, &nodes)));
        }
    }
    faults
}

/// Words painted that no node says: neither as words of its own nor for a picture that it describes.
fn unread_words(hands: &mut Hands, tree: &accesskit::TreeUpdate) -> Vec<String> {
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said: Vec<String> = tree.nodes.iter().map(|(_, node)| plain(&heard(node))).collect();
    let described: Vec<Rect> = tree
        .nodes
        .iter()
        .filter(|(_, node)| {
            matches!(node.role(), Role::Image | Role::Figure | Role::Button | Role::Slider)
                || node.role() == Role::ProgressIndicator
        })
        .filter(|(_, node)| !heard(node).trim().is_empty())
        .filter_map(|(_, node)| node.bounds())
        .map(|b| {
            let corner = |x: f64, y: f64| pos2(x as f32, y as f32);
            // Rounding to whole pixels.
            Rect::from_min_max(corner(b.x0, b.y0), corner(b.x1, b.y1)).expand(1.0)
        })
        .collect();
    let window = hands.screen();
    let mut unread = Vec::new();
    for words in hands.words() {
        let text = plain(&words.text);
        let is_seen = words.place.intersect(words.clip).intersect(window).is_positive();
        let is_said = said.iter().any(|said| said.contains(&text));
        let is_part = described.iter().any(|place| place.contains_rect(words.place));
        if is_seen && !is_said && !is_part {
            unread.push(format!("{text:?} at {:?}", words.place));
        }
    }
    unread
}

/// Compares what is on the screen with what can be read of it.
pub fn check_tree(hands: &mut Hands, place: &str) {
    let tree = hands.tree();
    let mut faults = faults_of_controls(&tree);
    faults.extend(unread_words(hands, &tree).into_iter().map(|words| format!("unread: {words}")));
    assert!(faults.is_empty(), "{place}:\n{}", faults.join("\n"));
}

#[test]
fn what_is_wrong_is_found() {
    let mut nodes = Vec::new();
    let mut add = |id, node: Node| nodes.push((NodeId(id), node));
    let mut nameless = Node::new(Role::Button);
    nameless.add_action(Action::Click);
    add(1, nameless);
    let mut without_role = Node::new(Role::Unknown);
    without_role.add_action(Action::Click);
    without_role.set_label("a thing");
    add(2, without_role);
    let mut without_state = Node::new(Role::CheckBox);
    without_state.set_label("value only");
    add(3, without_state);
    let mut labelled = Node::new(Role::TextInput);
    labelled.set_labelled_by(vec![NodeId(5)]);
    labelled.set_value("Ada");
    add(4, labelled);
    let mut label = Node::new(Role::Label);
    label.set_value("Name");
    add(5, label);
    let tree = accesskit::TreeUpdate { nodes, tree: None, tree_id: TreeId::ROOT, focus: NodeId(1) };
    let faults = faults_of_controls(&tree);
    assert_eq!(faults.len(), 3, "{faults:#?}");
    assert!(faults[0].contains("no name") && faults[1].contains("no role"));
    assert!(faults[2].contains("whether it is on"));
}

#[test]
fn nothing_is_built_where_nobody_reads() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = Hands::new(folder.path(), [1280, 720]);
    let is_built = |hands: &mut Hands| hands.output().platform_output.accesskit_update.is_some();
    assert!(is_built(&mut hands), "a reader asked");
    let say = |hands: &Hands, is_read| {
        hands.walk.app.world().resource::<AccessibilityRequested>().set(is_read);
    };
    // Long enough for the window to rest.
    hands.walk.frames(90);
    let rests = |hands: &Hands| hands.walk.app.world().resource::<Pace>().rests();
    assert_eq!(rests(&hands), Some(LISTENING), "requests are looked for");
    say(&hands, false);
    hands.walk.frames(2);
    assert!(!is_built(&mut hands), "no reader is there");
    hands.walk.frames(90);
    assert!(rests(&hands).unwrap() > LISTENING);
    say(&hands, true);
    hands.walk.frames(2);
    assert!(is_built(&mut hands), "one came");
}

/// What a reader asks the window for.
fn request(hands: &mut Hands, label: &str, action: Action, data: Option<ActionData>) {
    let tree = hands.tree();
    let is_meant = |node: &Node| heard(node).starts_with(label) && node.supports_action(action);
    let found = tree.nodes.iter().find(|(_, node)| is_meant(node));
    let Some((id, _)) = found else { panic!("no {label:?} can be read") };
    let request =
        accesskit::ActionRequest { action, target_tree: TreeId::ROOT, target_node: *id, data };
    hands.walk.app.world_mut().write_message(ActionRequest(request));
    hands.walk.frames(3);
}

#[test]
fn what_a_reader_asks_for_is_done() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = Hands::new(folder.path(), [1280, 720]);
    request(&mut hands, "Measure", Action::Click, None);
    assert_eq!(hands.walk.screen(), Screen::MeasureSetup, "a click");
    request(&mut hands, "Back", Action::Focus, None);
    let tree = hands.tree();
    let focused = tree.nodes.iter().find(|(id, _)| *id == tree.focus).expect("a focus");
    assert!(heard(&focused.1).starts_with("Back"), "{:?}", focused.1);
    request(&mut hands, "Back", Action::Click, None);
    assert_eq!(hands.walk.screen(), Screen::Title);
}

/// All that can be heard of the screen, sorted.
fn all_heard(hands: &mut Hands) -> Vec<String> {
    let tree = hands.tree();
    let said = tree.nodes.iter().map(|(_, node)| heard(node)).filter(|said| !said.is_empty());
    let mut said: Vec<String> = said.collect();
    said.sort();
    said
}

/// The same words are read of a smile whichever tooth is restored, and of one with none.
#[test]
fn a_question_gives_nothing_away() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = Hands::new(folder.path(), [1280, 720]);
    hands.walk.start();
    hands.walk.intend(Intent::StartNow);
    let mut restored = Vec::new();
    let mut seen: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    for _ in 0..hands.walk.session().progress().total {
        hands.walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
        hands.frame();
        let shown = all_heard(&mut hands);
        assert!(shown.iter().any(|said| said.contains("smile")), "{shown:?}");
        hands.walk.until("response", |walk| matches!(walk.phase(), Phase::Response { .. }));
        hands.frame();
        seen.push((shown, all_heard(&mut hands)));
        restored.push(hands.walk.session().current().expect("a trial").case.odd_tooth());
        hands.walk.intend(Intent::Answer(None, InputDevice::Keyboard));
        hands.walk.until("debrief", |walk| walk.phase() == Phase::Debrief);
        hands.walk.frames(2);
        // Now all of it is told.
        let told = all_heard(&mut hands).join("\n");
        let tooth = restored.last().copied().flatten();
        let wanted = tooth.map_or_else(|| "no restoration".to_owned(), |t| t.number().to_string());
        assert!(told.to_lowercase().contains(&wanted), "{wanted}: {told}");
        hands.walk.intend(Intent::Continue);
    }
    restored.sort_unstable();
    restored.dedup();
    assert!(restored.len() > 1, "different teeth, and none: {restored:?}");
    for (shown, asked) in &seen {
        assert_eq!(shown, &seen[0].0);
        assert_eq!(asked, &seen[0].1);
    }
}

/// What was typed into a field is its value, and its name stays.
#[test]
fn fields_say_their_name_and_what_was_typed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("course.ron");
    let text = r#"Course(id: "course", title: "Course", format: 1, teaches: "Look.", minutes: 20,
        tooth_names: Places, exposure_s: 2.5, response_s: 30, mode: Exam,
        accommodation: (most_response_factor: 1, may_be_untimed: false),
        forms: [(id: "a", seed: 7, per_cell: 1)], steps: [Form(forms: ["a"], phase: Only)])"#;
    std::fs::write(&file, text).unwrap();
    let mut hands = Hands::new(&folder.path().join("results"), [1280, 720]);
    hands.walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    hands.walk.until("the course", |walk| walk.screen() == Screen::Seat);
    let typed = CourseIntent::Write(SeatField::Seat, "12".to_owned());
    hands.walk.intend(Intent::Course(typed));
    hands.walk.frames(3);
    let fields: Vec<(String, String)> = hands
        .tree()
        .nodes
        .iter()
        .filter(|(_, node)| node.role() == Role::TextInput)
        .map(|(_, n)| (n.label().unwrap_or("").to_owned(), n.value().unwrap_or("").to_owned()))
        .collect();
    assert!(fields.iter().any(|(_, value)| value == "12"), "{fields:?}");
    assert!(fields.iter().all(|(label, _)| !label.contains("12")), "{fields:?}");
}
