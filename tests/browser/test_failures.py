"""What the page does when something is missing or breaks."""

import re

import pytest
import scene
from harness import assert_not_blank, open_page, shot

NO_WEBGL = """
const original = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
  return kind.startsWith('webgl') ? null : original.call(this, kind, ...rest);
};
"""


@pytest.mark.undrawn
def test_a_link_reopens_the_same_view(new_page, site):
    first = new_page()
    scene.open_scan(first, site, "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=270&tilt=12&depth=140&tol=15")
    scene.type_number(first, "Rock", -8)
    scene.wait_for_fragment(first, "rock", "-8")
    link = first.evaluate("location.href")
    said = first.locator("#description").inner_text()
    second = new_page()
    second.goto(link)
    scene.wait_until_ready(second)
    assert second.locator("#description").inner_text() == said
    assert scene.plane(second) == scene.plane(first)
    assert second.get_by_role("spinbutton", name=re.compile("^Rock")).input_value() == "-8"
    assert second.get_by_role("spinbutton", name=re.compile("^Tilt")).input_value() == "12"
    # Opening the same program again changes nothing in the address.
    assert second.evaluate("location.href") == link


@pytest.mark.undrawn
def test_another_link_pasted_into_the_open_page_is_followed(page, site):
    scene.open_scan(page, site)
    page.evaluate("location.hash = 'v1.body=adult_female&at=0,-110,118&out=-90,0&turn=270'")
    page.wait_for_function("() => document.querySelector('#plane-name').textContent.includes('Transverse')")


@pytest.mark.undrawn
def test_a_broken_link_opens_the_first_view_with_one_sentence(page, site):
    scene.open_scan(page, site, "v1.at=nonsense")
    notice = page.locator("#notice")
    assert notice.is_visible()
    text = notice.inner_text()
    assert "link" in text.lower(), text
    assert scene.plane(page) == "Mid-sagittal plane"
    notice.get_by_role("button").click()
    notice.wait_for(state="hidden")


def test_a_missing_body_file_is_said_and_tried_again(page, site, watch):
    watch.expect(r"request failed: .*\.glb")
    watch.expect(r"Failed to load resource")
    page.route(re.compile(r".*/bodies/.*\.glb"), lambda route: route.abort())
    open_page(page, site)
    page.get_by_role("button", name=re.compile("try again", re.I)).wait_for()
    words = page.locator("#body-trouble").inner_text()
    assert "body" in words.lower() or "file" in words.lower(), words
    assert scene.plane(page), "the plane is still named"
    page.unroute_all()
    page.get_by_role("button", name=re.compile("try again", re.I)).click()
    scene.wait_until_ready(page)
    assert_not_blank(page.locator(scene.PICTURE))


def test_a_lost_context_comes_back(page, site, watch):
    scene.open_scan(page, site)
    lose = "() => { const gl = document.querySelector('#body-canvas').getContext('webgl2'); window.lost = gl.getExtension('WEBGL_lose_context'); window.lost.loseContext(); }"
    page.evaluate(lose)
    page.wait_for_function("() => document.querySelector('#body-canvas').getContext('webgl2').isContextLost()")
    # The rest of the page goes on without it.
    scene.type_number(page, "Notch", 270)
    assert scene.plane(page) == "Transverse plane"
    page.evaluate("() => window.lost.restoreContext()")
    page.wait_for_function("() => !document.querySelector('#body-canvas').getContext('webgl2').isContextLost()")
    scene.settle(page)
    assert_not_blank(page.locator(scene.BODY))


def test_without_webgl_picture_and_words_still_work(page, site):
    page.add_init_script(NO_WEBGL)
    scene.open_scan(page, site)
    words = page.locator("#body-trouble").inner_text()
    assert "webgl" in words.lower(), words
    assert_not_blank(page.locator(scene.PICTURE))
    scene.type_number(page, "Notch", 270)
    assert scene.sides(page)["left"] == "R"
    shot(page, "no_webgl")


@pytest.mark.undrawn
def test_a_panic_stops_the_page_visibly(page, site, watch):
    watch.expect(r"console error: .*panicked")
    watch.expect(r"uncaught: ")
    scene.open_scan(page, site + "?test", "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=270")
    address = page.evaluate("location.href")
    page.evaluate("document.dispatchEvent(new CustomEvent('planeward:test-panic'))")
    stop = page.get_by_role("alertdialog")
    stop.wait_for()
    assert "test" in page.locator("#stop-message").inner_text()
    shot(page, "stop_screen")
    # Nothing behind it can be reached any more.
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#stop') !== null")
    page.get_by_role("button", name=re.compile("copy", re.I)).click()
    # The clipboard answers when it likes.
    page.locator("#stop-copied", has_text=re.compile(r"\w")).wait_for()
    with page.expect_navigation():
        page.get_by_role("button", name=re.compile("^reload", re.I)).click()
    scene.wait_until_ready(page)
    assert page.evaluate("location.href") == address
    assert scene.plane(page) == "Transverse plane"


@pytest.mark.undrawn
def test_the_test_switch_does_nothing_without_being_asked(page, site):
    scene.open_scan(page, site)
    page.evaluate("document.dispatchEvent(new CustomEvent('planeward:test-panic'))")
    scene.settle(page)
    assert page.locator("#stop").is_hidden()


@pytest.mark.undrawn
def test_blocked_storage_changes_nothing(page, site):
    page.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } })"
    )
    scene.open_scan(page, site)
    page.get_by_label("Colours").select_option("dark")
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_it_works_from_any_folder_of_a_host(page, deep_site):
    scene.open_scan(page, deep_site)
    assert scene.plane(page) == "Mid-sagittal plane"
    assert_not_blank(page.locator(scene.BODY))


def test_an_engine_without_vector_instructions_is_told_so(page, site):
    page.add_init_script("WebAssembly.validate = () => false")
    page.goto(site)
    page.get_by_role("alertdialog").wait_for()
    assert "too old" in page.locator("#stop-message").inner_text()
