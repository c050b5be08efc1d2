//! The catalogue file `<body>.json` that stands beside a baked `<body>.glb`: the same content as data.
//!
//! Everything in it is **resolved**: scaled to the body, in the patient frame (LPS, mm), local frames applied,
//! pairs already split into `left_…` and `right_…` with the right one mirrored. A reader needs no TOML and no formula.
//! The structs are the file, field for field; the program works with the checked types of the other modules.
//!
//! They are read by [`Catalogue::from_json`]. Serde writes them; that it can read them too is for tests, which hold the
//! reader against it.

mod reading;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The only version of the catalogue this crate reads and writes.
pub const VERSION: u32 = 1;

/// The whole file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catalogue {
    /// Format version, [`VERSION`].
    pub version: u32,
    /// Who this body is.
    pub body: BodyEntry,
    /// Named points in patient mm, already scaled to this body.
    pub landmarks: BTreeMap<String, [f64; 3]>,
    /// Every tissue of the tissue table, in the order of that table.
    pub tissues: Vec<TissueEntry>,
    /// Every part that is drawn or named, in load order (includes first, a pair left before right).
    /// Reference shapes (tissue `none`) are left out.
    pub structures: Vec<StructureEntry>,
    /// Every mesh of the GLB, strictly ascending in `paint_order`; the first is the skin.
    pub surfaces: Vec<SurfaceEntry>,
    /// The named probe positions that belong to this body.
    pub windows: Vec<WindowEntry>,
}

impl Catalogue {
    /// The file's bytes: compact JSON; the same catalogue always gives the same bytes.
    ///
    /// # Errors
    /// A value that JSON cannot hold. Note that a non-finite number is written as `null` and refused on reading.
    pub fn to_json(&self) -> Result<Vec<u8>, serde_json::Error> {
        serde_json::to_vec(self)
    }
}

/// Header of a body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BodyEntry {
    /// Stable name, also the file stem: `adult_female`.
    pub id: String,
    /// English words.
    pub label: String,
    /// Sex of the body.
    pub sex: SexEntry,
    /// Stature in mm; absent for a head alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stature_mm: Option<f64>,
    /// Factor for window offsets and aim points written at woman size.
    pub offset_scale: f64,
    /// Thickness of the skin in mm.
    pub dermis_mm: f64,
}

/// Sex of a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SexEntry {
    /// Female organs.
    Female,
    /// Male organs.
    Male,
    /// No organ of this body depends on the sex.
    Either,
}

/// Acoustic values of one tissue; units as in the tissue table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TissueEntry {
    /// Key, for instance `liver`.
    pub key: String,
    /// Speed of sound, m/s.
    pub c: f64,
    /// Density, kg/m³.
    pub rho: f64,
    /// Acoustic impedance, `MRayl`.
    pub z: f64,
    /// Attenuation, dB/(cm MHz).
    pub att: f64,
    /// Frequency exponent of the attenuation.
    pub n: f64,
    /// Mean backscatter in dB relative to liver.
    pub bs: f64,
    /// Brightness of a perpendicular boundary, 0–1.
    pub spec: f64,
    /// Nothing useful is seen behind this tissue.
    pub shadow: bool,
    /// Relative coarseness of the speckle, 1 = liver.
    pub grain: f64,
    /// The look in words.
    pub texture: String,
}

/// One anatomical part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StructureEntry {
    /// Stable `snake_case` name, sides resolved: `left_renal_vein`.
    pub id: String,
    /// English words: "Left renal vein".
    pub label: String,
    /// Sonographic abbreviation: "Lt RV".
    pub short_label: String,
    /// Side of the body the part belongs to.
    pub side: SideEntry,
    /// Body system: `arterial`, `urinary`, …
    pub system: String,
    /// Key of the tissue inside.
    pub tissue: String,
    /// Paint priority: higher wins; ties are broken by load order.
    pub priority: i32,
    /// Clinical code, if one is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<CodeEntry>,
    /// Shell of another tissue around the part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall: Option<WallEntry>,
    /// Share of the inside that is gas, 0–1 (lies foremost, toward −y, in a supine body).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gas_fraction: Option<f64>,
    /// Long axis; absent where the part has none worth naming (the skin, the fat between the organs).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis: Option<AxisEntry>,
    /// Centre line of the part's first tube as a polyline in patient mm, from its start to its end, every straight
    /// piece of the tube one step. Empty for a part without a tube. `arc` segments and the `centre_line` axis need it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub centre_line: Vec<[f64; 3]>,
    /// Named stretches or regions of the part.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub segments: Vec<SegmentEntry>,
    /// Volume of the part's own mesh in mL, its wall not included; absent when the part has no mesh.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume_ml: Option<f64>,
}

/// Side of the body a part belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SideEntry {
    /// The patient's left.
    Left,
    /// The patient's right.
    Right,
    /// On or across the mid-line.
    Mid,
}

/// A clinical code such as "SCT 89837001; FMA 15900".
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CodeEntry {
    /// The code as written in the body description.
    pub text: String,
    /// True while nobody has checked the number against the published terminology.
    pub from_memory: bool,
}

/// A shell around a part: the space between its surface and that surface moved outward.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WallEntry {
    /// Key of the shell's tissue.
    pub tissue: String,
    /// Thickness in mm.
    pub mm: f64,
    /// Ids of the parts inside which the shell is not painted, so that a branch opens into its parent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open_into: Vec<String>,
}

/// Long axis of a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum AxisEntry {
    /// A stated straight axis from `a` to `b`, patient mm.
    Line {
        /// Start; fraction 0 of an `axis` segment.
        a: [f64; 3],
        /// End; fraction 1 of an `axis` segment.
        b: [f64; 3],
    },
    /// The tangent of the part's `centre_line`.
    CentreLine,
    /// The direction in which the part's mesh is longest, from one end of its extent to the other (through its
    /// centroid), patient mm. Computed, not stated.
    Principal {
        /// One end.
        a: [f64; 3],
        /// The other end.
        b: [f64; 3],
    },
}

/// A named stretch or region of a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SegmentEntry {
    /// Name within the part: `right_lobe`.
    pub id: String,
    /// English words: "Right lobe".
    pub label: String,
    /// Where it is.
    pub place: SegmentPlace,
}

/// Rule that says which points of a part belong to a segment. Patient mm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case", deny_unknown_fields)]
pub enum SegmentPlace {
    /// Fraction of the arc length of the part's `centre_line`, at its point nearest to the point asked for.
    Arc {
        /// First fraction, 0–1.
        from: f64,
        /// Last fraction, 0–1.
        to: f64,
    },
    /// Between two heights z; either may be the larger.
    Z {
        /// One height, mm.
        from: f64,
        /// The other height, mm.
        to: f64,
    },
    /// Fraction along the part's straight axis; the ends are open, so points beyond `a` count as 0, beyond `b` as 1.
    Axis {
        /// First fraction, 0–1.
        from: f64,
        /// Last fraction, 0–1.
        to: f64,
    },
    /// Points p with `n · (p − at) < 0`.
    Halfspace {
        /// A point of the dividing plane.
        at: [f64; 3],
        /// Direction that points away from the segment; any length but zero.
        n: [f64; 3],
    },
    /// Inside the axis-parallel ellipsoid.
    Ellipsoid {
        /// Centre.
        c: [f64; 3],
        /// Half axes, mm.
        r: [f64; 3],
    },
    /// Inside the axis-parallel box.
    Box {
        /// Smallest corner.
        lo: [f64; 3],
        /// Largest corner.
        hi: [f64; 3],
    },
}

impl SegmentPlace {
    /// The same place on the other side of the body (x → −x).
    ///
    /// `Arc`, `Axis` and `Z` do not change: their centre line and axis are what gets mirrored.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let flip = |p: [f64; 3]| [-p[0], p[1], p[2]];
        match *self {
            Self::Halfspace { at, n } => Self::Halfspace {
                at: flip(at),
                n: flip(n),
            },
            Self::Ellipsoid { c, r } => Self::Ellipsoid { c: flip(c), r },
            Self::Box { lo, hi } => Self::Box {
                lo: [-hi[0], lo[1], lo[2]],
                hi: [-lo[0], hi[1], hi[2]],
            },
            Self::Arc { .. } | Self::Z { .. } | Self::Axis { .. } => self.clone(),
        }
    }
}

/// One mesh of the GLB and how it is painted.
///
/// The node's name says what the mesh is: `skin` (outside of the body), `skin/dermis` (skin moved inward by its
/// thickness), `skin/muscle` (under the subcutaneous fat), `<structure id>` (the part itself) or
/// `<structure id>/wall` (the part moved outward by its wall's thickness).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SurfaceEntry {
    /// Name of the glTF node.
    pub node: String,
    /// Key of the tissue that fills the mesh.
    pub tissue: String,
    /// Later paint replaces earlier.
    pub paint_order: u32,
    /// Nodes inside which this mesh is not painted (a wall's `open_into`).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub not_inside: Vec<String>,
}

/// A named probe position for one body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowEntry {
    /// Stable name.
    pub id: String,
    /// English words.
    pub label: String,
    /// The name of the view in words, as the trade would say it; a hint, never the computed plane name.
    pub plane_hint: String,
    /// Key of the transducer, with underscores: `convex`, `linear`, `phased`, `micro_convex`.
    pub transducer: String,
    /// Depth setting, mm.
    pub depth_mm: f64,
    /// Side of the screen at which the mark is shown.
    pub mark: MarkEntry,
    /// Ids of the parts that have to be in the picture.
    pub must_see: Vec<String>,
    /// How the view shows some of the parts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub axis_of: Vec<AxisOfEntry>,
    /// The description, with this body's replacements made, lengths still at woman size.
    pub spec: WindowSpec,
    /// The description carried out on this body's skin.
    pub resolved: ResolvedEntry,
}

/// Side of the screen at which the probe's mark is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MarkEntry {
    /// Left of the picture: general practice.
    Left,
    /// Right of the picture: cardiac practice.
    Right,
}

/// How a view shows one part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AxisOfEntry {
    /// Id of the part.
    pub structure: String,
    /// Long axis, short axis or oblique to it.
    pub axis: ViewEntry,
}

/// Long axis, short axis or oblique.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ViewEntry {
    /// The plane runs along the axis.
    Long,
    /// The plane runs across the axis.
    Short,
    /// Between the two.
    Oblique,
}

/// Where a window's probe is put, as written by its author: lengths in mm at woman size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowSpec {
    /// Landmark the offsets start from.
    pub level: String,
    /// Offset toward the patient's left.
    #[serde(default)]
    pub dx: f64,
    /// Offset toward the back.
    #[serde(default)]
    pub dy: f64,
    /// Offset toward the head.
    #[serde(default)]
    pub dz: f64,
    /// How the skin is searched.
    pub face: FaceEntry,
    /// Point the beam goes through.
    pub aim: [f64; 3],
    /// Where the probe's mark points.
    pub indicator: IndicatorEntry,
}

/// Search direction for the contact point: a word, or the direction of the ray.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum FaceEntry {
    /// A side of the body.
    Word(FaceWord),
    /// The ray runs along this vector (toward the body).
    Ray([f64; 3]),
}

/// A side of the body to search for the contact point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FaceWord {
    /// From the front: the ray runs toward +y.
    Anterior,
    /// From behind: the ray runs toward −y.
    Posterior,
    /// From above the head: the ray runs toward −z.
    Superior,
    /// From the inside out along +x.
    Left,
    /// From the inside out along −x.
    Right,
}

/// Direction of the probe's mark: a word or a vector of any length.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum IndicatorEntry {
    /// A patient direction.
    Word(IndicatorWord),
    /// A patient vector; made perpendicular to the beam.
    Vector([f64; 3]),
}

/// A patient direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum IndicatorWord {
    /// +z.
    Head,
    /// −z.
    #[serde(alias = "foot")]
    Feet,
    /// +x.
    Left,
    /// −x.
    Right,
    /// −y.
    Anterior,
    /// +y.
    Posterior,
}

/// A window on the skin of one body; patient mm, unit vectors.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResolvedEntry {
    /// Centre of the footprint on the skin.
    pub contact: [f64; 3],
    /// Smoothed outward skin normal there.
    pub normal: [f64; 3],
    /// Where the mark points, perpendicular to the beam.
    pub notch: [f64; 3],
    /// Beam direction, contact toward aim.
    pub beam: [f64; 3],
}
