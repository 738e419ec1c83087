//! From spectrum files to a material file.

use super::fit::{Fit, FitError, fit};
use super::measurement::Measurement;
use super::quality::{Concern, concerns};
use crate::colorimetry::{Lab, Lch, PERCEPTIBILITY_DE00, ciede2000};
use crate::level::format::ron_options;
use crate::material::Library;
use crate::material::format::{MATERIAL_FORMAT, MeasuredCeramics, MeasuredClass, MeasuredPiece};
use crate::spectrum::{FIRST_NM, RegularSamples, STEP_NM, Spectrum};
use ron::ser::PrettyConfig;
use std::fmt::Write;
use thiserror::Error;

/// Why measurements make no material file.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ImportError {
    /// A material cannot be fitted.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// A class has the id of one that the library has.
    #[error("the class `{0}` ships with the program: name yours otherwise")]
    Taken(String),
    /// Two materials come out with one name.
    #[error("{class}: two ceramics come out as {}: give each a `# shade:` of its own", shade.name())]
    Alike {
        /// Class id.
        class: String,
        /// The shade.
        shade: Lch,
    },
    /// The file cannot be put into words.
    #[error("the material file cannot be written: {0}")]
    Write(#[from] ron::Error),
}

/// A material file made from measurements, and what to know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Import {
    /// The file's content.
    pub file: MeasuredCeramics,
    /// Each material's fit, in the order of the file's pieces.
    pub fits: Vec<Fit>,
    /// For each material what its user should know.
    pub concerns: Vec<Vec<Concern>>,
    /// Materials whose stated shade is not what a thick piece computes to: material, stated, computed.
    pub shades_off: Vec<(String, Lch, Lch)>,
}

/// Fits measurements, grouped into materials by class, translucency and stated shade, in the order
/// given.
///
/// # Errors
/// [`ImportError`].
pub fn import(library: &Library, measurements: &[Measurement]) -> Result<Import, ImportError> {
    let mut groups: Vec<Vec<Measurement>> = Vec::new();
    for measurement in measurements {
        let key = |m: &Measurement| (m.header.class.clone(), m.header.translucency, m.header.shade);
        match groups.iter_mut().find(|group| key(&group[0]) == key(measurement)) {
            Some(group) => group.push(measurement.clone()),
            None => groups.push(vec![measurement.clone()]),
        }
    }
    let mut out = Import {
        file: MeasuredCeramics { format: MATERIAL_FORMAT, classes: Vec::new() },
        fits: Vec::new(),
        concerns: Vec::new(),
        shades_off: Vec::new(),
    };
    // Classes in order of first mention, each with all its pieces.
    groups.sort_by_key(|group| {
        let class = &group[0].header.class;
        measurements.iter().position(|m| m.header.class == *class)
    });
    for group in groups {
        let header = &group[0].header;
        if library.ceramic_class(&header.class).is_ok() {
            return Err(ImportError::Taken(header.class.clone()));
        }
        let found = fit(library.tables(), &group)?;
        let computed = library.shade_of(&found.medium);
        let shade = header.shade.unwrap_or_else(|| rounded(computed));
        if ciede2000(Lab::from(shade), Lab::from(computed)).de00 > PERCEPTIBILITY_DE00 {
            out.shades_off.push((found.material.clone(), shade, computed));
        }
        let piece = MeasuredPiece {
            translucency: header.translucency,
            shade,
            absorption: samples(&found.medium.absorption),
            reduced_scattering: samples(&found.medium.reduced_scattering),
        };
        add(&mut out.file, &group, piece)?;
        out.concerns.push(concerns(&found));
        out.fits.push(found);
    }
    Ok(out)
}

fn add(
    file: &mut MeasuredCeramics,
    group: &[Measurement],
    piece: MeasuredPiece,
) -> Result<(), ImportError> {
    let header = &group[0].header;
    let class = match file.classes.iter_mut().find(|class| class.id == header.class) {
        Some(class) => {
            // One class, one table of optics.
            let pairs = [
                ("the refractive index", class.refractive_index, header.refractive_index),
                ("the anisotropy", class.anisotropy, header.anisotropy),
            ];
            if let Some((what, first, second)) = pairs.into_iter().find(|(_, a, b)| a != b) {
                return Err(ImportError::Fit(FitError::Disagree {
                    what,
                    material: header.class.clone(),
                    first: first.to_string().into(),
                    first_file: "another file".into(),
                    second: second.to_string().into(),
                    second_file: group[0].file.display().to_string().into(),
                }));
            }
            class
        }
        None => {
            file.classes.push(MeasuredClass {
                id: header.class.clone(),
                name: header.name.clone(),
                refractive_index: header.refractive_index,
                anisotropy: header.anisotropy,
                pieces: Vec::new(),
                basis: "Reflectance measured over a white and a black backing; coefficients by \
                        radiative transfer. Index and anisotropy as the files state them."
                    .to_owned(),
            });
            let last = file.classes.len() - 1;
            &mut file.classes[last]
        }
    };
    let alike = class
        .pieces
        .iter()
        .any(|p| p.translucency == piece.translucency && p.shade.name() == piece.shade.name());
    if alike {
        return Err(ImportError::Alike { class: class.id.clone(), shade: piece.shade });
    }
    class.pieces.push(piece);
    Ok(())
}

fn rounded(colour: Lch) -> Lch {
    let tenth = |v: f64| (v * 10.0).round() / 10.0;
    Lch { l: tenth(colour.l), c: tenth(colour.c), h: tenth(colour.h) }
}

fn samples(spectrum: &Spectrum) -> RegularSamples {
    RegularSamples { first_nm: FIRST_NM, step_nm: STEP_NM, values: spectrum.bands().to_vec() }
}

impl Import {
    /// The text of the material file: comment lines on how well the measurements are met, then the
    /// coefficients.
    ///
    /// # Errors
    /// [`ImportError::Write`].
    pub fn to_ron(&self) -> Result<String, ImportError> {
        let mut text = String::new();
        for line in self.report().lines() {
            // A name may hold anything but the end of its line.
            let _ = writeln!(text, "// {line}");
        }
        let config = PrettyConfig::new().compact_arrays(true).struct_names(false);
        let body = ron_options().to_string_pretty(&self.file, config)?;
        let _ = writeln!(text, "MeasuredCeramics{body}");
        Ok(text)
    }

    /// How well the measurements are met and what to know, in plain lines.
    #[must_use]
    pub fn report(&self) -> String {
        let mut text = String::new();
        for (fit, concerns) in self.fits.iter().zip(&self.concerns) {
            let (from, to) = match (fit.bands.first(), fit.bands.last()) {
                (Some(first), Some(last)) => (first.wavelength_nm, last.wavelength_nm),
                _ => continue,
            };
            let _ = writeln!(
                text,
                "{}: {} bands measured from {from} to {to} nm; outside, the last value is held",
                fit.material,
                fit.bands.len()
            );
            for piece in &fit.pieces {
                let _ = writeln!(
                    text,
                    "  {} ({} mm): largest miss {:.4} at {} nm, root mean square {:.4}, ΔE00 {:.2} \
                     over white and {:.2} over black",
                    piece.file,
                    piece.thickness_mm,
                    piece.largest,
                    piece.largest_nm,
                    piece.rms,
                    piece.de00[0],
                    piece.de00[1]
                );
            }
            for concern in concerns {
                let _ = writeln!(text, "  warning: {concern}");
            }
        }
        for (material, stated, computed) in &self.shades_off {
            let _ = writeln!(
                text,
                "{material}: warning: a thick piece computes to {}, not {}",
                computed.name(),
                stated.name()
            );
        }
        text
    }
}
