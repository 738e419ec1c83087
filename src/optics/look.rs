//! What one layer looks like over a backing, by either engine, with slopes for designs.

use crate::optics::Interface;
use crate::optics::medium::transport_scattering;
use crate::optics::sensitivity::{LayerSlopes, Slope};
use crate::optics::transport::TopLayer;
use crate::optics::transport::modes::TOP;
use crate::optics::transport::table::{Depth, Table};

/// The engine that says what a piece looks like.
#[derive(Debug, Clone, Copy)]
pub enum Look<'a> {
    /// Kubelka-Munk with a surface.
    TwoFlux(Interface),
    /// Radiative transfer by a table of top layers.
    Transport(&'a Table<TOP>),
}

/// A layer of two-flux coefficients as one engine sees it.
#[expect(clippy::large_enum_variant, reason = "lives on the stack of the innermost loop")]
#[derive(Clone, Copy)]
pub(super) enum LookedLayer {
    TwoFlux(Interface, LayerSlopes),
    /// Numbers of the layer and their slopes by K and S.
    Transport(TopLayer, [[f64; TOP]; 2]),
}

impl Look<'_> {
    pub(super) fn layer(self, k: f64, s: f64, thickness_mm: f64) -> LookedLayer {
        match self {
            Self::TwoFlux(interface) => {
                LookedLayer::TwoFlux(interface, LayerSlopes::new(k, s, thickness_mm))
            }
            Self::Transport(table) => {
                let depth =
                    Depth::new(transport_scattering(s, k) * thickness_mm, 0.5 * k * thickness_mm);
                let (value, by_p, by_q) = table.at_with_slopes(&depth);
                let by_k = std::array::from_fn(|i| thickness_mm * (0.5 * by_q[i] + by_p[i] / 6.0));
                let by_s = std::array::from_fn(|i| thickness_mm * by_p[i] * 4.0 / 3.0);
                LookedLayer::Transport(TopLayer(value), [by_k, by_s])
            }
        }
    }
}

impl LookedLayer {
    /// Measured reflectance over a Lambertian backing in optical contact, specular excluded.
    pub fn over(&self, backing: f64) -> Slope {
        match self {
            Self::TwoFlux(interface, layer) => {
                let internal = layer.over(backing);
                let open = 1.0 - interface.k2 * internal.value;
                let gain = (1.0 - interface.k1) * (1.0 - interface.k2) / (open * open);
                Slope {
                    value: interface.excluded(internal.value),
                    by_k: gain * internal.by_k,
                    by_s: gain * internal.by_s,
                }
            }
            Self::Transport(layer, slopes) => {
                let (value, [by_k, by_s]) = layer.over_lambertian(backing, slopes);
                Slope { value, by_k, by_s }
            }
        }
    }
}
