"""The scan screen in a real browser: it opens, it is moved in every way, and it says the truth about it.

Expected names and letters are worked out by hand from the display conventions (general convention: mark at
image left; transverse from the front: image left is the patient's right; sagittal: image left is the head).
"""

import re

import pytest
import scene
from harness import assert_not_blank, shot

# A probe on the front of the trunk in the mid-line, so that nothing in these tests hangs on a window's figures.
FRONT = "v1.body=adult_female&at=0,-110,118&out=-90,0"


def test_opens_on_the_epigastrium(page, site):
    scene.open_scan(page, site)
    assert scene.plane(page) == "Mid-sagittal plane"
    assert scene.sides(page) == {"left": "H", "right": "F", "top": "A", "bottom": "P"}
    words = scene.side_words(page)
    assert "head" in words["left"] and "foot" in words["right"], words
    assert_not_blank(page.locator(scene.BODY))
    assert_not_blank(page.locator(scene.PICTURE))
    shot(page, "first_view_1280x800")


@pytest.mark.undrawn
def test_the_words_say_what_the_picture_shows(page, site):
    scene.open_scan(page, site)
    sentence = page.locator("#description").inner_text()
    for part in ["Notch toward the head", "Mid-sagittal plane", "Image left", "In the picture from the top"]:
        assert part.lower() in sentence.lower(), f"{part!r} is not in {sentence!r}"
    rows = page.locator("#section-table tbody tr").all_inner_texts()
    assert any("liver" in row.lower() for row in rows), rows
    assert any("aorta" in row.lower() for row in rows), rows


@pytest.mark.undrawn
def test_turning_the_notch_to_nine_oclock_names_a_transverse_plane(page, site):
    scene.open_scan(page, site, FRONT)
    scene.type_number(page, "Notch", 270)
    assert scene.plane(page) == "Transverse plane"
    assert scene.sides(page) == {"left": "R", "right": "L", "top": "A", "bottom": "P"}
    scene.wait_for_fragment(page, "turn", "270")
    scene.type_number(page, "Notch", 45)
    assert scene.plane(page).lower().startswith("oblique") or "oblique" in scene.plane(page).lower()
    angles = page.locator("#angles").inner_text()
    assert re.search(r"\b45°", angles), angles


@pytest.mark.undrawn
def test_the_dial_turns_by_dragging_and_by_keys(page, site):
    scene.open_scan(page, site, FRONT)
    dial = page.locator(scene.DIAL)
    box = dial.bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(middle[0], middle[1] - box["height"] * 0.35)
    page.mouse.down()
    page.mouse.move(middle[0] + box["width"] * 0.25, middle[1] - box["height"] * 0.25, steps=4)
    page.mouse.move(middle[0] + box["width"] * 0.35, middle[1], steps=6)
    page.mouse.up()
    scene.settle(page)
    # A box on half pixels has its middle beside every pixel of the pointer.
    assert abs(int(dial.get_attribute("aria-valuenow")) - 90) <= 1
    assert scene.plane(page) == "Transverse plane"
    assert scene.sides(page)["left"] == "L", "the notch, and with it image left, is at the patient's left"

    dial.press("PageUp")
    scene.settle(page)
    assert abs(int(dial.get_attribute("aria-valuenow")) - 120) <= 1
    assert "4 o'clock" in dial.get_attribute("aria-valuetext").replace("’", "'")
    dial.press("Home")
    scene.settle(page)
    assert dial.get_attribute("aria-valuenow") == "0"
    assert scene.plane(page) == "Mid-sagittal plane"


@pytest.mark.undrawn
def test_tilt_and_rock(page, site):
    scene.open_scan(page, site, FRONT)
    slider = page.get_by_role("slider", name=re.compile("^Tilt", re.I))
    for _ in range(30):
        slider.press("ArrowRight")
    scene.settle(page)
    scene.wait_for_fragment(page, "tilt", "30")
    assert "oblique" in scene.plane(page).lower(), "30° from sagittal is outside the tolerance of 20°"
    scene.type_number(page, "Tilt", 0)
    before = scene.plane(page)
    scene.type_number(page, "Rock", 25)
    assert scene.plane(page).split(" ")[0] == before.split(" ")[0], "rock never changes the plane"
    scene.wait_for_fragment(page, "rock", "25")


def test_dragging_the_probe_slides_it(page, site):
    scene.open_scan(page, site, FRONT)
    before = scene.fragment(page) if "v1." in page.evaluate("location.hash") else {}
    at = before.get("at", "0,-110,118")
    x, y = find_probe(page)
    page.mouse.down()
    page.mouse.move(x + 30, y + 5, steps=3)
    page.mouse.move(x + 60, y + 10, steps=3)
    page.mouse.up()
    scene.settle(page)
    page.wait_for_function("at => !location.hash.includes(`at=${at}&`)", arg=at)
    after = scene.fragment(page)
    moved = [abs(float(a) - float(b)) for a, b in zip(at.split(","), after["at"].split(","))]
    assert max(moved) > 10, f"the contact moved from {at} to {after['at']}"
    assert after.get("turn", "0") in ("0", "360") or abs((float(after["turn"]) + 180) % 360 - 180) < 25, after


def find_probe(page) -> tuple[float, float]:
    """Moves the mouse from the notch's tag to the right until it is over the probe, as the cursor tells."""
    tag = scene.box(page, ".tag.notch")
    y = tag["y"] + tag["height"] / 2
    for step in range(40):
        x = tag["x"] + tag["width"] / 2 + 5 * step
        page.mouse.move(x, y)
        if page.locator(scene.BODY + ".on-probe").count():
            return x + 10, y
    raise AssertionError("the probe is not beside its notch's tag")


@pytest.mark.undrawn
def test_a_tap_on_the_skin_places_the_probe(page, site):
    scene.open_scan(page, site, FRONT)
    page.get_by_role("combobox", name="View", exact=True).select_option("above")
    scene.settle(page)
    canvas = scene.box(page, scene.BODY)
    page.mouse.click(canvas["x"] + canvas["width"] * 0.5, canvas["y"] + canvas["height"] * 0.36)
    scene.settle(page)
    page.wait_for_function("() => location.hash.length > 4 && !location.hash.includes('at=0,-110,118&')")


@pytest.mark.undrawn
def test_arrow_keys_slide_only_with_the_focus_on_the_view(page, site):
    scene.open_scan(page, site, FRONT)
    page.locator("#description").click()
    page.keyboard.press("ArrowUp")
    scene.settle(page)
    page.locator(scene.BODY).focus()
    start = float(scene.fragment(page)["at"].split(",")[2]) if page.evaluate("location.hash") else 118.0
    for _ in range(4):
        page.keyboard.press("ArrowUp")
    scene.settle(page)
    page.wait_for_function("z => parseFloat(location.hash.match(/at=[^,]*,[^,]*,([^&]*)/)[1]) > z + 5", arg=start)
    page.keyboard.press("n")
    scene.settle(page)
    assert page.locator(scene.DIAL).get_attribute("aria-valuenow") == "180"
    assert scene.sides(page)["left"] == "F"


@pytest.mark.undrawn
def test_undo_redo_reset(page, site):
    scene.open_scan(page, site, FRONT)
    scene.type_number(page, "Notch", 270)
    page.get_by_role("button", name="Undo").click()
    scene.settle(page)
    assert scene.plane(page) == "Mid-sagittal plane"
    page.get_by_role("button", name="Redo").click()
    scene.settle(page)
    assert scene.plane(page) == "Transverse plane"
    page.get_by_role("button", name="Reset").click()
    scene.settle(page)
    assert scene.plane(page) == "Mid-sagittal plane"


@pytest.mark.undrawn
def test_a_window_is_picked(page, site):
    scene.open_scan(page, site)
    page.get_by_label("Window").select_option("transverse_aorta_mid")
    scene.settle(page)
    assert scene.plane(page) == "Transverse plane"
    scene.wait_for_fragment(page, "window", "transverse_aorta_mid")
    rows = page.locator("#section-table tbody tr").all_inner_texts()
    aorta = next(row for row in rows if "aorta" in row.lower())
    assert "short axis" in aorta.lower(), aorta


@pytest.mark.undrawn
def test_swapping_the_mark_and_reversing_the_notch_gives_the_same_picture(page, site):
    """Conventions: the two together are the identity, each alone is the mirror image."""
    scene.open_scan(page, site + "?test", FRONT)
    letters = scene.sides(page)
    first = pixels(page)
    page.get_by_role("button", name=re.compile("reverse", re.I)).click()
    scene.settle(page)
    assert scene.sides(page) == letters | {"left": letters["right"], "right": letters["left"]}
    mirrored = pixels(page)
    assert mirrored != first, "the notch alone mirrors the picture"
    page.get_by_role("radio", name=re.compile("right", re.I)).first.check()
    scene.settle(page)
    assert scene.sides(page) == letters
    assert pixels(page) == first, "notch and mark together give the same pixels"


def pixels(page) -> bytes:
    """The section itself, without the marks drawn over it: what the program hands to the sheet in the body."""
    return bytes(page.evaluate("""() => {
        const detail = {};
        document.dispatchEvent(new CustomEvent('planeward:test-pixels', { detail }));
        return Array.from(detail.rgba.filter((_, i) => i % 64 < 4));
    }"""))


@pytest.mark.undrawn
def test_the_picture_fades_to_grey_scale_and_back(page, site):
    scene.open_scan(page, site)
    colours = """() => {
      const canvas = document.querySelector('#picture-canvas');
      const [w, h] = [canvas.width, canvas.height];
      // A strip down the middle of the field, where neither names nor marks could be all there is.
      const strip = [w * 0.45, h * 0.3, w * 0.1, h * 0.4].map(Math.floor);
      // Read from a copy, so that the page's own canvas is left as it is.
      const copy = new OffscreenCanvas(strip[2], strip[3]).getContext('2d');
      copy.drawImage(canvas, ...strip, 0, 0, strip[2], strip[3]);
      const d = copy.getImageData(0, 0, strip[2], strip[3]).data;
      let [coloured, bright] = [0, 0];
      for (let i = 0; i < d.length; i += 4) {
        if (Math.max(d[i], d[i + 1], d[i + 2]) - Math.min(d[i], d[i + 1], d[i + 2]) > 24) coloured += 1;
        if (d[i + 1] > 20) bright += 1;
      }
      return [coloured * 4 / d.length, bright * 4 / d.length];
    }"""
    flat, _ = page.evaluate(colours)
    assert flat > 0.3, "tissues have colours"
    scene.type_number(page, "Grey-scale", 100)
    scene.settle(page)
    grey, bright = page.evaluate(colours)
    assert grey < 0.02, "sound has none"
    assert bright > 0.2, "echoes are seen"
    page.locator(scene.BODY).focus()
    page.keyboard.press("v")
    scene.settle(page)
    assert page.evaluate(colours)[0] > 0.3
