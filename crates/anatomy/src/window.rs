//! Named probe positions, and how a description of one finds its place on a skin.

use std::collections::BTreeMap;

use geometry::{
    ApexSide, Convention, Direction, MarkSide, Mm, Patient, Point, Pose, PoseError, Vector,
};

use crate::axis::AxisView;
use crate::catalogue::{
    FaceEntry, FaceWord, IndicatorEntry, IndicatorWord, ResolvedEntry, WindowSpec,
};
use crate::skin::{SkinPoint, SkinSurface};
use crate::structure::StructureId;

/// A named probe position on one body.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Stable name.
    pub id: String,
    /// English words.
    pub label: String,
    /// Name of the view as the trade would say it; a hint, never the computed plane name.
    pub plane_hint: String,
    /// Key of the transducer: `convex`, `linear`, `phased`, `micro_convex`.
    pub transducer: String,
    /// Depth setting.
    pub depth: Mm,
    /// Side of the screen at which the mark is shown.
    pub mark: MarkSide,
    /// The probe on this body's skin.
    pub pose: Pose,
    /// Point the beam goes through, patient mm.
    pub aim: Point<Patient>,
    /// Structures that have to be in the picture.
    pub must_see: Vec<StructureId>,
    /// How the view shows some of them.
    pub axis_of: Vec<(StructureId, AxisView)>,
}

impl Window {
    /// The display convention of the window: its mark, apex at the top.
    #[must_use]
    pub fn convention(&self) -> Convention {
        Convention {
            mark: self.mark,
            apex: ApexSide::Top,
        }
    }
}

/// Why a description has no place on a body.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WindowError {
    /// The description starts from a landmark this body does not have.
    #[error("landmark {0:?} is not known in this body")]
    Level(String),
    /// A direction of the description has no length.
    #[error("{field} {value:?} has no direction")]
    NoDirection {
        /// Which entry.
        field: &'static str,
        /// Its value.
        value: [f64; 3],
    },
    /// The search ray misses the skin.
    #[error("no skin on the ray from {from:?} along {along:?} (patient mm)")]
    NoSkin {
        /// Start of the ray.
        from: [f64; 3],
        /// Its direction.
        along: [f64; 3],
    },
    /// The outward search starts outside the body.
    #[error("the outward search starts at {0:?} (patient mm), which is not inside the body")]
    Outside([f64; 3]),
    /// The probe cannot stand like that.
    #[error("the probe cannot stand there: {0}")]
    Pose(#[from] PoseError),
}

/// Finds the place of a described window on a skin and how the probe stands there.
///
/// The contact point is the first skin met by the described ray (for `left` and `right`: the first exit on the way out
/// from inside the trunk, so that an arm beside it is never met); the beam runs from it to the aim point; the notch is
/// the indicator made perpendicular to the beam. The outward normal is the smoothed one.
///
/// `landmarks` are patient mm of this body; the description's own lengths are multiplied by `offset_scale`.
///
/// # Errors
/// [`WindowError`].
pub fn resolve(
    spec: &WindowSpec,
    landmarks: &BTreeMap<String, [f64; 3]>,
    offset_scale: f64,
    skin: &SkinSurface,
) -> Result<ResolvedEntry, WindowError> {
    let contact = contact(spec, landmarks, offset_scale, skin)?;
    let aim = Point::from_array(spec.aim.map(|mm| mm * offset_scale));
    let to_aim = aim - contact.point;
    let beam = to_aim.direction().ok_or_else(|| WindowError::NoDirection {
        field: "contact to aim",
        value: to_aim.to_array(),
    })?;
    let indicator = indicator(spec.indicator);
    let notch = indicator
        .direction()
        .and_then(|notch| notch.perpendicular_to(beam))
        .ok_or_else(|| WindowError::NoDirection {
            field: "indicator across the beam",
            value: indicator.to_array(),
        })?;
    Ok(ResolvedEntry {
        contact: contact.point.to_array(),
        normal: skin.smoothed_normal(&contact).to_array(),
        notch: notch.to_array(),
        beam: beam.to_array(),
    })
}

/// The pose of a resolved window; press is zero.
///
/// # Errors
/// [`WindowError::NoDirection`] when the entry's normal has none, [`WindowError::Pose`] when no pose has such a notch
/// and beam.
pub fn pose(entry: &ResolvedEntry) -> Result<Pose, WindowError> {
    let normal = Direction::from_array(entry.normal).ok_or(WindowError::NoDirection {
        field: "normal",
        value: entry.normal,
    })?;
    let (notch, beam) = (
        Vector::from_array(entry.notch),
        Vector::from_array(entry.beam),
    );
    Ok(Pose::from_notch_and_beam(
        Point::from_array(entry.contact),
        normal,
        notch,
        beam,
    )?)
}

fn contact(
    spec: &WindowSpec,
    landmarks: &BTreeMap<String, [f64; 3]>,
    offset_scale: f64,
    skin: &SkinSurface,
) -> Result<SkinPoint, WindowError> {
    let level = landmarks
        .get(&spec.level)
        .ok_or_else(|| WindowError::Level(spec.level.clone()))?;
    let [dx, dy, dz] = [spec.dx, spec.dy, spec.dz].map(|mm| mm * offset_scale);
    let z = level[2] + dz;
    let (through, along) = match spec.face {
        FaceEntry::Word(FaceWord::Anterior) => ([dx, 0.0, z], [0.0, 1.0, 0.0]),
        FaceEntry::Word(FaceWord::Posterior) => ([dx, 0.0, z], [0.0, -1.0, 0.0]),
        FaceEntry::Word(FaceWord::Superior) => ([dx, level[1] + dy, z], [0.0, 0.0, -1.0]),
        FaceEntry::Word(FaceWord::Left) => return outward([0.0, dy, z], [1.0, 0.0, 0.0], skin),
        FaceEntry::Word(FaceWord::Right) => return outward([0.0, dy, z], [-1.0, 0.0, 0.0], skin),
        FaceEntry::Ray(vector) => ([dx, dy, z], vector),
    };
    let direction = Direction::from_array(along).ok_or(WindowError::NoDirection {
        field: "face",
        value: along,
    })?;
    let through = Point::from_array(through);
    let (lo, hi) = skin.bounds();
    let (lo, hi) = (Point::from_array(lo), Point::from_array(hi));
    // Far enough back to be outside wherever the point is.
    let back = (hi - lo).norm() + (through - lo).norm();
    let from = through - direction * back;
    skin.ray(from, direction)
        .ok_or_else(|| WindowError::NoSkin {
            from: from.to_array(),
            along,
        })
}

fn outward(from: [f64; 3], along: [f64; 3], skin: &SkinSurface) -> Result<SkinPoint, WindowError> {
    let start = Point::from_array(from);
    if !skin.contains(start) {
        return Err(WindowError::Outside(from));
    }
    Direction::from_array(along)
        .and_then(|direction| skin.ray_from_inside(start, direction))
        .ok_or(WindowError::NoSkin { from, along })
}

fn indicator(entry: IndicatorEntry) -> Vector<Patient> {
    match entry {
        IndicatorEntry::Vector(vector) => Vector::from_array(vector),
        IndicatorEntry::Word(word) => Vector::from_array(match word {
            IndicatorWord::Head => [0.0, 0.0, 1.0],
            IndicatorWord::Feet => [0.0, 0.0, -1.0],
            IndicatorWord::Left => [1.0, 0.0, 0.0],
            IndicatorWord::Right => [-1.0, 0.0, 0.0],
            IndicatorWord::Anterior => [0.0, -1.0, 0.0],
            IndicatorWord::Posterior => [0.0, 1.0, 0.0],
        }),
    }
}
