//! What the examiner sees: transducers and their fields of view, a section painted as a labelled picture, and the
//! words for all of it.
//!
//! The way of a picture: [`anatomy::Body::section`] gives closed loops in image millimetres; [`scan`] paints them by
//! priority into exact runs; [`schematic()`] turns runs into pixels, and [`mod@grey`] into those of ultrasound; [`mod@contents`] turns them into what is seen, where
//! and how large; [`labels`] finds places for names; [`words`] says the same without a picture.
//!
//! Image frame: millimetres, x to image right, y down, origin at the centre of the footprint. Pixels: (0, 0) is the
//! centre of the top-left pixel. No clock, no file, no randomness; the same bytes on every machine.

pub mod contents;
pub mod field;
pub mod frame;
pub mod gel;
pub mod grey;
pub mod labels;
pub mod look;
pub mod palette;
mod pixels;
pub mod press;
pub mod scan;
mod schematic;
pub mod transducer;
pub mod volume;
pub mod words;

pub use contents::{Contents, LayerSeen, Seen, SkinLayer, contents};
pub use field::{BeamPoint, Bounds, DepthTick, Field};
pub use frame::{Frame, Margins};
pub use grey::{
    Detail, GreyScratch, GreySettings, Knob, KnobError, KnobRange, KnobUnit, Sweep, blend_pictures,
    grey_pixels, grey_scale, grey_scan, grey_scan_at,
};
pub use labels::{LabelMemory, LabelStyle, PlacedLabel, place_labels};
pub use look::{Look, palette_key};
pub use palette::{PALETTE_KEYS, Palette, PaletteError, Rgb};
pub use press::{Press, press_section};
pub use schematic::{PictureScratch, cut_face, outlined, paint_section, schematic};
pub use transducer::{
    FaceShape, GeometryCode, Housing, TopShape, Transducer, transducer, transducers,
};
pub use volume::{CutScratch, Volume, VolumeCut, VolumePlane, VolumeSeen, volume_contents};
pub use words::{Description, Scene, describe};
