//! Every name answers for itself: rule, figures, source, and what is lit in the body view.

use crate::support::{act, opened};
use app::drawing::{Drawing, palette};
use app::lit::{Lit, lit};
use app::scene::{LineKind, Viewport, scene};
use app::views::{Panels, WhyView, panels};
use app::why::{Ask, Tryout, Verdict};
use app::{Action, Movement, State, Texts};
use geometry::{BodyPlane, ImageSide, MarkSide};

fn shown(state: &State) -> Panels {
    let mut drawing = Drawing::new(palette().expect("all colours"));
    drawing.look_at(state);
    panels(state, drawing.contents(), &Texts::english())
}

fn answer(state: &mut State, ask: Ask) -> WhyView {
    act(state, Action::AskWhy(ask));
    shown(state).why.expect("an answer")
}

struct Said {
    link: &'static str,
    ask: Ask,
    title: &'static str,
    parts: &'static [&'static str],
}

fn check_answer(said: &Said) {
    let mut state = opened(&format!("#v1.{}", said.link));
    let why = answer(&mut state, said.ask.clone());
    assert_eq!(why.title, said.title, "{}", said.link);
    for part in said.parts {
        let text = why.text();
        assert!(text.contains(part), "{part:?} is not in {text:?}");
    }
    assert!(!why.source.is_empty(), "an answer names its source");
}

/// The figures are worked out by hand from the poses: turned by the angle the link says, on a skin facing straight
/// front.
#[test]
fn answers_hold_the_rule_the_figures_and_the_source() {
    const FRONT: &str = "at=0,-115,60&out=-90,0";
    for said in [
        Said {
            link: "at=0,-115,60&out=-90,0&turn=0",
            ask: Ask::Plane,
            title: "Why mid-sagittal?",
            parts: &[
                "no more than 20°",
                "0° from sagittal",
                "within 5 mm",
                "no source",
            ],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=270&tol=10",
            ask: Ask::Plane,
            title: "Why transverse?",
            parts: &["no more than 10°", "0° from transverse"],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=30",
            ask: Ask::Plane,
            title: "Why longitudinal oblique?",
            parts: &[
                "30° from sagittal, 60° from transverse",
                "head–foot axis is 30° from the plane",
            ],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=300",
            ask: Ask::Plane,
            title: "Why transverse oblique?",
            parts: &["head–foot axis is 60° from the plane"],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=0",
            ask: Ask::Side(ImageSide::Left),
            title: "Why is image left the head end (cephalic)?",
            parts: &[
                "mark is at image left",
                "The notch points to the head end",
                "0° from the direction of the head end",
                "within 70°",
            ],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=0",
            ask: Ask::Side(ImageSide::Right),
            title: "Why is image right the foot end (caudal)?",
            parts: &["away from the notch"],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=0&apex=bottom",
            ask: Ask::Side(ImageSide::Bottom),
            title: "Why is image bottom the front (anterior)?",
            parts: &["The face of the probe is at image bottom"],
        },
        Said {
            link: "at=0,-115,60&out=-90,0&turn=330&tol=10",
            ask: Ask::Side(ImageSide::Left),
            title: "Why is image left the head end (cephalic) and patient's right?",
            parts: &[
                "30° from the direction of the head end",
                "60° from the direction of the patient's right",
            ],
        },
        Said {
            link: "at=8,-115,60&out=-90,0&turn=0",
            ask: Ask::Axis("aorta".to_owned()),
            title: "Why long axis of the aorta?",
            parts: &[
                "within 20°",
                "The axis of the aorta is 0° from the plane",
                "second answer",
            ],
        },
        Said {
            link: "at=8,-115,60&out=-90,0&turn=270",
            ask: Ask::Axis("aorta".to_owned()),
            title: "Why short axis of the aorta?",
            parts: &["is 90° from the plane"],
        },
    ] {
        assert!(
            said.link.contains(FRONT) || said.link.starts_with("at=8"),
            "upright probes"
        );
        check_answer(&said);
    }
}

#[test]
fn together_mark_and_notch_change_nothing_and_one_alone_mirrors() {
    let mut state = opened("#v1.at=30,-110,60&out=-90,0&turn=20&tilt=12&rock=-8");
    let before = *state.pose();
    act(&mut state, Action::AskWhy(Ask::Mark));
    let pixels = |state: &State| {
        let mut drawing = Drawing::new(palette().expect("all colours"));
        let frame = Drawing::frame(state, 90, 90, 1.0);
        drawing.look_at(state);
        drawing.picture(state, &frame, 1.0).to_vec()
    };
    let own = pixels(&state);
    for (notch, mark, verdict) in [
        (false, false, Verdict::Same),
        (true, false, Verdict::Mirrored),
        (false, true, Verdict::Mirrored),
        (true, true, Verdict::Same),
    ] {
        let tryout = Tryout { notch, mark };
        act(&mut state, Action::TryOut(tryout));
        assert_eq!(tryout.verdict(&state), verdict, "{tryout:?}");
        let same = pixels(&tryout.applied(&state)) == own;
        assert_eq!(same, verdict == Verdict::Same, "pixels of {tryout:?}");
        let shown = shown(&state)
            .why
            .and_then(|why| why.tryout)
            .expect("a try-out");
        let [left, right] = &shown.before;
        let swapped = [right.clone(), left.clone()];
        let wanted = if verdict == Verdict::Same {
            &shown.before
        } else {
            &swapped
        };
        assert_eq!(&shown.after, wanted, "{tryout:?}");
    }
    assert_eq!(*state.pose(), before, "the probe stays where it is");
    assert_eq!(
        state.convention().mark,
        MarkSide::Left,
        "and so does the mark"
    );
}

#[test]
fn the_animation_lights_mark_sheet_and_answer_in_turn_and_ends() {
    let mut state = opened("#v1.at=0,-115,60&out=-90,0&turn=30");
    act(&mut state, Action::SetReducedMotion(false));
    assert_eq!(lit(&state), Lit::NOTHING, "nothing is asked");
    act(&mut state, Action::AskWhy(Ask::Side(ImageSide::Right)));
    assert!(state.is_moving(), "it runs");
    assert!(lit(&state).notch, "the mark first");
    act(&mut state, Action::Tick(800.0));
    assert!(lit(&state).sheet && !lit(&state).notch, "then the sheet");
    act(&mut state, Action::Tick(800.0));
    assert_eq!(
        lit(&state).sides,
        [false, true, false, false],
        "then the side"
    );
    act(&mut state, Action::Tick(800.0));
    assert!(!state.is_moving(), "it ends");
    assert_eq!(
        lit(&state).sides,
        [false, true, false, false],
        "and the answer stays"
    );
    act(&mut state, Action::CloseWhy);
    assert_eq!(lit(&state), Lit::NOTHING, "until it is put away");
    // With less motion wanted the answer is there at once.
    act(&mut state, Action::SetReducedMotion(true));
    act(&mut state, Action::AskWhy(Ask::Plane));
    assert!(!state.is_moving() && lit(&state).sheet, "no animation");
}

#[test]
fn the_body_plane_is_drawn_and_the_axis_of_the_structure_pointed_out() {
    let mut state = opened("#v1.at=8,-115,60&out=-90,0&turn=30");
    let view = Viewport {
        width: 400.0,
        height: 300.0,
    };
    let kinds = |state: &State| -> Vec<LineKind> {
        let scene = scene(state, view, &Texts::english());
        scene.lines.iter().map(|line| line.kind).collect()
    };
    assert!(kinds(&state).is_empty(), "a plain view");
    act(&mut state, Action::AskWhy(Ask::Plane));
    assert_eq!(kinds(&state), [LineKind::BodyPlane(BodyPlane::Sagittal)]);
    let scene = scene(&state, view, &Texts::english());
    let square = scene.lines.first().expect("a square");
    // The patient's right–left axis is one of the room's axes, whichever it is.
    let spread = |axis: usize| {
        let along = |point: &[f32; 3]| point[axis];
        let all = square.points.iter().map(along);
        all.clone().fold(f32::MIN, f32::max) - all.fold(f32::MAX, f32::min)
    };
    let thinnest = (0..3).map(spread).fold(f32::MAX, f32::min);
    assert!(
        thinnest < 1e-3,
        "the square lies in a sagittal plane: {thinnest}"
    );
    act(&mut state, Action::AskWhy(Ask::Axis("aorta".to_owned())));
    assert_eq!(kinds(&state), [LineKind::Axis]);
    assert_eq!(state.chosen(), Some("aorta"), "it is pointed out, too");
    act(&mut state, Action::AskWhy(Ask::Axis("unicorn".to_owned())));
    assert_eq!(
        state.chosen(),
        Some("aorta"),
        "what is not there changes nothing"
    );
}

#[test]
fn the_trace_lies_on_the_skin_and_in_the_plane() {
    let mut state = opened("#v1.at=0,-115,60&out=-90,0&turn=40");
    act(&mut state, Action::SetMovement(Movement::Tilt, 15.0));
    act(&mut state, Action::EndInteraction);
    let mut drawing = Drawing::new(palette().expect("all colours"));
    assert!(
        drawing.skin_trace(&state).is_empty(),
        "nothing was looked at"
    );
    drawing.look_at(&state);
    let trace = drawing.skin_trace(&state);
    let points: Vec<[f32; 3]> = trace.into_iter().flatten().collect();
    assert!(points.len() > 20, "{} points", points.len());
    let skin = state.skin().expect("a skin");
    // Supine: the room's axes are the patient's turned, so places are compared by what they are made of.
    let body: Vec<_> = points
        .iter()
        .map(|at| at.map(f64::from))
        .map(|at| {
            let room_from_posed = state.position().room_from_posed();
            room_from_posed
                .inverse()
                .apply_point(geometry::Point::from_array(at))
                .to_array()
        })
        .collect();
    for at in body {
        let at = geometry::Point::from_array(at);
        let off = (skin.nearest(at).point - at).norm();
        assert!(off < 0.5, "{off} mm off the skin");
        let [_, _, out] = state.plane().to_image(at);
        assert!(out.abs() < 0.5, "{out} mm out of the plane");
    }
}
