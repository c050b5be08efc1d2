//! Texture coarser than speckle: lobules with septa, fibres with perimysium, small vessels, uneven parenchyma.
//!
//! A smooth random function of the place in the body shifts the echo level of a tissue by some dB. Where the function
//! passes its middle value, in sheets through the body, septa lie; where two of them do at once, in lines through the
//! body, the vessels too small to be modelled run. Sizes and strengths are chosen by eye after the words of the tissue
//! table (common practice, no source).
//!
//! Places are worked out some at a time, in arrays that become vector instructions.

use super::beam_grid::BeamGrid;
use super::decibel::amplitude;
use super::medium::single;

/// What the function draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Nothing but itself.
    Uneven,
    /// Sheets around lobules.
    Septa,
    /// Bundles along the fibres.
    Fibres,
    /// Lines: a dark lumen in a bright sheath.
    Vessels,
}

/// A kind of texture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Texture {
    kind: Kind,
    /// Size of a lobule, distance between fibres or vessels, mm.
    size_mm: f32,
    /// Length over width: of a fibre bundle, along it; of a lobule, across the way from front to back, in which fat
    /// lies in layers under the skin.
    stretch: f32,
    /// Shift between the extremes of the function, dB.
    shift_db: f32,
    /// Height of the septa, the fibre bundles or the sheaths, dB.
    septum_db: f32,
    /// How thin they are: the larger, the thinner.
    thin: f32,
}

/// Fewest samples between two places, about two lengths of the pulse: what is finer drowns in the speckle (by eye: beside
/// 3 samples no difference was seen).
pub(crate) const LEAST_STRIDE: usize = 4;
/// Most samples between two places.
pub(crate) const MOST_STRIDE: usize = 16;

/// Drop inside the small vessels, dB.
const LUMEN_DB: f32 = -11.0;

impl Texture {
    pub(crate) const EVEN: Self = Self {
        kind: Kind::Uneven,
        size_mm: 1.0,
        stretch: 1.0,
        shift_db: 0.0,
        septum_db: 0.0,
        thin: 9.0,
    };

    /// The texture of a tissue by its key; `grain` (1 = liver) scales that of the even ones.
    pub(crate) fn of(key: &str, grain: f64) -> Self {
        let grain = single(grain);
        let make = |kind, size_mm, stretch, shift_db, septum_db, thin| Self {
            kind,
            size_mm,
            stretch,
            shift_db,
            septum_db,
            thin,
        };
        match key {
            // Dark lobules between thin bright strands.
            "fat_subcutaneous" => make(Kind::Septa, 7.0, 2.2, 4.0, 13.0, 26.0),
            // Bright perimysium around dark bundles: lines along the fibres, dots and short dashes across them
            // (musculoskeletal teaching texts, from memory).
            "muscle" => make(Kind::Fibres, 1.5, 18.0, 2.0, 14.0, 12.0),
            "tendon" | "ligament" => make(Kind::Fibres, 1.0, 20.0, 6.0, 6.0, 7.0),
            // Fat between organs: lobules with strands and vessels too small to be modelled.
            "fat_internal" | "fat_epicardial" => {
                make(Kind::Septa, 5.0 * grain, 1.4, 7.0, 7.0, 14.0)
            }
            "perivascular_fat" => make(Kind::Septa, 4.0 * grain, 1.0, 5.0, 9.0, 16.0),
            // Fat of the mesentery with its vessels and collapsed loops: broad patches between bright leaves.
            "small_bowel" => make(Kind::Septa, 5.0 * grain, 1.6, 9.0, 9.0, 12.0),
            // Fluid, food and froth lie side by side in it.
            "bowel_content" => make(Kind::Septa, 5.0 * grain, 1.0, 16.0, 7.0, 9.0),
            // Folds of the cortex, finer than the sulci that are modelled, around plainer white matter.
            "brain_neonate" => make(Kind::Septa, 9.0, 1.0, 3.0, 10.0, 26.0),
            "breast" | "colon_content" => make(Kind::Septa, 4.0 * grain, 1.0, 7.0, 5.0, 9.0),
            // Vessels and ducts of the third order and smaller.
            "liver" => make(Kind::Vessels, 16.0, 1.0, 2.0, 4.5, 14.0),
            "spleen" => make(Kind::Vessels, 20.0, 1.0, 1.5, 2.5, 18.0),
            "thyroid" | "salivary" => make(Kind::Vessels, 8.0, 1.0, 2.0, 1.5, 18.0),
            // Calices and vessels between the lobules of its fat.
            "fat_sinus" => make(Kind::Vessels, 6.5, 1.0, 6.0, 3.0, 8.0),
            "blood" | "bile" | "urine" | "csf" | "serous_fluid" | "gel" => Self::EVEN,
            _ => make(Kind::Uneven, 3.0 * grain, 1.0, 3.0 * grain, 0.0, 9.0),
        }
    }

    /// See [`spelled`](super::spelled).
    pub(crate) fn spelled(&self) -> String {
        format!(
            "{{\"kind\":{},\"size\":{},\"stretch\":{},\"shift\":{},\"septum\":{},\"thin\":{}}}",
            self.kind as u8, self.size_mm, self.stretch, self.shift_db, self.septum_db, self.thin
        )
    }

    /// Samples between the places where the function is worked out on this grid: 4, 8 or 16; straight lines in between.
    pub(crate) fn stride(&self, grid: &BeamGrid) -> usize {
        let samples = match self.finest_mm() / single(grid.step_mm) {
            samples if samples < 8.0 => LEAST_STRIDE,
            samples if samples < 16.0 => 8,
            _ => MOST_STRIDE,
        };
        (samples * grid.detail().stride()).min(MOST_STRIDE)
    }

    /// Distance of places between which the function may go straight, mm.
    pub(crate) fn finest_mm(&self) -> f32 {
        let share = match self.kind {
            Kind::Uneven => 0.6,
            Kind::Septa => 0.1,
            Kind::Vessels => 0.06,
            Kind::Fibres => 0.13,
        };
        share * self.size_mm
    }

    pub(crate) fn has_fibres(&self) -> bool {
        self.kind == Kind::Fibres
    }

    pub(crate) fn is_even(&self) -> bool {
        self.shift_db == 0.0 && self.septum_db == 0.0
    }

    /// The change of place in texture space per mm of patient space: rows of a matrix. `fibre` is the direction of the
    /// fibres in patient axes, zero for none.
    pub(crate) fn lattice(&self, fibre: [f32; 3]) -> [[f32; 3]; 3] {
        // Turned out of the body's axes, so that no standard plane runs along the cells.
        const TURNED: [[f32; 3]; 3] = [
            [0.600, 0.640, 0.480],
            [-0.800, 0.480, 0.360],
            [0.000, -0.600, 0.800],
        ];
        let scale = 1.0 / self.size_mm;
        let length = fibre[0] * fibre[0] + fibre[1] * fibre[1] + fibre[2] * fibre[2];
        // Along the fibres everything changes more slowly: take most of that component away. Lobules that lie in
        // layers change faster from front to back.
        let (keep, along) = if self.has_fibres() {
            let known = if length > 0.5 { 1.0 } else { 0.0 };
            (known * (1.0 - 1.0 / self.stretch), fibre)
        } else {
            (1.0 - self.stretch, [0.0, 1.0, 0.0])
        };
        TURNED.map(|row| {
            let part = row[0] * along[0] + row[1] * along[1] + row[2] * along[2];
            [0, 1, 2].map(|k: usize| scale * (row[k] - keep * part * along[k]))
        })
    }

    /// Amplitude factors at `out.len()` places (a multiple of [`LANES`]) in texture space, the first at `from`, each
    /// `step` from the one before. `other` is working memory of the same length: an empty array in here would be cleared
    /// anew some thousand times for a picture.
    pub(crate) fn factors(
        &self,
        from: [f32; 3],
        step: [f32; 3],
        out: &mut [f32],
        other: &mut [f32],
    ) {
        // Loops over lines, not over blocks: that is how the compiler makes vector instructions of all of it.
        // A second function, of another size and elsewhere: it bends the sheets around lobules, which would be as round
        // as balls, shows sheaths of fibre bundles only where it is high, and makes lines of vessels' sheets.
        let moved = match self.kind {
            Kind::Uneven => None,
            Kind::Septa => Some((2.3, 17.3)),
            Kind::Fibres => Some((1.4, 29.1)),
            Kind::Vessels => Some((1.0, 41.7)),
        };
        noise_along(from, step, out);
        if let Some((scale, by)) = moved {
            noise_along(from.map(|x| x * scale + by), step.map(|x| x * scale), other);
        }
        match self.kind {
            Kind::Uneven => {
                for o in out.iter_mut() {
                    *o = self.shift_db * (*o - 0.5);
                }
            }
            Kind::Septa => {
                for (o, w) in out.iter_mut().zip(&*other) {
                    let both = *o - 0.5 + 0.35 * (w - 0.5);
                    let off = both * self.thin;
                    let bright = 1.0 / (1.0 + off * off);
                    *o = self.shift_db * both + self.septum_db * (bright - MEAN_SEPTUM);
                }
            }
            Kind::Fibres => {
                for (o, w) in out.iter_mut().zip(&*other) {
                    let off = (*o - 0.5) * self.thin;
                    let seen = (w - 0.4) * 4.0;
                    let seen = if seen > 0.0 { seen } else { 0.0 };
                    let seen = if seen < 1.0 { seen } else { 1.0 };
                    let bright = seen / (1.0 + off * off);
                    *o = self.shift_db * (*o - 0.5) + self.septum_db * (bright - MEAN_FIBRE);
                }
            }
            Kind::Vessels => {
                for (o, w) in out.iter_mut().zip(&*other) {
                    let (a, b) = ((*o - 0.5) * self.thin, (w - 0.5) * self.thin);
                    let q = a * a + b * b;
                    // Lumen where q is well below 1, the sheath around it up to 3 or so.
                    let lumen = 1.0 / (1.0 + 8.0 * q * q * q);
                    let sheath = 1.0 / (1.0 + 0.35 * q * q);
                    *o = self.shift_db * (*o - 0.5)
                        + self.septum_db * sheath
                        + (LUMEN_DB - self.septum_db) * lumen;
                }
            }
        }
        for o in out.iter_mut() {
            *o = amplitude(*o);
        }
    }
}

/// Places worked out at once.
pub(crate) const LANES: usize = 4;
const LANE_NUMBERS: [f32; LANES] = [0.0, 1.0, 2.0, 3.0];

/// Means of what is bright in a texture, so that it does not raise the level of a tissue.
const MEAN_SEPTUM: f32 = 0.28;
const MEAN_FIBRE: f32 = 0.17;

/// The smooth random function at places `step` apart from `from` on.
fn noise_along(from: [f32; 3], step: [f32; 3], out: &mut [f32]) {
    let mut first = 0.0_f32;
    for chunk in out.chunks_exact_mut(LANES) {
        for (o, lane) in chunk.iter_mut().zip(LANE_NUMBERS) {
            *o = smooth_noise([0, 1, 2].map(|k: usize| from[k] + (first + lane) * step[k]));
        }
        first += LANES as f32;
    }
}

/// The smooth random function at one place, 0 to 1.
#[inline(always)]
pub(crate) fn smooth_noise(at: [f32; 3]) -> f32 {
    let mut cell = [0_u32; 3];
    let mut part = [0.0_f32; 3];
    for k in 0..3 {
        // Adding 1.5 · 2²³ leaves the nearest whole number in the low bits (a body is some thousand cells wide). Half
        // a cell less makes that the whole number below.
        const ROUND: f32 = 12_582_912.0;
        let shifted = at[k] - 0.5 + ROUND;
        cell[k] = shifted.to_bits();
        let t = at[k] - (shifted - ROUND);
        part[k] = t * t * (3.0 - 2.0 * t);
    }
    // Cells by multiplication, three numbers for both sides of a cell each (odd numbers of no meaning; the finish after
    // Appleby's MurmurHash3, public domain, from memory).
    let sides = |k: usize, odd: u32| {
        let low = cell[k].wrapping_mul(odd);
        [low, low.wrapping_add(odd)]
    };
    let x = sides(0, 0x9e37_79b1);
    let y = sides(1, 0x85eb_ca77);
    let z = sides(2, 0xc2b2_ae3d);
    let corner = |dx: usize, dy: usize, dz: usize| -> f32 {
        let mut h = x[dx] ^ y[dy] ^ z[dz];
        h = (h ^ (h >> 15)).wrapping_mul(0x2c1b_3c6d);
        // The upper bits behind the point of a number between 1 and 2.
        f32::from_bits((h >> 9) | 0x3f80_0000)
    };
    let lerp = |a: f32, b: f32, t: f32| a + (b - a) * t;
    let face = |dz: usize| {
        let near = lerp(corner(0, 0, dz), corner(1, 0, dz), part[0]);
        let far = lerp(corner(0, 1, dz), corner(1, 1, dz), part[0]);
        lerp(near, far, part[1])
    };
    lerp(face(0), face(1), part[2]) - 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texture_is_smooth_and_uses_its_range() {
        let (mut low, mut high, mut jump) = (1.0_f32, 0.0_f32, 0.0_f32);
        let mut before = smooth_noise([0.0, 0.3, -7.0]);
        for i in 1..4000 {
            let t = i as f32 * 0.02;
            let v = smooth_noise([t, 0.3 + t * 0.37, -7.0 + t * 0.11]);
            low = low.min(v);
            high = high.max(v);
            jump = jump.max((v - before).abs());
            before = v;
        }
        assert!(low < 0.15 && high > 0.85, "{low} to {high}");
        assert!(jump < 0.08, "a jump of {jump} over a fiftieth of a cell");
    }

    #[test]
    fn fibres_are_long_along_their_direction() {
        let muscle = Texture::of("muscle", 1.0);
        let matrix = muscle.lattice([0.0, 0.0, 1.0]);
        let reach = |v: [f32; 3]| {
            matrix
                .iter()
                .map(|row| {
                    let d = row[0] * v[0] + row[1] * v[1] + row[2] * v[2];
                    d * d
                })
                .sum::<f32>()
                .sqrt()
        };
        let ratio = reach([1.0, 0.0, 0.0]) / reach([0.0, 0.0, 1.0]);
        assert!((ratio - 18.0).abs() < 0.1, "stretched by {ratio}");
    }
}
