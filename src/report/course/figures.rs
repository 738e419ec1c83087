//! Numbers, phases and charts as a report shows them.

use crate::level::course_format::Phase;
use maud::{Markup, PreEscaped, html};

pub(super) const fn in_words(phase: Phase) -> &'static str {
    match phase {
        Phase::Pre => "before",
        Phase::Post => "after",
        Phase::Delayed => "weeks later",
        Phase::Only => "once",
    }
}

/// A share in percent with its Wilson interval.
pub(super) fn share(proportion: crate::psychophysics::Proportion) -> String {
    match (proportion.value(), proportion.wilson(0.95)) {
        (Some(value), Some((low, high))) => {
            format!("{:.0} % ({:.0}-{:.0} %)", 100.0 * value, 100.0 * low, 100.0 * high)
        }
        _ => "-".to_owned(),
    }
}

/// Two significant figures, as far as a threshold is known.
pub(super) fn de00(value: f64) -> String {
    if value < 10.0 { format!("{value:.2}") } else { format!("{value:.0}") }
}

pub(super) fn optional(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |value| format!("{value:.digits$}"))
}

/// A chart with its name, for those who see it and those who do not.
pub(super) fn figure(svg: Option<String>, label: &str) -> Markup {
    let name = html! { (label) }.into_string();
    let named =
        |svg: &str| svg.replacen("<svg ", &format!("<svg role=\"img\" aria-label=\"{name}\" "), 1);
    html! {
        @if let Some(svg) = svg {
            figure {
                div .wide tabindex="0" role="region" aria-label="chart" { (PreEscaped(named(&svg))) }
                figcaption { (label) }
            }
        }
    }
}
