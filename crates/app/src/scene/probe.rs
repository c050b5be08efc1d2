//! Measures of the probe solid, built by the renderer in the probe frame.
//!
//! Probe frame: x lateral (toward the notch), y elevation, z depth (into the body), origin at the centre
//! of the footprint; so the housing lies at negative z.

use picture::{FaceShape, Transducer};

use super::matrix::narrow;

/// The face that touches the skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ProbeFace {
    /// A convex arc in the lateral–depth plane, its foremost point at the origin.
    Curved {
        /// Radius of the arc, mm.
        radius_mm: f32,
    },
    /// Flat.
    Flat,
}

/// The probe solid. All lengths mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbeSolid {
    /// Shape of the face.
    pub face: ProbeFace,
    /// Face along lateral.
    pub face_width_mm: f32,
    /// Face along elevation.
    pub face_thickness_mm: f32,
    /// From the face to the cable.
    pub length_mm: f32,
    /// Grip along lateral.
    pub grip_width_mm: f32,
    /// Grip along elevation.
    pub grip_thickness_mm: f32,
    /// Length of the notch along the housing.
    pub notch_length_mm: f32,
    /// How far the notch stands out, on the +lateral side.
    pub notch_height_mm: f32,
}

/// The solid of a transducer.
#[must_use]
pub fn probe_solid(transducer: &Transducer) -> ProbeSolid {
    let housing = &transducer.housing;
    ProbeSolid {
        face: match transducer.shape {
            FaceShape::Curved { radius, .. } => ProbeFace::Curved {
                radius_mm: narrow(radius.get()),
            },
            FaceShape::Flat { .. } | FaceShape::Point { .. } => ProbeFace::Flat,
        },
        face_width_mm: narrow(transducer.face_width.get()),
        face_thickness_mm: narrow(transducer.face_thickness.get()),
        length_mm: narrow(housing.length.get()),
        grip_width_mm: narrow(housing.grip_width.get()),
        grip_thickness_mm: narrow(housing.grip_thickness.get()),
        notch_length_mm: narrow(housing.notch_length.get()),
        notch_height_mm: narrow(housing.notch_height.get()),
    }
}
