"""The sets that come with the page: their form, and whether each question can be asked on its body.

The command tries every question, drawn ones with the set's seed, by the route that course packages take.
"""

import json
import os
import pathlib
import subprocess

import pytest

FOLDER = pathlib.Path(__file__).resolve().parents[2] / "web" / "sets"
SETS = sorted(FOLDER.rglob("*.json"))
ENGLISH = sorted(FOLDER.glob("*.json"))
TRANSLATED = [path for path in SETS if path.parent != FOLDER]

# What a teacher says in own words; all else of a set is the same in every language.
WORDS = ("title", "description", "hint", "prompt", "language")

# One scenario for each of the first weeks of an introductory course.
FEWEST_SETS = 6


def test_there_are_sets_for_the_first_weeks():
    assert len(ENGLISH) >= FEWEST_SETS
    assert len(TRANSLATED) >= FEWEST_SETS


@pytest.mark.parametrize("path", SETS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_starter_set_can_be_played(path):
    command = [os.environ["PLANEWARD_BIN"], "check", str(path), "--bodies", os.environ["PLANEWARD_BODIES"]]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "note" not in done.stdout, f"nothing in it is without meaning: {done.stdout}"


@pytest.mark.parametrize("path", SETS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_starter_set_says_what_it_is_for(path):
    data = json.loads(path.read_text(encoding="utf-8"))
    assert data["title"] and len(data["description"]) >= 40
    assert len(data["questions"]) >= 5


def without_words(value):
    """A set without what is said in it, and the list of that, in the order of the file."""
    if isinstance(value, dict):
        said = [value[key] for key in value if key in WORDS]
        parts = {key: without_words(part) for key, part in value.items() if key not in WORDS}
        return {key: part for key, (part, _) in parts.items()}, said + [word for _, words in parts.values() for word in words]
    if isinstance(value, list):
        parts = [without_words(part) for part in value]
        return [part for part, _ in parts], [word for _, words in parts for word in words]
    return value, []


@pytest.mark.parametrize("path", TRANSLATED, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_set_in_another_language_asks_the_same(path):
    own = json.loads(path.read_text(encoding="utf-8"))
    other = json.loads((FOLDER / path.name).read_text(encoding="utf-8"))
    assert own["language"] == path.parent.name and other["language"] == "en"
    (shape, words), (wanted, english) = without_words(own), without_words(other)
    assert shape == wanted
    assert len(words) == len(english) and not set(words) & set(english), "every word of it is translated"
