//! Whether a mesh is a closed oriented 2-manifold, edge by edge and vertex by vertex.

use crate::marching::TriMesh;
use crate::triple as t;

/// The first thing wrong with a mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Flaw {
    /// No triangles at all.
    #[error("the mesh is empty")]
    Empty,
    /// A triangle that names one vertex twice.
    #[error("triangle {0} names a vertex twice")]
    Degenerate(usize),
    /// A directed edge not matched by exactly one opposite edge.
    #[error("edge {0} to {1} is not shared by exactly two triangles of opposite sense")]
    OpenEdge(u32, u32),
    /// The triangles round a vertex form more than one fan.
    #[error("the triangles round vertex {0} form more than one fan")]
    PinchedVertex(u32),
}

/// Checks that every directed edge has one partner and that the triangles round each vertex form one closed fan.
///
/// # Errors
/// The first [`Flaw`] found.
pub fn check(mesh: &TriMesh) -> Result<(), Flaw> {
    if mesh.triangles.is_empty() {
        return Err(Flaw::Empty);
    }
    let mut edges: Vec<(u32, u32)> = Vec::with_capacity(mesh.triangles.len() * 3);
    let mut fans: Vec<Vec<(u32, u32)>> = vec![Vec::new(); mesh.positions.len()];
    for (i, tri) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            let (a, b, c) = (tri[k], tri[(k + 1) % 3], tri[(k + 2) % 3]);
            if a == b {
                return Err(Flaw::Degenerate(i));
            }
            edges.push((a, b));
            fans[a as usize].push((b, c));
        }
    }
    edges.sort_unstable();
    for (i, &(a, b)) in edges.iter().enumerate() {
        let twice = edges.get(i + 1) == Some(&(a, b));
        if twice || edges.binary_search(&(b, a)).is_err() {
            return Err(Flaw::OpenEdge(a, b));
        }
    }
    for (v, fan) in fans.iter().enumerate() {
        let Some(&(start, mut at)) = fan.first() else {
            continue;
        };
        let mut steps = 1;
        while at != start {
            let Some(&(_, next)) = fan.iter().find(|&&(from, _)| from == at) else {
                break;
            };
            at = next;
            steps += 1;
            if steps > fan.len() {
                break;
            }
        }
        if steps != fan.len() {
            return Err(Flaw::PinchedVertex(u32::try_from(v).unwrap_or(u32::MAX)));
        }
    }
    Ok(())
}

/// Enclosed volume, mm³; positive on an outward mesh.
#[must_use]
pub fn volume(mesh: &TriMesh) -> f64 {
    let p = |i: u32| mesh.positions[i as usize];
    mesh.triangles
        .iter()
        .map(|&[a, b, c]| t::dot(p(a), t::cross(p(b), p(c))) / 6.0)
        .sum()
}

/// The connected parts of a mesh as lists of triangle indices, each ascending, in order of their first triangle.
#[must_use]
pub fn components(mesh: &TriMesh) -> Vec<Vec<usize>> {
    let mut root: Vec<u32> = (0..u32::try_from(mesh.positions.len()).unwrap_or(u32::MAX)).collect();
    fn find(root: &mut [u32], mut v: u32) -> u32 {
        while root[v as usize] != v {
            root[v as usize] = root[root[v as usize] as usize];
            v = root[v as usize];
        }
        v
    }
    for &[a, b, c] in &mesh.triangles {
        let (ra, rb, rc) = (find(&mut root, a), find(&mut root, b), find(&mut root, c));
        let low = ra.min(rb).min(rc);
        for r in [ra, rb, rc] {
            root[r as usize] = low;
        }
    }
    let mut place = vec![usize::MAX; mesh.positions.len()];
    let mut out: Vec<Vec<usize>> = Vec::new();
    for (i, tri) in mesh.triangles.iter().enumerate() {
        let r = find(&mut root, tri[0]) as usize;
        if place[r] == usize::MAX {
            place[r] = out.len();
            out.push(Vec::new());
        }
        out[place[r]].push(i);
    }
    out
}
