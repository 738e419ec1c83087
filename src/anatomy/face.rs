//! Lips and skin around a smiling mouth: two sheets, above and below the opening.

use super::kind::Person;
use super::noise::{Noise, bell, lerp, smooth_step};
use super::surface::{RowOrder, Surface};
use crate::random::{Purpose, StreamKey};
use rand::RngExt;

/// Half the width that is covered, mm.
pub(super) const REACH_MM: f32 = 58.0;
/// How far the skin runs beyond the vermilion border, mm.
const SKIN_MM: f32 = 34.0;
const COLUMNS: usize = 200;
const TUBE_ROWS: usize = 26;
const SKIN_ROWS: usize = 26;
/// Second texture coordinate of the vermilion border.
pub(super) const BORDER_V: f32 = 0.42;
/// The lip is a flattened tube; this far round it lies the vermilion border, radians.
const BORDER_ANGLE: f32 = 2.05;
/// The tube starts inside the mouth.
const FIRST_ANGLE: f32 = -1.0;

/// Which sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lip {
    Upper,
    Lower,
}

/// The mouth opening of one patient.
#[derive(Debug, Clone, Copy)]
pub(super) struct Opening {
    half_width: f32,
    corner_y: f32,
    upper_y: f32,
    lower_y: f32,
    /// Height of the vermilion, upper and lower.
    fullness: [f32; 2],
    bow: f32,
    seed: u64,
}

impl Opening {
    /// The opening of a patient.
    pub(super) fn draw(seed: u64, person: &Person) -> Self {
        let key = StreamKey { form: "mouth", seed, purpose: Purpose::Scene, block: 0, trial: 0 };
        let mut rng = key.stream();
        let mut spread = |half: f32| half * rng.random_range(-1.0_f32..1.0);
        // The middle of the upper lip stands near the necks of the centrals: a low line covers
        // them, a high one bares gum.
        let neck = 10.5 * person.length;
        Self {
            half_width: 30.5 * person.width + spread(1.2),
            corner_y: 4.4 + spread(0.7),
            upper_y: neck + 0.1 + spread(1.6),
            lower_y: -4.0 + spread(1.3),
            fullness: [7.0 + spread(1.6), 9.2 + spread(1.8)],
            bow: 1.0 + spread(0.5),
            seed,
        }
    }

    /// Whether the lower lip hangs low enough to show the lower teeth.
    pub(super) fn bares_lower_teeth(&self) -> bool {
        self.lower_y < -4.2
    }

    fn across(&self, x: f32) -> f32 {
        x.abs() / self.half_width
    }

    /// 1 over the mouth, fading to 0 at the corner.
    fn lip(&self, x: f32) -> f32 {
        1.0 - smooth_step(0.70, 1.04, self.across(x))
    }

    fn seam(&self, x: f32) -> f32 {
        self.corner_y - 0.12 * (x.abs() - self.half_width).max(0.0)
    }

    /// Height of the lip's margin.
    fn margin(&self, lip: Lip, x: f32) -> f32 {
        let open = (1.0 - self.across(x).powf(2.1)).max(0.0);
        let noise = Noise::new(self.seed, 60);
        let (middle, power, channel) = match lip {
            Lip::Upper => (self.upper_y, 0.92, 1.0),
            Lip::Lower => (self.lower_y, 0.88, 5.0),
        };
        let bow = if lip == Lip::Upper { -0.35 * bell(x, 3.6) * self.bow } else { 0.0 };
        let uneven = 0.35 * noise.at(0.09 * x, channel) * open.min(1.0);
        self.seam(x) + (middle - self.seam(x)) * open.powf(power) + bow + uneven
    }

    /// Height of the vermilion.
    fn height(&self, lip: Lip, x: f32) -> f32 {
        let across = self.across(x).min(1.2);
        let height = match lip {
            Lip::Upper => {
                self.fullness[0] * (1.0 - 0.62 * across.powf(1.6))
                    + self.bow * (0.75 * bell(x.abs() - 5.0, 2.6) - 0.65 * bell(x, 2.0))
            }
            Lip::Lower => self.fullness[1] * (1.0 - 0.70 * across.powf(2.0)),
        };
        (height * self.lip(x).powf(0.6)).max(0.02)
    }

    fn bulge(&self, lip: Lip, x: f32) -> f32 {
        let across = self.across(x).min(1.0);
        let full = match lip {
            Lip::Upper => 2.4 + 0.14 * self.fullness[0],
            Lip::Lower => 2.6 + 0.17 * self.fullness[1],
        };
        // A smile stretches the lips flat over the teeth.
        (full * (1.0 - 0.50 * across * across) * self.lip(x).powf(0.5)).max(0.03)
    }

    /// Depth of the face's sweep round the jaw.
    fn sweep(&self, x: f32) -> f32 {
        let across = self.across(x);
        let inside = across.min(1.0);
        let outside = (across - 1.0).max(0.0);
        2.6 - 13.0 * inside * inside - 26.0 * outside + 8.0 * outside * outside
    }

    fn skin(&self, lip: Lip, x: f32, y: f32, away: f32) -> f32 {
        let over_mouth = 1.0 - smooth_step(0.55, 1.55, self.across(x));
        let mut z = self.sweep(x);
        match lip {
            Lip::Upper => {
                let philtrum = smooth_step(0.5, 4.0, away);
                z += over_mouth * (1.2 - 0.05 * away);
                z += philtrum
                    * (0.45 * bell(x.abs() - 4.6, 1.5) - 0.75 * bell(x, 2.4))
                    * (1.0 - smooth_step(10.0, 18.0, away));
            }
            Lip::Lower => {
                z += over_mouth
                    * (0.4 - 1.1 * bell(away - 6.0, 4.2) + 2.2 * smooth_step(6.0, 18.0, away));
            }
        }
        // The cheek stands forward of a fold that runs from the nose past the corner.
        let fold = x.abs() - (self.half_width + 6.5 - 0.62 * (y - self.corner_y));
        let below = if lip == Lip::Lower { 0.22 } else { 1.0 };
        z + below * (2.6 * smooth_step(-6.0, 12.0, fold) - 0.35 * bell(fold + 1.0, 2.2))
    }

    /// One sheet of lip and skin. The second texture coordinate runs from inside the mouth (0)
    /// over the border ([`BORDER_V`]) to the outer skin (1).
    pub(super) fn sheet(&self, lip: Lip) -> Surface {
        let rows = TUBE_ROWS + SKIN_ROWS;
        let up = if lip == Lip::Upper { 1.0 } else { -1.0 };
        let mut positions = Vec::with_capacity(rows * COLUMNS);
        let mut uvs = Vec::with_capacity(rows * COLUMNS);
        let wrinkle = Noise::new(self.seed, if lip == Lip::Upper { 61 } else { 62 });
        for j in 0..rows {
            for i in 0..COLUMNS {
                let u = i as f32 / (COLUMNS - 1) as f32;
                let x = (2.0 * u - 1.0) * REACH_MM;
                let margin = self.margin(lip, x);
                let (height, bulge) = (self.height(lip, x), self.bulge(lip, x));
                let radius = height / (1.0 - BORDER_ANGLE.cos());
                let sweep = self.sweep(x);
                let tube = |angle: f32| {
                    // Fuller toward the margin than an ellipse is.
                    [radius * (1.0 - angle.cos()), sweep + bulge * angle.sin()]
                };
                let (away, z, v) = if j < TUBE_ROWS {
                    let t = j as f32 / (TUBE_ROWS - 1) as f32;
                    let [away, z] = tube(lerp(FIRST_ANGLE, BORDER_ANGLE, t));
                    let crease = 0.10 * self.lip(x) * wrinkle.fbm(0.55 * x, 0.8 * t);
                    (away, z + crease, BORDER_V * t)
                } else {
                    let t = (j + 1 - TUBE_ROWS) as f32 / SKIN_ROWS as f32;
                    let beyond = SKIN_MM * t.powf(1.6);
                    let [border, start] = tube(BORDER_ANGLE);
                    let slope = (bulge * BORDER_ANGLE.cos()
                        / (radius * BORDER_ANGLE.sin()).max(0.05))
                    .clamp(-0.8, 0.0)
                        * self.lip(x);
                    let y = margin + up * (border + beyond);
                    let skin = self.skin(lip, x, y, beyond);
                    let near = start + slope * beyond;
                    let z = lerp(near, skin, smooth_step(0.0, 5.5, beyond));
                    let roll = 0.13 * self.lip(x) * bell(beyond - 0.6, 0.7);
                    (border + beyond, z + roll, BORDER_V + (1.0 - BORDER_V) * t)
                };
                // Beyond the corners the sheets overlap by a little, so that no gap opens.
                let tuck = if j == 0 { 1.0 - self.lip(x) } else { 0.0 };
                positions.push([x, margin + up * (away - 0.7 * tuck), z - 0.35 * tuck]);
                uvs.push([u, v]);
            }
        }
        let order = if lip == Lip::Upper { RowOrder::Upward } else { RowOrder::Downward };
        Surface::from_grid(COLUMNS, rows, positions, uvs, order)
    }

    /// Beyond the corners the tube has closed to a line whose points shade one another; they take
    /// the shade of the skin beside them.
    pub(super) fn mend_corner_shade(&self, surface: &mut Surface) {
        let columns = surface.columns;
        for i in 0..columns {
            let u = i as f32 / (columns - 1) as f32;
            let closed = smooth_step(0.96, 1.04, self.across_at(u));
            let beside = surface.visibility[(TUBE_ROWS + 4) * columns + i];
            for j in 0..TUBE_ROWS + 4 {
                for (value, open) in surface.visibility[j * columns + i].iter_mut().zip(beside) {
                    *value = lerp(*value, open, closed);
                }
                if closed > 0.5 {
                    let (here, beside) = (j * columns + i, (TUBE_ROWS + 4) * columns + i);
                    surface.normals[here] = surface.normals[beside];
                    surface.tangents[here] = surface.tangents[beside];
                }
            }
        }
    }

    /// Share of vermilion at a place of the texture, 0 skin to 1 lip, with the border's wander.
    pub(super) fn vermilion(&self, u: f32, v: f32, noise: Noise) -> f32 {
        let x = (2.0 * u - 1.0) * REACH_MM;
        let wander = 0.016 * noise.fbm(0.45 * x, 3.0)
            + 0.007 * noise.at(1.5 * x, 9.0 + 12.0 * v)
            + 0.007 * noise.at(2.6 * x + 40.0, 45.0 * v);
        let border = 1.0 - smooth_step(BORDER_V - 0.048, BORDER_V + 0.024, v + wander);
        border * (1.0 - smooth_step(0.93, 1.02, self.across(x)))
    }

    /// 0 at the mouth's middle, 1 at its corner, more beyond.
    pub(super) fn across_at(&self, u: f32) -> f32 {
        self.across((2.0 * u - 1.0) * REACH_MM)
    }

    /// Distance from the border at a second texture coordinate, mm; 0 on the lip.
    pub(super) fn beyond_at(v: f32) -> f32 {
        let t = ((v - BORDER_V) / (1.0 - BORDER_V)).max(0.0);
        SKIN_MM * t.powf(1.6)
    }
}

/// Half the width of the cavity, mm.
pub(super) const CAVITY_HALF_WIDTH_MM: f32 = 42.0;

/// What lies behind the teeth: the dark, and the tongue below.
pub(super) fn cavity(seed: u64) -> Surface {
    const CAVITY_COLUMNS: usize = 48;
    const CAVITY_ROWS: usize = 36;
    let noise = Noise::new(seed, 70);
    let mut positions = Vec::with_capacity(CAVITY_COLUMNS * CAVITY_ROWS);
    let mut uvs = Vec::with_capacity(CAVITY_COLUMNS * CAVITY_ROWS);
    for j in 0..CAVITY_ROWS {
        for i in 0..CAVITY_COLUMNS {
            let (u, v) =
                (i as f32 / (CAVITY_COLUMNS - 1) as f32, j as f32 / (CAVITY_ROWS - 1) as f32);
            let (x, y) = ((2.0 * u - 1.0) * CAVITY_HALF_WIDTH_MM, 4.5 - 24.0 * v);
            let middle = (1.0 - (x / 26.0).powi(2)).max(0.0).sqrt();
            let tongue = 15.0 * middle * smooth_step(1.5, -6.0, y) * (1.0 - 0.10 * bell(x, 1.8));
            let z = -30.0 - 6.0 * (1.0 - middle) + tongue + 0.5 * noise.fbm(0.25 * x, 0.25 * y);
            positions.push([x, y, z]);
            uvs.push([u, v]);
        }
    }
    Surface::from_grid(CAVITY_COLUMNS, CAVITY_ROWS, positions, uvs, RowOrder::Downward)
}
