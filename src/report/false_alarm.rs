//! Why a natural tooth was taken for a restoration, in one sentence.

use crate::scene::{Tooth, ToothKind};
use crate::words::{is_nothing, lightness_compared};

/// One plain sentence on a natural tooth that was taken for a restoration. `natural_lightness`
/// holds the L* of the natural teeth in view.
#[must_use]
pub fn false_alarm_sentence(chosen: Tooth, natural_lightness: &[(Tooth, f64)]) -> String {
    let lightness = |tooth: Tooth| {
        natural_lightness.iter().find(|(t, _)| *t == tooth).map(|(_, lightness)| *lightness)
    };
    let kind = chosen.kind();
    let start = format!("You chose a natural {}", kind.name());
    let (other, other_name) = if kind == ToothKind::Central {
        (Some(chosen.contralateral()), "other central")
    } else {
        let central = if chosen.is_patients_right() { Tooth::new(11) } else { Tooth::new(21) };
        (central.ok(), "central on its side")
    };
    let (Some(own), Some(reference)) = (lightness(chosen), other.and_then(lightness)) else {
        return format!("{start}: natural teeth differ from each other too.");
    };
    let step = own - reference;
    let size = lightness_compared(step, &format!("the {other_name}"));
    if is_nothing(step) {
        format!("{start}: it is {size}.")
    } else if kind == ToothKind::Central {
        format!("{start}: it is {size}, as natural pairs can be.")
    } else if step < 0.0 {
        format!(
            "{start}: it is {size}; value falls from central to canine, and darker is its normal \
             place."
        )
    } else {
        format!("{start}: it is {size}, as natural variation allows.")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_natural_tooth_taken_for_a_restoration() {
        let tooth = |number| Tooth::new(number).unwrap();
        let natural = [(tooth(12), 74.1), (tooth(11), 75.0), (tooth(21), 75.4), (tooth(22), 76.0)];
        for (chosen, expected) in [
            (
                12,
                "You chose a natural lateral incisor: it is 0.9 L* darker than the central on its side; value falls from central to canine, and darker is its normal place.",
            ),
            (
                11,
                "You chose a natural central incisor: it is 0.4 L* darker than the other central, as natural pairs can be.",
            ),
            (
                22,
                "You chose a natural lateral incisor: it is 0.6 L* lighter than the central on its side, as natural variation allows.",
            ),
            (13, "You chose a natural canine: natural teeth differ from each other too."),
        ] {
            assert_eq!(false_alarm_sentence(tooth(chosen), &natural), expected);
        }
    }
}
