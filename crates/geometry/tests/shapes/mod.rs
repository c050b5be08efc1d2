//! Closed meshes to cut, for tests and benches.
#![allow(
    dead_code,
    clippy::allow_attributes,
    unreachable_pub,
    reason = "each test and bench uses some of these"
)]

use geometry::{Angle, Mesh};

/// A small deterministic source of numbers (`SplitMix64`; Steele, Lea, Flood, OOPSLA 2014; from
/// memory).
pub struct Seeded(pub u64);

impl Seeded {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        let whole = u32::try_from(self.next() >> 32).expect("32 bits");
        low + (high - low) * f64::from(whole) / f64::from(u32::MAX)
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest f32 is meant"
)]
fn position(x: f64, y: f64, z: f64) -> [f32; 3] {
    [x as f32, y as f32, z as f32]
}

/// A ball round `centre` with `rings` rings of `2 × rings` quads, its radius waved by `bumps`
/// (amplitude as a part of the radius).
pub fn ball(centre: [f64; 3], radius: f64, rings: u32, bumps: f64) -> Mesh {
    let around = 2 * rings;
    let mut mesh = Mesh::default();
    let mut put = |polar: Angle, azimuth: Angle| {
        let wave = (azimuth * 3.0).sin() * polar.sin() * (polar * 4.0).cos();
        let radius = radius * (1.0 + bumps * wave);
        mesh.positions.push(position(
            centre[0] + radius * polar.sin() * azimuth.cos(),
            centre[1] + radius * polar.sin() * azimuth.sin(),
            centre[2] + radius * polar.cos(),
        ));
    };
    put(Angle::ZERO, Angle::ZERO);
    for ring in 1..rings {
        for step in 0..around {
            put(
                Angle::deg(180.0 * f64::from(ring) / f64::from(rings)),
                Angle::deg(360.0 * f64::from(step) / f64::from(around)),
            );
        }
    }
    put(Angle::deg(180.0), Angle::ZERO);
    let at = |ring: u32, step: u32| 1 + (ring - 1) * around + step % around;
    let last = 1 + (rings - 1) * around;
    for step in 0..around {
        mesh.triangles.push([0, at(1, step), at(1, step + 1)]);
        mesh.triangles
            .push([last, at(rings - 1, step + 1), at(rings - 1, step)]);
        for ring in 1..rings - 1 {
            let (a, b) = (at(ring, step), at(ring, step + 1));
            let (c, d) = (at(ring + 1, step + 1), at(ring + 1, step));
            mesh.triangles.push([a, d, c]);
            mesh.triangles.push([a, c, b]);
        }
    }
    mesh
}

/// A ring round the z axis through `centre`: `large` from the centre to the tube's middle, `small`
/// the tube's radius.
pub fn ring(centre: [f64; 3], large: f64, small: f64, around: u32, across: u32) -> Mesh {
    let mut mesh = Mesh::default();
    for step in 0..around {
        let azimuth = Angle::deg(360.0 * f64::from(step) / f64::from(around));
        for turn in 0..across {
            let tube = Angle::deg(360.0 * f64::from(turn) / f64::from(across));
            let out = large + small * tube.cos();
            mesh.positions.push(position(
                centre[0] + out * azimuth.cos(),
                centre[1] + out * azimuth.sin(),
                centre[2] + small * tube.sin(),
            ));
        }
    }
    let at = |step: u32, turn: u32| (step % around) * across + turn % across;
    for step in 0..around {
        for turn in 0..across {
            let (a, b) = (at(step, turn), at(step + 1, turn));
            let (c, d) = (at(step + 1, turn + 1), at(step, turn + 1));
            mesh.triangles.push([a, b, c]);
            mesh.triangles.push([a, c, d]);
        }
    }
    mesh
}

/// A cube from the origin to (side, side, side) whose faces are grids of whole millimetres, so that
/// planes can pass exactly through its vertices, edges and faces.
pub fn grid_cube(side: u32) -> Mesh {
    let mut mesh = Mesh::default();
    let mut vertex = |x: u32, y: u32, z: u32| -> u32 {
        let place = position(f64::from(x), f64::from(y), f64::from(z));
        let known = mesh
            .positions
            .iter()
            .position(|other| other.map(f32::to_bits) == place.map(f32::to_bits));
        let found = known.unwrap_or_else(|| {
            mesh.positions.push(place);
            mesh.positions.len() - 1
        });
        u32::try_from(found).expect("few vertices")
    };
    let mut triangles = Vec::new();
    for i in 0..side {
        for j in 0..side {
            // A unit square in (i, j) on each of six faces, counter-clockwise from outside.
            let squares: [[(u32, u32, u32); 4]; 6] = [
                [(i, j, 0), (i, j + 1, 0), (i + 1, j + 1, 0), (i + 1, j, 0)],
                [
                    (i, j, side),
                    (i + 1, j, side),
                    (i + 1, j + 1, side),
                    (i, j + 1, side),
                ],
                [(i, 0, j), (i + 1, 0, j), (i + 1, 0, j + 1), (i, 0, j + 1)],
                [
                    (i, side, j),
                    (i, side, j + 1),
                    (i + 1, side, j + 1),
                    (i + 1, side, j),
                ],
                [(0, i, j), (0, i, j + 1), (0, i + 1, j + 1), (0, i + 1, j)],
                [
                    (side, i, j),
                    (side, i + 1, j),
                    (side, i + 1, j + 1),
                    (side, i, j + 1),
                ],
            ];
            for square in squares {
                let [a, b, c, d] = square.map(|(x, y, z)| vertex(x, y, z));
                triangles.push([a, b, c]);
                triangles.push([a, c, d]);
            }
        }
    }
    mesh.triangles = triangles;
    mesh
}

/// `count` balls and rings of about `triangles` triangles in all, strewn through a trunk-sized box:
/// something like a body's worth of organs.
pub fn organs(count: u32, triangles: u32, seed: u64) -> Vec<Mesh> {
    let mut seeded = Seeded(seed);
    let each = f64::from(triangles) / f64::from(count);
    (0..count)
        .map(|number| {
            let centre = [
                seeded.between(-130.0, 130.0),
                seeded.between(-80.0, 80.0),
                seeded.between(-250.0, 250.0),
            ];
            // A ball of r rings has about 4 r² triangles, a ring of 4 n × n quads 8 n².
            if number % 4 == 3 {
                let n = whole((each / 8.0).sqrt());
                ring(
                    centre,
                    seeded.between(20.0, 60.0),
                    seeded.between(4.0, 15.0),
                    4 * n,
                    n,
                )
            } else {
                let bumps = seeded.between(0.0, 0.3);
                ball(
                    centre,
                    seeded.between(15.0, 80.0),
                    whole((each / 4.0).sqrt()),
                    bumps,
                )
            }
        })
        .collect()
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a small positive count"
)]
fn whole(value: f64) -> u32 {
    value.round() as u32
}
