//! What is read on a chart, in words.

use crate::chart::Reading;
use crate::colorimetry::Lch;
use crate::scene::Translucency;
use crate::words::{Part, is_nothing, signed};

/// `C15 h90`.
pub(super) fn chroma_and_hue(colour: Lch) -> String {
    let name = colour.name();
    name.split_once(' ').map_or_else(|| name.clone(), |(_, rest)| rest.to_owned())
}

pub(super) fn name_of(translucency: Translucency) -> &'static str {
    match translucency {
        Translucency::Low => "Low translucency",
        Translucency::Medium => "Medium translucency",
        Translucency::High => "High translucency",
    }
}

pub(super) fn reading_in_words(reading: &Reading) -> String {
    let difference = &reading.difference;
    let size = difference.dl00;
    let value = if is_nothing(size) {
        "value as the tooth's".to_owned()
    } else {
        format!("ΔL00 {}, {}", signed(size), Part::Value.too(size))
    };
    format!(
        "{:.2} mm of {}: ΔE00 {:.1}; {value}",
        reading.thickness_mm,
        reading.shade.name(),
        difference.de00
    )
}
