//! What a plane of the volume shows: how much of which structure, and how its axis lies to the plane.

use anatomy::{AxisView, Body, Section, StructureIndex, axis_view};
use geometry::Angle;

use crate::field::Bounds;
use crate::scan::{BEYOND, Painter, RunMap};
use crate::schematic::paint_section;

/// Scan lines across the height of the plane's outline.
const LINES: u32 = 128;

/// One structure in a plane of the volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumeSeen {
    /// Which.
    pub structure: StructureIndex,
    /// Visible area, mm2, to about a hundredth of the height of the outline.
    pub area_mm2: f64,
    /// How the plane shows its long axis where most of it is, with the angle between axis and plane.
    pub axis: Option<(AxisView, Angle)>,
}

/// The structures that a section shows inside a closed outline (image mm), largest first.
#[must_use]
pub fn volume_contents(body: &Body, section: &Section, outline: &[[f64; 2]]) -> Vec<VolumeSeen> {
    let Some(bounds) = Bounds::around(outline) else {
        return Vec::new();
    };
    let step = bounds.height() / f64::from(LINES);
    if step <= 0.0 {
        return Vec::new();
    }
    let mut painter = Painter::default();
    painter.begin(LINES, bounds.min[0], bounds.max[0]);
    let place = |at: [f64; 2]| [at[0], (at[1] - bounds.min[1]) / step - 0.5];
    paint_section(&mut painter, body, section, &[], &place);
    painter.mask();
    painter.add_loop(outline.iter().map(|at| place(*at)));
    let mut runs = RunMap::default();
    painter.paint(&mut runs);
    // Area, and the middle of the longest run: a place well inside.
    let mut sums = vec![(0.0, 0.0, [0.0; 2]); body.structures().len()];
    let mut y = bounds.min[1] + step / 2.0;
    for line in 0..runs.len() {
        for (from, to, label) in runs.pieces(line) {
            let surface = body.surfaces().get(usize::from(label));
            let owner = surface.filter(|_| label != BEYOND);
            let Some(structure) = owner.and_then(anatomy::Surface::structure) else {
                continue;
            };
            if let Some((area, longest, middle)) = sums.get_mut(structure.0) {
                *area += (to - from) * step;
                if to - from > *longest {
                    (*longest, *middle) = (to - from, [(from + to) / 2.0, y]);
                }
            }
        }
        y += step;
    }
    let mut seen: Vec<VolumeSeen> = sums
        .into_iter()
        .enumerate()
        .filter(|(_, (area, ..))| *area > 0.0)
        .map(|(number, (area_mm2, _, middle))| {
            let structure = StructureIndex(number);
            let plane = section.plane();
            let axis = body
                .structure(structure)
                .axis_on(plane, plane.to_patient(middle));
            VolumeSeen {
                structure,
                area_mm2,
                axis: axis.map(|axis| axis_view(axis, plane.normal())),
            }
        })
        .collect();
    seen.sort_by(|a, b| {
        b.area_mm2
            .total_cmp(&a.area_mm2)
            .then(a.structure.cmp(&b.structure))
    });
    seen
}
