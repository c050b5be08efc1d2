//! What the picture must show of itself, on phantoms whose answer is a formula.

use super::*;
use crate::grey::acoustics::round_trip_loss_db;
use crate::grey::beam_grid::{BeamGrid, SAMPLES};
use crate::grey::compression::LIVER_GREY;
use crate::grey::resolution_mm;
use crate::transducer::transducer;
use geometry::{Angle, Convention, Point, Vector};

/// A plane through the body at a slant, so that no axis is special.
fn plane_at(origin: [f64; 3]) -> ImagePlane {
    ImagePlane::from_notch_and_beam(
        Point::from_array(origin),
        Vector::new(0.9, -0.1, 0.3),
        Vector::new(0.05, 0.98, -0.1),
        Convention::GENERAL,
    )
    .unwrap()
}

fn field(id: &str, depth: f64) -> Field {
    Field::new(transducer(id).unwrap(), Mm::new(depth), ApexSide::Top)
}

/// Settings without anything that bends a level.
fn flat(field: &Field) -> GreySettings {
    GreySettings {
        compensation_db: 0.0,
        dynamic_range_db: 100.0,
        ..GreySettings::for_field(field)
    }
}

/// No texture beyond speckle: the key of a fluid with the values of a solid.
fn even(att: f64, bs: f64) -> Tissue {
    plain("serous_fluid", 1.6, att, bs, 0.0)
}

fn everywhere() -> Vec<[f64; 2]> {
    slab([-400.0, 400.0], [-200.0, 400.0])
}

struct Shown {
    rgba: Vec<u8>,
    frame: Frame,
    field: Field,
    settings: GreySettings,
    energies: Vec<f32>,
}

fn show(phantom: &Phantom, field: Field, settings: GreySettings, origin: [f64; 3]) -> Shown {
    let frame = Frame::fit(&field, 512, 512, Margins::all(10.0));
    let mut scratch = GreyScratch::default();
    let mut rgba = Vec::new();
    let plane = plane_at(origin);
    grey_scale_of_phantom(
        phantom,
        &plane,
        &field,
        &frame,
        &settings,
        &mut scratch,
        &mut rgba,
    );
    let energies = scratch.image.energies(scratch.spread.as_ref().unwrap());
    Shown {
        rgba,
        frame,
        field,
        settings,
        energies,
    }
}

impl Shown {
    /// Mean level of pixels around a depth on beams between two, dB against liver, undone from the grey.
    fn level_db(&self, beams: [f64; 2], depths: [f64; 2]) -> f64 {
        let (mut sum, mut n) = (0.0, 0.0);
        for y in 0..self.frame.height() {
            for x in 0..self.frame.width() {
                let p = self
                    .field
                    .beam_point(self.frame.to_mm([f64::from(x), f64::from(y)]));
                if (beams[0]..beams[1]).contains(&p.beam)
                    && (depths[0]..depths[1]).contains(&p.depth_mm)
                {
                    let grey = self.rgba[(y * self.frame.width() + x) as usize * 4];
                    assert!(grey > 0 && grey < 255, "clipped: {grey} at {p:?}");
                    sum += f64::from(grey);
                    n += 1.0;
                }
            }
        }
        assert!(n > 200.0, "only {n} pixels");
        (sum / n / 255.0 - LIVER_GREY) * self.settings.dynamic_range_db
    }

    /// Mean energy in a part of beam space, dB.
    fn energy_db(&self, beams: std::ops::Range<usize>, samples: std::ops::Range<usize>) -> f64 {
        let mut sum = 0.0;
        let n = beams.len() * samples.len();
        for k in beams {
            for i in samples.clone() {
                sum += f64::from(self.energies[k * SAMPLES + i]);
            }
        }
        10.0 * libm::log10(sum / n as f64)
    }

    fn sample(&self, depth_mm: f64) -> usize {
        (depth_mm / self.field.depth().get() * SAMPLES as f64) as usize
    }
}

#[test]
fn attenuation_is_read_back_from_pixels() {
    for (id, depth, mhz, att) in [
        ("convex", 140.0, 3.5, 0.5),
        ("convex", 140.0, 2.0, 1.0),
        ("linear", 60.0, 7.0, 0.5),
        ("phased", 150.0, 2.5, 0.6),
        ("endocavity", 80.0, 6.0, 0.5),
    ] {
        let field = field(id, depth);
        let settings = GreySettings {
            frequency_mhz: mhz,
            ..flat(&field)
        };
        let phantom = Phantom::default().with(even(att, 20.0), everywhere());
        let shown = show(&phantom, field, settings, [30.0, -80.0, 40.0]);
        let (near, far) = (0.3 * depth, 0.7 * depth);
        let half = 0.06 * depth;
        let a = shown.level_db([-0.8, 0.8], [near - half, near + half]);
        let b = shown.level_db([-0.8, 0.8], [far - half, far + half]);
        let want = round_trip_loss_db(att, 1.0, mhz, far - near);
        assert!(
            (a - b - want).abs() < 1.0,
            "{id} at {mhz} MHz: {:.2} dB instead of {want:.2}",
            a - b
        );
    }
}

#[test]
fn compensation_and_sliders_undo_attenuation() {
    let field = field("convex", 140.0);
    let phantom = Phantom::default().with(even(0.5, 0.0), everywhere());
    let mut settings = GreySettings {
        compensation_db: 0.5,
        ..flat(&field)
    };
    let shown = show(&phantom, field, settings, [0.0; 3]);
    let at = |shown: &Shown, depth: f64| shown.level_db([-0.8, 0.8], [depth - 8.0, depth + 8.0]);
    assert!((at(&shown, 30.0) - at(&shown, 110.0)).abs() < 1.0, "even");
    settings.tgc = [0.0, 0.0, 0.0, 0.0, 6.0, 12.0, 12.0, 12.0];
    let raised = show(&phantom, field, settings, [0.0; 3]);
    assert!(
        (at(&raised, 30.0) - at(&shown, 30.0)).abs() < 0.2,
        "as before"
    );
    assert!(
        (at(&raised, 115.0) - at(&shown, 115.0) - 12.0).abs() < 0.2,
        "raised by the slider"
    );
    settings.gain_db = -7.0;
    let lower = show(&phantom, field, settings, [0.0; 3]);
    assert!(
        (at(&raised, 60.0) - at(&lower, 60.0) - 7.0).abs() < 0.2,
        "gain is the same everywhere"
    );
}

#[test]
fn fluid_is_black_and_enhances_what_lies_behind() {
    // 5 cm of urine at 3.5 MHz: 2 (0.5 - 0.02) 3.5 5 = 16.8 dB. No boundary echoes: one impedance throughout.
    let field = field("convex", 140.0);
    let tissue = Tissue {
        key: "serous_fluid".to_owned(),
        ..even(0.5, 15.0)
    };
    let phantom = Phantom::default()
        .with(tissue, everywhere())
        .with(even(0.02, -48.0), slab([-400.0, 0.0], [40.0, 90.0]));
    let shown = show(&phantom, field, flat(&field), [10.0, 0.0, 60.0]);
    // The slab's faces are level, so its path on slanted beams is longer; stay near the middle.
    let behind = shown.level_db([-0.3, -0.1], [97.0, 120.0]);
    let beside = shown.level_db([0.1, 0.3], [97.0, 120.0]);
    let longer = 1.0 / Angle::deg(66.0 / 2.0 * 0.2).cos();
    let want = round_trip_loss_db(0.5, 1.0, 3.5, 50.0) - round_trip_loss_db(0.02, 1.0, 3.5, 50.0);
    assert!(
        (behind - beside - want * longer).abs() < 1.0,
        "{:.2} dB instead of {want:.2}",
        behind - beside
    );
    let settings = GreySettings::for_field(&field);
    let usual = show(&phantom, field, settings, [10.0, 0.0, 60.0]);
    let place = usual.frame.to_px([-8.0, 65.0]).map(|x| x as usize);
    let grey = usual.rgba[(place[1] * 512 + place[0]) * 4];
    assert_eq!(grey, 0, "the fluid itself is black");
}

/// Speckle of an even phantom, read before compression.
#[test]
fn speckle_is_fully_developed_and_as_wide_as_the_transducer_states() {
    for (id, depth) in [("convex", 140.0), ("linear", 50.0), ("micro_convex", 90.0)] {
        let field = field(id, depth);
        let settings = flat(&field);
        let phantom = Phantom::default().with(even(0.0, 0.0), everywhere());
        let mut snr = Vec::new();
        let (mut axial, mut lateral) = (Vec::new(), Vec::new());
        for origin in [[0.0; 3], [31.0, 7.0, 260.0], [-80.0, 44.0, -300.0]] {
            let shown = show(&phantom, field, settings, origin);
            let (from, to) = (shown.sample(0.45 * depth), shown.sample(0.55 * depth));
            let level = shown.energy_db(20..236, from..to);
            // The same decibel that levels read from pixels are allowed.
            assert!(level.abs() < 1.0, "{id}: level {level} dB instead of 0");
            let at = |k: usize, i: usize| f64::from(shown.energies[k * SAMPLES + i]);
            let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
            for k in 10..246 {
                for i in from..to {
                    let amplitude = at(k, i).sqrt();
                    n += 1.0;
                    sum += amplitude;
                    squares += amplitude * amplitude;
                }
            }
            let mean = sum / n;
            snr.push(mean / (squares / n - mean * mean).sqrt());
            // Covariance of the intensity at a shift along and across.
            let covariance = |dk: usize, di: usize| {
                let (mut n, mut a, mut b, mut ab) = (0.0, 0.0, 0.0, 0.0);
                for k in 10..226 {
                    for i in from..to {
                        let (x, y) = (at(k, i), at(k + dk, i + di));
                        n += 1.0;
                        a += x;
                        b += y;
                        ab += x * y;
                    }
                }
                ab / n - a / n * (b / n)
            };
            let whole = covariance(0, 0);
            let half_width = |f: &dyn Fn(usize) -> f64| {
                let mut before = 1.0;
                for d in 1..20 {
                    let now = f(d) / whole;
                    if now < 0.5 {
                        return d as f64 - (0.5 - now) / (before - now);
                    }
                    before = now;
                }
                panic!("{id}: never below half");
            };
            let grid = BeamGrid::new(&field);
            axial.push(2.0 * half_width(&|d| covariance(0, d)) * grid.step_mm);
            lateral.push(2.0 * half_width(&|d| covariance(d, 0)) * grid.spacing_mm(0.5 * depth));
        }
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
        assert!(
            (mean(&snr) - 1.91).abs() < 0.1,
            "{id}: envelope SNR {snr:?} instead of 1.91"
        );
        let (along, across) = resolution_mm(&field, &settings, 0.5 * depth);
        for (what, got, want) in [
            ("along", mean(&axial), along),
            ("across", mean(&lateral), across),
        ] {
            // The cells of the scatterers add a little; a few hundred speckles leave some chance.
            assert!(
                (got / want - 1.0).abs() < 0.25,
                "{id}: speckle {what} the beam {got:.3} mm wide instead of {want:.3}"
            );
        }
    }
}

/// Correlation of the logarithmic pictures of two planes.
fn alike(a: &Shown, b: &Shown, shift: i64) -> f64 {
    let value = |s: &Shown, k: i64, i: usize| {
        10.0 * libm::log10(f64::from(s.energies[k as usize * SAMPLES + i]) + 1e-9)
    };
    let (mut n, mut sa, mut sb, mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for k in 40..216_i64 {
        for i in 120..400 {
            let (x, y) = (value(a, k, i), value(b, k + shift, i));
            n += 1.0;
            sa += x;
            sb += y;
            aa += x * x;
            bb += y * y;
            ab += x * y;
        }
    }
    (ab / n - sa / n * sb / n)
        / ((aa / n - sa / n * (sa / n)) * (bb / n - sb / n * (sb / n))).sqrt()
}

#[test]
fn speckle_belongs_to_the_tissue_and_leaves_with_the_slice() {
    let field = field("linear", 50.0);
    let settings = flat(&field);
    let phantom = Phantom::default().with(even(0.0, 0.0), everywhere());
    let first = plane_at([0.0; 3]);
    let at = |row: f64, normal: f64| {
        let moved =
            first.origin() + first.row().to_vector() * row + first.normal().to_vector() * normal;
        show(&phantom, field, settings, moved.to_array())
    };
    let here = at(0.0, 0.0);
    // Ten beams to image right: the tissue moves ten beams to image left.
    let pitch = BeamGrid::new(&field).pitch;
    let slid = at(10.0 * pitch, 0.0);
    let with_tissue = alike(&here, &slid, -10);
    let with_screen = alike(&here, &slid, 0);
    assert!(with_tissue > 0.85, "moves with the tissue: {with_tissue}");
    assert!(
        with_screen < 0.15,
        "is not fixed on the screen: {with_screen}"
    );
    let mut last = 1.0;
    for (off, least, most) in [(0.03, 0.6, 1.0), (0.2, 0.05, 0.8), (2.0, -0.1, 0.1)] {
        let now = alike(&here, &at(0.0, off), 0);
        assert!(
            now < last,
            "falls on the way out of the slice: {now} at {off} mm"
        );
        assert!((least..most).contains(&now), "{now} at {off} mm");
        last = now;
    }
}

#[test]
fn bone_and_stone_cast_clean_shadows_and_gas_a_dirty_one() {
    let field = field("convex", 140.0);
    let settings = flat(&field);
    let level = |reflector: Tissue| {
        let phantom = Phantom::default()
            .with(even(0.5, 0.0), everywhere())
            .with(reflector, ring([0.0, 50.0], 12.0));
        let shown = show(&phantom, field, settings, [0.0; 3]);
        // The face and the front of the reflector make a ghost at 76 mm.
        let (from, to) = (shown.sample(65.0), shown.sample(73.0));
        let front = shown.energy_db(124..132, shown.sample(36.0)..shown.sample(40.0));
        (
            shown.energy_db(122..134, from..to) - shown.energy_db(20..40, from..to),
            front - shown.energy_db(20..40, shown.sample(36.0)..shown.sample(40.0)),
        )
    };
    let bone = Tissue {
        c: 3432.0,
        shadow: true,
        ..plain("bone", 6.5, 15.0, 10.0, 1.0)
    };
    let stone = Tissue {
        c: 3000.0,
        shadow: true,
        ..plain("stone", 5.0, 10.0, 5.0, 1.0)
    };
    let gas = Tissue {
        c: 343.0,
        shadow: true,
        ..plain("gas", 0.0004, 40.0, 12.0, 1.0)
    };
    for (name, tissue, dark, grey) in [
        ("bone", bone, -25.0, -90.0),
        ("stone", stone, -25.0, -90.0),
        ("gas", gas, -6.0, -25.0),
    ] {
        let (shadow, front) = level(tissue);
        assert!(front > 15.0, "{name}: bright front, {front} dB");
        assert!(
            shadow < dark && shadow > grey,
            "{name}: {shadow} dB beside the shadow"
        );
    }
}

#[test]
fn round_things_have_edge_shadows() {
    let field = field("linear", 50.0);
    let cyst = Tissue {
        c: 1480.0,
        ..even(0.5, -40.0)
    };
    let phantom = Phantom::default()
        .with(even(0.5, 0.0), everywhere())
        .with(cyst, ring([0.0, 20.0], 8.0));
    let shown = show(&phantom, field, flat(&field), [0.0; 3]);
    let pitch = BeamGrid::new(&field).pitch;
    let beam = |x: f64| (127.5 + x / pitch) as usize;
    let (from, to) = (shown.sample(31.0), shown.sample(44.0));
    let at = |x: f64| shown.energy_db(beam(x) - 2..beam(x) + 2, from..to);
    let beside = shown.energy_db(beam(13.0)..beam(20.0), from..to);
    for edge in [-7.7, 7.7] {
        assert!(
            at(edge) < beside - 3.0,
            "{} at {edge} of {beside}",
            at(edge)
        );
    }
    assert!(at(0.0) > beside - 1.0, "the middle keeps its light");
}

#[test]
fn a_mirror_shows_what_lies_in_front_of_it_again() {
    let field = field("linear", 80.0);
    let lung = Tissue {
        c: 650.0,
        shadow: true,
        ..plain("lung", 0.169, 40.0, 8.0, 1.0)
    };
    let phantom = Phantom::default()
        .with(even(0.3, 0.0), everywhere())
        .with(even(0.3, -40.0), ring([0.0, 28.0], 5.0))
        .with(lung, slab([-400.0, 400.0], [40.0, 300.0]));
    let settings = GreySettings {
        frequency_mhz: 4.0,
        ..flat(&field)
    };
    let shown = show(&phantom, field, settings, [0.0; 3]);
    let pitch = BeamGrid::new(&field).pitch;
    let side = (127.5 + 18.0 / pitch) as usize;
    // 12 mm in front of the mirror, 12 mm behind it.
    let (from, to) = (shown.sample(50.0), shown.sample(54.0));
    let cyst = shown.energy_db(120..136, from..to);
    let tissue = shown.energy_db(side - 8..side + 8, from..to);
    let real = shown.energy_db(side - 8..side + 8, shown.sample(26.0)..shown.sample(30.0));
    assert!(cyst + 6.0 < tissue, "mirrored cyst {cyst}, tissue {tissue}");
    assert!(
        tissue < real && tissue > real - 25.0,
        "mirrored tissue {tissue} of {real}"
    );
}

#[test]
fn a_tilted_tendon_is_dark() {
    let field = field("linear", 40.0);
    let level = |degrees: f64| {
        let plane = plane_at([0.0; 3]);
        let angle = Angle::deg(degrees);
        let along = (plane.row().to_vector() * angle.cos()
            + plane.column().to_vector() * angle.sin())
        .direction()
        .unwrap();
        let tendon = Tissue {
            c: 1540.0,
            ..plain("tendon", 1.6, 0.5, 8.0, 0.0)
        };
        let phantom = Phantom::default()
            .with(even(0.5, 0.0), everywhere())
            .with_fibres(tendon, Some(along), slab([-100.0, 100.0], [12.0, 24.0]));
        let shown = show(&phantom, field, flat(&field), [0.0; 3]);
        shown.energy_db(40..216, shown.sample(14.0)..shown.sample(22.0))
    };
    let straight = level(0.0);
    assert!(level(3.0) < straight - 2.0, "a little tilt shows");
    assert!(level(10.0) < straight - 12.0, "ten degrees: dark");
    assert!((level(-10.0) - level(10.0)).abs() < 1.5, "either way");
}

#[test]
fn lost_contact_is_dark_below_a_bright_band() {
    let field = field("linear", 60.0);
    let phantom = Phantom::default().with(even(0.5, 0.0), slab([-400.0, 0.0], [-50.0, 300.0]));
    let settings = GreySettings::for_field(&field);
    let shown = show(&phantom, field, settings, [0.0; 3]);
    let band = shown.energy_db(180..240, 2..24);
    let below = shown.energy_db(180..240, shown.sample(20.0)..shown.sample(40.0));
    assert!(band > 5.0, "reverberation in the lens: {band} dB");
    assert!(below < -70.0, "nothing below: {below} dB");
}

#[test]
fn near_field_ghosts_lie_in_fluid_behind_the_wall() {
    // Two boundaries at 6 and 12 mm: their ghost lies at 18 mm.
    let field = field("linear", 50.0);
    let ghost = |first: f64| {
        let wall = plain("serous_fluid", 1.9, 0.5, -20.0, 1.0);
        let fluid = plain("urine", 1.53, 0.02, -60.0, 1.0);
        let phantom = Phantom::default()
            .with(even(0.5, -20.0), everywhere())
            .with(wall, slab([-400.0, 400.0], [first, 300.0]))
            .with(fluid, slab([-400.0, 400.0], [12.0, 300.0]));
        let shown = show(&phantom, field, flat(&field), [0.0; 3]);
        let at =
            |depth: f64| shown.energy_db(60..196, shown.sample(depth) - 2..shown.sample(depth) + 3);
        (at(12.0 + 12.0 - first), at(12.0 + 12.0 - first + 1.5))
    };
    for first in [6.0, 7.5] {
        let (there, beside) = ghost(first);
        assert!(there > beside + 6.0, "{there} dB, beside it {beside}");
    }
}

#[test]
fn depth_ticks_stand_at_their_depth_to_half_a_pixel() {
    // A sharp level step every centimetre, found again in the pixels of the middle column.
    for (id, depth) in [("convex", 140.0), ("linear", 50.0), ("phased", 150.0)] {
        let field = field(id, depth);
        let mut phantom = Phantom::default().with(even(0.0, -30.0), everywhere());
        let thin = 0.01;
        for tick in field.depth_ticks().iter().skip(1) {
            let line = plain("serous_fluid", 1.75, 0.0, -30.0, 1.0);
            let y = tick.at[1];
            phantom = phantom.with(line, slab([-400.0, 400.0], [y - thin, y + thin]));
        }
        let shown = show(&phantom, field, flat(&field), [0.0; 3]);
        let x = shown.frame.to_px([0.0, 0.0])[0].round() as u32;
        let grey = |y: f64| {
            let y = y as u32;
            f64::from(shown.rgba[(y * 512 + x) as usize * 4])
        };
        for tick in field.depth_ticks().iter().skip(1) {
            let y = shown.frame.to_px(tick.at)[1];
            if tick.at[1] > depth - 5.0 {
                continue;
            }
            let (mut weight, mut sum) = (0.0, 0.0);
            for near in -5..=5 {
                let at = (y + f64::from(near)).round();
                let w = libm::pow(10.0, grey(at) / 255.0 * 5.0);
                weight += w;
                sum += w * at;
            }
            let found = sum / weight;
            assert!(
                (found - y).abs() < 0.5,
                "{id}: tick {} at {y:.2}, seen at {found:.2}",
                tick.cm
            );
        }
    }
}

/// FNV-1a, 64 bits (Fowler, Noll, Vo; public domain).
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// Hashes of pictures that were looked at when they were recorded. A change of the model changes them: look again.
#[test]
fn golden_pictures_are_the_recorded_ones() {
    let got: Vec<(&str, u64)> = golden_pictures()
        .iter()
        .map(|(id, rgba)| (*id, fnv(rgba)))
        .collect();
    assert_eq!(got, GOLDEN, "{got:#x?}");
}

const GOLDEN: [(&str, u64); 8] = [
    ("convex", 0xa5da_58d8_f8c5_65d8),
    ("volume_convex", 0xea67_9544_ecfb_fb96),
    ("linear", 0xfab8_973a_84d4_63c3),
    ("linear_narrow", 0xacd6_13e8_e78c_d7ad),
    ("hockey_stick", 0x4da9_f2ba_e9b4_ed99),
    ("micro_convex", 0x75dc_0e3d_17ad_c53c),
    ("phased", 0x0865_82f7_5b89_0b00),
    ("endocavity", 0xe496_371d_ab83_ec91),
];
