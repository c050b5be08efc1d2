"""Sizes of the bodies and soundness of their surfaces, measured on what the command exports.

The tables are those of `crates/sculpt/tests/data`, where every row names its source (published, or "from memory", or
"common practice"); there they are held against the formulas, here against the meshes, by trimesh and shapely.
"""

import re
import tomllib

import numpy
import pytest
import shapely
import trimesh

import planeward
from solids import ADULTS, BODIES, outline, piece_at, pieces, self_crossings, solids

TABLES = planeward.ROOT / "crates/sculpt/tests/data"
COLUMN = {"adult_female": "woman", "adult_male": "man"}

# How far volumes may be from what the descriptions yield: meshes of 0.7 mm tolerance, and a few planes.
MODEL_SHARE = 0.03
# How far a model may be from the reference: bodies differ more than this.
REFERENCE_SHARE = 0.20
# The same for outside measures.
SURVEY_SHARE = 0.075
# Planes whose areas add up to a volume.
PLANES = 40
# Distance of heights at which a girth is looked for, mm.
GIRTH_STEP = 8.0
# Structures that follow the skin come this close to it; meshes of both may then cross by their tolerances, mm.
SKIN_SLACK = 1.0
# Lengths and calibres may miss their range by what a mesh may miss of the surface on both sides, mm.
MESH_SLACK = 0.6


def table(name):
    with (TABLES / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


def rows(name, key):
    """One case for each body and row that has a value for it."""
    return [
        pytest.param(body, row, id=f"{body}-{row['what'].replace(' ', '_')}")
        for row in table(name)[key]
        for body in ADULTS
        if COLUMN[body] in row
    ]


def members(b, what):
    """Structures whose names a row of the table of volumes joins."""
    if what != "heart":
        return what.split("+")
    return [
        name
        for name, entry in b.structures.items()
        if entry["system"] == "cardiac" and name != "epicardial_fat"
    ]


@pytest.mark.parametrize(("body", "row"), rows("volumes", "volume"))
def test_volumes(body, row):
    b = solids(body)
    names = members(b, row["what"])
    if row["mode"] == "painted":
        volume = b.painted_ml(names, PLANES)
    else:
        suffix = "/wall" if row["mode"] == "wall" else ""
        volume = sum(b.meshes[name + suffix].volume for name in names) / 1000
    sizes = row[COLUMN[body]]
    print(f"{body} {row['what']}: {volume:.1f} mL")
    assert volume == pytest.approx(sizes["model"], rel=MODEL_SHARE)
    assert volume == pytest.approx(sizes["reference"], rel=REFERENCE_SHARE), row["source"]


@pytest.mark.parametrize(("body", "row"), rows("sizes", "length"))
def test_lengths(body, row):
    """Extent along the axis; of a tube along its centre line, with the round ends."""
    b = solids(body)
    name, entry = row["what"], b.structures[row["what"]]
    if "a" in entry["axis"]:
        start, end = b.axis(name)
        along = (end - start) / numpy.linalg.norm(end - start)
        places = b.vertices(name) @ along
        length = places.max() - places.min()
    else:
        steps = numpy.diff(b.line(name), axis=0)
        ends = [b.across(name, share) / 2 for share in (0.0, 1.0)]
        length = numpy.linalg.norm(steps, axis=1).sum() + sum(ends)
    low, high = row[COLUMN[body]]
    assert low - MESH_SLACK <= length * b.scale <= high + MESH_SLACK, row["source"]


@pytest.mark.parametrize(("body", "row"), rows("sizes", "calibre"))
def test_calibres(body, row):
    b = solids(body)
    name = row["what"]
    share = row.get("share")
    if share is None:
        share = b.share_at(name, row["z"])
    node = f"{name}/wall" if row["edge"] == "outer" else name
    low, high = row[COLUMN[body]]
    calibre = b.across(name, share, node) * b.scale
    assert low - MESH_SLACK <= calibre <= high + MESH_SLACK, row["source"]


def outside_measure(b, row, z):
    """A measure of the skin at a height, mm."""
    shape = b.slice_mm("skin", z)
    match row["part"]:
        case "body":
            part = piece_at(shape, 0, 0)
        case "torso":
            # A tape runs under the arms: above the armpits the trunk is as broad as where they still hang free.
            lower = (b.slice_mm("skin", z - GIRTH_STEP * k) for k in range(20))
            free = next(slice for slice in lower if len(pieces(slice)) >= 3)
            half = max(abs(x) for x in piece_at(free, 0, 0).bounds[::2])
            part = piece_at(shape.intersection(shapely.box(-half, -400, half, 400)), 0, 0)
        case "leg":
            part = piece_at(shape.intersection(shapely.box(0, -400, 400, 400)), 82, 5)
        case "whole":
            low, _, high, _ = shape.bounds
            return 2 * max(high, -low)
    low_x, low_y, high_x, high_y = part.bounds
    return {
        # A tape bridges hollows.
        "girth": part.convex_hull.length,
        "breadth": high_x - low_x,
        "depth": high_y - low_y,
    }[row["measure"]]


@pytest.mark.parametrize(("body", "row"), rows("girths", "measure"))
def test_outside_measures(body, row):
    """Survey values of adults, from memory (about the 50th percentile)."""
    b = solids(body)
    low, high = row[COLUMN[body]]["z"]
    heights = numpy.linspace(low, high, int(numpy.ceil((high - low) / GIRTH_STEP)) + 1)
    found = [outside_measure(b, row, z) for z in heights]
    value = (max if row["pick"] == "largest" else min)(found)
    survey = row[COLUMN[body]]["survey"]
    print(f"{body} {row['what']}: {value:.0f} mm, survey {survey}")
    assert value == pytest.approx(survey, rel=SURVEY_SHARE)


@pytest.mark.parametrize("body", BODIES)
def test_nothing_lies_outside_the_skin(body):
    b = solids(body)
    low, high = b.meshes["skin"].bounds[:, 2]
    outside = []
    for z in numpy.arange(low + 5, high, 20.0 if body in ADULTS else 5.0):
        room = b.slice_mm("skin", z).buffer(SKIN_SLACK)
        outside += [
            (node, float(z))
            for node in b.meshes
            if not b.slice_mm(node, z).difference(room).is_empty
        ]
    assert not outside


# Parts of a structure that its description makes of several pieces; all others are one.
PIECES = {
    "skull": 2,  # with the lower jaw
    "intervertebral_discs": 23,
    "arch_branches": 2,
    "renal_pyramids": 12,
    "ovarian_follicles": 3,
    "forearm_bones": 2,
    "costal_cartilages": 8,
    "pulmonary_veins": 4,
    "papillary_muscles": 2,
    "mitral_valve": 2,
    "tricuspid_valve": 2,
    "foot_bones": 4,
}


def bodies_of(mesh):
    """Connected parts of a mesh that enclose something; the rest bound hollows."""
    return [part for part in mesh.split(only_watertight=False) if part.volume > 0]


@pytest.mark.parametrize("body", BODIES)
def test_surfaces_are_closed_outward_and_in_one_piece(body):
    b = solids(body)
    faults = []
    for node, mesh in b.meshes.items():
        if not (mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0):
            faults.append(f"{node} is not closed or faces inward")
        allowed = PIECES.get(re.sub("^(left|right)_|/.*$", "", node), 1)
        # An infant's pia and sulci are described as many pieces.
        if body in ADULTS and len(bodies_of(mesh)) > allowed:
            faults.append(f"{node} is in {len(bodies_of(mesh))} pieces, not {allowed}")
    assert not faults


@pytest.mark.parametrize("body", ADULTS)
def test_triangles_of_a_body(body):
    """Few enough to load, many enough to look smooth (common practice, no source)."""
    assert 100_000 <= sum(len(mesh.faces) for mesh in solids(body).meshes.values()) <= 300_000


# Names that tell one of two vessels of which the other is not in the bodies.
ALONE = {"left_gastric_artery"}


@pytest.mark.parametrize("body", BODIES)
def test_there_are_two_of_each_left_and_right(body):
    b = solids(body)
    faults = []
    for name, entry in b.structures.items():
        side, _, rest = name.partition("_")
        if side not in ("left", "right") or name in ALONE:
            continue
        other = {"left": "right", "right": "left"}[side] + "_" + rest
        if other not in b.structures:
            faults.append(f"{name} has no {other}")
            continue
        if entry["side"] == "mid" or entry["system"] == "cardiac":
            continue
        if entry["side"] != side or not entry["label"].lower().startswith(side):
            faults.append(f"{name} is called {entry['label']}, {entry['side']}")
        x = b.middle(name)[0]
        if (x > b.middle(other)[0]) != (side == "left"):
            faults.append(f"{name} lies at x {x:.0f} mm")
    assert not faults


def head_girth(b):
    return max(piece_at(b.slice_mm("skin", z), 0, 0).convex_hull.length for z in range(20, 44, 2))


def mid_plane(b, name):
    """The section of a structure in the mid-sagittal plane: y, z."""
    return outline(b.meshes[name], [0, 0, 0], [0, 1, 0], [0, 0, 1])


def callosum_over_third_ventricle(b):
    """Height of the corpus callosum's underside over the third ventricle, mm."""
    low, high = b.range("third_ventricle", 1)
    over = mid_plane(b, "corpus_callosum").intersection(shapely.box(low, -100, high, 200))
    return over.bounds[1] - b.range("third_ventricle", 2)[1]


def ventricle_wall(b):
    """The body of the lateral ventricle: behind the foramen, in front of the atrium."""
    places = b.vertices("left_lateral_ventricle")
    body = places[(places[:, 1] > -9) & (places[:, 1] < 10) & (places[:, 2] > 36)]
    return body[:, 0].max()


def extent(name, axis):
    return lambda b: b.range(name, axis)[1] - b.range(name, axis)[0]


def behind(b):
    return b.middle("cerebellar_hemispheres")[1] - b.middle("left_thalamus")[1]


def below(b):
    return b.middle("left_thalamus")[2] - b.middle("cerebellar_hemispheres")[2]


# Sizes of a term neonate's head, mm: what, measured how, least, most, source.
NEONATE = [
    ("head circumference", head_girth, 330, 360, "growth charts at term, from memory"),
    ("anterior fontanelle across", extent("anterior_fontanelle", 0), 20, 32, "from memory"),
    ("anterior fontanelle along", extent("anterior_fontanelle", 1), 20, 32, "from memory"),
    ("lateral ventricle, outer wall from the mid-line", ventricle_wall, 7, 14, "from memory"),
    (
        "third ventricle wide",
        lambda b: b.at("third_ventricle", 26.5).width,
        2,
        4,
        "from memory",
    ),
    (
        "left thalamus beside the third ventricle",
        lambda b: b.at("left_thalamus", 26.5).x - b.at("third_ventricle", 26.5).x_range[1],
        0,
        30,
        "from memory",
    ),
    (
        "right thalamus beside the third ventricle",
        lambda b: b.at("third_ventricle", 26.5).x_range[0] - b.at("right_thalamus", 26.5).x,
        0,
        30,
        "from memory",
    ),
    (
        "choroid plexus begins behind the foramen",
        lambda b: b.range("left_choroid_plexus", 1)[0],
        -10,
        30,
        "absent in the frontal horn, from memory",
    ),
    (
        "corpus callosum long",
        lambda b: mid_plane(b, "corpus_callosum").bounds[2]
        - mid_plane(b, "corpus_callosum").bounds[0],
        38,
        52,
        "from memory",
    ),
    (
        "corpus callosum above the third ventricle",
        callosum_over_third_ventricle,
        0,
        30,
        "from memory",
    ),
    ("cerebellum wide", extent("cerebellar_hemispheres", 0), 48, 58, "from memory"),
    ("cerebellum behind the thalami", behind, 15, 60, "from memory"),
    ("cerebellum below the thalami", below, 15, 60, "from memory"),
]


@pytest.mark.parametrize(("what", "measure", "low", "high", "source"), NEONATE)
def test_the_infants_head(what, measure, low, high, source):
    value = measure(solids("infant_head"))
    assert low <= value <= high, f"{what}: {value:.1f} mm ({source})"


@pytest.mark.parametrize("body", BODIES)
def test_no_surface_passes_through_itself(body):
    crossing = {node: self_crossings(mesh) for node, mesh in solids(body).meshes.items()}
    assert not {node: len(pairs) for node, pairs in crossing.items() if pairs}


def test_surfaces_that_pass_through_each_other_are_found():
    ball = trimesh.creation.icosphere(1, 5.0)
    for apart, crosses in ((4.1, True), (14.0, False)):
        other = ball.copy()
        other.apply_translation([apart, 0.3, 0.2])
        both = trimesh.util.concatenate([ball, other])
        assert bool(self_crossings(both)) == crosses
