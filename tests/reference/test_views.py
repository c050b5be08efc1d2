"""Every standard view of views.csv (sources: sources.md)."""

import csv
import pathlib

import pytest

import planeward

VIEWS = pathlib.Path(__file__).with_name("views.csv")

# Angles of the table are whole degrees, its vectors have three decimals: half a degree of rounding
# and a tenth for the vectors.
ANGLE_DEG = 0.6
TOLERANCE_DEG = 20.0


def rows():
    with VIEWS.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def line(row):
    vector = lambda name: [float(row[f"{name}_{axis}"]) for axis in "xyz"]
    return {
        "notch": vector("notch"),
        "beam": vector("beam"),
        "mark": row["mark"],
        "apex": row["apex"],
        "tolerance_deg": TOLERANCE_DEG,
    }


@pytest.fixture(scope="module")
def answers():
    return dict(zip((row["id"] for row in rows()), planeward.ask([line(row) for row in rows()])))


def test_the_table_is_whole():
    assert len(rows()) == 59
    assert {row["mark"] for row in rows()} == {"left", "right"}
    assert {row["apex"] for row in rows()} == {"top", "bottom"}
    assert {row["plane"] for row in rows()} == {"sagittal", "coronal", "transverse"}


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["id"])
def test_view(row, answers):
    answer = answers[row["id"]]
    assert answer["sides"] == {side: row[side] for side in ("left", "right", "top", "bottom")}
    assert answer["patient_orientation"] == row["patient_orientation"]
    off = float(row["off_deg"])
    assert answer["angles_deg"][row["plane"]] == pytest.approx(off, abs=ANGLE_DEG)
    assert min(answer["angles_deg"], key=answer["angles_deg"].get) == row["plane"]
    if off <= TOLERANCE_DEG:
        assert answer["plane"] == row["plane"]
        assert answer["oblique"] is None
    else:
        assert answer["plane"] == "oblique"
        assert answer["oblique"]["between"][0] == row["plane"]
