//! The distance formulas on values worked out by hand.

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

use sculpt::gauge::{ellipsoid, smooth_max, smooth_min, superellipse, superellipsoid};
use sculpt::loft::{Curve, Loft, LoftRow};
use sculpt::shape::Shape;
use sculpt::triple::{Triple, turn_xyz};
use sculpt::tube::{Tube, TubeRow};

/// Rounding of a dozen operations on numbers of this size, mm.
const ROUNDING: f64 = 1e-9;

fn check(what: &str, value: f64, wanted: f64) {
    assert!(
        (value - wanted).abs() < ROUNDING,
        "{what}: {value} instead of {wanted}"
    );
}

fn alone(shape: &Shape, p: Triple) -> f64 {
    shape.value(p, &|_| f64::NAN)
}

#[test]
fn ellipsoid_is_exact_on_its_axes_and_on_a_ball() {
    let r = [2.0, 3.0, 6.0];
    for (p, wanted) in [
        ([2.0, 0.0, 0.0], 0.0),
        ([5.0, 0.0, 0.0], 3.0),
        ([0.0, -4.0, 0.0], 1.0),
        ([0.0, 0.0, 3.0], -3.0),
        ([0.0, 0.0, 0.0], -2.0),
    ] {
        check("on an axis", ellipsoid(p, r), wanted);
    }
    check("ball", ellipsoid([3.0, 4.0, 12.0], [10.0; 3]), 3.0);
    // k0 = |(1, 1, 0)| = √2, k1 = |(1/2, 1/3, 0)| = √13/6.
    let (k0, k1) = (2.0_f64.sqrt(), 13.0_f64.sqrt() / 6.0);
    check(
        "oblique",
        ellipsoid([2.0, 3.0, 0.0], r),
        k0 * (k0 - 1.0) / k1,
    );
}

#[test]
fn superellipsoid_with_exponents_two_is_the_ellipsoid() {
    let r = [4.0, 5.0, 7.0];
    for p in [[1.0, 2.0, 3.0], [-6.0, 1.0, 9.0], [3.0, -3.0, 0.5]] {
        check("both", superellipsoid(p, r, 2.0, 2.0), ellipsoid(p, r));
    }
    // Exponent 4 on x alone: N = |x|/4, |grad N| = 1/4.
    check(
        "on an axis",
        superellipsoid([6.0, 0.0, 0.0], r, 4.0, 3.0),
        2.0,
    );
}

#[test]
fn superellipse_of_high_exponent_nears_its_box() {
    check("side", superellipse(12.0, 0.0, 10.0, 5.0, 4.0), 2.0);
    // N = (1 + 1)^(1/4) on the corner; grad N = N^-3 (1/10, 1/5).
    let n = 2.0_f64.sqrt().sqrt();
    let g = (0.01_f64 + 0.04).sqrt() / (n * n * n);
    check(
        "corner",
        superellipse(10.0, 5.0, 10.0, 5.0, 4.0),
        (n - 1.0) / g,
    );
}

#[test]
fn smooth_unions_add_a_quarter_of_the_blend_where_parts_meet_flush() {
    check("flush", smooth_min(3.0, 3.0, 8.0), 1.0);
    check("half apart", smooth_min(0.0, 4.0, 8.0), -0.5);
    check("far apart", smooth_min(0.0, 8.0, 8.0), 0.0);
    check("no blend", smooth_min(2.0, 2.0, 0.0), 2.0);
    check("maximum", smooth_max(3.0, 3.0, 8.0), 5.0);
}

#[test]
fn capsule_tapers_along_its_axis() {
    let capsule = Shape::Capsule {
        a: [0.0; 3],
        b: [0.0, 0.0, 10.0],
        ra: 2.0,
        rb: 4.0,
    };
    check("middle", alone(&capsule, [5.0, 0.0, 5.0]), 2.0);
    check("beyond the end", alone(&capsule, [0.0, 0.0, 16.0]), 2.0);
    check("before the start", alone(&capsule, [0.0, 0.0, -3.0]), 1.0);
}

#[test]
fn rounded_box_has_flat_sides_and_round_edges() {
    let b = Shape::BoxRounded {
        c: [1.0, 0.0, 0.0],
        h: [3.0, 4.0, 5.0],
        r: 1.0,
        rot: None,
    };
    check("side", alone(&b, [6.0, 0.0, 0.0]), 2.0);
    check("inside", alone(&b, [1.0, 0.0, 4.0]), -1.0);
    // Corner of the inner box at (2, 3) off the centre: 3-4-5 triangle less the rounding.
    check("edge", alone(&b, [6.0, 7.0, 0.0]), 4.0);
}

#[test]
fn half_space_keeps_the_side_its_normal_points_away_from() {
    let h = Shape::HalfSpace {
        n: [0.0, 0.0, 1.0],
        at: [0.0, 0.0, 2.0],
    };
    check("below", alone(&h, [9.0, 9.0, -1.0]), -3.0);
    check("above", alone(&h, [9.0, 9.0, 4.0]), 2.0);
}

#[test]
fn turns_are_about_x_then_y_then_z() {
    // A quarter turn about z takes the long x half-axis onto y.
    let e = Shape::Ellipsoid {
        c: [0.0; 3],
        r: [5.0, 1.0, 1.0],
        rot: Some(turn_xyz([0.0, 0.0, 90.0])),
    };
    check("along y", alone(&e, [0.0, 6.0, 0.0]), 1.0);
    check("along x", alone(&e, [3.0, 0.0, 0.0]), 2.0);
}

#[test]
fn two_rows_of_a_tube_are_one_capsule() {
    let rows = [
        TubeRow {
            at: [0.0; 3],
            ra: 2.0,
            rb: 2.0,
        },
        TubeRow {
            at: [10.0, 0.0, 0.0],
            ra: 3.0,
            rb: 3.0,
        },
    ];
    let tube = Tube::new(&rows, [0.0, 0.0, 1.0], true);
    check("middle", tube.value([5.0, 5.0, 0.0]), 2.5);
    assert_eq!(
        tube.centreline().len(),
        2,
        "two rows are one straight piece"
    );
}

#[test]
fn tube_passes_through_its_rows_and_curves_between() {
    let row = |x: f64, y: f64| TubeRow {
        at: [x, y, 0.0],
        ra: 1.0,
        rb: 1.0,
    };
    let tube = Tube::new(
        &[row(0.0, 0.0), row(10.0, 0.0), row(10.0, 10.0)],
        [0.0, 0.0, 1.0],
        true,
    );
    assert_eq!(tube.centreline().len(), 13, "six pieces per span");
    check("at a row", tube.value([10.0, 0.0, 3.0]), 2.0);
    // Half-way along the first span, Hermite with end tangents (10, 0) and (5, 5):
    // (p0 + p1)/2 + (m0 - m1)/8 = (5, 0) + (5, -5)/8.
    let mid = tube.centreline()[3];
    check("x of the middle", mid[0], 5.625);
    check("y of the middle", mid[1], -0.625);
}

#[test]
fn flat_tube_is_wide_along_wide() {
    let row = |x: f64| TubeRow {
        at: [x, 0.0, 0.0],
        ra: 6.0,
        rb: 2.0,
    };
    let tube = Tube::new(&[row(0.0), row(20.0)], [0.3, 1.0, 0.0], false);
    check("along wide", tube.value([10.0, 8.0, 0.0]), 2.0);
    check("across", tube.value([10.0, 0.0, -5.0]), 3.0);
}

fn loft(curve: Curve) -> Loft {
    let row = |s: f64, b: f64| LoftRow {
        s,
        cu: 1.0,
        cv: 2.0,
        b,
        f: 3.0,
        k: 5.0,
        n: 2.0,
    };
    let rows = [row(20.0, 10.0), row(0.0, 4.0), row(10.0, 10.0)];
    Loft::new(
        [0.0, 0.0, 1.0],
        [1.0, 0.0, 0.0],
        [0.0; 3],
        &rows,
        0.0,
        curve,
    )
    .expect("axis and lateral differ")
}

#[test]
fn loft_has_front_and_back_depth_and_flat_ends() {
    let l = loft(Curve::Monotone);
    check("left side at a row", l.value([13.0, 2.0, 10.0]), 2.0);
    check("front (toward -v)", l.value([1.0, -3.0, 10.0]), 2.0);
    check("back (toward +v)", l.value([1.0, 8.0, 10.0]), 1.0);
    check("beyond the end", l.value([1.0, 2.0, 23.0]), 3.0);
}

#[test]
fn monotone_loft_never_exceeds_its_rows_and_the_spline_is_the_natural_one() {
    // Slope of the half-breadth: 0.6 at the first row, 0 at the other two.
    let half_way = loft(Curve::Monotone).section_at(5.0)[2];
    check("Hermite", half_way, 7.0 + 10.0 * 0.6 / 8.0);
    check("flat span", loft(Curve::Monotone).section_at(15.0)[2], 10.0);
    // Natural spline through (0, 4), (10, 10), (20, 10): second derivative at the middle row
    // M = 6 (0 - 0.6)/(2·20) = -0.09; in the middle of a span y = mean - h² M/16.
    check(
        "spline",
        loft(Curve::Spline).section_at(5.0)[2],
        7.0 + 100.0 * 0.09 / 16.0,
    );
    check(
        "spline beyond",
        loft(Curve::Spline).section_at(15.0)[2],
        10.0 + 100.0 * 0.09 / 16.0,
    );
}
