"""Predict, then see: the learner says where a side of the patient will be, and the notch turns to show it.

What is right follows by hand: on the front of the body with the notch to the head, image left shows the head; half a turn
brings it to image right, a quarter turn leaves a transverse plane that the head end is beside.
"""

import re

import pytest
import scene
from harness import assert_accessible, shot
from test_access import tab_to, too_small

FRONT = "v1.body=adult_female&at=0,-110,118&out=-90,0"

PREDICT = "Let me predict before the notch turns"
QUESTION = "#predict-question"
VERDICT = "#predict-verdict"


def dial(page) -> str:
    return page.locator(scene.DIAL).get_attribute("aria-valuenow")


def answer(page, name: str):
    return page.locator(".predict .answers").get_by_role("button", name=name, exact=True)


def test_with_a_mouse(page, site):
    scene.open_scan(page, site, FRONT)
    page.get_by_label(PREDICT).check()
    page.get_by_role("button", name="Reverse the notch").click()
    page.locator(QUESTION).wait_for()
    assert page.locator(QUESTION).inner_text() == "Image left now shows the head end. Where will it be after half a turn of the notch?"
    assert dial(page) == "0", "the notch waits"
    shot(page, "predict_question")
    # The answers stand where the sides of the picture are.
    places = {name: answer(page, name).bounding_box() for name in ["Image left", "Image right", "Image top", "Image bottom", "At no side"]}
    across = [places[name]["x"] for name in ["Image left", "At no side", "Image right"]]
    down = [places[name]["y"] for name in ["Image top", "At no side", "Image bottom"]]
    assert across == sorted(set(across)) and down == sorted(set(down)), places
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    assert not too_small(page)

    answer(page, "Image left").click()
    page.locator(VERDICT).wait_for()
    scene.settle(page)
    assert page.locator(VERDICT).inner_text() == "No: the head end is at image right."
    assert dial(page) == "180", "the notch turned to show it"
    assert scene.sides(page)["right"] == "H"
    assert not page.locator(".predict .answers").is_visible()
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    shot(page, "predict_verdict")
    page.locator(".predict").get_by_role("button", name="Why?").click()
    page.locator("#why").wait_for()
    assert "image right" in page.locator("#why").inner_text().lower()

    # Another view has no answer any more.
    page.get_by_role("button", name="Undo", exact=True).click()
    page.locator(VERDICT).wait_for(state="hidden")
    page.get_by_role("button", name=re.compile("quarter turn clockwise", re.I)).click()
    answer(page, "At no side").click()
    page.locator(VERDICT).wait_for()
    assert page.locator(VERDICT).inner_text().startswith("Yes: the head end is at no side")
    page.get_by_role("button", name="Reverse the notch").click()
    page.locator(".predict").get_by_role("button", name="Not now").click()
    page.locator(QUESTION).wait_for(state="hidden")
    page.get_by_label(PREDICT).uncheck()
    page.get_by_role("button", name="Undo", exact=True).click()
    scene.settle(page)
    page.get_by_role("button", name="Reverse the notch").click()
    scene.settle(page)
    assert dial(page) == "180", "turns at once"
    assert not page.locator(QUESTION).is_visible()


@pytest.mark.undrawn
def test_with_keys_alone(page, site):
    scene.open_scan(page, site, FRONT)
    tab_to(page, PREDICT)
    page.keyboard.press("Space")
    page.locator(scene.BODY).focus()
    page.keyboard.press("n")
    page.locator(QUESTION).wait_for()
    here = "document.activeElement.id"
    assert page.evaluate(here) == "predict-question", "the question is read"
    for _ in range(2):
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Image right"
    page.keyboard.press("Enter")
    page.locator(VERDICT).wait_for()
    assert page.evaluate(here) == "predict-verdict", "and then the answer"
    assert page.locator(VERDICT).inner_text() == "Yes: the head end is at image right."
    page.keyboard.press("Escape")
    page.locator(VERDICT).wait_for(state="hidden")
    assert page.evaluate(here) == "body-canvas", "keys go on where they were"
    # A question is put away in the same way.
    page.keyboard.press("n")
    page.locator(QUESTION).wait_for()
    page.keyboard.press("Escape")
    page.locator(QUESTION).wait_for(state="hidden")
    assert page.evaluate(here) == "body-canvas"
    assert dial(page) == "180"


@pytest.mark.undrawn
def test_by_touch_on_a_phone(new_page, site):
    page = new_page(360, 740, has_touch=True, is_mobile=True)
    scene.open_scan(page, site, FRONT)
    page.get_by_label(PREDICT).tap()
    page.get_by_role("button", name="Reverse the notch").tap()
    page.locator(QUESTION).wait_for()
    # The question and its answers are in sight beneath the two views.
    stages = scene.box(page, ".stages")
    for name in ["Image left", "Image bottom"]:
        box = answer(page, name).bounding_box()
        assert box["y"] >= stages["y"] + stages["height"] - 1 and box["y"] + box["height"] <= 740, (name, box, stages)
    scene.no_sideways_scroll(page)
    shot(page, "predict_phone")
    answer(page, "Image right").tap()
    page.locator(VERDICT).wait_for()
    assert page.locator(VERDICT).inner_text().startswith("Yes")
