//! Artefacts on phantoms: shadows, edges, mirror images, ghosts, fibres, lost contact.

use super::*;

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
    let pitch = BeamGrid::new(&field, Detail::Full).pitch;
    let beam = |x: f64| (127.5 + x / pitch) as usize;
    let (from, to) = (shown.sample(31.0), shown.sample(44.0));
    let at = |x: f64| shown.energy_db(beam(x) - 2..beam(x) + 2, from..to);
    let beside = shown.energy_db(beam(13.0)..beam(20.0), from..to);
    let edges = [-7.7, 7.7].map(at);
    // Each is four beams wide: half a decibel of chance.
    assert!(
        edges.iter().all(|edge| *edge < beside - 2.0) && edges[0] + edges[1] < 2.0 * beside - 6.0,
        "{edges:?} at the edges, {beside} beside"
    );
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
    let pitch = BeamGrid::new(&field, Detail::Full).pitch;
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

/// A sheath around a muscle, without any change of impedance and without loss on the way: only its fibres count.
#[test]
fn the_sides_of_a_sheath_drop_out() {
    let field = field("linear", 50.0);
    let level = |key: &str| {
        let phantom = Phantom::default()
            .with(even(0.0, -20.0), everywhere())
            .with(plain(key, 1.6, 0.0, 6.0, 0.0), ring([0.0, 22.0], 10.0))
            .with(even(0.0, -20.0), ring([0.0, 22.0], 8.0));
        let shown = show(&phantom, field, flat(&field), [0.0; 3]);
        let pitch = BeamGrid::new(&field, Detail::Full).pitch;
        let beam = |x: f64| (127.5 + x / pitch) as usize;
        let part = |x: [f64; 2], depths: [f64; 2]| {
            shown.energy_db(
                beam(x[0])..beam(x[1]),
                shown.sample(depths[0])..shown.sample(depths[1]),
            )
        };
        let front = part([-2.0, 2.0], [12.5, 13.5]);
        let sides = [[-9.4, -8.6], [8.6, 9.4]].map(|x| part(x, [20.0, 24.0]));
        sides.map(|side| side - front)
    };
    let drops = level("fascia");
    assert!(
        drops.iter().all(|drop| (-18.0..-8.0).contains(drop)),
        "{drops:?} dB"
    );
    let even = level("serous_fluid");
    assert!(even.iter().all(|drop| drop.abs() < 2.0), "{even:?} dB");
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
fn the_pleura_repeats_itself_and_mirrors_only_long_waves() {
    // Lung at 18 mm: its line comes again at 36 and 54 mm.
    let field = field("linear", 60.0);
    let lung = Tissue {
        c: 650.0,
        shadow: true,
        ..plain("lung", 0.169, 40.0, 8.0, 1.0)
    };
    let phantom = Phantom::default()
        .with(even(0.4, -6.0), everywhere())
        .with(even(0.4, -45.0), ring([0.0, 11.0], 3.0))
        .with(lung, slab([-400.0, 400.0], [18.0, 300.0]));
    let pitch = BeamGrid::new(&field, Detail::Full).pitch;
    let side = (127.5 + 15.0 / pitch) as usize;
    let seen = |mhz: f64| {
        let settings = GreySettings {
            frequency_mhz: mhz,
            ..flat(&field)
        };
        let shown = show(&phantom, field, settings, [0.0; 3]);
        let at = |beams: std::ops::Range<usize>, depth: f64, half: usize| {
            let i = shown.sample(depth);
            shown.energy_db(beams, i - half..i + half + 1)
        };
        let again = [36.0, 54.0].map(|depth| {
            at(side - 40..side + 40, depth, 2) - at(side - 40..side + 40, depth + 3.0, 4)
        });
        // The cyst 7 mm in front of the pleura, 7 mm behind it.
        let mirrored = at(side - 10..side + 10, 25.0, 12) - at(118..138, 25.0, 12);
        (again, mirrored)
    };
    for mhz in [4.0, 9.0] {
        let (again, _) = seen(mhz);
        assert!(
            again.iter().all(|rise| *rise > 6.0),
            "at {mhz} MHz lines {again:?} dB over what lies behind them"
        );
    }
    let (long, short) = (seen(4.0).1, seen(11.0).1);
    assert!(long > 4.0, "4 MHz mirrors the cyst: {long} dB");
    assert!(short < 2.0, "11 MHz shows haze: {short} dB");
}

#[test]
fn a_boundary_is_uneven_but_keeps_its_mean() {
    let field = field("linear", 50.0);
    let phantom = Phantom::default()
        .with(even(0.3, -40.0), everywhere())
        .with(
            plain("serous_fluid", 1.8, 0.3, -40.0, 1.0),
            slab([-400.0, 400.0], [20.0, 300.0]),
        );
    let level = |origin: [f64; 3]| {
        let shown = show(&phantom, field, flat(&field), origin);
        let i = shown.sample(20.0);
        let line: Vec<f64> = (20..236)
            .map(|k| shown.energy_db(k..k + 1, i - 2..i + 3))
            .collect();
        let count = line.len() as f64;
        let mean = line.iter().sum::<f64>() / count;
        let spread = line.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / count;
        (mean, spread.sqrt())
    };
    let places = [
        [0.0; 3],
        [40.0, 0.0, 0.0],
        [0.0, 90.0, 33.0],
        [7.0, 7.0, 210.0],
    ]
    .map(level);
    for (mean, spread) in places {
        assert!((0.5..4.0).contains(&spread), "{places:?}");
        assert!((mean - places[0].0).abs() < 2.5, "{places:?}");
    }
}
