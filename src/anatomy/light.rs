//! The studio: soft boxes in a dim room, as radiance over direction.

/// What a matt white surface facing the viewer sends back, relative to its reflectance, before
/// gloss and occlusion.
///
/// Slightly above 1: occlusion takes some light back and gloss adds a little, so that the middle
/// of a tooth ends near its computed colour. The rendered factor is tested.
pub const STUDIO_FACING_IRRADIANCE: f32 = 1.05;

use crate::scene::Lamp;

/// One soft box. Angles in degrees, seen from the mouth; azimuth is positive to the viewer's
/// right.
struct SoftBox {
    azimuth: f32,
    elevation: f32,
    half_width: f32,
    half_height: f32,
    radiance: [f32; 3],
}

/// Two tall boxes at camera height put highlights on the line angles; one above and a faint one
/// below fill in.
const BOXES: [SoftBox; 4] = [
    SoftBox {
        azimuth: -40.0,
        elevation: 17.0,
        half_width: 12.0,
        half_height: 19.0,
        radiance: [7.2, 7.0, 6.7],
    },
    SoftBox {
        azimuth: 44.0,
        elevation: 13.0,
        half_width: 10.0,
        half_height: 18.0,
        radiance: [4.45, 4.6, 4.8],
    },
    SoftBox {
        azimuth: 0.0,
        elevation: 66.0,
        half_width: 50.0,
        half_height: 9.0,
        radiance: [1.6, 1.6, 1.6],
    },
    SoftBox {
        azimuth: 0.0,
        elevation: -38.0,
        half_width: 40.0,
        half_height: 9.0,
        radiance: [0.60, 0.54, 0.52],
    },
];

/// The ring light: angles from the line of sight, degrees.
const RING_RADIUS: f32 = 19.0;
const RING_HALF_WIDTH: f32 = 4.5;
const RING_RADIANCE: f32 = 8.0;

/// Radiance of the room below and above.
const AMBIENT: [f32; 2] = [0.20, 0.42];
/// Smallest blur of the boxes' edges, degrees.
const EDGE_SIGMA_DEGREES: f32 = 2.5;

/// The studio's radiance, scaled so that a matt surface facing the viewer gets
/// [`STUDIO_FACING_IRRADIANCE`] in each channel: the light as a whole is neutral.
#[derive(Debug, Clone)]
pub struct StudioLight {
    lamp: Lamp,
    scale: [f32; 3],
}

impl Default for StudioLight {
    fn default() -> Self {
        Self::of(Lamp::default())
    }
}

impl StudioLight {
    /// The studio with a lamp.
    #[must_use]
    pub fn of(lamp: Lamp) -> Self {
        let count = 8000;
        let mut sum = [0.0_f64; 3];
        for direction in sphere(count) {
            let cosine = direction[2].max(0.0);
            for (total, value) in sum.iter_mut().zip(unscaled(lamp, direction, 0.0)) {
                *total += f64::from(value * cosine);
            }
        }
        // E/π = (4π/n)·Σ L·cosθ / π.
        let facing = sum.map(|total| (4.0 * total / count as f64) as f32);
        Self { lamp, scale: facing.map(|value| STUDIO_FACING_IRRADIANCE / value) }
    }

    /// Radiance from a unit direction (pointing away from the mouth), per linear sRGB channel,
    /// with the boxes blurred by `blur` radians.
    #[must_use]
    pub fn radiance(&self, direction: [f32; 3], blur: f32) -> [f32; 3] {
        let mut value = unscaled(self.lamp, direction, blur);
        for (channel, scale) in value.iter_mut().zip(self.scale) {
            *channel *= scale;
        }
        value
    }
}

/// Evenly spread unit directions (a golden-angle spiral).
pub(super) fn sphere(count: usize) -> impl Iterator<Item = [f32; 3]> {
    let golden = std::f32::consts::PI * (3.0 - 5.0_f32.sqrt());
    (0..count).map(move |k| {
        let z = 1.0 - (2 * k + 1) as f32 / count as f32;
        let radius = (1.0 - z * z).sqrt();
        let (sin, cos) = (golden * k as f32).sin_cos();
        [radius * cos, radius * sin, z]
    })
}

fn unscaled(lamp: Lamp, [x, y, z]: [f32; 3], blur: f32) -> [f32; 3] {
    let azimuth = x.atan2(z).to_degrees();
    let elevation = y.clamp(-1.0, 1.0).asin().to_degrees();
    let sigma = EDGE_SIGMA_DEGREES.hypot(blur.to_degrees());
    let room = AMBIENT[0] + (AMBIENT[1] - AMBIENT[0]) * (0.5 + 0.5 * y);
    let mut radiance = [room; 3];
    let boxes = match lamp {
        Lamp::SoftBoxes => &BOXES[..],
        Lamp::Ring => {
            // A thin ring round the lens, and the fill from above and below.
            let from_axis = z.clamp(-1.0, 1.0).acos().to_degrees();
            let weight = blurred_box(from_axis - RING_RADIUS, RING_HALF_WIDTH, sigma.min(9.0))
                / (sigma / EDGE_SIGMA_DEGREES).clamp(1.0, 3.0).sqrt();
            for value in &mut radiance {
                *value += weight * RING_RADIANCE;
            }
            &BOXES[2..]
        }
    };
    for soft_box in boxes {
        let weight = blurred_box(azimuth - soft_box.azimuth, soft_box.half_width, sigma)
            * blurred_box(elevation - soft_box.elevation, soft_box.half_height, sigma);
        for (channel, value) in radiance.iter_mut().zip(soft_box.radiance) {
            *channel += weight * value;
        }
    }
    // Behind the teeth lies the mouth.
    let front = super::noise::smooth_step(-0.45, -0.05, z);
    radiance.map(|value| value * (0.02 + 0.98 * front))
}

/// A box of half width `half` convolved with a Gaussian.
fn blurred_box(x: f32, half: f32, sigma: f32) -> f32 {
    let scale = 1.0 / (sigma * std::f32::consts::SQRT_2);
    0.5 * (error_function((x + half) * scale) - error_function((x - half) * scale))
}

/// The error function within 0.0004: light edges need no more.
fn error_function(x: f32) -> f32 {
    (std::f32::consts::FRAC_2_SQRT_PI * x + 0.100_9 * x * x * x).tanh()
}
