//! Where the image plane is: probe pose, image plane, its name, the names of its four sides, and
//! the outline of a body cut by it.
//!
//! # Frames
//!
//! Lengths are millimetres, frames are right-handed, and each frame is a type:
//!
//! | type | axes | origin |
//! | --- | --- | --- |
//! | [`Patient`] | +x patient's left, +y back, +z head (LPS; DICOM PS3.3 C.7.6.2.1.1) | a fixed point of the body |
//! | [`Posed`] | those of [`Patient`], for the body drawn with its arms and legs bent | the same point |
//! | [`Room`] | +z up against gravity; see [`BodyPosition`] | the same point as the patient frame's |
//! | [`Probe`] | x lateral (toward the notch), y elevation, z depth (into the body) | centre of the footprint |
//! | [`Image`] | x along the rows (image left to right), y along the columns (top to bottom), z away from the viewer | centre of the footprint |
//!
//! The patient frame belongs to the body.
//! No name, side or mark depends on how the body lies or where the examiner stands.
//!
//! A transform is named target-first, so that neighbours match:
//! `point_in_patient = patient_from_image.apply_point(point_in_image)`.
//!
//! # What this crate does not do
//!
//! It knows no anatomy, no transducer and no pixel; it has no clock, no file and no randomness.
//! Every function is total on finite input, and gives the same bits natively and in WebAssembly:
//! trigonometry goes through `libm`.
//!
//! # Example
//!
//! A probe on the front of the abdomen with its notch to the head shows a sagittal plane, with the
//! head at the left of the image.
//!
//! ```
//! use geometry::{Angle, Convention, Direction, ImagePlane, Mm, PlaneName, BodyPlane, Point, Pose,
//!     Sides, DEFAULT_TOLERANCE, FILE_THRESHOLD, name_plane};
//!
//! let front = -Direction::y_axis();
//! let pose = Pose::new(Point::new(0.0, -110.0, 40.0), front, Angle::deg(0.0), Angle::deg(0.0),
//!     Angle::deg(0.0), Mm::new(0.0))?;
//! let plane = ImagePlane::from_pose(&pose, Convention::GENERAL);
//! let naming = name_plane(plane.normal(), DEFAULT_TOLERANCE);
//! assert_eq!(naming.name, PlaneName::Named(BodyPlane::Sagittal));
//! assert_eq!(Sides::of(&plane).left.letters(FILE_THRESHOLD), "H");
//! # Ok::<(), geometry::PoseError>(())
//! ```

mod clock;
mod compare;
mod convention;
mod cut;
mod dicom;
mod frames;
mod mesh;
mod naming;
mod plane;
mod pose;
mod position;
mod sides;
mod transform;
mod units;

pub use clock::{POLE_CONE, clock_face, transport};
pub use compare::{BodyHalf, MIDLINE_HALF_WIDTH, Placement, PoseComparison};
pub use convention::{ApexSide, Convention, ImageSide, MarkSide};
pub use cut::{CutMeshError, CutScratch, CutSet, LoopRef, Loops, loop_area, loop_length};
pub use dicom::{image_orientation_patient, patient_orientation};
pub use frames::{
    Direction, Frame, Image, Patient, Point, Posed, Probe, Room, SHORTEST_LENGTH, Vector,
};
pub use mesh::{Mesh, MeshError};
pub use naming::{
    BodyPlane, DEFAULT_TOLERANCE, MID_SAGITTAL_HALF_WIDTH, Oblique, ObliqueKind, PlaneAngles,
    PlaneName, PlaneNaming, SagittalOffset, TOLERANCE_RANGE, ToleranceError, check_tolerance,
    name_plane, sagittal_offset,
};
pub use plane::ImagePlane;
pub use pose::{Pose, PoseError, ProbeAxes};
pub use position::BodyPosition;
pub use sides::{FILE_THRESHOLD, PatientSide, SideName, Sides, screen_threshold};
pub use transform::Transform;
pub use units::{Angle, Mm, UnitError};
