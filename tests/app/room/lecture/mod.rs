//! Lectures: the page for phones, its server, and what a room sees.

mod browser;
mod joining;
mod page;
mod screens;
mod with_phones;

const LECTURE: &str = r#"Course(
    format: 1, id: "block", title: "What does the room see?", teaches: "Look together.", minutes: 20,
    mode: Lecture, tooth_names: Places, exposure_s: 2.5, response_s: 10,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
    forms: [(id: "a", seed: 200101, per_cell: 1), (id: "b", seed: 200202, per_cell: 1)],
    steps: [
        Form(forms: ["a"], phase: Pre), Talk(title: "Value first: why dark errors are missed", minutes: 7),
        Practice(level: "blend-value-first", trials: 4), Form(forms: ["b"], phase: Post),
    ],
)"#;
