//! The whole program drawing into an image instead of a window, frame by frame, with its pixels at
//! hand.

use crate::app::AppPlugin;
use crate::app::ScreensPlugin;
use crate::app::cli::launch::window_camera;
use crate::app::picture::source::ViewportSource;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::offscreen::{make_ready, windowless_app};
use crate::app::picture::viewport::order::WindowCamera;
use crate::app::picture::viewport::pixels::copy_of;
use crate::play::content::{ActiveContent, Content};
use crate::play::picture::Picture;
use crate::play::records::{Records, RecordsError};
use bevy::asset::RenderAssetUsages;
use bevy::camera::RenderTarget;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::prelude::*;
use bevy::render::RenderApp;
use bevy::render::render_asset::RenderAssets;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat, TextureUsages};
use bevy::render::renderer::{RenderAdapterInfo, RenderDevice, RenderQueue};
use bevy::render::texture::GpuImage;
use bevy_egui::{EguiGlobalSettings, EguiPlugin, PrimaryEguiContext};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Refreshes of the display that frames wait for, where they do: 60 a second.
pub(crate) const REFRESH: Duration = Duration::from_nanos(16_666_667);

/// Why there is no such window.
#[derive(Debug, thiserror::Error)]
pub(crate) enum UnshownError {
    #[error(transparent)]
    Renderer(#[from] RendererError),
    #[error(transparent)]
    Records(#[from] RecordsError),
}

/// The refresh at which the latest frame is seen and the next can be drawn; `None` where frames follow
/// each other at once.
#[derive(Resource, Default)]
struct NextRefresh(Option<Instant>);

/// A window's frame waits here for the display, as a window that keeps one frame in waiting does: keys
/// have been read by then, and nothing of it is drawn.
fn wait_for_display(next: Res<NextRefresh>, windows: Query<&Camera, With<WindowCamera>>) {
    if let Some(due) = next.0.filter(|_| windows.iter().any(|camera| camera.is_active)) {
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
    }
}

/// The program in a window that is not shown.
pub(crate) struct Unshown {
    pub(crate) app: App,
    target: Handle<Image>,
}

impl Unshown {
    /// The program as it starts, in a window of this size.
    pub(crate) fn open(
        (width, height): (u32, u32),
        content: Arc<dyn Content>,
        results: &Path,
    ) -> Result<Self, UnshownError> {
        let mut app = windowless_app()?;
        app.add_plugins((EguiPlugin::default(), AppPlugin, ScreensPlugin, ViewportSource))
            .insert_resource(ActiveContent(content))
            .insert_resource(Records::open(Some(results))?)
            .init_resource::<NextRefresh>()
            .add_systems(Last, wait_for_display);
        app.world_mut().resource_mut::<EguiGlobalSettings>().auto_create_primary_context = false;
        let mut image = Image::new_fill(
            Extent3d { width, height, depth_or_array_layers: 1 },
            TextureDimension::D2,
            &[0; 4],
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::default(),
        );
        image.texture_descriptor.usage |=
            TextureUsages::RENDER_ATTACHMENT | TextureUsages::COPY_SRC;
        let target = app.world_mut().resource_mut::<Assets<Image>>().add(image);
        let on = RenderTarget::Image(target.clone().into());
        app.world_mut().spawn((window_camera(), on, PrimaryEguiContext));
        make_ready(&mut app);
        Ok(Self { app, target })
    }

    /// Whether frames wait for the refreshes of a display from now on.
    pub(crate) fn wait_for_refresh(&mut self, waits: bool) {
        self.app.insert_resource(NextRefresh(waits.then(Instant::now)));
    }

    /// One frame, until the adapter has done it.
    pub(crate) fn frame(&mut self) {
        self.app.update();
        // An adapter that is lost shows when pixels are read.
        let _ = self.device().poll(wgpu::PollType::wait_indefinitely());
        let mut windows = self.app.world_mut().query_filtered::<&Camera, With<WindowCamera>>();
        let is_drawn = windows.iter(self.app.world()).any(|camera| camera.is_active);
        let mut next = self.app.world_mut().resource_mut::<NextRefresh>();
        if let Some(due) = next.0.as_mut().filter(|_| is_drawn) {
            let now = Instant::now();
            while *due < now {
                *due += REFRESH;
            }
        }
    }

    fn next_refresh(&self) -> Option<Instant> {
        self.app.world().resource::<NextRefresh>().0
    }

    /// When the frame just done can be seen: at the next refresh, or at once.
    pub(crate) fn seen_at(&self) -> Instant {
        self.next_refresh().unwrap_or_else(Instant::now)
    }

    /// A key goes down and up before the next frame begins: a `phase` (0..1) of a refresh before it, or
    /// now. Returns when.
    pub(crate) fn press(&mut self, key_code: KeyCode, logical_key: &Key, phase: f64) -> Instant {
        for state in [ButtonState::Pressed, ButtonState::Released] {
            self.app.world_mut().write_message(KeyboardInput {
                key_code,
                logical_key: logical_key.clone(),
                state,
                text: None,
                repeat: false,
                window: Entity::PLACEHOLDER,
            });
        }
        let waited = self.next_refresh().map_or(Duration::ZERO, |_| REFRESH.mul_f64(phase));
        Instant::now() - waited
    }

    fn device(&self) -> &RenderDevice {
        self.app.world().resource::<RenderDevice>()
    }

    /// The adapter in words.
    pub(crate) fn adapter(&self) -> String {
        let info = self.app.world().resource::<RenderAdapterInfo>();
        format!("{} ({:?}, {})", info.name, info.device_type, info.backend)
    }

    /// The window's pixels as the latest frame left them, four bytes each; nothing is drawn for it.
    pub(crate) fn pixels(&self) -> Option<Vec<u8>> {
        let images = self.app.sub_app(RenderApp).world().resource::<RenderAssets<GpuImage>>();
        let image = images.get(&self.target)?;
        let row = 4 * image.texture_descriptor.size.width as usize;
        let device = self.device();
        let queue = self.app.world().resource::<RenderQueue>();
        let (buffer, stride, _) = copy_of(image, 4, None, device, queue);
        buffer.slice(..).map_async(wgpu::MapMode::Read, |_| {});
        device.poll(wgpu::PollType::wait_indefinitely()).ok()?;
        let data = buffer.slice(..).get_mapped_range();
        Some(data.chunks_exact(stride).flat_map(|line| &line[..row]).copied().collect())
    }
}

/// Whether a window (`pixels`, as wide as the pictures) shows `new` and no longer `old`: where the two
/// differ, nearly all pixels must be those of `new`. Rows that show neither, such as those under a
/// panel, do not count. Where nothing differs, either will do.
pub(crate) fn shows(pixels: &[u8], new: &Picture, old: Option<&Picture>) -> bool {
    let row = 4 * new.width as usize;
    if old == Some(new) || row == 0 {
        return old == Some(new);
    }
    let old = old.filter(|old| (old.width, old.height) == (new.width, new.height)).unwrap_or(new);
    let rows = || new.rgba.chunks_exact(row).zip(old.rgba.chunks_exact(row));
    let near = |a: &[u8], b: &[u8]| a.iter().zip(b).all(|(a, b)| a.abs_diff(*b) <= 1);
    let alike = |seen: &[u8], new: &[u8], old: &[u8]| {
        let all = seen.chunks_exact(4).zip(new.chunks_exact(4)).zip(old.chunks_exact(4));
        all.filter(|((seen, new), old)| near(seen, new) || near(seen, old)).count()
    };
    let is_row = |seen: &[u8], new: &[u8], old: &[u8]| 10 * alike(seen, new, old) >= 2 * row;
    // Where the picture's middle row, which is in view, lies in the window.
    let lines: Vec<&[u8]> = pixels.chunks_exact(row).collect();
    let middle = new.middle_row() as usize;
    let Some((new_middle, old_middle)) = rows().nth(middle) else { return false };
    let all = lines.iter().enumerate();
    let best = all.map(|(at, line)| (alike(line, new_middle, old_middle), at)).max();
    let Some((_, at)) = best.filter(|(alike, _)| 10 * alike >= 2 * row) else { return false };
    let (mut is_new, mut is_old) = (0_u32, 0_u32);
    for (index, (new, old)) in rows().enumerate() {
        let Some(line) = (at + index).checked_sub(middle).and_then(|y| lines.get(y)) else {
            continue;
        };
        if new == old || !is_row(line, new, old) {
            continue;
        }
        let all = line.chunks_exact(4).zip(new.chunks_exact(4)).zip(old.chunks_exact(4));
        for ((seen, new), old) in all.filter(|((_, new), old)| new != old) {
            let off = |from: &[u8]| -> u32 {
                seen.iter().zip(from).map(|(a, b)| u32::from(a.abs_diff(*b))).sum()
            };
            is_new += u32::from(off(new) < off(old));
            is_old += u32::from(off(old) < off(new));
        }
    }
    std::ptr::eq(old, new) || is_new > 20 * is_old
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(of: impl Fn(u32, u32) -> u8) -> Picture {
        let (width, height) = (40, 20);
        let rgba = (0..width * height)
            .flat_map(|k| {
                let (x, y) = (k % width, k / width);
                [of(x, y), (x * 3) as u8, (y * 11) as u8, 255]
            })
            .collect();
        Picture { width, height, rgba, ..Picture::default() }
    }

    #[test]
    fn the_new_picture_is_told_from_the_old_one_wherever_it_lies_and_is_covered() {
        let old = picture(|x, _| x as u8);
        let new = picture(|x, y| x as u8 + 5 * u8::from((8..14).contains(&x) && y > 5));
        // Six rows of grey above, and a panel over the last four rows.
        let window = |shown: &Picture| {
            let mut pixels = vec![119; 6 * 160];
            pixels.extend(&shown.rgba[..16 * 160]);
            pixels.extend(vec![40; 10 * 160]);
            pixels
        };
        assert!(shows(&window(&new), &new, Some(&old)));
        assert!(!shows(&window(&old), &new, Some(&old)));
        assert!(shows(&window(&old), &old, Some(&new)));
        assert!(!shows(&vec![119; 32 * 160], &new, Some(&old)));
        assert!(shows(&window(&new), &new, None) && !shows(&vec![119; 32 * 160], &new, None));
    }
}
