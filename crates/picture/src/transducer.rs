//! Transducers as data: the face that touches the skin, the shape of the field of view, the solid held in the hand.
//!
//! No published table of generic transducer geometry was found. Frequency bands follow AIUM and teaching texts where
//! those state them; footprint, radius of curvature, field of view and depth are common practice of the trade (no
//! source), chosen inside the usual ranges given beside each entry. Usual frequencies are the middle of the band,
//! apertures about a third of the face (the whole of a small one): common practice, no source. The codes are DICOM
//! PS3.16 CID 12033 (geometry).

use geometry::{Angle, Mm};

/// Shape of the transducer's face in the image plane, which is also the shape of the top of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FaceShape {
    /// A convex arc; every beam is a radius of it.
    Curved {
        /// Radius of curvature of the face.
        radius: Mm,
        /// Whole opening angle between the first and the last beam.
        fov: Angle,
    },
    /// A straight face with parallel beams.
    Flat {
        /// Length of the row of elements, and the width of the picture at every depth.
        width: Mm,
        /// Largest angle by which the edges of the picture can be steered outward into a trapezoid, each side.
        steer: Angle,
    },
    /// A small flat face whose beams all leave from its centre.
    Point {
        /// Whole opening angle between the first and the last beam.
        fov: Angle,
    },
}

/// Words for the top edge of the picture, used by questions and descriptions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TopShape {
    /// A wide convex arc.
    Curved,
    /// A short, tight convex arc.
    TightCurve,
    /// A straight line.
    Flat,
    /// A point.
    Point,
}

impl TopShape {
    /// Plain words: "curved", "tightly curved", "flat", "a point".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Curved => "curved",
            Self::TightCurve => "tightly curved",
            Self::Flat => "flat",
            Self::Point => "a point",
        }
    }
}

/// A code of DICOM PS3.16 CID 12033, "Ultrasound Transducer Geometry" (coding scheme DCM).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GeometryCode {
    /// Code value, such as "125253".
    pub value: &'static str,
    /// Code meaning, such as "Curved linear ultrasound transducer geometry".
    pub meaning: &'static str,
}

const LINEAR: GeometryCode = GeometryCode {
    value: "125252",
    meaning: "Linear ultrasound transducer geometry",
};
const CURVED_LINEAR: GeometryCode = GeometryCode {
    value: "125253",
    meaning: "Curved linear ultrasound transducer geometry",
};
const SECTOR: GeometryCode = GeometryCode {
    value: "125254",
    meaning: "Sector ultrasound transducer geometry",
};

/// The solid drawn in the body view, all of it common practice, no source.
///
/// Probe frame: width along the lateral axis, thickness along the elevation axis, length against the depth axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Housing {
    /// Length from the face to the cable.
    pub length: Mm,
    /// Width of the grip.
    pub grip_width: Mm,
    /// Thickness of the grip.
    pub grip_thickness: Mm,
    /// Length of the raised notch along the probe's length.
    pub notch_length: Mm,
    /// How far the notch stands out on the lateral (+) side.
    pub notch_height: Mm,
}

/// One kind of transducer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transducer {
    /// Stable key, such as "convex".
    pub id: &'static str,
    /// Name for people.
    pub label: &'static str,
    /// What it is used for.
    pub used_for: &'static str,
    /// Face and beams.
    pub shape: FaceShape,
    /// Straight length of the face along the lateral axis (the chord of a curved face).
    pub face_width: Mm,
    /// Thickness of the face along the elevation axis.
    pub face_thickness: Mm,
    /// How far a motor swings the plane to each side to acquire a volume; `None` for a plane that stays.
    pub sweep: Option<Angle>,
    /// Nominal frequency band, MHz.
    pub band_mhz: (f64, f64),
    /// Frequency to start from, MHz.
    pub usual_mhz: f64,
    /// Greatest length of the row of elements that one beam uses.
    pub aperture: Mm,
    /// Depth settings offered: least and greatest.
    pub depth_range: (Mm, Mm),
    /// Depth setting to start from.
    pub usual_depth: Mm,
    /// DICOM geometry code.
    pub dicom_geometry_code: GeometryCode,
    /// The solid of the body view.
    pub housing: Housing,
}

impl Transducer {
    /// Shape of the top of the picture.
    #[must_use]
    pub fn top_shape(&self) -> TopShape {
        // A face of 20 mm radius or less reads as a tight curve on the screen: the neonatal and endocavity arrays.
        const TIGHT_RADIUS_MM: f64 = 20.0;
        match self.shape {
            FaceShape::Curved { radius, .. } if radius.get() <= TIGHT_RADIUS_MM => {
                TopShape::TightCurve
            }
            FaceShape::Curved { .. } => TopShape::Curved,
            FaceShape::Flat { .. } => TopShape::Flat,
            FaceShape::Point { .. } => TopShape::Point,
        }
    }

    /// The depth setting nearest to `depth` that this transducer offers.
    #[must_use]
    pub fn clamp_depth(&self, depth: Mm) -> Mm {
        Mm::new(
            depth
                .get()
                .clamp(self.depth_range.0.get(), self.depth_range.1.get()),
        )
    }
}

/// All transducers, the abdominal curvilinear one first.
#[must_use]
pub const fn transducers() -> &'static [Transducer] {
    &TRANSDUCERS
}

/// The transducer with this key; a hyphen and an underscore are the same.
#[must_use]
pub fn transducer(id: &str) -> Option<&'static Transducer> {
    TRANSDUCERS.iter().find(|known| {
        known.id.len() == id.len()
            && known
                .id
                .bytes()
                .zip(id.bytes())
                .all(|(a, b)| a == b || (a == b'_' && b == b'-'))
    })
}

const GRIP: Housing = Housing {
    length: Mm::new(115.0),
    grip_width: Mm::new(38.0),
    grip_thickness: Mm::new(24.0),
    notch_length: Mm::new(16.0),
    notch_height: Mm::new(3.0),
};

static TRANSDUCERS: [Transducer; 8] = [
    Transducer {
        id: "convex",
        label: "Curvilinear, abdominal",
        used_for: "abdomen, obstetrics, pelvis",
        // Usual: radius 50-60 mm, field of view 55-70 degrees, face 60 x 12-15 mm. Chord 2 R sin(fov/2) = 59.9 mm.
        shape: FaceShape::Curved {
            radius: Mm::new(55.0),
            fov: Angle::deg(66.0),
        },
        face_width: Mm::new(60.0),
        face_thickness: Mm::new(14.0),
        sweep: None,
        // 2-5 MHz common practice; 3.5-5 MHz in a teaching text on transducers.
        band_mhz: (2.0, 5.0),
        usual_mhz: 3.5,
        aperture: Mm::new(22.0),
        depth_range: (Mm::new(50.0), Mm::new(240.0)),
        usual_depth: Mm::new(140.0),
        dicom_geometry_code: CURVED_LINEAR,
        housing: GRIP,
    },
    Transducer {
        id: "volume_convex",
        label: "Convex volume, large footprint",
        used_for: "obstetrics, pelvis",
        // Usual: radius 40-45 mm, field of view 65-85 degrees, face 50-65 x 25-40 mm; sweeps 35 degrees each way.
        shape: FaceShape::Curved {
            radius: Mm::new(45.0),
            fov: Angle::deg(70.0),
        },
        face_width: Mm::new(51.6),
        face_thickness: Mm::new(32.0),
        sweep: Some(Angle::deg(35.0)),
        band_mhz: (2.0, 8.0),
        usual_mhz: 4.5,
        aperture: Mm::new(20.0),
        depth_range: (Mm::new(40.0), Mm::new(200.0)),
        usual_depth: Mm::new(120.0),
        dicom_geometry_code: CURVED_LINEAR,
        housing: Housing {
            grip_width: Mm::new(46.0),
            grip_thickness: Mm::new(36.0),
            ..GRIP
        },
    },
    Transducer {
        id: "linear",
        label: "Linear, wide",
        used_for: "vessels, breast, muscles and joints",
        // Usual: face 45-55 x 5-8 mm, steered 10-20 degrees each side.
        shape: FaceShape::Flat {
            width: Mm::new(50.0),
            steer: Angle::deg(15.0),
        },
        face_width: Mm::new(50.0),
        face_thickness: Mm::new(7.0),
        sweep: None,
        band_mhz: (3.0, 12.0),
        usual_mhz: 9.0,
        aperture: Mm::new(16.0),
        depth_range: (Mm::new(20.0), Mm::new(120.0)),
        usual_depth: Mm::new(50.0),
        dicom_geometry_code: LINEAR,
        housing: GRIP,
    },
    Transducer {
        id: "linear_narrow",
        label: "Linear, narrow, high frequency",
        used_for: "thyroid, breast, scrotum, skin",
        // Usual: face 35-40 x 4-6 mm.
        shape: FaceShape::Flat {
            width: Mm::new(38.0),
            steer: Angle::deg(10.0),
        },
        face_width: Mm::new(38.0),
        face_thickness: Mm::new(5.0),
        sweep: None,
        // 7-18 MHz common practice; 7.5-16 MHz in a teaching text on transducers.
        band_mhz: (7.0, 18.0),
        usual_mhz: 12.0,
        aperture: Mm::new(12.0),
        depth_range: (Mm::new(15.0), Mm::new(80.0)),
        usual_depth: Mm::new(35.0),
        dicom_geometry_code: LINEAR,
        housing: Housing {
            grip_width: Mm::new(34.0),
            grip_thickness: Mm::new(20.0),
            ..GRIP
        },
    },
    Transducer {
        id: "hockey_stick",
        label: "Hockey-stick",
        used_for: "fingers, line placement, children",
        // Usual: face 20-26 x 4-5 mm.
        shape: FaceShape::Flat {
            width: Mm::new(25.0),
            steer: Angle::deg(0.0),
        },
        face_width: Mm::new(25.0),
        face_thickness: Mm::new(4.5),
        sweep: None,
        band_mhz: (8.0, 18.0),
        usual_mhz: 13.0,
        aperture: Mm::new(10.0),
        depth_range: (Mm::new(10.0), Mm::new(60.0)),
        usual_depth: Mm::new(25.0),
        dicom_geometry_code: LINEAR,
        housing: Housing {
            length: Mm::new(100.0),
            grip_width: Mm::new(16.0),
            grip_thickness: Mm::new(14.0),
            notch_length: Mm::new(10.0),
            notch_height: Mm::new(2.0),
        },
    },
    Transducer {
        id: "micro_convex",
        label: "Small-footprint sector, neonatal head",
        used_for: "fontanelle, infant abdomen, spaces between ribs",
        // Usual: radius 10-20 mm, field of view 70-110 degrees, face 18-28 x 8-10 mm. Chord 20.8 mm.
        shape: FaceShape::Curved {
            radius: Mm::new(14.0),
            fov: Angle::deg(96.0),
        },
        face_width: Mm::new(20.8),
        face_thickness: Mm::new(9.0),
        sweep: None,
        // 5-10 MHz; a neonatal head guideline names 5, 7.5-8 and 10 MHz.
        band_mhz: (5.0, 10.0),
        usual_mhz: 7.0,
        aperture: Mm::new(12.0),
        depth_range: (Mm::new(30.0), Mm::new(140.0)),
        usual_depth: Mm::new(90.0),
        dicom_geometry_code: CURVED_LINEAR,
        housing: Housing {
            length: Mm::new(100.0),
            grip_width: Mm::new(24.0),
            grip_thickness: Mm::new(20.0),
            notch_length: Mm::new(12.0),
            notch_height: Mm::new(2.5),
        },
    },
    Transducer {
        id: "phased",
        label: "Phased sector",
        used_for: "heart, between ribs, adult head",
        // Usual: face 15-22 x 12-15 mm, field of view 75-90 degrees, apex at or just behind the face.
        shape: FaceShape::Point {
            fov: Angle::deg(90.0),
        },
        face_width: Mm::new(20.0),
        face_thickness: Mm::new(14.0),
        sweep: None,
        // 1.5-5 MHz common practice; 2-3.5 MHz in a teaching text on transducers.
        band_mhz: (1.5, 5.0),
        usual_mhz: 2.5,
        aperture: Mm::new(18.0),
        depth_range: (Mm::new(50.0), Mm::new(240.0)),
        usual_depth: Mm::new(150.0),
        dicom_geometry_code: SECTOR,
        housing: Housing {
            length: Mm::new(105.0),
            grip_width: Mm::new(28.0),
            grip_thickness: Mm::new(24.0),
            notch_length: Mm::new(14.0),
            notch_height: Mm::new(3.0),
        },
    },
    Transducer {
        id: "endocavity",
        label: "Endocavity",
        used_for: "through the vagina, rectum or mouth",
        // Usual: radius 9-12 mm, field of view 120-180 degrees, arc 20-27 x 6-8 mm.
        shape: FaceShape::Curved {
            radius: Mm::new(11.0),
            fov: Angle::deg(140.0),
        },
        face_width: Mm::new(20.7),
        face_thickness: Mm::new(7.0),
        sweep: None,
        // 4-9 MHz common practice; 5-7.5 MHz in a teaching text on transducers.
        band_mhz: (4.0, 9.0),
        usual_mhz: 6.5,
        aperture: Mm::new(11.0),
        depth_range: (Mm::new(30.0), Mm::new(140.0)),
        usual_depth: Mm::new(80.0),
        dicom_geometry_code: CURVED_LINEAR,
        housing: Housing {
            length: Mm::new(280.0),
            grip_width: Mm::new(24.0),
            grip_thickness: Mm::new(24.0),
            notch_length: Mm::new(14.0),
            notch_height: Mm::new(2.5),
        },
    },
];
