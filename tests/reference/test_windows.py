"""The answers of the command for every named window, as a learner gets them: real fields of view, meshes as baked.

What a window promises stands in `models/windows.toml` beside it: structures that must be in the picture, and how
the plane shows their axes (windows after common practice, no source, unless the file names one).
"""

import pytest

import planeward

BODIES = {"adult_female": 48, "adult_male": 47, "infant_head": 7}


@pytest.fixture(scope="module", params=BODIES)
def answers(request):
    """Body, and each of its windows with the answer of `describe`."""
    windows = planeward.listing("windows", "--body", request.param)
    lines = [{"body": request.param, "window": window["id"]} for window in windows]
    return request.param, list(zip(windows, planeward.ask(lines), strict=True))


def test_there_are_as_many_windows_as_the_bodies_have(answers):
    body, found = answers
    assert len(found) == BODIES[body]


def test_every_window_shows_what_it_must(answers):
    body, found = answers
    missing = []
    for window, answer in found:
        assert window["must_see"], window["id"]
        seen = {structure["id"] for structure in answer["structures"]}
        missing += [(window["id"], name) for name in window["must_see"] if name not in seen]
    assert not missing, body


def test_every_window_shows_axes_as_it_says(answers):
    body, found = answers
    wrong = []
    for window, answer in found:
        seen = {structure["id"]: structure["axis"] for structure in answer["structures"]}
        wrong += [
            (window["id"], claim["id"], claim["axis"], seen.get(claim["id"]))
            for claim in window["axis_of"]
            if seen.get(claim["id"]) != claim["axis"]
        ]
    assert not wrong, body


def test_sections_of_windows_have_outlines_of_what_they_must_show(answers):
    body, found = answers
    lines = [{"window": window["id"]} for window, _ in found]
    sections = planeward.ask(lines, "section", "--body", body)
    missing = []
    for (window, _), section in zip(found, sections, strict=True):
        cut = {surface["structure"] for surface in section["surfaces"] if surface["loops"]}
        missing += [(window["id"], name) for name in window["must_see"] if name not in cut]
    assert not missing, body
