//! Named viewpoints.

use geometry::{Direction, Patient, PatientSide};

use super::bed::room_bounds;
use super::camera::Camera;
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
    let contact = room_from_patient.apply_point(pose.contact()).to_array();
    let inward = room(-pose.normal());
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
    let from_hip_deg = match state.seat() {
        Seat::Right => 38.0,
        Seat::Left => -38.0,
    };
    match preset {
        CameraPreset::ExaminerSeat => {
            Camera::new(target, seat_deg + from_hip_deg, 34.0, 1250.0 * scale)
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
            let seat = seat_deg.to_radians();
            let outward = inward.map(|part| -part);
            // Aside of the probe's own axis, or the probe would hide where it stands.
            let eye = matrix::add_scaled(outward, [libm::cos(seat), libm::sin(seat), 0.0], 0.6);
            let eye = matrix::unit(matrix::add_scaled(eye, [0.0, 0.0, 1.0], 0.2));
            let azimuth_deg = libm::atan2(eye[1], eye[0]).to_degrees();
            let elevation_deg = libm::asin(eye[2].clamp(-1.0, 1.0)).to_degrees();
            Camera::new(contact, azimuth_deg, elevation_deg, 520.0)
        }
    }
}
