//! The module map: who may use whom, and what is left to be put right.

/// What each part of the core may use. Data flows one way; see DEVELOPERS.md.
pub const ALLOWED: [(&str, &[&str]); 22] = [
    ("words", &[]),
    ("spectrum", &[]),
    ("random", &[]),
    // Whatever prints names from outside.
    ("printable", &[]),
    ("colorimetry", &["spectrum"]),
    ("optics", &["spectrum", "colorimetry"]),
    ("scene", &["colorimetry"]),
    ("material", &["spectrum", "colorimetry", "optics", "scene"]),
    ("anatomy", &["random", "scene"]),
    ("lecture", &["psychophysics"]),
    ("bake", &["spectrum", "colorimetry", "optics", "material", "scene", "random"]),
    ("psychophysics", &["scene", "random", "bake", "trial"]),
    ("trial", &["scene", "random"]),
    (
        "level",
        &[
            "words",
            "spectrum",
            "colorimetry",
            "scene",
            "material",
            "optics",
            "bake",
            "random",
            "trial",
            "psychophysics",
            "printable",
        ],
    ),
    ("chart", &["colorimetry", "scene", "material", "bake"]),
    ("intake", &["spectrum", "colorimetry", "optics", "material", "scene", "level"]),
    (
        "exercise",
        &[
            "words",
            "spectrum",
            "colorimetry",
            "scene",
            "material",
            "optics",
            "bake",
            "random",
            "level",
            "trial",
            "psychophysics",
            "report",
            "results",
        ],
    ),
    (
        "measure",
        &[
            "scene",
            "trial",
            "bake",
            "colorimetry",
            "psychophysics",
            "material",
            "random",
            "level",
            "results",
            "course",
        ],
    ),
    (
        "course",
        &["scene", "random", "psychophysics", "results", "trial", "bake", "level", "printable"],
    ),
    ("results", &["scene", "trial", "bake", "psychophysics", "printable"]),
    (
        "report",
        &[
            "words",
            "scene",
            "trial",
            "bake",
            "colorimetry",
            "psychophysics",
            "results",
            "material",
            "measure",
            "course",
            "level",
        ],
    ),
    (
        "play",
        &[
            "words",
            "printable",
            "random",
            "colorimetry",
            "scene",
            "material",
            "bake",
            "chart",
            "trial",
            "psychophysics",
            "level",
            "exercise",
            "measure",
            "results",
            "course",
            "lecture",
            "report",
        ],
    ),
];

/// What each part of the app may use of the others and of `play`; all may use the core. A room knows
/// no other room, and only the command line knows what the app is put together from.
pub const HOUSE: [(&str, &[&str]); 6] = [
    ("play", &[]),
    ("shell", &["play"]),
    ("picture", &["shell", "play"]),
    ("ui", &["play"]),
    ("room", &["shell", "picture", "ui", "play"]),
    ("cli", &["shell", "picture", "ui", "play", "room", "app"]),
];

/// What rules on length leave out as yet, with its tests. Empty, they hold for all.
pub const NOT_YET: &[&str] = &["app", "main"];
/// Files of circles that are left. Take them apart; add none.
pub const CIRCLES_LEFT: &[&str] = &[];
