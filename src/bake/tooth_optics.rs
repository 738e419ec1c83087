//! The layered optics of one tooth, natural or restored, at any point of its face.

use crate::bake::BakeError;
use crate::bake::section::{FacePoint, RestoredSection, SectionShape};
use crate::colorimetry::{Illuminant, Lab, Lch, Observer, white_point, xyz_of_samples};
use crate::material::{CeramicMedia, Library};
use crate::optics::least_squares::minimise;
use crate::optics::transport::modes::{BACK, INNER, TOP};
use crate::optics::transport::{CEMENT_JOINT, DENTIN_JOINT, SampledMedium, Series, Table};
use crate::optics::{Medium, ReflectanceShape, absorption_for};
use crate::scene::{Ceramic, NaturalTooth, Preparation, Restoration, Thickness};
use crate::spectrum::{SAMPLE_VECTORS, Samples, Spectrum, samples_of};
use nalgebra::{Matrix4, Vector4};
use std::sync::Arc;

/// Chroma of the body at which enamel is the library's own.
const ENAMEL_CHROMA: f64 = 16.0;
/// Pull of the enamel's stain towards the usual, ΔE per unit of log absorption.
const STAIN_PULL: f64 = 0.02;
/// How near the solved body must come to the wanted one, largest of |ΔL|, |Δa|, |Δb|.
const BODY_TOLERANCE: f64 = 0.05;
/// Thickest enamel of any section, mm: depth of the tooth's edge with its rounded rim.
const MOST_ENAMEL_MM: f64 = 4.0;
/// Thickest dentin of any section, mm.
const MOST_DENTIN_MM: f64 = 16.0;
/// The point whose colour is the body colour of a tooth.
const BODY: FacePoint = FacePoint { mesial: 0.0, height: 0.5 };

/// A natural tooth: enamel over dentin over the back, then the mouth.
#[derive(Clone)]
pub(crate) struct NaturalOptics {
    shape: SectionShape,
    enamel: SampledMedium,
    dentin: SampledMedium,
    front: Arc<Table<TOP>>,
    body: Arc<Table<INNER>>,
    back: Arc<Table<BACK>>,
}

/// A restored tooth: ceramic, cement, prepared tooth, back, then the mouth.
pub(crate) struct RestoredOptics {
    shape: SectionShape,
    preparation: Preparation,
    thickness: Thickness,
    film_mm: f64,
    choice: Ceramic,
    cervical: SampledMedium,
    incisal: SampledMedium,
    cement: SampledMedium,
    prepared: SampledMedium,
    enamel: SampledMedium,
    front: Arc<Table<TOP>>,
    film: Arc<Table<INNER>>,
    core: Arc<Table<INNER>>,
    back: Arc<Table<BACK>>,
}

/// A natural tooth whose media are written out over their thickness: many points, one tooth.
pub(crate) struct NaturalFace {
    shape: SectionShape,
    front: Series<TOP, SAMPLE_VECTORS>,
    body: Series<INNER, SAMPLE_VECTORS>,
    back: Series<BACK, SAMPLE_VECTORS>,
}

/// One row of a restored face: the ceramic of its height in the block.
pub(crate) struct RestoredRow<'a> {
    optics: &'a RestoredOptics,
    ceramic: SampledMedium,
    height: f64,
}

impl NaturalOptics {
    /// Solves the dentin under standard enamel so that the body has the wanted colour.
    pub(crate) fn solve(
        tooth: &NaturalTooth,
        lobe_phase: f64,
        library: &Library,
    ) -> Result<Self, BakeError> {
        let shape = Self::shape_of(tooth, lobe_phase);
        let (enamel, dentin) = (library.enamel(), library.dentin("adult")?);
        let tables = library.tables();
        let (n, g) = (enamel.refractive_index, enamel.anisotropy);
        let mut optics = Self {
            shape,
            enamel: SampledMedium::new(enamel),
            dentin: SampledMedium::new(&dentin),
            front: tables.top(n, g, DENTIN_JOINT),
            body: tables.inner(dentin.refractive_index, dentin.anisotropy, DENTIN_JOINT),
            back: tables.back(n, g, DENTIN_JOINT, library.mouth_reflectance()),
        };
        // The family of dentins is that of one scattering and any smooth absorption.
        let scattering = dentin.two_flux().s;
        optics.solve_tissues(tooth, &scattering)?;
        Ok(optics)
    }

    /// What sets a tooth's section apart.
    pub(crate) fn shape_of(tooth: &NaturalTooth, lobe_phase: f64) -> SectionShape {
        SectionShape { kind: tooth.tooth.kind(), enamel_factor: tooth.enamel_factor, lobe_phase }
    }

    /// Four unknowns: level, blue fraction and place of the dentin's curve, and how stained the
    /// enamel is. Stain is pulled towards what is usual at the body's chroma, so weakly that the
    /// colour is met wherever it can be.
    fn solve_tissues(
        &mut self,
        tooth: &NaturalTooth,
        scattering: &Spectrum,
    ) -> Result<(), BakeError> {
        let wanted = Lab::from(tooth.body);
        let usual = (tooth.body.c / ENAMEL_CHROMA).clamp(0.4, 2.0).ln() * 1.3;
        let at = |x: &Vector4<f64>| {
            let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
            let curve = ReflectanceShape {
                a: logistic(x[0]),
                l: logistic(x[1]),
                m: 490.0 + 30.0 * x[2],
                w: ReflectanceShape::WIDTH_NM,
            };
            let k = absorption_for(&curve.spectrum(), scattering)
                .map_err(|source| BakeError::Medium { tooth: tooth.tooth, source })?;
            let stain = (usual + x[3]).exp();
            let mut optics = self.clone();
            optics.enamel.absorption = self.enamel.absorption.map(|a| a * stain);
            optics.dentin.absorption = (k * 0.5).samples();
            Ok::<Self, BakeError>(optics)
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
        let (light, observer) = (Illuminant::D65, Observer::Cie1931);
        let xyz = xyz_of_samples(&self.reflectance(BODY), light, observer);
        Lab::from_xyz(xyz, white_point(light, observer))
    }

    /// Measured reflectance at a point, specular excluded.
    pub(crate) fn reflectance(&self, point: FacePoint) -> Samples {
        let section = self.shape.natural(point);
        std::array::from_fn(|i| {
            let rear = self.back.layer(&self.enamel.depth(i, section.back_enamel_mm));
            let core = rear.under(&self.body.layer(&self.dentin.depth(i, section.dentin_mm)));
            self.front.layer(&self.enamel.depth(i, section.enamel_mm)).over(&core)
        })
    }

    /// Ready for many points.
    pub(crate) fn face(&self) -> NaturalFace {
        let (enamel, dentin) = (&self.enamel, &self.dentin);
        NaturalFace {
            shape: self.shape,
            front: enamel.series(&self.front, MOST_ENAMEL_MM),
            body: dentin.series(&self.body, MOST_DENTIN_MM),
            back: enamel.series(&self.back, MOST_ENAMEL_MM),
        }
    }

    pub(crate) const fn shape(&self) -> SectionShape {
        self.shape
    }

    /// The same tooth with σs′ and σa of enamel and dentin times what `factors` says of a sample.
    pub(crate) fn with_masses(&self, factors: impl Fn(usize) -> (f64, f64)) -> Self {
        let mut masses = self.clone();
        for i in 0..masses.enamel.absorption.len() {
            let (scattering, absorption) = factors(i);
            for mass in [&mut masses.enamel, &mut masses.dentin] {
                mass.reduced_scattering[i] *= scattering;
                mass.absorption[i] *= absorption;
            }
        }
        masses
    }
}

impl NaturalFace {
    /// Measured reflectance at a point, specular excluded: that of [`NaturalOptics::reflectance`]
    /// within 0.01 ΔE00 (`the_written_out_face_is_the_tooth`).
    #[inline]
    pub(crate) fn reflectance(&self, point: FacePoint) -> Samples {
        let section = self.shape.natural(point);
        let front = self.front.step(section.enamel_mm);
        let body = self.body.step(section.dentin_mm);
        let back = self.back.step(section.back_enamel_mm);
        samples_of(&std::array::from_fn(|v| {
            let core = self.back.layer(&back, v).under(&self.body.layer(&body, v));
            self.front.layer(&front, v).over(&core)
        }))
    }
}

impl RestoredOptics {
    pub(crate) fn new(
        restoration: &Restoration,
        shape: SectionShape,
        library: &Library,
    ) -> Result<Self, BakeError> {
        let prepared = library.prepared_tooth(&restoration.prepared_tooth)?;
        Self::over(restoration, &prepared, shape, library)
    }

    /// The restoration over a prepared tooth of another colour than its own.
    pub(crate) fn over(
        restoration: &Restoration,
        prepared: &Medium,
        shape: SectionShape,
        library: &Library,
    ) -> Result<Self, BakeError> {
        let CeramicMedia { cervical, incisal } = library.ceramic_media(&restoration.ceramic)?;
        let cement = library.seated_cement(restoration)?;
        let (enamel, tables) = (library.enamel(), library.tables());
        let closing = match restoration.preparation {
            Preparation::Veneer | Preparation::Onlay { .. } => enamel,
            Preparation::Crown => &cervical,
        };
        let mouth = library.mouth_reflectance();
        Ok(Self {
            shape,
            preparation: restoration.preparation,
            thickness: restoration.thickness,
            film_mm: restoration.cement_film_mm,
            choice: restoration.ceramic.clone(),
            front: tables.top(cervical.refractive_index, cervical.anisotropy, CEMENT_JOINT),
            film: tables.inner(cement.refractive_index, cement.anisotropy, CEMENT_JOINT),
            core: tables.inner(prepared.refractive_index, prepared.anisotropy, CEMENT_JOINT),
            back: tables.back(closing.refractive_index, closing.anisotropy, CEMENT_JOINT, mouth),
            cervical: SampledMedium::new(&cervical),
            incisal: SampledMedium::new(&incisal),
            cement: SampledMedium::new(&cement),
            prepared: SampledMedium::new(prepared),
            enamel: SampledMedium::new(enamel),
        })
    }

    /// The row at a height: 0 at the gingival margin, 1 at the incisal edge.
    pub(crate) fn row(&self, height: f64) -> RestoredRow<'_> {
        let in_block = self.choice.block_height(self.preparation.covered_height(height));
        let ceramic = self.cervical.mixed(&self.incisal, in_block);
        RestoredRow { optics: self, ceramic, height }
    }
}

impl RestoredRow<'_> {
    /// Whether ceramic covers this row.
    pub(crate) fn covered(&self) -> bool {
        self.optics.preparation.covers(self.height)
    }

    /// Layers at a place on the row, −1 distal to +1 mesial.
    pub(crate) fn section(&self, mesial: f64) -> RestoredSection {
        let optics = self.optics;
        let point = FacePoint { mesial, height: self.height };
        optics.shape.restored(point, optics.preparation, &optics.thickness, optics.film_mm)
    }

    /// Measured reflectance of these layers, specular excluded.
    pub(crate) fn reflectance(&self, section: &RestoredSection) -> Samples {
        let optics = self.optics;
        let closing = match optics.preparation {
            Preparation::Veneer | Preparation::Onlay { .. } => &optics.enamel,
            Preparation::Crown => &self.ceramic,
        };
        std::array::from_fn(|i| {
            let rear = optics.back.layer(&closing.depth(i, section.back_mm));
            let core = optics.core.layer(&optics.prepared.depth(i, section.prepared_mm));
            let film = optics.film.layer(&optics.cement.depth(i, section.cement_mm));
            let front = optics.front.layer(&self.ceramic.depth(i, section.ceramic_mm));
            front.over(&rear.under(&core).under(&film))
        })
    }
}
