//! A view as the fragment of an address.
//!
//! The whole state of a view travels behind the `#`, so that a copied address reopens it, no server
//! is asked, and it works in a frame and from disk. The text is meant to be read and written by hand:
//!
//! ```text
//! v1.body=adult_female&at=9.5,-114.2,118&out=-90,2.5&turn=0&tilt=0&rock=0&press=0
//!   &probe=convex&depth=150&mark=left&apex=top&tol=20&lie=supine&seat=right
//! ```
//!
//! | key | meaning | when absent |
//! | --- | --- | --- |
//! | `body` | identifier of the body | the reader's default |
//! | `window` | identifier of a named window | no window |
//! | `at` | contact point, patient frame (LPS), mm | the window's pose, else the default |
//! | `out` | outward skin normal: azimuth from +x toward +y, elevation toward +z, degrees | needed with `at` |
//! | `turn` `tilt` `rock` | rotation clockwise seen from outside, tilt, rock, degrees | 0 |
//! | `press` | millimetres the footprint is pushed in | 0 |
//! | `probe` `depth` | transducer identifier, displayed depth in mm | the reader's default |
//! | `mark` `apex` | `left`/`right`, `top`/`bottom` of the image | `left`, `top` |
//! | `tol` | tolerance of plane names, degrees | 20 |
//! | `lie` | position of the body: `supine`, `prone`, `left_side_down`, `right_side_down`, `seated`, `lithotomy` | `supine` |
//! | `grey` | how much of the grey-scale picture is shown, percent | 0 |
//! | `gain` `range` | gain and dynamic range of the grey-scale picture, dB | the transducer's |
//! | `freq` `focus` | frequency in MHz, depth of the focus in mm | the transducer's, half the depth |
//! | `comp` | compensation of attenuation, dB/(cm MHz) | the transducer's |
//! | `tgc` | eight sliders of the time gain from the face down, dB | 0 |
//! | `seat` | the patient's side on which the examiner sits, `right` or `left` | `right` |
//!
//! Rules: a key this version does not know is passed over, so that a later version may add one; a known
//! key written twice, a value out of its range, or `at` without `out` is an error, because guessing
//! would show another plane than the sender meant. Lengths and angles are rounded to a thousandth, which
//! makes encoding stable: what was decoded encodes to the same text. The normal is written as two
//! angles, since three rounded components would change again each time they are made unit length.

mod number;
mod read;
mod write;

use geometry::{ApexSide, BodyPosition, MarkSide};

/// Version mark at the start of every fragment.
pub const VERSION: &str = "v1.";

/// Longest text that is looked at, in characters. Ours stay below 470; the rest is room for unknown keys.
pub const LONGEST: usize = 2000;

/// Which of the patient's sides the examiner sits at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Seat {
    /// At the patient's right side (common practice, no source).
    #[default]
    Right,
    /// At the patient's left side.
    Left,
}

/// A pose as a link carries it: plain numbers, patient frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinkPose {
    /// Contact point on the skin, patient frame, mm.
    pub contact_mm: [f64; 3],
    /// Outward skin normal: angle in the transverse plane from the patient's left (+x) toward the back
    /// (+y), −180 (exclusive) to 180 degrees. So −90 is straight out of the front of the body.
    pub out_azimuth_deg: f64,
    /// Outward skin normal: angle out of the transverse plane toward the head, −90 to 90 degrees.
    pub out_elevation_deg: f64,
    /// Rotation, clockwise as seen from outside the skin, 0 (inclusive) to 360 (exclusive) degrees.
    pub rotation_deg: f64,
    /// Tilt, −90 to 90 degrees.
    pub tilt_deg: f64,
    /// Rock, −90 to 90 degrees; positive swings the beam toward the notch.
    pub rock_deg: f64,
    /// How far the footprint is pushed in, 0 to 100 mm.
    pub press_mm: f64,
}

/// How a link shows the picture. Absent parts follow transducer and depth.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LinkPicture {
    /// How much of the grey-scale picture is shown, 0 to 100 percent; absent for none.
    pub grey_percent: Option<f64>,
    /// Gain, −60 to 60 dB.
    pub gain_db: Option<f64>,
    /// Dynamic range, 10 to 200 dB.
    pub range_db: Option<f64>,
    /// Frequency, 0.5 to 50 MHz.
    pub frequency_mhz: Option<f64>,
    /// Depth of the focus, 1 to 400 mm.
    pub focus_mm: Option<f64>,
    /// Compensation of attenuation, 0 to 5 dB/(cm MHz).
    pub compensation_db: Option<f64>,
    /// Sliders of the time gain from the face down, −60 to 60 dB each.
    pub time_gain_db: Option<[f64; 8]>,
}

/// Everything a link says. Absent parts are for the reader to fill in.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkState {
    /// Identifier of the body.
    pub body: Option<String>,
    /// Identifier of the named window the view came from.
    pub window: Option<String>,
    /// The pose; wins over the window's.
    pub pose: Option<LinkPose>,
    /// Identifier of the transducer.
    pub transducer: Option<String>,
    /// Displayed depth, 10 to 400 mm.
    pub depth_mm: Option<f64>,
    /// Side of the image at which the notch's side is shown.
    pub mark: MarkSide,
    /// End of the image at which the footprint is shown.
    pub apex: ApexSide,
    /// Tolerance of plane names, 5 to 40 degrees.
    pub tolerance_deg: f64,
    /// How the body lies.
    pub position: BodyPosition,
    /// Where the examiner sits.
    pub seat: Seat,
    /// How the picture is shown.
    pub picture: LinkPicture,
}

impl Default for LinkState {
    fn default() -> Self {
        Self {
            body: None,
            window: None,
            pose: None,
            transducer: None,
            depth_mm: None,
            mark: MarkSide::Left,
            apex: ApexSide::Top,
            tolerance_deg: 20.0,
            position: BodyPosition::Supine,
            seat: Seat::Right,
            picture: LinkPicture::default(),
        }
    }
}

/// Why a text is no link of ours. Each message is a whole sentence fit for a screen once capitalised.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LinkError {
    /// The text does not start with a version this program reads.
    #[error("the link does not start with \"v1.\", so it is not a view of this version")]
    Version,
    /// The text is longer than any link of ours.
    #[error("the link is longer than {LONGEST} characters")]
    TooLong,
    /// A part between two `&` is not `key=value`.
    #[error("the part \"{part}\" of the link is not written key=value")]
    Shape {
        /// The offending part, shortened.
        part: String,
    },
    /// A known key stands twice.
    #[error("the link says \"{key}\" twice")]
    Twice {
        /// The key.
        key: &'static str,
    },
    /// A value that should be one or more numbers is not.
    #[error("\"{value}\" is no number for \"{key}\"")]
    Number {
        /// The key.
        key: &'static str,
        /// The offending value, shortened.
        value: String,
    },
    /// A list of numbers has the wrong length.
    #[error("\"{key}\" needs {wanted} numbers, the link has {found}")]
    Count {
        /// The key.
        key: &'static str,
        /// How many numbers belong there.
        wanted: usize,
        /// How many were found.
        found: usize,
    },
    /// A number lies outside its range.
    #[error("{value} {unit} for \"{key}\" is outside {low} to {high} {unit}")]
    Range {
        /// The key.
        key: &'static str,
        /// The offending number.
        value: f64,
        /// Least allowed number.
        low: f64,
        /// Greatest allowed number.
        high: f64,
        /// Unit of all three.
        unit: &'static str,
    },
    /// A word is not one of the words of its key.
    #[error("\"{value}\" is not one of the words for \"{key}\": {words}")]
    Word {
        /// The key.
        key: &'static str,
        /// The offending value, shortened.
        value: String,
        /// The words that would do.
        words: &'static str,
    },
    /// An identifier has characters other than a–z, 0–9, `_` and `-`, or is empty, or too long.
    #[error("\"{value}\" cannot be the name of a {key}")]
    Identifier {
        /// The key.
        key: &'static str,
        /// The offending value, shortened.
        value: String,
    },
    /// The contact point came without its normal, or the other way round.
    #[error("the link gives \"{present}\" without \"{missing}\"")]
    HalfPose {
        /// The key that is there.
        present: &'static str,
        /// The key that is missing.
        missing: &'static str,
    },
}

pub(crate) use read::percent_decoded;
pub use read::read;
pub use write::{tidy, write};
