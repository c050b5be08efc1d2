//! A small body for the tests: an egg with a liver and an aorta, under the identifier and with the first window of
//! the adult woman, written and read back through the files a real body comes in.

use std::fmt::Write as _;
use std::sync::{Arc, OnceLock};

use anatomy::catalogue::*;
use anatomy::{Body, BodyFacts, BodyReader, SkinSurface, Stage};
use app::{Action, Changes, State, update};
use wording::Dictionary;

/// A closed surface: vertices in patient mm, outward triangles.
struct Shape {
    node: &'static str,
    positions: Vec<[f64; 3]>,
    triangles: Vec<[u16; 3]>,
}

/// An ellipsoid of `rings` × `2 rings` facets about the head–foot axis.
fn ellipsoid(node: &'static str, centre: [f64; 3], radii: [f64; 3], rings: u16) -> Shape {
    let around = 2 * rings;
    let mut positions = vec![[0.0, 0.0, 1.0]];
    for ring in 1..rings {
        let polar = std::f64::consts::PI * f64::from(ring) / f64::from(rings);
        for step in 0..around {
            let turn = 2.0 * std::f64::consts::PI * f64::from(step) / f64::from(around);
            let level = libm::sin(polar);
            positions.push([
                level * libm::cos(turn),
                level * libm::sin(turn),
                libm::cos(polar),
            ]);
        }
    }
    positions.push([0.0, 0.0, -1.0]);
    let at = |ring: u16, step: u16| 1 + (ring - 1) * around + step % around;
    let last = 1 + (rings - 1) * around;
    let mut triangles = Vec::new();
    for step in 0..around {
        triangles.push([0, at(1, step), at(1, step + 1)]);
        triangles.push([last, at(rings - 1, step + 1), at(rings - 1, step)]);
        for ring in 1..rings - 1 {
            let [a, b] = [at(ring, step), at(ring, step + 1)];
            let [c, d] = [at(ring + 1, step), at(ring + 1, step + 1)];
            triangles.push([a, c, d]);
            triangles.push([a, d, b]);
        }
    }
    let place = |unit: [f64; 3]| [0, 1, 2].map(|k: usize| centre[k] + radii[k] * unit[k]);
    Shape {
        node,
        positions: positions.into_iter().map(place).collect(),
        triangles,
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "steps of the box, 0 to 65535"
)]
fn whole(steps: f64) -> u16 {
    steps.round() as u16
}

/// The mesh file: glTF 2.0 binary with quantised positions.
fn glb(shapes: &[Shape]) -> Vec<u8> {
    let mut bin: Vec<u8> = Vec::new();
    let mut nodes = String::from("{\"name\":\"patient\"}");
    let (mut meshes, mut accessors, mut views) = (String::new(), String::new(), String::new());
    for (number, shape) in shapes.iter().enumerate() {
        let low = |k: usize| {
            shape
                .positions
                .iter()
                .map(|p| p[k])
                .fold(f64::INFINITY, f64::min)
        };
        let high = |k: usize| {
            shape
                .positions
                .iter()
                .map(|p| p[k])
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let low = [low(0), low(1), low(2)];
        let scale = (0..3).map(|k| high(k) - low[k]).fold(0.0, f64::max) / 65535.0;
        let start = bin.len();
        for point in &shape.positions {
            for k in 0..3 {
                bin.extend(whole((point[k] - low[k]) / scale).to_le_bytes());
            }
            bin.extend([0, 0]);
        }
        let middle = bin.len();
        for corner in shape.triangles.iter().flatten() {
            bin.extend(corner.to_le_bytes());
        }
        let end = bin.len();
        bin.resize(end.next_multiple_of(4), 0);
        let comma = if number == 0 { "" } else { "," };
        write!(
            nodes,
            ",{{\"name\":\"{}\",\"mesh\":{number},\"translation\":{low:?},\"scale\":[{scale:?},{scale:?},{scale:?}]}}",
            shape.node
        )
        .expect("text");
        write!(
            meshes,
            "{comma}{{\"primitives\":[{{\"attributes\":{{\"POSITION\":{}}},\"indices\":{}}}]}}",
            2 * number,
            2 * number + 1
        )
        .expect("text");
        write!(
            accessors,
            "{comma}{{\"bufferView\":{},\"componentType\":5123,\"count\":{},\"type\":\"VEC3\"}},\
             {{\"bufferView\":{},\"componentType\":5123,\"count\":{},\"type\":\"SCALAR\"}}",
            2 * number,
            shape.positions.len(),
            2 * number + 1,
            3 * shape.triangles.len()
        )
        .expect("text");
        write!(
            views,
            "{comma}{{\"buffer\":0,\"byteOffset\":{start},\"byteLength\":{},\"byteStride\":8}},\
             {{\"buffer\":0,\"byteOffset\":{middle},\"byteLength\":{}}}",
            middle - start,
            end - middle
        )
        .expect("text");
    }
    let mut text = format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"nodes\":[{nodes}],\"meshes\":[{meshes}],\"accessors\":[{accessors}],\
         \"bufferViews\":[{views}],\"buffers\":[{{\"byteLength\":{}}}],\
         \"extensionsRequired\":[\"KHR_mesh_quantization\"]}}",
        bin.len()
    )
    .into_bytes();
    text.resize(text.len().next_multiple_of(4), b' ');
    let words = |values: &[usize]| -> Vec<u8> {
        let word = |value: &usize| u32::try_from(*value).expect("small").to_le_bytes();
        values.iter().flat_map(word).collect()
    };
    let whole = 12 + 8 + text.len() + 8 + bin.len();
    let mut file = words(&[0x4654_6C67, 2, whole, text.len(), 0x4E4F_534A]);
    file.extend(text);
    file.extend(words(&[bin.len(), 0x004E_4942]));
    file.extend(bin);
    file
}

fn tissue(key: &str) -> TissueEntry {
    TissueEntry {
        key: key.to_owned(),
        c: 1540.0,
        rho: 1000.0,
        z: 1.54,
        att: 0.5,
        n: 1.0,
        bs: 0.0,
        spec: 0.1,
        shadow: false,
        grain: 1.0,
        texture: "even".to_owned(),
    }
}

fn structure(id: &str, label: &str, system: &str, tissue: &str, priority: i32) -> StructureEntry {
    StructureEntry {
        id: id.to_owned(),
        label: label.to_owned(),
        short_label: label.to_owned(),
        side: SideEntry::Mid,
        system: system.to_owned(),
        tissue: tissue.to_owned(),
        priority,
        code: None,
        wall: None,
        gas_fraction: None,
        axis: None,
        centre_line: Vec::new(),
        segments: Vec::new(),
        volume_ml: None,
    }
}

fn surface(node: &str, tissue: &str, paint_order: u32) -> SurfaceEntry {
    SurfaceEntry {
        node: node.to_owned(),
        tissue: tissue.to_owned(),
        paint_order,
        not_inside: Vec::new(),
    }
}

fn window(
    id: &str,
    label: &str,
    transducer: &str,
    depth_mm: f64,
    place: ResolvedEntry,
) -> WindowEntry {
    WindowEntry {
        id: id.to_owned(),
        label: label.to_owned(),
        plane_hint: String::new(),
        transducer: transducer.to_owned(),
        depth_mm,
        mark: if transducer == "phased" {
            MarkEntry::Right
        } else {
            MarkEntry::Left
        },
        must_see: Vec::new(),
        axis_of: Vec::new(),
        spec: WindowSpec {
            level: "L1".to_owned(),
            dx: 0.0,
            dy: 0.0,
            dz: 0.0,
            face: FaceEntry::Word(FaceWord::Anterior),
            aim: [0.0, 0.0, 110.0],
            indicator: IndicatorEntry::Word(IndicatorWord::Head),
        },
        resolved: place,
    }
}

/// Radii of the egg's skin about its centre, mm.
pub(crate) const SKIN: ([f64; 3], [f64; 3]) = ([0.0, 0.0, 60.0], [170.0, 115.0, 520.0]);

/// The point of the egg's front at this x and z.
pub(crate) fn front(x: f64, z: f64) -> [f64; 3] {
    let (centre, radii) = SKIN;
    let share = |at: f64, axis: usize| {
        let off = (at - centre[axis]) / radii[axis];
        off * off
    };
    let squares = share(x, 0) + share(z, 2);
    [x, -radii[1] * (1.0 - squares).sqrt(), z]
}

fn at_front(x: f64, z: f64, notch: [f64; 3]) -> ResolvedEntry {
    ResolvedEntry {
        contact: front(x, z),
        normal: [0.0, -1.0, 0.0],
        notch,
        beam: [0.0, 1.0, 0.0],
    }
}

fn catalogue(id: &str) -> Catalogue {
    let mut aorta = structure("aorta", "Aorta", "arterial", "blood", 820);
    aorta.axis = Some(AxisEntry::Line {
        a: [8.0, 30.0, 250.0],
        b: [8.0, 30.0, 0.0],
    });
    aorta.segments = vec![SegmentEntry {
        id: "proximal".to_owned(),
        label: "Proximal".to_owned(),
        place: SegmentPlace::Z {
            from: 90.0,
            to: 250.0,
        },
    }];
    let liver = structure("liver", "Liver", "digestive", "liver", 500);
    let landmarks = [
        ("C4", [0.0, 0.0, 450.0]),
        ("C7", [0.0, 0.0, 403.0]),
        ("jugular_notch", [0.0, 0.0, 335.0]),
        ("sternal_angle", [0.0, 0.0, 295.0]),
        ("xiphoid_tip", [0.0, 0.0, 150.0]),
        ("xiphisternal_joint", [0.0, 0.0, 185.0]),
        ("T12", [0.0, 0.0, 140.0]),
        ("L1", [0.0, 0.0, 105.0]),
        ("L2", [0.0, 0.0, 70.0]),
        ("L3", [0.0, 0.0, 35.0]),
        ("L4", [0.0, 0.0, 0.0]),
        ("L5", [0.0, 0.0, -33.0]),
        ("iliac_crest_top", [120.0, 30.0, 0.0]),
        ("asis", [115.0, -60.0, -60.0]),
        ("pubic_symphysis_top", [0.0, -60.0, -140.0]),
        ("hip_centre", [85.0, 0.0, -140.0]),
        ("knee_joint", [80.0, 0.0, -540.0]),
    ];
    Catalogue {
        version: VERSION,
        body: BodyEntry {
            id: id.to_owned(),
            label: "Egg".to_owned(),
            sex: SexEntry::Either,
            stature_mm: None,
            offset_scale: 1.0,
            dermis_mm: 2.0,
        },
        landmarks: landmarks.map(|(name, at)| (name.to_owned(), at)).into(),
        tissues: ["skin", "fat_subcutaneous", "muscle", "liver", "blood"]
            .map(tissue)
            .into(),
        structures: vec![liver, aorta],
        surfaces: vec![
            surface("skin", "skin", 0),
            surface("skin/dermis", "fat_subcutaneous", 10),
            surface("skin/muscle", "muscle", 20),
            surface("liver", "liver", 30),
            surface("aorta", "blood", 40),
        ],
        windows: vec![
            window(
                "sagittal_left_aorta_proximal",
                "Left of midline, sagittal",
                "convex",
                140.0,
                at_front(9.5, 120.0, [0.0, 0.0, 1.0]),
            ),
            window(
                "transverse_aorta_mid",
                "Mid abdomen, transverse",
                "convex",
                130.0,
                at_front(0.0, 60.0, [-1.0, 0.0, 0.0]),
            ),
            window(
                "parasternal_long_axis",
                "Left parasternal long axis",
                "phased",
                150.0,
                at_front(20.0, 260.0, [-0.8, 0.0, 0.6]),
            ),
        ],
    }
}

fn files(id: &str) -> (Vec<u8>, Vec<u8>) {
    let (centre, radii) = SKIN;
    let inset = |mm: f64| radii.map(|radius| radius - mm);
    let meshes = [
        ellipsoid("skin", centre, radii, 24),
        ellipsoid("skin/dermis", centre, inset(2.0), 24),
        ellipsoid("skin/muscle", centre, inset(14.0), 24),
        ellipsoid("liver", [-40.0, -35.0, 150.0], [90.0, 55.0, 60.0], 12),
        ellipsoid("aorta", [8.0, 30.0, 125.0], [9.0, 9.0, 125.0], 12),
    ];
    let json = catalogue(id).to_json().expect("finite numbers");
    (glb(&meshes), json)
}

/// The egg, read from its files.
pub(crate) fn body(id: &str) -> Arc<Body> {
    let (glb, json) = files(id);
    Arc::new(Body::read(&glb, &json).expect("a body"))
}

/// The same with the names that a language has for its parts.
pub(crate) fn body_named(id: &str, names: &Dictionary) -> Arc<Body> {
    let (glb, json) = files(id);
    let mut reader = BodyReader::new(&json).expect("facts");
    reader.rename(names);
    Arc::new(reader.finish(&glb).expect("a body"))
}

/// Facts and skin of the egg, as they are known before the whole file is there.
pub(crate) fn skin_only(id: &str) -> (Arc<BodyFacts>, Arc<SkinSurface>) {
    let (glb, json) = files(id);
    let mut reader = BodyReader::new(&json).expect("facts");
    let short = &glb[..glb.len() - 100];
    assert!(
        matches!(reader.feed(short), Ok(Stage::Skin(_))),
        "the skin comes first"
    );
    let skin = reader.skin().expect("the skin").clone();
    (Arc::new(reader.facts().clone()), Arc::new(skin))
}

/// A page opened with `fragment`, the egg loaded, without animations.
pub(crate) fn opened(fragment: &str) -> State {
    let mut state = State::new(fragment);
    let id = state.body_id().to_owned();
    act(&mut state, Action::SetReducedMotion(true));
    act(&mut state, Action::BodyArrived(body(&id)));
    state
}

/// Applies an action.
pub(crate) fn act(state: &mut State, action: Action) -> Changes {
    update(state, action)
}

/// Adds the triangles of another closed surface to a shape.
fn joined(mut shape: Shape, other: Shape) -> Shape {
    let first = u16::try_from(shape.positions.len()).expect("few vertices");
    shape.positions.extend(other.positions);
    let moved = other.triangles.iter().map(|t| t.map(|v| v + first));
    shape.triangles.extend(moved);
    shape
}

/// How far the doll's arms lean out on their way down.
const LEAN: f64 = 0.24;

/// One arm: an upright ellipsoid from the shoulder down, sheared to lean out.
fn arm(side: f64) -> Shape {
    let mut arm = ellipsoid("skin", [0.0, 20.0, 20.0], [40.0, 40.0, 340.0], 28);
    for at in &mut arm.positions {
        at[0] += side * (165.0 + LEAN * (320.0 - at[2]));
    }
    arm
}

/// A doll: a trunk with two arms hanging beside it and two legs, every part an ellipsoid, with the joints' landmarks
/// of the adult woman.
pub(crate) fn doll() -> Arc<Body> {
    static DOLL: OnceLock<Arc<Body>> = OnceLock::new();
    Arc::clone(DOLL.get_or_init(|| {
        let mut skin = ellipsoid("skin", [0.0, 0.0, 150.0], [140.0, 110.0, 420.0], 24);
        for side in [-1.0, 1.0] {
            skin = joined(skin, arm(side));
            let leg = ellipsoid("skin", [side * 82.0, 5.0, -560.0], [66.0, 66.0, 420.0], 28);
            skin = joined(skin, leg);
        }
        let mut catalogue = catalogue("adult_female");
        let mut humerus = structure("left_humerus", "Humerus", "skeletal", "muscle", 890);
        humerus.axis = Some(AxisEntry::Line {
            a: [165.0 + LEAN * 290.0, 20.0, 30.0],
            b: [160.0, 20.0, 340.0],
        });
        catalogue.structures = vec![humerus];
        catalogue.surfaces.truncate(1);
        let bone = ellipsoid("left_humerus", [195.0, 20.0, 190.0], [10.0, 10.0, 150.0], 8);
        catalogue
            .surfaces
            .push(surface("left_humerus", "muscle", 30));
        let json = catalogue.to_json().expect("finite numbers");
        Arc::new(Body::read(&glb(&[skin, bone]), &json).expect("a body"))
    }))
}

/// A page with the doll on it, without animations.
pub(crate) fn opened_with_doll() -> State {
    let mut state = State::new("");
    act(&mut state, Action::SetReducedMotion(true));
    act(&mut state, Action::BodyArrived(doll()));
    state
}
