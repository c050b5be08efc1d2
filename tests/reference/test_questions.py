"""Generated questions answered by another route: axes from the exported angles with numpy, names from those axes.

The frames are DICOM's patient frame (LPS, PS3.3 C.7.6.2.1.1); the rules for names, sides and senses of rotation are the
project's own, written here a second time from their description, not from the program.
"""

import json

import numpy
import pytest

import planeward

SEED = 4000
COUNT = 10_000

# No question may come closer than this to a border, degrees; printed angles carry nine decimals.
BORDER = 5.0
ROUNDING = 1e-6

SIDES = {
    "right": (-1, 0, 0),
    "left": (1, 0, 0),
    "front": (0, -1, 0),
    "back": (0, 1, 0),
    "head": (0, 0, 1),
    "feet": (0, 0, -1),
}
OPPOSITE = {"right": "left", "front": "back", "head": "feet"}
OPPOSITE |= {there: here for here, there in OPPOSITE.items()}


@pytest.fixture(scope="module")
def questions():
    text = planeward.run(["questions", "--seed", str(SEED), "--count", str(COUNT)])
    found = [json.loads(line) for line in text.splitlines()]
    assert len(found) == COUNT
    return found


@pytest.fixture(scope="module")
def catalogues():
    return {
        name: json.loads((planeward.ROOT / ".bake" / f"{name}.json").read_text())
        for name in ("adult_female", "adult_male", "infant_head")
    }


def turn(vector, axis, degrees):
    """Rotation of a vector about a unit axis, right-handed (Rodrigues)."""
    angle = numpy.radians(degrees)
    return (
        vector * numpy.cos(angle)
        + numpy.cross(axis, vector) * numpy.sin(angle)
        + axis * (axis @ vector) * (1 - numpy.cos(angle))
    )


def axes(placement):
    """Notch, beam and the elevation between them, from the clock face on the skin and the three angles."""
    outward = numpy.array(placement["normal"])
    head = numpy.array([0.0, 0.0, 1.0])
    if abs(outward @ head) >= numpy.cos(numpy.radians(30)):
        head = numpy.array([0.0, -1.0, 0.0])
    twelve = head - outward * (head @ outward)
    twelve /= numpy.linalg.norm(twelve)
    # Clockwise for who looks at the skin from outside is right-handed about the inward normal.
    inward = -outward
    notch = turn(twelve, inward, placement["rotation_deg"])
    beam = inward
    # Positive tilt swings the beam toward beam × notch, which is left-handed about the notch.
    beam = turn(beam, notch, -placement["tilt_deg"])
    elevation = numpy.cross(beam, notch)
    # Positive rock swings the beam toward the notch.
    notch, beam = (
        turn(notch, elevation, placement["rock_deg"]),
        turn(beam, elevation, placement["rock_deg"]),
    )
    return notch, beam, elevation


def image_sides(placement):
    notch, beam, _ = axes(placement)
    mark, other = ("left", "right") if placement["mark"] == "left" else ("right", "left")
    near, far = ("top", "bottom") if placement["apex"] == "top" else ("bottom", "top")
    return {mark: notch, other: -notch, near: -beam, far: beam}


def nearest_side(direction):
    off = {
        name: numpy.degrees(numpy.arccos(numpy.clip(direction @ numpy.array(axis), -1, 1)))
        for name, axis in SIDES.items()
    }
    name = min(off, key=off.get)
    assert off[name] <= 45 - BORDER + ROUNDING, f"{off[name]} degrees off"
    return name


def plane_word(placement, tolerance):
    _, _, normal = axes(placement)
    off = numpy.degrees(numpy.arccos(numpy.clip(numpy.abs(normal), 0, 1)))
    names = ("sagittal", "coronal", "transverse")
    nearest = int(numpy.argmin(off))
    assert abs(off[nearest] - tolerance) >= BORDER - ROUNDING
    if off[nearest] < tolerance:
        return names[nearest]
    assert abs(off[2] - 45) >= BORDER - ROUNDING
    return "longitudinal_oblique" if off[2] > 45 else "transverse_oblique"


def of_kind(questions, *kinds):
    found = [one for one in questions if one["kind"] in kinds]
    assert len(found) >= COUNT // 10 * len(kinds)
    return found


def right(question, asked):
    return next(part["right"] for part in question["parts"] if part["asked"] == asked)


def test_planes(questions):
    for one in of_kind(questions, "plane_from_probe", "plane_from_picture", "axis"):
        view = one["view"]
        assert right(one, "plane") == plane_word(view, view["tolerance_deg"]), one["seed"]


def test_sides_of_the_picture(questions):
    for one in of_kind(questions, "side"):
        asked = one["parts"][0]["image_side"]
        side = nearest_side(image_sides(one["view"])[asked])
        assert right(one, "image_side") == f"toward_{side}", one["seed"]


def test_notches(questions):
    for one in of_kind(questions, "notch_from_picture"):
        side = nearest_side(axes(one["view"])[0])
        assert right(one, "notch") == f"toward_{side}", one["seed"]


def moved(before, after):
    """The movement that leads from one placement to the other."""
    notch, _, elevation = axes(before)
    went = numpy.array(after["contact_mm"]) - numpy.array(before["contact_mm"])
    if numpy.linalg.norm(went) > 1:
        return "slide_" + nearest_side(went / numpy.linalg.norm(went))
    pressed = after["press_mm"] - before["press_mm"]
    if abs(pressed) > 1:
        return "press" if pressed > 0 else "release"
    # The one rotation that carries the probe's axes over, and which of the probe's own axes it is about.
    there = numpy.column_stack(axes(after)) @ numpy.column_stack(axes(before)).T
    about = numpy.array(
        [there[2, 1] - there[1, 2], there[0, 2] - there[2, 0], there[1, 0] - there[0, 1]]
    )
    about /= numpy.linalg.norm(about)
    inward = -numpy.array(before["normal"])
    unrocked = turn(notch, elevation, -before["rock_deg"])
    by = {"rotate": about @ inward, "tilt": -(about @ unrocked), "rock": about @ elevation}
    name = max(by, key=lambda each: abs(by[each]))
    assert abs(by[name]) > 1 - 1e-6, by
    if name == "tilt":
        side = nearest_side(elevation)
        return "tilt_" + (side if by[name] > 0 else OPPOSITE[side])
    if name == "rock":
        return "rock_to_notch" if by[name] > 0 else "rock_from_notch"
    # Right-handed about the inward normal is clockwise seen from outside.
    return "rotate_clockwise" if by[name] > 0 else "rotate_counterclockwise"


def test_movements(questions):
    for one in of_kind(questions, "next_move"):
        before = one["view"]
        after = one["after"]
        assert right(one, "move") == moved(before, after), one["seed"]


def test_shapes(questions):
    """Which transducer has which face is the table of the program; here it is written down once more."""
    shapes = {
        "convex": "curved",
        "volume_convex": "curved",
        "linear": "flat",
        "linear_narrow": "flat",
        "hockey_stick": "flat",
        "micro_convex": "tightly_curved",
        "endocavity": "tightly_curved",
        "phased": "point",
    }
    seen = set()
    for one in of_kind(questions, "transducer_from_picture"):
        assert right(one, "shape") == shapes[one["view"]["transducer"]], one["seed"]
        seen.add(one["view"]["transducer"])
    assert seen == set(shapes)


def axis_direction(structure, placement, aim):
    """Direction of a structure's long axis where the plane meets it, from the catalogue of the body."""
    axis = structure["axis"]
    if axis["kind"] != "centre_line":
        return numpy.array(axis["b"]) - numpy.array(axis["a"])
    points = numpy.array(structure["centre_line"])
    _, _, normal = axes(placement)
    origin = numpy.array(placement["contact_mm"]) - placement["press_mm"] * numpy.array(
        placement["normal"]
    )
    heights = (points - origin) @ normal
    best = None
    for i in range(len(points) - 1):
        if (heights[i] >= 0) == (heights[i + 1] >= 0):
            continue
        share = heights[i] / (heights[i] - heights[i + 1])
        at = points[i] + share * (points[i + 1] - points[i])
        distance = numpy.linalg.norm(at - aim)
        if best is None or distance < best[0]:
            best = (distance, points[i + 1] - points[i])
    return None if best is None else best[1]


# A centre line is a polyline here and a smoothed one in the program: where it bends they differ by less than this.
BEND = 12.0


def test_axes(questions, catalogues):
    compared = 0
    for one in of_kind(questions, "axis"):
        subject, view = one["subject"], one["view"]
        structures = {each["id"]: each for each in catalogues[view["body"]]["structures"]}
        structure = structures[subject["structure"]]
        along = axis_direction(structure, view, numpy.array(subject["aim_mm"]))
        said = subject["axis_deg"]
        wanted = "long" if said <= 20 else "short" if said >= 70 else "oblique"
        assert subject["axis"] == wanted, one["seed"]
        assert right(one, "axis") == {"long": "long_axis", "short": "short_axis"}.get(
            wanted, "oblique_to_axis"
        )
        assert min(abs(said - 20), abs(said - 70)) >= BORDER - ROUNDING
        if along is None:
            continue
        _, _, normal = axes(view)
        sine = abs(along @ normal) / numpy.linalg.norm(along)
        angle = numpy.degrees(numpy.arcsin(min(sine, 1)))
        straight = structure["axis"]["kind"] != "centre_line"
        if straight:
            assert angle == pytest.approx(said, abs=1e-3), one["seed"]
            compared += 1
        elif abs(angle - said) < BEND:
            compared += 1
    assert compared >= 0.8 * COUNT / 10


def test_wanted_views(questions):
    for one in of_kind(questions, "place_probe"):
        view = one["view"]
        plane_word(view, view["tolerance_deg"])
        nearest_side(image_sides(view)["left"])
        _, beam, normal = axes(view)
        aim = numpy.array(one["subject"]["aim_mm"]) - numpy.array(view["contact_mm"])
        assert abs(aim @ normal) <= 10.1, "the plane meets the aim"
        third = view["depth_mm"] / 3
        # Depth is measured along the beam; the field's own curvature moves it by a few millimetres.
        assert third - 5 <= aim @ beam <= 2 * third + 5, one["seed"]


def test_written_sides(questions):
    for one in of_kind(questions, "annotate"):
        # Only one of a pair needs its side: the aorta lies on the left and has no counterpart.
        name = one["subject"]["structure"].split("_")[0]
        side = name if name in ("left", "right") else None
        assert one.get("write_side") == side, one["seed"]
        plane_word(one["view"], one["view"]["tolerance_deg"])


def test_faults(questions):
    for one in of_kind(questions, "find_the_fault"):
        view, shown = one["view"], one["disagreement"]
        picture = shown["picture"]
        body_sides, picture_sides = image_sides(view), image_sides(picture)
        notch = nearest_side(axes(view)[0])
        found = []
        if picture["mark"] != shown["department"]:
            found.append(("mark_on_other_side", f"mark_at_image_{shown['department']}"))
        elif not numpy.allclose(body_sides["left"], picture_sides["left"], atol=1e-6):
            assert numpy.allclose(body_sides["left"], picture_sides["right"], atol=1e-6)
            found.append(("notch_reversed", f"notch_{OPPOSITE[notch]}"))
        if shown["depth_letters_exchanged"]:
            found.append(("depth_letters", f"top_{nearest_side(body_sides['top'])}"))
        standing = "right" if view["contact_mm"][0] < 0 else "left"
        if shown["caption"] and shown["caption"] != standing:
            found.append(("body_side", f"caption_{standing}"))
        assert found == [(right(one, "fault"), right(one, "repair"))], one["seed"]


def test_every_kind_level_and_body_is_there(questions):
    kinds = {one["kind"] for one in questions}
    assert len(kinds) == 10
    assert {one["level"] for one in questions} == {"easy", "medium", "hard"}
    assert {one["view"]["body"] for one in questions} == {
        "adult_female",
        "adult_male",
        "infant_head",
    }
    for one in questions:
        for part in one["parts"]:
            assert part["options"].count(part["right"]) == 1
            assert len(set(part["options"])) == len(part["options"])
