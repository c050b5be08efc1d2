//! The command line and its help.

use std::num::ParseFloatError;
use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};
use geometry::check_tolerance;
use practice::{Kind, Level};

use crate::sets::Packing;

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
    structures           [{id, label, short_label, code, code_from_memory, volume_ml}]; code is a
                         SNOMED CT concept of DICOM PS3.16, or one from memory, or null
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

const DICOM: &str = "\
OUTPUT
    file                 where it was written
    sop_instance_uid     the same examination, number, time and pose give the same one

EXAMPLE
  echo '{\"body\": \"adult_female\", \"window\": \"sagittal_left_aorta_proximal\"}' | planeward dicom \\
    --time 20261125094501+0100 --structure aorta --annotation 'SAG AO PROX' aorta.dcm";

const LOOPS: &str = "\
OUTPUT of a section: all of `describe`, and
    surfaces             [{name, structure, kind, tissue, paint_order, loops}] in the order in which
                         they are painted: later paint replaces earlier. name is the surface's name
                         for `planeward export --structure`; structure is null for skin, dermis and
                         muscle; kind is skin, dermis, muscle, wall or solid. loops are closed
                         polygons [[x, y], ...] in image mm over the whole plane, not only the field
                         of view; the solid is on the right hand as the picture is seen, so a hole
                         runs the other way. A vertex on the plane counts as on the far side";

const QUESTIONS: &str = "\
OUTPUT, one JSON object a question; the same seed, kind, level and bodies give the same question
    seed, kind, level    what it was drawn from
    skill                kind.plane.approach.layout: what a record counts it under
    view                 body, window, transducer, position, eye, tolerance_deg and the placement: contact_mm,
                         normal, rotation_deg, tilt_deg, rock_deg, press_mm, mark, apex, depth_mm
    parts                [{asked, image_side, options, right, worth}]: what is chosen from, and what is right
    start                place_probe: where the probe is at first; the view is the wanted one
    after                next_move: the placement after the movement; the view is the one before
    write_side           annotate: the side of the patient that has to be written
    subject              {structure, side, axis, axis_deg, aim_mm}: the structure it is about
    disagreement         find_the_fault: {fault, picture, department, caption, depth_letters_exchanged}

EXAMPLE
  planeward questions --seed 7 --count 1 --kind side --level easy --body adult_female
  answers (shortened)
    {\"seed\":7,\"kind\":\"side\",\"parts\":[{\"asked\":\"image_side\",\"image_side\":\"left\",
     \"options\":[\"toward_right\",\"toward_left\", ...],\"right\":\"toward_right\",\"worth\":1.0}], ...}";

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
    /// As describe, with the outlines of everything the plane cuts, before the probe presses; lines need a contact or window.
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
    /// Prints questions drawn from seeds, one JSON object a line.
    #[command(after_help = QUESTIONS)]
    Questions {
        /// The first seed; each question has the next one.
        #[arg(long, value_name = "NUMBER", default_value_t = 1)]
        seed: u64,
        /// How many.
        #[arg(long, value_name = "NUMBER", default_value_t = 10)]
        count: u64,
        /// Kind of all questions; a wrong one is told which there are. Usual: all in turn.
        #[arg(long, value_name = "KIND", value_parser = kind)]
        kind: Option<Kind>,
        /// easy, medium or hard. Usual: all in turn.
        #[arg(long, value_name = "LEVEL", value_parser = level)]
        level: Option<Level>,
        /// The body. Usual: all in turn.
        #[arg(long, value_name = "ID")]
        body: Option<String>,
        /// Naming tolerance, 5 to 40 degrees.
        #[arg(long, value_name = "DEGREES", default_value_t = 20.0, value_parser = tolerance)]
        tolerance_deg: f64,
    },
    /// Writes the picture of the one pose on standard input as a DICOM file (Ultrasound Image Storage).
    ///
    /// The patient is marked as a synthetic body for teaching. The line is as for describe, with a contact or window.
    #[command(after_help = LINE.to_owned() + "\n\n" + DICOM)]
    Dicom {
        /// When the picture was acquired, as DICOM writes it: YYYYMMDDhhmmss+hhmm, local time and its offset.
        #[arg(long, value_name = "DATETIME", value_parser = crate::dicom::moment, allow_hyphen_values = true)]
        time: course::moment::Moment,
        /// What stands on the picture.
        #[arg(long, value_name = "TEXT", default_value = "")]
        annotation: String,
        /// The structure that the picture is of.
        #[arg(long, value_name = "ID")]
        structure: Option<String>,
        /// Number of the examination: the study's identifiers are made from it.
        #[arg(long, value_name = "NUMBER", default_value_t = 0)]
        examination: u64,
        /// Number of the picture in the examination.
        #[arg(long, value_name = "NUMBER", default_value_t = 1)]
        number: u32,
        /// How the section is shown.
        #[arg(long, value_enum, default_value_t = Shading::Grey)]
        picture: Shading,
        /// The file to write.
        #[arg(value_name = "OUT")]
        out: PathBuf,
    },
    /// Checks exercise sets and result files: their form, and whether every question can be asked on its body.
    #[command(after_help = CHECK)]
    Check {
        /// Files, and folders whose .json files are all looked at.
        #[arg(value_name = "PATH", required = true)]
        paths: Vec<PathBuf>,
        /// Counts fields that this version does not know as faults.
        #[arg(long)]
        strict: bool,
        /// Looks at the form alone: no bodies are needed.
        #[arg(long)]
        form_only: bool,
    },
    /// Writes an exercise set as a link and as lines for a course page.
    #[command(after_help = SHARE)]
    Share {
        /// The set.
        #[arg(value_name = "SET")]
        set: PathBuf,
        /// Address of the folder that holds the page.
        #[arg(
            long,
            value_name = "URL",
            default_value = "https://host.example/planeward/"
        )]
        base: String,
        /// What the frame should be like, as it stands in an address: theme=dark&lang=de.
        #[arg(long, value_name = "WISHES", default_value = "")]
        wishes: String,
        /// Height of the frame, px.
        #[arg(long, value_name = "PX", default_value_t = 640)]
        height: u32,
    },
    /// Packs exercise sets for course systems, each into NAME-STANDARD.zip.
    #[command(after_help = PACK)]
    Pack {
        /// Sets, and folders whose .json files are all packed.
        #[arg(value_name = "PATH", required = true)]
        paths: Vec<PathBuf>,
        /// The kind of package.
        #[arg(long, value_enum, default_value_t = Packing::Scorm12)]
        standard: Packing,
        /// The folder that `cargo xtask build` leaves; QTI packages need none.
        #[arg(long, value_name = "DIR")]
        page: Option<PathBuf>,
        /// Date of the files in the package, YYYYMMDDhhmmss+hhmm.
        #[arg(long, value_name = "DATETIME", value_parser = crate::dicom::moment, default_value = "19800101000000+0000", allow_hyphen_values = true)]
        time: course::moment::Moment,
        /// The folder to write to.
        #[arg(long, value_name = "DIR", default_value = ".")]
        out: PathBuf,
    },
    /// Merges result files of learners: difficulty, discrimination, reliability, options, mistakes.
    #[command(after_help = RESULTS)]
    Results {
        /// Files, and folders whose .json files are all looked at.
        #[arg(value_name = "PATH", required = true)]
        paths: Vec<PathBuf>,
        /// Writes one JSON object in place of the tables.
        #[arg(long)]
        json: bool,
        /// Also writes the table of items to this CSV file.
        #[arg(long, value_name = "FILE")]
        items_csv: Option<PathBuf>,
        /// Also writes one row for each item of each learner to this CSV file.
        #[arg(long, value_name = "FILE")]
        rows_csv: Option<PathBuf>,
        /// Separates the cells of CSV files by semicolons, as spreadsheets of many languages expect.
        #[arg(long)]
        semicolon: bool,
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

const CHECK: &str = "\
OUTPUT, lines of text
  FILE: good                        nothing is wrong
  FILE: PATH: found X, expected Y   a fault, with its place in the file
  FILE: question ID: REASON         a question that would be ambiguous, or that its body cannot answer
  FILE: note: ...                   a field that this version does not know; it is kept

EXIT STATUS
  0  all files are good
  1  some file has a fault
  2  the command could not run

EXAMPLES
  planeward check course/sets
  planeward check --form-only week1.json";

const SHARE: &str = "\
EXIT STATUS
  0  written
  1  written, but the link is longer than 1500 characters: better give the file away
  2  the command could not run, or the file is no exercise set";

const PACK: &str = "\
EXIT STATUS
  0  all sets are packed
  1  some set could not be packed: its line says why, the others are packed
  2  the command could not run

EXAMPLES
  cargo xtask build
  planeward pack --page dist --standard scorm12 --out packages course/sets
  planeward pack --standard qti week1.json";

const RESULTS: &str = "\
Statistics are made of first tries in first rounds. Files that are damaged, of another kind, copies or later
rounds are named and left out. A check sum finds accidents, not cheating.

EXIT STATUS
  0  all files count
  1  some file was left out
  2  none counts, or the command could not run

EXAMPLES
  planeward results collected/
  planeward results --items-csv items.csv --rows-csv rows.csv collected/";

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// glTF 2.0 binary.
    Glb,
    /// Binary PLY.
    Ply,
    /// Binary STL.
    Stl,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Shading {
    /// Grey-scale.
    Grey,
    /// Tissues in flat colours of the command's own.
    Section,
}

fn kind(text: &str) -> Result<Kind, String> {
    Kind::from_key(text).ok_or_else(|| {
        let kinds = Kind::ALL.map(Kind::key).join(", ");
        format!("no kind of question; there are {kinds}")
    })
}

fn level(text: &str) -> Result<Level, String> {
    Level::from_key(text).ok_or_else(|| "no level; there are easy, medium, hard".to_owned())
}

/// Degrees that may be a naming tolerance: one bad option is told once, not with every line.
fn tolerance(text: &str) -> Result<f64, String> {
    let degrees: f64 = text
        .parse()
        .map_err(|error: ParseFloatError| error.to_string())?;
    check_tolerance(degrees).map_err(|error| error.to_string())?;
    Ok(degrees)
}
