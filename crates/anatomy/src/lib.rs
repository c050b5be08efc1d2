//! The body as the program uses it: catalogue of structures, tissues, probe windows, skin queries, axes and segments.
//!
//! A body comes as two files: `<body>.glb` with one closed mesh per painted surface and `<body>.json` with everything
//! else ([`catalogue`]). [`read`] turns them into a [`Body`], in stages where the bytes arrive slowly. A plane cuts a
//! body into a [`Section`]: loops in the order in which they are painted.
//!
//! Lengths are mm in the patient frame (LPS) unless a name says otherwise.

pub mod axis;
pub mod body;
pub mod catalogue;
mod facts;
pub mod glb;
pub mod json;
pub mod meshopt;
mod names;
pub mod posture;
pub mod read;
pub mod region;
pub mod section;
pub mod segment;
pub mod skin;
pub mod structure;
pub mod tissue;
pub mod tree;
pub mod window;

pub use axis::{AxisView, CentreLine, LongAxis, axis_view};
pub use body::{Body, BodyFacts, Sex, Surface, SurfaceKind};
pub use catalogue::Catalogue;
pub use facts::CatalogueError;
pub use glb::GlbError;
pub use posture::{LimbPlaces, PosedSkin, PosedSurface, Posture};
pub use read::{BodyFileError, BodyReader, Stage};
pub use region::{Area, Midline, PlaceWords, SkinPlace};
pub use section::{Painted, Section, SectionLayer, SectionScratch};
pub use segment::Segment;
pub use skin::{SkinPoint, SkinSurface, Slide};
pub use structure::{BodySide, Code, Structure, StructureId, StructureIndex, System, Wall};
pub use tissue::{Tissue, TissueId};
pub use window::{Window, WindowError};
