"""Contrast measured in pixels: the letters at the sides of the picture, in every theme, over section and grey-scale.

axe cannot see what lies under text over a canvas, so the screen is photographed and looked at.
"""

import io

import pytest
import scene
from harness import assert_accessible, shot
from PIL import Image, ImageFilter

# WCAG 2.2, 1.4.3: text.
LEAST = 4.5

# Pixels this far from the ink belong to its surroundings and no longer to its smoothed edge.
EDGE_PX = 5
RING_PX = 9

# The share of the surroundings that has to keep the ratio: a leader or a tick may pass by.
SHARE = 0.97

VIEWS = {
    "sagittal": "v1.body=adult_female",
    "oblique": "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=35",
    "linear": "v1.body=adult_female&probe=linear&depth=50",
    "grey": "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=35&grey=100&gain=12",
}


def luminance(pixel) -> float:
    def linear(byte):
        value = byte / 255
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(byte) for byte in pixel[:3])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ratio(a: float, b: float) -> float:
    light, dark = max(a, b), min(a, b)
    return (light + 0.05) / (dark + 0.05)


def check_letters(page, side: str, theme: str):
    """The ink is the brightest pixel of the letters; what lies around it has to be darker by the ratio."""
    place = page.locator(f".side.{side} b").bounding_box()
    clip = {key: place[key] for key in ("x", "y", "width", "height")}
    with Image.open(io.BytesIO(page.screenshot(clip=clip))) as opened:
        picture = opened.convert("RGB")
    ink = max(luminance(pixel) for pixel in picture.get_flattened_data())
    mask = Image.new("L", picture.size)
    mask.putdata([255 if ratio(luminance(pixel), ink) < 1.3 else 0 for pixel in picture.get_flattened_data()])
    near, far = mask.filter(ImageFilter.MaxFilter(EDGE_PX)), mask.filter(ImageFilter.MaxFilter(RING_PX))
    around = [
        luminance(pixel)
        for pixel, inner, outer in zip(picture.get_flattened_data(), near.get_flattened_data(), far.get_flattened_data())
        if outer and not inner
    ]
    assert len(around) > 30, f"{theme}, {side}: no letters in {place}"
    kept = sum(ratio(value, ink) >= LEAST for value in around) / len(around)
    assert kept >= SHARE, f"{theme}, {side}: only {kept:.0%} of the surroundings keep {LEAST}:1"


@pytest.mark.undrawn
@pytest.mark.parametrize("theme", ["light", "dark", "contrast"])
@pytest.mark.parametrize("view", VIEWS)
def test_side_letters_keep_their_contrast(page, site, theme, view):
    scene.open_scan(page, site, VIEWS[view])
    page.get_by_label("Colours").select_option(theme)
    scene.settle(page)
    for side in ("left", "right", "top", "bottom"):
        check_letters(page, side, f"{view}, {theme}")


@pytest.mark.undrawn
def test_high_contrast_is_a_choice_and_follows_the_system(new_page, site):
    page = new_page(contrast="more")
    scene.open_scan(page, site)
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(ground) == "rgb(255, 255, 255)", "as the system asks"
    shot(page, "contrast")
    page.get_by_label("Colours").select_option("dark")
    assert page.evaluate(ground) != "rgb(255, 255, 255)", "a choice goes before it"
    page.get_by_label("Colours").select_option("contrast")
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    assert_accessible(page, allowed_incomplete=("color-contrast",))
