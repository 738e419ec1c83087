//! A grid of vertices with normals, tangents and texture coordinates.

use nalgebra::Vector3;

/// A surface made of `rows × columns` vertices, row-major, and the triangles between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    /// Vertices per row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Positions, mm.
    pub positions: Vec<[f32; 3]>,
    /// Unit normals.
    pub normals: Vec<[f32; 3]>,
    /// Unit tangents along the first texture coordinate; the fourth value is the sign that turns
    /// `normal × tangent` into the direction of the second.
    pub tangents: Vec<[f32; 4]>,
    /// Texture coordinates.
    pub uvs: Vec<[f32; 2]>,
    /// Light that reaches each vertex over the light that would in the open, per linear sRGB
    /// channel; 1 until a bake fills it in.
    pub visibility: Vec<[f32; 3]>,
    /// Three indices per triangle, counter-clockwise seen from the front.
    pub indices: Vec<u32>,
    order: RowOrder,
}

/// Normals never turn further from the viewer than this: one that turns away would mirror the rear
/// of the surroundings and sparkle along silhouettes.
const LEAST_NORMAL_Z: f32 = 0.10;

/// Whether a grid's rows run up or down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RowOrder {
    /// Each row lies above the one before.
    Upward,
    /// Each row lies below the one before.
    Downward,
}

impl Surface {
    /// The surface through a grid of positions; columns run to the viewer's right.
    pub(super) fn from_grid(
        columns: usize,
        rows: usize,
        positions: Vec<[f32; 3]>,
        uvs: Vec<[f32; 2]>,
        order: RowOrder,
    ) -> Self {
        let point = |i: usize, j: usize| Vector3::from(positions[j * columns + i]);
        let mut normals = Vec::with_capacity(positions.len());
        let mut tangents = Vec::with_capacity(positions.len());
        for j in 0..rows {
            for i in 0..columns {
                let across = point((i + 1).min(columns - 1), j) - point(i.saturating_sub(1), j);
                let along = point(i, (j + 1).min(rows - 1)) - point(i, j.saturating_sub(1));
                let raw = match order {
                    RowOrder::Upward => across.cross(&along),
                    RowOrder::Downward => along.cross(&across),
                };
                let normal = keep_facing(unit_or(raw, Vector3::z()), LEAST_NORMAL_Z);
                let tangent = unit_or(across - normal * across.dot(&normal), Vector3::x());
                let sign = normal.cross(&tangent).dot(&along).signum();
                normals.push(normal.into());
                tangents.push([tangent.x, tangent.y, tangent.z, sign]);
            }
        }
        let indices = triangles(columns, rows, &positions, order);
        let visibility = vec![[1.0; 3]; positions.len()];
        Self { columns, rows, positions, normals, tangents, uvs, visibility, indices, order }
    }

    /// The same grid with every position moved by a turn or a shift.
    pub(super) fn moved(self, place: impl Fn([f32; 3]) -> [f32; 3]) -> Self {
        let positions = self.positions.into_iter().map(place).collect();
        Self::from_grid(self.columns, self.rows, positions, self.uvs, self.order)
    }

    /// The same grid with every position mirrored by `place`.
    pub(super) fn mirrored(self, place: impl Fn([f32; 3]) -> [f32; 3]) -> Self {
        let order = match self.order {
            RowOrder::Upward => RowOrder::Downward,
            RowOrder::Downward => RowOrder::Upward,
        };
        let positions = self.positions.into_iter().map(place).collect();
        Self::from_grid(self.columns, self.rows, positions, self.uvs, order)
    }
}

fn unit_or(vector: Vector3<f32>, fallback: Vector3<f32>) -> Vector3<f32> {
    vector.try_normalize(1e-12).unwrap_or(fallback)
}

fn keep_facing(normal: Vector3<f32>, least_z: f32) -> Vector3<f32> {
    if normal.z >= least_z {
        return normal;
    }
    let side = (normal.x * normal.x + normal.y * normal.y).sqrt();
    if side < 1e-6 {
        return Vector3::z();
    }
    let scale = (1.0 - least_z * least_z).sqrt() / side;
    Vector3::new(normal.x * scale, normal.y * scale, least_z)
}

/// Two triangles per cell, split along the shorter diagonal: the longer one makes saw teeth.
fn triangles(columns: usize, rows: usize, points: &[[f32; 3]], order: RowOrder) -> Vec<u32> {
    let distance =
        |a: usize, b: usize| (Vector3::from(points[a]) - Vector3::from(points[b])).norm_squared();
    let mut indices = Vec::with_capacity((columns - 1) * (rows - 1) * 6);
    for j in 0..rows - 1 {
        for i in 0..columns - 1 {
            let (a, b) = (j * columns + i, j * columns + i + 1);
            let (c, d) = (a + columns, b + columns);
            // a b      clockwise order of the cell when rows run down
            // c d
            let cell = if distance(a, d) <= distance(b, c) {
                [a, c, d, a, d, b]
            } else {
                [a, c, b, b, c, d]
            };
            let cell = match order {
                RowOrder::Downward => cell,
                RowOrder::Upward => [cell[0], cell[2], cell[1], cell[3], cell[5], cell[4]],
            };
            indices.extend(cell.map(|index| index as u32));
        }
    }
    indices
}
