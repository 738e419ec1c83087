//! Simulated learners.

/// A simulated learner: sees every difference through noise and leans one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learner {
    /// Standard deviation of what is seen, ΔE00; 0 answers by the truth.
    pub noise_de00: f64,
    /// Preferred departure in value, ΔL00: above 0 the lighter is liked.
    pub value_bias: f64,
    /// Weight of value against chroma and hue, 1 for equal.
    pub value_weight: f64,
    /// Share of answers given without looking, 0..1.
    pub lapse: f64,
}

impl Learner {
    /// Sees everything as it is.
    pub const IDEAL: Self =
        Self { noise_de00: 0.0, value_bias: 0.0, value_weight: 1.0, lapse: 0.0 };
}
