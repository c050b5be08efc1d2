//! An acquired picture as a DICOM file.
//!
//! **Ultrasound Image Storage** (1.2.840.10008.5.1.4.1.1.6.1, PS3.3 A.6), not Ultrasound Multi-frame Image Storage: a frozen
//! picture is one frame, and the multi-frame class is for cine loops (A.7). Explicit VR Little Endian, uncompressed, which
//! every reader has to accept (PS3.5 10.1).
//!
//! Everything that is written says that it comes from a synthetic body and is for teaching. There are no words and no marks
//! in the pixels: what a reader has to know of plane, sides, scale and place stands in the attributes.
//!
//! The file is written here, not through the `dicom-object` library: the page links this module, and for a file of this
//! one kind that library adds 167 kB to the download (measured, gzip). The tests read the files with `pydicom`, `highdicom` and
//! `dciodvfy`.

mod codes;
mod element;

use anatomy::{BodyFacts, BodySide, Sex, Structure};
use geometry::{ImagePlane, PlaneName, patient_orientation};

use crate::moment::Moment;
use codes::Code;
use element::Elements;

/// Ultrasound Image Storage (PS3.4 B.5).
pub const SOP_CLASS: &str = "1.2.840.10008.5.1.4.1.1.6.1";

const EXPLICIT_LITTLE_ENDIAN: &str = "1.2.840.10008.1.2.1";

/// Names this writer (PS3.7 D.3.3.2); made once from a random UUID (PS3.5 B.2).
const IMPLEMENTATION: &str = "2.25.285525260297881456517618521011530261857";

/// The transducer in DICOM's words.
#[derive(Debug, Clone, Copy)]
pub struct TransducerWords<'a> {
    /// Its key, for Transducer Data (0018,5010).
    pub id: &'a str,
    /// Code and meaning of PS3.16 CID 12033, "Ultrasound Transducer Geometry".
    pub geometry: (&'a str, &'a str),
    /// Frequency, MHz.
    pub mhz: f64,
}

/// The structure that the picture is of.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// Its identifier.
    pub id: &'a str,
    /// Its side of the patient, DICOM's letter: `R`, `L` or `U` for unpaired.
    pub side: char,
}

impl<'a> Subject<'a> {
    /// A structure of `body`. It has a side only where the body has its like on the other side too: the aorta lies left of
    /// the mid-line and is unpaired all the same.
    #[must_use]
    pub fn of(body: &BodyFacts, structure: &'a Structure) -> Self {
        let id = structure.id.as_str();
        let other = match id.split_once('_') {
            Some(("right", rest)) => format!("left_{rest}"),
            Some(("left", rest)) => format!("right_{rest}"),
            _ => String::new(),
        };
        let side = match structure.side {
            BodySide::Right => 'R',
            BodySide::Left => 'L',
            BodySide::Mid => 'U',
        };
        Self {
            id,
            side: if body.find(&other).is_some() {
                side
            } else {
                'U'
            },
        }
    }
}

/// Everything that is known of a picture.
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    /// Tells the examination from every other.
    pub seed: u64,
    /// Number of the picture in the examination.
    pub number: u32,
    /// When it was acquired.
    pub at: Moment,
    /// The body.
    pub body: &'a BodyFacts,
    /// Width and height, pixels.
    pub size: (u16, u16),
    /// RGBA bytes as a canvas has them, row by row from the top. Where all are grey they are written as MONOCHROME2, else
    /// as RGB. Transparent ones become black.
    pub rgba: &'a [u8],
    /// Size of a pixel, mm.
    pub mm_per_px: f64,
    /// The pixel at the centre of the probe's footprint, from the centre of the top left one.
    pub origin_px: [f64; 2],
    /// The image plane.
    pub plane: &'a ImagePlane,
    /// What it is called.
    pub name: PlaneName,
    /// The displayed depth, mm.
    pub depth_mm: f64,
    /// The transducer.
    pub transducer: TransducerWords<'a>,
    /// What the picture is of, if that is said.
    pub subject: Option<Subject<'a>>,
    /// What stands on it.
    pub annotation: &'a str,
    /// The view as the fragment of an address, with which the program opens it again.
    pub link: &'a str,
}

/// Identifier of the file's object, SOP Instance UID (0008,0018).
#[must_use]
pub fn instance_uid(picture: &Picture<'_>) -> String {
    let own = format!("{}|{}|{}", picture.number, picture.at.unix_ms, picture.link);
    uid(picture.seed, &own)
}

/// The file: preamble, file meta information (PS3.10 7.1), data set.
#[must_use]
pub fn write(picture: &Picture<'_>) -> Vec<u8> {
    let instance = instance_uid(picture);
    let mut file = vec![0; 128];
    file.extend(b"DICM");
    let mut meta = Elements::default();
    meta.bytes_of((0x0002, 0x0001), &[0, 1]);
    meta.text((0x0002, 0x0002), b"UI", SOP_CLASS);
    meta.text((0x0002, 0x0003), b"UI", &instance);
    meta.text((0x0002, 0x0010), b"UI", EXPLICIT_LITTLE_ENDIAN);
    meta.text((0x0002, 0x0012), b"UI", IMPLEMENTATION);
    meta.text((0x0002, 0x0013), b"SH", "PLANEWARD");
    let mut length = Elements::default();
    length.ul((0x0002, 0x0000), u32::try_from(meta.len()).unwrap_or(0));
    length.append(meta);
    file.extend(length.bytes());

    let mut set = Elements::default();
    identity(&mut set, picture, &instance);
    acquisition(&mut set, picture);
    relation(&mut set, picture);
    image(&mut set, picture);
    file.extend(set.bytes());
    file
}

/// Group 0008 and 0010: what the object is, when, and of whom.
fn identity(set: &mut Elements, picture: &Picture<'_>, instance: &str) {
    let (date, time) = (picture.at.dicom_date(), picture.at.dicom_time());
    set.text((0x0008, 0x0005), b"CS", "ISO_IR 192");
    // Value 4 is the sum of the kinds of imaging: 0001 is 2-D (C.8.5.6.1.1). The pixels come from no other image.
    let kind = if picture.body.id == "infant_head" {
        r"ORIGINAL\PRIMARY\NEONATAL HEAD\0001"
    } else {
        r"ORIGINAL\PRIMARY\\0001"
    };
    set.text((0x0008, 0x0008), b"CS", kind);
    set.text((0x0008, 0x0012), b"DA", &date);
    set.text((0x0008, 0x0013), b"TM", &time);
    set.text((0x0008, 0x0016), b"UI", SOP_CLASS);
    set.text((0x0008, 0x0018), b"UI", instance);
    for element in [0x0020, 0x0021, 0x0023] {
        set.text((0x0008, element), b"DA", &date);
    }
    for element in [0x0030, 0x0031, 0x0033] {
        set.text((0x0008, element), b"TM", &time);
    }
    set.text((0x0008, 0x0050), b"SH", "");
    set.text((0x0008, 0x0060), b"CS", "US");
    set.text((0x0008, 0x0070), b"LO", "Planeward");
    set.text((0x0008, 0x0090), b"PN", "");
    set.text((0x0008, 0x0201), b"SH", &picture.at.dicom_offset());
    set.text(
        (0x0008, 0x1030),
        b"LO",
        "Teaching examination of a synthetic body",
    );
    set.text((0x0008, 0x103E), b"LO", "For teaching, not for diagnosis");
    set.text((0x0008, 0x1090), b"LO", "Planeward");
    if let Some(code) = picture
        .subject
        .and_then(|subject| codes::anatomy(subject.id))
    {
        set.sequence((0x0008, 0x2218), vec![coded(code)]);
    }
    set.text(
        (0x0010, 0x0010),
        b"PN",
        &shortened(&format!("Teaching^{}", plain_name(&picture.body.label)), 64),
    );
    set.text(
        (0x0010, 0x0020),
        b"LO",
        &shortened(&format!("TEACHING-{}", picture.body.id), 64),
    );
    set.text((0x0010, 0x0030), b"DA", "");
    set.text(
        (0x0010, 0x0040),
        b"CS",
        match picture.body.sex {
            Sex::Female => "F",
            Sex::Male => "M",
            Sex::Either => "",
        },
    );
    set.text(
        (0x0010, 0x4000),
        b"LT",
        "Synthetic body made by a program for teaching. No person was examined.",
    );
}

/// Group 0018: transducer and region calibration.
fn acquisition(set: &mut Elements, picture: &Picture<'_>) {
    set.text((0x0018, 0x1020), b"LO", env!("CARGO_PKG_VERSION"));
    set.text(
        (0x0018, 0x5010),
        b"LO",
        &shortened(picture.transducer.id, 64),
    );
    set.text((0x0018, 0x5050), b"IS", &format!("{:.0}", picture.depth_mm));
    set.sequence((0x0018, 0x6011), vec![region(picture)]);
    // C.8.5.6 has words of its own for what CID 12033 codes.
    let kind = match picture.transducer.geometry.0 {
        "125252" => "LINEAR",
        "125253" => "CURVED LINEAR",
        _ => "SECTOR_PHASED",
    };
    set.text((0x0018, 0x6031), b"CS", kind);
    let (value, meaning) = picture.transducer.geometry;
    let mut geometry = Elements::default();
    code(&mut geometry, value, "DCM", meaning);
    set.sequence((0x0018, 0x980D), vec![geometry]);
}

/// The one region, which is the whole picture (C.8.5.5).
///
/// Because it begins at the first pixel, a reader that counts the reference pixel from the region and one that counts it
/// from the picture find the same place.
fn region(picture: &Picture<'_>) -> Elements {
    let (width, height) = picture.size;
    let cm_per_px = picture.mm_per_px / 10.0;
    // The reference pixel is a whole one; what is left of the footprint's centre goes into its physical value.
    let [column, row] = picture.origin_px.map(f64::round);
    let mut region = Elements::default();
    region.us((0x0018, 0x6012), 1); // 2-D
    region.us((0x0018, 0x6014), 1); // tissue
    region.ul((0x0018, 0x6016), 0); // opaque, not protected, scan lines anyhow
    region.ul((0x0018, 0x6018), 0);
    region.ul((0x0018, 0x601A), 0);
    region.ul((0x0018, 0x601C), u32::from(width).saturating_sub(1));
    region.ul((0x0018, 0x601E), u32::from(height).saturating_sub(1));
    region.sl((0x0018, 0x6020), whole(column));
    region.sl((0x0018, 0x6022), whole(row));
    region.us((0x0018, 0x6024), 3); // cm
    region.us((0x0018, 0x6026), 3);
    region.fd(
        (0x0018, 0x6028),
        (column - picture.origin_px[0]) * cm_per_px,
    );
    region.fd((0x0018, 0x602A), (row - picture.origin_px[1]) * cm_per_px);
    region.fd((0x0018, 0x602C), cm_per_px);
    region.fd((0x0018, 0x602E), cm_per_px);
    region.ul((0x0018, 0x6030), khz(picture.transducer.mhz));
    region
}

/// Group 0020: identifiers of study and series, orientation, what stands on the picture.
fn relation(set: &mut Elements, picture: &Picture<'_>) {
    let study = format!("study {}", picture.body.id);
    set.text((0x0020, 0x000D), b"UI", &uid(picture.seed, &study));
    set.text(
        (0x0020, 0x000E),
        b"UI",
        &uid(picture.seed, &format!("series of {study}")),
    );
    set.text((0x0020, 0x0010), b"SH", "TEACHING");
    set.text((0x0020, 0x0011), b"IS", "1");
    set.text((0x0020, 0x0013), b"IS", &picture.number.to_string());
    set.text((0x0020, 0x0020), b"CS", &patient_orientation(picture.plane));
    // R, L, or U for an unpaired part (C.7.6.1); U too where nothing is said of what the picture is of.
    let side = picture.subject.map_or('U', |subject| subject.side);
    set.text((0x0020, 0x0062), b"CS", &side.to_string());
    let comment = format!(
        "{}\r\nPlaneward view: {}",
        picture.annotation.trim(),
        picture.link
    );
    set.text((0x0020, 0x4000), b"LT", &shortened(comment.trim(), 10_240));
}

/// Group 0028, the view, and the pixels.
fn image(set: &mut Elements, picture: &Picture<'_>) {
    let (width, height) = picture.size;
    let (samples, bytes) = samples(picture.rgba, usize::from(width) * usize::from(height));
    set.us((0x0028, 0x0002), samples);
    let colours = if samples == 1 { "MONOCHROME2" } else { "RGB" };
    set.text((0x0028, 0x0004), b"CS", colours);
    if samples == 3 {
        set.us((0x0028, 0x0006), 0);
    }
    set.us((0x0028, 0x0010), height);
    set.us((0x0028, 0x0011), width);
    // Colour stands for tissue here, never for flow.
    set.us((0x0028, 0x0014), 0);
    set.us((0x0028, 0x0100), 8);
    set.us((0x0028, 0x0101), 8);
    set.us((0x0028, 0x0102), 7);
    set.us((0x0028, 0x0103), 0);
    // The picture of something made for the purpose, not of a patient (C.7.6.1).
    set.text((0x0028, 0x0300), b"CS", "YES");
    set.text((0x0028, 0x0301), b"CS", "NO");
    set.text((0x0028, 0x0302), b"CS", "NO");
    set.text((0x0028, 0x2110), b"CS", "00");
    set.sequence((0x0054, 0x0220), vec![coded(codes::plane(picture.name))]);
    set.bytes_of((0x7FE0, 0x0010), &bytes);
}

/// Samples per pixel and their bytes; what is missing is black.
fn samples(rgba: &[u8], pixels: usize) -> (u16, Vec<u8>) {
    let seen = |pixel: &[u8]| -> [u8; 3] {
        match pixel {
            [r, g, b, alpha] => [r, g, b].map(|c| over_black(*c, *alpha)),
            _ => [0; 3],
        }
    };
    let grey = rgba
        .chunks_exact(4)
        .map(seen)
        .all(|[r, g, b]| r == g && g == b);
    let used = rgba.chunks_exact(4).take(pixels).map(seen);
    let (samples, mut bytes): (u16, Vec<u8>) = if grey {
        (1, used.map(|[r, ..]| r).collect())
    } else {
        (3, used.flatten().collect())
    };
    bytes.resize(pixels * usize::from(samples), 0);
    (samples, bytes)
}

/// A colour (0 to 255) of this opacity (0 to 255) before black.
#[must_use]
pub fn over_black(colour: u8, alpha: u8) -> u8 {
    let shown = (u16::from(colour) * u16::from(alpha) + 127) / 255;
    u8::try_from(shown).unwrap_or(u8::MAX)
}

fn coded(of: Code) -> Elements {
    let mut item = Elements::default();
    code(&mut item, of.value, of.scheme, of.meaning);
    item
}

fn code(item: &mut Elements, value: &str, scheme: &str, meaning: &str) {
    item.text((0x0008, 0x0100), b"SH", value);
    item.text((0x0008, 0x0102), b"SH", scheme);
    item.text((0x0008, 0x0104), b"LO", meaning);
}

/// A name without what separates its parts.
fn plain_name(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control() && !['^', '=', '\\'].contains(c))
        .collect()
}

fn shortened(text: &str, most: usize) -> String {
    text.chars().take(most).collect()
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a pixel of a picture of at most 65535 pixels; far outside, the nearest number that can be written"
)]
fn whole(pixel: f64) -> i32 {
    pixel as i32
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a frequency of a few megahertz; the cast keeps it at zero or above"
)]
fn khz(mhz: f64) -> u32 {
    (mhz * 1000.0).round() as u32
}

/// A UID made of a UUID (PS3.5 B.2). The UUID is of version 8, "vendor-specific" (RFC 9562 5.8): its bits are a hash of
/// the examination's random seed and of what is named, so that the same picture saved twice is the same object.
fn uid(seed: u64, what: &str) -> String {
    let hash = |start: u64| {
        // FNV-1a, 64 bits, with the seed and a start of its own for each half.
        seed.to_le_bytes()
            .iter()
            .chain(what.as_bytes())
            .fold(start, |hash, byte| {
                (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01B3)
            })
    };
    let (high, low) = (hash(0xCBF2_9CE4_8422_2325), hash(0x6C62_272E_07BB_0142));
    let bits = (u128::from(high) << 64) | u128::from(low);
    let version = 0xF_u128 << 76;
    let variant = 0x3_u128 << 62;
    let bits = (bits & !version & !variant) | (0x8_u128 << 76) | (0x2_u128 << 62);
    format!("2.25.{bits}")
}
