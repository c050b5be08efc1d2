//! The parts of a body: names, sides, walls, axes and segments.

use std::fmt;
use std::sync::Arc;

use geometry::{Direction, ImagePlane, Patient, Point};

use crate::axis::{CentreLine, LongAxis};
use crate::segment::{self, Segment};
use crate::tissue::TissueId;

/// Stable `snake_case` name of a structure, equal in every body that has it: `left_renal_vein`.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StructureId(Arc<str>);

impl StructureId {
    /// Wraps a name. Whether a body has such a structure is asked with [`Body::find`](crate::body::Body::find).
    #[must_use]
    pub fn new(name: &str) -> Self {
        Self(Arc::from(name))
    }

    /// The name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for StructureId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.0, f)
    }
}

impl fmt::Display for StructureId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Number of a structure within one body; meaningless outside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StructureIndex(pub usize);

/// Side of the body a structure belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BodySide {
    /// The patient's left.
    Left,
    /// The patient's right.
    Right,
    /// On or across the mid-line.
    Mid,
}

/// Body system a structure belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum System {
    /// Arteries.
    Arterial,
    /// Heart and its coverings.
    Cardiac,
    /// Fat, fascia, ligaments.
    Connective,
    /// Gut, liver, biliary tree, pancreas.
    Digestive,
    /// Glands without a duct.
    Endocrine,
    /// Skin, breast.
    Integument,
    /// Nodes and spleen-like tissue.
    Lymphatic,
    /// Muscles and diaphragm.
    Muscular,
    /// Brain and cord.
    Nervous,
    /// Helper shapes of the description.
    Reference,
    /// Genital organs.
    Reproductive,
    /// Airways and lungs.
    Respiratory,
    /// Eyes and ears.
    Sensory,
    /// Bones, cartilage, discs.
    Skeletal,
    /// Kidneys, ureters, bladder.
    Urinary,
    /// Veins.
    Venous,
}

impl System {
    /// Every system with the word that the body description uses for it.
    pub const ALL: [(Self, &'static str); 16] = [
        (Self::Arterial, "arterial"),
        (Self::Cardiac, "cardiac"),
        (Self::Connective, "connective"),
        (Self::Digestive, "digestive"),
        (Self::Endocrine, "endocrine"),
        (Self::Integument, "integument"),
        (Self::Lymphatic, "lymphatic"),
        (Self::Muscular, "muscular"),
        (Self::Nervous, "nervous"),
        (Self::Reference, "reference"),
        (Self::Reproductive, "reproductive"),
        (Self::Respiratory, "respiratory"),
        (Self::Sensory, "sensory"),
        (Self::Skeletal, "skeletal"),
        (Self::Urinary, "urinary"),
        (Self::Venous, "venous"),
    ];

    /// The system named by a word of the body description.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .find(|(_, name)| *name == word)
            .map(|(system, _)| *system)
    }

    /// The word of the body description.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(system, _)| *system == self)
            .map_or("", |(_, name)| name)
    }
}

/// A clinical code and whether anybody checked it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Code {
    /// "SCT 89837001; FMA 15900".
    pub text: String,
    /// True while the number has not been checked against the published terminology.
    pub from_memory: bool,
}

/// A shell of another tissue around a structure.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// Tissue of the shell.
    pub tissue: TissueId,
    /// Thickness in mm, outside the structure.
    pub mm: f64,
    /// Structures inside which the shell is not painted, so that a branch opens into its parent.
    pub open_into: Vec<StructureIndex>,
}

/// One anatomical part.
#[derive(Debug, Clone, PartialEq)]
pub struct Structure {
    /// Stable name.
    pub id: StructureId,
    /// English words: "Left renal vein".
    pub label: String,
    /// Sonographic abbreviation: "Lt RV".
    pub short_label: String,
    /// Side of the body it belongs to.
    pub side: BodySide,
    /// Body system.
    pub system: System,
    /// Tissue inside.
    pub tissue: TissueId,
    /// Paint priority: higher wins; ties are broken by load order.
    pub priority: i32,
    /// Clinical code.
    pub code: Option<Code>,
    /// Shell around it.
    pub wall: Option<Wall>,
    /// Share of the inside that is gas, 0–1.
    pub gas_fraction: Option<f64>,
    /// Long axis; `None` where none is worth naming.
    pub axis: Option<LongAxis>,
    /// Centre line of its first tube.
    pub centre_line: Option<CentreLine>,
    /// Named stretches and regions.
    pub segments: Vec<Segment>,
    /// Volume of its own mesh in mL, without the wall.
    pub volume_ml: Option<f64>,
}

impl Structure {
    /// Direction of the long axis near `point` (patient mm): for a centre line its tangent at the nearest point,
    /// otherwise the one straight axis. The sense along the axis is as described (a tube's first row first).
    #[must_use]
    pub fn axis_at(&self, point: Point<Patient>) -> Option<Direction<Patient>> {
        match self.axis.as_ref()? {
            LongAxis::Line { a, b } | LongAxis::Principal { a, b } => (*b - *a).direction(),
            LongAxis::CentreLine => Some(self.centre_line.as_ref()?.nearest(point).tangent),
        }
    }

    /// Direction of the long axis where the plane meets it, nearest to `near` (patient mm) when a winding tube meets
    /// the plane more than once; where it does not meet the plane close by, [`axis_at`](Self::axis_at) `near`.
    #[must_use]
    pub fn axis_on(&self, plane: &ImagePlane, near: Point<Patient>) -> Option<Direction<Patient>> {
        if self.axis == Some(LongAxis::CentreLine)
            && let Some(line) = &self.centre_line
            && let Some(tangent) = line.crossing(plane, near)
        {
            return Some(tangent);
        }
        self.axis_at(near)
    }

    /// The segment that `point` (patient mm) belongs to, if any; see [`segment`] for which wins where
    /// two overlap. The point need not lie inside the structure.
    #[must_use]
    pub fn segment_at(&self, point: Point<Patient>) -> Option<&Segment> {
        segment::segment_at(
            &self.segments,
            self.axis.as_ref(),
            self.centre_line.as_ref(),
            point,
        )
    }
}
