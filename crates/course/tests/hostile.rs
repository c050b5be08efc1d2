//! Readers before hostile input: any bytes, and good files that somebody bent.
//!
//! Whatever comes is read or refused in words that a person can be shown; what was read can be written and read again.

use anatomy::json::Json;
use course::examination::{self, Kept, KeptPicture};
use course::json::{compact, pretty};
use course::link::{self, LinkState};
use course::moment::Moment;
use course::results::csv::{Separator, of_files};
use course::results::{Broken, Item, Outcome, PoseError, ResultFile, merge, report_csv, resume};
use course::share::{Embed, read_set_link, set_link, view_of};
use course::{archive, record, results, set, vocabulary};
use proptest::prelude::*;
use proptest::sample::Index;

const SET: &str = include_str!("data/full-set.json");
const IDENTITY: &str = "0123456789abcdef";

/// The longest message a page has room for, characters. Messages quote what was found, so a quotation without an end
/// would fill the page.
const LONGEST_MESSAGE: usize = 400;

/// One slip, misprint or trick in a text.
#[derive(Debug, Clone)]
enum Bend {
    Replace(Index, char),
    Insert(Index, String),
    Remove(Index, usize),
    Repeat(Index, usize),
    Cut(Index),
    Swap(Index, Index),
}

fn any_bend() -> impl Strategy<Value = Bend> {
    // Letters that formats have a use for come more often than chance would have it.
    let letter = prop_oneof![
        prop::sample::select(
            "&=%#.,;:+-~|\"\\{}[]0198eE_aAzZ \n\u{0}\u{fffd}\u{1f600}"
                .chars()
                .collect::<Vec<_>>()
        ),
        any::<char>(),
    ];
    let word = prop::sample::select(vec![
        "%",
        "%00",
        "%GG",
        "%ff",
        "&&",
        "==",
        "1e309",
        "-0",
        "NaN",
        "null",
        "99999999999999999999",
        "\u{202e}",
        "<b>",
        "s1.",
        "v1.",
        "p1;",
        "\"",
        "{}",
        "[[",
        "\r\n",
        "true",
        "../",
        "//",
    ]);
    prop_oneof![
        (any::<Index>(), letter).prop_map(|(at, letter)| Bend::Replace(at, letter)),
        (any::<Index>(), word).prop_map(|(at, word)| Bend::Insert(at, word.to_owned())),
        (any::<Index>(), 1_usize..40).prop_map(|(at, length)| Bend::Remove(at, length)),
        (any::<Index>(), 1_usize..40).prop_map(|(at, length)| Bend::Repeat(at, length)),
        any::<Index>().prop_map(Bend::Cut),
        (any::<Index>(), any::<Index>()).prop_map(|(a, b)| Bend::Swap(a, b)),
    ]
}

fn any_bends() -> impl Strategy<Value = Vec<Bend>> {
    prop::collection::vec(any_bend(), 1..5)
}

fn bent(text: &str, bends: &[Bend]) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    for bend in bends {
        if letters.is_empty() {
            break;
        }
        let size = letters.len();
        let end = |at: usize, length: usize| (at + length).min(size);
        match bend {
            Bend::Replace(at, letter) => letters[at.index(size)] = *letter,
            Bend::Insert(at, word) => {
                let at = at.index(size);
                letters.splice(at..at, word.chars());
            }
            Bend::Remove(at, length) => {
                let at = at.index(size);
                letters.drain(at..end(at, *length));
            }
            Bend::Repeat(at, length) => {
                let at = at.index(size);
                let again: Vec<char> = letters[at..end(at, *length)].to_vec();
                letters.splice(at..at, again);
            }
            Bend::Cut(at) => letters.truncate(at.index(size)),
            Bend::Swap(a, b) => letters.swap(a.index(size), b.index(size)),
        }
    }
    letters.into_iter().collect()
}

/// A message that a person can be shown: not empty, not endless, no control characters.
fn check_message(message: &str) -> Result<(), TestCaseError> {
    prop_assert!(!message.trim().is_empty(), "no words");
    prop_assert!(
        message.chars().count() <= LONGEST_MESSAGE,
        "{} characters: {message}",
        message.chars().count()
    );
    prop_assert!(!message.contains(char::is_control), "{message:?}");
    Ok(())
}

fn check_link(text: &str) -> Result<(), TestCaseError> {
    match link::read(text) {
        Ok(state) => {
            let written = link::write(&state);
            prop_assert_eq!(
                link::read(&written).map(|back| link::write(&back)),
                Ok(written)
            );
        }
        Err(error) => check_message(&error.to_string())?,
    }
    Ok(())
}

fn check_embed(text: &str) -> Result<(), TestCaseError> {
    let _ = view_of(text);
    match Embed::read(text) {
        Ok(embed) => {
            let written = embed.write();
            prop_assert_eq!(Embed::read(&written).map(|back| back.write()), Ok(written));
        }
        Err(error) => check_message(&error.to_string())?,
    }
    Ok(())
}

fn check_set_link(text: &str) -> Result<(), TestCaseError> {
    match read_set_link(text) {
        Ok(reading) => {
            let again = set_link(&reading.set).text;
            prop_assert_eq!(read_set_link(&again).map(|back| back.set), Ok(reading.set));
        }
        Err(error) => check_message(&error.to_string())?,
    }
    Ok(())
}

fn check_set(bytes: &[u8]) -> Result<(), TestCaseError> {
    let _ = set::read_unfinished(bytes);
    match set::read(bytes) {
        Ok(reading) => {
            for text in [set::pretty(&reading.set), set::short(&reading.set)] {
                let back = set::read(text.as_bytes()).map(|back| back.set);
                prop_assert_eq!(back.as_ref(), Ok(&reading.set));
            }
        }
        Err(faults) => {
            prop_assert!(!faults.is_empty(), "a refusal has a reason");
            for fault in faults {
                check_message(&fault.to_string())?;
            }
        }
    }
    Ok(())
}

fn check_result(bytes: &[u8]) -> Result<(), TestCaseError> {
    match results::read(bytes) {
        Ok(file) => {
            let written = results::write(&file);
            let back = results::read(written.as_bytes());
            prop_assert_eq!(back.map(|back| results::write(&back)), Ok(written));
        }
        Err(error) => check_message(&error.to_string())?,
    }
    Ok(())
}

/// The report over several files names every file, in a group or among those left out, and its tables can be written.
fn check_merged(files: &[(String, Vec<u8>)]) -> Result<(), TestCaseError> {
    let merged = merge(files);
    let counted: usize = merged.groups.iter().map(|group| group.files.len()).sum();
    prop_assert_eq!(counted + merged.left.len(), files.len());
    for left in &merged.left {
        check_message(&left.reason.to_string())?;
    }
    for group in &merged.groups {
        let named: Vec<(&str, &ResultFile)> = group
            .files
            .iter()
            .map(|(name, file)| (&**name, file))
            .collect();
        let rows = of_files(&named, Separator::Semicolon);
        let items: usize = group.files.iter().map(|(_, file)| file.items.len()).sum();
        prop_assert!(
            rows.matches("\r\n").count() > items,
            "a head and a line for each item"
        );
        prop_assert!(
            report_csv(group, Separator::Comma).contains("\r\n"),
            "a head at least"
        );
    }
    Ok(())
}

fn check_state(text: &str) -> Result<(), TestCaseError> {
    if let Some(progress) = resume::read(text, IDENTITY) {
        let written = resume::write(&progress, 64_000);
        prop_assert!(written.is_ascii() && written.len() <= 64_000, "{}", written);
        prop_assert_eq!(resume::read(&written, IDENTITY), Some(progress));
    }
    Ok(())
}

fn check_record(text: &str) -> Result<(), TestCaseError> {
    match record::read(text) {
        Ok(reading) => {
            let written = record::write(&reading.record);
            let back = record::read(&written);
            prop_assert!(
                back.as_ref().is_ok_and(|back| back.set_aside.is_empty()),
                "{back:?}"
            );
        }
        Err(error) => check_message(&error.to_string())?,
    }
    Ok(())
}

fn check_kept(text: &str) -> Result<(), TestCaseError> {
    match examination::read(text) {
        Ok(back) => {
            let again = examination::read(&examination::write(&back.kept));
            prop_assert_eq!(again.map(|again| again.damaged), Ok(0));
        }
        Err(error) => check_message(&error.to_string())?,
    }
    Ok(())
}

fn check_vocabulary(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Err(error) = vocabulary::read(bytes) {
        check_message(&error.to_string())?;
    }
    Ok(())
}

const LINK: &str = "v1.body=adult_female&window=spleen_coronal&probe=curved&at=9.5,-114.25,118&out=-90,2.5&turn=270&tilt=-3&rock=4&press=5&depth=150&mark=right&apex=bottom&tol=15&lie=left_side_down&seat=right&grey=40&gain=3";

const FRAGMENT: &str = "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=0&depth=150&question=side_2&lang=pt-BR&theme=dark&host=https://course.example:8443&height=auto&nonce=a-word-of_12&show=picture&open=look&text=hidden&grey=50";

fn kept() -> String {
    let picture = |number| KeptPicture {
        number,
        at: Moment {
            unix_ms: 1_795_596_301_999,
            offset_min: -60,
        },
        view: LinkState {
            body: Some("adult_female".to_owned()),
            ..LinkState::default()
        },
        annotation: "SAG AO | PROX = ok".to_owned(),
    };
    examination::write(&Kept {
        seed: 7,
        next: 9,
        request: Some("aorta".to_owned()),
        line: "TRV ".to_owned(),
        held: Some("v1.body=adult_female".to_owned()),
        finished: false,
        pictures: vec![picture(2), picture(7)],
    })
}

fn result(items: usize) -> ResultFile {
    let item = |at: usize| Item {
        id: format!("q{at}"),
        kind: "place_probe".to_owned(),
        skill: "plane/sagittal".to_owned(),
        points: 2,
        outcome: Outcome::Partly,
        score: 0.5,
        first_score: 0.25,
        answers: vec!["off".to_owned()],
        correct: "there".to_owned(),
        hints: 1,
        latency_ms: 12_000,
        misconception: Some("notch_far_side".to_owned()),
        view: Some("v1.window=spleen_coronal".to_owned()),
        pose: Some(PoseError {
            plane_deg: 12.5,
            reversed: true,
            rotation_deg: -170.0,
            ..PoseError::default()
        }),
        more: Vec::new(),
    };
    ResultFile {
        program: "0.1.0".to_owned(),
        title: "Orientation week".to_owned(),
        set: IDENTITY.to_owned(),
        seed: 7,
        attempt: 1,
        label: Some("Bench 4".to_owned()),
        started: Moment {
            unix_ms: 1_795_596_301_000,
            offset_min: 60,
        },
        ended: None,
        pass_percent: Some(50),
        items: (1..=items).map(item).collect(),
        more: Vec::new(),
    }
}

const STATE: &str = "p1;0123456789abcdef;7k;1;tq8x4a;0.100.100.1.0.12.sagittal;3.50.0.2.1.40.coronal~Ma%C3%9Fe;4.0.0.1.0.9\np1;0123456789abcdef;7k;1;tq8x4a;1.0.0.1.0.5";

const RECORD: &str = concat!(
    r#"{"planeward_record":2,"events":["#,
    "\n",
    r#"{"at":2,"n":1,"skill":"side.transverse.front.general","level":"easy","seed":"42","body":"b","first":true,"score":1,"hints":0,"ways":4},"#,
    "\n",
    r#"{"at":3,"n":9,"check":"readiness","seed":"7","score":0.8,"questions":5}"#,
    "\n]}\n",
);

const WORDS: &str = r#"{"version":1,"language":"en","least_area_mm2":4,"least_length_mm":5,"plane":[{"mark":"SAG","also":["LONG"],"plane":"sagittal"}],"side":[{"mark":"RT","side":"right"}],"structure":[{"mark":"AO","structures":["aorta"]}],"manoeuvre":[{"mark":"COMP"}]}"#;

/// Any JSON value, small.
fn any_json() -> impl Strategy<Value = Json> {
    let leaf = prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::Bool),
        any::<f64>()
            .prop_filter("JSON has no other numbers", |n| n.is_finite())
            .prop_map(Json::Number),
        (-3_i32..300).prop_map(|n| Json::Number(f64::from(n))),
        ".{0,60}".prop_map(Json::Text),
    ];
    leaf.prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Json::List),
            prop::collection::vec(("[a-z_]{1,8}", inner), 0..4).prop_map(Json::Object),
        ]
    })
}

/// Puts `with` in the place that `way` leads to, from the top of the tree downwards.
fn graft(json: &mut Json, way: &[Index], with: Json) {
    let Some((first, rest)) = way.split_first() else {
        *json = with;
        return;
    };
    match json {
        Json::List(list) if !list.is_empty() => {
            let at = first.index(list.len());
            graft(&mut list[at], rest, with);
        }
        Json::Object(fields) if !fields.is_empty() => {
            let at = first.index(fields.len());
            graft(&mut fields[at].1, rest, with);
        }
        other => *other = with,
    }
}

/// A result file whose check sum fits whatever is in it, as somebody would forge it.
fn signed(mut tree: Json) -> Vec<u8> {
    if let Json::Object(fields) = &mut tree {
        fields.retain(|(name, _)| name != "checksum");
        let sum = archive::crc32(compact(&Json::Object(fields.clone())).as_bytes());
        fields.push((
            "checksum".to_owned(),
            Json::Text(format!("crc32:{sum:08x}")),
        ));
    }
    pretty(&tree).into_bytes()
}

#[test]
fn the_good_ones_are_read() {
    // What is bent below is good before it is bent, so that most slips are met behind the first check.
    assert!(link::read(LINK).is_ok(), "{:?}", link::read(LINK));
    assert!(Embed::read(FRAGMENT).is_ok(), "{:?}", Embed::read(FRAGMENT));
    let full = set::read(SET.as_bytes()).expect("a set").set;
    assert!(read_set_link(&set_link(&full).text).is_ok());
    let text = results::write(&result(3));
    assert_eq!(results::read(text.as_bytes()), Ok(result(3)));
    let tree = Json::read(text.as_bytes()).expect("grammatical");
    assert_eq!(
        results::read(&signed(tree)),
        Ok(result(3)),
        "the same check sum"
    );
    assert_eq!(
        resume::read(STATE, IDENTITY).map(|state| state.answered.len()),
        Some(4)
    );
    assert!(record::read(RECORD).is_ok_and(|reading| reading.set_aside.is_empty()));
    assert!(examination::read(&kept()).is_ok_and(|back| back.damaged == 0));
    assert!(vocabulary::read(WORDS.as_bytes()).is_ok());
}

#[test]
fn a_forged_check_sum_does_not_get_past_the_limits() {
    let text = results::write(&result(2)).replace("\"score\": 0.5", "\"score\": 1.5");
    let tree = Json::read(text.as_bytes()).expect("grammatical");
    assert!(
        matches!(results::read(&signed(tree)), Err(Broken::Fault(_))),
        "a share above one"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let text = String::from_utf8_lossy(&bytes);
        check_link(&text)?;
        check_embed(&text)?;
        check_set_link(&text)?;
        check_set(&bytes)?;
        check_result(&bytes)?;
        check_state(&text)?;
        check_record(&text)?;
        check_kept(&text)?;
        check_vocabulary(&bytes)?;
    }

    #[test]
    fn bent_links_are_read_or_refused(bends in any_bends()) {
        check_link(&bent(LINK, &bends))?;
        check_embed(&bent(FRAGMENT, &bends))?;
    }

    #[test]
    fn bent_links_to_sets_are_read_or_refused(bends in any_bends()) {
        let full = set::read(SET.as_bytes()).expect("a set").set;
        let text = bent(&set_link(&full).text, &bends);
        check_set_link(&text)?;
        check_embed(&format!("{text}&theme=dark"))?;
    }

    #[test]
    fn bent_sets_are_read_or_refused(bends in any_bends()) {
        check_set(bent(SET, &bends).as_bytes())?;
    }

    #[test]
    fn grafted_sets_are_read_or_refused(way in prop::collection::vec(any::<Index>(), 1..6), with in any_json()) {
        let mut tree = Json::read(SET.as_bytes()).expect("grammatical");
        graft(&mut tree, &way, with);
        check_set(compact(&tree).as_bytes())?;
    }

    #[test]
    fn bent_result_files_are_read_or_refused(bends in any_bends()) {
        check_result(bent(&results::write(&result(3)), &bends).as_bytes())?;
    }

    #[test]
    fn forged_result_files_are_merged_or_left_out(
        grafts in prop::collection::vec((prop::collection::vec(any::<Index>(), 1..5), any_json()), 1..4),
    ) {
        let mut files = vec![("good.json".to_owned(), results::write(&result(3)).into_bytes())];
        for (at, (way, with)) in grafts.into_iter().enumerate() {
            let text = results::write(&result(3));
            let mut tree = Json::read(text.as_bytes()).expect("grammatical");
            graft(&mut tree, &way, with);
            let bytes = signed(tree);
            check_result(&bytes)?;
            files.push((format!("{at}.json"), bytes));
        }
        check_merged(&files)?;
    }

    #[test]
    fn bent_states_are_read_or_passed_over(bends in any_bends()) {
        check_state(&bent(STATE, &bends))?;
    }

    #[test]
    fn bent_records_and_words_are_read_or_refused(bends in any_bends()) {
        check_record(&bent(RECORD, &bends))?;
        check_kept(&bent(&kept(), &bends))?;
        check_vocabulary(bent(WORDS, &bends).as_bytes())?;
    }
}
