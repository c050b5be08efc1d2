//! Surfaces of a body, bent.

use geometry::{Mesh, Patient, Point};

use super::weights::Shares;
use super::{Posture, Pull};
use crate::body::{Body, SurfaceKind};
use crate::structure::{BodySide, Structure, System};

/// A surface as it is shown: positions and unit normals per vertex, axes of [`Posed`](geometry::Posed), mm. The
/// triangles are those of the unposed surface.
#[derive(Debug, Clone, PartialEq)]
pub struct PosedSurface {
    /// Vertex positions.
    pub positions: Vec<[f32; 3]>,
    /// Unit outward normals.
    pub normals: Vec<[f32; 3]>,
}

/// Shares of a bone's turns, by the ending of its name: bones do not bend. Bones that are not named here belong to the
/// trunk and stay where they are.
const BONES: [(&str, Shares); 9] = [
    ("humerus", Shares::UPPER_ARM),
    (
        "forearm_bones",
        Shares {
            hand: 0.5,
            ..Shares::FOREARM
        },
    ),
    ("femur", Shares::THIGH),
    (
        "patella",
        Shares {
            knee: 0.6,
            ..Shares::THIGH
        },
    ),
    (
        "knee_cartilage",
        Shares {
            knee: 0.8,
            ..Shares::THIGH
        },
    ),
    ("tibia", Shares::LOWER_LEG),
    ("fibula", Shares::LOWER_LEG),
    (
        "foot_bones",
        Shares {
            ankle: 1.0,
            ..Shares::LOWER_LEG
        },
    ),
    ("hip_cartilage", Shares::NONE),
];

impl Posture {
    /// Surface `number` of a body as shown; `None` where it is as it was, and for an unknown surface.
    #[must_use]
    pub fn surface(&self, body: &Body, number: usize) -> Option<PosedSurface> {
        let mesh = body.cut_set().mesh(number);
        let normals = || body.surface_normals(number);
        let kind = body.surfaces().get(number)?.kind;
        match kind {
            SurfaceKind::Wall(index) | SurfaceKind::Solid(index) => {
                let structure = body.structure(index);
                match bone_shares(structure) {
                    Some(shares) => self.bone(mesh, normals(), structure.side, shares),
                    None => self.flesh(mesh, normals()),
                }
            }
            SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => {
                self.flesh(mesh, normals())
            }
        }
    }

    fn flesh(&self, mesh: &Mesh, normals: &[[f32; 3]]) -> Option<PosedSurface> {
        let moves = |at: &[f32; 3]| self.local(point_of(*at)).is_some();
        if !mesh.positions.iter().any(moves) {
            return None;
        }
        let mut posed = PosedSurface {
            positions: mesh.positions.clone(),
            normals: normals.to_vec(),
        };
        for (at, normal) in posed.positions.iter_mut().zip(&mut posed.normals) {
            (*at, *normal) = self.vertex(*at, *normal);
        }
        Some(posed)
    }

    fn bone(
        &self,
        mesh: &Mesh,
        normals: &[[f32; 3]],
        side: BodySide,
        shares: Shares,
    ) -> Option<PosedSurface> {
        let limbs = self.limbs.as_ref()?;
        if shares.none() {
            return None;
        }
        let mirrored = side == BodySide::Right;
        let pull = Pull {
            turns: &limbs.sides[usize::from(mirrored)],
            shares,
            mirrored,
            say: 1.0,
        };
        Some(PosedSurface {
            positions: mesh
                .positions
                .iter()
                .map(|at| single(pull.point(point_of(*at)).to_array()))
                .collect(),
            normals: normals
                .iter()
                .map(|normal| {
                    let normal = Point::<Patient>::from_array(normal.map(f64::from)).to_vector();
                    single(pull.vector(normal).to_array())
                })
                .collect(),
        })
    }
}

/// The shares of a bone, `None` for what is not a bone.
fn bone_shares(structure: &Structure) -> Option<Shares> {
    if structure.system != System::Skeletal {
        return None;
    }
    let named = BONES
        .iter()
        .find(|(name, _)| structure.id.as_str().ends_with(name));
    Some(named.map_or(Shares::NONE, |(_, shares)| *shares))
}

fn point_of(at: [f32; 3]) -> Point<Patient> {
    Point::from_array(at.map(f64::from))
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "millimetres and unit vectors lose nothing a screen could show"
)]
pub(super) fn single(at: [f64; 3]) -> [f32; 3] {
    at.map(|part| part as f32)
}
