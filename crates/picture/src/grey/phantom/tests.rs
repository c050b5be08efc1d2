//! What the picture must show of itself, on phantoms whose answer is a formula.

use super::*;
use crate::grey::acoustics::round_trip_loss_db;
use crate::grey::beam_grid::{BeamGrid, Detail, SAMPLES};
use crate::grey::compression::LIVER_GREY;
use crate::grey::resolution_mm;
use crate::transducer::{transducer, transducers};
use geometry::{Angle, Convention, Point, Vector};

mod artefacts;

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
    let energies = scratch.image.energies();
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

/// `thick` mm of urine in tissue of 0.5 dB/(cm MHz), from a third of the depth on; the formula behind it is
/// 2 (0.5 - 0.02) MHz thickness. No boundary echoes: one impedance throughout.
fn check_enhancement(id: &str, depth: f64, mhz: f64, thick: f64) {
    let field = field(id, depth);
    let settings = GreySettings {
        frequency_mhz: mhz,
        ..flat(&field)
    };
    let front = depth / 3.0;
    let phantom = Phantom::default().with(even(0.5, 15.0), everywhere()).with(
        even(0.02, -48.0),
        slab([-400.0, 0.0], [front, front + thick]),
    );
    let shown = show(&phantom, field, settings, [10.0, 0.0, 60.0]);
    // The slab's faces are level, so its path on slanted beams is longer; stay near the middle.
    let from = front + thick + 0.05 * depth;
    let depths = [from, from + 0.16 * depth];
    let behind = shown.level_db([-0.3, -0.1], depths);
    let beside = shown.level_db([0.1, 0.3], depths);
    let longer = 1.0 / (field.half_angle() * 0.2).cos();
    let want = round_trip_loss_db(0.5, 1.0, mhz, thick) - round_trip_loss_db(0.02, 1.0, mhz, thick);
    assert!(
        (behind - beside - want * longer).abs() < 1.0,
        "{id} at {mhz} MHz: {:.2} dB instead of {want:.2}",
        behind - beside
    );
    let settings = GreySettings::for_field(&field);
    let usual = show(&phantom, field, settings, [10.0, 0.0, 60.0]);
    let inside = [
        -0.1 * usual.field.width_at(Mm::new(front)).get(),
        front + 0.5 * thick,
    ];
    let place = usual.frame.to_px(inside).map(|x| x as usize);
    let grey = usual.rgba[(place[1] * 512 + place[0]) * 4];
    assert_eq!(grey, 0, "{id}: the fluid itself is black");
}

#[test]
fn fluid_is_black_and_enhances_what_lies_behind() {
    // The first case is the worked example of 5 cm at 3.5 MHz: 16.8 dB.
    check_enhancement("convex", 140.0, 3.5, 50.0);
    check_enhancement("convex", 140.0, 2.5, 30.0);
    check_enhancement("linear", 60.0, 8.0, 12.0);
    check_enhancement("micro_convex", 80.0, 6.0, 20.0);
    check_enhancement("phased", 150.0, 2.0, 40.0);
}

/// Speckle of an even phantom, read before compression.
#[test]
fn speckle_is_fully_developed_and_as_wide_as_the_transducer_states() {
    for transducer in transducers() {
        let (id, depth) = (transducer.id, transducer.usual_depth.get());
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
            let grid = BeamGrid::new(&field, Detail::Full);
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
    let pitch = BeamGrid::new(&field, Detail::Full).pitch;
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

/// A thin bright line at every centimetre, found again in the pixels of the middle column.
fn check_ticks(field: Field) {
    let id = field.transducer().id;
    let depth = field.depth().get();
    let mut phantom =
        Phantom::default().with(even(0.0, -30.0), slab([-400.0, 400.0], [-400.0, 400.0]));
    let thin = 0.01;
    // The first lies at the face, the last may lie at the end, half cut off.
    let ticks: Vec<_> = field.depth_ticks();
    let ticks = ticks
        .iter()
        .filter(|t| t.cm > 0 && f64::from(t.cm) * 10.0 < depth - 5.0);
    for tick in ticks.clone() {
        let line = plain("serous_fluid", 1.75, 0.0, -30.0, 1.0);
        let y = tick.at[1];
        assert!(
            (y.abs() - f64::from(tick.cm) * 10.0).abs() < 1e-9,
            "{id}: {} cm is {y} mm",
            tick.cm
        );
        phantom = phantom.with(line, slab([-400.0, 400.0], [y - thin, y + thin]));
    }
    let shown = show(&phantom, field, flat(&field), [0.0; 3]);
    let x = shown.frame.to_px([0.0, 0.0])[0].round() as u32;
    let grey = |y: f64| f64::from(shown.rgba[(y as u32 * 512 + x) as usize * 4]);
    let mut found_any = false;
    for tick in ticks {
        let y = shown.frame.to_px(tick.at)[1];
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
        found_any = true;
    }
    assert!(found_any, "{id}: no tick was looked at");
}

#[test]
fn depth_ticks_stand_at_their_depth_to_half_a_pixel() {
    for transducer in transducers() {
        for apex in [ApexSide::Top, ApexSide::Bottom] {
            check_ticks(Field::new(transducer, transducer.usual_depth, apex));
        }
    }
}

/// Hashes of pictures that were looked at when they were recorded (`cargo run -p picture --example golden -- FOLDER`
/// draws them, without a folder it prints the lines). A change of the model changes them: look again.
#[test]
fn golden_pictures_are_the_recorded_ones() {
    let recorded: Vec<&str> = include_str!("../../../tests/data/golden.txt")
        .lines()
        .collect();
    let drawn = golden_lines();
    assert!(drawn.len() > 4, "every transducer has its picture");
    assert_eq!(drawn, recorded, "{}", drawn.join("\n"));
}
