//! What a case must be: measured values that bodies can have, and room for the ceramic.

use super::format::{CLINIC_FORMAT, ClinicCase, MeasuredLab};
use super::remark::REMARK_DE00;
use crate::bake::{BakeError, within_reach};
use crate::colorimetry::{Lab, Lch, PERCEPTIBILITY_DE00, ciede2000, smoothest_reflectance};
use crate::level::checker::{Checker, Loaded, parse};
use crate::level::diagnostic::{LoadError, nearest, one_of_ids};
use crate::level::known::KnownMaterials;
use crate::level::limits::{CERAMIC_MM, MARGIN_MM};
use crate::level::load::source_of;
use crate::level::source::Source;
use crate::material::{Library, LibraryError, own_tooth};
use crate::optics::DesignError;
use crate::scene::{Framing, NaturalTooth, Preparation, Space, Thickness, Tooth};
use std::collections::BTreeSet;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

const REDUCTION_MM: RangeInclusive<f64> = 0.05..=3.5;
const CEMENT_GAP_MM: RangeInclusive<f64> = 0.01..=0.2;
/// Thinnest margin of ceramic, mm; 0.05 mm is real (common practice, no source).
const THINNEST_MARGIN_MM: f64 = 0.02;
/// Thickest ceramic of a level, mm: at the margin and elsewhere.
const MOST_MARGIN_MM: f64 = *MARGIN_MM.end();
const MOST_CERAMIC_MM: f64 = *CERAMIC_MM.end();
/// Reductions beyond which a file is more likely wrong than unusual, mm (common practice, no
/// source).
const DEEP_VENEER_MM: f64 = 1.5;
/// Colours in which natural teeth come; beyond them a value is more likely wrong than unusual.
const TOOTH_LIGHTNESS: RangeInclusive<f64> = 55.0..=90.0;

/// Parses the text of a case; the stem of `source_name` need not be its id.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_case(
    source_name: impl Into<PathBuf>,
    text: &str,
    library: &Library,
) -> Result<Loaded<ClinicCase>, LoadError> {
    from_source(&Source::new(source_name, text), library)
}

/// Reads a case file.
///
/// # Errors
/// Why it cannot be read, or every problem in it.
pub fn load_case(path: &Path, library: &Library) -> Result<Loaded<ClinicCase>, LoadError> {
    from_source(&source_of(path)?, library)
}

pub(super) fn from_source(
    source: &Source,
    library: &Library,
) -> Result<Loaded<ClinicCase>, LoadError> {
    parse(source, "ClinicCase", |case, checker| check_case(case, library, checker))
}

fn check_case(case: &ClinicCase, library: &Library, checker: &mut Checker<'_>) {
    checker.format(case.format, CLINIC_FORMAT);
    checker.id("id", &case.id);
    checker.not_blank("title", &case.title);
    if ![6, 8, 10].contains(&case.arch) {
        let message = format!("arch is {}, but 6, 8 or 10 upper teeth can be in view", case.arch);
        checker.error("arch", message, "choose 6, 8 or 10");
    }
    check_tooth("tooth", case.tooth, case, checker);
    check_teeth(case, checker);
    check_colour("prepared_tooth", case.prepared_tooth, checker);
    if let Some(target) = case.target {
        check_colour("target", target, checker);
        check_lightness("target", target, checker);
    } else if case.target().is_none() && checker.usable("teeth") {
        checker.error(
            "tooth",
            format!("nothing says which colour tooth {} shall have", case.tooth),
            "measure the same tooth on the other side, or add `target: (L: …, a: …, b: …)`",
        );
    }
    check_space(case, checker);
    check_materials(case, library, checker);
    // What the layered model can do is only asked of a case that is right so far.
    if !checker.has_errors() {
        check_reach(case, library, checker);
    }
}

fn check_tooth(path: &str, number: u8, case: &ClinicCase, checker: &mut Checker<'_>) {
    match Tooth::new(number) {
        Err(error) => {
            let help = "use two digits: quadrant 1 or 2, then 1 (central) to 8";
            checker.error(path, error.to_string(), help);
        }
        Ok(tooth) if [6, 8, 10].contains(&case.arch) && tooth.position() > case.arch / 2 => {
            let last = case.arch / 2;
            checker.error(
                path,
                format!("tooth {tooth} is not among the {} teeth in view", case.arch),
                format!("use 11 to 1{last} and 21 to 2{last}, or widen `arch`"),
            );
        }
        Ok(tooth) => {
            let framing: Framing = case.framing.unwrap_or_default();
            if path == "tooth" && !framing.shows(tooth) {
                let message = format!("the framing {} hides tooth {tooth}", framing.name());
                checker.error("framing", message, "choose another framing");
            }
        }
    }
}

fn check_teeth(case: &ClinicCase, checker: &mut Checker<'_>) {
    if case.teeth.is_empty() {
        let help = "measure at least one natural tooth, best the neighbours of the restoration";
        return checker.error("teeth", "no natural tooth was measured", help);
    }
    let mut seen = BTreeSet::new();
    for (index, measured) in case.teeth.iter().enumerate() {
        let path = format!("teeth[{index}]");
        let at = format!("{path}.tooth");
        check_tooth(&at, measured.tooth, case, checker);
        if !seen.insert(measured.tooth) {
            checker.error(&at, format!("tooth {} is named twice", measured.tooth), "remove one");
        }
        if measured.tooth == case.tooth {
            checker.error(
                &at,
                format!("tooth {} is the one to be restored", case.tooth),
                "give the colour that it shall have as `target`",
            );
        }
        check_colour(&format!("{path}.colour"), measured.colour, checker);
        check_lightness(&format!("{path}.colour"), measured.colour, checker);
    }
}

/// Any colour that a surface can have.
fn check_colour(path: &str, colour: MeasuredLab, checker: &mut Checker<'_>) {
    checker.within(&format!("{path}.L"), colour.l, 0.0..=100.0, "");
    checker.within(&format!("{path}.a"), colour.a, -100.0..=100.0, "");
    checker.within(&format!("{path}.b"), colour.b, -100.0..=100.0, "");
    let numbers = [colour.l, colour.a, colour.b];
    if !numbers.iter().all(|v| v.is_finite()) || !(0.0..=100.0).contains(&colour.l) {
        return;
    }
    let least_sloped = smoothest_reflectance(Lab::from(colour));
    let (low, high) = (least_sloped.min(), least_sloped.max());
    // A hair of room: the smoothest curve is not the one that keeps furthest from the limits.
    if low < -0.02 || high > 1.02 {
        checker.error(
            path,
            format!(
                "no surface has L {} a {} b {}: its reflectance would run from {low:.2} to \
                 {high:.2}",
                colour.l, colour.a, colour.b
            ),
            "check the values: they are CIELAB under D65, not other coordinates",
        );
    }
}

fn check_lightness(path: &str, colour: MeasuredLab, checker: &mut Checker<'_>) {
    if (0.0..=100.0).contains(&colour.l) && !TOOTH_LIGHTNESS.contains(&colour.l) {
        let (low, high) = (TOOTH_LIGHTNESS.start(), TOOTH_LIGHTNESS.end());
        let message = format!("L is {}; natural teeth lie within {low} to {high}", colour.l);
        checker.error(&format!("{path}.L"), message, "check the value");
    }
}

fn check_space(case: &ClinicCase, checker: &mut Checker<'_>) {
    let Space { reduction, cement_gap_mm } = case.space;
    checker.within("space.cement_gap_mm", cement_gap_mm, CEMENT_GAP_MM, " mm");
    let Thickness { margin_mm, neck_mm, body_mm, incisal_mm } = reduction;
    let left = case.space.ceramic();
    for (field, total, ceramic, thinnest) in [
        ("margin_mm", margin_mm, left.margin_mm, THINNEST_MARGIN_MM),
        ("neck_mm", neck_mm, left.neck_mm, Space::THINNEST_CERAMIC_MM),
        ("body_mm", body_mm, left.body_mm, Space::THINNEST_CERAMIC_MM),
        ("incisal_mm", incisal_mm, left.incisal_mm, Space::THINNEST_CERAMIC_MM),
    ] {
        let path = format!("space.reduction.{field}");
        checker.within(&path, total, REDUCTION_MM, " mm");
        if !REDUCTION_MM.contains(&total) || !CEMENT_GAP_MM.contains(&cement_gap_mm) {
            continue;
        }
        // Half a micrometre: 0.2 - 0.1 is a hair below 0.1.
        if ceramic < thinnest - 5e-4 {
            checker.error(
                &path,
                format!(
                    "{total} mm less the gap of {cement_gap_mm} mm leaves {ceramic:.2} mm of \
                     ceramic, thinner than {thinnest} mm"
                ),
                format!("take away at least {:.2} mm", thinnest + cement_gap_mm),
            );
        } else if ceramic > if field == "margin_mm" { MOST_MARGIN_MM } else { MOST_CERAMIC_MM } {
            let most = if field == "margin_mm" { MOST_MARGIN_MM } else { MOST_CERAMIC_MM };
            checker.error(
                &path,
                format!(
                    "{total} mm less the gap of {cement_gap_mm} mm leaves {ceramic:.2} mm of \
                     ceramic, thicker than the {most} mm that a level can have there"
                ),
                format!("state at most {:.2} mm", most + cement_gap_mm),
            );
        } else if ceramic < left.margin_mm {
            let message = format!("{field} leaves less ceramic than the margin");
            checker.error(&path, message, "make the margin the thinnest place");
        } else if case.preparation == Preparation::Veneer && total > DEEP_VENEER_MM {
            let message = format!("{total} mm is deep for a veneer");
            checker.warning(&path, message, "write `preparation: crown` if it is one");
        }
    }
}

fn check_materials(case: &ClinicCase, library: &Library, checker: &mut Checker<'_>) {
    let known = KnownMaterials::of(library);
    let mut check = |path: &str, what: &str, id: &str, ids: &BTreeSet<String>| {
        if ids.contains(id) {
            return;
        }
        let help = match nearest(id, ids.iter().map(String::as_str)) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None => format!("write {}", one_of_ids(ids)),
        };
        checker.error(path, format!("no {what} has the id \"{id}\""), help);
    };
    check("cement", "cement", &case.cement, &known.cements);
    for (index, choice) in case.ceramics.iter().enumerate() {
        check(&format!("ceramics[{index}].class"), "ceramic", &choice.class, &known.ceramics);
    }
    if let Some(gingiva) = &case.gingiva {
        let ids = library.tissues().gingivae.iter().map(|g| g.id.clone()).collect();
        check("gingiva", "gingiva", gingiva, &ids);
    }
    if case.ceramics.is_empty() {
        let help = "name at least one: `(class: \"lithium-disilicate\", translucency: medium)`";
        checker.error("ceramics", "ceramics is empty", help);
    }
    for (index, choice) in case.ceramics.iter().enumerate() {
        let path = format!("ceramics[{index}]");
        if known.ceramics.contains(&choice.class)
            && library.shades(&choice.class, choice.translucency).is_empty()
        {
            let message = format!("\"{}\" does not come in this translucency", choice.class);
            checker.error(&format!("{path}.translucency"), message, "choose another");
        }
        if case.ceramics[..index].contains(choice) {
            checker.error(&path, "this ceramic is named twice", "remove one");
        }
    }
}

/// Whether the layered model can have the measured colours.
fn check_reach(case: &ClinicCase, library: &Library, checker: &mut Checker<'_>) {
    let measured = case.teeth.iter().enumerate();
    let measured = measured.map(|(i, t)| (format!("teeth[{i}].colour"), t.tooth, t.colour));
    let target = case.target.map(|colour| ("target".to_owned(), case.tooth, colour));
    for (path, number, colour) in measured.chain(target) {
        let Ok(tooth) = Tooth::new(number) else { continue };
        let wanted = Lch::from(colour);
        let tooth = NaturalTooth { tooth, body: wanted, enamel_factor: 1.0, residual_de00: 0.0 };
        match within_reach(&tooth, case.seed.unwrap_or(1), library) {
            Ok(reached) => {
                let what = format!("enamel and dentin of tooth {number}");
                said(&path, &what, wanted, reached.body, checker);
            }
            Err(error) => unreachable_colour(&path, &error, checker),
        }
    }
    let wanted = Lch::from(case.prepared_tooth);
    match reachable_prepared(wanted, library) {
        Ok(reached) => said("prepared_tooth", "a prepared tooth", wanted, reached, checker),
        Err(error) => {
            let help = "check the values; measure without glare, the tooth moist";
            checker.error("prepared_tooth", error.to_string(), help);
        }
    }
}

/// Says how far the nearest colour is, where it is not the wanted one.
fn said(path: &str, what: &str, wanted: Lch, reached: Lch, checker: &mut Checker<'_>) {
    let de00 = ciede2000(Lab::from(wanted), Lab::from(reached)).de00;
    let lab = Lab::from(reached);
    let nearest = format!("L {:.1} a {:.1} b {:.1}", lab.l, lab.a, lab.b);
    let message =
        format!("{what} cannot have this colour; the nearest is {nearest}, ΔE00 {de00:.1}");
    // A case is rehearsed as it is stated: what half of people would see is another case.
    if de00 > PERCEPTIBILITY_DE00 {
        checker.error(path, message, "check the values, or use the nearest colour");
    } else if de00 > REMARK_DE00 {
        checker.warning(path, message, "the nearest is used");
    }
}

fn unreachable_colour(path: &str, error: &BakeError, checker: &mut Checker<'_>) {
    checker.error(path, error.to_string(), "check the values: measure the middle third");
}

/// The colour itself where a prepared tooth can have it; otherwise the nearest that was found.
///
/// # Errors
/// Why no tissue near it was found.
pub(crate) fn reachable_prepared(wanted: Lch, library: &Library) -> Result<Lch, LibraryError> {
    let mut colour = Lab::from(wanted);
    for _ in 0..8 {
        match library.prepared_tooth(&own_tooth::id(Lch::from(colour))) {
            Ok(_) => return Ok(Lch::from(colour)),
            Err(LibraryError::Design {
                source: DesignError::Unreachable { dl, da, db, .. },
                ..
            }) => {
                // To the nearest, and a little less chroma: the nearest lies on the limit.
                colour = Lab {
                    l: colour.l + dl,
                    a: 0.985 * (colour.a + da),
                    b: 0.985 * (colour.b + db),
                };
            }
            Err(other) => return Err(other),
        }
    }
    library.prepared_tooth(&own_tooth::id(Lch::from(colour))).map(|_| Lch::from(colour))
}
