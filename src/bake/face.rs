//! The labial face of a tooth as a grid of colours.

use crate::bake::map::ReflectanceMap;
use crate::bake::section::{FacePoint, RestoredSection};
use crate::bake::tooth_optics::{NaturalFace, NaturalOptics, RestoredOptics};
use crate::bake::truth;
use crate::colorimetry::{Illuminant, Lab, Observer, display_linear_of_samples};
use crate::scene::{AxisChange, BuildUp, SpectralShift, Tooth};
use crate::spectrum::{Samples, sampled_band, wavelength_nm};
use rayon::prelude::*;

/// Columns and rows of the grid on which optics are solved. The layers change over tenths of a
/// millimetre at the incisal edge, so rows are about 0.15 mm apart.
pub(crate) const NODES: (usize, usize) = (41, 65);
/// Columns and rows of a reflectance map.
pub(crate) const MAP: (usize, usize) = (192, 256);

/// How far light spreads sideways in enamel and ceramic before it comes back, standard deviation,
/// mm: the order of one transport length of enamel (scattering 6.6/mm, anisotropy 0.68 at 633 nm;
/// Zijp, ten Bosch, Groenhuis, J Dent Res 1995;74:1891-1898).
const SPREAD_MM: f64 = 0.45;

/// A normalised Gaussian kernel, `sigma` in samples.
fn gaussian(sigma: f64) -> Vec<f64> {
    let reach = (3.0 * sigma).ceil() as i32;
    let weights: Vec<f64> =
        (-reach..=reach).map(|i| (-0.5 * (f64::from(i) / sigma).powi(2)).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / sum).collect()
}

/// Which tooth a face belongs to, and the light on it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Face {
    pub tooth: Tooth,
    pub illuminant: Illuminant,
}

/// Linear sRGB at regular nodes; the outer nodes lie on the outline of the face.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Grid {
    columns: usize,
    rows: usize,
    nodes: Vec<[f64; 3]>,
}

impl Face {
    /// −1 distal to +1 mesial at a fraction 0..1 of the way from the viewer's left.
    fn mesial(self, across: f64) -> f64 {
        let from_left = 2.0 * across - 1.0;
        if self.tooth.is_patients_right() { from_left } else { -from_left }
    }

    fn grid<R>(
        self,
        (columns, rows): (usize, usize),
        row_at: impl Fn(f64) -> R,
        colour: impl Fn(&R, FacePoint) -> [f64; 3],
    ) -> Grid {
        let mut nodes = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            let height = row as f64 / (rows - 1) as f64;
            let prepared = row_at(height);
            for column in 0..columns {
                let mesial = self.mesial(column as f64 / (columns - 1) as f64);
                nodes.push(colour(&prepared, FacePoint { mesial, height }));
            }
        }
        Grid { columns, rows, nodes }.spread(self.tooth)
    }

    pub(crate) fn natural(self, face: &NaturalFace, size: (usize, usize)) -> Grid {
        self.grid(size, |_| (), |(), point| self.natural_at(face, point))
    }

    fn natural_at(self, face: &NaturalFace, point: FacePoint) -> [f64; 3] {
        display_linear_of_samples(&face.reflectance(point), self.illuminant, Observer::Cie1931)
    }

    /// The natural face with its reflectance or its layers changed.
    pub(crate) fn changed(
        self,
        optics: &NaturalOptics,
        change: &AxisChange,
        size: (usize, usize),
    ) -> Grid {
        match change {
            AxisChange::Shift(shift) => self.shifted(optics, shift, size),
            AxisChange::BuildUp(build_up) => self.grid(
                size,
                |height| {
                    let mass = build_up.at(height);
                    optics.with_masses(|i| BuildUp::factors(mass, wavelength_nm(sampled_band(i))))
                },
                |optics, point| {
                    display_linear_of_samples(
                        &optics.reflectance(point),
                        self.illuminant,
                        Observer::Cie1931,
                    )
                },
            ),
        }
    }

    /// The natural face with its reflectance multiplied by a shift.
    fn shifted(self, optics: &NaturalOptics, shift: &SpectralShift, size: (usize, usize)) -> Grid {
        let face = optics.face();
        self.grid(
            size,
            |height| -> Samples {
                let shift = shift.at(height);
                std::array::from_fn(|i| {
                    SpectralShift::factor(shift, wavelength_nm(sampled_band(i)))
                })
            },
            |factor, point| {
                let mut shifted = face.reflectance(point);
                shifted.iter_mut().zip(factor).for_each(|(r, f)| *r *= f);
                display_linear_of_samples(&shifted, self.illuminant, Observer::Cie1931)
            },
        )
    }

    /// The restored face; where no ceramic covers it, it is the natural one, which only an onlay
    /// needs.
    pub(crate) fn restored(
        self,
        optics: &RestoredOptics,
        natural: Option<&NaturalFace>,
        (columns, rows): (usize, usize),
    ) -> Grid {
        let nodes = (0..rows)
            .into_par_iter()
            .flat_map_iter(|row| {
                let height = row as f64 / (rows - 1) as f64;
                let row = optics.row(height);
                // Many points of a restored row have the layers of the point before.
                let mut last: Option<(RestoredSection, [f64; 3])> = None;
                (0..columns).map(move |column| {
                    let mesial = self.mesial(column as f64 / (columns - 1) as f64);
                    if let Some(natural) = natural.filter(|_| !row.covered()) {
                        return self.natural_at(natural, FacePoint { mesial, height });
                    }
                    let section = row.section(mesial);
                    if let Some((same, colour)) = last
                        && same == section
                    {
                        return colour;
                    }
                    let colour = display_linear_of_samples(
                        &row.reflectance(&section),
                        self.illuminant,
                        Observer::Cie1931,
                    );
                    last = Some((section, colour));
                    colour
                })
            })
            .collect();
        Grid { columns, rows, nodes }.spread(self.tooth)
    }
}

impl Grid {
    /// The same face after light has spread sideways: a Gaussian of [`SPREAD_MM`], the face's
    /// outline held. Layers are solved one column of light at a time; without this a step in
    /// thickness would show as a hard line that no tooth has.
    fn spread(self, tooth: Tooth) -> Self {
        let size = tooth.kind().crown_dimensions();
        let sigma = |length_mm: f64, n: usize| SPREAD_MM * (n - 1) as f64 / length_mm;
        let across = gaussian(sigma(size.width_mm, self.columns));
        let down = gaussian(sigma(size.length_mm, self.rows));
        let (columns, rows) = (self.columns, self.rows);
        let held = |i: usize, offset: isize, n: usize| i.saturating_add_signed(offset).min(n - 1);
        let reach = |kernel: &[f64]| (kernel.len() / 2) as isize;
        let add = |sum: &mut [f64; 3], weight: f64, node: &[f64; 3]| {
            sum.iter_mut().zip(node).for_each(|(sum, node)| *sum += weight * node);
        };
        let mut along = vec![[0.0; 3]; self.nodes.len()];
        for (line, out) in self.nodes.chunks(columns).zip(along.chunks_mut(columns)) {
            for (column, sum) in out.iter_mut().enumerate() {
                for (weight, offset) in across.iter().zip(-reach(&across)..) {
                    add(sum, *weight, &line[held(column, offset, columns)]);
                }
            }
        }
        let mut nodes = vec![[0.0; 3]; self.nodes.len()];
        for (row, out) in nodes.chunks_mut(columns).enumerate() {
            for (weight, offset) in down.iter().zip(-reach(&down)..) {
                let from = held(row, offset, rows) * columns;
                for (sum, node) in out.iter_mut().zip(&along[from..from + columns]) {
                    add(sum, *weight, node);
                }
            }
        }
        Self { columns, rows, nodes }
    }

    /// Bilinear value at fractions 0..1 across and down.
    pub(crate) fn at(&self, across: f64, down: f64) -> [f64; 3] {
        let place = |t: f64, n: usize| {
            let x = t.clamp(0.0, 1.0) * (n - 1) as f64;
            let i = (x.floor() as usize).min(n - 2);
            (i, x - i as f64)
        };
        let (column, tx) = place(across, self.columns);
        let (row, ty) = place(down, self.rows);
        let node = |c: usize, r: usize| self.nodes[r * self.columns + c];
        let corners = [
            node(column, row),
            node(column + 1, row),
            node(column, row + 1),
            node(column + 1, row + 1),
        ];
        std::array::from_fn(|channel| {
            let [a, b, c, d] = corners.map(|corner| corner[channel]);
            let top = a + tx * (b - a);
            let bottom = c + tx * (d - c);
            top + ty * (bottom - top)
        })
    }

    /// The map of this face with surface detail multiplied in.
    pub(crate) fn to_map(
        &self,
        width: usize,
        height: usize,
        detail: &[[f64; 3]],
    ) -> ReflectanceMap {
        let place = |i: usize, size: usize, n: usize| {
            let x = (i as f64 + 0.5) / size as f64 * (n - 1) as f64;
            let node = (x as usize).min(n - 2);
            (node, x - node as f64)
        };
        let places: Vec<(usize, f64)> =
            (0..width).map(|column| place(column, width, self.columns)).collect();
        let mut texels = Vec::with_capacity(width * height);
        let mut line = vec![[0.0; 3]; self.columns];
        for (row, detail) in detail.chunks(width).take(height).enumerate() {
            // The row between two rows of nodes first, then along it.
            let (node, t) = place(row, height, self.rows);
            let upper = &self.nodes[node * self.columns..];
            let lower = &self.nodes[(node + 1) * self.columns..];
            for (mixed, (a, b)) in line.iter_mut().zip(upper.iter().zip(lower)) {
                *mixed = std::array::from_fn(|channel| a[channel] + t * (b[channel] - a[channel]));
            }
            texels.extend(places.iter().zip(detail).map(|(&(node, t), detail)| {
                let (a, b) = (&line[node], &line[node + 1]);
                std::array::from_fn(|channel| {
                    ((a[channel] + t * (b[channel] - a[channel])) * detail[channel]) as f32
                })
            }));
        }
        ReflectanceMap { width, height, texels }
    }

    /// Mean colour of the cervical, body and incisal third.
    pub(crate) fn zone_labs(&self) -> [Lab; 3] {
        // Sampled between nodes, as a map is, so that coarse and fine grids mean the same area.
        let (width, height) = (2 * self.columns, 6 * self.rows.div_ceil(3));
        truth::zone_means(width, height, |column, row| {
            self.at((column as f64 + 0.5) / width as f64, (row as f64 + 0.5) / height as f64)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colorimetry::ciede2000;
    use crate::material::Library;
    use crate::scene::NaturalTooth;
    use crate::spectrum::Spectrum;
    use nalgebra::{Matrix3, Vector3};

    /// Linear sRGB of a reflectance under a light from the definitions alone: sums over the tables,
    /// the published adaptation, primaries and white of the display.
    fn by_definition(reflectance: &Spectrum, illuminant: Illuminant) -> [f64; 3] {
        let power = illuminant.spectrum();
        let functions = Observer::Cie1931.colour_matching_functions();
        // CIE 015:2018: XYZ by summation, the perfect diffuser at Y = 1.
        let sum = |of: &dyn Fn(usize) -> f64| {
            Vector3::from_iterator(functions.iter().map(|function| {
                (0..81).map(|band| power[band] * function[band] * of(band)).sum::<f64>()
            }))
        };
        let white = sum(&|_| 1.0);
        let colour = sum(&|band| reflectance[band]) / white.y;
        let white = white / white.y;
        // IEC 61966-2-1:1999: primaries and white.
        let column = |x: f64, y: f64| Vector3::new(x / y, 1.0, (1.0 - x - y) / y);
        let display_white = column(0.3127, 0.3290);
        let primaries =
            Matrix3::from_columns(&[column(0.64, 0.33), column(0.30, 0.60), column(0.15, 0.06)]);
        let scale = primaries.lu().solve(&display_white).unwrap();
        let to_xyz = primaries * Matrix3::from_diagonal(&scale);
        // CAT16: Li, Li, Wang et al., Color Res Appl 2017;42:703-718.
        let cat16 = Matrix3::new(
            0.401288, 0.650173, -0.051461, -0.250268, 1.204414, 0.045854, -0.002079, 0.048952,
            0.953127,
        );
        let gain = (cat16 * display_white).component_div(&(cat16 * white));
        let adapted = cat16.lu().solve(&(cat16 * colour).component_mul(&gain)).unwrap();
        to_xyz.lu().solve(&adapted).unwrap().into()
    }

    #[test]
    fn the_written_out_face_is_the_tooth() {
        let library = Library::shipped().unwrap();
        let mut worst = 0.0_f64;
        for (number, l, c) in
            [(11, 75.0, 17.0), (13, 70.0, 24.0), (22, 80.0, 10.0), (15, 66.0, 20.0)]
        {
            let tooth = NaturalTooth {
                tooth: Tooth::new(number).unwrap(),
                body: crate::colorimetry::Lch { l, c, h: 88.0 },
                enamel_factor: 1.2,
                residual_de00: 0.0,
            };
            let tooth = crate::bake::within_reach(&tooth, 0, &library).unwrap();
            let phase = crate::bake::lobes::lobe_phase(0, tooth.tooth);
            let optics = NaturalOptics::solve(&tooth, phase, &library).unwrap();
            let face = optics.face();
            let lab = |samples: &Samples| {
                Lab::on_display(&Spectrum::through(samples), Illuminant::D65, Observer::Cie1931)
            };
            for row in 0..=40 {
                for column in 0..=10 {
                    let (mesial, height) = (f64::from(column) / 5.0 - 1.0, f64::from(row) / 40.0);
                    let point = FacePoint { mesial, height };
                    let off =
                        ciede2000(lab(&optics.reflectance(point)), lab(&face.reflectance(point)));
                    worst = worst.max(off.de00);
                }
            }
        }
        println!("worst {worst:.5}");
        // An eightieth of the perceptibility threshold of Paravina et al. 2015.
        assert!(worst < 0.01, "{worst}");
    }

    #[test]
    fn colours_under_every_light_are_those_of_the_spectra() {
        let library = Library::shipped().unwrap();
        let tooth = NaturalTooth {
            tooth: Tooth::new(11).unwrap(),
            body: crate::colorimetry::Lch { l: 75.0, c: 17.0, h: 88.0 },
            enamel_factor: 1.0,
            residual_de00: 0.0,
        };
        let optics = NaturalOptics::solve(&tooth, 0.3, &library).unwrap();
        let written_out = optics.face();
        let mut bodies = Vec::new();
        for illuminant in Illuminant::ALL {
            let face = Face { tooth: tooth.tooth, illuminant };
            let baked = face.natural(&written_out, (9, 13));
            let direct = face.grid(
                (9, 13),
                |_| (),
                |(), point| {
                    by_definition(&Spectrum::through(&written_out.reflectance(point)), illuminant)
                },
            );
            for (baked, direct) in baked.nodes.iter().zip(&direct.nodes) {
                for channel in 0..3 {
                    let off = (baked[channel] - direct[channel]).abs();
                    assert!(off < 1e-9, "{illuminant:?}: {baked:?} {direct:?}");
                }
            }
            let grey = by_definition(&Spectrum::constant(0.5), illuminant);
            assert!(grey.iter().all(|v| (v - 0.5).abs() < 1e-9), "{illuminant:?}: {grey:?}");
            bodies.push(baked.zone_labs()[1]);
        }
        for (illuminant, body) in Illuminant::ALL.iter().zip(&bodies) {
            let moved = ciede2000(bodies[0], *body);
            println!("{illuminant:?}: {body:?}, {:.2} from D65", moved.de00);
            // An adapted eye sees a tooth nearly alike under every light: what remains is the
            // shape of the spectra. Nothing at all would mean that the light was not used.
            assert!(moved.de00 < 4.0 && (body.l - bodies[0].l).abs() < 2.0, "{moved:?}");
            assert!(*illuminant == Illuminant::D65 || moved.de00 > 0.2, "{moved:?}");
        }
    }
}
