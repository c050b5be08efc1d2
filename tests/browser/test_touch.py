"""The scan screen by fingers on a phone held upright: seen, moved, understood, taken back.

A finger's path is sent as the browser's own touch events; a tap is Playwright's.
"""

import re

import pytest
import scene
from harness import shot
from test_access import too_small

FRONT = "v1.body=adult_female&at=0,-110,118&out=-90,0"

PHONE = {"has_touch": True, "is_mobile": True, "device_scale_factor": 2}


class Fingers:
    """Touch events of the browser, a list of places at a time."""

    def __init__(self, page):
        self.client = page.context.new_cdp_session(page)

    def send(self, kind: str, places):
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(places)]
        self.client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def path(self, *steps):
        """Every step is a list of places, one a finger."""
        self.send("touchStart", steps[0])
        for step in steps[1:]:
            self.send("touchMove", step)
        self.send("touchEnd", [])


def opened(new_page, site, fragment=FRONT):
    page = new_page(360, 740, **PHONE)
    scene.open_scan(page, site, fragment)
    return page, Fingers(page)


def in_sight(page, selector: str) -> dict:
    page.locator(selector).evaluate("e => e.scrollIntoView({ block: 'center' })")
    return scene.box(page, selector)


@pytest.mark.undrawn
def test_the_notch_is_in_sight_and_turns_under_a_finger(new_page, site):
    page, fingers = opened(new_page, site)
    # Without scrolling: both views, the plane's name, and the top of the dial.
    assert page.evaluate("scrollY") == 0
    knob = scene.box(page, ".dial .knob")
    assert knob["y"] + knob["height"] < 740, knob
    box = in_sight(page, scene.DIAL)
    x, y, reach = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, box["width"] * 0.35
    scrolled = page.evaluate("scrollY")
    fingers.path([(x, y - reach)], [(x - reach * 0.7, y - reach * 0.7)], [(x - reach, y)])
    scene.settle(page)
    assert abs(int(page.locator(scene.DIAL).get_attribute("aria-valuenow")) - 270) <= 2
    assert page.evaluate("scrollY") == scrolled, "the page does not scroll along"
    assert scene.plane(page) == "Transverse plane"
    assert scene.sides(page) == {"left": "R", "right": "L", "top": "A", "bottom": "P"}
    assert page.locator(".follows").inner_text() == "Image left is the notch's side. It shows: patient's right."
    page.get_by_role("button", name="Reverse the notch").tap()
    scene.settle(page)
    assert page.locator(".follows").inner_text() == "Image left is the notch's side. It shows: patient's left."
    page.get_by_role("radio", name=re.compile("image right", re.I)).first.tap()
    scene.settle(page)
    assert page.locator(".follows").inner_text() == "Image right is the notch's side. It shows: patient's left."
    for _ in range(3):
        page.get_by_role("button", name="Undo", exact=True).tap()
        scene.settle(page)
    assert scene.plane(page) == "Mid-sagittal plane"
    assert not too_small(page)
    scene.no_sideways_scroll(page)


@pytest.mark.undrawn
def test_a_tap_on_the_skin_puts_the_probe_there(new_page, site):
    page, _ = opened(new_page, site)
    box = scene.box(page, scene.BODY)
    before = page.locator("#description").text_content()
    assert "front of the upper abdomen" in before, before
    # The right thigh, as the first viewpoint shows it.
    page.touchscreen.tap(box["x"] + box["width"] * 0.68, box["y"] + box["height"] * 0.8)
    page.wait_for_function("before => document.querySelector('#description').textContent !== before", arg=before)
    scene.settle(page)
    now = page.locator("#description").text_content()
    assert "right" in now.split("Notch")[0], now
    # A tap beside the body moves nothing.
    page.touchscreen.tap(box["x"] + box["width"] - 10, box["y"] + 10)
    scene.settle(page)
    assert page.locator("#description").text_content() == now


@pytest.mark.undrawn
def test_the_body_view_turns_and_zooms(new_page, site):
    page, fingers = opened(new_page, site)
    box = scene.box(page, scene.BODY)
    tag = ".tag.notch"
    first = scene.box(page, tag)
    # One finger beside the body turns the view, two pull it nearer.
    low = (box["x"] + 30, box["y"] + box["height"] - 20)
    fingers.path([low], [(low[0] + 30, low[1])], [(low[0] + 70, low[1])])
    scene.settle(page)
    turned = scene.box(page, tag)
    assert abs(turned["x"] - first["x"]) + abs(turned["y"] - first["y"]) > 3, "the view turned"
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    arrows = ".tag:has-text('head end')", ".tag:has-text('foot end')"

    def span() -> float:
        head, foot = [scene.box(page, arrow) for arrow in arrows]
        return abs(head["x"] - foot["x"]) + abs(head["y"] - foot["y"])

    before = span()
    fingers.path([(x - 20, y), (x + 20, y)], [(x - 35, y), (x + 35, y)], [(x - 45, y), (x + 45, y)])
    scene.settle(page)
    assert span() > before * 1.2, "two fingers pull it nearer"


@pytest.mark.undrawn
def test_names_answer_and_the_volume_comes_by_taps(new_page, site):
    page, _ = opened(new_page, site, FRONT + "&probe=volume_convex&depth=150")
    page.get_by_role("button", name=re.compile("Name of the plane")).tap()
    page.locator("#why").wait_for()
    assert "Why sagittal" in page.locator("#why-title").inner_text() or "sagittal" in page.locator("#why").inner_text()
    page.locator("#why").get_by_role("button", name="Close").tap()
    page.locator("#why").wait_for(state="hidden")
    # A tap in the picture names what lies there, and the name stays when the finger is lifted.
    box = scene.box(page, scene.PICTURE)
    page.touchscreen.tap(box["x"] + box["width"] * 0.42, box["y"] + box["height"] * 0.45)
    page.wait_for_function("() => document.querySelector('#under-cursor b').textContent")
    summary = page.locator("#volume > summary")
    summary.tap()
    page.get_by_label("Show the planes").tap()
    page.locator(".plane-picture canvas").first.wait_for()
    deep = page.locator("#volume-deep-number")
    before = float(deep.input_value())
    small = page.locator(".plane-picture canvas").first
    small.evaluate("e => e.scrollIntoView({ block: 'end' })")
    place = small.bounding_box()
    page.touchscreen.tap(place["x"] + place["width"] * 0.5, place["y"] + place["height"] * 0.8)
    scene.settle(page)
    assert float(deep.input_value()) > before, "a tap in a plane moves the point"
    shot(page, "touch_volume")
    assert not too_small(page)
    scene.no_sideways_scroll(page)
