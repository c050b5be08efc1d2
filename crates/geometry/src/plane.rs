//! The image plane: where each place of the picture is in the patient.

use crate::convention::Convention;
use crate::frames::{Direction, Image, Patient, Point, Vector};
use crate::pose::{Pose, PoseError, ProbeAxes};
use crate::transform::Transform;

/// The plane of a picture with its layout: origin, row direction and column direction.
///
/// The row direction runs from image left to image right, the column direction from top to bottom;
/// together they are DICOM's Image Orientation (Patient), PS3.3 C.7.6.2.1.1.
/// The origin is the centre of the probe's footprint, and image coordinates are millimetres from it.
/// With the apex at the bottom the beam runs toward image −y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ImagePlane {
    origin: Point<Patient>,
    row: Direction<Patient>,
    column: Direction<Patient>,
    normal: Direction<Patient>,
}

impl ImagePlane {
    /// The plane of a probe held in `pose`, laid out by `convention`.
    ///
    /// With `l` the direction toward the notch and `d` the beam: mark at image left gives row `−l`,
    /// mark at image right `l`; apex at the top gives column `d`, at the bottom `−d`.
    #[must_use]
    pub fn from_pose(pose: &Pose, convention: Convention) -> Self {
        Self::from_axes(pose.footprint_centre(), &pose.axes(), convention)
    }

    /// The plane of a probe whose footprint centre is `origin`, whose notch points along `notch` and
    /// whose beam runs along `beam` (patient frame, any length); where the two are not perpendicular
    /// the beam wins.
    ///
    /// # Errors
    ///
    /// [`PoseError::ContactNotFinite`], [`PoseError::BeamWithoutDirection`],
    /// [`PoseError::NotchWithoutDirection`] or [`PoseError::NotchAlongBeam`].
    pub fn from_notch_and_beam(
        origin: Point<Patient>,
        notch: Vector<Patient>,
        beam: Vector<Patient>,
        convention: Convention,
    ) -> Result<Self, PoseError> {
        if !origin.is_finite() {
            return Err(PoseError::ContactNotFinite {
                point: origin.to_array(),
            });
        }
        let axes = ProbeAxes::from_notch_and_beam(notch, beam)?;
        Ok(Self::from_axes(origin, &axes, convention))
    }

    fn from_axes(origin: Point<Patient>, axes: &ProbeAxes, convention: Convention) -> Self {
        let (row_sign, column_sign) = (convention.mark.row_sign(), convention.apex.column_sign());
        let signed = |direction: Direction<Patient>, sign: f64| {
            if sign < 0.0 { -direction } else { direction }
        };
        // l × d = −e, so r × c is e times minus the product of the two signs.
        Self {
            origin,
            row: signed(axes.lateral, row_sign),
            column: signed(axes.depth, column_sign),
            normal: signed(axes.elevation, -row_sign * column_sign),
        }
    }

    /// The notch and beam directions that give this plane under `convention`.
    #[must_use]
    pub fn notch_and_beam(
        &self,
        convention: Convention,
    ) -> (Direction<Patient>, Direction<Patient>) {
        let notch = if convention.mark.row_sign() < 0.0 {
            -self.row
        } else {
            self.row
        };
        let beam = if convention.apex.column_sign() < 0.0 {
            -self.column
        } else {
            self.column
        };
        (notch, beam)
    }

    /// Centre of the footprint, patient frame, mm.
    #[must_use]
    pub const fn origin(&self) -> Point<Patient> {
        self.origin
    }

    /// Image left to right.
    #[must_use]
    pub const fn row(&self) -> Direction<Patient> {
        self.row
    }

    /// Image top to bottom.
    #[must_use]
    pub const fn column(&self) -> Direction<Patient> {
        self.column
    }

    /// The plane's normal `row × column`, pointing away from the viewer.
    #[must_use]
    pub const fn normal(&self) -> Direction<Patient> {
        self.normal
    }

    /// The same layout with another origin.
    #[must_use]
    pub const fn with_origin(self, origin: Point<Patient>) -> Self {
        Self { origin, ..self }
    }

    /// The image frame in the patient frame.
    #[must_use]
    pub fn patient_from_image(&self) -> Transform<Image, Patient> {
        Transform::from_axes(self.origin, self.row, self.column, self.normal)
    }

    /// The place of image point (x, y), mm: x toward image right, y toward image bottom.
    #[must_use]
    pub fn to_patient(&self, point: [f64; 2]) -> Point<Patient> {
        self.origin + self.row * point[0] + self.column * point[1]
    }

    /// Image coordinates of `point`, mm: x along the row, y along the column, z along the normal
    /// (the signed distance from the plane, positive away from the viewer).
    #[must_use]
    pub fn to_image(&self, point: Point<Patient>) -> [f64; 3] {
        let offset = (point - self.origin).inner;
        [
            offset.dot(&self.row.inner),
            offset.dot(&self.column.inner),
            offset.dot(&self.normal.inner),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::convention::{ApexSide, MarkSide};

    #[test]
    fn normal_is_row_cross_column_in_every_layout() {
        for mark in [MarkSide::Left, MarkSide::Right] {
            for apex in [ApexSide::Top, ApexSide::Bottom] {
                let plane = ImagePlane::from_notch_and_beam(
                    Point::new(1.0, 2.0, 3.0),
                    Vector::new(0.1, 0.3, 0.9),
                    Vector::new(0.2, 0.9, -0.1),
                    Convention { mark, apex },
                )
                .expect("a plane");
                let normal = plane.row().cross(plane.column());
                assert!(
                    (normal - plane.normal().to_vector()).norm() < 1e-12,
                    "{mark:?} {apex:?}"
                );
                let image = plane.to_image(plane.to_patient([12.0, 34.0]));
                assert!((image[0] - 12.0).abs() < 1e-9, "x survives");
                assert!((image[1] - 34.0).abs() < 1e-9, "y survives");
                assert!(image[2].abs() < 1e-9, "in the plane");
                let (notch, beam) = plane.notch_and_beam(Convention { mark, apex });
                assert!(beam.dot(Direction::y_axis()) > 0.9, "the beam as given");
                assert!(notch.dot(Direction::z_axis()) > 0.9, "the notch as given");
            }
        }
    }
}
