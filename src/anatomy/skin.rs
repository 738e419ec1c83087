//! Relief, gloss and tint of gum, lips, skin and the cavity, all about a mean colour.

use super::face::{BORDER_V, CAVITY_HALF_WIDTH_MM, Lip, Opening, REACH_MM};
use super::gum::Gum;
use super::kind::Jaw;
use super::noise::{Noise, bell, smooth_step};
use super::relief::{ByteMap, NormalMap, TintMap, grid, normals_of, roughness_bytes};
use rayon::prelude::*;

const GUM_MAP: [usize; 2] = [1536, 448];
const LOWER_GUM_MAP: [usize; 2] = [768, 224];
const GUM_GLOSS: [usize; 2] = [768, 224];
const FACE_MAP: [usize; 2] = [1280, 640];
const FACE_GLOSS: [usize; 2] = [640, 160];
const CAVITY_MAP: [usize; 2] = [96, 96];

/// Maps of one soft surface.
pub(super) struct Finish {
    pub(super) normals: NormalMap,
    pub(super) gloss: ByteMap,
    pub(super) tint: TintMap,
}

/// Noise of a gum; upper and lower differ.
fn gum_channel(gum: &Gum, base: u32) -> u32 {
    if gum.jaw == Jaw::Upper { base } else { base + 10 }
}

/// Where the mucosa begins above the margin, mm: along a wavy line.
fn mucosa_line(noise: Noise, s: f32) -> f32 {
    6.0 + 1.2 * noise.fbm(0.16 * s, 1.0)
}

pub(super) fn gum(seed: u64, gum: &Gum) -> Finish {
    let [width, height] = if gum.jaw == Jaw::Upper { GUM_MAP } else { LOWER_GUM_MAP };
    let noise = Noise::new(seed, gum_channel(gum, 42));
    let tone = Noise::new(seed, gum_channel(gum, 43));
    let attached_at = |s: f32, d: f32| {
        let line = mucosa_line(tone, s);
        smooth_step(0.5, 1.6, d) * (1.0 - smooth_step(line - 1.5, line + 0.6, d))
    };
    let heights = grid(width, height, |tx, ty| {
        let (s, y) = (gum.arc_at(tx), Gum::height_at(ty));
        let d = gum.distance(s, y);
        // Stippling: shallow pits a little under a millimetre apart, in patches, only on the
        // attached gum.
        let patchy = smooth_step(-0.35, 0.35, noise.fbm(0.28 * s, 0.28 * y));
        let (ws, wy) = (s, y + 0.15 * noise.at(0.7 * s + 7.0, 0.7 * y));
        let pits = bell(noise.cell_distance(1.25 * ws, 1.25 * wy), 0.20)
            + 0.35 * bell(noise.cell_distance(2.1 * ws + 31.0, 2.1 * wy), 0.18);
        let stipple = -0.034 * attached_at(s, d) * (0.25 + 0.75 * patchy) * pits;
        let calm = smooth_step(-0.1, 1.2, d);
        let broad = 0.05 * noise.fbm(0.45 * s, 0.45 * y);
        let fine = 0.006 * noise.fbm(2.6 * s, 2.6 * y);
        stipple + calm * (broad + fine)
    });
    let across = 2.0 * gum.arc_at(1.0) / width as f32;
    let along = (Gum::height_at(1.0) - Gum::height_at(0.0)) / height as f32;
    let normals = normals_of(&heights, width, |_| across, |_| along);

    let [gloss_width, gloss_height] = GUM_GLOSS;
    let gloss = roughness_bytes(gloss_width, gloss_height, |tx, ty| {
        let (s, y) = (gum.arc_at(tx), Gum::height_at(ty));
        let d = gum.distance(s, y);
        // Saliva gathers in a thin line along the margin and in patches elsewhere.
        let film = smooth_step(-0.15, 0.45, noise.fbm(0.22 * s + 60.0, 0.30 * y));
        let meniscus = 1.0 - smooth_step(0.05, 0.38, d);
        let dry = 0.52 - 0.13 * film;
        dry + (0.27 - dry) * meniscus.max(0.45 * smooth_step(5.5, 8.0, d) * film)
    });

    let offsets = tints(width, height, |tx, ty| {
        let (s, y) = (gum.arc_at(tx), Gum::height_at(ty));
        let d = gum.distance(s, y);
        let mut lab = [0.0_f32; 3];
        // Free margin and papillae: redder, a little lighter; the rim itself thin and dark.
        let free = 1.0 - smooth_step(0.4, 2.2, d);
        lab[0] += 0.4 * free;
        lab[1] += 0.9 * free;
        let rim = 1.0 - smooth_step(0.0, 0.30, d);
        lab[0] -= 3.0 * rim;
        lab[1] += 2.0 * rim;
        let attached = attached_at(s, d);
        lab[0] += 1.3 * attached;
        lab[1] -= 0.8 * attached;
        let line = mucosa_line(tone, s);
        let mucosa = smooth_step(line - 1.6, line + 1.8, d);
        lab[0] -= 6.5 * mucosa;
        lab[1] += 5.0 * mucosa;
        lab[2] += 0.5 * mucosa;
        let (ws, wy) =
            (s + 1.4 * tone.fbm(0.35 * s, 0.35 * y), y + 1.4 * tone.fbm(0.35 * s + 40.0, 0.35 * y));
        let vessel = |scale: f32, width: f32| {
            1.0 - smooth_step(0.0, width, tone.at(scale * ws, 0.55 * scale * wy).abs())
        };
        let thin = mucosa * smooth_step(-0.2, 0.5, tone.fbm(0.2 * s + 5.0, 0.2 * y));
        lab[0] -= 3.0 * thin * (0.6 * vessel(0.45, 0.07) + 0.4 * vessel(1.1, 0.09));
        lab[1] += 3.0 * thin * (0.6 * vessel(0.45, 0.07) + 0.4 * vessel(1.1, 0.09));
        lab[0] += 2.4 * tone.fbm(0.16 * s, 0.2 * y) + 1.3 * tone.fbm(0.8 * s, 0.8 * y);
        lab[1] += 1.8 * tone.fbm(0.3 * s + 20.0, 0.3 * y);
        lab[2] += 0.8 * tone.fbm(0.5 * s + 70.0, 0.5 * y);
        lab[0] += 1.6 * attached * (noise.cell_distance(1.25 * s, 1.25 * y) - 0.45);
        [lab[0], lab[1], lab[2], 0.0]
    });
    Finish { normals, gloss, tint: TintMap { width, height, offsets } }
}

/// The lip's plump pads and the fissures among them at (x, distance from its inner side), mm: how
/// far a point lies toward its pad's rim, and how deep in a fissure, both 0..about 1.
///
/// Pads are longer across the lip than along it, unequal, and bent: straight even lines would look
/// combed.
fn lip_pads(noise: Noise, x: f32, q: f32) -> (f32, f32) {
    let bend = 1.1 * noise.at(0.22 * x, 0.26 * q) + 0.45 * noise.at(0.7 * x + 50.0, 0.6 * q);
    let fan = x * (1.0 - 0.008 * (q - 5.0)) + bend;
    let wide = noise.cell_distance(0.62 * fan, 0.17 * q + 0.5 * noise.at(0.4 * x, 0.3 * q));
    let fine = noise.cell_distance(1.35 * fan + 30.0, 0.45 * q);
    let strong = smooth_step(-0.5, 0.5, noise.at(0.16 * x + 11.0, 0.12 * q));
    let pads = (0.4 + 0.6 * strong) * wide * wide + 0.30 * fine * fine;
    let line = bell(noise.at(0.42 * fan + 90.0, 0.06 * q), 0.055);
    let kept = smooth_step(-0.1, 0.5, noise.at(0.33 * x + 70.0, 0.28 * q));
    (pads, line * kept)
}

/// Lip and skin of one half of the face, by place on its map (`tx`, `ty`).
struct FaceSkin<'a> {
    opening: &'a Opening,
    /// Of the lip.
    noise: Noise,
    /// Of the skin.
    pores: Noise,
}

impl FaceSkin<'_> {
    /// Place on the surface, mm. Rows are not even: the lip is stretched over its share, the skin
    /// over its own.
    fn place(tx: f32, ty: f32) -> (f32, f32) {
        let lip_mm = 11.0;
        let x = (2.0 * tx - 1.0) * REACH_MM;
        let q =
            if ty < BORDER_V { ty / BORDER_V * lip_mm } else { lip_mm + Opening::beyond_at(ty) };
        (x, q)
    }

    fn height(&self, tx: f32, ty: f32) -> f32 {
        let Self { opening, noise, pores } = *self;
        let (x, q) = Self::place(tx, ty);
        let red = opening.vermilion(tx, ty, noise);
        let mut relief = 0.0;
        if red > 0.0 {
            let (pads, fissures) = lip_pads(noise, x, q);
            let wet = smooth_step(0.02, 0.16, ty);
            let grain = 0.005 * noise.fbm(3.2 * x, 2.4 * q);
            let broad = 0.020 * noise.at(0.55 * x, 0.16 * q);
            let calm = 1.0 - 0.75 * smooth_step(0.55, 0.95, opening.across_at(tx));
            relief += red * (wet * calm * (broad - 0.085 * pads - 0.040 * fissures) + grain);
        }
        if red < 1.0 {
            let pit = |scale: f32| bell(pores.cell_distance(scale * x, scale * q), 0.20);
            let rough = 0.6 + 0.4 * pores.at(0.12 * x + 5.0, 0.12 * q);
            let skin = -0.017 * rough * pit(1.7) - 0.010 * pit(2.9)
                + 0.006 * pores.at(1.1 * x, 1.6 * q)
                + 0.003 * pores.at(3.7 * x, 3.1 * q)
                + 0.035 * pores.at(0.20 * x, 0.20 * q);
            relief += (1.0 - red) * skin;
        }
        relief
    }

    fn roughness(&self, tx: f32, ty: f32) -> f32 {
        let Self { opening, noise, pores } = *self;
        let (x, q) = Self::place(tx, ty);
        let red = opening.vermilion(tx, ty, noise);
        let moist = smooth_step(-0.1, 0.5, noise.fbm(0.22 * x, 0.25 * q));
        let inner = 1.0 - smooth_step(0.10, 0.26, ty);
        let lips = 0.46 - 0.12 * moist - 0.18 * inner + 0.05 * noise.fbm(1.4 * x, 0.9 * q);
        let skin = 0.64 - 0.07 * smooth_step(-0.2, 0.5, pores.fbm(0.1 * x, 0.12 * q))
            + 0.05 * pores.fbm(1.1 * x, 1.1 * q);
        red * lips + (1.0 - red) * skin
    }

    /// Colour about the mean, and the share of lip.
    fn tint(&self, tx: f32, ty: f32) -> [f32; 4] {
        let Self { opening, noise, pores } = *self;
        let (x, q) = Self::place(tx, ty);
        let red = opening.vermilion(tx, ty, noise);
        let mut lab = [0.0_f32; 3];
        // Wet mucosa inside, drier and duller toward the border; lines are darker.
        let inner = red * (1.0 - smooth_step(0.10, 0.27, ty));
        lab[0] -= 4.0 * inner;
        lab[1] += 5.0 * inner;
        if red > 0.0 {
            let (pads, fissures) = lip_pads(noise, x, q);
            let valley = 0.9 * smooth_step(0.20, 0.70, pads) + fissures;
            lab[0] -= 2.6 * red * valley;
            lab[1] += 1.3 * red * valley;
        }
        lab[0] += red * (2.2 * noise.fbm(0.25 * x, 0.3 * q) + 1.4 * noise.fbm(1.3 * x, 0.7 * q));
        lab[1] += red * 2.0 * noise.fbm(0.4 * x + 50.0, 0.4 * q);
        let toward_border = red * smooth_step(0.30, BORDER_V, ty);
        lab[0] -= 1.2 * toward_border;
        lab[1] -= 1.5 * toward_border;
        // Skin: a pale roll along the border, redder near the mouth, blotches, freckles.
        let skin = 1.0 - red;
        let beyond = Opening::beyond_at(ty);
        lab[0] += 1.2 * skin * bell(beyond - 0.9, 0.9);
        lab[1] += 2.2 * skin * (1.0 - smooth_step(1.5, 9.0, beyond));
        let corner =
            bell(opening.across_at(tx) - 1.02, 0.10) * (1.0 - smooth_step(0.0, 4.0, beyond));
        lab[0] -= 6.0 * skin * corner;
        lab[1] += 3.0 * skin * corner;
        lab[0] += skin
            * (1.6 * pores.fbm(0.09 * x, 0.09 * q)
                + 1.0 * pores.fbm(0.6 * x, 0.6 * q)
                + 1.3 * (pores.cell_distance(1.7 * x, 1.7 * q) - 0.45)
                + 0.8 * pores.at(2.3 * x, 2.3 * q));
        lab[1] +=
            skin * (1.8 * pores.fbm(0.14 * x + 30.0, 0.14 * q) + 0.9 * pores.fbm(0.9 * x, 0.9 * q));
        let freckle = bell(pores.cell_distance(0.16 * x + 3.0, 0.16 * q), 0.055)
            * smooth_step(0.30, 0.55, pores.at(0.11 * x, 0.11 * q + 20.0));
        lab[0] -= 5.0 * skin * freckle;
        lab[2] += 2.5 * skin * freckle;
        [lab[0], lab[1], lab[2], red]
    }
}

pub(super) fn face(seed: u64, opening: &Opening, lip: Lip) -> Finish {
    let [width, height] = FACE_MAP;
    let noise = Noise::new(seed, if lip == Lip::Upper { 63 } else { 64 });
    let skin = FaceSkin { opening, noise, pores: Noise::new(seed, 65) };
    let heights = grid(width, height, |tx, ty| skin.height(tx, ty));
    let across = 2.0 * REACH_MM / width as f32;
    let along = |row: usize| {
        let at = |row: usize| FaceSkin::place(0.5, row as f32 / height as f32).1;
        (at(row + 1) - at(row)).max(0.01)
    };
    let normals = normals_of(&heights, width, |_| across, along);
    let [gloss_width, gloss_height] = FACE_GLOSS;
    let gloss = roughness_bytes(gloss_width, gloss_height, |tx, ty| skin.roughness(tx, ty));
    let offsets = tints(width, height, |tx, ty| skin.tint(tx, ty));
    Finish { normals, gloss, tint: TintMap { width, height, offsets } }
}

pub(super) fn cavity(seed: u64) -> Finish {
    let [width, height] = CAVITY_MAP;
    let noise = Noise::new(seed, 71);
    let heights = grid(width, height, |tx, ty| {
        let (x, y) = (2.0 * CAVITY_HALF_WIDTH_MM * tx, 24.0 * ty);
        0.10 * noise.fbm(0.4 * x, 0.4 * y) + 0.10 * noise.cell_distance(0.9 * x, 0.9 * y)
    });
    let normals = normals_of(&heights, width, |_| 0.7, |_| 0.3);
    let gloss = roughness_bytes(32, 32, |tx, ty| 0.62 + 0.1 * noise.fbm(6.0 * tx, 6.0 * ty));
    let offsets = tints(width, height, |tx, ty| {
        // The cheeks close in at the sides, out of the light; the tongue lies lightest.
        let (x, y) = ((2.0 * tx - 1.0) * CAVITY_HALF_WIDTH_MM, 4.5 - 24.0 * ty);
        let aside = smooth_step(12.0, 28.0, x.abs());
        let tongue = smooth_step(0.5, -5.0, y) * (1.0 - aside);
        let mottle = noise.fbm(0.22 * x, 0.22 * y) + 0.6 * noise.fbm(0.9 * x, 0.9 * y);
        [
            -14.0 + 20.0 * tongue + 1.5 * mottle - 9.0 * aside,
            -5.0 + 7.0 * tongue - 3.0 * aside,
            -4.0,
            0.0,
        ]
    });
    Finish { normals, gloss, tint: TintMap { width, height, offsets } }
}

pub(super) fn tints(
    width: usize,
    height: usize,
    value: impl Fn(f32, f32) -> [f32; 4] + Sync,
) -> Vec<[f32; 4]> {
    (0..width * height)
        .into_par_iter()
        .map(|k| {
            let tx = ((k % width) as f32 + 0.5) / width as f32;
            let ty = ((k / width) as f32 + 0.5) / height as f32;
            value(tx, ty)
        })
        .collect()
}
