//! Baked maps and relief as GPU images, and the materials that show them.

use crate::anatomy::{ByteMap, TintMap};
use crate::app::picture::viewport::request::Lighting;
use crate::bake::ReflectanceMap;
use bevy::asset::RenderAssetUsages;
use bevy::image::{ImageAddressMode, ImageSampler, ImageSamplerDescriptor};
use bevy::prelude::*;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use half::f16;
use palette::{FromColor, IntoColor, Lab, LinSrgb, Srgb};
use rayon::prelude::*;

/// A baked map in linear light. Half floats keep eleven bits, so an 8-bit picture loses nothing.
pub(crate) fn reflectance_image(map: &ReflectanceMap) -> Image {
    let data = map
        .texels
        .iter()
        .flat_map(|&[r, g, b]| [r, g, b, 1.0])
        .flat_map(|value| f16::from_f32(value).to_le_bytes())
        .collect();
    flat_image(map.width, map.height, data, TextureFormat::Rgba16Float)
}

/// A map of plain numbers, not colours.
pub(crate) fn data_image(map: &ByteMap) -> Image {
    flat_image(map.width, map.height, map.bytes.clone(), TextureFormat::Rgba8Unorm)
}

/// A soft surface's colour: means (linear sRGB) mixed and tinted.
pub(crate) fn tinted_image(means: [[f32; 3]; 2], tint: &TintMap) -> Image {
    let [first, second]: [Lab; 2] = means.map(|mean| LinSrgb::from(mean).into_color());
    let data = tint
        .offsets
        .par_iter()
        .flat_map_iter(|&[l, a, b, share]| {
            let mixed = |x: f32, y: f32| x + (y - x) * share;
            let color = Srgb::from_color(Lab::new(
                mixed(first.l, second.l) + l,
                mixed(first.a, second.a) + a,
                mixed(first.b, second.b) + b,
            ));
            let bytes = color.into_format::<u8>();
            [bytes.red, bytes.green, bytes.blue, 255]
        })
        .collect();
    flat_image(tint.width, tint.height, data, TextureFormat::Rgba8UnormSrgb)
}

fn flat_image(width: usize, height: usize, data: Vec<u8>, format: TextureFormat) -> Image {
    let size = Extent3d { width: width as u32, height: height as u32, depth_or_array_layers: 1 };
    let mut image =
        Image::new(size, TextureDimension::D2, data, format, RenderAssetUsages::RENDER_WORLD);
    // Named here, so that the app's default sampler does not matter.
    image.sampler = ImageSampler::Descriptor(ImageSamplerDescriptor {
        address_mode_u: ImageAddressMode::ClampToEdge,
        address_mode_v: ImageAddressMode::ClampToEdge,
        ..ImageSamplerDescriptor::linear()
    });
    image
}

/// What a surface looks like beside its colour.
pub(crate) struct Finish {
    /// Relief.
    pub normals: Handle<Image>,
    /// Perceptual roughness.
    pub gloss: Handle<Image>,
    /// Reflectance parameter.
    pub reflectance: f32,
    /// Whether it is drawn after the teeth: where gum and tooth are equally deep, the order would
    /// otherwise decide, and it may change from picture to picture.
    pub after_teeth: bool,
}

/// The material of a surface under a lighting.
pub(crate) fn surface_material(
    color: Handle<Image>,
    finish: &Finish,
    lighting: Lighting,
) -> StandardMaterial {
    let matt = StandardMaterial {
        base_color_texture: Some(color),
        perceptual_roughness: 1.0,
        metallic: 0.0,
        // No gloss: what is not reflected at the surface is all there to be diffused.
        reflectance: 0.0,
        // Nothing is cut out; this phase only comes later.
        alpha_mode: if finish.after_teeth { AlphaMode::Mask(0.0) } else { AlphaMode::Opaque },
        ..default()
    };
    match lighting {
        Lighting::Matt => matt,
        Lighting::Studio => StandardMaterial {
            // The map carries the value.
            perceptual_roughness: 1.0,
            metallic_roughness_texture: Some(finish.gloss.clone()),
            normal_map_texture: Some(finish.normals.clone()),
            reflectance: finish.reflectance,
            ..matt
        },
    }
}
