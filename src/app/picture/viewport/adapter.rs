//! The choice of a graphics adapter, off screen and for a window.
//!
//! OpenGL through EGL is bound to a display when its instance is made: one made without draws off
//! screen only and offers a window no format to draw in. Bevy makes its instance without, so for a
//! window on OpenGL instance, adapter and device are made here, with the display that the window
//! will be on.

use crate::app::picture::viewport::error::RendererError;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::renderer::{
    RenderAdapter, RenderAdapterInfo, RenderDevice, RenderInstance, RenderQueue, WgpuWrapper,
};
use bevy::render::settings::{
    Backends, RenderCreation, WgpuLimits, WgpuSettings, WgpuSettingsPriority,
};
use bevy::tasks::block_on;
use bevy::winit::DisplayHandleWrapper;
use std::sync::Arc;
use wgpu::{Adapter, Instance, InstanceDescriptor, RequestAdapterOptions};

/// Settings for the best adapter that draws off screen: anything but OpenGL first, then OpenGL with
/// the limits of WebGL 2, without which Bevy's 3D fails on it. `WGPU_BACKEND` narrows the choice.
///
/// # Errors
/// [`RendererError::NoAdapter`] when there is none.
pub fn renderer_settings() -> Result<WgpuSettings, RendererError> {
    let allowed = allowed();
    if let Some(settings) = modern_settings(allowed) {
        return Ok(settings);
    }
    let gl = gl_settings(allowed);
    let (_, adapter) = adapter_of(&gl, InstanceDescriptor::new_without_display_handle())
        .ok_or_else(|| no_adapter(allowed))?;
    Ok(WgpuSettings { limits: gl.limits.using_resolution(adapter.limits()), ..gl })
}

/// The renderer for a window on this display, chosen as [`renderer_settings`] says.
fn window_renderer(display: &DisplayHandleWrapper) -> Result<RenderCreation, RendererError> {
    let allowed = allowed();
    if let Some(settings) = modern_settings(allowed) {
        return Ok(settings.into());
    }
    let gl = gl_settings(allowed);
    let on = InstanceDescriptor::new_with_display_handle(Box::new(display.0.clone()));
    let (instance, adapter) = adapter_of(&gl, on).ok_or_else(|| no_adapter(allowed))?;
    let (device, queue) = block_on(adapter.request_device(&wgpu::DeviceDescriptor {
        required_features: gl.features & adapter.features(),
        // Those of WebGL 2 end at 2048 pixels, which many a window exceeds.
        required_limits: gl.limits.using_resolution(adapter.limits()),
        memory_hints: gl.memory_hints,
        ..default()
    }))
    .map_err(|error| RendererError::Device(error.to_string()))?;
    Ok(RenderCreation::manual(
        RenderDevice::from(device),
        RenderQueue(Arc::new(WgpuWrapper::new(queue))),
        RenderAdapterInfo(WgpuWrapper::new(adapter.get_info())),
        RenderAdapter(Arc::new(WgpuWrapper::new(adapter))),
        RenderInstance(Arc::new(WgpuWrapper::new(instance))),
    ))
}

/// Stands in for [`RenderPlugin`] where there is a window, and is added after the plugin that knows
/// its display. Without an adapter the app is built without a renderer, and [`NoRenderer`] says why.
#[derive(Debug, Default)]
pub(crate) struct WindowRenderer;

/// Why there is no renderer.
#[derive(Resource, Debug)]
pub(crate) struct NoRenderer(pub(crate) RendererError);

impl Plugin for WindowRenderer {
    fn build(&self, app: &mut App) {
        let chosen = app.world().get_resource::<DisplayHandleWrapper>().map_or_else(
            || Err(RendererError::NoAdapter { tried: "no display".to_owned() }),
            window_renderer,
        );
        let render_creation = chosen.unwrap_or_else(|error| {
            app.insert_resource(NoRenderer(error));
            WgpuSettings { backends: None, ..default() }.into()
        });
        // A pipeline compiled during an exposure would cost frames.
        let plugin =
            RenderPlugin { render_creation, synchronous_pipeline_compilation: true, ..default() };
        app.add_plugins(plugin);
    }
}

/// What may be tried on this platform.
fn allowed() -> Backends {
    Backends::from_env().unwrap_or(Backends::all()) & Instance::enabled_backend_features()
}

fn modern_settings(allowed: Backends) -> Option<WgpuSettings> {
    let modern = WgpuSettings { backends: Some(allowed.difference(Backends::GL)), ..default() };
    adapter_of(&modern, InstanceDescriptor::new_without_display_handle()).map(|_| modern)
}

fn gl_settings(allowed: Backends) -> WgpuSettings {
    WgpuSettings {
        backends: Some(allowed & Backends::GL),
        priority: WgpuSettingsPriority::WebGL2,
        limits: WgpuLimits::downlevel_webgl2_defaults(),
        ..default()
    }
}

/// An adapter of the backends in `settings`, on an instance made as `on` says.
fn adapter_of(settings: &WgpuSettings, mut on: InstanceDescriptor) -> Option<(Instance, Adapter)> {
    on.backends = settings.backends.filter(|backends| !backends.is_empty())?;
    on.flags = settings.instance_flags;
    on.backend_options.gl.gles_minor_version = settings.gles3_minor_version;
    let instance = Instance::new(on);
    let options =
        RequestAdapterOptions { power_preference: settings.power_preference, ..default() };
    let adapter = block_on(instance.request_adapter(&options)).ok()?;
    Some((instance, adapter))
}

fn no_adapter(allowed: Backends) -> RendererError {
    RendererError::NoAdapter { tried: in_words(allowed) }
}

/// The names of these interfaces as people write them.
fn in_words(backends: Backends) -> String {
    let name = |backend| match backend {
        Backends::VULKAN => Some("Vulkan"),
        Backends::METAL => Some("Metal"),
        Backends::DX12 => Some("Direct3D 12"),
        Backends::GL => Some("OpenGL"),
        _ => None,
    };
    let named: Vec<&str> = backends.iter().filter_map(name).collect();
    if named.is_empty() {
        "nothing: WGPU_BACKEND allows none of this system".to_owned()
    } else {
        named.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_interfaces_of_this_platform_are_named() {
        let tried = in_words(allowed());
        // Without WGPU_BACKEND, which narrows them.
        if cfg!(target_os = "linux") && Backends::from_env().is_none() {
            assert_eq!(tried, "Vulkan, OpenGL");
        }
        assert_eq!(in_words(Backends::all() & Backends::METAL), "Metal");
        assert!(in_words(Backends::empty()).contains("WGPU_BACKEND"));
        assert!(in_words(Backends::NOOP).contains("WGPU_BACKEND"));
    }
}
