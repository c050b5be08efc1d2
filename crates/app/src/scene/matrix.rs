//! The few 4×4 matrices a camera needs: column-major, as WebGL takes them.

/// A 4×4 matrix, column after column: `m[4 * column + row]`.
pub type Matrix = [f32; 16];

/// View matrix: room (mm) to eye space, which looks along −z with +y up.
///
/// `forward` and `up` must be unit length and not parallel; `up` need not be perpendicular.
pub(crate) fn look(eye: [f64; 3], forward: [f64; 3], up: [f64; 3]) -> [f64; 16] {
    let right = unit(cross(forward, up));
    let up = cross(right, forward);
    [
        right[0],
        up[0],
        -forward[0],
        0.0,
        right[1],
        up[1],
        -forward[1],
        0.0,
        right[2],
        up[2],
        -forward[2],
        0.0,
        -dot(right, eye),
        -dot(up, eye),
        dot(forward, eye),
        1.0,
    ]
}

/// Perspective projection to clip space with depth −1 to 1, as WebGL has it.
///
/// `tan_half_height` is the tangent of half the vertical field of view.
pub(crate) fn perspective(tan_half_height: f64, aspect: f64, near: f64, far: f64) -> [f64; 16] {
    let scale = 1.0 / tan_half_height;
    let depth = (far + near) / (near - far);
    let shift = 2.0 * far * near / (near - far);
    [
        scale / aspect,
        0.0,
        0.0,
        0.0,
        0.0,
        scale,
        0.0,
        0.0,
        0.0,
        0.0,
        depth,
        -1.0,
        0.0,
        0.0,
        shift,
        0.0,
    ]
}

/// `a` after `b`: applies `b` first.
pub(crate) fn product(a: &[f64; 16], b: &[f64; 16]) -> [f64; 16] {
    let mut result = [0.0; 16];
    for (cell, value) in result.iter_mut().enumerate() {
        let (column, row) = (cell / 4, cell % 4);
        *value = a
            .iter()
            .skip(row)
            .step_by(4)
            .zip(b.iter().skip(4 * column))
            .map(|(left, right)| left * right)
            .sum();
    }
    result
}

/// `m` applied to a point, before division by the last component.
pub(crate) fn apply(m: &[f64; 16], point: [f64; 3]) -> [f64; 4] {
    let mut result = [0.0; 4];
    for (row, value) in result.iter_mut().enumerate() {
        let column = |k: usize| m.get(4 * k + row).copied().unwrap_or(0.0);
        *value = column(0) * point[0] + column(1) * point[1] + column(2) * point[2] + column(3);
    }
    result
}

/// Single precision for the graphics card.
pub(crate) fn single(m: &[f64; 16]) -> Matrix {
    m.map(narrow)
}

/// Single precision for the graphics card.
pub(crate) fn single3(v: [f64; 3]) -> [f32; 3] {
    v.map(narrow)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "millimetres and unit vectors lose nothing a screen could show"
)]
pub(crate) fn narrow(value: f64) -> f32 {
    value as f32
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(crate) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Unit length, or +x for a vector too short to have a direction.
pub(crate) fn unit(a: [f64; 3]) -> [f64; 3] {
    let length = dot(a, a).sqrt();
    if length > 1e-12 {
        a.map(|part| part / length)
    } else {
        [1.0, 0.0, 0.0]
    }
}

pub(crate) fn add_scaled(a: [f64; 3], b: [f64; 3], factor: f64) -> [f64; 3] {
    [
        a[0] + b[0] * factor,
        a[1] + b[1] * factor,
        a[2] + b[2] * factor,
    ]
}
