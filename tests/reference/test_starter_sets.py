"""The sets that come with the page: their form, and whether each question can be asked on its body.

The command tries every question, drawn ones with the set's seed, by the route that course packages take.
"""

import json
import os
import pathlib
import subprocess

import pytest

SETS = sorted((pathlib.Path(__file__).resolve().parents[2] / "web" / "sets").glob("*.json"))

# One scenario for each of the first weeks of an introductory course.
FEWEST_SETS = 6


def test_there_are_sets_for_the_first_weeks():
    assert len(SETS) >= FEWEST_SETS


@pytest.mark.parametrize("path", SETS, ids=lambda path: path.stem)
def test_a_starter_set_can_be_played(path):
    command = [os.environ["PLANEWARD_BIN"], "check", str(path), "--bodies", os.environ["PLANEWARD_BODIES"]]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "note" not in done.stdout, f"nothing in it is without meaning: {done.stdout}"


@pytest.mark.parametrize("path", SETS, ids=lambda path: path.stem)
def test_a_starter_set_says_what_it_is_for(path):
    data = json.loads(path.read_text(encoding="utf-8"))
    assert data["title"] and len(data["description"]) >= 40
    assert len(data["questions"]) >= 5
