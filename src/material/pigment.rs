//! Ceramics coloured with a pigment of another absorption band: alike in daylight, not in every
//! light.
//!
//! # Why these bands
//! Between the CIE lights the plain ceramics that ship shift like teeth do, by 0.1-0.4 ΔE00: all
//! their spectra are smooth. Two lights therefore has `pigmented` ceramics in `ceramics.ron`: a
//! plain class with one absorption band more, whose shades are solved to look the same under D65.
//! Where the band lies decides: one at 580 nm shifts hue by 4 under A, one at 640 nm by 1.4 under
//! FL11 and hardly under A; one at 545 nm cannot be balanced by tooth-coloured absorption for most
//! shades, so nearly all of its options would be left out (`tests/core/material/metamers.rs`;
//! `ceramics.ron` has the distances over the whole lattice).

use crate::colorimetry::{Illuminant, Lab, Lch, Observer};
use crate::material::ceramic::exact_name;
use crate::material::format::{PigmentBand, PigmentedClass};
use crate::material::library_error::MaterialKind;
use crate::material::{Library, LibraryError};
use crate::optics::transport::{Base, CEMENT_JOINT, tabulated_reflectance};
use crate::optics::{DesignError, Layer, Medium};
use crate::scene::Translucency;
use crate::spectrum::Spectrum;
use std::sync::Arc;

/// How near the wanted shade a pigmented ceramic must come, in each of L*, a* and b*.
const TOLERANCE: f64 = 0.02;
/// Most corrections of the shade aimed at.
const CORRECTIONS: usize = 20;

impl PigmentBand {
    /// A medium with this band added to its absorption.
    fn added_to(&self, medium: &Medium) -> Medium {
        let band = Spectrum::from_fn(|nm| {
            let off = (nm - self.at_nm) / self.width_nm;
            1.0 + self.strength * (-0.5 * off * off).exp()
        });
        Medium { absorption: medium.absorption.zip(&band, |k, factor| k * factor), ..*medium }
    }
}

impl Library {
    /// The plain words for a ceramic id; the id itself where there is no such ceramic.
    #[must_use]
    pub fn ceramic_name<'a>(&'a self, id: &'a str) -> &'a str {
        let plain = self.ceramics().classes.iter().map(|class| (&class.id, &class.name));
        let pigmented =
            self.ceramics().pigmented.iter().flatten().map(|class| (&class.id, &class.name));
        let measured = self.measured_ceramics().iter().map(|class| (&class.id, &class.name));
        let mut all = plain.chain(pigmented).chain(measured);
        all.find(|(known, _)| *known == id).map_or(id, |(_, name)| name)
    }

    pub(super) fn pigmented_class(&self, id: &str) -> Option<&PigmentedClass> {
        self.ceramics().pigmented.iter().flatten().find(|class| class.id == id)
    }

    /// The ceramic whose shade under D65 is that of its plain class, with the band in its
    /// absorption: the shade aimed at is corrected until the thick piece has the colour again.
    /// Translucency is that of the plain class but for what the band absorbs.
    pub(super) fn pigmented_ceramic(
        &self,
        class: &PigmentedClass,
        translucency: Translucency,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        let plain = self.ceramic_class(&class.of)?;
        if self.pigmented_class(&class.of).is_some() {
            let (kind, known) = (MaterialKind::Ceramic, "only plain classes".to_owned());
            return Err(LibraryError::Unknown { kind, id: class.of.clone(), known });
        }
        let grade = Self::grade(plain, translucency)?;
        let what = format!("{} {translucency:?} {}", class.id, exact_name(shade));
        self.once(what, |what| {
            let wanted = Lab::from(shade);
            let mut aim = wanted;
            let mut miss = [0.0; 3];
            for _ in 0..CORRECTIONS {
                let plain = self.design_ceramic(
                    what,
                    plain,
                    grade.contrast_ratio,
                    grade.at_mm,
                    Lch::from(aim),
                )?;
                let medium = class.pigment.added_to(&plain);
                let seen = self.thick_piece(&medium);
                miss = [wanted.l - seen.l, wanted.a - seen.a, wanted.b - seen.b];
                if miss.iter().all(|part| part.abs() < TOLERANCE) {
                    return Ok(medium);
                }
                aim = Lab { l: aim.l + miss[0], a: aim.a + miss[1], b: aim.b + miss[2] };
            }
            let [dl, da, db] = miss.map(|part| -part);
            let source = DesignError::Unreachable { dl, da, db, dt: 0.0 };
            Err(LibraryError::Shade { what: what.to_owned(), source })
        })
    }

    /// Colour of a medium in the thickness at which shades are stated.
    fn thick_piece(&self, medium: &Medium) -> Lab {
        let layers = [Layer { medium, thickness_mm: self.ceramics().shades.at_mm }];
        let base = Base::Backing(self.shade_backing());
        let reflectance = tabulated_reflectance(self.tables(), &layers, base, CEMENT_JOINT);
        Lab::from_reflectance(&reflectance, Illuminant::D65, Observer::Cie1931)
    }
}
