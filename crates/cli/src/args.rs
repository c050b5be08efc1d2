//! The command line and its help.

use std::num::ParseFloatError;
use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};
use geometry::check_tolerance;

const ABOUT: &str = "What an ultrasound probe pose shows: the image plane's name, the four sides of \
the picture, and the section through a body. For teaching; not for diagnosis.";

const FRAMES: &str = "\
CONVENTIONS
  Lengths are millimetres, angles degrees. Vectors are [x, y, z] in the patient frame of DICOM (LPS):
  +x to the patient's left, +y to the back, +z to the head. The picture has x from image left to
  image right and y from image top to bottom, in mm from the centre of the probe's footprint.

EXIT STATUS
  0  all lines answered
  1  some line was bad: its answer is {\"error\": \"...\", \"line\": n}, the others are answered
  2  the command could not run (bad argument, no bodies, file not writable)

EXAMPLES
  echo '{\"notch\": [0,0,1], \"beam\": [0,1,0]}' | planeward describe
  echo '{\"body\": \"adult_female\", \"window\": \"right_kidney_sagittal\"}' | planeward describe
  planeward windows --body adult_female
  planeward export --body adult_female --structure liver --format ply liver.ply";

const LINE: &str = "\
INPUT, one JSON object a line; blank lines are skipped
  The pose, in one of these ways:
    normal [x,y,z]       the skin's outward normal, with any of
      rotation_deg       the notch's place on the clock face, clockwise seen from outside the skin;
                         0 is twelve o'clock: the head, or the front where the skin faces within 30
                         degrees of the head or feet. On the front of the body 90 is the patient's left
      tilt_deg           across the plane, -90 to 90; on the front of the body positive swings the
                         beam to the head when the notch is to the patient's right, and to the
                         patient's left when the notch is to the head
      rock_deg           in the plane; positive swings the beam toward the notch
    notch [x,y,z] and beam [x,y,z]
                         toward the notch, and along the central beam into the body; any length.
                         Where they are not perpendicular the beam wins. The angles of the answer
                         are measured from the given normal; without one from the skin's (with a
                         body and a contact), else from the skin that faces the beam
    body and window      a named probe window of that body; any angle given replaces the window's
    body and contact_mm  the skin's own normal there, with rotation_deg, tilt_deg, rock_deg
  Optional:
    mark                 \"left\" (usual) or \"right\": the image side that shows the notch side
    apex                 \"top\" (usual) or \"bottom\": the image end with the probe's face
    tolerance_deg        5 to 40: how far a plane may be off and still carry a plain name
    contact_mm [x,y,z]   centre of the footprint; with a body, moved to the nearest point of its skin
    press_mm             how far the footprint is pushed in
    body, window         names that `planeward bodies` and `planeward windows` list
    transducer           convex, linear, phased, micro_convex, ... (usual: the window's, else convex)
    depth_mm             displayed depth (usual: the window's, else the transducer's)

OUTPUT, one JSON object for each input object, in the same order
    row, column, normal  unit vectors: image left to right, top to bottom, away from the viewer
    origin_mm            the place of image point (0, 0): centre of the footprint after the press
    plane                sagittal, coronal, transverse or oblique
    angles_deg           {sagittal, coronal, transverse}: the angle from each body plane
    oblique              null, or {kind: longitudinal|transverse, double: true|false,
                         between: [nearest plane, next plane]}
    sides                {left, right, top, bottom}: DICOM letters of the image sides, every
                         component above 0.0001, dominant first
    sides_words          the same in words, every component above the sine of the tolerance
    patient_orientation  DICOM Patient Orientation (0020,0020), such as \"F\\\\P\"
    pose                 {rotation_deg, tilt_deg, rock_deg, press_mm, contact_mm, normal}
  and with a body and a contact or window:
    structures           [{id, label, axis: long|short|oblique|null, axis_deg, area_mm2, depth_mm,
                         segment}], what the field of view shows, nearest first; axis_deg is the
                         angle between long axis and plane, segment the part at the middle, or null
    transducer, depth_mm the field of view that was used
    text                 everything in sentences";

const DESCRIBE: &str = "\
EXAMPLE
  A probe on the front of the body, the notch at eleven o'clock, with the plane 30 degrees from sagittal:
    echo '{\"normal\": [0,-1,0], \"rotation_deg\": 330}' | planeward describe
  answers (shortened)
    {\"plane\":\"oblique\",\"angles_deg\":{\"sagittal\":30.0,\"coronal\":90.0,\"transverse\":60.0},
     \"oblique\":{\"kind\":\"longitudinal\",\"double\":false,\"between\":[\"sagittal\",\"transverse\"]},
     \"sides\":{\"left\":\"HR\",\"right\":\"FL\",\"top\":\"A\",\"bottom\":\"P\"},\"patient_orientation\":\"FL\\\\P\"}
  With \"tolerance_deg\": 35 in the line, the same plane is called sagittal.";

const SECTION: &str = "\
EXAMPLE
  The outlines of one named window:
    echo '{\"window\": \"transverse_aorta_mid\"}' | planeward section --body adult_female
  answers (shortened)
    {\"plane\":\"transverse\",\"surfaces\":[{\"name\":\"skin\",\"structure\":null,\"kind\":\"skin\",\"tissue\":\"skin\",
     \"paint_order\":0,\"loops\":[[[x,y],[x,y], ...]]}, ...]}";

const BODIES: &str = "\
OUTPUT
    id, label            name for --body, and its name for people
    sex, stature_mm      \"female\", \"male\" or null; standing height or null
    triangles, windows   how many there are
    structures           [{id, label, short_label, volume_ml}]
    surfaces             the names that `planeward export --structure` takes

EXAMPLE
  planeward bodies
  answers (shortened)
    {\"id\":\"adult_female\",\"sex\":\"female\",\"structures\":[{\"id\":\"liver\", ...}, ...]}
    {\"id\":\"adult_male\",\"sex\":\"male\",\"structures\":[{\"id\":\"liver\", ...}, ...]}
    {\"id\":\"infant_head\",\"sex\":null,\"structures\":[{\"id\":\"skull\", ...}, ...]}";

const WINDOWS: &str = "\
OUTPUT
    id, label            name for the field window of an input line, and its name for people
    plane_hint           the plane that is meant
    transducer, depth_mm, mark
                         the usual field of view and the side of the mark
    contact_mm, normal, rotation_deg, tilt_deg, rock_deg
                         the pose, as `planeward describe` takes it
    must_see             ids of the structures the window is there for
    axis_of              [{id, axis: long|short|oblique}]: how the window shows them

EXAMPLE
  planeward windows --body adult_female
  answers (shortened)
    {\"id\":\"right_kidney_sagittal\",\"plane_hint\":\"sagittal\",\"transducer\":\"convex\",\"depth_mm\":150.0,
     \"mark\":\"left\",\"must_see\":[\"liver\",\"right_kidney\", ...], ...}
    ..., one line for each window";

const EXPORT: &str = "\
EXAMPLES
  planeward export --body adult_female --structure liver --format ply liver.ply
  planeward export --body adult_female --structure aorta/wall --format stl aorta_outside.stl
  planeward export --body infant_head --format glb infant_head.glb

The same body gives the same bytes each time. Each surface is closed, its triangles run counter-clockwise seen
from outside.";

const LOOPS: &str = "\
OUTPUT of a section: all of `describe`, and
    surfaces             [{name, structure, kind, tissue, paint_order, loops}] in the order in which
                         they are painted: later paint replaces earlier. name is the surface's name
                         for `planeward export --structure`; structure is null for skin, dermis and
                         muscle; kind is skin, dermis, muscle, wall or solid. loops are closed
                         polygons [[x, y], ...] in image mm over the whole plane, not only the field
                         of view; the solid is on the right hand as the picture is seen, so a hole
                         runs the other way. A vertex on the plane counts as on the far side";

/// What an ultrasound probe pose shows.
#[derive(Debug, Parser)]
#[command(name = "planeward", version, about = ABOUT, after_help = FRAMES)]
pub(crate) struct Args {
    /// Folder of baked bodies (ID.glb beside ID.json). Usual: .bake in the current folder or
    /// the nearest one above it; `cargo xtask bake` makes it.
    #[arg(long, global = true, value_name = "DIR", env = "PLANEWARD_BODIES")]
    pub(crate) bodies: Option<PathBuf>,
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Names the plane and the sides of the picture for each pose on standard input.
    #[command(after_help = LINE.to_owned() + "\n\n" + DESCRIBE)]
    Describe {
        /// Naming tolerance of lines that give none, 5 to 40 degrees.
        #[arg(long, value_name = "DEGREES", default_value_t = 20.0, value_parser = tolerance)]
        tolerance_deg: f64,
    },
    /// As describe, with the outlines of everything the plane cuts; lines need a contact or window.
    #[command(after_help = LINE.to_owned() + "\n\n" + LOOPS + "\n\n" + SECTION)]
    Section {
        /// Body of lines that name none.
        #[arg(long, value_name = "ID")]
        body: String,
        /// Naming tolerance of lines that give none, 5 to 40 degrees.
        #[arg(long, value_name = "DEGREES", default_value_t = 20.0, value_parser = tolerance)]
        tolerance_deg: f64,
    },
    /// Lists the bodies, one JSON object a line.
    #[command(after_help = BODIES)]
    Bodies,
    /// Lists the named probe windows of a body, one JSON object a line.
    #[command(after_help = WINDOWS)]
    Windows {
        /// The body.
        #[arg(long, value_name = "ID")]
        body: String,
    },
    /// Writes closed surfaces of a body to a file for other programs, positions in patient mm.
    ///
    /// Without --structure all surfaces are written: in a GLB one named node each, in PLY and STL all
    /// in one mesh. The root node of a GLB turns patient millimetres into the metres, y up, that
    /// glTF viewers expect; the positions themselves are patient mm.
    #[command(after_help = EXPORT)]
    Export {
        /// The body.
        #[arg(long, value_name = "ID")]
        body: String,
        /// Only this structure; also "skin", "skin/dermis", "skin/muscle" and "STRUCTURE/wall".
        #[arg(long, value_name = "ID")]
        structure: Option<String>,
        /// File format.
        #[arg(long, value_enum)]
        format: Format,
        /// The file to write.
        #[arg(value_name = "OUT")]
        out: PathBuf,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// glTF 2.0 binary.
    Glb,
    /// Binary PLY.
    Ply,
    /// Binary STL.
    Stl,
}

/// Degrees that may be a naming tolerance: one bad option is told once, not with every line.
fn tolerance(text: &str) -> Result<f64, String> {
    let degrees: f64 = text
        .parse()
        .map_err(|error: ParseFloatError| error.to_string())?;
    check_tolerance(degrees).map_err(|error| error.to_string())?;
    Ok(degrees)
}
