//! Named viewpoints.

use geometry::{BodyPosition, Direction, Patient, PatientSide, Point};

use super::camera::Camera;
use super::furniture::room_bounds;
use super::matrix;
use crate::action::Seat;
use crate::state::State;

/// A viewpoint with a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CameraPreset {
    /// Where the examiner sits: beside the patient, looking across and up the body.
    ExaminerSeat,
    /// From the foot of the bed.
    FromFeet,
    /// From the patient's left; from the room's where the patient lies on that side.
    FromLeft,
    /// From above the bed, head up.
    FromAbove,
    /// Close to the probe, from outside the skin.
    ToWindow,
}

impl CameraPreset {
    /// All, in the order buttons show them.
    pub const ALL: [Self; 5] = [
        Self::ExaminerSeat,
        Self::FromFeet,
        Self::FromLeft,
        Self::FromAbove,
        Self::ToWindow,
    ];
}

/// From this share toward the foot end on, skin is looked at from the foot end.
const FACES_FEET: f64 = 0.6;

/// Length of the adult body that the distances below are meant for, mm.
const USUAL_LENGTH_MM: f64 = 1640.0;

/// The camera of a viewpoint in the present state.
///
/// Every viewpoint looks at the probe's place rather than at the middle of the body, so that what the lesson
/// is about is in the middle of the view.
#[must_use]
pub fn preset_camera(state: &State, preset: CameraPreset) -> Camera {
    let room_from_patient = state.position().room_from_patient();
    let room =
        |direction: Direction<Patient>| room_from_patient.apply_direction(direction).to_array();
    let pose = state.settled_pose();
    let room_from_attached = state.room_from_attached(pose);
    let contact = room_from_attached.apply_point(pose.contact()).to_array();
    let inward = room_from_attached
        .apply_direction(-pose.normal())
        .to_array();
    let (low, high) = room_bounds(state);
    let longest = (0..3)
        .map(|axis| high[axis] - low[axis])
        .fold(1.0, f64::max);
    // Small bodies are looked at from nearer, but the probe keeps its size.
    let scale = (longest / USUAL_LENGTH_MM).clamp(0.45, 1.2);
    let target = matrix::add_scaled(contact, inward, 60.0 * scale);
    let seat_deg = match state.seat() {
        Seat::Right => 270.0,
        Seat::Left => 90.0,
    };
    // The examiner faces up the body from beside the thigh: far enough round that a transverse plane is seen
    // from the feet and a sagittal one still from the side.
    let toward_feet = match state.seat() {
        Seat::Right => 1.0,
        Seat::Left => -1.0,
    };
    let raised_legs = state.position() == BodyPosition::Lithotomy;
    match preset {
        // Between the raised thighs.
        CameraPreset::ExaminerSeat if raised_legs && inward[0] < -FACES_FEET => {
            Camera::new(target, 360.0 - 14.0 * toward_feet, 20.0, 1250.0 * scale)
        }
        CameraPreset::ExaminerSeat => {
            // The near thigh would stand before the probe.
            let from_hip_deg = if raised_legs { 8.0 } else { 38.0 };
            Camera::new(
                target,
                seat_deg + from_hip_deg * toward_feet,
                34.0,
                1250.0 * scale,
            )
        }
        CameraPreset::FromFeet => Camera::new(target, 0.0, 26.0, 1500.0 * scale),
        CameraPreset::FromLeft => {
            let left = room(PatientSide::Left.direction());
            let azimuth_deg = if left[2].abs() < 0.5 {
                libm::atan2(left[1], left[0]).to_degrees()
            } else {
                90.0
            };
            Camera::new(target, azimuth_deg, 14.0, 1350.0 * scale)
        }
        CameraPreset::FromAbove => Camera::new(target, 0.0, 88.0, 1700.0 * scale),
        CameraPreset::ToWindow => {
            let outward = inward.map(|part| -part);
            // From the examiner's side; where a limb is in the way, from the feet, the other side, the head.
            let sides = [0.0, 90.0 * toward_feet, 180.0, -90.0 * toward_feet];
            let cameras = sides.map(|turn| close_camera(contact, outward, seat_deg + turn));
            let free = cameras
                .iter()
                .find(|camera| sees(state, camera, pose.contact()));
            *free.unwrap_or(&cameras[0])
        }
    }
}

/// Close to the probe, aside of its own axis toward `aside_deg`, or the probe would hide where it stands.
fn close_camera(contact: [f64; 3], outward: [f64; 3], aside_deg: f64) -> Camera {
    let aside = aside_deg.to_radians();
    let eye = matrix::add_scaled(outward, [libm::cos(aside), libm::sin(aside), 0.0], 0.6);
    let eye = matrix::unit(matrix::add_scaled(eye, [0.0, 0.0, 1.0], 0.2));
    let azimuth_deg = libm::atan2(eye[1], eye[0]).to_degrees();
    let elevation_deg = libm::asin(eye[2].clamp(-1.0, 1.0)).to_degrees();
    Camera::new(contact, azimuth_deg, elevation_deg, 520.0)
}

/// Whether no other part of the body stands between a viewer and the skin at `contact`.
fn sees(state: &State, camera: &Camera, contact: Point<Patient>) -> bool {
    /// What is met so near is the place itself, mm.
    const SAME_PLACE_MM: f64 = 30.0;
    let eye = Point::from_array(camera.eye());
    let toward = (state.shown_at(contact) - eye).direction();
    let met = toward.and_then(|toward| state.sight(eye, toward));
    met.is_none_or(|met| (met.point - contact).norm() < SAME_PLACE_MM)
}
