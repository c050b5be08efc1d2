//! Freeze, annotate, acquire, review, delete, finish, step by step and in any order.

use app::drawing::{Drawing, palette};
use app::examine::acquired::replay;
use app::examine::{Moment, Note, files, vocabulary_arrived};
use app::views::{ExamineView, VerdictKind, panels, picture_lines};
use app::{Action, Examine, Movement, SlideAxis, State, Step, Texts, Way, address};
use geometry::{ApexSide, BodyPosition, MarkSide};
use proptest::prelude::*;

use crate::support::{act, body, opened};

/// A vocabulary for the egg: the shipped file has the same shape.
const WORDS: &str = r#"{
    "version": 1, "language": "en", "least_area_mm2": 4.0, "least_length_mm": 5.0,
    "plane": [
        {"mark": "SAG", "also": ["SAGITTAL"], "plane": "sagittal"},
        {"mark": "TRV", "also": ["TRANS"], "plane": "transverse"}
    ],
    "segment": [
        {"mark": "PROX", "segments": ["proximal"]},
        {"mark": "DIST", "segments": ["distal"]}
    ],
    "structure": [
        {"mark": "AO", "also": ["AORTA"], "structures": ["aorta"]},
        {"mark": "LIV", "also": ["LIVER"], "structures": ["liver"]}
    ],
    "manoeuvre": [{"mark": "COMP"}, {"mark": "EV"}],
    "ambiguous": [{"word": "TV", "choices": [["TRV", "transverse"], ["EV", "transvaginal"], ["", "something else"]]}]
}"#;

const FRONT: &str = "v1.body=adult_female&at=9.5,-114.2,118&out=-90,2.5";

fn at(seconds: i64) -> Moment {
    Moment {
        unix_ms: 1_795_596_300_000 + seconds * 1000,
        offset_min: 60,
    }
}

fn examine(state: &mut State, what: Examine) -> app::Changes {
    act(state, Action::Examine(what))
}

/// A page with the egg and the words, nothing acquired.
fn ready() -> State {
    let mut state = opened("");
    examine(&mut state, vocabulary_arrived(WORDS.as_bytes()));
    examine(&mut state, Examine::Reseed(7));
    state
}

/// Judges everything that waits, as the shell does between frames.
fn judge_all(state: &mut State) {
    while state.unjudged().is_some() {
        let before = state.unjudged();
        examine(state, Examine::Judge);
        assert_ne!(state.unjudged(), before, "the judgement gets on");
    }
}

fn shown(state: &State) -> ExamineView {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    drawing.look_at(state);
    panels(state, drawing.contents(), &Texts::english()).examine
}

fn acquire(state: &mut State, line: &str, seconds: i64) {
    examine(state, Examine::Freeze);
    examine(state, Examine::Write(line.to_owned()));
    examine(state, Examine::Acquire(at(seconds)));
    examine(state, Examine::Unfreeze);
}

/// Everything that would move the probe or change the picture.
fn moves() -> Vec<Action> {
    vec![
        Action::Slide {
            axis: SlideAxis::Notch,
            mm: 10.0,
        },
        Action::SlideStep(SlideAxis::Across, Way::Forward, Step::Usual),
        Action::SetMovement(Movement::Tilt, 20.0),
        Action::MovementStep(Movement::Compress, Way::Forward, Step::Usual),
        Action::ReverseNotch,
        Action::QuarterTurn(Way::Back),
        Action::PickWindow("transverse_aorta_mid".to_owned()),
        Action::SetDepth(90.0),
        Action::DepthStep(Way::Back),
        Action::ChooseTransducer("linear".to_owned()),
        Action::SetMark(MarkSide::Right),
        Action::SetApex(ApexSide::Bottom),
        Action::SetTolerance(12.0),
        Action::SetPosition(BodyPosition::Prone),
        Action::SetGrey(70.0),
        Action::SwitchPicture,
        Action::SetGain(6.0),
        Action::TurnKnob(picture::Knob::Focus, 40.0),
        Action::KnobStep(picture::Knob::Gain, Way::Forward),
        Action::Undo,
        Action::Redo,
        Action::Reset,
        Action::ChooseBody("adult_male".to_owned()),
    ]
}

#[test]
fn a_frozen_picture_stays_whatever_is_tried_and_a_sentence_says_so() {
    for action in moves() {
        let mut state = opened(FRONT);
        act(&mut state, Action::SetMovement(Movement::Rock, 5.0));
        act(&mut state, Action::EndInteraction);
        act(&mut state, Action::SetMovement(Movement::Rock, 9.0));
        act(&mut state, Action::EndInteraction);
        act(&mut state, Action::Undo);
        examine(&mut state, Examine::Freeze);
        let before = (address::fragment(&state), state.grey());
        let changes = act(&mut state, action.clone());
        assert!(changes.refused, "{action:?} is refused");
        assert_eq!(
            (address::fragment(&state), state.grey()),
            before,
            "{action:?}"
        );
        let notes = shown(&state).notes;
        assert_eq!(notes.len(), 1, "{action:?}: {notes:?}");
        assert!(notes[0].text.contains("frozen"), "{notes:?}");
        // Said once, and gone with the explicit way out.
        assert_eq!(act(&mut state, action.clone()).announcement, None);
        act(&mut state, notes[0].offers[0].action.clone());
        assert!(!shown(&state).frozen, "{action:?}");
        assert!(shown(&state).notes.is_empty(), "{action:?}");
        act(&mut state, action.clone());
        assert_ne!(
            (address::fragment(&state), state.grey()),
            before,
            "{action:?} works again"
        );
    }
}

#[test]
fn what_moves_no_picture_goes_on_while_it_is_frozen() {
    let mut state = ready();
    examine(&mut state, Examine::Freeze);
    for action in [
        Action::SetSeat(app::Seat::Left),
        Action::ShowSkin(false),
        Action::ZoomCamera(0.8),
        Action::ChooseStructure(Some("liver".to_owned())),
        Action::EndInteraction,
        Action::Tick(100.0),
    ] {
        let changes = act(&mut state, action.clone());
        assert!(!changes.refused, "{action:?}");
        assert!(shown(&state).frozen, "{action:?}");
    }
    // Another link was opened on purpose: it shows, and the picture is live.
    act(&mut state, Action::OpenLink(format!("{FRONT}&turn=90")));
    assert!(!shown(&state).frozen, "the link shows something else");
}

#[test]
fn freezing_in_the_middle_of_a_move_takes_its_end() {
    let mut state = ready();
    act(&mut state, Action::SetReducedMotion(false));
    act(
        &mut state,
        Action::PickWindow("transverse_aorta_mid".to_owned()),
    );
    assert!(state.is_moving(), "on the way");
    examine(&mut state, Examine::Freeze);
    assert!(!state.is_moving(), "at rest");
    assert_eq!(state.plane(), replayed(&mut state).plane());
}

/// The frozen picture acquired and shown again.
fn replayed(state: &mut State) -> State {
    examine(state, Examine::Acquire(at(0)));
    let kept = state
        .examination()
        .pictures()
        .last()
        .expect("acquired")
        .clone();
    replay(state, &kept)
}

#[test]
fn without_a_body_there_is_nothing_to_freeze_or_acquire() {
    let mut state = State::new("");
    for what in [Examine::Freeze, Examine::Acquire(at(0))] {
        examine(&mut state, what);
        assert_eq!(state.examination().notes(), [Note::NoPicture]);
        assert!(!state.examination().is_frozen(), "no picture");
        assert!(state.examination().pictures().is_empty(), "no picture");
    }
}

/// Settings, press and grey-scale included: the picture drawn again has the bytes of the live one.
#[test]
fn an_acquired_picture_is_the_picture_that_was_shown() {
    let setups: [&[Action]; 4] = [
        &[],
        &[
            Action::SetMovement(Movement::Tilt, 13.37),
            Action::SetMovement(Movement::Rock, -7.123_456),
            Action::SetMovement(Movement::Compress, 9.87),
            Action::SetDepth(111.1),
        ],
        &[
            Action::ChooseTransducer("linear".to_owned()),
            Action::SetGrey(100.0),
            Action::SetGain(7.25),
            Action::SetMovement(Movement::Compress, 6.0),
        ],
        &[
            Action::SetMark(MarkSide::Right),
            Action::SetApex(ApexSide::Bottom),
            Action::SetGrey(40.0),
            Action::ReverseNotch,
        ],
    ];
    for actions in setups {
        for frozen in [true, false] {
            let mut state = ready();
            for action in actions {
                act(&mut state, action.clone());
            }
            if frozen {
                examine(&mut state, Examine::Freeze);
            }
            examine(&mut state, Examine::Acquire(at(0)));
            let mut live = Drawing::new(palette().expect("all colours"));
            let pixels = files::pixels(&state, &mut live);
            assert!(pixels.iter().any(|byte| *byte > 40), "something is drawn");
            // What a reload brings back is drawn alike.
            let text = course::examination::write(state.examination().kept());
            let back = course::examination::read(&text).expect("our own text");
            assert_eq!(back.damaged, 0);
            assert_eq!(&back.kept, state.examination().kept());
            let again = replay(&state, &back.kept.pictures[0]);
            let mut other = Drawing::new(palette().expect("all colours"));
            assert!(
                files::pixels(&again, &mut other) == pixels,
                "{actions:?}, frozen {frozen}: other pixels"
            );
        }
    }
}

#[test]
fn the_line_is_checked_token_by_token_against_the_frozen_picture() {
    let mut state = ready();
    examine(
        &mut state,
        Examine::Write("trv ao prox comp xyz".to_owned()),
    );
    examine(&mut state, Examine::Check);
    assert_eq!(state.examination().notes(), [Note::CheckNeedsFreeze]);
    assert_eq!(shown(&state).verdict, None);
    examine(&mut state, Examine::Freeze);
    examine(&mut state, Examine::Check);
    let verdict = shown(&state).verdict.expect("a verdict");
    let kinds: Vec<_> = verdict.rows.iter().map(|row| row.kind).collect();
    assert_eq!(
        kinds,
        [
            VerdictKind::Wrong,
            VerdictKind::Right,
            VerdictKind::Right,
            VerdictKind::Kept,
            VerdictKind::Unknown
        ]
    );
    assert_eq!(verdict.rows[0].word.as_deref(), Some("TRV"));
    assert_eq!(verdict.rows[0].sentence, "The plane is sagittal.");
    assert_eq!(
        verdict.summary,
        "Right: 2. Wrong: 2. Missing: 0. To decide: 0."
    );

    // A word more, and the verdict is gone until it is asked for again.
    examine(&mut state, Examine::Write("sag".to_owned()));
    assert_eq!(shown(&state).verdict, None);
    examine(&mut state, Examine::Check);
    let verdict = shown(&state).verdict.expect("a verdict");
    assert_eq!(verdict.rows[1].kind, VerdictKind::Missing);
    assert_eq!(verdict.rows[1].sentence, "The structure.");
    examine(&mut state, Examine::Write("sag ao".to_owned()));
    examine(&mut state, Examine::Check);
    let verdict = shown(&state).verdict.expect("a verdict");
    assert!(verdict.all_right, "{verdict:?}");
    // The aorta's list asks for parts.
    examine(&mut state, Examine::Request(Some("thyroid".to_owned())));
    assert_eq!(
        state.examination().notes(),
        [Note::ListDoesNotFit],
        "no thyroid"
    );
}

#[test]
fn words_are_offered_and_taken() {
    let mut state = ready();
    examine(&mut state, Examine::Write("sag a".to_owned()));
    let offers = shown(&state).offers;
    assert_eq!(offers.len(), 1, "{offers:?}");
    assert_eq!(offers[0].mark, "AO");
    assert_eq!(offers[0].name.as_deref(), Some("AORTA"));
    assert_eq!(offers[0].claims, "structure");
    examine(&mut state, Examine::TakeOffer(None));
    assert_eq!(shown(&state).line, "sag a", "none was gone to");
    examine(&mut state, Examine::OfferStep(Way::Forward));
    assert!(shown(&state).offers[0].chosen, "gone to");
    examine(&mut state, Examine::TakeOffer(None));
    assert_eq!(shown(&state).line, "sag AO ");
    assert!(shown(&state).offers.is_empty(), "nothing to finish");

    examine(&mut state, Examine::Write("s".to_owned()));
    examine(&mut state, Examine::TakeOffer(Some(0)));
    assert_eq!(shown(&state).line, "SAG ");
    examine(&mut state, Examine::TakeOffer(Some(9)));
    assert_eq!(shown(&state).line, "SAG ", "there is no such word");
    examine(&mut state, Examine::Write("p".to_owned()));
    examine(&mut state, Examine::CloseOffers);
    assert!(shown(&state).offers.is_empty(), "put away");
    examine(&mut state, Examine::OfferStep(Way::Back));
    assert_eq!(shown(&state).offers.len(), 1, "and asked for again");
}

#[test]
fn an_ambiguous_word_is_refused_with_a_question() {
    for (choice, line) in [(0, "TRV ao"), (1, "EV ao"), (2, "ao")] {
        let mut state = ready();
        examine(&mut state, Examine::Write("tv ao".to_owned()));
        let changes = examine(&mut state, Examine::Acquire(at(0)));
        assert!(changes.announcement.is_some(), "it is said");
        assert!(state.examination().pictures().is_empty(), "not acquired");
        assert_eq!(state.examination().notes(), [Note::Ambiguous]);
        let view = shown(&state);
        assert!(view.frozen, "the picture waits for the answer");
        let row = &view.verdict.expect("a verdict").rows[0];
        assert_eq!(row.kind, VerdictKind::Question);
        assert_eq!(
            row.sentence,
            "TV can mean transverse or transvaginal or something else. Which is meant?"
        );
        assert_eq!(row.choices.len(), 3);
        act(&mut state, row.choices[choice].1.clone());
        assert_eq!(shown(&state).line, line);
        assert!(state.examination().notes().is_empty(), "answered");
        assert!(shown(&state).verdict.is_some(), "checked again at once");
        examine(&mut state, Examine::Acquire(at(1)));
        let kept = &state.examination().pictures()[0];
        assert_eq!(kept.annotation, line.to_uppercase(), "in capitals");
    }
}

#[test]
fn what_stands_on_a_picture_is_not_carried_to_the_next() {
    let mut state = ready();
    examine(&mut state, Examine::Freeze);
    examine(&mut state, Examine::Write("SAG AO".to_owned()));
    examine(&mut state, Examine::Unfreeze);
    assert_eq!(shown(&state).line, "SAG AO", "not used yet");
    examine(&mut state, Examine::Freeze);
    examine(&mut state, Examine::Acquire(at(0)));
    assert_eq!(shown(&state).line, "SAG AO", "still this picture's");
    examine(&mut state, Examine::Unfreeze);
    assert_eq!(shown(&state).line, "");
}

#[test]
fn cards_say_caption_plane_and_time_and_whether_the_annotation_is_right() {
    let mut state = ready();
    acquire(&mut state, "SAG AO PROX", 0);
    act(&mut state, Action::SetMovement(Movement::Rotate, 270.0));
    acquire(&mut state, "SAG AO", 1);
    acquire(&mut state, "", 2);
    judge_all(&mut state);
    let cards = shown(&state).cards;
    let said: Vec<_> = cards
        .iter()
        .map(|card| (card.annotation.as_str(), card.plane, card.all_right))
        .collect();
    assert_eq!(
        said,
        [
            ("SAG AO PROX", "sagittal", Some(true)),
            ("SAG AO", "transverse", Some(false)),
            ("no annotation", "transverse", None),
        ]
    );
    assert_eq!(cards[0].time, "09:45:00");
    assert!(cards.iter().all(|card| card.drawable), "{cards:?}");
}

#[test]
fn review_pages_and_says_everything() {
    let mut state = ready();
    acquire(&mut state, "SAG AO PROX", 0);
    act(&mut state, Action::SetMovement(Movement::Rotate, 270.0));
    acquire(&mut state, "SAG AO", 1);
    judge_all(&mut state);
    examine(&mut state, Examine::ReviewStep(Way::Back));
    let review = shown(&state).review.expect("the last");
    assert_eq!(review.title, "Picture 2, 2 of 2");
    assert!(review.has_previous && !review.has_next, "{review:?}");
    examine(&mut state, Examine::ReviewStep(Way::Forward));
    assert_eq!(shown(&state).review.map(|review| review.number), Some(2));
    examine(&mut state, Examine::ReviewStep(Way::Back));
    let review = shown(&state).review.expect("the first");
    assert_eq!(review.number, 1);
    assert!(
        review.verdict.is_some_and(|verdict| verdict.all_right),
        "right"
    );
    let text = review.lines.join(" ");
    for part in [
        "sagittal plane",
        "Image left",
        "Depth 15.5 cm",
        "Section in flat colours",
        "Notch toward the head",
        "2026-11-25 09:45:00",
    ] {
        assert!(text.contains(part), "{part:?} is not in {text:?}");
    }
    let kept = state.examination().pictures()[0].clone();
    let lines = picture_lines(&state, &kept, &Texts::english());
    assert_eq!(lines[0], "Picture 1: SAG AO PROX");
    examine(&mut state, Examine::CloseReview);
    assert_eq!(shown(&state).review, None);
}

#[test]
fn the_probe_goes_back_to_where_a_picture_was_acquired() {
    let mut state = ready();
    acquire(&mut state, "SAG AO", 0);
    let fragment = address::fragment(&state);
    act(
        &mut state,
        Action::PickWindow("transverse_aorta_mid".to_owned()),
    );
    let there = address::fragment(&state);
    examine(&mut state, Examine::Freeze);
    examine(&mut state, Examine::GoTo(1));
    assert_eq!(address::fragment(&state), fragment);
    assert!(!shown(&state).frozen, "live again");
    act(&mut state, Action::Undo);
    assert_eq!(address::fragment(&state), there, "one step of undo");

    // A picture of another body opens that body.
    act(&mut state, Action::ChooseBody("adult_male".to_owned()));
    act(&mut state, Action::BodyArrived(body("adult_male")));
    let card = &shown(&state).cards[0];
    assert_eq!(
        (card.drawable, card.verdict),
        (false, Some("of another body"))
    );
    examine(&mut state, Examine::Review(1));
    assert!(
        shown(&state).review.expect("words").not_drawn.is_some(),
        "no body"
    );
    examine(&mut state, Examine::GoTo(1));
    assert_eq!(state.body_id(), "adult_female");
    act(&mut state, Action::BodyArrived(body("adult_female")));
    assert_eq!(address::fragment(&state), fragment);
}

#[test]
fn a_picture_can_be_deleted_and_put_back_until_the_end() {
    let mut state = ready();
    for seconds in 0..3 {
        acquire(&mut state, "SAG AO", seconds);
    }
    let numbers =
        |state: &State| -> Vec<u32> { shown(state).cards.iter().map(|card| card.number).collect() };
    examine(&mut state, Examine::Review(2));
    examine(&mut state, Examine::Delete(2));
    assert_eq!(numbers(&state), [1, 3]);
    assert_eq!(shown(&state).review.map(|review| review.number), Some(3));
    examine(&mut state, Examine::Delete(3));
    assert_eq!(shown(&state).review.map(|review| review.number), Some(1));
    assert_eq!(state.examination().notes(), [Note::Deleted(3)]);
    examine(&mut state, Examine::PutBack);
    assert_eq!(state.examination().notes(), [Note::Deleted(2)]);
    examine(&mut state, Examine::PutBack);
    assert_eq!(numbers(&state), [1, 2, 3], "each in its place");
    assert!(state.examination().notes().is_empty(), "nothing is missing");
    examine(&mut state, Examine::PutBack);
    assert_eq!(numbers(&state), [1, 2, 3]);

    // Numbers are not given twice.
    examine(&mut state, Examine::Delete(3));
    acquire(&mut state, "", 9);
    assert_eq!(numbers(&state), [1, 2, 4]);
    examine(&mut state, Examine::Finish);
    examine(&mut state, Examine::PutBack);
    examine(&mut state, Examine::Delete(1));
    examine(&mut state, Examine::Acquire(at(10)));
    assert_eq!(numbers(&state), [1, 2, 4], "finished");
    assert_eq!(state.examination().notes(), [Note::Finished]);
}

#[test]
fn finishing_names_what_is_missing_and_a_new_one_begins_empty() {
    let mut state = ready();
    assert!(!shown(&state).unfinished, "nothing was done");
    examine(&mut state, Examine::OpenFinish);
    assert_eq!(
        shown(&state).finish.expect("words").finish,
        None,
        "nothing to finish"
    );
    examine(&mut state, Examine::Finish);
    assert!(!shown(&state).finished, "nothing to finish");
    acquire(&mut state, "TRV AO", 0);
    acquire(&mut state, "", 1);
    judge_all(&mut state);
    assert!(shown(&state).unfinished, "two pictures");
    let finish = shown(&state).finish.expect("words");
    assert_eq!(
        finish.sentences,
        [
            "Pictures acquired: 2. No list was requested.",
            "Pictures whose annotation is not right: 1.",
            "Pictures without annotation: 2.",
        ]
    );
    assert_eq!(finish.finish.as_deref(), Some("Finish"));
    examine(&mut state, Examine::Finish);
    assert!(
        shown(&state).finished && !shown(&state).unfinished,
        "the end"
    );
    examine(&mut state, Examine::Reopen);
    assert!(shown(&state).unfinished, "more after all");
    examine(&mut state, Examine::Finish);
    examine(&mut state, Examine::BeginNew(8));
    let view = shown(&state);
    assert!(view.cards.is_empty() && !view.finished, "{view:?}");
    assert_eq!(state.examination().kept().seed, 8);
}

#[test]
fn a_reload_brings_back_pictures_line_and_frozen_picture() {
    let mut state = ready();
    acquire(&mut state, "SAG AO", 0);
    act(&mut state, Action::SetMovement(Movement::Rotate, 33.0));
    act(&mut state, Action::SetGrey(60.0));
    examine(&mut state, Examine::Freeze);
    examine(&mut state, Examine::Write("half a li".to_owned()));
    let text = course::examination::write(state.examination().kept());
    let kept = course::examination::read(&text).expect("our own").kept;
    let there = (address::fragment(&state), state.grey());
    for (fragment, frozen) in [
        (there.0.clone(), true),
        (String::new(), true),
        // Where the examiner sits changes no picture.
        (there.0.replace("seat=right", "seat=left"), true),
        (format!("{FRONT}&turn=90"), false),
    ] {
        let mut again = State::new(&fragment);
        act(&mut again, Action::SetReducedMotion(true));
        examine(&mut again, Examine::BringBack(Box::new(kept.clone())));
        let id = again.body_id().to_owned();
        act(&mut again, Action::BodyArrived(body(&id)));
        let view = shown(&again);
        assert_eq!(view.frozen, frozen, "{fragment}");
        assert_eq!((view.cards.len(), view.line.as_str()), (1, "half a li"));
        if frozen {
            assert_eq!(again.grey(), there.1, "{fragment}");
            assert_eq!(again.plane(), state.plane(), "{fragment}");
        }
        assert_eq!(again.examination().kept().held.is_some(), frozen);
    }
}

#[test]
fn earlier_work_is_offered_and_taken_up() {
    let mut state = ready();
    let note = Note::Earlier {
        pictures: 2,
        last: Some(at(0)),
        slot: "examination.5".to_owned(),
    };
    examine(&mut state, Examine::Tell(note.clone()));
    examine(&mut state, Examine::Tell(note));
    let notes = shown(&state).notes;
    assert_eq!(notes.len(), 1, "told once");
    assert!(notes[0].text.contains("2026-11-25 09:45:00"), "{notes:?}");
    act(&mut state, notes[0].offers[0].action.clone());
    assert_eq!(state.examination().wanted(), Some("examination.5"));
    let kept = course::examination::Kept {
        seed: 5,
        ..course::examination::Kept::default()
    };
    examine(&mut state, Examine::BringBack(Box::new(kept)));
    assert_eq!(state.examination().wanted(), None);
    assert!(state.examination().notes().is_empty(), "taken up");
    assert_eq!(state.examination().kept().next, 1);
}

#[test]
fn a_set_is_saved_whole() {
    let mut state = ready();
    act(&mut state, Action::SetGrey(100.0));
    acquire(&mut state, "SAG AO", 0);
    act(&mut state, Action::SetGrey(0.0));
    acquire(&mut state, "", 1);
    judge_all(&mut state);
    let mut drawing = Drawing::new(palette().expect("all colours"));
    let one = files::dicom(&state, 1, &mut drawing).expect("a file");
    assert_eq!(&one[128..132], b"DICM");
    let holds = |file: &[u8], part: &[u8]| file.windows(part.len()).any(|window| window == part);
    assert!(holds(&one, b"MONOCHROME2"), "grey");
    assert!(
        holds(&one, b"7832008"),
        "the code of the aorta, which the annotation rightly says"
    );
    let kept = state.examination().pictures()[0].clone();
    let pixels = files::pixels(&replay(&state, &kept), &mut drawing);
    let first: Vec<u8> = pixels.chunks_exact(4).map(|pixel| pixel[0]).collect();
    assert!(
        one.ends_with(&first),
        "the pixels of the file are those that are shown"
    );
    let two = files::dicom(&state, 2, &mut drawing).expect("a file");
    assert!(
        !holds(&two, b"7832008") && holds(&two, b"RGB"),
        "bare, in colours"
    );
    assert_eq!(files::dicom(&state, 3, &mut drawing), None);

    let texts = Texts::english();
    let set = |drawing: &mut Drawing| {
        files::set(&state, &texts, at(5), drawing, |number| {
            (number == 1).then(|| b"a picture".to_vec())
        })
    };
    let zip = set(&mut drawing);
    assert_eq!(set(&mut drawing), zip, "equal sets give equal bytes");
    for name in [
        "01_SAG_AO.png",
        "01_SAG_AO.dcm",
        "02.dcm",
        "pictures.json",
        "pictures.txt",
    ] {
        assert!(holds(&zip, name.as_bytes()), "{name}");
    }
    assert!(!holds(&zip, b"02.png"), "there was none");
    assert!(
        holds(&zip, b"Not for diagnosis"),
        "the caution goes with it"
    );
}

fn any_examine() -> impl Strategy<Value = Examine> {
    let number = || 0_u32..5;
    let way = || prop::sample::select(vec![Way::Forward, Way::Back]);
    let lines = vec![
        "",
        "sag",
        "SAG AO PROX",
        "tv ao",
        "a",
        "xx | =\n",
        "TRV LIV COMP ",
    ];
    prop_oneof![
        3 => Just(Examine::SwitchFreeze),
        1 => Just(Examine::Freeze),
        1 => Just(Examine::Unfreeze),
        3 => prop::sample::select(lines).prop_map(|line| Examine::Write(line.to_owned())),
        1 => ".{0,30}".prop_map(Examine::Write),
        1 => way().prop_map(Examine::OfferStep),
        1 => prop::option::of(0_usize..4).prop_map(Examine::TakeOffer),
        1 => Just(Examine::CloseOffers),
        1 => (0_usize..3, 0_usize..4).prop_map(|(token, choice)| Examine::Choose { token, choice }),
        1 => Just(Examine::Check),
        4 => any::<i64>().prop_map(|ms| Examine::Acquire(Moment { unix_ms: ms, offset_min: 0 })),
        2 => Just(Examine::Judge),
        1 => number().prop_map(Examine::Review),
        1 => way().prop_map(Examine::ReviewStep),
        1 => Just(Examine::CloseReview),
        1 => number().prop_map(Examine::GoTo),
        1 => number().prop_map(Examine::Delete),
        1 => Just(Examine::PutBack),
        1 => prop::sample::select(vec![None, Some("aorta"), Some("nothing")])
            .prop_map(|id| Examine::Request(id.map(str::to_owned))),
        1 => Just(Examine::OpenFinish),
        1 => Just(Examine::CloseFinish),
        1 => Just(Examine::Finish),
        1 => Just(Examine::Reopen),
        1 => any::<u64>().prop_map(Examine::BeginNew),
        1 => any::<u64>().prop_map(Examine::Reseed),
        1 => Just(Examine::VocabularyFailed),
        1 => Just(()).prop_map(|()| vocabulary_arrived(WORDS.as_bytes())),
        1 => "(\\PC|\n|=|\\|){0,60}".prop_map(|text| {
            let text = format!("planeward examination 1\nheld={FRONT}\nline=SAG\n{text}");
            let kept = course::examination::read(&text).expect("this version").kept;
            Examine::BringBack(Box::new(kept))
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn anything_in_any_order_keeps_the_examination_whole(
        with_body in any::<bool>(),
        steps in prop::collection::vec(
            prop_oneof![
                3 => any_examine().prop_map(Action::Examine),
                2 => prop::sample::select(moves()),
                1 => Just(Action::EndInteraction),
            ],
            1..30,
        ),
    ) {
        let mut state = if with_body { opened("") } else { State::new("") };
        let texts = Texts::english();
        for step in steps {
            let before = (address::fragment(&state), state.grey());
            let frozen = state.examination().is_frozen();
            let changes = act(&mut state, step);
            let examination = state.examination();
            if frozen && examination.is_frozen() && !changes.pose {
                prop_assert_eq!(before, (address::fragment(&state), state.grey()));
            }
            prop_assert!(!examination.is_frozen() || state.body().is_some());
            prop_assert!(!examination.is_frozen() || examination.kept().held.is_some());
            let mut numbers: Vec<u32> = examination.pictures().iter().map(|kept| kept.number).collect();
            prop_assert!(numbers.iter().all(|number| *number < examination.kept().next));
            numbers.sort_unstable();
            numbers.dedup();
            prop_assert_eq!(numbers.len(), examination.pictures().len());
            let text = course::examination::write(examination.kept());
            let back = course::examination::read(&text).expect("our own");
            prop_assert_eq!(back.damaged, 0);
        }
        let mut drawing = Drawing::new(palette().expect("all colours"));
        drawing.look_at(&state);
        let view = panels(&state, drawing.contents(), &texts).examine;
        prop_assert_eq!(view.cards.len(), state.examination().pictures().len());
        prop_assert_eq!(view.frozen, state.examination().is_frozen());
    }
}

#[test]
fn the_vocabulary_that_cannot_be_read_is_told_and_nothing_stops() {
    let mut state = opened("");
    examine(&mut state, vocabulary_arrived(b"no json"));
    assert_eq!(state.examination().notes(), [Note::NoVocabulary]);
    acquire(&mut state, "SAG AO", 0);
    judge_all(&mut state);
    assert_eq!(shown(&state).cards[0].all_right, None, "not checked");
    examine(&mut state, vocabulary_arrived(WORDS.as_bytes()));
    assert!(state.examination().notes().is_empty(), "here after all");
    judge_all(&mut state);
    assert_eq!(shown(&state).cards[0].all_right, Some(true));
}
