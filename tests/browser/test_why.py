"""Names answer "why?", and what lies under the pointer or the keyboard's cross is named."""

import re

import pytest
import scene
from harness import assert_accessible, shot

FRONT = "v1.body=adult_female&at=0,-110,118&out=-90,0"


@pytest.mark.undrawn
def test_the_plane_answers_and_the_focus_goes_there_and_back(page, site):
    scene.open_scan(page, site, FRONT + "&turn=35")
    assert not page.locator("#why").is_visible()
    button = page.get_by_role("button", name=re.compile("Name of the plane"))
    button.focus()
    page.keyboard.press("Enter")
    scene.settle(page)
    answer = page.locator("#why").inner_text()
    for part in ["Why longitudinal oblique?", "35° from sagittal, 55° from transverse", "common practice, no source"]:
        assert part in answer, answer
    assert page.evaluate("document.activeElement.id") == "why-title"
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    page.keyboard.press("Escape")
    page.locator("#why").wait_for(state="hidden")
    assert "Name of the plane" in page.evaluate("document.activeElement.getAttribute('aria-label')")


@pytest.mark.undrawn
def test_an_answer_comes_into_sight(page, site):
    """Also where the controls are scrolled: the browser would keep what stands beneath the answer where it was."""
    scene.open_scan(page, site, FRONT + "&turn=35")
    panel = page.locator(".panel")
    panel.evaluate("e => { e.scrollTop = 400; }")
    page.get_by_role("button", name=re.compile("Name of the plane")).click()
    page.wait_for_function(
        "() => { const at = e => document.querySelector(e).getBoundingClientRect().top;"
        " return document.querySelectorAll('#why p').length > 1 && Math.abs(at('#why-title') - at('.panel')) < 80; }"
    )


@pytest.mark.undrawn
def test_a_side_answers_and_mark_and_notch_are_tried_out(page, site):
    scene.open_scan(page, site, FRONT)
    before = page.evaluate("location.hash")
    page.locator(".side.left button").click()
    scene.settle(page)
    assert "The notch points to the head end" in page.locator("#why").inner_text()
    pictures = page.locator("#why canvas")
    assert pictures.count() == 2
    now, tried = (lambda: pictures.nth(0).evaluate(PIXELS)), (lambda: pictures.nth(1).evaluate(PIXELS))
    page.wait_for_function("() => document.querySelectorAll('#why canvas')[1].width > 60")
    scene.settle(page)
    turn = page.get_by_role("button", name="Turn the notch by 180°")
    swap = page.get_by_role("button", name="Swap the mark")
    turn.click()
    scene.settle(page)
    assert "mirror image" in page.locator("#why .verdict").inner_text()
    mirrored = alike(now(), tried())
    swap.click()
    scene.settle(page)
    assert "the same picture" in page.locator("#why .verdict").inner_text()
    same = alike(now(), tried())
    assert same > 0.97 and 1 - mirrored > 3 * (1 - same), (same, mirrored)
    assert page.evaluate("location.hash") == before, "the probe stays where it is"
    shot(page, "why_side")


def alike(one: str, other: str) -> float:
    """One less the mean difference of the shades, as a share of their range."""
    a, b = [int(x) for x in one.split(",")], [int(x) for x in other.split(",")]
    assert len(a) == len(b) > 1000, (len(a), len(b))
    return 1 - sum(abs(x - y) for x, y in zip(a, b)) / len(a) / 255


# Shades of the middle, where neither mark nor scale can stand, in 24 by 24 fields: the field moves aside by parts of a
# pixel as the scale changes sides with the mark.
PIXELS = """canvas => {
  const [w, h] = [canvas.width, canvas.height];
  const copy = new OffscreenCanvas(24, 24).getContext('2d');
  copy.imageSmoothingQuality = 'high';
  copy.drawImage(canvas, w * 0.25, h * 0.33, w * 0.5, h * 0.36, 0, 0, 24, 24);
  return Array.from(copy.getImageData(0, 0, 24, 24).data).join();
}"""


@pytest.mark.undrawn
def test_an_axis_is_told_apart_from_the_plane(page, site):
    scene.open_scan(page, site)
    row = page.locator("#section-table tbody tr", has_text="aorta").first
    row.locator(".asks").click()
    scene.settle(page)
    answer = page.locator("#why").inner_text()
    assert "axis of the" in answer and "second answer" in answer, answer
    assert "aorta" in page.locator("#why-title").inner_text().lower()


@pytest.mark.undrawn
def test_the_pointer_names_what_it_is_over(page, site):
    scene.open_scan(page, site)
    box = scene.box(page, scene.PICTURE)
    # The liver fills the near left of the first view.
    page.mouse.move(box["x"] + box["width"] * 0.4, box["y"] + box["height"] * 0.45)
    page.wait_for_function("() => document.querySelector('#under-cursor b').textContent.includes('iver')")
    assert "mm deep" in page.locator("#under-cursor").inner_text()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] - 40)
    page.wait_for_function("() => !document.querySelector('#under-cursor b').textContent")


@pytest.mark.undrawn
def test_keys_name_places_of_the_picture_and_point_structures_out(page, site):
    scene.open_scan(page, site)
    page.locator(scene.PICTURE).focus()
    page.keyboard.press("ArrowDown")
    page.wait_for_function("() => document.querySelector('#under-cursor b').textContent")
    assert page.locator("#picture-cross").evaluate("e => getComputedStyle(e).display") != "none"
    for _ in range(8):
        page.keyboard.press("ArrowDown")
    page.wait_for_function("() => document.querySelector('#live').textContent.includes('mm deep')")
    name = page.locator("#under-cursor b").inner_text()
    page.keyboard.press("Enter")
    scene.settle(page)
    pressed = page.locator("#section-table button[aria-pressed='true']").first.inner_text()
    assert pressed == name
    page.keyboard.press("Escape")
    page.wait_for_function("() => !document.querySelector('#under-cursor b').textContent")
