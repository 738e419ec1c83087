//! The files that come with the program.

macro_rules! level_files {
    ($($name:literal),* $(,)?) => {
        &[$((concat!($name, ".ron"), include_str!(concat!("../../../../levels/", $name, ".ron")))),*]
    };
}

/// `(file name, text)` of the levels that come with the program, compiled in so that it runs from
/// anywhere.
pub const SHIPPED_LEVELS: &[(&str, &str)] = level_files![
    "accept-or-remake",
    "at-a-glance",
    "back-teeth",
    "bench-dark-central",
    "bench-light-tooth",
    "blend-four-incisors",
    "blend-one-step-or-several",
    "blend-single-dark-central",
    "blend-thin-over-dark",
    "blend-thin-veneer",
    "blend-two-centrals",
    "blend-value-first",
    "bracket-first",
    "bracket-single-central",
    "bracket-two-veneers",
    "dark-below",
    "dark-tooth-thin-veneer",
    "evening-light",
    "first-look",
    "four-incisors",
    "margin-first",
    "margin-premolars",
    "margin-thin-onlays",
    "margin-warm-teeth",
    "near-the-edge",
    "nearest-tab",
    "office-light",
    "opaque-and-light",
    "ring-of-eight",
    "seven-fine-steps",
    "strong-is-not-light",
    "try-in-first",
    "try-in-for-later",
    "tubes-and-thin-layers",
    "twelve-close-tabs",
    "two-years-later",
    "under-the-bulb",
    "value-ladder",
    "whole-smile",
];

/// `(file name, text)` of the courses that come with the program.
pub const SHIPPED_COURSES: [(&str, &str); 2] = [
    ("lecture-block.ron", include_str!("../../../../assets/courses/lecture-block.ron")),
    ("student-practical.ron", include_str!("../../../../assets/courses/student-practical.ron")),
];
