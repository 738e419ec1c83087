//! The exact-colour camera and the image it draws into.

use crate::anatomy::View;
use bevy::camera::visibility::RenderLayers;
use bevy::camera::{Exposure, Hdr, ImageRenderTarget, RenderTarget};
use bevy::core_pipeline::tonemapping::{DebandDither, Tonemapping};
use bevy::prelude::*;
use bevy::render::render_resource::{TextureFormat, TextureUsages};

/// Pictures live on a layer of their own, so no window's camera sees their parts.
pub(crate) const PICTURE_LAYER: usize = 19;

/// The dark of the mouth, sRGB. Alpha 0 marks pixels that nothing was drawn on.
const MOUTH: Color = Color::srgba(9.0 / 255.0, 5.0 / 255.0, 5.0 / 255.0, 0.0);

/// A half-float image in linear light that can be drawn into and read back.
pub(crate) fn image_target(width: u32, height: u32) -> Image {
    let mut image = Image::new_target_texture(width, height, TextureFormat::Rgba16Float, None);
    image.texture_descriptor.usage |= TextureUsages::COPY_SRC;
    // The camera clears it: no zeros need to be handed to the adapter.
    image.data = None;
    image
}

/// A camera that adds nothing to colour: no tone mapping, no dither, exposure 1.
pub(crate) fn picture_camera(view: &View, target: Handle<Image>) -> impl Bundle {
    let eye = Vec3::from(view.eye_mm);
    (
        Camera3d::default(),
        Camera {
            // Before any window's camera.
            order: -10,
            clear_color: ClearColorConfig::Custom(MOUTH),
            ..default()
        },
        RenderTarget::Image(ImageRenderTarget { handle: target, scale_factor: 1.0 }),
        Projection::Perspective(PerspectiveProjection {
            fov: view.vertical_field,
            aspect_ratio: view.width as f32 / view.height as f32,
            near: 20.0,
            far: 500.0,
            ..default()
        }),
        Transform::from_translation(eye).looking_at(Vec3::from(view.target_mm), Vec3::Y),
        // Named, because a new target's own format is not known in the first frame, and pictures
        // are drawn in one.
        Hdr,
        Tonemapping::None,
        DebandDither::Disabled,
        // Bevy divides by 1.2 · 2^ev100; this makes the divisor exactly 1.
        Exposure { ev100: -1.2_f32.log2() },
        Msaa::Sample4,
        RenderLayers::layer(PICTURE_LAYER),
    )
}
