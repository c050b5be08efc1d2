//! Course packages: the page with one exercise set as a zip that a course system takes in.
//!
//! | standard | manifest | start page |
//! | --- | --- | --- |
//! | SCORM 1.2 | `imsmanifest.xml` | `launch.html` |
//! | SCORM 2004, 4th Edition | `imsmanifest.xml` | `launch.html` |
//! | cmi5 (Quartz) | `cmi5.xml` | `launch-cmi5.html` |
//!
//! A package holds the files of the built page that the set needs, the set as `planeward-set.json`, and the manifest at
//! the top. `web/course/driver.js` speaks with the course system and says how the page speaks with it. What stands in
//! manifests is the part that validators and the course systems whose sources were read agree on.
//!
//! A pass mark goes into a SCORM manifest only where the teacher wants failures told: course systems that find one decide
//! about passing themselves, and some then turn the grade of those who failed into 0.

use anatomy::json::Json;

use crate::archive;
use crate::json::compact;
use crate::moment::Moment;
use crate::set::{self, Set};
use crate::share::escaped;

/// Name of the set in a package.
pub const SET_FILE: &str = "planeward-set.json";

/// A standard for course packages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standard {
    /// SCORM 1.2.
    Scorm12,
    /// SCORM 2004, 4th Edition.
    Scorm2004,
    /// cmi5.
    Cmi5,
}

impl Standard {
    /// All three, in the order in which they should be tried.
    pub const ALL: [Self; 3] = [Self::Scorm12, Self::Scorm2004, Self::Cmi5];

    /// A word for files and the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Scorm12 => "scorm12",
            Self::Scorm2004 => "scorm2004",
            Self::Cmi5 => "cmi5",
        }
    }

    /// Its name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Scorm12 => "SCORM 1.2",
            Self::Scorm2004 => "SCORM 2004, 4th Edition",
            Self::Cmi5 => "cmi5",
        }
    }

    /// The page that the course system opens.
    #[must_use]
    pub const fn start_page(self) -> &'static str {
        match self {
            Self::Scorm12 | Self::Scorm2004 => "launch.html",
            Self::Cmi5 => "launch-cmi5.html",
        }
    }
}

/// Why there is no package.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PackageError {
    /// A file of the page is not there.
    #[error("the page has no file {0}; a package needs the whole folder that the build leaves")]
    Missing(&'static str),
    /// The list of bodies cannot be read.
    #[error("the page's list of bodies cannot be read")]
    Bodies,
    /// The set needs a body that the page does not have.
    #[error("the set needs the body \"{0}\", which this page does not have")]
    NoBody(String),
}

/// A package of `set` as the bytes of a zip. `page` is the built page: names below its folder, with `/`, and contents.
/// Equal input gives equal bytes.
///
/// # Errors
///
/// [`PackageError`].
pub fn package(
    set: &Set,
    standard: Standard,
    page: &[(String, Vec<u8>)],
    at: Moment,
) -> Result<Vec<u8>, PackageError> {
    let find = |wanted: &'static str| {
        page.iter()
            .find(|(name, _)| name == wanted)
            .map(|(_, bytes)| bytes)
            .ok_or(PackageError::Missing(wanted))
    };
    find(standard.start_page())?;
    let list = page.iter().find(|(name, _)| is_body_list(name));
    let (list, kept) = bodies(
        list.map(|(_, bytes)| &**bytes)
            .ok_or(PackageError::Missing("bodies.json"))?,
        &set.bodies(),
    )?;
    let mut files: Vec<(String, Vec<u8>)> = page
        .iter()
        .filter(|(name, _)| belongs(name, standard, &kept))
        .map(|(name, bytes)| {
            if is_body_list(name) {
                (name.clone(), list.clone().into_bytes())
            } else {
                (name.clone(), bytes.clone())
            }
        })
        .collect();
    files.push((SET_FILE.to_owned(), set::pretty(set).into_bytes()));
    files.sort();
    let (name, manifest) = match standard {
        Standard::Scorm12 => ("imsmanifest.xml", scorm_12(set, &files)),
        Standard::Scorm2004 => ("imsmanifest.xml", scorm_2004(set, &files)),
        Standard::Cmi5 => ("cmi5.xml", cmi5(set)),
    };
    files.insert(0, (name.to_owned(), manifest.into_bytes()));
    Ok(archive::zip(&files, at))
}

/// Whether this is the list of bodies: `bodies.json`, also with a hash of its content in its name.
fn is_body_list(name: &str) -> bool {
    name == "bodies.json" || (name.starts_with("bodies-") && name.ends_with(".json"))
}

/// The list of bodies cut down to those of the set, and the addresses of their files.
fn bodies(list: &[u8], wanted: &[&str]) -> Result<(String, Vec<String>), PackageError> {
    let Ok(Json::List(list)) = Json::read(list) else {
        return Err(PackageError::Bodies);
    };
    let (mut kept, mut files) = (Vec::new(), Vec::new());
    for id in wanted {
        let entry = list
            .iter()
            .find(|entry| entry.text("id").is_ok_and(|other| other == *id))
            .ok_or_else(|| PackageError::NoBody((*id).to_owned()))?;
        for field in ["model", "catalogue"] {
            let file = entry.text(field).ok().ok_or(PackageError::Bodies)?;
            files.push(file.to_owned());
        }
        kept.push(entry.clone());
    }
    Ok((compact(&Json::List(kept)), files))
}

/// Whether a file of the page goes into the package: not the other pages, not copies that only a web host can send, no
/// service worker (it would catch the course system's own addresses), no bodies that the set does not show.
fn belongs(name: &str, standard: Standard, bodies: &[String]) -> bool {
    if name.starts_with("bodies/") {
        return bodies.iter().any(|body| body == name);
    }
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    match ending {
        "html" => name == standard.start_page(),
        "gz" | "br" | "map" | "webmanifest" => false,
        "txt" => name.starts_with("languages/"),
        _ => {
            !name.starts_with("schemas/")
                && !name.starts_with("sets/")
                && !name.starts_with("icon-")
                && !name.starts_with("offline-")
                && !name.starts_with("sw")
                && name != "files.json"
                && name != "planeward-view.js"
        }
    }
}

/// An identifier that stays the same for the same set.
fn identifier(set: &Set) -> String {
    format!("PW-{}", set::identity(set))
}

fn file_list(files: &[(String, Vec<u8>)]) -> String {
    files
        .iter()
        .map(|(name, _)| format!("      <file href=\"{}\"/>\n", escaped(name)))
        .collect()
}

/// Text of one line for a title, at most 200 characters.
fn title(set: &Set) -> String {
    let words: Vec<&str> = set.title.split_whitespace().collect();
    let line: String = words.join(" ").chars().take(200).collect();
    escaped(&line)
}

fn scorm_12(set: &Set, files: &[(String, Vec<u8>)]) -> String {
    let mastery = set
        .pass_percent
        .filter(|_| set.report_failed)
        .map_or_else(String::new, |percent| {
            format!("        <adlcp:masteryscore>{percent}</adlcp:masteryscore>\n")
        });
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>
<manifest identifier=\"{id}\" version=\"1.0\" xmlns=\"http://www.imsproject.org/xsd/imscp_rootv1p1p2\" xmlns:adlcp=\"http://www.adlnet.org/xsd/adlcp_rootv1p2\">
  <metadata>
    <schema>ADL SCORM</schema>
    <schemaversion>1.2</schemaversion>
  </metadata>
  <organizations default=\"ORG-1\">
    <organization identifier=\"ORG-1\">
      <title>{title}</title>
      <item identifier=\"ITEM-1\" identifierref=\"RES-1\">
        <title>{title}</title>
{mastery}      </item>
    </organization>
  </organizations>
  <resources>
    <resource identifier=\"RES-1\" type=\"webcontent\" adlcp:scormtype=\"sco\" href=\"{start}\">
{files}    </resource>
  </resources>
</manifest>
",
        id = identifier(set),
        title = title(set),
        start = Standard::Scorm12.start_page(),
        files = file_list(files),
    )
}

fn scorm_2004(set: &Set, files: &[(String, Vec<u8>)]) -> String {
    let measure =
        set.pass_percent
            .filter(|_| set.report_failed)
            .map_or_else(String::new, |percent| {
                let measure = f64::from(percent) / 100.0;
                format!(
                    "          <imsss:objectives>
            <imsss:primaryObjective objectiveID=\"OBJ-1\" satisfiedByMeasure=\"true\">
              <imsss:minNormalizedMeasure>{measure}</imsss:minNormalizedMeasure>
            </imsss:primaryObjective>
          </imsss:objectives>
"
                )
            });
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>
<manifest identifier=\"{id}\" version=\"1.0\" xmlns=\"http://www.imsglobal.org/xsd/imscp_v1p1\" xmlns:adlcp=\"http://www.adlnet.org/xsd/adlcp_v1p3\" xmlns:adlseq=\"http://www.adlnet.org/xsd/adlseq_v1p3\" xmlns:adlnav=\"http://www.adlnet.org/xsd/adlnav_v1p3\" xmlns:imsss=\"http://www.imsglobal.org/xsd/imsss\">
  <metadata>
    <schema>ADL SCORM</schema>
    <schemaversion>2004 4th Edition</schemaversion>
  </metadata>
  <organizations default=\"ORG-1\">
    <organization identifier=\"ORG-1\">
      <title>{title}</title>
      <item identifier=\"ITEM-1\" identifierref=\"RES-1\">
        <title>{title}</title>
        <imsss:sequencing>
{measure}          <imsss:deliveryControls completionSetByContent=\"true\" objectiveSetByContent=\"true\"/>
        </imsss:sequencing>
      </item>
    </organization>
  </organizations>
  <resources>
    <resource identifier=\"RES-1\" type=\"webcontent\" adlcp:scormType=\"sco\" href=\"{start}\">
{files}    </resource>
  </resources>
</manifest>
",
        id = identifier(set),
        title = title(set),
        start = Standard::Scorm2004.start_page(),
        files = file_list(files),
    )
}

fn cmi5(set: &Set) -> String {
    let id = set::identity(set);
    let language = escaped(&set.language);
    let (move_on, mastery) = match set.pass_percent {
        Some(percent) => (
            "CompletedOrPassed",
            format!(" masteryScore=\"{}\"", f64::from(percent) / 100.0),
        ),
        None => ("Completed", String::new()),
    };
    let description = if set.description.trim().is_empty() {
        title(set)
    } else {
        escaped(&set.description)
    };
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>
<courseStructure xmlns=\"https://w3id.org/xapi/profiles/cmi5/v1/CourseStructure.xsd\">
  <course id=\"urn:planeward:course:{id}\">
    <title><langstring lang=\"{language}\">{title}</langstring></title>
    <description><langstring lang=\"{language}\">{description}</langstring></description>
  </course>
  <au id=\"urn:planeward:set:{id}\" launchMethod=\"AnyWindow\" moveOn=\"{move_on}\"{mastery}>
    <title><langstring lang=\"{language}\">{title}</langstring></title>
    <description><langstring lang=\"{language}\">{description}</langstring></description>
    <url>{start}</url>
  </au>
</courseStructure>
",
        title = title(set),
        start = Standard::Cmi5.start_page(),
    )
}
