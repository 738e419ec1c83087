//! A whole smile of one seed.

use super::arch::{ArchCurve, Placement};
use super::crown::Crown;
use super::face::{self, Lip, Opening};
use super::gum::Gum;
use super::kind::{Individual, Jaw, Person};
use super::light::StudioLight;
use super::raster::Covered;
use super::relief::{self, ByteMap, NormalMap, TintMap};
use super::retractor;
use super::skin;
use super::surface::Surface;
use super::visibility;
use crate::scene::{Framing, Staging, Tooth};
use rayon::prelude::*;

/// Upper teeth built; the outermost close the frame.
const TEETH: usize = 12;
/// To the second molars, where they are seen.
const POSTERIOR_TEETH: usize = 14;
const LOWER_TEETH: usize = 12;
const POSTERIOR_LOWER_TEETH: usize = 14;
/// Arc length that a gum covers to either side, mm.
const GUM_REACH_MM: f32 = 42.0;
const POSTERIOR_GUM_REACH_MM: f32 = 54.0;
/// The lower arch lies inside the upper.
const LOWER_ARCH_NARROWING: f32 = 1.12;
const LOWER_SETBACK_MM: f32 = 4.4;
const LOWER_GUM_REACH_MM: f32 = 42.0;
/// Light that reaches the lower arch over what its own neighbourhood lets in: the upper arch
/// stands before it, and lip or retractor below it. At the front, and lost per mm further back.
const LOWER_LIGHT: f32 = 0.78;
const LOWER_LIGHT_LOSS_PER_MM: f32 = 0.012;

/// What gives a soft surface its mean colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pigment {
    /// Gum.
    Gum,
    /// Skin, and lips where the tint says so.
    Skin,
    /// The inside of the mouth.
    Cavity,
    /// The plastic of a cheek retractor, and gum where the tint says so.
    Retractor,
    /// A lower tooth, coloured as the natural upper one of this number.
    Tooth(Tooth),
}

/// Any surface beside the upper crowns.
#[derive(Debug, Clone)]
pub struct Part {
    /// What it is made of.
    pub pigment: Pigment,
    /// Its shape.
    pub surface: Surface,
    /// Relief.
    pub normals: NormalMap,
    /// Roughness (second byte of each texel).
    pub gloss: ByteMap,
    /// Reflectance parameter, 0..1; 0.5 means 4 % at normal incidence.
    pub reflectance: f32,
    /// Colour about the pigment's mean; none for a tooth, which has a map.
    pub tint: Option<TintMap>,
}

impl Part {
    /// What a pixel shows where this part is in front.
    #[must_use]
    pub const fn covered(&self) -> Covered {
        match self.pigment {
            Pigment::Gum => Covered::Gum,
            Pigment::Skin => Covered::Skin,
            Pigment::Cavity => Covered::Cavity,
            Pigment::Retractor => Covered::Retractor,
            Pigment::Tooth(_) => Covered::LowerCrown,
        }
    }
}

/// Every shape, highlight and shadow of one smile; no tooth colour.
#[derive(Debug, Clone)]
pub struct Smile {
    /// The seed it was built from.
    pub seed: u64,
    /// How it is staged: framing and lamp decide what is built and how it is shaded.
    pub staging: Staging,
    /// Upper crowns in the viewer's order, left to right.
    pub crowns: Vec<Crown>,
    /// Everything else.
    pub parts: Vec<Part>,
    /// Enamel relief per crown.
    pub crown_normals: Vec<NormalMap>,
    /// Roughness per crown (second byte of each texel).
    pub crown_gloss: Vec<ByteMap>,
    /// Reflectance parameter of each crown's gloss, 0..1; 0.5 means 4 % at normal incidence.
    pub crown_reflectance: Vec<f32>,
}

/// One jaw before it is put into place.
struct Arch {
    crowns: Vec<Crown>,
    gum: Gum,
}

impl Smile {
    /// The smile of a seed: the same vertices and maps on every run and thread count.
    #[must_use]
    pub fn build(seed: u64, staging: Staging) -> Self {
        let framing = staging.framing;
        let person = Person::draw(seed);
        let posterior = framing == Framing::Posterior;
        let (teeth, reach_mm) = if posterior {
            (POSTERIOR_TEETH, POSTERIOR_GUM_REACH_MM)
        } else {
            (TEETH, GUM_REACH_MM)
        };
        let curve = ArchCurve::narrowed(person.arch);
        let lower_curve = ArchCurve::narrowed(person.arch * LOWER_ARCH_NARROWING);
        let (upper, lower) = rayon::join(
            || Arch::build(seed, &person, Jaw::Upper, teeth, reach_mm, &curve),
            || {
                shows_lower_teeth(seed, framing, &person).then(|| {
                    let (teeth, reach_mm) = if posterior {
                        (POSTERIOR_LOWER_TEETH, POSTERIOR_GUM_REACH_MM)
                    } else {
                        (LOWER_TEETH, LOWER_GUM_REACH_MM)
                    };
                    Arch::build(seed, &person, Jaw::Lower, teeth, reach_mm, &lower_curve)
                })
            },
        );
        let mut smile = Self {
            seed,
            staging,
            crowns: upper.crowns,
            parts: Vec::new(),
            crown_normals: Vec::new(),
            crown_gloss: Vec::new(),
            crown_reflectance: Vec::new(),
        };
        let mut lower_crowns = Vec::new();
        let gum_finish = |gum: Gum| {
            let finish = skin::gum(seed, &gum);
            part(Pigment::Gum, gum.surface, finish, 0.42)
        };
        smile.parts.push(gum_finish(upper.gum));
        if let Some(lower) = lower {
            // Turned over, a little apart from the upper teeth, inside them.
            let gap = lower_gap_mm(seed, framing);
            let place = |[x, y, z]: [f32; 3]| [x, -gap - y, z - LOWER_SETBACK_MM];
            let mut gum = lower.gum;
            gum.surface = gum.surface.clone().mirrored(place);
            smile.parts.push(gum_finish(gum));
            lower_crowns = lower
                .crowns
                .into_iter()
                .map(|crown| Crown { surface: crown.surface.clone().mirrored(place), ..crown })
                .collect();
        }
        if posterior {
            // The other side's teeth would only show their unmade backs.
            smile.crowns.retain(|crown| !crown.individual.tooth.is_patients_right());
            lower_crowns.retain(|crown| !crown.individual.tooth.is_patients_right());
        }
        let finish = skin::cavity(seed);
        smile.parts.push(part(Pigment::Cavity, face::cavity(seed), finish, 0.25));
        if framing == Framing::Retracted {
            for side in [-1.0, 1.0] {
                let finish = retractor::cheek_finish(seed, side);
                smile.parts.push(part(Pigment::Gum, retractor::cheek(seed, side), finish, 0.42));
                let finish = retractor::finish(seed, side);
                smile.parts.push(part(Pigment::Retractor, retractor::shape(side), finish, 0.50));
            }
        }
        if framing == Framing::Conversation {
            let opening = Opening::draw(seed, &person);
            for lip in [Lip::Upper, Lip::Lower] {
                let finish = skin::face(seed, &opening, lip);
                smile.parts.push(part(Pigment::Skin, opening.sheet(lip), finish, 0.42));
            }
        }
        smile.pose(&mut lower_crowns);
        smile.light(lower_crowns);
        smile
    }

    /// Turns the mouth so that what the framing is about faces the viewer.
    fn pose(&mut self, lower_crowns: &mut [Crown]) {
        if self.staging.framing != Framing::Posterior {
            return;
        }
        let place = posterior_pose();
        for crown in self.crowns.iter_mut().chain(lower_crowns) {
            crown.surface = crown.surface.clone().moved(place);
        }
        for part in &mut self.parts {
            if part.pigment != Pigment::Cavity {
                part.surface = part.surface.clone().moved(place);
            }
        }
    }

    /// Fills in visibility, relief and gloss.
    fn light(&mut self, mut lower_crowns: Vec<Crown>) {
        let seed = self.seed;
        let light = StudioLight::of(self.staging.lamp);
        let mut surfaces: Vec<(&mut Surface, Covered)> = Vec::new();
        for (index, crown) in self.crowns.iter_mut().enumerate() {
            surfaces.push((&mut crown.surface, Covered::Crown(index as u8)));
        }
        for crown in &mut lower_crowns {
            surfaces.push((&mut crown.surface, Covered::LowerCrown));
        }
        for part in &mut self.parts {
            let covered = part.covered();
            surfaces.push((&mut part.surface, covered));
        }
        visibility::bake(&mut surfaces, self.staging.framing, &light);
        for crown in &mut lower_crowns {
            shade_lower(&mut crown.surface);
        }
        // Its gum is the second part, where there is one.
        if let (false, Some(gum)) = (lower_crowns.is_empty(), self.parts.get_mut(1)) {
            shade_lower(&mut gum.surface);
        }
        let opening = Opening::draw(seed, &Person::draw(seed));
        for part in &mut self.parts {
            if part.pigment == Pigment::Skin {
                opening.mend_corner_shade(&mut part.surface);
            }
            relief::dull_in_the_shade(&part.surface, &mut part.gloss);
        }
        self.crown_normals =
            self.crowns.par_iter().map(|crown| relief::crown_normals(seed, crown)).collect();
        self.crown_gloss =
            self.crowns.par_iter().map(|crown| relief::crown_gloss(seed, crown)).collect();
        self.crown_reflectance = self.crowns.iter().map(relief::crown_reflectance).collect();
        let lower: Vec<Part> = lower_crowns
            .into_par_iter()
            .map(|crown| Part {
                pigment: Pigment::Tooth(crown.individual.tooth),
                normals: relief::crown_normals(seed, &crown),
                gloss: relief::crown_gloss(seed, &crown),
                // What keeps light off the lower arch keeps its mirror image off, too.
                reflectance: LOWER_LIGHT.sqrt() * relief::crown_reflectance(&crown),
                tint: None,
                surface: crown.surface,
            })
            .collect();
        self.parts.extend(lower);
    }

    /// The crown of a tooth.
    #[must_use]
    pub fn crown_index(&self, tooth: Tooth) -> Option<usize> {
        self.crowns.iter().position(|crown| crown.individual.tooth == tooth)
    }
}

fn part(pigment: Pigment, surface: Surface, finish: skin::Finish, reflectance: f32) -> Part {
    let skin::Finish { normals, gloss, tint } = finish;
    Part { pigment, surface, normals, gloss, reflectance, tint: Some(tint) }
}

/// Whether any of the lower arch can be seen.
fn shows_lower_teeth(seed: u64, framing: Framing, person: &Person) -> bool {
    match framing {
        Framing::Conversation => Opening::draw(seed, person).bares_lower_teeth(),
        Framing::Retracted | Framing::CloseUp | Framing::Posterior => true,
    }
}

/// Takes the light from a lower surface that the upper arch and the lip keep off it.
fn shade_lower(surface: &mut Surface) {
    for (light, position) in surface.visibility.iter_mut().zip(&surface.positions) {
        let back_mm = (-position[2] - LOWER_SETBACK_MM).max(0.0);
        let share = LOWER_LIGHT * (1.0 - LOWER_LIGHT_LOSS_PER_MM * back_mm).max(0.3);
        for value in light {
            *value *= share;
        }
    }
}

/// How far the lower edges stand below the upper ones, mm.
fn lower_gap_mm(seed: u64, framing: Framing) -> f32 {
    let sway = super::noise::Noise::new(seed, 80).at(0.37, 0.61);
    match framing {
        // Well above the lower lip: a sliver of a tooth would look like a mistake.
        Framing::Conversation => 2.6 + 0.3 * sway,
        // Far enough for the chewing surfaces to be seen.
        Framing::Posterior => 2.9 + 0.5 * sway,
        Framing::Retracted | Framing::CloseUp => 1.9 + 0.7 * sway,
    }
}

/// Brings the patient's left premolars in front of the viewer and tips the chewing surfaces into
/// view.
fn posterior_pose() -> impl Fn([f32; 3]) -> [f32; 3] + Copy {
    let curve = ArchCurve::new();
    let middle_arc = 29.0;
    let [x0, z0] = curve.point(middle_arc);
    let (yaw_sin, yaw_cos) = (-curve.normal_angle(middle_arc) * 0.92).sin_cos();
    let (tip_sin, tip_cos) = 0.50_f32.sin_cos();
    move |[x, y, z]| {
        let (x, z) = (x - x0, z - z0);
        let (x, z) = (x * yaw_cos + z * yaw_sin, z * yaw_cos - x * yaw_sin);
        let y = y - 4.0;
        let (y, z) = (y * tip_cos + z * tip_sin, z * tip_cos - y * tip_sin);
        [x, y + 4.0, z]
    }
}

impl Arch {
    fn build(
        seed: u64,
        person: &Person,
        jaw: Jaw,
        teeth: usize,
        gum_reach_mm: f32,
        curve: &ArchCurve,
    ) -> Self {
        let all = Tooth::arch(teeth);
        let (left, right) = all.split_at(teeth / 2);
        let mut left: Vec<Tooth> = left.to_vec();
        left.reverse();
        let side = |teeth: &[Tooth]| -> Vec<Crown> {
            let individuals: Vec<Individual> =
                teeth.iter().map(|&tooth| Individual::of(person, seed, tooth, jaw)).collect();
            let placements = Placement::along(curve, &individuals);
            individuals
                .into_par_iter()
                .zip(placements)
                .map(|(individual, placement)| Crown::build(seed, individual, placement, curve))
                .collect()
        };
        let mut crowns = side(&left);
        crowns.reverse();
        crowns.extend(side(right));
        let gum = Gum::over(&crowns, curve, jaw, gum_reach_mm, seed);
        Self { crowns, gum }
    }
}
