//! Few smooth modes instead of many streams.
//!
//! Light that has been scattered varies smoothly with direction. Where layers meet it is carried
//! here by [`MODES`] orthonormal polynomials in cos θ, the first of which is Lambertian light and
//! carries all the flux. Each layer's own solution stays that of all streams; only the hand-over
//! from layer to layer is projected. What this costs is tested against the direct solution.

use super::scattering::Redistribution;
use super::slab::{Layer, Slab, lambertian};
use super::streams::{Directions, Streams};
use nalgebra::{DMatrix, DVector};

/// Refractive index of saliva, that of water. Taking air instead lets the back surface hold so much
/// light that incisal thirds come out lighter than the body, which no measurement shows.
pub const SALIVA_INDEX: f64 = 1.33;
/// Number of modes.
pub const MODES: usize = 3;
/// Numbers in a symmetric operator on the modes.
pub const SYMMETRIC: usize = MODES * (MODES + 1) / 2;
/// Numbers of a [`Place::Top`] layer: direct return, source, sink, reflection from below.
pub const TOP: usize = 1 + 2 * MODES + SYMMETRIC;
/// Numbers of a [`Place::Inner`] layer: reflection, transmission.
pub const INNER: usize = 2 * SYMMETRIC;
/// Numbers of a [`Place::Back`] layer: reflection.
pub const BACK: usize = SYMMETRIC;

/// Where in a stack a layer lies. `joint` is the refractive index of the medium in which its
/// neighbours meet it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place {
    /// Air above, a joint below.
    Top {
        /// Index of the joint.
        joint: f64,
    },
    /// Joints above and below.
    Inner {
        /// Index of both joints.
        joint: f64,
    },
    /// A joint above; below, saliva and the dark of the mouth in contact with it.
    Back {
        /// Index of the joint.
        joint: f64,
        /// Reflectance of the mouth, 0..1.
        mouth: f64,
    },
}

impl Place {
    /// Numbers that describe a layer there.
    #[must_use]
    pub const fn size(self) -> usize {
        match self {
            Self::Top { .. } => TOP,
            Self::Inner { .. } => INNER,
            Self::Back { .. } => BACK,
        }
    }

    const fn joint(self) -> f64 {
        match self {
            Self::Top { joint } | Self::Inner { joint } | Self::Back { joint, .. } => joint,
        }
    }
}

/// A kind of medium at a place, ready to be solved for any optical depth.
#[derive(Debug, Clone)]
pub(super) struct Projection {
    place: Place,
    redistribution: Redistribution,
    /// What lies above the layer, where that is a surface.
    above: Option<Slab>,
    /// What lies below it.
    below: Option<Slab>,
    /// Modes of the joint, one a column.
    basis: DMatrix<f64>,
    /// Reflection of the mouth as seen from air.
    mouth: Option<DMatrix<f64>>,
    normal: usize,
    air_root: DVector<f64>,
}

impl Projection {
    pub fn new(n: f64, g: f64, place: Place, per_band: usize) -> Self {
        let joint = place.joint();
        let streams = match place {
            Place::Back { .. } => Streams::new(&[n, joint, SALIVA_INDEX], per_band),
            Place::Top { .. } | Place::Inner { .. } => Streams::new(&[n, joint], per_band),
        };
        let directions = streams.directions(n);
        let surface = |from: f64, to: f64| (from != to).then(|| Slab::surface(&streams, from, to));
        let (above, below, mouth) = match place {
            Place::Top { .. } => (surface(1.0, n), surface(n, joint), None),
            Place::Inner { .. } => (surface(joint, n), surface(n, joint), None),
            Place::Back { mouth, .. } => {
                let wet = streams.directions(SALIVA_INDEX).root;
                (surface(joint, n), surface(n, SALIVA_INDEX), Some(lambertian(&wet, mouth)))
            }
        };
        Self {
            place,
            redistribution: Redistribution::new(&directions, g, streams.moments),
            above,
            below,
            basis: basis(&streams.directions(joint)),
            mouth,
            normal: streams.normal(),
            air_root: streams.directions(1.0).root,
        }
    }

    /// The numbers of a layer of these optical depths.
    pub fn solve(&self, absorption: f64, scattering: f64) -> Vec<f64> {
        let mut slab = Slab::from(Layer::new(&self.redistribution, absorption, scattering));
        if let Some(above) = &self.above {
            slab = above.on(&slab);
        }
        if let Some(mouth) = &self.mouth {
            let below = self.below.as_ref().map_or_else(|| mouth.clone(), |b| b.over(mouth));
            return symmetric(&(self.basis.transpose() * slab.over(&below) * &self.basis));
        }
        if let Some(below) = &self.below {
            slab = slab.on(below);
        }
        let on_modes = |m: &DMatrix<f64>| self.basis.transpose() * m * &self.basis;
        match self.place {
            Place::Top { .. } => {
                let (normal, root) = (self.normal, &self.air_root);
                let returned = (slab.r_top.transpose() * root)[normal] / root[normal];
                // The specular flash stays in its stream, so it can be told from the rest.
                let specular = self.above.as_ref().map_or(0.0, |s| s.r_top[(normal, normal)]);
                let source = self.basis.transpose() * slab.t.column(normal) / root[normal];
                let sink = self.basis.transpose() * &slab.t * root;
                let mut numbers = vec![returned - specular];
                numbers.extend(source.iter());
                numbers.extend(sink.iter());
                numbers.extend(symmetric(&on_modes(&slab.r_bottom)));
                numbers
            }
            Place::Inner { .. } | Place::Back { .. } => {
                let mut numbers = symmetric(&on_modes(&slab.r_top));
                numbers.extend(symmetric(&on_modes(&slab.t)));
                numbers
            }
        }
    }
}

/// Orthonormal polynomials in cos θ under the étendue weight, each pointing up at the normal.
fn basis(directions: &Directions) -> DMatrix<f64> {
    let count = directions.mu.len();
    let powers =
        DMatrix::from_fn(count, MODES, |i, p| directions.root[i] * directions.mu[i].powi(p as i32));
    let mut q = powers.clone().qr().q();
    for (mut column, power) in q.column_iter_mut().zip(powers.column_iter()) {
        if column.dot(&power) < 0.0 {
            column.neg_mut();
        }
    }
    q
}

/// Lower triangle, row by row.
fn symmetric(matrix: &DMatrix<f64>) -> Vec<f64> {
    (0..MODES)
        .flat_map(|i| (0..=i).map(move |j| (i, j)))
        .map(|(i, j)| 0.5 * (matrix[(i, j)] + matrix[(j, i)]))
        .collect()
}
