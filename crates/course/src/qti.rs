//! Questions for other quiz programs: QTI 3.0 (1EdTech), still pictures and choices, as a content package.
//!
//! The zip holds one `qti-assessment-item` for each question, one `qti-assessment-test` in their order, the pictures, and
//! `imsmanifest.xml`. Placing a probe and typing an annotation have no place in it. The caller brings the words and the
//! pictures as PNG.

use practice::Kind;

use crate::archive;
use crate::moment::Moment;
use crate::set::{self, Set};
use crate::share::escaped;

/// A question as QTI has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QtiItem {
    /// Its name: a letter, then letters, digits and `_`.
    pub id: String,
    /// What it is called in lists.
    pub title: String,
    /// What is asked.
    pub prompt: String,
    /// What may be chosen: keys of letters, digits and `_`, and their words.
    pub options: Vec<(String, String)>,
    /// The key of the right one.
    pub right: String,
    /// Marks for it.
    pub points: u32,
    /// Pictures as PNG, each with words for those who do not see it. The words must not give the answer away.
    pub pictures: Vec<(Vec<u8>, String)>,
    /// What is said after the answer; may be empty.
    pub feedback: String,
}

/// Kinds that a still picture and one choice hold. The others show the body, light a structure, or ask two things.
#[must_use]
pub const fn is_still(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::PlaneFromPicture
            | Kind::Side
            | Kind::NotchFromPicture
            | Kind::TransducerFromPicture
            | Kind::NextMove
    )
}

/// The package as the bytes of a zip. Equal input gives equal bytes.
#[must_use]
pub fn package(set: &Set, items: &[QtiItem], at: Moment) -> Vec<u8> {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    let mut resources = String::new();
    for item in items {
        let mut parts = String::new();
        for (number, (png, _)) in item.pictures.iter().enumerate() {
            let name = picture_name(item, number);
            parts.push_str(&format!("      <file href=\"{name}\"/>\n"));
            files.push((name, png.clone()));
        }
        let name = format!("items/{}.xml", item.id);
        files.push((name.clone(), item_xml(set, item).into_bytes()));
        resources.push_str(&format!(
            "    <resource identifier=\"RES-{id}\" type=\"imsqti_item_xmlv3p0\" href=\"{name}\">\n      <file href=\"{name}\"/>\n{parts}    </resource>\n",
            id = item.id
        ));
    }
    let test = test_xml(set, items);
    let dependencies: String = items
        .iter()
        .map(|item| format!("      <dependency identifierref=\"RES-{}\"/>\n", item.id))
        .collect();
    let manifest = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>
<manifest identifier=\"PW-{id}\" xmlns=\"http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1\">
  <metadata>
    <schema>QTI Package</schema>
    <schemaversion>3.0.0</schemaversion>
  </metadata>
  <organizations/>
  <resources>
    <resource identifier=\"RES-TEST\" type=\"imsqti_test_xmlv3p0\" href=\"test.xml\">
      <file href=\"test.xml\"/>
{dependencies}    </resource>
{resources}  </resources>
</manifest>
",
        id = set::identity(set)
    );
    files.insert(0, ("test.xml".to_owned(), test.into_bytes()));
    files.insert(0, ("imsmanifest.xml".to_owned(), manifest.into_bytes()));
    archive::zip(&files, at)
}

fn picture_name(item: &QtiItem, number: usize) -> String {
    format!("pictures/{}_{}.png", item.id, number + 1)
}

/// One question as XML.
#[must_use]
pub fn item_xml(set: &Set, item: &QtiItem) -> String {
    let pictures: String = item
        .pictures
        .iter()
        .enumerate()
        .map(|(number, (_, words))| {
            format!(
                "    <p><img src=\"../{}\" alt=\"{}\"/></p>\n",
                picture_name(item, number),
                escaped(words)
            )
        })
        .collect();
    let choices: String = item
        .options
        .iter()
        .map(|(key, words)| {
            format!(
                "      <qti-simple-choice identifier=\"{key}\">{}</qti-simple-choice>\n",
                escaped(words)
            )
        })
        .collect();
    let (outcome, feedback) = if item.feedback.is_empty() {
        (String::new(), String::new())
    } else {
        (
            "  <qti-outcome-declaration identifier=\"FEEDBACK\" cardinality=\"single\" base-type=\"identifier\"/>\n".to_owned(),
            format!(
                "  <qti-modal-feedback outcome-identifier=\"FEEDBACK\" identifier=\"ANSWERED\" show-hide=\"show\"><qti-content-body><p>{}</p></qti-content-body></qti-modal-feedback>\n",
                escaped(&item.feedback)
            ),
        )
    };
    // A template where one does: many readers know the standard's templates only. The outcome of the feedback and marks
    // other than one need rules written out.
    let processing = if item.feedback.is_empty() && item.points == 1 {
        "  <qti-response-processing template=\"https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/match_correct.xml\"/>\n".to_owned()
    } else {
        let answered = if item.feedback.is_empty() {
            ""
        } else {
            "    <qti-set-outcome-value identifier=\"FEEDBACK\"><qti-base-value base-type=\"identifier\">ANSWERED</qti-base-value></qti-set-outcome-value>\n"
        };
        format!(
            "  <qti-response-processing>
    <qti-response-condition>
      <qti-response-if>
        <qti-match><qti-variable identifier=\"RESPONSE\"/><qti-correct identifier=\"RESPONSE\"/></qti-match>
        <qti-set-outcome-value identifier=\"SCORE\"><qti-base-value base-type=\"float\">{points}</qti-base-value></qti-set-outcome-value>
      </qti-response-if>
      <qti-response-else>
        <qti-set-outcome-value identifier=\"SCORE\"><qti-base-value base-type=\"float\">0</qti-base-value></qti-set-outcome-value>
      </qti-response-else>
    </qti-response-condition>
{answered}  </qti-response-processing>
",
            points = item.points
        )
    };
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>
<qti-assessment-item xmlns=\"http://www.imsglobal.org/xsd/imsqtiasi_v3p0\" identifier=\"{id}\" title=\"{title}\" adaptive=\"false\" time-dependent=\"false\" xml:lang=\"{language}\">
  <qti-response-declaration identifier=\"RESPONSE\" cardinality=\"single\" base-type=\"identifier\">
    <qti-correct-response><qti-value>{right}</qti-value></qti-correct-response>
  </qti-response-declaration>
  <qti-outcome-declaration identifier=\"SCORE\" cardinality=\"single\" base-type=\"float\" normal-maximum=\"{points}\">
    <qti-default-value><qti-value>0</qti-value></qti-default-value>
  </qti-outcome-declaration>
{outcome}  <qti-item-body>
{pictures}    <qti-choice-interaction response-identifier=\"RESPONSE\" shuffle=\"false\" max-choices=\"1\">
      <qti-prompt>{prompt}</qti-prompt>
{choices}    </qti-choice-interaction>
  </qti-item-body>
{processing}{feedback}</qti-assessment-item>
",
        id = item.id,
        title = escaped(&item.title),
        language = escaped(&set.language),
        right = item.right,
        points = item.points,
        prompt = escaped(&item.prompt),
    )
}

fn test_xml(set: &Set, items: &[QtiItem]) -> String {
    let refs: String = items
        .iter()
        .map(|item| {
            format!(
                "      <qti-assessment-item-ref identifier=\"{id}\" href=\"items/{id}.xml\"/>\n",
                id = item.id
            )
        })
        .collect();
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>
<qti-assessment-test xmlns=\"http://www.imsglobal.org/xsd/imsqtiasi_v3p0\" identifier=\"PW-{id}\" title=\"{title}\">
  <qti-test-part identifier=\"PART-1\" navigation-mode=\"nonlinear\" submission-mode=\"individual\">
    <qti-assessment-section identifier=\"SECTION-1\" title=\"{title}\" visible=\"true\">
{refs}    </qti-assessment-section>
  </qti-test-part>
</qti-assessment-test>
",
        id = set::identity(set),
        title = escaped(&set.title),
    )
}
