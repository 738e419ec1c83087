//! Where the lobes of a tooth lie.

use crate::random::{Purpose, StreamKey};
use crate::scene::Tooth;
use rand::RngExt;

/// Phase of the lobes of a tooth in a mouth of this seed, 0 to 2π.
pub(super) fn lobe_phase(seed: u64, tooth: Tooth) -> f64 {
    let key = StreamKey {
        form: "lobes",
        seed,
        purpose: Purpose::Scene,
        block: 0,
        trial: u32::from(tooth.number()),
    };
    key.stream().random_range(0.0..std::f64::consts::TAU)
}
