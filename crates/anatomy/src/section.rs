//! A body cut by a plane: closed loops in image millimetres, in the order in which they are painted.

use geometry::{CutScratch, ImagePlane, LoopRef, Loops};

use crate::body::{Body, Surface, SurfaceKind};
use crate::structure::StructureIndex;
use crate::tissue::TissueId;

/// Working memory of [`Body::section_into`], to be kept from one section to the next.
#[derive(Debug, Default)]
pub struct SectionScratch {
    cut: CutScratch,
}

/// The loops of one surface in a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SectionLayer {
    /// Number of the surface in [`Body::surfaces`]; these are in paint order.
    pub surface: usize,
    /// Positions of its loops among all loops of the section.
    first: usize,
    end: usize,
}

/// A body cut by an image plane.
#[derive(Debug)]
pub struct Section {
    plane: ImagePlane,
    loops: Loops,
    layers: Vec<SectionLayer>,
}

/// What lies at a point of a section after painting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Painted {
    /// Number of the topmost surface in [`Body::surfaces`].
    pub surface: usize,
    /// Its tissue.
    pub tissue: TissueId,
    /// Its structure; `None` for skin, dermis and the muscle filling.
    pub structure: Option<StructureIndex>,
}

impl Section {
    /// An empty section, to be filled by [`Body::section_into`].
    #[must_use]
    pub fn empty(plane: &ImagePlane) -> Self {
        Self {
            plane: *plane,
            loops: Loops::default(),
            layers: Vec::new(),
        }
    }

    /// The plane of the cut.
    #[must_use]
    pub fn plane(&self) -> &ImagePlane {
        &self.plane
    }

    /// The surfaces that the plane cuts, in paint order: later paint replaces earlier.
    #[must_use]
    pub fn layers(&self) -> &[SectionLayer] {
        &self.layers
    }

    /// The loops of one layer.
    #[must_use]
    pub fn loops(&self, layer: SectionLayer) -> impl ExactSizeIterator<Item = LoopRef<'_>> + Clone {
        self.loops.range(layer.first..layer.end)
    }

    /// All loops, grouped by surface in paint order.
    #[must_use]
    pub fn all_loops(&self) -> &Loops {
        &self.loops
    }

    /// Replaces the points of every outline by those that `bend` adds for it (image mm), as [`Loops::bend`] says: the
    /// same section of a body that gives way.
    pub fn bend(&mut self, spare: &mut Loops, bend: impl FnMut(LoopRef<'_>, &mut Vec<[f64; 2]>)) {
        self.loops.bend(spare, bend);
    }

    /// Whether the plane misses the body.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.layers.is_empty()
    }

    /// What is painted at the point `at` (image mm: x along the rows, y along the columns); `None` outside the skin.
    ///
    /// This is the paint rule in its plainest form, by an even-odd test of every layer from the top: the reference for
    /// faster painters, and quick enough for a pointer.
    #[must_use]
    pub fn structure_at(&self, body: &Body, at: [f64; 2]) -> Option<Painted> {
        let layer = self.layers.iter().rev().find(|layer| {
            let surface = &body.surfaces()[layer.surface];
            self.inside(layer.surface, at)
                && !surface
                    .not_inside
                    .iter()
                    .any(|&other| self.inside(other, at))
        })?;
        let surface = &body.surfaces()[layer.surface];
        Some(Painted {
            surface: layer.surface,
            tissue: surface.tissue,
            structure: surface.structure(),
        })
    }

    /// Whether the point `at` (image mm) lies inside the loops of a surface, by the even-odd rule.
    #[must_use]
    pub fn inside(&self, surface: usize, at: [f64; 2]) -> bool {
        self.loops.of_mesh(surface).fold(false, |inside, outline| {
            inside ^ encloses(outline.points, at)
        })
    }
}

impl Body {
    /// Cuts the body into a section that is used again, without allocating once it has grown.
    pub fn section_into(
        &self,
        plane: &ImagePlane,
        scratch: &mut SectionScratch,
        section: &mut Section,
    ) {
        section.plane = *plane;
        self.cut_set()
            .cut(plane, &mut scratch.cut, &mut section.loops);
        section.layers.clear();
        for (position, outline) in section.loops.loops().enumerate() {
            match section
                .layers
                .last_mut()
                .filter(|layer| layer.surface == outline.mesh)
            {
                Some(layer) => layer.end = position + 1,
                None => {
                    section.layers.push(SectionLayer {
                        surface: outline.mesh,
                        first: position,
                        end: position + 1,
                    });
                }
            }
        }
    }

    /// Cuts the body once.
    #[must_use]
    pub fn section(&self, plane: &ImagePlane) -> Section {
        let mut section = Section::empty(plane);
        self.section_into(plane, &mut SectionScratch::default(), &mut section);
        section
    }
}

impl Surface {
    /// The structure that the surface belongs to; `None` for skin, dermis and the muscle filling.
    #[must_use]
    pub fn structure(&self) -> Option<StructureIndex> {
        match self.kind {
            SurfaceKind::Wall(structure) | SurfaceKind::Solid(structure) => Some(structure),
            SurfaceKind::Skin | SurfaceKind::Dermis | SurfaceKind::Muscle => None,
        }
    }
}

/// Even-odd test of one closed loop (crossing count of a ray toward +x; half-open in y, so a vertex counts once).
fn encloses(points: &[[f64; 2]], at: [f64; 2]) -> bool {
    let mut inside = false;
    let Some(&(mut before)) = points.last() else {
        return false;
    };
    for &point in points {
        if (before[1] > at[1]) != (point[1] > at[1]) {
            let x =
                before[0] + (at[1] - before[1]) / (point[1] - before[1]) * (point[0] - before[0]);
            inside ^= x > at[0];
        }
        before = point;
    }
    inside
}
