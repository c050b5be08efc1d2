//! The baked bodies, and a vocabulary that has one word for each of their structures. Bodies are baked before the tests
//! run (`cargo xtask bake`).

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

use anatomy::Body;
use practice::annotation::{Meaning, PlaneWord, SideWord, Term, Vocabulary};
use practice::compose::Context;

/// The bodies, the adult woman first.
pub(crate) const BODIES: [&str; 3] = ["adult_female", "adult_male", "infant_head"];

/// One of the baked bodies, read once.
pub(crate) fn body(id: &'static str) -> &'static Body {
    static READ: [OnceLock<Body>; 3] = [const { OnceLock::new() }; 3];
    let place = BODIES
        .iter()
        .position(|known| *known == id)
        .expect("a body that is baked");
    READ[place].get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
        let file = |end| {
            std::fs::read(folder.join(format!("{id}.{end}")))
                .expect("a baked body (cargo xtask bake)")
        };
        Body::read(&file("glb"), &file("json")).expect("a body")
    })
}

/// A word for every structure of every body, two of a pair sharing one; the planes and the sides.
pub(crate) fn vocabulary() -> &'static Vocabulary {
    static WORDS: OnceLock<Vocabulary> = OnceLock::new();
    WORDS.get_or_init(|| {
        let mut names: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for id in BODIES {
            for structure in body(id).structures() {
                let id = structure.id.as_str();
                let known = names.entry(word(id)).or_default();
                if !known.iter().any(|other| other == id) {
                    known.push(id.to_owned());
                }
            }
        }
        let mut terms: Vec<Term> = names
            .into_iter()
            .map(|(mark, structures)| Term {
                mark,
                also: Vec::new(),
                meaning: Meaning::Structure {
                    structures,
                    segments: Vec::new(),
                    side: None,
                },
            })
            .collect();
        let plain = |mark: &str, meaning| Term {
            mark: mark.to_owned(),
            also: Vec::new(),
            meaning,
        };
        terms.extend([
            plain("SAG", Meaning::Plane(PlaneWord::Sagittal)),
            plain("LONG", Meaning::Plane(PlaneWord::Longitudinal)),
            plain("COR", Meaning::Plane(PlaneWord::Coronal)),
            plain("TRANS", Meaning::Plane(PlaneWord::Transverse)),
            plain("OBL LONG", Meaning::Plane(PlaneWord::LongitudinalOblique)),
            plain("OBL TRANS", Meaning::Plane(PlaneWord::TransverseOblique)),
            plain("RT", Meaning::Side(SideWord::Right)),
            plain("LT", Meaning::Side(SideWord::Left)),
        ]);
        Vocabulary::new(terms, Vec::new(), 4.0, 5.0).expect("a vocabulary")
    })
}

/// The word of a structure: its identifier without the side, in capitals.
pub(crate) fn word(id: &str) -> String {
    let plain = id.strip_prefix("left_").or(id.strip_prefix("right_"));
    plain.unwrap_or(id).to_uppercase().replace('_', " ")
}

/// Everything that questions about a body are made from.
pub(crate) fn context(id: &'static str) -> Context<'static> {
    Context {
        body: body(id),
        vocabulary: Some(vocabulary()),
    }
}
