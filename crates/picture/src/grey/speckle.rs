//! The scatterers: a random complex number for every little cell of the body.
//!
//! Cells are fixed in the patient, so the pattern moves with the anatomy, whatever the probe does. They are columns
//! that stand across the slice, as long as the slice is thick, so the pattern changes as the plane leaves them. The
//! point spread comes later and makes speckle of them.
//!
//! Columns must stand across any plane, and yet be fixed in the body: there are thirteen sets of them, along the axes
//! and diagonals of the body, and a plane takes the set nearest to its normal. At the change from one set to the next
//! (once in some 45 degrees of turning) the speckle changes at once; turning that far changes it anyway.
//!
//! Places are fixed-point whole numbers that advance by whole steps along a beam: exact, and quick in vector
//! instructions.

use geometry::{ImagePlane, Patient, Point, Vector};

/// Length of a column over its width: with the width in proportion to the wavelength 1 to 3 mm, a slice a little
/// thinner than the 2 to 5 mm of real arrays (from memory): our simplification.
const COLUMN: f64 = 8.0;

/// Mean square of each part (real, imaginary) of one sample: the sum of two uniform numbers of 8 bits, near enough to
/// the normal distribution that the few cells of a resolution cell make fully developed speckle.
pub(crate) const PART_POWER: f32 = 2.0 * (256.0 * 256.0 - 1.0) / 12.0;

/// Bits of a coordinate behind the point.
const FRACTION: u32 = 14;

/// A well-mixed number for a cell (a one-at-a-time hash by additions, shifts and exclusive ors after Jenkins, "A hash
/// function for hash table lookup", Dr. Dobb's Journal 1997, from memory). No multiplication: those are slow in
/// vector instructions of four 32-bit numbers.
#[inline]
pub(crate) fn mix(x: i32, y: i32, z: i32) -> u32 {
    let mut h = x.cast_unsigned();
    h = h.wrapping_add(h << 10);
    h ^= h >> 6;
    h = h.wrapping_add(y.cast_unsigned());
    h = h.wrapping_add(h << 10);
    h ^= h >> 6;
    h = h.wrapping_add(z.cast_unsigned());
    h = h.wrapping_add(h << 10);
    h ^= h >> 6;
    h = h.wrapping_add(h << 3);
    h ^= h >> 11;
    h.wrapping_add(h << 15)
}

/// Directions of the columns: axes, face diagonals and space diagonals of a cube; lengths do not matter.
const SETS: [[f64; 3]; 13] = [
    [1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0],
    [0.0, 0.0, 1.0],
    [1.0, 1.0, 0.0],
    [1.0, -1.0, 0.0],
    [1.0, 0.0, 1.0],
    [1.0, 0.0, -1.0],
    [0.0, 1.0, 1.0],
    [0.0, 1.0, -1.0],
    [1.0, 1.0, 1.0],
    [1.0, 1.0, -1.0],
    [1.0, -1.0, 1.0],
    [1.0, -1.0, -1.0],
];

/// Turn of the cells about their columns, so that no standard plane has them in rows along its beams: a direction
/// without a simple relation to the axes.
const ASKEW: [f64; 3] = [0.377_1, 0.583_9, 0.718_9];

/// The cells of a body seen by one image plane, in cells per mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scatterers {
    origin: [f64; 3],
    row: [f64; 3],
    column: [f64; 3],
}

impl Scatterers {
    /// Cells of the set that fits `plane` best, `cell_mm` wide.
    pub(crate) fn new(plane: &ImagePlane, cell_mm: f64) -> Self {
        let normal = plane.normal().to_vector();
        let mut best = (Vector::new(1.0, 0.0, 0.0), 0.0);
        for set in SETS {
            let set = Vector::<Patient>::from_array(set);
            let set = set * (1.0 / set.norm());
            let fit = set.dot(normal).abs();
            if fit > best.1 {
                best = (set, fit);
            }
        }
        let across = best.0;
        let askew = Vector::from_array(ASKEW);
        let first = across.cross(askew);
        let first = first * (1.0 / first.norm());
        let second = across.cross(first);
        let axes = [
            first * (1.0 / cell_mm),
            second * (1.0 / cell_mm),
            across * (1.0 / (cell_mm * COLUMN)),
        ];
        let in_cells = |v: Vector<Patient>| axes.map(|axis| axis.dot(v));
        let zero: Point<Patient> = Point::new(0.0, 0.0, 0.0);
        Self {
            origin: in_cells(plane.origin() - zero),
            row: in_cells(plane.row().to_vector()),
            column: in_cells(plane.column().to_vector()),
        }
    }

    /// The cells at `start + i · step` (image mm), i counting the places of `re` and `im`, into both.
    pub(crate) fn along(&self, start: [f64; 2], step: [f64; 2], re: &mut [f32], im: &mut [f32]) {
        let scale = f64::from(1_u32 << FRACTION);
        let first = [0, 1, 2].map(|k: usize| {
            fixed((self.origin[k] + start[0] * self.row[k] + start[1] * self.column[k]) * scale)
        });
        let step = [0, 1, 2]
            .map(|k: usize| fixed((step[0] * self.row[k] + step[1] * self.column[k]) * scale));
        let mut at = first;
        for (re, im) in re.iter_mut().zip(im.iter_mut()) {
            let h = column_cell(at[0] >> FRACTION, at[1] >> FRACTION, at[2]);
            // Bytes 0 and 2 are one part, bytes 1 and 3 the other.
            let sum = |x: u32| ((x & 0xff) + (x >> 16 & 0xff)).cast_signed();
            *re = sum(h) as f32 - MIDDLE;
            *im = sum(h >> 8) as f32 - MIDDLE;
            for k in 0..3 {
                at[k] = at[k].wrapping_add(step[k]);
            }
        }
    }
}

/// The number of a cell: column (x, y), height z in fixed point. Neighbouring columns are cut into cells at different
/// heights, or all of a plane would change at once.
#[inline]
fn column_cell(x: i32, y: i32, z: i32) -> u32 {
    let h = mix(x, y, 0);
    let stagger = (h & ((1 << FRACTION) - 1)).cast_signed();
    let cell = z.wrapping_add(stagger) >> FRACTION;
    let mut h = h.wrapping_add(cell.cast_unsigned().wrapping_mul(0x9e37_79b9));
    h ^= h >> 15;
    h = h.wrapping_add(h << 10);
    h ^= h >> 6;
    h = h.wrapping_add(h << 3);
    h ^= h >> 11;
    h.wrapping_add(h << 15)
}

/// Half of the greatest sum of two bytes.
const MIDDLE: f32 = 255.0;

/// Fixed point; bodies are some thousand cells wide, far inside the range.
fn fixed(x: f64) -> i32 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a cast from float stops at the ends of the range"
    )]
    let whole = x.round() as i32;
    whole
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Convention;

    /// Mean, power and neighbour correlations of the raw numbers of a plane.
    #[test]
    fn cells_are_random() {
        for (row, column) in [
            ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
            ([0.0, 0.0, 1.0], [0.0, 1.0, 0.0]),
            ([0.7, 0.1, -0.6], [0.0, 1.0, 0.4]),
        ] {
            let plane = ImagePlane::from_notch_and_beam(
                Point::new(13.0, -40.0, 77.0),
                Vector::from_array(row),
                Vector::from_array(column),
                Convention::GENERAL,
            )
            .unwrap();
            let cells = Scatterers::new(&plane, 0.25);
            let lines: Vec<_> = (0..300)
                .map(|k| {
                    let (mut re, mut im) = (vec![0.0; 300], vec![0.0; 300]);
                    // Two cells apart, so that every number is a new one.
                    cells.along([f64::from(k) * 0.5, 1.0], [0.0, 0.5], &mut re, &mut im);
                    (re, im)
                })
                .collect();
            let mean = |f: &dyn Fn(usize, usize) -> f32| {
                let mut sum = 0.0;
                for k in 0..299 {
                    for i in 0..299 {
                        sum += f64::from(f(k, i));
                    }
                }
                sum / (299.0 * 299.0) / f64::from(PART_POWER)
            };
            let unit = PART_POWER.sqrt();
            // A hundred thousand numbers: three standard deviations are one per cent.
            for (what, got, want) in [
                ("mean", mean(&|k, i| lines[k].0[i] * unit), 0.0),
                ("power", mean(&|k, i| lines[k].0[i] * lines[k].0[i]), 1.0),
                ("power", mean(&|k, i| lines[k].1[i] * lines[k].1[i]), 1.0),
                ("parts", mean(&|k, i| lines[k].0[i] * lines[k].1[i]), 0.0),
                (
                    "along",
                    mean(&|k, i| lines[k].0[i] * lines[k].0[i + 1]),
                    0.0,
                ),
                (
                    "across",
                    mean(&|k, i| lines[k].0[i] * lines[k + 1].0[i]),
                    0.0,
                ),
                (
                    "slant",
                    mean(&|k, i| lines[k].1[i] * lines[k + 1].1[i + 1]),
                    0.0,
                ),
            ] {
                assert!((got - want).abs() < 0.015, "{what} {got} instead of {want}");
            }
        }
    }
}
