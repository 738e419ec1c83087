//! Draws an interface to pixels without a graphics adapter: egui's triangles, filled one by one.

use bevy_egui::egui::{self, Color32, ImageData, Rect, TextureId, Ui, epaint::Primitive, vec2};

/// A texture that grows with what egui asks for.
#[derive(Default)]
struct Atlas {
    width: usize,
    height: usize,
    texels: Vec<Color32>,
}

impl Atlas {
    fn take(&mut self, delta: &egui::epaint::ImageDelta) {
        let ImageData::Color(image) = &delta.image;
        let [x, y] = delta.pos.unwrap_or([0, 0]);
        if delta.pos.is_none() {
            (self.width, self.height) = (image.size[0], image.size[1]);
            self.texels = vec![Color32::TRANSPARENT; self.width * self.height];
        }
        for row in 0..image.size[1] {
            for column in 0..image.size[0] {
                self.texels[(y + row) * self.width + x + column] =
                    image.pixels[row * image.size[0] + column];
            }
        }
    }

    /// Bilinear, premultiplied, 0..255.
    fn at(&self, u: f32, v: f32) -> [f32; 4] {
        let (x, y) = (u * self.width as f32 - 0.5, v * self.height as f32 - 0.5);
        let (column, row) = (x.floor(), y.floor());
        let (tx, ty) = (x - column, y - row);
        let texel = |dx: f32, dy: f32| {
            let held = |at: f32, n: usize| (at.max(0.0) as usize).min(n.saturating_sub(1));
            let i = held(row + dy, self.height) * self.width + held(column + dx, self.width);
            self.texels.get(i).map_or([0.0; 4], |c| c.to_array().map(f32::from))
        };
        let [a, b, c, d] = [texel(0.0, 0.0), texel(1.0, 0.0), texel(0.0, 1.0), texel(1.0, 1.0)];
        std::array::from_fn(|i| {
            let top = a[i] + tx * (b[i] - a[i]);
            top + ty * (c[i] + tx * (d[i] - c[i]) - top)
        })
    }
}

/// RGBA of `size` pixels of what `draw` puts into a window, one pixel a point.
pub fn picture(size: [u32; 2], mut draw: impl FnMut(&mut Ui)) -> Vec<u8> {
    let ctx = egui::Context::default();
    let window = Rect::from_min_size(egui::Pos2::ZERO, vec2(size[0] as f32, size[1] as f32));
    let mut atlas = Atlas::default();
    let mut pixels = vec![[119.0_f32; 3]; (size[0] * size[1]) as usize];
    // Layout settles in the second pass.
    for pass in 0..2 {
        let input = egui::RawInput { screen_rect: Some(window), ..egui::RawInput::default() };
        let mut output = ctx.run_ui(input, |ui| draw(ui));
        if let Some(deltas) = output.textures_delta.set.get(&TextureId::default()) {
            deltas.iter().for_each(|delta| atlas.take(delta));
        }
        output.textures_delta.clear();
        if pass == 0 {
            continue;
        }
        for clipped in ctx.tessellate(output.shapes, 1.0) {
            let Primitive::Mesh(mesh) = &clipped.primitive else { continue };
            for triangle in mesh.indices.chunks_exact(3) {
                let corners = [0, 1, 2].map(|i| mesh.vertices[triangle[i] as usize]);
                fill(&mut pixels, size, clipped.clip_rect, &corners, &atlas);
            }
        }
    }
    let byte = |v: f32| v.round().clamp(0.0, 255.0) as u8;
    pixels.iter().flat_map(|[r, g, b]| [byte(*r), byte(*g), byte(*b), 255]).collect()
}

fn fill(
    pixels: &mut [[f32; 3]],
    size: [u32; 2],
    clip: Rect,
    corners: &[egui::epaint::Vertex; 3],
    atlas: &Atlas,
) {
    let [a, b, c] = corners.map(|corner| corner.pos);
    let area = (b - a).x * (c - a).y - (b - a).y * (c - a).x;
    if area.abs() < 1e-9 {
        return;
    }
    let bounds = Rect::from_points(&[a, b, c]).intersect(clip);
    let range = |low: f32, high: f32, most: u32| {
        let from = (low - 0.5).ceil().max(0.0) as u32;
        from..((high - 0.5).floor() + 1.0).clamp(0.0, most as f32) as u32
    };
    for y in range(bounds.min.y, bounds.max.y, size[1]) {
        for x in range(bounds.min.x, bounds.max.x, size[0]) {
            let p = egui::pos2(x as f32 + 0.5, y as f32 + 0.5);
            let side = |from: egui::Pos2, to: egui::Pos2| {
                ((to - from).x * (p - from).y - (to - from).y * (p - from).x) / area
            };
            let weights = [side(b, c), side(c, a), side(a, b)];
            // An edge belongs to one of its triangles only.
            let edge = |w: f32, from: egui::Pos2, to: egui::Pos2| {
                let along = if area > 0.0 { to - from } else { from - to };
                w > 0.0 || (w == 0.0 && (along.y < 0.0 || (along.y == 0.0 && along.x > 0.0)))
            };
            if !(edge(weights[0], b, c) && edge(weights[1], c, a) && edge(weights[2], a, b)) {
                continue;
            }
            let mix = |of: fn(&egui::epaint::Vertex) -> f32| {
                corners.iter().zip(weights).map(|(corner, w)| w * of(corner)).sum::<f32>()
            };
            let texel = atlas.at(mix(|v| v.uv.x), mix(|v| v.uv.y));
            let tint = [
                mix(|v| f32::from(v.color.r())),
                mix(|v| f32::from(v.color.g())),
                mix(|v| f32::from(v.color.b())),
                mix(|v| f32::from(v.color.a())),
            ];
            let alpha = texel[3] * tint[3] / (255.0 * 255.0);
            let pixel = &mut pixels[(y * size[0] + x) as usize];
            for channel in 0..3 {
                let source = texel[channel] * tint[channel] / 255.0;
                pixel[channel] = source + pixel[channel] * (1.0 - alpha);
            }
        }
    }
}
