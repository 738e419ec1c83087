//! What a session of a course says about itself, kept among the session's settings.

use serde::{Deserialize, Serialize};

/// The field of a session's settings that holds a [`Sitting`].
pub const SITTING: &str = "course";

/// Whose session of which course it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sitting {
    /// The course's id.
    pub course: String,
    /// The learner's random id.
    pub learner: String,
    /// The seat, from 0.
    pub seat: u64,
    /// When in the course: `pre`, `post`, `delayed` or `only`; `None` for practice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phase: Option<String>,
    /// The form's id in the course; `None` where no form was sat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub form: Option<String>,
    /// The course's step that it belongs to, from 0; `None` in results of earlier versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<u32>,
    /// Factor on the time to answer that was granted, 1 for none; 0 for unlimited time.
    #[serde(default = "one")]
    pub response_factor: f64,
}

const fn one() -> f64 {
    1.0
}

impl Sitting {
    /// The sitting of a session's settings; `None` for a session of no course.
    #[must_use]
    pub fn of(settings: &serde_json::Value) -> Option<Self> {
        serde_json::from_value(settings.get(SITTING)?.clone()).ok()
    }

    /// Settings with this sitting in them.
    #[must_use]
    pub fn in_settings(&self, mut settings: serde_json::Value) -> serde_json::Value {
        if let Some(fields) = settings.as_object_mut() {
            fields.insert(SITTING.to_owned(), serde_json::json!(self));
            return settings;
        }
        serde_json::json!({ SITTING: self })
    }
}
