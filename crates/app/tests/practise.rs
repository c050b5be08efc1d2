//! Rounds of practice on the baked adult woman, without a screen. Bodies are baked before the tests run (`cargo xtask
//! bake`).
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

use std::path::Path;
use std::sync::{Arc, OnceLock};

use app::anatomy::Body;
use app::geometry::{MarkSide, PlaneAngles, SideName};
use app::practice::{Choice, Kind, PlaneWord};
use app::practise::{PractiseAction, PractiseView, Purpose, Screen, Source, Stage, Still};
use app::views::Panels;
use app::{Action, State, Texts, update, views};

fn body() -> Arc<Body> {
    static READ: OnceLock<Arc<Body>> = OnceLock::new();
    READ.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
        let file = |end| {
            std::fs::read(folder.join(format!("adult_female.{end}")))
                .expect("a baked body (cargo xtask bake)")
        };
        Arc::new(Body::read(&file("glb"), &file("json")).expect("a body"))
    })
    .clone()
}

fn opened(fragment: &str) -> State {
    let mut state = State::new(fragment);
    act(&mut state, Action::SetReducedMotion(true));
    act(&mut state, Action::BodyArrived(body()));
    state
}

fn act(state: &mut State, action: Action) {
    let _ = update(state, action);
}

fn practise(state: &mut State, action: PractiseAction) {
    act(state, Action::Practise(action));
}

fn start(state: &mut State, seed: u64, purpose: Purpose) {
    practise(state, PractiseAction::Open);
    let now_ms = 1_795_000_000_000;
    practise(
        state,
        PractiseAction::Start {
            seed,
            now_ms,
            purpose,
        },
    );
}

fn panels(state: &State) -> Panels {
    views::panels(state, None, &Texts::english())
}

fn view(state: &State) -> PractiseView {
    panels(state).practise
}

fn stage(state: &State) -> Stage {
    state.practise().round().expect("a round").stage()
}

/// Answers what is open; `right` or with the first option that is not.
fn answer(state: &mut State, number: u64, right: bool) {
    if stage(state) == Stage::Worked {
        practise(state, PractiseAction::Understood);
    }
    let item = state
        .practise()
        .round()
        .and_then(|round| round.item())
        .expect("an item");
    let parts: Vec<(Choice, Vec<Choice>)> = item
        .question()
        .parts()
        .iter()
        .map(|part| (part.right, part.options.clone()))
        .collect();
    for (place, (best, options)) in parts.into_iter().enumerate() {
        let other = options.into_iter().find(|one| *one != best);
        let choice = if right { best } else { other.unwrap_or(best) };
        practise(state, PractiseAction::Choose(place, choice));
    }
    let (now_ms, nonce) = (1_795_000_000_001 + number, 1);
    practise(state, PractiseAction::Submit { now_ms, nonce });
}

fn next(state: &mut State, number: u64) {
    let now_ms = 1_795_000_100_000 + number;
    practise(state, PractiseAction::Next { now_ms });
}

#[test]
fn a_round_goes_from_question_to_question_to_its_review() {
    for (seed, right) in [(1, true), (2, false)] {
        let mut state = opened("");
        start(&mut state, seed, Purpose::Practice);
        let count = state.practise().round().expect("a round").items().len();
        assert_eq!(count, 10, "ten questions");
        for number in 0..10 {
            let open = view(&state).question.expect("a question");
            assert!(
                !open.prompt.is_empty() && !open.words.is_empty(),
                "{open:?}"
            );
            answer(&mut state, number, right);
            assert_eq!(stage(&state), Stage::Told, "seed {seed}, {number}");
            let told = view(&state).question.and_then(|one| one.told);
            let told = told.expect("what came out");
            assert!(!told.reasons.is_empty(), "{told:?}");
            next(&mut state, number);
        }
        let review = view(&state).review.expect("a review");
        assert_eq!(review.rows.len(), 10);
        assert_eq!(state.practise().record().len(), 10);
        for row in review.rows {
            // A placement is answered from where the probe stood at first, which is never right.
            let place = row.title.contains("placing");
            assert_eq!(row.key == "right", right && !place, "{row:?}");
        }
    }
}

/// Off until it is wanted; shown while the round runs and once in its review.
#[test]
fn a_round_shows_its_time_only_where_that_is_wanted() {
    for wanted in [false, true] {
        let mut state = opened("");
        practise(&mut state, PractiseAction::Open);
        assert!(!view(&state).home.expect("the first page").timed);
        practise(&mut state, PractiseAction::Timed(wanted));
        assert_eq!(view(&state).home.expect("the first page").timed, wanted);
        start(&mut state, 1, Purpose::Practice);
        let clock = wanted.then_some(1_795_000_000_000);
        assert_eq!(view(&state).clock_ms, clock);
        for number in 0..10 {
            answer(&mut state, number, true);
            next(&mut state, number);
        }
        assert_eq!(view(&state).clock_ms, None, "it stands");
        let total = view(&state).review.expect("a review").total;
        // The last step comes 100.009 seconds after the first.
        assert_eq!(total.ends_with("Time: 1:40."), wanted, "{total}");
        // A check is the same for everybody.
        practise(&mut state, PractiseAction::Stop);
        start(&mut state, 1, Purpose::Check);
        assert_eq!(view(&state).clock_ms, None);
    }
}

/// A question that has the probe is enough: what a turn will do is not asked, too.
#[test]
fn nothing_is_predicted_while_a_question_has_the_probe() {
    let mut state = opened("");
    act(&mut state, Action::SetPredicting(true));
    start_only(&mut state, 3, Kind::PlaceProbe);
    if stage(&state) == Stage::Worked {
        practise(&mut state, PractiseAction::Understood);
    }
    let before = *state.pose();
    act(&mut state, Action::QuarterTurn(app::Way::Forward));
    assert!(*state.pose() != before, "it turns at once");
    assert!(panels(&state).predict.question.is_empty());
    practise(&mut state, PractiseAction::Stop);
    practise(&mut state, PractiseAction::Close);
    act(&mut state, Action::QuarterTurn(app::Way::Forward));
    assert!(!panels(&state).predict.question.is_empty(), "the scan asks");
}

#[test]
fn nothing_that_is_asked_is_told_while_it_is_open() {
    let mut state = opened("");
    let everything = panels(&state);
    assert!(
        !everything.plane.name.is_empty(),
        "the scan names its plane"
    );
    for seed in 0..12 {
        start(&mut state, seed, Purpose::Check);
        let all = panels(&state);
        assert!(
            all.plane.name.is_empty() && all.words.text().trim().is_empty(),
            "each question has its own words: {:?}",
            all.words
        );
        let sheet = view(&state).sheet.expect("the questions on one page");
        for (number, shown) in sheet.questions.iter().enumerate() {
            let question = items(&state)[number].question().clone();
            let still = state.still(Still::Question(number)).expect("its views");
            let panels = panels(&still);
            assert!(
                panels.plane.name.is_empty() && panels.plane.reason.is_empty(),
                "no plane"
            );
            // A name of a structure says nothing about the plane.
            let words = shown.words.to_lowercase().replace("transverse colon", "");
            if matches!(question.kind, Kind::PlaneFromProbe | Kind::PlaneFromPicture) {
                for plane in ["sagittal", "coronal", "transverse", "oblique"] {
                    assert!(!words.contains(plane), "{plane} in {words}");
                }
            }
            let figure = shown.figure.as_ref().expect("a figure");
            let display = question.display();
            assert_eq!(
                (figure.body, figure.picture, figure.letters),
                (display.body, display.picture, display.letters),
                "{:?}",
                question.kind
            );
            assert!(shown.told.is_none() && shown.hints.is_empty() && !shown.more_hints);
        }
        finish(&mut state);
        assert_eq!(
            stage(&state),
            Stage::Sheet,
            "what is left open is told first"
        );
        finish(&mut state);
        assert_eq!(stage(&state), Stage::Review, "told at the end");
        practise(&mut state, PractiseAction::Stop);
    }
}

fn items(state: &State) -> &[app::practise::Item] {
    state.practise().round().expect("a round").items()
}

/// Answers a question of a check, rightly or with the first option that is not right.
fn answer_of(state: &mut State, number: usize, right: bool) {
    let parts = items(state)[number].question().parts().to_vec();
    for (part, one) in parts.iter().enumerate() {
        let other = one.options.iter().find(|option| **option != one.right);
        let choice = if right {
            one.right
        } else {
            *other.expect("two options")
        };
        practise(state, PractiseAction::ChooseOf(number, part, choice));
    }
}

fn finish(state: &mut State) {
    let (now_ms, nonce) = (1_795_000_000_000, 9);
    practise(state, PractiseAction::Finish { now_ms, nonce });
}

/// The order of the answers does not matter, and an answer can be changed until all are marked.
#[test]
fn a_check_is_answered_in_any_order() {
    let card = |order: [usize; 5], change: bool| {
        let mut state = opened("#v1.body=adult_female&screen=practise&check=77");
        for number in order {
            if change {
                answer_of(&mut state, number, number % 2 == 1);
            }
            answer_of(&mut state, number, number % 2 == 0);
            assert!(
                items(&state).iter().all(|item| item.marked().is_none()),
                "none is marked yet"
            );
        }
        finish(&mut state);
        assert_eq!(stage(&state), Stage::Review);
        view(&state).review.and_then(|review| review.card)
    };
    let forth = card([0, 1, 2, 3, 4], false).expect("a card");
    assert_eq!(Some(&forth), card([4, 2, 0, 3, 1], false).as_ref());
    assert_eq!(Some(&forth), card([3, 1, 4, 0, 2], true).as_ref());
    let verdicts: Vec<bool> = forth
        .questions
        .iter()
        .map(|row| row[1] == "Right.")
        .collect();
    assert_eq!(verdicts, [true, false, true, false, true], "{forth:?}");
}

#[test]
fn what_a_check_leaves_open_is_told_and_has_no_marks() {
    let mut state = opened("");
    start(&mut state, 77, Purpose::Check);
    for number in [0, 2, 3] {
        answer_of(&mut state, number, true);
    }
    finish(&mut state);
    assert_eq!(stage(&state), Stage::Sheet);
    let note = view(&state).note.expect("what is open");
    assert!(note.contains("2, 5"), "{note}");
    assert!(
        state.practise().record().is_empty(),
        "nothing is recorded yet"
    );
    // An answer to one of them, and the other is told anew.
    answer_of(&mut state, 1, true);
    finish(&mut state);
    let note = view(&state).note.expect("what is open");
    assert!(note.contains("Question 5"), "{note}");
    finish(&mut state);
    assert_eq!(stage(&state), Stage::Review);
    let total = view(&state).review.expect("a review").total;
    assert_eq!(total, "4 of 5 right, 80 % of all marks.");
}

#[test]
fn the_probe_stays_where_a_question_has_it() {
    let mut state = opened("");
    start(&mut state, 5, Purpose::Practice);
    practise(&mut state, PractiseAction::Understood);
    let before = *state.pose();
    for action in [
        Action::ReverseNotch,
        Action::PickWindow("right_kidney_transverse".to_owned()),
        Action::SetMark(MarkSide::Right),
        Action::Undo,
        Action::Reset,
        Action::ChooseBody("infant_head".to_owned()),
    ] {
        act(&mut state, action);
    }
    assert_eq!(*state.pose(), before);
    assert_eq!(state.body_id(), "adult_female");
}

#[test]
fn leaving_brings_the_scan_back_and_the_address_keeps_it() {
    let mut state = opened("");
    act(
        &mut state,
        Action::PickWindow("right_kidney_transverse".to_owned()),
    );
    let (pose, address) = (*state.pose(), app::address::fragment(&state));
    start(&mut state, 3, Purpose::Practice);
    assert_ne!(*state.pose(), pose, "the question has the probe");
    let during = app::address::fragment(&state);
    assert_eq!(during, format!("{address}&screen=practise"));
    practise(&mut state, PractiseAction::Close);
    assert_eq!(*state.pose(), pose);
    assert_eq!(app::address::fragment(&state), address);
    let reopened = opened(&during);
    assert_eq!(reopened.practise().screen(), Screen::Practise);
    assert_eq!(app::address::fragment(&reopened), during, "a reload stays");
}

#[test]
fn one_seed_is_one_check_and_a_link_carries_it() {
    let asked = |seed: u64| {
        let mut state = opened("");
        start(&mut state, seed, Purpose::Check);
        let round = state.practise().round().expect("a round");
        round
            .items()
            .iter()
            .map(|item| item.question().clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(asked(77), asked(77));
    assert_ne!(asked(77), asked(78));
    let linked = opened("#v1.body=adult_female&screen=practise&check=77");
    assert_eq!(linked.practise().check_seed(), Some(77));
    assert_eq!(stage(&linked), Stage::Sheet, "it begins by itself");
    let of_link: Vec<_> = items(&linked)
        .iter()
        .map(|item| item.question().clone())
        .collect();
    assert_eq!(of_link, asked(77));
    let mut begun = opened("");
    start(&mut begun, 78, Purpose::Check);
    let address = app::address::fragment(&begun);
    assert!(address.ends_with("&screen=practise&check=78"), "{address}");
    assert_eq!(
        stage(&opened(&address)),
        Stage::Sheet,
        "the address is the link"
    );
    let bad = opened("#v1.body=adult_female&screen=practise&check=x");
    assert_eq!(bad.practise().check_seed(), None);
}

#[test]
fn a_check_gives_a_card_with_its_day() {
    let mut state = opened("");
    start(&mut state, 77, Purpose::Check);
    for number in 0..5 {
        answer_of(&mut state, number, true);
    }
    finish(&mut state);
    let review = view(&state).review.expect("a review");
    let card = review.card.expect("a card");
    // 1 795 000 000 s after 1970 is 18 November 2026 (date -u -d @1795000000).
    let facts = [
        ("Day", "2026-11-18"),
        ("Set", "readiness"),
        ("Seed", "77"),
        ("Result", "5 of 5 right, 100 % of all marks."),
    ];
    assert_eq!(
        card.facts,
        facts.map(|(name, value)| (name, value.to_owned()))
    );
    assert_eq!(card.questions.len(), 5);
    assert_eq!(review.file, "planeward-check-77-2026-11-18.txt");
    for (name, value) in facts {
        assert!(
            review.text.contains(&format!("{name}: {value}")),
            "{}",
            review.text
        );
    }
    assert_eq!(
        state.practise().record().len(),
        6,
        "five answers and the check"
    );
}

#[test]
fn records_are_merged_and_damage_is_told() {
    let mut state = opened("");
    practise(&mut state, PractiseAction::Open);
    let good = r#"{"at":1,"n":1,"skill":"side.transverse.front.general","level":"easy","seed":"1","body":"b","first":true,"score":1,"hints":0,"ways":4}"#;
    let text = |lines: &str| format!("{{\"planeward_record\":1,\"events\":[\n{lines}\n]}}\n");
    let came = |state: &mut State, text: String, source| {
        practise(state, PractiseAction::RecordCame(Some(text), source));
        (state.practise().record().len(), view(state).note)
    };
    let (count, note) = came(&mut state, text(good), Source::Storage);
    assert_eq!((count, note), (1, None), "what was stored says nothing");
    assert_eq!(
        state.practise().revision(),
        0,
        "and need not be stored again"
    );
    let more = format!("{good},\n{}", good.replace("\"n\":1", "\"n\":2"));
    let (count, note) = came(&mut state, text(&more), Source::File);
    assert_eq!(count, 2);
    assert!(
        note.is_some_and(|note| note.starts_with("1 new answer")),
        "one is new"
    );
    assert_eq!(state.practise().revision(), 1, "a file changes the record");
    let (count, note) = came(&mut state, text("rubbish"), Source::Storage);
    assert_eq!(count, 2, "nothing is lost");
    assert!(
        note.is_some_and(|note| note.contains("damaged")),
        "and it is told"
    );
    assert!(
        state.practise().damaged().is_some(),
        "the text is set aside"
    );
    let (count, note) = came(&mut state, "[]".to_owned(), Source::File);
    assert_eq!(count, 2);
    assert!(
        note.is_some_and(|note| note.contains("not loaded")),
        "a foreign file"
    );
    practise(&mut state, PractiseAction::Erase);
    assert!(state.practise().record().is_empty(), "erased at once");
}

#[test]
fn an_answer_needs_every_part_and_a_round_needs_a_body() {
    let mut state = State::new("");
    start(&mut state, 1, Purpose::Practice);
    assert!(state.practise().round().is_none(), "no body, no round");
    assert!(view(&state).note.is_some(), "and it is said");
    let mut state = opened("");
    start(&mut state, 1, Purpose::Practice);
    practise(&mut state, PractiseAction::Understood);
    practise(
        &mut state,
        PractiseAction::Submit {
            now_ms: 1,
            nonce: 1,
        },
    );
    assert_eq!(stage(&state), Stage::Asking, "nothing was chosen");
    assert!(view(&state).note.is_some(), "and it is said");
    assert!(state.practise().record().is_empty(), "nothing is recorded");
}

/// A round about one kind alone; a worked example is passed over.
fn start_only(state: &mut State, seed: u64, kind: Kind) {
    practise(state, PractiseAction::Open);
    practise(state, PractiseAction::Only(Some(kind)));
    start(state, seed, Purpose::Practice);
    practise(state, PractiseAction::Understood);
}

#[test]
fn a_placed_probe_is_marked_part_by_part_and_compared() {
    let mut state = opened("");
    start_only(&mut state, 4, Kind::PlaceProbe);
    // The learner moves the probe by typed numbers, then by a drag's end.
    act(&mut state, Action::SetMovement(app::Movement::Rotate, 33.0));
    act(&mut state, Action::SetMovement(app::Movement::Tilt, 12.0));
    act(&mut state, Action::EndInteraction);
    let placed = *state.pose();
    assert!(
        (placed.rotation().to_deg() - 33.0).abs() < 1e-6,
        "the probe moves"
    );
    answer(&mut state, 1, true);
    assert_eq!(stage(&state), Stage::Told);
    let told = view(&state)
        .question
        .and_then(|one| one.told)
        .expect("what came out");
    let names: Vec<&str> = told.parts.iter().map(|part| part.name).collect();
    let wanted = [
        "Plane",
        "Notch side",
        "Target",
        "Field of view",
        "Half of the body",
        "Depth",
    ];
    assert_eq!(names, wanted);
    let sum: f64 = told
        .parts
        .iter()
        .filter_map(|part| part.marks.split(' ').next()?.parse::<f64>().ok())
        .sum();
    let marked = items(&state)[0].marked().expect("marks").fraction * 100.0;
    assert!(
        (sum - marked).abs() <= 3.0,
        "the parts add up: {sum} for {marked}"
    );
    assert!(told.parts.iter().all(|part| !part.words.is_empty()));
    let compare = view(&state).compare.expect("two views");
    assert_eq!(
        (compare.given, compare.right),
        ("Your pose", "The right pose")
    );
    let given = state.still(Still::Given).expect("the learner's view");
    assert_eq!(
        *given.pose(),
        placed,
        "the learner's own pose stays on show"
    );
    let right = items(&state)[0].question().view.placement.pose;
    assert_eq!(*state.pose(), right, "less motion: there at once");
    practise(&mut state, PractiseAction::ShowMine(true));
    assert_eq!(*state.pose(), placed);
    practise(&mut state, PractiseAction::ShowMine(false));
    assert_eq!(*state.pose(), right);
}

/// With motion the probe is on its way from the learner's pose to the right one, and arrives.
#[test]
fn the_probe_goes_from_the_learners_pose_to_the_right_one() {
    let mut state = opened("");
    act(&mut state, Action::SetReducedMotion(false));
    start_only(&mut state, 4, Kind::PlaceProbe);
    let placed = *state.pose();
    answer(&mut state, 1, true);
    let right = items(&state)[0].question().view.placement.pose;
    assert_eq!((*state.pose(), *state.settled_pose()), (placed, right));
    for _ in 0..200 {
        act(&mut state, Action::Tick(50.0));
    }
    assert!(!state.is_moving(), "it arrives");
    assert_eq!(*state.pose(), right);
}

/// A wrong name is shown as the probe that would deserve it, at the same place.
#[test]
fn a_wrong_name_is_shown_beside_the_right_view() {
    let mut compared = 0;
    for kind in [Kind::NotchFromPicture, Kind::Side, Kind::PlaneFromProbe] {
        for seed in 0..6 {
            let mut state = opened("");
            start_only(&mut state, seed, kind);
            let question = items(&state)[0].question().clone();
            let part = &question.parts()[0];
            for option in part.options.clone() {
                let mut state = state.clone();
                practise(&mut state, PractiseAction::Choose(0, option));
                let (now_ms, nonce) = (1_795_000_000_001, 1);
                practise(&mut state, PractiseAction::Submit { now_ms, nonce });
                let Some(given) = state.still(Still::Given) else {
                    continue;
                };
                assert_ne!(option, part.right, "a right name needs no other view");
                assert!(view(&state).compare.is_some());
                assert_eq!(
                    given.pose().contact(),
                    question.view.placement.pose.contact()
                );
                let beams = given
                    .pose()
                    .axes()
                    .depth
                    .dot(question.view.placement.pose.axes().depth);
                assert!(beams > 0.999, "{beams}: turned about the beam");
                match (kind, option) {
                    (Kind::NotchFromPicture, Choice::Side(side)) => {
                        let notch = SideName::of(given.pose().axes().lateral);
                        assert_eq!(notch.dominant(), side, "{option:?}");
                    }
                    (Kind::PlaneFromProbe, Choice::Plane(PlaneWord::Named(plane))) => {
                        let angles = PlaneAngles::of(given.plane().normal());
                        assert_eq!(angles.nearest()[0], plane, "{option:?}");
                    }
                    _ => {}
                }
                compared += 1;
            }
        }
    }
    assert!(compared > 20, "{compared} answers were compared");
}

#[test]
fn reviews_stop_at_the_examination() {
    let mut state = opened("");
    start(&mut state, 1, Purpose::Practice);
    for number in 0..10 {
        answer(&mut state, number, true);
        next(&mut state, number);
    }
    practise(&mut state, PractiseAction::Stop);
    let exam = |state: &State| view(state).home.expect("between rounds").exam;
    assert_eq!(exam(&state).date, "");
    let set = |state: &mut State, date: &str, nonce| {
        let now_ms = 1_795_000_200_000;
        let date = date.to_owned();
        practise(
            state,
            PractiseAction::SetExam {
                date,
                now_ms,
                nonce,
            },
        );
    };
    // The answers are of 18 November 2026; their reviews come a day later.
    set(&mut state, "2026-11-30", 1);
    let told = exam(&state);
    assert_eq!(told.date, "2026-11-30");
    assert!(
        told.words.starts_with("Before 2026-11-30, "),
        "{}",
        told.words
    );
    assert_eq!(told.rows[0].0, "2026-11-19", "{:?}", told.rows);
    let events = state.practise().record().len();
    for bad in ["2026-11-30", "0002-11-30", "2026-13-01", "soon"] {
        set(&mut state, bad, 2);
    }
    assert_eq!(
        state.practise().record().len(),
        events,
        "nothing new is recorded"
    );
    assert_eq!(exam(&state).date, "2026-11-30");
    set(&mut state, "2026-11-18", 3);
    assert!(
        view(&state).note.is_some_and(|note| note.contains("past")),
        "a past day is told"
    );
    assert!(exam(&state).rows.is_empty(), "and binds nothing");
    set(&mut state, "", 4);
    assert_eq!(exam(&state).date, "", "taken back");
    set(&mut state, "2026-12-24", 5);
    assert_eq!(exam(&state).date, "2026-12-24");
    practise(&mut state, PractiseAction::Erase);
    assert_eq!(exam(&state).date, "", "erased with the record");
}

/// Both pictures of a movement stand on the page while it is asked about, in words too.
#[test]
fn a_movement_shows_both_its_pictures() {
    let mut state = opened("");
    start_only(&mut state, 3, Kind::NextMove);
    let question = items(&state)[0].question().clone();
    let after = question
        .after
        .as_ref()
        .expect("the view after")
        .placement
        .pose;
    let check = |state: &State| {
        let compare = view(state).compare.expect("two views");
        assert_eq!((compare.given, compare.right), ("Before", "After"));
        assert_eq!(
            compare.figure.body,
            question.display().body || stage(state) == Stage::Told
        );
        let before = state.still(Still::Given).expect("the view before");
        assert_eq!(*before.pose(), question.view.placement.pose);
        assert_eq!(*state.pose(), after);
    };
    check(&state);
    let words = view(&state).question.expect("a question").words;
    let (first, second) = words.split_once("After: ").expect("both in words");
    assert!(
        first.starts_with("Before: ") && !second.is_empty(),
        "{words}"
    );
    answer(&mut state, 1, false);
    check(&state);
}
