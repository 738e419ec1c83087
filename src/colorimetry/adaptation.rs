//! Chromatic adaptation: what a colour under one white looks like under another.

use super::Xyz;
use nalgebra::{Matrix3, Vector3};
use std::sync::LazyLock;

/// A full von Kries type adaptation (degree D = 1) in a sharpened cone space.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Adaptation {
    /// Linear Bradford, as used by the ICC.
    ///
    /// # References
    /// Lam 1985; ICC.1 Annex E.
    Bradford,
    /// CAT16. The one used for display here.
    ///
    /// # References
    /// Li, Li, Wang et al. 2017, Color Res Appl 42:703-718.
    Cat16,
}

const BRADFORD: [[f64; 3]; 3] =
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

const CAT16: [[f64; 3]; 3] = [
    [0.401_288, 0.650_173, -0.051_461],
    [-0.250_268, 1.204_414, 0.045_854],
    [-0.002_079, 0.048_952, 0.953_127],
];

/// Row-major numbers to a matrix.
pub(super) fn matrix(rows: &[[f64; 3]; 3]) -> Matrix3<f64> {
    Matrix3::from_fn(|row, column| rows[row][column])
}

struct ConeSpace {
    forward: Matrix3<f64>,
    /// Inverted numerically: the published four-digit inverses do not return the white exactly.
    inverse: Matrix3<f64>,
}

impl ConeSpace {
    fn new(rows: &[[f64; 3]; 3]) -> Self {
        let forward = matrix(rows);
        let inverse = forward.try_inverse().expect("a constant, regular matrix");
        Self { forward, inverse }
    }
}

impl Adaptation {
    fn cone_space(self) -> &'static ConeSpace {
        static BRADFORD_SPACE: LazyLock<ConeSpace> = LazyLock::new(|| ConeSpace::new(&BRADFORD));
        static CAT16_SPACE: LazyLock<ConeSpace> = LazyLock::new(|| ConeSpace::new(&CAT16));
        match self {
            Self::Bradford => &BRADFORD_SPACE,
            Self::Cat16 => &CAT16_SPACE,
        }
    }

    /// Adapts one colour from a white to another; all on the Y = 100 scale, whites of real lights.
    ///
    /// For many colours between the same whites take [`Adaptation::between`] once.
    #[must_use]
    pub fn adapt(self, xyz: Xyz, from_white: Xyz, to_white: Xyz) -> Xyz {
        self.between(from_white, to_white).apply(xyz)
    }

    /// The matrix M⁻¹·diag(M·to / M·from)·M.
    #[must_use]
    pub fn between(self, from_white: Xyz, to_white: Xyz) -> AdaptationMatrix {
        let space = self.cone_space();
        let from = space.forward * vector(from_white);
        let to = space.forward * vector(to_white);
        let gain = Matrix3::from_diagonal(&to.component_div(&from));
        AdaptationMatrix(space.inverse * gain * space.forward)
    }
}

/// An adaptation between two fixed whites.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdaptationMatrix(pub(super) Matrix3<f64>);

impl AdaptationMatrix {
    /// Adapts one colour.
    #[must_use]
    pub fn apply(&self, xyz: Xyz) -> Xyz {
        from_vector(self.0 * vector(xyz))
    }
}

pub(super) fn vector(xyz: Xyz) -> Vector3<f64> {
    Vector3::from(xyz.to_array())
}

pub(super) fn from_vector(v: Vector3<f64>) -> Xyz {
    Xyz::from_array(v.into())
}
