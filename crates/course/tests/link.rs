//! Links: tables of texts, and the properties that hold for all of them.

use course::link::{LinkError, LinkPicture, LinkPose, LinkState, Seat, read, write};
use geometry::{ApexSide, BodyPosition, MarkSide};
use proptest::prelude::*;

fn example() -> LinkState {
    LinkState {
        body: Some("adult_female".to_owned()),
        window: Some("sagittal_left_aorta_proximal".to_owned()),
        pose: Some(LinkPose {
            contact_mm: [9.5, -114.2, 118.0],
            out_azimuth_deg: -90.0,
            out_elevation_deg: 2.5,
            rotation_deg: 0.0,
            tilt_deg: -3.1,
            rock_deg: 12.0,
            press_mm: 4.0,
        }),
        transducer: Some("convex".to_owned()),
        depth_mm: Some(150.0),
        ..LinkState::default()
    }
}

#[test]
fn a_link_can_be_read_by_a_person() {
    assert_eq!(
        write(&example()),
        "v1.body=adult_female&window=sagittal_left_aorta_proximal&at=9.5,-114.2,118&out=-90,2.5\
         &turn=0&tilt=-3.1&rock=12&press=4&probe=convex&depth=150&mark=left&apex=top&tol=20\
         &lie=supine&seat=right"
    );
    assert_eq!(read(&write(&example())), Ok(example()));
}

#[test]
fn a_link_may_say_little_and_may_be_mangled_by_mail() {
    let aorta = LinkState {
        body: Some("adult_male".to_owned()),
        window: Some("transverse_aorta_mid".to_owned()),
        ..LinkState::default()
    };
    for text in [
        "v1.body=adult_male&window=transverse_aorta_mid",
        "#v1.body=adult_male&window=transverse_aorta_mid",
        "v1.window=transverse_aorta_mid&body=adult_male&colour=later_version",
        "v1.body%3Dadult_male%26window%3Dtransverse_aorta_mid",
        " v1.body=adult_male&window=transverse_aorta_mid\n",
    ] {
        assert_eq!(read(text), Ok(aorta.clone()), "{text}");
    }
    let pose = read("v1.at=1%2C2%2C3&out=450%").map_err(|error| error.to_string());
    assert_eq!(
        pose,
        Err("\"out\" needs 2 numbers, the link has 1".to_owned())
    );
}

fn check_refused(text: &str, wanted: &str) {
    let sentence = read(text).map_err(|error| error.to_string());
    assert_eq!(sentence, Err(wanted.to_owned()), "{text}");
}

#[test]
fn each_fault_has_its_sentence() {
    for (text, wanted) in [
        (
            "",
            "the link does not start with \"v1.\", so it is not a view of this version",
        ),
        (
            "v2.body=adult_male",
            "the link does not start with \"v1.\", so it is not a view of this version",
        ),
        (
            "v1.body",
            "the part \"body\" of the link is not written key=value",
        ),
        ("v1.tilt=1&tilt=1", "the link says \"tilt\" twice"),
        ("v1.at=1,x,3&out=0,0", "\"x\" is no number for \"at\""),
        ("v1.at=1,inf,3&out=0,0", "\"inf\" is no number for \"at\""),
        ("v1.at=1,1e3,3&out=0,0", "\"1e3\" is no number for \"at\""),
        (
            "v1.at=1,2&out=0,0",
            "\"at\" needs 3 numbers, the link has 2",
        ),
        (
            "v1.depth=1000",
            "1000 mm for \"depth\" is outside 10 to 400 mm",
        ),
        (
            "v1.at=0,0,0&out=0,91",
            "91 degrees for \"out\" is outside -90 to 90 degrees",
        ),
        (
            "v1.mark=up",
            "\"up\" is not one of the words for \"mark\": left, right",
        ),
        ("v1.body=../etc", "\"../etc\" cannot be the name of a body"),
        ("v1.at=1,2,3", "the link gives \"at\" without \"out\""),
        ("v1.out=1,2", "the link gives \"out\" without \"at\""),
    ] {
        check_refused(text, wanted);
    }
    assert_eq!(read(&"v".repeat(2001)), Err(LinkError::TooLong));
}

fn any_pose() -> impl Strategy<Value = LinkPose> {
    (
        prop::array::uniform3(-2000.0..2000.0),
        (-400.0..400.0, -90.0..90.0),
        -720.0..720.0,
        (-90.0..90.0, -90.0..90.0),
        0.0..60.0,
    )
        .prop_map(
            |(contact_mm, out, rotation_deg, (tilt_deg, rock_deg), press_mm)| LinkPose {
                contact_mm,
                out_azimuth_deg: out.0,
                out_elevation_deg: out.1,
                rotation_deg,
                tilt_deg,
                rock_deg,
                press_mm,
            },
        )
}

fn any_picture() -> impl Strategy<Value = LinkPicture> {
    (
        prop::option::of(0.0..100.0),
        prop::option::of(-30.0..30.0),
        prop::option::of(30.0..100.0),
        prop::option::of(1.0..18.0),
        prop::option::of(3.0..400.0),
        prop::option::of(0.0..2.0),
        prop::option::of(prop::array::uniform8(-20.0..20.0)),
    )
        .prop_map(
            |(grey, gain, range, frequency, focus, comp, sliders)| LinkPicture {
                grey_percent: grey,
                gain_db: gain,
                range_db: range,
                frequency_mhz: frequency,
                focus_mm: focus,
                compensation_db: comp,
                time_gain_db: sliders,
            },
        )
}

fn any_state() -> impl Strategy<Value = LinkState> {
    let name = "[a-z][a-z0-9_]{0,39}";
    (
        (
            prop::option::of(name),
            prop::option::of(name),
            prop::option::of(name),
        ),
        prop::option::of(any_pose()),
        prop::option::of(10.0..400.0),
        (any::<bool>(), any::<bool>(), any::<bool>()),
        5.0..40.0,
        prop::sample::select(BodyPosition::ALL.to_vec()),
        any_picture(),
    )
        .prop_map(
            |(names, pose, depth_mm, sides, tolerance_deg, position, picture)| LinkState {
                body: names.0,
                window: names.1,
                transducer: names.2,
                pose,
                depth_mm,
                mark: if sides.0 {
                    MarkSide::Left
                } else {
                    MarkSide::Right
                },
                apex: if sides.1 {
                    ApexSide::Top
                } else {
                    ApexSide::Bottom
                },
                seat: if sides.2 { Seat::Left } else { Seat::Right },
                tolerance_deg,
                position,
                picture,
            },
        )
}

/// Half a thousandth, plus what a turn by whole circles may lose.
const ROUNDING: f64 = 0.0005 + 1e-9;

fn check_close(name: &str, got: f64, wanted: f64) -> Result<(), TestCaseError> {
    prop_assert!(
        (got - wanted).abs() <= ROUNDING,
        "{name}: {got} for {wanted}"
    );
    Ok(())
}

/// Equal as directions on a circle.
fn check_same_turn(name: &str, got: f64, wanted: f64) -> Result<(), TestCaseError> {
    let apart = (got - wanted).rem_euclid(360.0);
    check_close(name, apart.min(360.0 - apart), 0.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn what_was_read_is_written_again_unchanged(state in any_state()) {
        let text = write(&state);
        // Up to 208 for the longest keys, words and numbers, three identifiers of 40 with their keys, and 137 for
        // the picture.
        prop_assert!(text.len() < 470, "{} characters: {text}", text.len());
        let back = read(&text);
        prop_assert!(back.is_ok(), "{text}: {back:?}");
        let back = back.unwrap();
        prop_assert_eq!(write(&back), text);
        prop_assert_eq!(&back.body, &state.body);
        prop_assert_eq!(&back.window, &state.window);
        prop_assert_eq!(&back.transducer, &state.transducer);
        prop_assert_eq!((back.mark, back.apex, back.seat, back.position),
            (state.mark, state.apex, state.seat, state.position));
        check_close("tolerance", back.tolerance_deg, state.tolerance_deg)?;
        for (name, got, wanted) in [
            ("grey", back.picture.grey_percent, state.picture.grey_percent),
            ("gain", back.picture.gain_db, state.picture.gain_db),
            ("range", back.picture.range_db, state.picture.range_db),
            ("freq", back.picture.frequency_mhz, state.picture.frequency_mhz),
            ("focus", back.picture.focus_mm, state.picture.focus_mm),
            ("comp", back.picture.compensation_db, state.picture.compensation_db),
        ] {
            prop_assert_eq!(got.is_some(), wanted.is_some(), "{}", name);
            check_close(name, got.unwrap_or(0.0), wanted.unwrap_or(0.0))?;
        }
        prop_assert_eq!(back.picture.time_gain_db.is_some(), state.picture.time_gain_db.is_some());
        let sliders = |link: &LinkState| link.picture.time_gain_db.unwrap_or_default();
        for (got, wanted) in sliders(&back).iter().zip(sliders(&state)) {
            check_close("tgc", *got, wanted)?;
        }
        prop_assert_eq!(back.pose.is_some(), state.pose.is_some());
        if let (Some(got), Some(wanted)) = (back.pose, state.pose) {
            for (got, wanted) in got.contact_mm.iter().zip(wanted.contact_mm) {
                check_close("contact", *got, wanted)?;
            }
            if got.out_elevation_deg.abs() < 90.0 {
                check_same_turn("azimuth", got.out_azimuth_deg, wanted.out_azimuth_deg)?;
            }
            check_close("elevation", got.out_elevation_deg, wanted.out_elevation_deg)?;
            check_same_turn("rotation", got.rotation_deg, wanted.rotation_deg)?;
            prop_assert!((0.0..360.0).contains(&got.rotation_deg), "{}", got.rotation_deg);
            check_close("tilt", got.tilt_deg, wanted.tilt_deg)?;
            check_close("rock", got.rock_deg, wanted.rock_deg)?;
            check_close("press", got.press_mm, wanted.press_mm)?;
        }
    }

    #[test]
    fn any_text_is_answered(text in ".{0,300}") {
        let _answer = read(&text);
    }

    #[test]
    fn any_text_of_our_shape_is_answered(text in "v1\\.([a-z]{2,6}=[-+0-9.,a-z%&=]{0,12}&){0,6}") {
        if let Ok(state) = read(&text) {
            let written = write(&state);
            prop_assert_eq!(read(&written).map(|again| write(&again)), Ok(written));
        }
    }
}
