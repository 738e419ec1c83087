//! The layered optics of one tooth, natural or restored, at any point of its face.

use crate::bake::BakeError;
use crate::bake::section::{FacePoint, SectionShape};
use crate::colorimetry::{Illuminant, Lab, Lch, Observer};
use crate::material::{CeramicMedia, Library};
use crate::optics::{
    Interface, Layer, Medium, ReflectanceShape, absorption_for, measured_reflectance,
};
use crate::scene::{NaturalTooth, Preparation, Restoration, Thickness};
use crate::spectrum::Spectrum;
use nalgebra::{Matrix3, Vector3};
use std::sync::Arc;

/// Chroma of the body at which enamel is the library's own.
const ENAMEL_CHROMA: f64 = 16.0;
/// How near the solved body must come to the wanted one, largest of |ΔL|, |Δa|, |Δb|.
const BODY_TOLERANCE: f64 = 0.01;
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
        // Enamel takes up colour with the rest of the tooth.
        let stain = (tooth.body.c / ENAMEL_CHROMA).clamp(0.4, 2.0).powf(1.3);
        let enamel = Medium { k: library.enamel().k * stain, ..*library.enamel() };
        let mut optics = Self {
            shape,
            enamel,
            dentin: *library.dentin("adult")?,
            mouth: library.mouth(),
            interface: Interface::between_air_and(enamel.refractive_index),
        };
        optics.dentin = optics.solve_dentin(tooth)?;
        Ok(optics)
    }

    fn body_lab(&self, shape: &ReflectanceShape) -> Lab {
        let mut trial = Self { dentin: self.dentin, ..*self };
        // The curve stays inside (0, 1) by the way it is written, so this cannot fail.
        if let Ok(k) = absorption_for(&shape.spectrum(), &self.dentin.s) {
            trial.dentin.k = k;
        }
        Lab::from_reflectance(&trial.reflectance(BODY), Illuminant::D65, Observer::Cie1931)
    }

    /// Damped Newton in three unknowns: level, blue fraction and place of the dentin's curve.
    fn solve_dentin(&self, tooth: &NaturalTooth) -> Result<Medium, BakeError> {
        let wanted = Lab::from(tooth.body);
        let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
        let curve = |x: &Vector3<f64>| ReflectanceShape {
            a: logistic(x[0]),
            l: logistic(x[1]),
            m: 490.0 + 30.0 * x[2],
            w: ReflectanceShape::WIDTH_NM,
        };
        let miss = |x: &Vector3<f64>| {
            let lab = self.body_lab(&curve(x));
            Vector3::new(lab.l - wanted.l, lab.a - wanted.a, lab.b - wanted.b)
        };
        let mut x = Vector3::new(1.5, -1.0, 0.0);
        let mut residual = miss(&x);
        for _ in 0..60 {
            if residual.amax() < BODY_TOLERANCE {
                let k = absorption_for(&curve(&x).spectrum(), &self.dentin.s)
                    .map_err(|source| BakeError::Medium { tooth: tooth.tooth, source })?;
                return Ok(Medium { k, ..self.dentin });
            }
            let mut jacobian = Matrix3::zeros();
            for column in 0..3 {
                let mut moved = x;
                moved[column] += 1e-4;
                jacobian.set_column(column, &((miss(&moved) - residual) / 1e-4));
            }
            let Some(inverse) = jacobian.try_inverse() else { break };
            let mut step = -(inverse * residual);
            let largest = step.amax();
            if largest > 0.8 {
                step *= 0.8 / largest;
            }
            let mut improved = false;
            for _ in 0..12 {
                let next = x + step;
                let next_residual = miss(&next);
                if next_residual.norm() < residual.norm() {
                    (x, residual, improved) = (next, next_residual, true);
                    break;
                }
                step *= 0.5;
            }
            if !improved {
                break;
            }
        }
        Err(BakeError::BodyOutOfReach {
            tooth: tooth.tooth,
            wanted: tooth.body,
            reached: Lch::from(self.body_lab(&curve(&x))),
        })
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
