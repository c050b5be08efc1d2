"""Three planes of a swept volume: each named by geometry, moved by press and by number, in flat colours and in grey."""

import io
import re

import pytest
import scene
from harness import assert_accessible, shot
from PIL import Image, ImageChops

# Upright over the front of the upper abdomen, notch to the head, with the transducer that sweeps.
SWEPT = "v1.body=adult_female&probe=volume_convex&at=0,-110,118&out=-90,0&depth=150"


def captions(page) -> list[str]:
    return page.locator(".plane-picture figcaption b").all_inner_texts()


@pytest.mark.undrawn
def test_the_planes_come_by_key_with_their_names(page, site):
    scene.open_scan(page, site, SWEPT)
    page.locator(scene.BODY).focus()
    page.keyboard.press("6")
    scene.settle(page)
    page.locator(".plane-picture canvas").first.wait_for(state="visible")
    assert [re.sub(r"^\d\. ", "", caption) for caption in captions(page)] == ["Mid-sagittal", "Transverse", "Coronal"]
    sentence = page.locator(".plane-picture .note").nth(2).inner_text()
    assert "parallel to the face" in sentence and "Image left: head end" in sentence, sentence
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    page.locator("#volume").scroll_into_view_if_needed()
    shot(page, "volume")
    page.locator(scene.BODY).focus()
    page.keyboard.press("6")
    scene.settle(page)
    assert not captions(page)


@pytest.mark.undrawn
def test_a_press_and_a_number_move_the_point(page, site):
    scene.open_scan(page, site, SWEPT)
    page.locator("#volume > summary").click()
    page.get_by_label("Show the planes").check()
    scene.settle(page)
    deep = page.locator("#volume-deep-number")
    assert deep.input_value() == "75", "the middle"
    acquired = page.locator(".plane-picture canvas").first
    acquired.scroll_into_view_if_needed()
    box = acquired.bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.75)
    scene.settle(page)
    assert float(deep.input_value()) > 80, "deeper"
    scene.type_number(page, "Depth of the point", 50)
    assert deep.input_value() == "50"


@pytest.mark.undrawn
def test_the_volume_is_acquired_in_grey(page, site):
    scene.open_scan(page, site, SWEPT + "&grey=100")
    page.locator("#volume > summary").click()
    page.get_by_label("Show the planes").check()
    page.wait_for_function(
        """() => {
        const canvas = document.querySelectorAll('.plane-picture canvas')[2];
        if (!canvas || canvas.width < 40 || document.querySelector('.volume .progress').textContent) return false;
        const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext('2d');
        copy.drawImage(canvas, 0, 0);
        const d = copy.getImageData(0, 0, canvas.width, canvas.height).data;
        let [coloured, bright] = [0, 0];
        for (let i = 0; i < d.length; i += 4) {
          if (Math.abs(d[i] - d[i + 2]) > 24) coloured += 1;
          if (d[i + 3] > 200 && d[i] > 30) bright += 1;
        }
        return coloured < 20 && bright > 100;
        }""",
        timeout=60_000,
    )


@pytest.mark.undrawn
def test_another_transducer_offers_the_one_that_sweeps(page, site):
    scene.open_scan(page, site)
    page.locator("#volume > summary").click()
    page.get_by_role("button", name="Take the volume transducer").click()
    scene.settle(page)
    assert len(captions(page)) == 3
    scene.wait_for_fragment(page, "probe", "volume_convex")


@pytest.mark.undrawn
def test_fluid_filled_parts_can_be_shown_alone(page, site):
    scene.open_scan(page, site)
    page.get_by_label("Show inside").select_option("fluid")
    scene.settle(page)
    assert page.get_by_label("Show inside").input_value() == "fluid"


def test_the_planes_hang_in_the_body_with_their_pictures(page, site):
    scene.open_scan(page, site, SWEPT)
    # Near enough to see them.
    page.get_by_role("combobox", name="View", exact=True).select_option("window")
    scene.settle(page)
    without = body_pixels(page)
    page.locator(scene.BODY).focus()
    page.keyboard.press("6")
    page.locator(".plane-picture canvas").first.wait_for()
    scene.settle(page)
    shot(page, "volume_in_body")
    names = [tag for tag in page.locator(".tags .tag:not([hidden])").all_inner_texts() if tag[0].isdigit()]
    assert sorted(names) == ["1 mid-sagittal", "2 transverse", "3 coronal"], names
    middle = body_pixels(page)
    # Outlines alone would change a pixel in fifty.
    assert changed(without, middle) > 0.04, "sheets, not only their edges"
    # Another point: the sheets move, and the first leaves the plane of the field of view.
    scene.type_number(page, "Depth of the point", 40)
    moved = body_pixels(page)
    assert changed(middle, moved) > 0.02, "the plane parallel to the face rises"
    page.locator(scene.BODY).focus()
    page.keyboard.press("6")
    scene.settle(page)
    assert changed(without, body_pixels(page)) < 0.002, "all of it goes again"


def body_pixels(page) -> Image.Image:
    """The body view without the words over it and the ring of the focus."""
    page.evaluate("document.querySelector('#body-hint').style.display = 'none'; document.querySelector('.tags').style.visibility = 'hidden'; document.querySelector('#body-canvas').style.outline = 'none'")
    with Image.open(io.BytesIO(page.locator(scene.BODY).screenshot())) as picture:
        pixels = picture.convert("RGB")
    page.evaluate("document.querySelector('.tags').style.visibility = ''")
    return pixels


def changed(one: Image.Image, other: Image.Image) -> float:
    """The share of the pixels that differ plainly."""
    assert one.size == other.size
    difference = ImageChops.difference(one, other).convert("L")
    return sum(1 for value in difference.get_flattened_data() if value > 12) / (one.width * one.height)
