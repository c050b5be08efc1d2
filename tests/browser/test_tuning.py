"""The knobs of the grey-scale picture: folded away at first, each by slider and number, kept in the address."""

import pytest
import scene
from harness import assert_accessible, shot


def brightness(page) -> float:
    """Mean of a strip down the middle of the picture."""
    return page.evaluate("""() => {
      const canvas = document.querySelector('#picture-canvas');
      const [w, h] = [Math.floor(canvas.width * 0.1), Math.floor(canvas.height * 0.4)];
      const copy = new OffscreenCanvas(w, h).getContext('2d');
      copy.drawImage(canvas, canvas.width * 0.45, canvas.height * 0.3, w, h, 0, 0, w, h);
      const d = copy.getImageData(0, 0, w, h).data;
      let sum = 0;
      for (let i = 1; i < d.length; i += 4) sum += d[i];
      return sum * 4 / d.length;
    }""")


def open_group(page):
    page.locator("#tuning > summary").click()
    page.locator("#knob-0-slider").wait_for(state="visible")


@pytest.mark.undrawn
def test_knobs_are_folded_away_until_they_are_wanted(page, site):
    scene.open_scan(page, site)
    assert not page.locator("#knob-0-slider").is_visible(), "a beginner is not met by a dozen sliders"
    open_group(page)
    assert page.locator("#tuning").get_by_role("slider").count() == 13
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    page.get_by_role("button", name="Show grey-scale").click()
    scene.settle(page)
    assert not page.get_by_role("button", name="Show grey-scale").is_visible()
    scene.wait_for_fragment(page, "grey", "100")
    shot(page, "tuning")


@pytest.mark.undrawn
def test_gain_brightens_by_number_and_by_key_and_can_be_taken_back(page, site):
    scene.open_scan(page, site, "v1.body=adult_female&grey=100")
    open_group(page)
    before = brightness(page)
    scene.type_number(page, "Gain", 12)
    assert brightness(page) > before + 10
    scene.wait_for_fragment(page, "gain", "12")
    page.get_by_role("button", name="Undo").click()
    scene.settle(page)
    assert abs(brightness(page) - before) < 0.5
    page.locator(scene.BODY).focus()
    page.keyboard.press(",")
    page.keyboard.press(",")
    scene.wait_for_fragment(page, "gain", "-2")
    page.get_by_role("button", name="Reset picture settings").click()
    scene.settle(page)
    page.wait_for_function("() => !location.hash.includes('gain')")


@pytest.mark.undrawn
def test_a_link_brings_the_settings_back(page, site):
    scene.open_scan(page, site, "v1.body=adult_female&grey=100&range=40&tgc=0,0,0,0,0,0,0,-20")
    assert page.locator("#knob-1-number").input_value() == "40"
    assert page.locator("#time-gain-7-number").input_value() == "-20"
    assert page.locator("#tuning .turned").text_content() == "changed"
