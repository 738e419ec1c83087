//! The layered optics of one tooth, natural or restored, at any point of its face.

use crate::bake::BakeError;
use crate::bake::section::{FacePoint, SectionShape};
use crate::colorimetry::{Illuminant, Lab, Lch, Observer};
use crate::material::{CeramicMedia, Library};
use crate::optics::least_squares::minimise;
use crate::optics::{
    Interface, Layer, Medium, ReflectanceShape, absorption_for, measured_reflectance,
};
use crate::scene::{NaturalTooth, Preparation, Restoration, Thickness};
use crate::spectrum::Spectrum;
use nalgebra::{Matrix4, Vector4};
use std::sync::Arc;

/// Chroma of the body at which enamel is the library's own.
const ENAMEL_CHROMA: f64 = 16.0;
/// Pull of the enamel's stain towards the usual, ΔE per unit of log absorption.
const STAIN_PULL: f64 = 0.02;
/// How near the solved body must come to the wanted one, largest of |ΔL|, |Δa|, |Δb|.
const BODY_TOLERANCE: f64 = 0.05;
/// The point whose colour is the body colour of a tooth.
const BODY: FacePoint = FacePoint { mesial: 0.0, height: 0.5 };

/// A natural tooth: enamel over dentin over the back, the mouth behind.
pub(crate) struct NaturalOptics {
    shape: SectionShape,
    enamel: Medium,
    dentin: Medium,
    mouth: Spectrum,
    interface: Interface,
}

/// A restored tooth: ceramic, cement, prepared tooth, back, the mouth behind.
pub(crate) struct RestoredOptics {
    shape: SectionShape,
    preparation: Preparation,
    thickness: Thickness,
    film_mm: f64,
    ceramic: CeramicMedia,
    cement: Arc<Medium>,
    prepared: Arc<Medium>,
    enamel: Medium,
    mouth: Spectrum,
    interface: Interface,
}

/// One row of a restored face: the ceramic of its height in the block.
pub(crate) struct RestoredRow<'a> {
    optics: &'a RestoredOptics,
    ceramic: Medium,
    height: f64,
}

impl NaturalOptics {
    /// Solves the dentin under standard enamel so that the body has the wanted colour.
    pub(crate) fn solve(
        tooth: &NaturalTooth,
        lobe_phase: f64,
        library: &Library,
    ) -> Result<Self, BakeError> {
        let shape = SectionShape {
            kind: tooth.tooth.kind(),
            enamel_factor: tooth.enamel_factor,
            lobe_phase,
        };
        let mut optics = Self {
            shape,
            enamel: *library.enamel(),
            dentin: *library.dentin("adult")?,
            mouth: library.mouth(),
            interface: Interface::between_air_and(library.enamel().refractive_index),
        };
        optics.solve_tissues(tooth)?;
        Ok(optics)
    }

    /// Four unknowns: level, blue fraction and place of the dentin's curve, and how stained the
    /// enamel is. Stain is pulled towards what is usual at the body's chroma, so weakly that the
    /// colour is met wherever it can be.
    fn solve_tissues(&mut self, tooth: &NaturalTooth) -> Result<(), BakeError> {
        let wanted = Lab::from(tooth.body);
        let usual = (tooth.body.c / ENAMEL_CHROMA).clamp(0.4, 2.0).ln() * 1.3;
        let (enamel, dentin) = (self.enamel, self.dentin);
        let at = |x: &Vector4<f64>| {
            let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
            let curve = ReflectanceShape {
                a: logistic(x[0]),
                l: logistic(x[1]),
                m: 490.0 + 30.0 * x[2],
                w: ReflectanceShape::WIDTH_NM,
            };
            let k = absorption_for(&curve.spectrum(), &dentin.s)
                .map_err(|source| BakeError::Medium { tooth: tooth.tooth, source })?;
            Ok::<Self, BakeError>(Self {
                enamel: Medium { k: enamel.k * (usual + x[3]).exp(), ..enamel },
                dentin: Medium { k, ..dentin },
                ..*self
            })
        };
        let miss = |x: &Vector4<f64>| match at(x) {
            Ok(optics) => {
                let lab = optics.body_lab();
                let pull = STAIN_PULL * x[3];
                Vector4::new(lab.l - wanted.l, lab.a - wanted.a, lab.b - wanted.b, pull)
            }
            // Curves pushed onto 0 or 1 have no absorption; such a step is refused.
            Err(_) => Vector4::repeat(f64::NAN),
        };
        let equations = |x: &Vector4<f64>| {
            let here = miss(x);
            let jacobian = Matrix4::from_columns(&std::array::from_fn::<_, 4, _>(|i| {
                let mut moved = *x;
                moved[i] += 1e-5;
                (miss(&moved) - here) / 1e-5
            }));
            (here, jacobian)
        };
        let found = minimise(Vector4::new(1.5, -1.0, 0.0, 0.0), 1e-6, 80, equations);
        let solved: Self = at(&found.x)?;
        if found.residuals.fixed_rows::<3>(0).amax() > BODY_TOLERANCE {
            return Err(BakeError::BodyOutOfReach {
                tooth: tooth.tooth,
                wanted: tooth.body,
                reached: Lch::from(solved.body_lab()),
            });
        }
        *self = solved;
        Ok(())
    }

    fn body_lab(&self) -> Lab {
        Lab::from_reflectance(&self.reflectance(BODY), Illuminant::D65, Observer::Cie1931)
    }

    /// Measured reflectance at a point, specular excluded.
    pub(crate) fn reflectance(&self, point: FacePoint) -> Spectrum {
        let section = self.shape.natural(point);
        let layers = [
            Layer { medium: &self.enamel, thickness_mm: section.enamel_mm },
            Layer { medium: &self.dentin, thickness_mm: section.dentin_mm },
            Layer { medium: &self.enamel, thickness_mm: section.back_enamel_mm },
        ];
        measured_reflectance(&layers, &self.mouth, self.interface)
    }

    pub(crate) const fn shape(&self) -> SectionShape {
        self.shape
    }
}

impl RestoredOptics {
    pub(crate) fn new(
        restoration: &Restoration,
        shape: SectionShape,
        library: &Library,
    ) -> Result<Self, BakeError> {
        let media = library.ceramic_media(&restoration.ceramic)?;
        Ok(Self {
            shape,
            preparation: restoration.preparation,
            thickness: restoration.thickness,
            film_mm: restoration.cement_film_mm,
            interface: Interface::between_air_and(media.cervical.refractive_index),
            ceramic: media,
            cement: library.cement(&restoration.cement)?,
            prepared: library.prepared_tooth(&restoration.prepared_tooth)?,
            enamel: *library.enamel(),
            mouth: library.mouth(),
        })
    }

    /// The row at a height: 0 at the gingival margin, 1 at the incisal edge.
    pub(crate) fn row(&self, height: f64) -> RestoredRow<'_> {
        RestoredRow { optics: self, ceramic: self.ceramic.at(height), height }
    }
}

impl RestoredRow<'_> {
    /// Measured reflectance at a place on the row, −1 distal to +1 mesial, specular excluded.
    pub(crate) fn reflectance(&self, mesial: f64) -> Spectrum {
        let optics = self.optics;
        let point = FacePoint { mesial, height: self.height };
        let section =
            optics.shape.restored(point, optics.preparation, &optics.thickness, optics.film_mm);
        let back = match optics.preparation {
            Preparation::Veneer => &optics.enamel,
            Preparation::Crown => &self.ceramic,
        };
        let layers = [
            Layer { medium: &self.ceramic, thickness_mm: section.ceramic_mm },
            Layer { medium: &optics.cement, thickness_mm: section.cement_mm },
            Layer { medium: &optics.prepared, thickness_mm: section.prepared_mm },
            Layer { medium: back, thickness_mm: section.back_mm },
        ];
        measured_reflectance(&layers, &optics.mouth, optics.interface)
    }
}
