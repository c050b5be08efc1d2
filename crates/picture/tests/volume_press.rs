//! The three planes of a volume under a pressed probe show one body: where two of them meet they show the same.
//!
//! Bodies are baked before the tests run (`cargo xtask bake`).

#![expect(
    clippy::expect_used,
    reason = "a test stops at the first thing that is wrong"
)]

use std::path::Path;

use anatomy::{Body, Section, StructureIndex};
use geometry::{ApexSide, Convention, MarkSide, Mm, Point, Pose, Probe};
use picture::{CutScratch, Field, Volume, VolumePlane, transducer};

/// Press of the checks, mm.
const PRESS_MM: f64 = 12.0;

/// Least share of places at which two planes agree: outlines are bent in columns half a millimetre apart, each along
/// its own plane.
const AGREE: f64 = 0.94;

fn body() -> Body {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.bake");
    let file = |end: &str| {
        std::fs::read(folder.join(format!("adult_female.{end}")))
            .expect("a baked body (cargo xtask bake)")
    };
    Body::read(&file("glb"), &file("json")).expect("a body")
}

fn volume(apex: ApexSide) -> Volume {
    let known = transducer("volume_convex").expect("a volume transducer");
    Volume::new(Field::new(known, Mm::new(120.0), apex)).expect("it sweeps")
}

/// What a plane of the volume shows at a place of the probe.
struct Shown<'a> {
    body: &'a Body,
    volume: Volume,
    pose: Pose,
    convention: Convention,
}

impl Shown<'_> {
    fn at(&self, which: VolumePlane, at: Point<Probe>) -> Option<StructureIndex> {
        let cut = self.volume.cut(which, at, self.convention);
        let mut section = Section::empty(&cut.plane(&self.pose));
        self.volume.section_into(
            self.body,
            &cut,
            &self.pose,
            &mut CutScratch::default(),
            &mut section,
        );
        let painted = section.structure_at(self.body, cut.to_image(at));
        painted.and_then(|painted| painted.structure)
    }
}

fn check_planes(window: &str, mark: MarkSide, apex: ApexSide) {
    let body = body();
    let known = body.window(window).expect("a window");
    let shown = |press: f64| Shown {
        body: &body,
        volume: volume(apex),
        pose: known.pose.with_press(Mm::new(press)),
        convention: Convention { mark, apex },
    };
    let (free, pressed) = (shown(0.0), shown(PRESS_MM));
    let (mut number, mut agree, mut moved) = (0.0, [0.0; 2], 0.0);
    for x in [-12.0, 0.0, 12.0] {
        for step in 0..24 {
            let at = Point::new(x, 0.0, 2.0 + 1.5 * f64::from(step));
            let want = pressed.at(VolumePlane::Acquired, at);
            number += 1.0;
            for (agree, which) in agree
                .iter_mut()
                .zip([VolumePlane::Crossing, VolumePlane::Face])
            {
                if pressed.at(which, at) == want {
                    *agree += 1.0;
                }
            }
            // The same place of the body, were it not to give way.
            let [x, y, z] = at.to_array();
            let stiff = Point::new(x, y, z + PRESS_MM);
            if free.at(VolumePlane::Acquired, stiff) != want {
                moved += 1.0;
            }
        }
    }
    let shares = agree.map(|agree| agree / number);
    assert!(
        shares.iter().all(|share| *share >= AGREE),
        "{window} {mark:?} {apex:?}: crossing and face plane agree with the acquired one at {shares:?}"
    );
    assert!(
        moved / number > 2.0 * (1.0 - AGREE),
        "{window}: pressing moves little, so little was checked ({moved} of {number}, agreeing {shares:?})"
    );
}

#[test]
fn the_planes_of_a_pressed_volume_agree_where_they_meet() {
    check_planes("pelvis_transverse_female", MarkSide::Left, ApexSide::Top);
    check_planes("transverse_aorta_mid", MarkSide::Right, ApexSide::Bottom);
}
