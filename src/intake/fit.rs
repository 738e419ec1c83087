//! Coefficients of a material from pieces of it.

use super::header::Contact;
use super::measurement::Measurement;
use crate::colorimetry::{Illuminant, Lab, Observer, ciede2000};
use crate::optics::fresnel::normal_reflectance;
use crate::optics::inverse::{InverseError, TwoBackings};
use crate::optics::transport::inverse::{FittedTransport, MAX_PIECES, fit_transport};
use crate::optics::transport::{Base, CEMENT_JOINT, Tables, tabulated_reflectance};
use crate::optics::{Layer, Medium, MediumError};
use crate::spectrum::{FIRST_NM, N_BANDS, STEP_NM, Spectrum, wavelength_nm};
use thiserror::Error;

/// Why pieces give no coefficients.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FitError {
    /// Files of one material disagree about it.
    #[error("{what} of {material} is {first} in {first_file} and {second} in {second_file}")]
    Disagree {
        /// What they disagree about.
        what: &'static str,
        /// The material.
        material: String,
        /// What the first file says.
        first: Box<str>,
        /// The first file.
        first_file: Box<str>,
        /// What the other says.
        second: Box<str>,
        /// The other file.
        second_file: Box<str>,
    },
    /// More pieces than a fit takes.
    #[error("{material} has {count} pieces; at most {MAX_PIECES} are fitted together")]
    TooMany {
        /// The material.
        material: String,
        /// Number of pieces.
        count: usize,
    },
    /// No piece lets anything of its backing through.
    #[error(
        "{file}: the piece hides its backing at {wavelength_nm} nm: over white {over_white:.4}, over black {over_black:.4}; measure a thinner one"
    )]
    Hides {
        /// The file.
        file: String,
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// Reflectance over white.
        over_white: f64,
        /// Reflectance over black.
        over_black: f64,
    },
    /// A band cannot be fitted.
    #[error("{material} at {wavelength_nm} nm: {source}")]
    Band {
        /// The material.
        material: String,
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// Why.
        source: InverseError,
    },
    /// The coefficients make no medium.
    #[error("{material}: {source}")]
    Medium {
        /// The material.
        material: String,
        /// Why.
        source: MediumError,
    },
}

/// Contrast between the backings below which nothing of the backing is seen: the repeatability of
/// a good spectrophotometer (common practice, no source).
const HIDDEN: f64 = 0.001;

/// Absorption depth σa·x below which a piece absorbs nothing that could be measured.
const NO_ABSORPTION: f64 = 1e-3;

/// What was found at one band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Wavelength, nm.
    pub wavelength_nm: f64,
    /// σa, σs′ and what is left of each reflectance.
    pub fitted: FittedTransport,
    /// Difference between over white and over black in the piece that shows most of it.
    pub contrast: f64,
    /// Light that the piece would have to give off beyond what it gets, as a reflectance: the part of
    /// the largest miss that no coefficients of 0 or more explain.
    pub excess: f64,
}

/// How well one piece is met.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceResiduals {
    /// The file.
    pub file: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Largest absolute miss of a reflectance.
    pub largest: f64,
    /// Wavelength of it, nm.
    pub largest_nm: f64,
    /// Root mean square of the misses over both backings.
    pub rms: f64,
    /// ΔE00 (D65, 2°) of the recomputed colour to the measured one, over white and over black.
    pub de00: [f64; 2],
}

/// Coefficients of a material and how they came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The material, for messages.
    pub material: String,
    /// The medium at all bands, ends held beyond what was measured.
    pub medium: Medium,
    /// The bands that were measured.
    pub bands: Vec<Band>,
    /// How well each piece is met.
    pub pieces: Vec<PieceResiduals>,
}

/// Fits pieces of one material: same class, translucency, shade, index and anisotropy, at least
/// one.
///
/// # Errors
/// [`FitError`].
pub fn fit(tables: &Tables, pieces: &[Measurement]) -> Result<Fit, FitError> {
    let Some(first) = pieces.first() else {
        let material = "nothing".to_owned();
        return Err(FitError::TooMany { material, count: 0 });
    };
    let material = first.material();
    if pieces.len() > MAX_PIECES {
        return Err(FitError::TooMany { material, count: pieces.len() });
    }
    agree(pieces, &material)?;
    let (n, g) = (first.header.refractive_index, first.header.anisotropy);
    let table = tables.top(n, g, joint(first.header.contact));
    let seen: Vec<Seen> = pieces.iter().map(Seen::new).collect();
    let from = seen.iter().map(|s| s.bands.0).max().unwrap_or(0);
    let to = seen.iter().map(|s| s.bands.1).min().unwrap_or(N_BANDS - 1);
    let mut bands = Vec::with_capacity(to + 1 - from);
    for band in from..=to {
        let nm = wavelength_nm(band);
        let mut looks = Vec::with_capacity(pieces.len());
        for (piece, seen) in pieces.iter().zip(&seen) {
            looks.push((seen.at(band), piece.header.thickness_mm));
        }
        let shown = |r: &TwoBackings| r.over_white - r.over_black;
        let most = looks.iter().enumerate().max_by(|a, b| shown(&a.1.0).total_cmp(&shown(&b.1.0)));
        let Some((index, (best, _))) = most else { continue };
        let contrast = shown(best);
        if contrast < HIDDEN {
            return Err(FitError::Hides {
                file: pieces[index].file.display().to_string(),
                wavelength_nm: nm,
                over_white: best.over_white,
                over_black: best.over_black,
            });
        }
        let wrap =
            |source| FitError::Band { material: material.clone(), wavelength_nm: nm, source };
        let fitted = fit_transport(&table, n, &looks).map_err(wrap)?;
        // With no absorption left to take away, what is measured above what is computed is light
        // that the piece did not get.
        let without = fitted.absorption * first.header.thickness_mm < NO_ABSORPTION;
        let excess = fitted.misses.iter().flatten().fold(0.0_f64, |most, miss| most.max(-miss));
        let excess = if without { excess } else { 0.0 };
        bands.push(Band { wavelength_nm: nm, fitted, contrast, excess });
    }
    let spectrum = |of: fn(&FittedTransport) -> f64| {
        let value = |band: usize| six_digits(of(&bands[band.clamp(from, to) - from].fitted));
        Spectrum::from_bands(std::array::from_fn(value))
    };
    let medium = Medium::new(spectrum(|f| f.absorption), spectrum(|f| f.reduced_scattering), g, n)
        .map_err(|source| FitError::Medium { material: material.clone(), source })?;
    let pieces = pieces
        .iter()
        .zip(&seen)
        .enumerate()
        .map(|(i, (piece, seen))| residuals(tables, &medium, &bands, i, piece, seen))
        .collect();
    Ok(Fit { material, medium, bands, pieces })
}

/// As many digits as a file keeps.
fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// Index of what a piece's lower surface meets.
const fn joint(contact: Contact) -> f64 {
    match contact {
        Contact::Optical => CEMENT_JOINT,
        Contact::Air => 1.0,
    }
}

fn agree(pieces: &[Measurement], material: &str) -> Result<(), FitError> {
    let first = &pieces[0];
    for other in &pieces[1..] {
        let (a, b) = (&first.header, &other.header);
        let pairs = [
            (
                "the refractive index",
                a.refractive_index.to_string(),
                b.refractive_index.to_string(),
            ),
            ("the anisotropy", a.anisotropy.to_string(), b.anisotropy.to_string()),
            ("the contact", format!("{:?}", a.contact), format!("{:?}", b.contact)),
        ];
        for (what, first_says, second_says) in pairs {
            if first_says != second_says {
                return Err(FitError::Disagree {
                    what,
                    material: material.to_owned(),
                    first: first_says.into(),
                    first_file: first.file.display().to_string().into(),
                    second: second_says.into(),
                    second_file: other.file.display().to_string().into(),
                });
            }
        }
    }
    Ok(())
}

/// A measurement at the bands.
struct Seen {
    /// First and last band that lie within what was measured.
    bands: (usize, usize),
    over: [Spectrum; 2],
    backings: [Spectrum; 2],
}

impl Seen {
    fn new(piece: &Measurement) -> Self {
        let header = &piece.header;
        let gloss = if header.specular_included {
            normal_reflectance(header.refractive_index)
        } else {
            0.0
        };
        let last_nm = piece.first_nm + piece.step_nm * (piece.lines.len() - 1) as f64;
        let band = |nm: f64| (nm - FIRST_NM) / STEP_NM;
        let at = |values: &[f64]| {
            Spectrum::from_fn(|nm| resampled(piece.first_nm, piece.step_nm, values, nm))
        };
        let without_gloss = |values: &[f64]| at(values).map(|r| (r - gloss).max(0.0));
        Self {
            bands: (
                band(piece.first_nm - 1e-6).ceil().max(0.0) as usize,
                (band(last_nm + 1e-6).floor() as usize).min(N_BANDS - 1),
            ),
            over: [without_gloss(&piece.over[0]), without_gloss(&piece.over[1])],
            backings: [at(&piece.backings[0]), at(&piece.backings[1])],
        }
    }

    fn at(&self, band: usize) -> TwoBackings {
        TwoBackings {
            over_white: self.over[0][band],
            over_black: self.over[1][band],
            white: self.backings[0][band].clamp(0.0, 1.0),
            black: self.backings[1][band].clamp(0.0, 1.0),
        }
    }
}

/// Regular samples at a wavelength, ends held: the mean over a band of samples finer than one,
/// otherwise the third-degree polynomial through the four nearest.
fn resampled(first_nm: f64, step_nm: f64, values: &[f64], nm: f64) -> f64 {
    let last = values.len() - 1;
    let x = ((nm - first_nm) / step_nm).clamp(0.0, last as f64);
    if step_nm < 0.8 * STEP_NM {
        let half = 0.5 * STEP_NM / step_nm;
        let from = (x - half).ceil().max(0.0) as usize;
        let to = ((x + half).floor() as usize).min(last);
        return values[from..=to].iter().sum::<f64>() / (to + 1 - from) as f64;
    }
    let first = (x.floor() as usize).saturating_sub(1).min(last.saturating_sub(3));
    let t = x - first as f64;
    (0..4)
        .map(|i| {
            let weight: f64 = (0..4)
                .filter(|&j| j != i)
                .map(|j| (t - j as f64) / (i as f64 - j as f64))
                .product();
            weight * values[first + i]
        })
        .sum()
}

fn residuals(
    tables: &Tables,
    medium: &Medium,
    bands: &[Band],
    index: usize,
    piece: &Measurement,
    seen: &Seen,
) -> PieceResiduals {
    let misses = || bands.iter().map(|band| (band.wavelength_nm, band.fitted.misses[index]));
    let (largest_nm, largest) = misses()
        .map(|(nm, [w, b])| (nm, w.abs().max(b.abs())))
        .fold((0.0, 0.0), |most, here| if here.1 >= most.1 { here } else { most });
    let squares: f64 = misses().map(|(_, [w, b])| w * w + b * b).sum();
    let layer = Layer { medium, thickness_mm: piece.header.thickness_mm };
    let lab = |r: &Spectrum| Lab::from_reflectance(r, Illuminant::D65, Observer::Cie1931);
    let joint = joint(piece.header.contact);
    let de00 = [0, 1].map(|i| {
        let backing = seen.backings[i].map(|r| r.clamp(0.0, 1.0));
        let base = Base::Backing(&backing);
        let computed = tabulated_reflectance(tables, &[layer], base, joint);
        ciede2000(lab(&seen.over[i]), lab(&computed)).de00
    });
    PieceResiduals {
        file: piece.file.display().to_string(),
        thickness_mm: piece.header.thickness_mm,
        largest,
        largest_nm,
        rms: (squares / (2 * bands.len().max(1)) as f64).sqrt(),
        de00,
    }
}
