"""What the movements of the probe do and do not change.

The invariants follow from the definitions of the movements (AIUM technical bulletin on transducer
manipulation, J Ultrasound Med 1999; 18: 169-175, names; signs are this project's own).
"""

import numpy
import pytest

import planeward

SEED = 20261125
COUNT = 400

# Twelve decimals are printed.
UNIT = 1e-11
DEGREES = 1e-6


def unit_vectors(generator, count):
    vectors = generator.normal(size=(count, 3))
    return vectors / numpy.linalg.norm(vectors, axis=1, keepdims=True)


def poses(generator, count):
    """Lines with random skin normals and angles."""
    return [
        {
            "normal": normal.tolist(),
            "rotation_deg": generator.uniform(0, 360),
            "tilt_deg": generator.uniform(-85, 85),
            "rock_deg": generator.uniform(-170, 170),
        }
        for normal in unit_vectors(generator, count)
    ]


@pytest.fixture
def generator():
    return numpy.random.default_rng(SEED)


def test_mark_and_notch_turned_together_give_the_same_picture(generator):
    notches, beams = unit_vectors(generator, COUNT), unit_vectors(generator, COUNT)
    pairs = list(zip(notches.tolist(), beams.tolist()))
    left = planeward.ask([{"notch": n, "beam": b, "mark": "left"} for n, b in pairs])
    right = planeward.ask(
        [{"notch": [-c for c in n], "beam": b, "mark": "right"} for n, b in pairs]
    )
    for one, other in zip(left, right):
        # The probe is held the other way round; everything that belongs to the picture is equal.
        turn = abs(one["pose"]["rotation_deg"] - other["pose"]["rotation_deg"])
        assert turn == pytest.approx(180, abs=DEGREES)
        for answer in (one, other):
            del answer["pose"]
        assert one == other


def test_moving_only_the_mark_swaps_exactly_left_and_right(generator):
    lines = poses(generator, COUNT)
    one = planeward.ask([{**line, "mark": "left"} for line in lines])
    other = planeward.ask([{**line, "mark": "right"} for line in lines])
    for a, b in zip(one, other):
        for names in ("sides", "sides_words"):
            assert a[names]["left"] == b[names]["right"]
            assert a[names]["right"] == b[names]["left"]
            assert a[names]["top"] == b[names]["top"]
            assert a[names]["bottom"] == b[names]["bottom"]
        assert (a["plane"], a["angles_deg"], a["oblique"]) == (
            b["plane"],
            b["angles_deg"],
            b["oblique"],
        )


def test_turning_the_picture_over_swaps_exactly_top_and_bottom(generator):
    lines = poses(generator, COUNT)
    one = planeward.ask([{**line, "apex": "top"} for line in lines])
    other = planeward.ask([{**line, "apex": "bottom"} for line in lines])
    for a, b in zip(one, other):
        assert (a["sides"]["top"], a["sides"]["bottom"]) == (
            b["sides"]["bottom"],
            b["sides"]["top"],
        )
        assert (a["sides"]["left"], a["plane"]) == (b["sides"]["left"], b["plane"])


def test_rock_never_changes_the_plane(generator):
    lines = poses(generator, COUNT)
    one = planeward.ask(lines)
    other = planeward.ask([{**line, "rock_deg": generator.uniform(-170, 170)} for line in lines])
    changed = 0
    for a, b in zip(one, other):
        for key in ("normal", "plane", "angles_deg", "oblique", "origin_mm"):
            assert a[key] == b[key], key
        changed += a["row"] != b["row"]
    assert changed == COUNT


def test_tilt_keeps_the_notch_and_rotation_keeps_the_beam(generator):
    lines = [{**line, "rock_deg": 0} for line in poses(generator, COUNT)]
    one = planeward.ask(lines)
    other = planeward.ask([{**line, "tilt_deg": generator.uniform(-85, 85)} for line in lines])
    for a, b in zip(one, other):
        assert a["row"] == pytest.approx(b["row"], abs=UNIT)
    upright = [{**line, "tilt_deg": 0} for line in lines]
    one = planeward.ask(upright)
    other = planeward.ask([{**line, "rotation_deg": generator.uniform(0, 360)} for line in upright])
    for a, b, line in zip(one, other, upright):
        assert a["column"] == pytest.approx(b["column"], abs=UNIT)
        assert a["column"] == pytest.approx([-c for c in line["normal"]], abs=UNIT)


def test_tilt_turns_the_plane_by_its_own_angle(generator):
    lines = [{**line, "tilt_deg": 0} for line in poses(generator, COUNT)]
    tilts = generator.uniform(-85, 85, COUNT)
    one = planeward.ask(lines)
    other = planeward.ask([{**line, "tilt_deg": tilt} for line, tilt in zip(lines, tilts)])
    for a, b, tilt in zip(one, other, tilts):
        cosine = numpy.clip(numpy.dot(a["normal"], b["normal"]), -1, 1)
        assert numpy.degrees(numpy.arccos(cosine)) == pytest.approx(abs(tilt), abs=1e-4)


def test_a_pose_is_read_back_from_its_own_notch_and_beam(generator):
    lines = poses(generator, COUNT)
    there = planeward.ask(lines)
    back = planeward.ask(
        [
            {
                "normal": line["normal"],
                "notch": [-c for c in answer["row"]],
                "beam": answer["column"],
            }
            for line, answer in zip(lines, there)
        ]
    )
    for line, answer in zip(lines, back):
        turn = answer["pose"]["rotation_deg"] - line["rotation_deg"]
        assert (turn + 180) % 360 - 180 == pytest.approx(0, abs=DEGREES)
        assert answer["pose"]["tilt_deg"] == pytest.approx(line["tilt_deg"], abs=DEGREES)
        assert answer["pose"]["rock_deg"] == pytest.approx(line["rock_deg"], abs=DEGREES)


def test_the_beam_wins_where_notch_and_beam_are_not_perpendicular(generator):
    notches, beams = unit_vectors(generator, COUNT), unit_vectors(generator, COUNT)
    lines = [{"notch": n, "beam": b} for n, b in zip(notches.tolist(), beams.tolist())]
    for notch, beam, answer in zip(notches, beams, planeward.ask(lines)):
        assert answer["column"] == pytest.approx(beam, abs=UNIT)
        across = notch - beam * (notch @ beam)
        across /= numpy.linalg.norm(across)
        assert answer["row"] == pytest.approx(-across, abs=1e-9)


def test_the_clock_face_on_the_front():
    """h o'clock points the notch to (sin 30h, 0, cos 30h): common practice, seen from the front."""
    lines = [{"normal": [0, -1, 0], "rotation_deg": 30 * hour} for hour in range(12)]
    for hour, answer in enumerate(planeward.ask(lines)):
        angle = numpy.radians(30 * hour)
        assert answer["row"] == pytest.approx([-numpy.sin(angle), 0, -numpy.cos(angle)], abs=UNIT)
