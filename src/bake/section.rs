//! Thickness of each layer behind a point of the labial face.
//!
//! A section is what a straight look from the front passes through: enamel, dentin and the enamel
//! of the back of the tooth in a natural one; ceramic, cement, prepared tooth and back in a
//! restored one. The mouth lies behind. Towards the incisal edge the dentin ends, so enamel alone
//! stands before the dark mouth: incisal translucency comes from here, not from paint.
//!
//! # References
//! Labial enamel of upper incisors, cervical 0.3-0.5, middle 0.6-1.0, incisal 1.0-2.1 mm: from
//! memory, Ferrari, Patroni, Balleri 1992. Proximal enamel 0.60-0.84 mm: Dental Press J Orthod,
//! radiographic enamel thickness (34 individuals). Overall depth, slope of the dentin horn and
//! lobes: common practice, no source.
//!
//! # What lies behind
//! Light that reaches the mouth side is lost to a dark backing behind saliva (n = 1.33), which is
//! in contact with the back of the tooth. With air behind, the back surface holds so much light
//! that computed incisal thirds are lighter than the body, which no measurement shows.

use crate::scene::{Preparation, Thickness, ToothKind};

/// A point of the labial face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FacePoint {
    /// −1 at the distal flank, 0 in the middle, +1 at the mesial flank.
    pub mesial: f64,
    /// 0 at the gingival margin, 1 at the incisal edge.
    pub height: f64,
}

/// Layers of a natural tooth, from the front, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NaturalSection {
    /// Labial enamel.
    pub enamel_mm: f64,
    /// Dentin.
    pub dentin_mm: f64,
    /// Enamel of the back.
    pub back_enamel_mm: f64,
}

/// Layers of a restored tooth, from the front, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestoredSection {
    /// Ceramic.
    pub ceramic_mm: f64,
    /// Cement.
    pub cement_mm: f64,
    /// Prepared tooth.
    pub prepared_mm: f64,
    /// What closes the back: enamel behind a veneer or an onlay, ceramic in a crown.
    pub back_mm: f64,
}

/// What sets one tooth's section apart from the standard of its kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionShape {
    /// Kind of tooth.
    pub kind: ToothKind,
    /// Enamel thickness relative to the standard.
    pub enamel_factor: f64,
    /// Phase of the dentin lobes, radians: the same for a tooth and its twin.
    pub lobe_phase: f64,
}

/// Cubic step from 0 at `lo` to 1 at `hi`.
pub(crate) fn smooth_step(lo: f64, hi: f64, x: f64) -> f64 {
    let t = ((x - lo) / (hi - lo)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Piecewise-linear curve through `(x, y)` points in ascending `x`, ends held.
fn curve(points: &[(f64, f64)], x: f64) -> f64 {
    let mut previous = points[0];
    for &point in points {
        if x <= point.0 {
            let span = point.0 - previous.0;
            let t = if span > 0.0 { (x - previous.0) / span } else { 1.0 };
            return previous.1 + (point.1 - previous.1) * t.clamp(0.0, 1.0);
        }
        previous = point;
    }
    previous.1
}

/// Positive part of `x` with a rounded corner of about `width`.
fn soft_positive(x: f64, width: f64) -> f64 {
    if x > 8.0 * width {
        x
    } else if x < -8.0 * width {
        0.0
    } else {
        width * (x / width).exp().ln_1p()
    }
}

fn bump(x: f64, sigma: f64) -> f64 {
    (-0.5 * (x / sigma).powi(2)).exp()
}

impl SectionShape {
    fn length_mm(&self) -> f64 {
        self.kind.crown_dimensions().length_mm
    }

    fn is_incisor(&self) -> bool {
        matches!(self.kind, ToothKind::Central | ToothKind::Lateral)
    }

    /// Depth of the whole tooth behind the face, `edge_mm` from the incisal edge.
    fn depth_mm(&self, edge_mm: f64) -> f64 {
        let (at_edge, slope) = match self.kind {
            ToothKind::Central | ToothKind::Lateral => (1.15, 0.50),
            ToothKind::Canine => (1.8, 0.85),
            _ => (2.2, 1.0),
        };
        // The edge is rounded, so a look at its last tenths of a millimetre runs lengthwise
        // through the rim: the light path is long there. This is the halo of a young edge.
        at_edge + slope * edge_mm + 1.1 * bump(edge_mm, 0.16)
    }

    /// Distance from the edge at which dentin begins.
    fn dentin_start_mm(&self, mesial: f64) -> f64 {
        let lobes: f64 = if self.is_incisor() {
            let sway = 0.06 * self.lobe_phase.sin();
            0.42 * [-0.56, 0.02, 0.54].iter().map(|c| bump(mesial - c - sway, 0.15)).sum::<f64>()
        } else {
            0.30 * bump(mesial, 0.22)
        };
        let wave = 0.12 * (5.3 * mesial + self.lobe_phase).sin();
        let corner = 0.55 * smooth_step(0.55, 1.0, mesial.abs());
        let base = if self.is_incisor() { 1.55 } else { 1.1 };
        base * self.enamel_factor.sqrt() - lobes + wave + corner
    }

    fn labial_enamel_mm(&self, point: FacePoint) -> f64 {
        let middle = curve(
            &[(0.0, 0.22), (0.17, 0.42), (0.5, 0.78), (0.83, 1.02), (1.0, 1.1)],
            point.height,
        );
        let kind = match self.kind {
            ToothKind::Central => 1.0,
            ToothKind::Lateral => 0.95,
            ToothKind::Canine => 1.0,
            _ => 1.1,
        };
        // Towards the flanks the look grazes the enamel and its path lengthens.
        let flank =
            0.45 * smooth_step(0.62, 1.0, point.mesial.abs()) * smooth_step(0.1, 0.6, point.height);
        (middle * kind + flank) * self.enamel_factor
    }

    /// Layers of the natural tooth behind `point`.
    #[must_use]
    pub fn natural(&self, point: FacePoint) -> NaturalSection {
        let edge_mm = (1.0 - point.height) * self.length_mm();
        let depth = self.depth_mm(edge_mm);
        let grown = soft_positive(edge_mm - self.dentin_start_mm(point.mesial), 0.18);
        let slope = if self.is_incisor() { 0.55 } else { 0.9 };
        let flank = 1.0
            - 0.5
                * smooth_step(0.7, 1.02, point.mesial.abs())
                * smooth_step(0.15, 0.6, point.height);
        let room = (depth - 0.5).max(0.0);
        let dentin_mm = (slope * grown * flank).min(room);
        let rest = depth - dentin_mm;
        let enamel_mm = self.labial_enamel_mm(point).min(0.65 * rest);
        let back_enamel_mm = (rest - enamel_mm).min(1.0);
        NaturalSection { enamel_mm, dentin_mm, back_enamel_mm }
    }

    /// Layers of the tooth restored with `thickness` of ceramic on `film_mm` of cement.
    #[must_use]
    pub fn restored(
        &self,
        point: FacePoint,
        preparation: Preparation,
        thickness: &Thickness,
        film_mm: f64,
    ) -> RestoredSection {
        let edge_mm = (1.0 - point.height) * self.length_mm();
        let depth = self.depth_mm(edge_mm);
        // Incisal reduction: 1.0-1.5 mm for veneers, 1.5-2.0 mm for crowns and over the cusps of
        // onlays (common practice, no source).
        let (reduction_mm, back) = match preparation {
            Preparation::Veneer => (1.0, 0.5),
            Preparation::Crown => (1.8, 0.8),
            Preparation::Onlay { .. } => (1.5, 0.5),
        };
        let wanted = thickness.at_height(preparation.covered_height(point.height));
        // The prepared edge is rounded over, so the ceramic thins gradually behind it; it is no
        // straight line, and its corners are rounded too.
        let wave = 0.10 * (5.3 * point.mesial + self.lobe_phase).sin();
        let corner = 0.25 * smooth_step(0.6, 1.0, point.mesial.abs());
        let core = soft_positive(edge_mm - reduction_mm - wave - corner, 0.30);
        let covered = smooth_step(0.0, 0.8, core);
        let cement_mm = film_mm * covered;
        let ceramic_mm = (depth * (1.0 - covered) + wanted * covered).min(depth);
        let rest = (depth - ceramic_mm - cement_mm).max(0.0);
        let back_mm = (back * covered).min(0.5 * rest);
        RestoredSection { ceramic_mm, cement_mm, prepared_mm: rest - back_mm, back_mm }
    }
}

impl Preparation {
    /// Height within the part that ceramic covers: 0 at the margin line, 1 at the edge.
    #[must_use]
    pub fn covered_height(self, height: f64) -> f64 {
        match self {
            Self::Veneer | Self::Crown => height,
            Self::Onlay { margin_height } => (height - margin_height) / (1.0 - margin_height),
        }
    }

    /// Whether ceramic covers the face at a height.
    #[must_use]
    pub fn covers(self, height: f64) -> bool {
        match self {
            Self::Veneer | Self::Crown => true,
            Self::Onlay { margin_height } => height >= margin_height,
        }
    }
}

impl Thickness {
    /// Ceramic thickness at a height: 0 at the gingival margin, 1 at the edge, mm.
    ///
    /// The margin value holds at the margin line itself; the others in the middle of their third.
    #[must_use]
    pub fn at_height(&self, height: f64) -> f64 {
        curve(
            &[
                (0.0, self.margin_mm),
                (1.0 / 6.0, self.neck_mm),
                (0.5, self.body_mm),
                (5.0 / 6.0, self.incisal_mm),
            ],
            height,
        )
    }

    /// The same thickness map times `factor`, the margin left as it is.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            margin_mm: self.margin_mm,
            neck_mm: self.neck_mm * factor,
            body_mm: self.body_mm * factor,
            incisal_mm: self.incisal_mm * factor,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CENTRAL: SectionShape =
        SectionShape { kind: ToothKind::Central, enamel_factor: 1.0, lobe_phase: 0.0 };

    #[test]
    fn labial_enamel_of_a_central_lies_in_the_published_ranges() {
        // From memory: Ferrari, Patroni, Balleri 1992; mm by third.
        for (height, low, high) in [(1.0 / 6.0, 0.3, 0.5), (0.5, 0.6, 1.0), (0.8, 0.85, 2.1)] {
            let section = CENTRAL.natural(FacePoint { mesial: 0.0, height });
            assert!(
                (low..=high).contains(&section.enamel_mm),
                "{} mm at height {height}",
                section.enamel_mm
            );
        }
    }

    #[test]
    fn dentin_ends_before_the_edge() {
        let edge = CENTRAL.natural(FacePoint { mesial: 0.0, height: 0.97 });
        assert!(edge.dentin_mm < 0.05, "{edge:?}");
        let body = CENTRAL.natural(FacePoint { mesial: 0.0, height: 0.5 });
        assert!(body.dentin_mm > 1.5, "{body:?}");
    }

    #[test]
    fn a_veneer_is_as_thick_as_asked() {
        let thickness = Thickness { margin_mm: 0.05, neck_mm: 0.3, body_mm: 0.5, incisal_mm: 0.7 };
        for (height, mm) in [(0.0, 0.05), (1.0 / 6.0, 0.3), (0.5, 0.5), (0.7, 0.62)] {
            let section = CENTRAL.restored(
                FacePoint { mesial: 0.0, height },
                Preparation::Veneer,
                &thickness,
                0.05,
            );
            assert!((section.ceramic_mm - mm).abs() < 2e-3, "{section:?} at {height}");
            assert!((section.cement_mm - 0.05).abs() < 1e-3, "{section:?} at {height}");
        }
    }
}
