//! Formulas of sound in tissue, in plain units, with their sources.
//!
//! The picture and its checks use the same functions. Formulas: standard ultrasound physics, from memory (the
//! derivations are one line each); examples worked out by hand stand in the tests.

/// Speed that an imaging system assumes everywhere, m/s (from memory; every system uses it).
pub const ASSUMED_SPEED_M_S: f64 = 1540.0;

/// Wavelength in mm at `mhz` megahertz and `speed` m/s: λ = c / f.
#[must_use]
pub fn wavelength_mm(speed: f64, mhz: f64) -> f64 {
    speed / mhz / 1000.0
}

/// Time from pulse to echo in microseconds for a reflector at `depth_mm`: t = 2 D / c.
#[must_use]
pub fn echo_time_us(depth_mm: f64, speed: f64) -> f64 {
    2.0 * depth_mm * 1000.0 / speed
}

/// Loss of the echo on the way there and back in dB, for `att` dB/(cm MHz) with frequency exponent `n`:
/// α fⁿ · 2 D.
#[must_use]
pub fn round_trip_loss_db(att: f64, n: f64, mhz: f64, depth_mm: f64) -> f64 {
    att * libm::pow(mhz, n) * 2.0 * depth_mm / 10.0
}

/// Share of the intensity that a perpendicular boundary reflects: ((Z₂ − Z₁) / (Z₂ + Z₁))².
#[must_use]
pub fn reflected_share(z1: f64, z2: f64) -> f64 {
    let r = (z2 - z1) / (z2 + z1);
    r * r
}

/// A share as dB: 10 log₁₀.
#[must_use]
pub fn share_db(share: f64) -> f64 {
    10.0 * libm::log10(share)
}

/// Sine of the angle behind a boundary by Snell's law, sin θ₂ = c₂/c₁ sin θ₁; `None` is total reflection.
#[must_use]
pub fn refracted_sine(sine: f64, c1: f64, c2: f64) -> Option<f64> {
    let out = sine * c2 / c1;
    (out.abs() < 1.0).then_some(out)
}

/// [`reflected_share`] in single precision.
pub(crate) fn straight(z1: f32, z2: f32) -> f32 {
    let r = (z2 - z1) / (z2 + z1);
    r * r
}

/// What a boundary does to the beam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Share of the intensity that is reflected, 0 to 1; 1 beyond the critical angle.
    pub reflected: f32,
    /// Angle by which the beam that goes on is turned away from the normal, radians (small angles; for total
    /// reflection zero, since nothing goes on).
    pub turned: f32,
}

/// Reflection and refraction at a boundary from (z1, c1) to (z2, c2) hit at the angle whose tangent is `tangent`.
///
/// Fluids on both sides (no shear waves): R = ((Z₂ cos θ₁ − Z₁ cos θ₂) / (Z₂ cos θ₁ + Z₁ cos θ₂))², from memory.
/// At a right angle this is [`reflected_share`]. Single precision, without any function but the square root, because
/// it is asked some ten thousand times for a picture.
#[must_use]
pub fn crossing(z1: f32, c1: f32, z2: f32, c2: f32, tangent: f32) -> Crossing {
    let cos1 = 1.0 / (1.0 + tangent * tangent).sqrt();
    let sin1 = (tangent * cos1).abs();
    let sin2 = sin1 * c2 / c1;
    if sin2 >= 1.0 {
        return Crossing {
            reflected: 1.0,
            turned: 0.0,
        };
    }
    let cos2 = (1.0 - sin2 * sin2).sqrt();
    let r = (z2 * cos1 - z1 * cos2) / (z2 * cos1 + z1 * cos2);
    let turned = sin2 * cos1 - cos2 * sin1;
    Crossing {
        reflected: r * r,
        turned: if tangent < 0.0 { -turned } else { turned },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grey::medium::single;

    /// Half a unit in the last digit of a worked example.
    fn check(got: f64, want: f64, half_digit: f64, what: &str) {
        assert!(
            (got - want).abs() <= half_digit,
            "{what}: {got} instead of {want}"
        );
    }

    #[test]
    fn times_and_wavelengths() {
        check(echo_time_us(10.0, 1540.0), 12.99, 0.005, "µs per cm");
        check(echo_time_us(150.0, 1540.0), 195.0, 0.5, "µs for 15 cm");
        check(
            1e6 / echo_time_us(150.0, 1540.0),
            5133.0,
            0.5,
            "highest pulse rate at 15 cm",
        );
        for (mhz, mm) in [
            (2.0, 0.770),
            (3.5, 0.440),
            (5.0, 0.308),
            (7.5, 0.205),
            (10.0, 0.154),
            (12.0, 0.128),
            (15.0, 0.103),
        ] {
            check(wavelength_mm(1540.0, mhz), mm, 0.0005, "wavelength");
        }
    }

    #[test]
    fn loss_of_ten_centimetres() {
        for (mhz, db) in [
            (2.0, 20.0),
            (3.5, 35.0),
            (5.0, 50.0),
            (7.5, 75.0),
            (10.0, 100.0),
        ] {
            check(round_trip_loss_db(0.5, 1.0, mhz, 100.0), db, 1e-9, "loss");
        }
        // Enhancement behind a bladder of 5 cm at 3.5 MHz: what tissue would have lost and urine does not.
        let more =
            round_trip_loss_db(0.5, 1.0, 3.5, 50.0) - round_trip_loss_db(0.0, 1.0, 3.5, 50.0);
        check(more, 17.5, 1e-9, "enhancement");
    }

    #[test]
    fn reflections() {
        // (Z1, Z2, share, half a digit, dB) in MRayl: liver 1.69, kidney 1.64, fat 1.38, muscle 1.67, soft tissue
        // 1.54, bone 6.65, air 0.0004. Speeds and densities from memory (tissue-property handbooks).
        for (z1, z2, share, half, db) in [
            (1.69, 1.64, 0.0002, 0.00005, -36.4),
            (1.38, 1.67, 0.0095, 0.0005, -20.4),
            (1.38, 1.69, 0.0100, 0.0005, -19.9),
            (1.54, 6.65, 0.389, 0.0005, -4.1),
            (1.54, 0.0004, 0.9989, 0.0002, 0.0),
        ] {
            check(reflected_share(z1, z2), share, half, "share");
            check(share_db(reflected_share(z1, z2)), db, 0.1, "dB");
            let straight = crossing(single(z1), 1540.0, single(z2), 1540.0, 0.0);
            check(
                f64::from(straight.reflected),
                reflected_share(z1, z2),
                1e-6,
                "at a right angle",
            );
        }
    }

    #[test]
    fn refraction() {
        let degrees = |sine: f64| libm::asin(sine).to_degrees();
        let fat_to_muscle = refracted_sine(libm::sin(20_f64.to_radians()), 1450.0, 1580.0);
        check(degrees(fat_to_muscle.unwrap()), 21.9, 0.05, "20 degrees");
        let critical = 26.1_f64;
        for (angle, passes) in [(critical - 0.1, true), (critical + 0.1, false)] {
            let sine = libm::sin(angle.to_radians());
            assert_eq!(
                refracted_sine(sine, 1540.0, 3500.0).is_some(),
                passes,
                "soft tissue to bone at {angle} degrees"
            );
            let tangent = single(libm::tan(angle.to_radians()));
            let hit = crossing(1.54, 1540.0, 6.65, 3500.0, tangent);
            assert_eq!(hit.reflected < 1.0, passes, "{hit:?} at {angle} degrees");
        }
        let tangent = single(libm::tan(20_f64.to_radians()));
        let turned = crossing(1.38, 1450.0, 1.67, 1580.0, tangent).turned;
        check(f64::from(turned).to_degrees(), 1.9, 0.05, "turned by");
        let mirrored = crossing(1.38, 1450.0, 1.67, 1580.0, -tangent).turned;
        assert!((mirrored + turned).abs() < 1e-9, "mirrored turn {mirrored}");
    }
}
