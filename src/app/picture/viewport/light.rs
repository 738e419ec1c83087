//! The two kinds of surroundings as environment maps.

use crate::anatomy::StudioLight;
use crate::app::picture::viewport::request::Lighting;
use crate::scene::Lamp;
use bevy::asset::RenderAssetUsages;
use bevy::image::ImageSampler;
use bevy::prelude::*;
use bevy::render::render_resource::{
    Extent3d, TextureDimension, TextureFormat, TextureViewDescriptor, TextureViewDimension,
};
use half::f16;
use rayon::prelude::*;

const SPECULAR_SIZE: usize = 128;
const SPECULAR_MIPS: usize = 7;
const DIFFUSE_SIZE: usize = 16;
/// Directions summed for the diffuse map.
const DIFFUSE_DIRECTIONS: usize = 6000;
/// Blur of the specular map at perceptual roughness r: this times r², radians.
const ROUGHNESS_BLUR: f32 = 0.9;

pub(crate) fn plugin(app: &mut App) {
    // No light beside the environment maps: ambient light would add to every surface.
    app.insert_resource(GlobalAmbientLight::NONE).add_systems(Startup, build_surroundings);
}

/// Environment maps of both kinds of lighting.
#[derive(Resource)]
pub(crate) struct Surroundings {
    /// Diffuse and specular map of each lamp.
    soft_boxes: [Handle<Image>; 2],
    ring: [Handle<Image>; 2],
    white: Handle<Image>,
    black: Handle<Image>,
}

impl Surroundings {
    /// The light to put on a camera.
    pub(crate) fn light(&self, lighting: Lighting, lamp: Lamp) -> EnvironmentMapLight {
        let (diffuse_map, specular_map) = match lighting {
            Lighting::Studio => {
                let [diffuse, specular] = match lamp {
                    Lamp::SoftBoxes => &self.soft_boxes,
                    Lamp::Ring => &self.ring,
                };
                (diffuse.clone(), specular.clone())
            }
            Lighting::Matt => (self.white.clone(), self.black.clone()),
        };
        EnvironmentMapLight { diffuse_map, specular_map, intensity: 1.0, ..default() }
    }
}

fn build_surroundings(mut commands: Commands, mut images: ResMut<Assets<Image>>) {
    let mut maps = |lamp: Lamp| {
        let light = StudioLight::of(lamp);
        [images.add(diffuse_cube(&light)), images.add(specular_cube(&light))]
    };
    let (soft_boxes, ring) = (maps(Lamp::SoftBoxes), maps(Lamp::Ring));
    commands.insert_resource(Surroundings {
        soft_boxes,
        ring,
        white: images.add(cube(1, 1, |_, _| [1.0; 3])),
        black: images.add(cube(1, 1, |_, _| [0.0; 3])),
    });
}

/// Irradiance over π for every normal: what a matt white surface shows.
fn diffuse_cube(light: &StudioLight) -> Image {
    let sources: Vec<(Vec3, Vec3)> = (0..DIFFUSE_DIRECTIONS)
        .map(|k| {
            let direction = spiral(k, DIFFUSE_DIRECTIONS);
            (direction, Vec3::from(light.radiance(direction.into(), 0.0)))
        })
        .collect();
    cube(DIFFUSE_SIZE, 1, |normal, _| {
        let sum: Vec3 = sources
            .iter()
            .map(|(direction, radiance)| *radiance * normal.dot(*direction).max(0.0))
            .sum();
        (sum * 4.0 / DIFFUSE_DIRECTIONS as f32).into()
    })
}

fn specular_cube(light: &StudioLight) -> Image {
    cube(SPECULAR_SIZE, SPECULAR_MIPS, |direction, mip| {
        let roughness = mip as f32 / (SPECULAR_MIPS - 1) as f32;
        light.radiance(direction.into(), ROUGHNESS_BLUR * roughness * roughness)
    })
}

/// Evenly spread unit directions.
fn spiral(k: usize, count: usize) -> Vec3 {
    let golden = std::f32::consts::PI * (3.0 - 5.0_f32.sqrt());
    let z = 1.0 - (2 * k + 1) as f32 / count as f32;
    let radius = (1.0 - z * z).sqrt();
    let (sin, cos) = (golden * k as f32).sin_cos();
    Vec3::new(radius * cos, radius * sin, z)
}

/// A cube map with mips; `value` gets the direction in the mouth and the mip level.
fn cube(size: usize, mips: usize, value: impl Fn(Vec3, usize) -> [f32; 3] + Sync) -> Image {
    let mut image = Image::new_uninit(
        Extent3d { width: size as u32, height: size as u32, depth_or_array_layers: 6 },
        TextureDimension::D2,
        TextureFormat::Rgba16Float,
        RenderAssetUsages::RENDER_WORLD,
    );
    image.texture_descriptor.mip_level_count = mips as u32;
    image.texture_view_descriptor =
        Some(TextureViewDescriptor { dimension: Some(TextureViewDimension::Cube), ..default() });
    image.sampler = ImageSampler::linear();
    let mut data = Vec::new();
    for face in 0..6 {
        for mip in 0..mips {
            let side = (size >> mip).max(1);
            let texels: Vec<u8> = (0..side * side)
                .into_par_iter()
                .flat_map_iter(|k| {
                    let at = |index: usize| 2.0 * (index as f32 + 0.5) / side as f32 - 1.0;
                    let direction = face_direction(face, at(k % side), at(k / side));
                    let [r, g, b] = value(direction, mip);
                    [r, g, b, 1.0].into_iter().flat_map(|value| f16::from_f32(value).to_le_bytes())
                })
                .collect();
            data.extend(texels);
        }
    }
    image.data = Some(data);
    image
}

/// The direction in the mouth at (u, v) of a cube face; cube maps are mirrored in z.
fn face_direction(face: usize, u: f32, v: f32) -> Vec3 {
    let cube = match face {
        0 => Vec3::new(1.0, -v, -u),
        1 => Vec3::new(-1.0, -v, u),
        2 => Vec3::new(u, 1.0, v),
        3 => Vec3::new(u, -1.0, -v),
        4 => Vec3::new(u, -v, 1.0),
        _ => Vec3::new(-u, -v, -1.0),
    };
    let cube = cube.normalize();
    Vec3::new(cube.x, cube.y, -cube.z)
}
