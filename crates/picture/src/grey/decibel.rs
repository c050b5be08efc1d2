//! Quick powers and logarithms in single precision, the same bits everywhere.
//!
//! Only additions, multiplications and bit patterns: no library call that could differ between platforms, and loops
//! over them become vector instructions.

/// log₂ 10.
const LOG2_10: f32 = std::f32::consts::LOG2_10;
/// log₂ of the amplitude factor of one dB.
pub(crate) const LOG2_OF_DB: f32 = LOG2_10 / 20.0;
/// ln 2.
const LN_2: f32 = std::f32::consts::LN_2;

/// 2^x for x from -120 to 120 (held there), within 0.000 02 of itself.
pub(crate) fn exp2(x: f32) -> f32 {
    let x = if x > 120.0 { 120.0 } else { x };
    let x = if x < -120.0 { -120.0 } else { x };
    // Adding 1.5 · 2²³ leaves the nearest whole number in the low bits.
    const ROUND: f32 = 12_582_912.0;
    let shifted = x + ROUND;
    let whole = shifted.to_bits() << 23;
    let part = x - (shifted - ROUND);
    // Taylor series of 2^t about 0 for t between -1/2 and 1/2: (t ln 2)^k / k!.
    let power =
        1.0 + part * (LN_2 + part * (0.240_226_5 + part * (0.055_504_1 + part * 0.009_618_1)));
    f32::from_bits(power.to_bits().wrapping_add(whole))
}

/// Amplitude of a level in dB: 10^(dB / 20).
pub(crate) fn amplitude(db: f32) -> f32 {
    exp2(db * LOG2_OF_DB)
}

/// log₂ of a positive number, within 0.000 1; about -127 for zero.
#[inline]
pub(crate) fn log2(x: f32) -> f32 {
    let bits = x.to_bits();
    // Split so that the mantissa lies between √½ and √2, where the series below is good.
    const HALF_ROOT: u32 = 0x3f35_04f3;
    let exponent = (bits.wrapping_sub(HALF_ROOT)) & 0xff80_0000;
    let mantissa = f32::from_bits(bits.wrapping_sub(exponent));
    // The exponent as a float without a conversion: its bits in the mantissa of 2²³ (biased by 256 against borrow).
    #[expect(
        clippy::cast_possible_wrap,
        reason = "the sign bit is the sign of the exponent"
    )]
    let power = (exponent as i32 >> 23) as f32;
    // ln m = 2 atanh((m - 1) / (m + 1)).
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let q = t * t;
    power + t * (2.885_39 + q * (0.961_796_7 + q * (0.577_078 + q * 0.412_198_6)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_and_logarithms_are_close() {
        for i in -2000..=2000 {
            let x = i as f32 * 0.0173;
            let want = libm::exp2(f64::from(x));
            let off = (f64::from(exp2(x)) / want - 1.0).abs();
            assert!(off < 1e-4, "2^{x} is off by {off}");
            let back = log2(super::super::medium::single(want));
            assert!((back - x).abs() < 1e-4, "log2 2^{x} = {back}");
        }
        assert!(log2(0.0) < -126.0, "zero is far below everything");
        assert!((amplitude(-20.0) - 0.1).abs() < 1e-5, "a tenth");
        assert!(exp2(-1e9) > 0.0 && exp2(1e9).is_finite(), "held");
    }
}
