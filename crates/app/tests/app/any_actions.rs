//! Any action in any state leaves a valid state.

use std::sync::{Arc, LazyLock};

use anatomy::{Body, BodyFacts, SkinSurface};
use app::drawing::{Drawing, palette};
use app::predict::Whereabouts;
use app::scene::{CameraPreset, ScreenPoint, StructureFilter, Viewport, scene};
use app::views::panels;
use app::why::{Ask, Tryout};
use app::{Action, Movement, Open, Seat, SlideAxis, State, Step, Texts, Way, address, update};
use geometry::{ApexSide, BodyPosition, MarkSide};
use picture::{Knob, VolumePlane};
use proptest::prelude::*;

static BODY: LazyLock<Arc<Body>> = LazyLock::new(|| crate::support::body("adult_female"));
static OTHER: LazyLock<Arc<Body>> = LazyLock::new(|| crate::support::body("adult_male"));
static SKIN: LazyLock<(Arc<BodyFacts>, Arc<SkinSurface>)> =
    LazyLock::new(|| crate::support::skin_only("adult_female"));

/// Mostly sensible numbers, sometimes any at all.
fn number(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![8 => low..high, 1 => prop::num::f64::ANY]
}

fn point() -> impl Strategy<Value = ScreenPoint> {
    (number(-50.0, 900.0), number(-50.0, 700.0)).prop_map(|(x, y)| ScreenPoint { x, y })
}

fn viewport() -> impl Strategy<Value = Viewport> {
    prop_oneof![
        4 => Just(Viewport { width: 800.0, height: 600.0 }),
        1 => (number(0.0, 2000.0), number(0.0, 2000.0))
            .prop_map(|(width, height)| Viewport { width, height }),
    ]
}

fn body_action() -> impl Strategy<Value = Action> {
    let id = || prop::sample::select(vec!["adult_female", "adult_male", "infant_head", "nobody"]);
    prop_oneof![
        3 => Just(()).prop_map(|()| Action::BodyArrived(BODY.clone())),
        1 => Just(()).prop_map(|()| Action::BodyArrived(OTHER.clone())),
        2 => Just(()).prop_map(|()| Action::SkinArrived {
            facts: SKIN.0.clone(),
            skin: SKIN.1.clone(),
        }),
        1 => (id(), any::<u64>(), any::<Option<u64>>()).prop_map(|(id, received, total)| {
            Action::BodyProgress { id: id.to_owned(), received, total }
        }),
        1 => id().prop_map(|id| Action::BodyFailed {
            id: id.to_owned(),
            reason: "no network".to_owned(),
        }),
        1 => Just(Action::RetryBody),
        1 => id().prop_map(|id| Action::ChooseBody(id.to_owned())),
        1 => "v1\\.(body=adult_(fe)?male&)?(window=[a-z_]{3,9}&)?(at=1,2,3&out=4,5&)?(depth=1[0-9]{1,2})?"
            .prop_map(Action::OpenLink),
        1 => ".{0,40}".prop_map(Action::OpenLink),
        1 => (prop::sample::select(Open::WORDS.map(|(_, open)| open).to_vec()), ".{0,20}")
            .prop_map(|(open, fragment)| Action::Restrict { open, fragment }),
    ]
}

fn probe_action() -> impl Strategy<Value = Action> {
    let axis = || {
        prop::sample::select(vec![
            SlideAxis::TwelveOClock,
            SlideAxis::ThreeOClock,
            SlideAxis::Notch,
            SlideAxis::Across,
        ])
    };
    let movement = || prop::sample::select(Movement::ALL.to_vec());
    let way = || prop::sample::select(vec![Way::Forward, Way::Back]);
    let step = prop::sample::select(vec![Step::Usual, Step::Fine, Step::Coarse]);
    let windows = vec![
        "sagittal_left_aorta_proximal",
        "parasternal_long_axis",
        "nowhere",
    ];
    prop_oneof![
        (point(), viewport()).prop_map(|(at, viewport)| Action::GrabProbe { at, viewport }),
        (point(), viewport()).prop_map(|(at, viewport)| Action::DragProbe { at, viewport }),
        (point(), viewport()).prop_map(|(at, viewport)| Action::PlaceProbe { at, viewport }),
        (axis(), number(-100.0, 100.0)).prop_map(|(axis, mm)| Action::Slide { axis, mm }),
        (axis(), way(), step.clone()).prop_map(|(a, w, s)| Action::SlideStep(a, w, s)),
        (movement(), number(-200.0, 400.0)).prop_map(|(m, value)| Action::SetMovement(m, value)),
        (movement(), way(), step).prop_map(|(m, w, s)| Action::MovementStep(m, w, s)),
        Just(Action::ReverseNotch),
        way().prop_map(Action::QuarterTurn),
        prop::sample::select(windows).prop_map(|id| Action::PickWindow(id.to_owned())),
        Just(Action::EndInteraction),
        Just(Action::Undo),
        Just(Action::Redo),
        Just(Action::Reset),
        number(0.0, 600.0).prop_map(Action::Tick),
    ]
}

fn setup_action() -> impl Strategy<Value = Action> {
    let transducers = vec![
        "convex",
        "linear",
        "phased",
        "micro_convex",
        "endocavity",
        "volume_convex",
        "none",
    ];
    let structures = vec![Some("aorta"), Some("liver"), Some("nothing"), None];
    prop_oneof![
        number(0.0, 400.0).prop_map(Action::SetDepth),
        prop::sample::select(vec![Way::Forward, Way::Back]).prop_map(Action::DepthStep),
        prop::sample::select(transducers).prop_map(|id| Action::ChooseTransducer(id.to_owned())),
        prop::sample::select(vec![MarkSide::Left, MarkSide::Right]).prop_map(Action::SetMark),
        prop::sample::select(vec![ApexSide::Top, ApexSide::Bottom]).prop_map(Action::SetApex),
        number(0.0, 60.0).prop_map(Action::SetTolerance),
        prop::sample::select(BodyPosition::ALL.to_vec()).prop_map(Action::SetPosition),
        prop::sample::select(vec![Seat::Left, Seat::Right]).prop_map(Action::SetSeat),
        prop::sample::select(StructureFilter::ALL.to_vec()).prop_map(Action::SetFilter),
        any::<bool>().prop_map(Action::ShowSkin),
        number(-50.0, 150.0).prop_map(Action::SetGrey),
        number(-50.0, 50.0).prop_map(Action::SetGain),
        (
            prop::sample::select(Knob::all().collect::<Vec<_>>()),
            number(-50.0, 150.0)
        )
            .prop_map(|(knob, value)| Action::TurnKnob(knob, value)),
        Just(Action::ResetKnobs),
        prop::sample::select(vec![
            Ask::Plane,
            Ask::Mark,
            Ask::Side(geometry::ImageSide::Left),
            Ask::Side(geometry::ImageSide::Bottom),
            Ask::Axis("aorta".to_owned()),
            Ask::Axis("unicorn".to_owned()),
        ])
        .prop_map(Action::AskWhy),
        Just(Action::CloseWhy),
        any::<bool>().prop_map(Action::SetPredicting),
        prop::sample::select(Whereabouts::ALL.to_vec()).prop_map(Action::Predict),
        any::<bool>().prop_map(Action::ShowVolume),
        Just(Action::SwitchVolume),
        prop::array::uniform3(number(-90.0, 200.0)).prop_map(Action::SetVolumePoint),
        (
            prop::sample::select(VolumePlane::ALL.to_vec()),
            number(-90.0, 90.0),
            number(-10.0, 200.0)
        )
            .prop_map(|(which, x, y)| Action::PointInVolume(which, [x, y])),
        (any::<bool>(), any::<bool>())
            .prop_map(|(notch, mark)| Action::TryOut(Tryout { notch, mark })),
        prop::option::of((number(-200.0, 200.0), number(-50.0, 300.0)).prop_map(|(x, y)| [x, y]))
            .prop_map(Action::PointAt),
        (number(-2.0, 2.0), number(-2.0, 2.0))
            .prop_map(|(x, y)| Action::MoveCursor([x, y], Step::Coarse)),
        Just(Action::SwitchPicture),
        any::<bool>().prop_map(Action::SetReducedMotion),
        any::<bool>().prop_map(Action::SetBodyViewWorks),
        Just(Action::DismissMessage),
        Just(Action::LanguageFailed("Español".to_owned())),
        prop::sample::select(structures)
            .prop_map(|id| Action::ChooseStructure(id.map(str::to_owned))),
        (number(-99.0, 99.0), number(-99.0, 99.0), viewport())
            .prop_map(|(dx, dy, viewport)| Action::OrbitCamera { dx, dy, viewport }),
        (number(-99.0, 99.0), number(-99.0, 99.0), viewport())
            .prop_map(|(dx, dy, viewport)| Action::PanCamera { dx, dy, viewport }),
        (number(-99.0, 99.0), number(-99.0, 99.0)).prop_map(|(azimuth_deg, elevation_deg)| {
            Action::TurnCamera {
                azimuth_deg,
                elevation_deg,
            }
        }),
        number(0.1, 5.0).prop_map(Action::ZoomCamera),
        prop::sample::select(CameraPreset::ALL.to_vec()).prop_map(Action::Camera),
    ]
}

/// How far off the faceted skin a contact may be, mm: the egg's windows stand on the smooth egg, whose facets lie up to
/// 0.9 mm under it; links round to a tenth.
const ON_SKIN_MM: f64 = 1.0;

fn check_valid(state: &State) -> Result<(), TestCaseError> {
    let pose = state.pose();
    let angles = [pose.rotation(), pose.tilt(), pose.rock()].map(|angle| angle.to_deg());
    prop_assert!(pose.contact().is_finite(), "{pose:?}");
    prop_assert!((0.0..360.0).contains(&angles[0]), "{pose:?}");
    prop_assert!((-90.0..=90.0).contains(&angles[1]), "{pose:?}");
    prop_assert!((-180.0..=180.0).contains(&angles[2]), "{pose:?}");
    prop_assert!((0.0..=100.0).contains(&pose.press().get()), "{pose:?}");
    let (least, most) = state.transducer().depth_range;
    prop_assert!(
        state.depth() >= least && state.depth() <= most,
        "{:?}",
        state.depth()
    );
    let tolerance = state.tolerance().to_deg();
    prop_assert!((4.999..=40.001).contains(&tolerance), "{tolerance}");
    if let Some(skin) = state.skin()
        && !state.is_moving()
    {
        let off = (skin.nearest(pose.contact()).point - pose.contact()).norm();
        prop_assert!(off <= ON_SKIN_MM, "{off} mm off the skin: {pose:?}");
    }
    let fragment = address::fragment(state);
    for knob in Knob::all() {
        let (range, value) = (knob.range(&state.field()), state.grey_settings().get(knob));
        prop_assert!(range.contains(value), "{knob:?}: {value}");
    }
    prop_assert!(fragment.len() < 470, "{fragment}");
    prop_assert!(course::link::read(&fragment).is_ok(), "{fragment}");
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn any_actions_leave_a_valid_state(
        fragment in prop_oneof![Just(String::new()), ".{0,30}"],
        actions in prop::collection::vec(
            prop_oneof![2 => body_action(), 5 => probe_action(), 3 => setup_action()],
            1..40,
        ),
    ) {
        let mut state = State::new(&fragment);
        for action in actions {
            let _ = update(&mut state, action);
            check_valid(&state)?;
        }
        // Everything that is shown can be made from it.
        let texts = Texts::english();
        let mut drawing = Drawing::new(palette().unwrap());
        drawing.look_at(&state);
        let view = Viewport { width: 640.0, height: 480.0 };
        let shown = scene(&state, view, &texts);
        prop_assert!(shown.room_from_probe.iter().all(|part| part.is_finite()));
        let all = panels(&state, drawing.contents(), &texts);
        prop_assert!(!all.words.text().is_empty());
        prop_assert_eq!(&all, &panels(&state, drawing.contents(), &texts));
    }
}
