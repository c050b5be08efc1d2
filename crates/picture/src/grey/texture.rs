//! Texture coarser than speckle: lobules with septa, fibres with perimysium, uneven parenchyma.
//!
//! A smooth random function of the place in the body shifts the echo level of a tissue by some dB. Where the function
//! passes its middle value, in sheets through the body, the bright septa lie. Sizes and strengths are chosen by eye
//! after the words of the tissue table (common practice, no source).

use super::decibel::amplitude;
use super::medium::single;

/// Share of a lobule between the places where the function is worked out, with septa and without; straight lines in
/// between.
const STRIDE_SHARE: [f32; 2] = [0.4, 0.75];

/// A kind of texture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Texture {
    /// Size of a lobule or distance between fibres, mm.
    size_mm: f32,
    /// Length of a fibre bundle over its width; 1 for lobules.
    stretch: f32,
    /// Shift between the extremes of the function, dB.
    shift_db: f32,
    /// Height of the septa, dB.
    septum_db: f32,
}

impl Texture {
    pub(crate) const EVEN: Self = Self {
        size_mm: 1.0,
        stretch: 1.0,
        shift_db: 0.0,
        septum_db: 0.0,
    };

    /// The texture of a tissue by its key; `grain` (1 = liver) scales that of the even ones.
    pub(crate) fn of(key: &str, grain: f64) -> Self {
        let grain = single(grain);
        match key {
            "fat_subcutaneous" => Self {
                size_mm: 6.0,
                stretch: 1.0,
                shift_db: 4.0,
                septum_db: 13.0,
            },
            "muscle" => Self {
                size_mm: 2.2,
                stretch: 9.0,
                shift_db: 4.0,
                septum_db: 10.0,
            },
            "tendon" | "ligament" => Self {
                size_mm: 0.6,
                stretch: 20.0,
                shift_db: 8.0,
                septum_db: 4.0,
            },
            "breast" | "fat_internal" | "small_bowel" | "colon_content" | "bowel_content" => Self {
                size_mm: 4.0 * grain,
                stretch: 1.0,
                shift_db: 6.0,
                septum_db: 4.0,
            },
            "blood" | "bile" | "urine" | "csf" | "serous_fluid" | "gel" => Self::EVEN,
            _ => Self {
                size_mm: 3.0 * grain,
                stretch: 1.0,
                shift_db: 3.0 * grain,
                septum_db: 0.0,
            },
        }
    }

    /// Samples of `step_mm` between the places where the function is worked out.
    pub(crate) fn stride(&self, step_mm: f32) -> usize {
        let [fine, coarse] = STRIDE_SHARE;
        let share = if self.septum_db > 0.0 { fine } else { coarse };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a positive number, held below"
        )]
        let samples = (share * self.size_mm / step_mm) as usize;
        samples.clamp(2, 16)
    }

    pub(crate) fn has_fibres(&self) -> bool {
        self.stretch > 1.0
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
        // Along the fibres everything changes more slowly: take most of that component away.
        let keep = if self.has_fibres() && length > 0.5 {
            1.0 - 1.0 / self.stretch
        } else {
            0.0
        };
        TURNED.map(|row| {
            let along = row[0] * fibre[0] + row[1] * fibre[1] + row[2] * fibre[2];
            [0, 1, 2].map(|k: usize| scale * (row[k] - keep * along * fibre[k]))
        })
    }

    /// Amplitude factor at a place in texture space.
    pub(crate) fn factor(&self, at: [f32; 3]) -> f32 {
        let v = smooth_noise(at);
        let shift = self.shift_db * (v - 0.5);
        let off = (v - 0.5) * 9.0;
        let septum = if self.septum_db > 0.0 {
            self.septum_db / (1.0 + off * off) - 0.3 * self.septum_db
        } else {
            0.0
        };
        amplitude(shift + septum)
    }
}

/// Value noise between 0 and 1: random values at whole coordinates, smooth in between.
fn smooth_noise(at: [f32; 3]) -> f32 {
    let mut cell = [0_i32; 3];
    let mut part = [0.0_f32; 3];
    for k in 0..3 {
        // Rounding down by hand: the library call costs more than all the rest.
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a body is some thousand cells wide"
        )]
        let toward_zero = at[k] as i32;
        let low = toward_zero as f32;
        let (whole, low) = if low > at[k] {
            (toward_zero - 1, low - 1.0)
        } else {
            (toward_zero, low)
        };
        cell[k] = whole;
        let t = at[k] - low;
        part[k] = t * t * (3.0 - 2.0 * t);
    }
    // Cells by multiplication, three numbers for both sides of a cell each: quick one at a time, as they are asked
    // here (odd numbers of no meaning; the finish after Appleby's MurmurHash3, public domain, from memory).
    let sides = |k: usize, odd: u32| {
        let low = cell[k].cast_unsigned().wrapping_mul(odd);
        [low, low.wrapping_add(odd)]
    };
    let x = sides(0, 0x9e37_79b1);
    let y = sides(1, 0x85eb_ca77);
    let z = sides(2, 0xc2b2_ae3d);
    let corner = |dx: usize, dy: usize, dz: usize| -> f32 {
        let mut h = x[dx] ^ y[dy] ^ z[dz];
        h = (h ^ (h >> 15)).wrapping_mul(0x2c1b_3c6d);
        h = (h ^ (h >> 12)).wrapping_mul(0x297a_2d39);
        // Not negative, so a signed conversion does, which is one instruction.
        (h >> 8).cast_signed() as f32 * (1.0 / 16_777_216.0)
    };
    let lerp = |a: f32, b: f32, t: f32| a + (b - a) * t;
    let face = |dz: usize| {
        let near = lerp(corner(0, 0, dz), corner(1, 0, dz), part[0]);
        let far = lerp(corner(0, 1, dz), corner(1, 1, dz), part[0]);
        lerp(near, far, part[1])
    };
    lerp(face(0), face(1), part[2])
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
        assert!((ratio - 9.0).abs() < 0.1, "stretched by {ratio}");
    }
}
