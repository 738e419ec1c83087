//! Which layer of a stack is responsible for what.
//!
//! Two views, both exact. *Returned*: the light that comes back from no deeper than a layer, less
//! that from no deeper than the layer above; these shares add up to the whole spectrum. *Build-up*:
//! the colour as layers are laid on the base one by one; the steps add up to the final colour.

use crate::colorimetry::{Illuminant, Lab, Lch, Observer};
use crate::optics::Layer;
use crate::optics::transport::{Base, Tables, tabulated_reflectance};
use crate::spectrum::Spectrum;

/// One layer's part, or the base's.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerPart {
    /// Light returned from this layer, per unit of incident light at each band. Negative where the
    /// layer makes what lies above look darker, which only an interface can.
    pub returned: Spectrum,
    /// That light's share of the luminance Y of all returned light, 0..1.
    pub luminance_share: f64,
    /// Colour with this layer and all below it in place, none above.
    pub colour: Lch,
    /// Change of colour when this layer is laid on what is below: ΔL*, ΔC* and Δh in degrees, −180
    /// to 180. The base counts from black, with Δh 0.
    pub change: [f64; 3],
}

/// A stack taken apart. Parts from the viewer's side, the base last.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// Layers from the viewer's side, then the base.
    pub parts: Vec<LayerPart>,
    /// Measured reflectance of the whole, specular excluded.
    pub reflectance: Spectrum,
    /// Its colour.
    pub colour: Lch,
}

/// Takes a stack apart. `layers` from the viewer's side; the base is whatever lies below.
///
/// Colours are CIELAB under `illuminant` and the 2° observer. The base alone is seen through a
/// surface of the joint's index, as a polished cut through it would be.
#[must_use]
pub fn explain(
    tables: &Tables,
    layers: &[Layer],
    base: Base,
    joint: f64,
    illuminant: Illuminant,
) -> Explanation {
    let seen = |layers: &[Layer], base: Base| match (layers, base) {
        ([], Base::Backing(backing)) => {
            let surface = crate::optics::Interface::between_air_and(joint);
            backing.map(|r| surface.excluded(r))
        }
        ([], Base::Mouth(layer, mouth)) => {
            let dark = Spectrum::constant(mouth);
            tabulated_reflectance(tables, &[layer], Base::Backing(&dark), joint)
        }
        _ => tabulated_reflectance(tables, layers, base, joint),
    };
    let colour = |r: &Spectrum| Lch::from(Lab::from_reflectance(r, illuminant, Observer::Cie1931));
    let luminance = |r: &Spectrum| crate::colorimetry::xyz(r, illuminant, Observer::Cie1931).y;
    let black = Spectrum::constant(0.0);
    let reflectance = seen(layers, base);
    let total = luminance(&reflectance);
    let mut parts = Vec::with_capacity(layers.len() + 1);
    let mut above = black;
    for i in 0..=layers.len() {
        let down_to_here = if i == layers.len() {
            reflectance
        } else {
            seen(&layers[..=i], Base::Backing(&black))
        };
        let returned = down_to_here - above;
        above = down_to_here;
        let here = colour(&seen(&layers[i..], base));
        let change = if i == layers.len() {
            [here.l, here.c, 0.0]
        } else {
            let below = colour(&seen(&layers[i + 1..], base));
            let turn = (here.h - below.h + 540.0).rem_euclid(360.0) - 180.0;
            [here.l - below.l, here.c - below.c, turn]
        };
        parts.push(LayerPart {
            luminance_share: luminance(&returned) / total,
            returned,
            colour: here,
            change,
        });
    }
    Explanation { colour: colour(&reflectance), parts, reflectance }
}
