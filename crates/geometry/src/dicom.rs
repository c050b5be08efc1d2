//! The image plane as DICOM attributes.

use crate::plane::ImagePlane;
use crate::sides::{FILE_THRESHOLD, SideName};

/// Image Orientation (Patient) (0020,0037): the row's x, y, z, then the column's (DICOM PS3.3
/// C.7.6.2.1.1).
#[must_use]
pub fn image_orientation_patient(plane: &ImagePlane) -> [f64; 6] {
    let ([rx, ry, rz], [cx, cy, cz]) = (plane.row().to_array(), plane.column().to_array());
    [rx, ry, rz, cx, cy, cz]
}

/// Patient Orientation (0020,0020): the letters of the row direction, a backslash, the letters of
/// the column direction (DICOM PS3.3 C.7.6.1.1.1).
///
/// Each direction has its letters dominant first, those above [`FILE_THRESHOLD`] only; ties stand in
/// the order x, y, z.
/// Image left is therefore the opposite of the first value, image top of the second.
///
/// ```
/// use geometry::{Convention, ImagePlane, Point, Vector, patient_orientation};
/// let (notch, beam) = (Vector::new(0.0, 0.0, 1.0), Vector::new(0.0, 1.0, 0.0));
/// let plane = ImagePlane::from_notch_and_beam(Point::ORIGIN, notch, beam, Convention::GENERAL)?;
/// assert_eq!(patient_orientation(&plane), r"F\P");
/// # Ok::<(), geometry::PoseError>(())
/// ```
#[must_use]
pub fn patient_orientation(plane: &ImagePlane) -> String {
    let row = SideName::of(plane.row()).letters(FILE_THRESHOLD);
    let column = SideName::of(plane.column()).letters(FILE_THRESHOLD);
    format!("{row}\\{column}")
}
