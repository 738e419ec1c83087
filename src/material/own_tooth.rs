//! Prepared teeth that somebody measured: an id that is a colour.
//!
//! A level names a prepared tooth by the id of a library entry, or by its own colour in open CIE
//! notation, `L58.2 C14.0 h78.5`: CIELAB LCh under D65/2°, specular excluded. So a case needs no
//! material file beside it.
//!
//! A colour says nothing about translucency. Its parameter is taken from the library's prepared
//! teeth, straight between those of neighbouring lightness: darker ones let less light through.
//! That is an assumption.
//!
//! Levels that the program writes name such a tooth with two digits, `L58.20 C14.00 h78.50`.

use crate::colorimetry::Lch;
use crate::material::format::PreparedTooth;

/// The id of a prepared tooth of this colour, two decimals each.
#[must_use]
pub fn id(colour: Lch) -> String {
    // A hue just below 360 may round up to it.
    let h = if colour.h.rem_euclid(360.0) >= 359.995 { 0.0 } else { colour.h.rem_euclid(360.0) };
    format!("L{:.2} C{:.2} h{h:.2}", colour.l, colour.c)
}

/// The colour that an id gives, or `None` for an id of another kind or a colour outside L* 0 to 100,
/// C* 0 to 100, h 0 to 360.
#[must_use]
pub fn colour(id: &str) -> Option<Lch> {
    let mut words = id.split(' ');
    let mut number = |letter: char, most: f64| {
        let digits = words.next()?.strip_prefix(letter)?;
        // Digits and a point only: `inf` and `1e9` are no colours.
        let plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.');
        let value = digits.parse::<f64>().ok().filter(|_| plain)?;
        (0.0..=most).contains(&value).then_some(value)
    };
    let found = Lch { l: number('L', 100.0)?, c: number('C', 100.0)?, h: number('h', 360.0)? };
    words.next().is_none().then_some(found)
}

/// An entry for a prepared tooth of this colour, with a translucency after those of `known`.
#[must_use]
pub fn entry(colour: Lch, known: &[PreparedTooth]) -> PreparedTooth {
    let (tp, at_mm) = translucency(colour.l, known);
    PreparedTooth {
        id: id(colour),
        name: format!("measured, {}", colour.name()),
        colour,
        tp,
        at_mm,
        basis: "Colour as measured; translucency after prepared teeth of that lightness."
            .to_owned(),
    }
}

/// Translucency parameter of a prepared tooth of lightness `l`, and the thickness in mm it is for.
fn translucency(l: f64, known: &[PreparedTooth]) -> (f64, f64) {
    let mut sorted: Vec<&PreparedTooth> = known.iter().collect();
    sorted.sort_by(|a, b| a.colour.l.total_cmp(&b.colour.l));
    let (Some(darkest), Some(lightest)) = (sorted.first(), sorted.last()) else {
        return (14.0, 1.0);
    };
    let at_mm = darkest.at_mm;
    if l <= darkest.colour.l {
        return (darkest.tp, at_mm);
    }
    for pair in sorted.windows(2) {
        let (below, above) = (pair[0], pair[1]);
        let span = above.colour.l - below.colour.l;
        if l <= above.colour.l && span > 0.0 {
            return (below.tp + (above.tp - below.tp) * (l - below.colour.l) / span, at_mm);
        }
    }
    (lightest.tp, lightest.at_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Library;

    #[test]
    fn an_id_gives_its_colour_back() {
        let measured = Lch { l: 58.237, c: 14.0, h: 78.5 };
        assert_eq!(id(measured), "L58.24 C14.00 h78.50");
        let back = colour(&id(measured)).unwrap();
        assert!((back.l - 58.24).abs() < 1e-12 && (back.h - 78.5).abs() < 1e-12);
        assert_eq!(id(Lch { h: 359.999, ..measured }), "L58.24 C14.00 h0.00");
        assert_eq!(colour("L58 C14 h78"), Some(Lch { l: 58.0, c: 14.0, h: 78.0 }));
        for other in [
            "brown",
            "",
            "L58",
            "L58 C14",
            "L58 C14 h78 x",
            "L-5 C14 h78",
            "Linf C1 h1",
            "L1e1 C1 h1",
            "L58  C14 h78",
            "L101 C1 h1",
        ] {
            assert_eq!(colour(other), None, "{other}");
        }
    }

    #[test]
    fn a_measured_tooth_is_as_translucent_as_its_neighbours() {
        let library = Library::shipped().unwrap();
        let known = &library.tissues().prepared_teeth;
        for tooth in known {
            assert!((entry(tooth.colour, known).tp - tooth.tp).abs() < 1e-12, "{}", tooth.id);
        }
        let between = entry(Lch { l: 59.5, c: 18.0, h: 77.0 }, known).tp;
        // Half way between the two: tp 12 at L* 56 and 14 at L* 63.
        assert!((between - 13.0).abs() < 1e-12, "{between}");
        let named = library.prepared_tooth("grey-brown").unwrap();
        let own = library.prepared_tooth("L56.00 C15.00 h76.00").unwrap();
        assert!((named.absorption - own.absorption).map(f64::abs).max() < 1e-9);
    }
}
