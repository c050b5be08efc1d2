//! The clock face on the skin, and carrying a direction along the skin.

use crate::frames::{Direction, Patient, Vector};
use crate::units::Angle;

/// Where the skin faces within this angle of straight up or down the body (top of the head, sole,
/// perineum), the clock's twelve points to the front instead of to the head.
pub const POLE_CONE: Angle = Angle::deg(30.0);

/// Cosine of [`POLE_CONE`]; written out because trigonometry is not const.
const POLE_COSINE: f64 = 0.866_025_403_784_438_6;

/// The clock face on skin with outward normal `normal`: (twelve o'clock, three o'clock).
///
/// Twelve o'clock is the head direction made tangent to the skin; where the skin faces within
/// [`POLE_CONE`] of the head or foot direction (the limit itself included), it is the front
/// direction made tangent.
/// Three o'clock is a quarter turn clockwise from twelve for someone who looks at that skin from
/// outside.
/// On the front of the body three o'clock is the patient's left.
///
/// ```
/// use geometry::{Direction, clock_face};
/// let front = -Direction::y_axis();
/// assert_eq!(clock_face(front), (Direction::z_axis(), Direction::x_axis()));
/// ```
#[must_use]
pub fn clock_face(normal: Direction<Patient>) -> (Direction<Patient>, Direction<Patient>) {
    let reference = if normal.z().abs() >= POLE_COSINE {
        -Direction::y_axis()
    } else {
        Direction::z_axis()
    };
    // The reference is at least 30° off the normal, so its tangent part has length ≥ 1/2.
    let twelve = reference.perpendicular_to(normal).unwrap_or(reference);
    let three = (-normal).cross(twelve);
    (twelve, three.direction().unwrap_or(twelve))
}

/// Carries `direction`, tangent to skin with normal `from`, to skin with normal `to` by the smallest
/// rotation that turns one normal into the other (the discrete form of parallel transport; common
/// practice in differential geometry).
///
/// The result is tangent to `to` as exactly as `direction` was to `from`.
/// Between opposite normals the smallest rotation is not unique; the direction itself is then kept,
/// which is one of them (the half turn about `direction`).
#[must_use]
pub fn transport(
    direction: Direction<Patient>,
    from: Direction<Patient>,
    to: Direction<Patient>,
) -> Direction<Patient> {
    let axis = from.cross(to);
    let cosine = from.dot(to);
    let versine = 1.0 + cosine;
    if versine < OPPOSITE_NORMALS {
        return direction.perpendicular_to(to).unwrap_or(direction);
    }
    // Rodrigues' rotation in the form without trigonometry:
    // R v = v cos + axis × v + axis (axis · v) / (1 + cos).
    let v = direction.to_vector();
    let turned: Vector<Patient> = v * cosine + axis.cross(v) + axis * (axis.dot(v) / versine);
    turned.direction().unwrap_or(direction)
}

/// Below this value of 1 + cos two normals count as opposite (they are within 0.003° of it).
const OPPOSITE_NORMALS: f64 = 1e-9;

#[cfg(test)]
mod tests {
    use super::*;

    fn check_clock(normal: [f64; 3], twelve: [f64; 3], three: [f64; 3]) {
        let (u, v) = clock_face(Direction::from_array(normal).expect("a normal"));
        for (got, wanted) in [(u, twelve), (v, three)] {
            let wanted = Direction::from_array(wanted).expect("a direction");
            assert!(
                (got.to_vector() - wanted.to_vector()).norm() < 1e-12,
                "{normal:?}: {got:?}"
            );
        }
    }

    #[test]
    fn clock_faces_by_body_region() {
        // Front, back, right and left flank: twelve is the head.
        check_clock([0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]);
        check_clock([0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [-1.0, 0.0, 0.0]);
        check_clock([-1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]);
        check_clock([1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]);
        // Top of the head and perineum: twelve is the front.
        check_clock([0.0, 0.0, 1.0], [0.0, -1.0, 0.0], [-1.0, 0.0, 0.0]);
        check_clock([0.0, 0.0, -1.0], [0.0, -1.0, 0.0], [1.0, 0.0, 0.0]);
    }

    #[test]
    fn the_cone_is_thirty_degrees() {
        assert!(
            (POLE_COSINE - POLE_CONE.cos()).abs() < 1e-15,
            "written-out cosine"
        );
        for (degrees, twelve_is_front) in [(29.9, true), (30.1, false)] {
            let angle = Angle::deg(degrees);
            let normal = Direction::from_array([angle.sin(), 0.0, angle.cos()]).expect("a normal");
            let (twelve, _) = clock_face(normal);
            assert_eq!(
                twelve.dot(-Direction::y_axis()) > 0.9,
                twelve_is_front,
                "{degrees}"
            );
        }
    }

    #[test]
    fn transport_keeps_directions_tangent() {
        let from = -Direction::y_axis();
        for to in [
            [0.3, -0.9, 0.2],
            [1.0, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [0.0, -1.0, 0.0],
        ] {
            let to = Direction::from_array(to).expect("a normal");
            let carried = transport(Direction::z_axis(), from, to);
            assert!(carried.dot(to).abs() < 1e-12, "tangent to {to:?}");
            let back = transport(carried, to, from);
            assert!(
                back.dot(Direction::z_axis()) > 1.0 - 1e-12,
                "there and back by {to:?}"
            );
        }
    }
}
