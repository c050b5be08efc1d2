//! Rounds of a teacher's set, without a screen: what is asked, told, kept, and given away. Bodies are baked before the
//! tests run (`cargo xtask bake`).
#![expect(clippy::expect_used, reason = "helpers of tests may stop the test")]

use std::path::Path;
use std::sync::{Arc, OnceLock};

use app::anatomy::Body;
use app::anatomy::json::Json;
use app::course::moment::Moment;
use app::course::results::{self, Outcome};
use app::course::set::{self, Acquire, Feedback, Kind, Question, Set, View, WantedView};
use app::examine::vocabulary_arrived;
use app::practice::Choice;
use app::practise::{PractiseAction, PractiseView, Stage};
use app::{Action, Examine, Movement, State, Texts, update, views};

fn body() -> Arc<Body> {
    static READ: OnceLock<Arc<Body>> = OnceLock::new();
    READ.get_or_init(|| read("adult_female")).clone()
}

fn read(id: &str) -> Arc<Body> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |end| {
        std::fs::read(folder.join(format!("{id}.{end}"))).expect("a baked body (cargo xtask bake)")
    };
    Arc::new(Body::read(&file("glb"), &file("json")).expect("a body"))
}

fn act(state: &mut State, action: PractiseAction) {
    let _ = update(state, Action::Practise(action));
}

const NOW_MS: u64 = 1_795_000_000_000;

fn sample() -> Set {
    let window = |id: &str| View {
        window: Some(id.to_owned()),
        ..View::default()
    };
    let mut side = Question::fixed("side", Kind::Side, window("transverse_aorta_mid"));
    side.points = 3;
    side.prompt = Some("What lies there?".to_owned());
    side.hint = Some("Find the notch.".to_owned());
    Set {
        title: "Two".to_owned(),
        pass_percent: Some(60),
        attempts: 2,
        seed: Some(7),
        questions: vec![
            Question::fixed(
                "plane",
                Kind::PlaneFromPicture,
                window("sagittal_right_ivc"),
            ),
            side,
        ],
        ..Set::default()
    }
}

fn started(set: &Set, kept: &str) -> State {
    let mut state = State::new("");
    let _ = update(&mut state, Action::SetReducedMotion(true));
    let _ = update(&mut state, Action::BodyArrived(body()));
    act(
        &mut state,
        PractiseAction::StartSet {
            set: Box::new(set.clone()),
            seed: 7,
            now_ms: NOW_MS,
            kept: kept.to_owned(),
        },
    );
    state
}

fn view(state: &State) -> PractiseView {
    views::panels(state, None, &Texts::english()).practise
}

fn stage(state: &State) -> Stage {
    state.practise().round().expect("a round").stage()
}

fn answer(state: &mut State, right: bool) {
    let item = state.practise().round().and_then(|round| round.item());
    let part = item.expect("an item").question().parts()[0].clone();
    let other = part.options.iter().copied().find(|one| *one != part.right);
    let choice: Choice = if right {
        part.right
    } else {
        other.expect("a wrong option")
    };
    act(state, PractiseAction::Choose(0, choice));
    act(
        state,
        PractiseAction::Submit {
            now_ms: NOW_MS + 5000,
            nonce: 1,
        },
    );
}

fn next(state: &mut State) {
    act(
        state,
        PractiseAction::Next {
            now_ms: NOW_MS + 9000,
        },
    );
}

fn events(state: &State) -> Vec<Json> {
    let set = state.practise().round().and_then(|round| round.set());
    set.expect("the round of a set")
        .events()
        .iter()
        .map(|text| Json::read(text.as_bytes()).expect("JSON"))
        .collect()
}

fn kind(event: &Json) -> &str {
    event.text("type").expect("a type")
}

#[test]
fn a_round_is_told_question_by_question_and_ends_with_a_result_file() {
    let set = sample();
    let mut state = started(&set, "");
    assert!(view(&state).of_a_set, "the page has nothing else");
    answer(&mut state, false);
    assert_eq!(stage(&state), Stage::Asking, "there is another try");
    assert!(view(&state).note.is_some(), "and that is said");
    answer(&mut state, true);
    assert_eq!(stage(&state), Stage::Told);
    next(&mut state);
    let open = view(&state).question.expect("the second question");
    assert_eq!(open.prompt, "What lies there?");
    assert!(
        open.hints
            .iter()
            .any(|hint| hint.contains("Find the notch.")),
        "{:?}",
        open.hints
    );
    answer(&mut state, false);
    answer(&mut state, false);
    assert_eq!(stage(&state), Stage::Told, "no more tries");
    next(&mut state);
    assert_eq!(stage(&state), Stage::Review);

    let told = events(&state);
    let kinds: Vec<&str> = told.iter().map(kind).collect();
    assert_eq!(
        kinds,
        [
            "started", "answered", "answered", "answered", "answered", "finished"
        ]
    );
    let first = told[1].get("item").expect("an item");
    assert_eq!(
        (first.text("id"), first.text("outcome")),
        (Ok("plane"), Ok("wrong"))
    );
    assert!(
        first
            .texts("options")
            .expect("options")
            .contains(&"sagittal".to_owned()),
        "{first:?}"
    );
    assert_eq!(told[2].number("percent"), Ok(25.0), "one mark of four");
    assert_eq!(told[5].get("passed"), Some(&Json::Bool(false)));

    let (_, text) = view(&state)
        .review
        .expect("a review")
        .result
        .expect("a file");
    let file = results::read(text.as_bytes()).expect("a result file");
    assert_eq!((file.label, file.set), (None, set::identity(&set)));
    assert_eq!(file.items[0].outcome, Outcome::Right);
    assert!(
        file.items[0].first_score.abs() < 1e-12,
        "statistics are of first tries"
    );
    assert_eq!(
        (file.items[0].answers.len(), file.items[0].latency_ms),
        (2, 5000)
    );
    assert!(
        state.practise().record().is_empty(),
        "the learner's own record is left alone"
    );
}

#[test]
fn a_round_goes_on_where_a_course_system_kept_it() {
    let set = sample();
    let mut state = started(&set, "");
    answer(&mut state, true);
    let kept = events(&state)[1].text("state").expect("a state").to_owned();
    assert!(kept.is_ascii() && kept.len() < 4096, "{kept}");
    let mut again = started(&set, &kept);
    assert_eq!(
        view(&again).question.expect("a question").prompt,
        "What lies there?"
    );
    answer(&mut again, true);
    next(&mut again);
    let told = events(&again);
    assert_eq!(
        told.last().map(|event| event.number("percent")),
        Some(Ok(100.0))
    );
    let done = told[1].text("state").expect("a state").to_owned();
    assert_eq!(
        stage(&started(&set, &done)),
        Stage::Review,
        "all is answered"
    );
    let mut other = set.clone();
    other.tolerance_deg = 15.0;
    assert_eq!(
        events(&started(&other, &kept)).len(),
        1,
        "another set starts anew"
    );
}

#[test]
fn a_label_is_in_the_file_only_where_the_set_asks_for_it() {
    for (asked, wanted) in [(None, None), (Some("Bench number"), Some("4 b"))] {
        let set = Set {
            label: asked.map(str::to_owned),
            questions: sample().questions[..1].to_vec(),
            ..sample()
        };
        let mut state = started(&set, "");
        answer(&mut state, true);
        next(&mut state);
        act(&mut state, PractiseAction::Label(" 4 b\n".to_owned()));
        let review = view(&state).review.expect("a review");
        assert_eq!(review.label.as_deref(), asked);
        let (_, text) = review.result.expect("a file");
        let file = results::read(text.as_bytes()).expect("a result file");
        assert_eq!(file.label.as_deref(), wanted);
    }
}

#[test]
fn told_at_the_end_means_no_word_before() {
    let set = Set {
        feedback: Feedback::AtEnd,
        hints: false,
        ..sample()
    };
    let mut state = started(&set, "");
    act(&mut state, PractiseAction::Hint);
    assert!(
        !view(&state).question.expect("a question").more_hints,
        "no hints"
    );
    answer(&mut state, false);
    assert_eq!(stage(&state), Stage::Asking, "on to the next one");
    answer(&mut state, true);
    assert_eq!(stage(&state), Stage::Review);
    act(&mut state, PractiseAction::Stop);
    assert_eq!(stage(&state), Stage::Review, "the page has nothing else");
}

#[test]
fn what_cannot_be_asked_is_left_out() {
    let mut set = sample();
    set.questions.push(Question::fixed(
        "lost",
        Kind::Side,
        View {
            window: Some("nowhere".to_owned()),
            ..View::default()
        },
    ));
    let state = started(&set, "");
    let round = state.practise().round().expect("a round");
    assert_eq!(round.items().len(), 2);
    assert_eq!(round.set().expect("a set").left().len(), 1);
}

#[test]
fn questions_about_another_body_wait_for_it_and_turn_to_it() {
    let mut set = sample();
    let mut head = Question::fixed(
        "head",
        Kind::PlaneFromPicture,
        View {
            body: Some("infant_head".to_owned()),
            window: Some("head_midsagittal".to_owned()),
            ..View::default()
        },
    );
    head.points = 2;
    set.questions.insert(1, head);
    set.attempts = 1;
    let mut state = started(&set, "");
    assert!(
        state.practise().round().is_none(),
        "the round waits for the second body"
    );
    assert_eq!(state.body_id(), "infant_head", "which is asked for");
    assert!(view(&state).note.is_some(), "and that is said");
    assert!(
        view(&state).home.is_none(),
        "the page of a set offers no rounds of its own"
    );
    let _ = update(&mut state, Action::BodyArrived(read("infant_head")));
    let round = state.practise().round().expect("the round begins");
    assert_eq!(round.items().len(), 3, "nothing is left out");
    assert!(round.set().expect("a set").left().is_empty(), "nothing");
    let on = |state: &State| {
        let shown = state.body().expect("a body").id().to_owned();
        assert_eq!(shown, state.body_id(), "name and meshes agree");
        shown
    };
    assert_eq!(on(&state), "adult_female");
    answer(&mut state, true);
    next(&mut state);
    assert_eq!(on(&state), "infant_head", "its question is about it");
    answer(&mut state, true);
    assert_eq!(stage(&state), Stage::Told, "and can be answered");
    next(&mut state);
    assert_eq!(on(&state), "adult_female", "and back");
    answer(&mut state, true);
    next(&mut state);
    let (_, text) = view(&state)
        .review
        .expect("a review")
        .result
        .expect("a file");
    let file = results::read(text.as_bytes()).expect("a result file");
    assert!((file.percent() - 100.0).abs() < 1e-9, "{}", file.percent());
}

/// Words of annotations; the shipped file has the same shape.
const WORDS: &str = r#"{
    "version": 1, "language": "en", "least_area_mm2": 4.0, "least_length_mm": 5.0,
    "plane": [
        {"mark": "SAG", "also": ["SAGITTAL"], "plane": "sagittal"},
        {"mark": "TRV", "also": ["TRANS"], "plane": "transverse"}
    ],
    "segment": [{"mark": "PROX", "segments": ["proximal"]}],
    "structure": [{"mark": "AO", "also": ["AORTA"], "structures": ["aorta"]}],
    "manoeuvre": [], "ambiguous": []
}"#;

fn acquire(state: &mut State, rotation: f64, line: &str) {
    let _ = update(state, Action::SetMovement(Movement::Rotate, rotation));
    let _ = update(state, Action::EndInteraction);
    let _ = update(state, Action::Examine(Examine::Freeze));
    let _ = update(state, Action::Examine(Examine::Write(line.to_owned())));
    let at = Moment {
        unix_ms: 0,
        offset_min: 0,
    };
    let _ = update(state, Action::Examine(Examine::Acquire(at)));
    while state.unjudged().is_some() {
        let _ = update(state, Action::Examine(Examine::Judge));
    }
    let _ = update(state, Action::Examine(Examine::Unfreeze));
}

#[test]
fn pictures_are_acquired_at_the_end_and_marked_against_the_list() {
    let mut set = sample();
    set.questions.truncate(1);
    set.acquire = Some(Acquire {
        list: Some("aorta".to_owned()),
        ..Acquire::default()
    });
    let mut state = State::new("");
    let _ = update(&mut state, Action::SetReducedMotion(true));
    let _ = update(&mut state, Action::BodyArrived(body()));
    let _ = update(
        &mut state,
        Action::Examine(vocabulary_arrived(WORDS.as_bytes())),
    );
    let start = |state: &mut State, kept: &str| {
        act(
            state,
            PractiseAction::StartSet {
                set: Box::new(set.clone()),
                seed: 7,
                now_ms: NOW_MS,
                kept: kept.to_owned(),
            },
        );
    };
    start(&mut state, "");
    let _ = update(&mut state, Action::Examine(Examine::Freeze));
    assert!(
        !state.examination().is_frozen(),
        "a question is not frozen: that would hold its probe"
    );
    answer(&mut state, true);
    assert!(view(&state).question.expect("told").pictures_follow);
    next(&mut state);
    assert_eq!(stage(&state), Stage::Acquiring);
    let task = view(&state).pictures.expect("the task");
    assert_eq!(task.finish, "Finish with 7 views missing");
    let veil = state.veil();
    assert!(veil.moves && veil.body && veil.picture, "the learner scans");
    assert!(!veil.names, "without names on the picture");
    let pose = *state.pose();
    let _ = update(
        &mut state,
        Action::PickWindow("transverse_aorta_mid".to_owned()),
    );
    assert_eq!(*state.pose(), pose, "no window puts the probe there");

    acquire(&mut state, 0.0, "SAG AO PROX");
    let task = view(&state).pictures.expect("the task");
    assert_eq!(task.finish, "Finish with 6 views missing");
    acquire(&mut state, 270.0, "");
    let kept = events(&state);
    let last = kept.last().expect("an event");
    assert_eq!(kind(last), "state", "the course system keeps what is there");
    let kept = last.text("state").expect("a state").to_owned();
    act(
        &mut state,
        PractiseAction::PicturesDone {
            now_ms: NOW_MS + 60_000,
        },
    );
    assert_eq!(stage(&state), Stage::Review);
    let review = view(&state).review.expect("a review");
    let keys: Vec<&str> = review.rows.iter().map(|row| row.key).collect();
    assert_eq!(
        keys,
        [
            "right", "right", "wrong", "wrong", "partly", "wrong", "wrong", "wrong"
        ],
        "{:?}",
        review.rows
    );
    assert!(
        review.rows[1]
            .title
            .contains("Proximal abdominal aorta, sagittal")
    );
    let (_, text) = review.result.expect("a file");
    let file = results::read(text.as_bytes()).expect("a result file");
    let ids: Vec<&str> = file.items.iter().map(|item| &*item.id).collect();
    assert_eq!(ids[..3], ["plane", "acquire_1", "acquire_2"]);
    assert_eq!(file.items[1].answers, ["SAG AO PROX"]);
    assert_eq!(file.items[1].correct, "aorta/sagittal/proximal");
    assert_eq!(file.items[4].outcome, Outcome::Partly, "not annotated");
    assert_eq!(file.items[2].outcome, Outcome::Unanswered);
    assert!((file.percent() - 100.0 * 2.5 / 8.0).abs() < 1e-9);
    let told = events(&state);
    let answered = told.iter().filter(|one| kind(one) == "answered").count();
    assert_eq!(answered, 8, "the question and seven views");
    let end = told.last().expect("an end");
    assert_eq!(kind(end), "finished");
    assert!((end.number("percent").expect("a number") - 31.25).abs() < 1e-9);

    // What an earlier visit earned stays earned.
    start(&mut state, &kept);
    assert_eq!(stage(&state), Stage::Acquiring, "the question is answered");
    let task = view(&state).pictures.expect("the task");
    assert_eq!(task.finish, "Finish with 5 views missing");
    acquire(&mut state, 270.0, "TRV AO PROX");
    act(
        &mut state,
        PractiseAction::PicturesDone {
            now_ms: NOW_MS + 90_000,
        },
    );
    let review = view(&state).review.expect("a review");
    assert_eq!(review.rows[1].key, "right", "from the earlier visit");
    assert_eq!(review.rows[4].key, "right", "better than before");
}

#[test]
fn a_list_that_the_body_lacks_is_left_out_and_said() {
    let mut set = sample();
    set.acquire = Some(Acquire {
        views: vec![WantedView {
            subject: "third_kidney".to_owned(),
            plane: None,
            axis: None,
            segment: None,
            divides_into: Vec::new(),
            more: Vec::new(),
        }],
        ..Acquire::default()
    });
    let state = started(&set, "");
    let round = state.practise().round().expect("a round");
    let left = round.set().expect("a set").left();
    assert!(left[0].contains("third_kidney"), "{left:?}");
}
