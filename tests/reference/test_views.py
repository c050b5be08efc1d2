"""Every standard view of views.csv (sources: sources.md)."""

import csv
import pathlib

import pytest

import planeward

VIEWS = pathlib.Path(__file__).with_name("views.csv")

# Angles of the table are whole degrees and its vectors have three decimals.
ANGLE_DEG = 0.5

# Naming tolerances, the usual 20 degrees among them; none within ANGLE_DEG of an angle of the table.
TOLERANCES_DEG = (5.0, 10.0, 20.0, 23.5, 28.0, 32.5, 38.0)

# The vectors of these views are approximate, so that only the dominant letter of a side is theirs.
APPROXIMATE = ("Apical", "Subcostal", "Suprasternal")


def rows():
    with VIEWS.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def line(row, tolerance):
    vector = lambda name: [float(row[f"{name}_{axis}"]) for axis in "xyz"]
    return {
        "notch": vector("notch"),
        "beam": vector("beam"),
        "mark": row["mark"],
        "apex": row["apex"],
        "tolerance_deg": tolerance,
    }


@pytest.fixture(scope="module")
def answers():
    """Answers by view and tolerance."""
    asked = [(row, tolerance) for row in rows() for tolerance in TOLERANCES_DEG]
    given = planeward.ask([line(row, tolerance) for row, tolerance in asked])
    return {(row["id"], tolerance): one for (row, tolerance), one in zip(asked, given)}


def test_the_table_is_whole():
    assert len(rows()) == 59
    assert len({row["id"] for row in rows()}) == 59
    assert {row["mark"] for row in rows()} == {"left", "right"}
    assert {row["apex"] for row in rows()} == {"top", "bottom"}
    assert {row["plane"] for row in rows()} == {"sagittal", "coronal", "transverse"}
    assert sum(row["view"].startswith(APPROXIMATE) for row in rows()) == 4
    for row in rows():
        assert all(abs(float(row["off_deg"]) - t) > ANGLE_DEG for t in TOLERANCES_DEG), row["id"]


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["id"])
def test_sides(row, answers):
    answer = answers[row["id"], 20.0]
    letters = [answer["sides"][side] for side in ("left", "right", "top", "bottom")]
    letters += answer["patient_orientation"].split("\\")
    wanted = [row[side] for side in ("left", "right", "top", "bottom")]
    wanted += row["patient_orientation"].split("\\")
    if row["view"].startswith(APPROXIMATE):
        letters, wanted = [one[0] for one in letters], [one[0] for one in wanted]
    assert letters == wanted


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["id"])
def test_plane(row, answers):
    off = float(row["off_deg"])
    for tolerance in TOLERANCES_DEG:
        answer = answers[row["id"], tolerance]
        angles = answer["angles_deg"]
        assert min(angles, key=angles.get) == row["plane"]
        assert angles[row["plane"]] == pytest.approx(off, abs=ANGLE_DEG)
        if off < tolerance:
            assert (answer["plane"], answer["oblique"]) == (row["plane"], None)
        else:
            assert answer["plane"] == "oblique"
            assert answer["oblique"]["between"][0] == row["plane"]
