"""A round as the page would report it, and a course system's page around it."""

import json

STATE = "p1;0123456789abcdef;7k;1;tq8x4a;0.100.100.1.0.12.sagittal"


def answered(item_id: str, *, right: bool = True, percent: float = 50, progress: float = 0.5, state: str = STATE, **more):
    item = {
        "id": item_id,
        "kind": "plane_from_picture",
        "answer": "sagittal" if right else "coronal",
        "correct": "sagittal",
        "options": ["sagittal", "coronal", "transverse"],
        "outcome": "right" if right else "wrong",
        "score": 1 if right else 0,
        "points": 1,
        "latencyMs": 12_345,
        "words": "Which plane is this?",
        **more,
    }
    return {"type": "answered", "item": item, "percent": percent, "progress": progress, "state": state}


# Everything that a program may throw at a driver: other scripts, reserved marks, nothing, too much.
ODD = [
    answered("1 odd-name/ä"),
    answered("typed", options=[], answer="SAG, AO; {x} [,] “ü” \u2028", correct="SAG AO PROX", outcome="partly", score=0.333333),
    answered("long", options=[], answer="x" * 5000, correct="y" * 5000, outcome="wrong", score=0),
    answered("blank", options=[], answer="", correct="", outcome="unanswered", score=0, latencyMs=-5),
    answered("days", latencyMs=10**11, words="w" * 4000),
    answered("other", answer="not among them"),
    {"type": "answered"},
    {"type": "answered", "item": None, "percent": "x"},
    {"type": "unknown"},
    {"type": "state", "state": 7},
    {},
]

STARTED = {"type": "started", "passPercent": 80, "reportFailed": False}


def finished(percent: float = 85, passed=True, state: str = STATE):
    return {"type": "finished", "percent": percent, "passed": passed, "state": state}


def course_page(script: str, source: str = "/content/launch.html", attributes: str = "") -> str:
    return f"""<!doctype html><title>Course</title>{script}
<iframe id="content" src="{source}" {attributes} width="600" height="300"></iframe>"""


def content(page):
    """The frame with the package, once its driver has found out whether there is a course system."""
    handle = page.wait_for_selector("#content")
    frame = handle.content_frame()
    frame.wait_for_function("window.said && window.said.some((one) => ['connected', 'none'].includes(one.type))")
    return frame


def fire(frame, *details):
    for detail in details:
        frame.evaluate("(detail) => window.fire(detail)", detail)


def said(frame, kind: str) -> list:
    return [one for one in frame.evaluate("window.said") if one["type"] == kind]


def as_script(text: str) -> str:
    return f"<script>{text}</script>"


def dumped(value) -> str:
    return json.dumps(value)
