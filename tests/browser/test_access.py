"""The page for everybody: rules of WCAG 2.2 A and AA in every state, keys alone, words alone, large and spaced text.

axe-core decides what it can; what it cannot is asserted here by hand. Numbers in brackets are success criteria.
"""

import re

import pytest
import scene
from harness import assert_accessible, shot
from test_page import OVER_A_CANVAS

SIZES = [(320, 640), (640, 480), (1280, 800)]
THEMES = {
    "light": {"color_scheme": "light"},
    "dark": {"color_scheme": "dark"},
    "forced": {"color_scheme": "dark", "forced_colors": "active"},
}


def start(page, site):
    scene.open_scan(page, site)


def tuning(page, site):
    scene.open_scan(page, site)
    page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")


def keys_help(page, site):
    scene.open_scan(page, site)
    page.get_by_role("button", name="Keys").click()
    page.get_by_role("dialog").wait_for()


def frozen(page, site):
    scene.open_scan(page, site)
    page.get_by_role("button", name="Freeze", exact=True).click()
    line = page.get_by_role("combobox", name="Annotation").or_(page.get_by_role("textbox", name="Annotation")).first
    line.fill("SAG")
    page.wait_for_timeout(300)


def acquired(page, site):
    frozen(page, site)
    page.get_by_role("button", name="Acquire", exact=True).click()
    page.get_by_text("Picture 1").first.wait_for()


def body_failed(page, site):
    page.route(re.compile(r".*/bodies/.*\.glb"), lambda route: route.abort())
    page.goto(site)
    page.get_by_role("button", name=re.compile("try again", re.I)).wait_for()


def broken_link(page, site):
    scene.open_scan(page, site, "v9.nothing")
    page.locator("#notice").wait_for()


def no_webgl(page, site):
    page.add_init_script("HTMLCanvasElement.prototype.getContext = ((old) => function (kind, ...rest) { return kind === 'webgl2' ? null : old.call(this, kind, ...rest); })(HTMLCanvasElement.prototype.getContext)")
    scene.open_scan(page, site)


def newer_version(page, site):
    scene.open_scan(page, site)
    page.evaluate("document.querySelector('#update').hidden = false")


def stopped(page, site):
    scene.open_scan(page, site + "?test")
    page.evaluate("document.dispatchEvent(new CustomEvent('planeward:test-panic'))")
    page.get_by_role("alertdialog").wait_for()


# State, and the faults it provokes on purpose.
STATES = {
    "start": (start, []),
    "settings": (tuning, []),
    "keys": (keys_help, []),
    "frozen": (frozen, []),
    "acquired": (acquired, []),
    "body failed": (body_failed, [r"request failed: .*\.glb", r"Failed to load resource"]),
    "broken link": (broken_link, []),
    "no WebGL": (no_webgl, []),
    "newer version": (newer_version, []),
    "stopped": (stopped, [r"panic", r"uncaught"]),
}

# A table that has no rows while there is no body leaves axe undecided about its headings.
EMPTY = {"body failed": ("th-has-data-cells",)}

@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("state", STATES)
def test_axe_finds_nothing_in_any_state(new_page, site, watch, state, theme):
    reach, faults = STATES[state]
    for fault in faults:
        watch.expect(fault)
    page = new_page(*SIZES[-1], **THEMES[theme])
    reach(page, site)
    for width, height in reversed(SIZES):
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        # The system chooses forced colours, and axe reads those of the style sheet.
        assert_accessible(page, allowed_incomplete=OVER_A_CANVAS + EMPTY.get(state, ()), without=("color-contrast",) if theme == "forced" else ())
        scene.no_sideways_scroll(page)
        small = too_small(page)
        assert not small, f"{width} px wide: {small}"
        if state in ("start", "frozen", "acquired"):
            shot(page, f"access_{state}_{theme}_{width}")


def too_small(page) -> list[str]:
    """Targets under 24 by 24 CSS pixels [2.5.8]."""
    return page.evaluate(
        """() => [...document.querySelectorAll('button, select, input, summary, a[href], [role=slider], [role=option]')]
        .filter(e => e.checkVisibility() && !e.closest('label') && !e.closest('[inert]'))
        .map(e => [e.id || e.textContent.trim().slice(0, 30), e.getBoundingClientRect()])
        .filter(([, r]) => r.width > 0 && (r.width < 24 || r.height < 24))
        .map(([name, r]) => `${name}: ${r.width.toFixed(1)} x ${r.height.toFixed(1)}`)"""
    )


# The page's policy takes no style elements; sheets that a script builds are no element.
SPACED = """() => { const sheet = new CSSStyleSheet();
  sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
                     p { margin-block-end: 2em !important; }`);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet]; }"""

CUT_OFF = """() => [...document.querySelectorAll('button, label, legend, h1, h2, p, td, th, summary, span')]
  .filter(e => e.checkVisibility() && !e.closest('.unseen') && !e.closest('.tags') && e.textContent.trim())
  .filter(e => { const s = getComputedStyle(e);
    if (s.clipPath !== 'none') return false;  // kept for screen readers
    return (s.overflowX !== 'visible' && s.overflowX !== 'auto' && e.scrollWidth > e.clientWidth + 1)
        || (s.overflowY === 'hidden' && e.scrollHeight > e.clientHeight + 1); })
  .map(e => `${e.tagName} ${e.className} ${e.textContent.trim().slice(0, 40)}`)"""


@pytest.mark.undrawn
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_wider_set_text_is_not_cut_off(new_page, site, width, height):
    """[1.4.12]"""
    page = new_page(width, height)
    scene.open_scan(page, site)
    page.evaluate(SPACED)
    assert page.evaluate("getComputedStyle(document.querySelector('#plane-name')).letterSpacing") != "normal"
    scene.no_sideways_scroll(page)
    assert page.evaluate(CUT_OFF) == []


@pytest.mark.undrawn
@pytest.mark.parametrize(("width", "height"), [(640, 400), (320, 400)])
def test_twice_and_four_times_as_large(new_page, site, width, height):
    """A window of 1280 by 800 at 200 % has half of it in CSS pixels each way, at 400 % a quarter [1.4.4, 1.4.10]."""
    page = new_page(width, height, device_scale_factor=2)
    scene.open_scan(page, site)
    scene.no_sideways_scroll(page)
    assert page.evaluate(CUT_OFF) == []
    for name in ["Undo", "Reset", "Reverse the notch"]:
        button = page.get_by_role("button", name=name, exact=True)
        button.scroll_into_view_if_needed()
        box = button.bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= width, f"{name} is reachable: {box}"
        # Nothing that sticks to the window's edge lies over it [2.4.11].
        over = page.evaluate(
            "([x, y]) => document.elementFromPoint(x, y)?.closest('button')?.textContent.trim()",
            [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2],
        )
        assert over == name, f"{over} lies over {name}"


def named_focus(page) -> str:
    """The accessible name of what has the focus, near enough: its label, its own words."""
    return page.evaluate(
        """() => { const e = document.activeElement;
        if (!e || e === document.body) return '';
        const by = e.getAttribute('aria-labelledby');
        return (e.getAttribute('aria-label') || (by && document.getElementById(by)?.textContent)
            || e.labels?.[0]?.textContent || e.textContent || e.id).trim(); }"""
    )


def tab_to(page, name: str, most: int = 150):
    """Goes there with the Tab key alone."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if re.match(name, named_focus(page)):
            return
    raise AssertionError(f"Tab does not reach {name}")


@pytest.mark.undrawn
def test_probe_to_the_epigastrium_by_keys_and_words_alone(page, site):
    """No pointer, no look at the scene: what a screen reader has, and the keyboard."""
    scene.open_scan(page, site, "v1.body=adult_female&window=pelvis_sagittal_female")
    words = page.locator("#description")
    assert "upper abdomen" not in words.text_content()
    # The menu of named places, by the first letters of the wanted one.
    tab_to(page, "Windows")
    page.keyboard.type("Epigastrium, transverse, at the coeliac", delay=10)
    page.keyboard.press("Enter")
    scene.settle(page)
    assert "front of the upper abdomen" in words.text_content()
    # The notch, by its number: 270 degrees is nine o'clock, the patient's right on the front.
    tab_to(page, "Notch, degrees")
    page.keyboard.press("Control+a")
    page.keyboard.type("270")
    page.keyboard.press("Enter")
    scene.settle(page)
    tree = page.locator("body").aria_snapshot()
    assert re.search(r"Notch toward the patient's right \(9 o'clock\)", tree), tree
    assert re.search(r"Transverse plane", tree), tree
    said = page.locator("#live")
    page.wait_for_function("() => document.querySelector('#live').textContent.includes('ransverse')")
    assert said.get_attribute("role") == "status" and said.get_attribute("aria-atomic") == "true"


WATCH_LIVE = """() => { window.said = []; const live = document.querySelector('#live');
    new MutationObserver(() => window.said.push(live.textContent)).observe(live, { childList: true, characterData: true, subtree: true }); }"""


@pytest.mark.undrawn
@pytest.mark.parametrize(("focus", "key"), [("#dial", "ArrowRight"), (scene.BODY, "ArrowUp"), (scene.BODY, "w")])
def test_a_held_key_does_not_chatter(page, site, focus, key):
    """Nothing is announced while the key repeats, and once it is let go one announcement says where things are [4.1.3]."""
    scene.open_scan(page, site)
    page.evaluate(WATCH_LIVE)
    page.locator(focus).focus()
    for _ in range(40):
        page.keyboard.down(key)
        page.wait_for_timeout(30)
    held = page.evaluate("window.said.filter(Boolean).length")
    page.keyboard.up(key)
    page.wait_for_function("() => window.said.filter(Boolean).length > 0")
    page.wait_for_timeout(1_500)
    after = page.evaluate("window.said.filter(Boolean)")
    assert held == 0, f"announced while the key was held: {after}"
    assert len(after) == 1, after


@pytest.mark.undrawn
@pytest.mark.parametrize("state", ["frozen", "acquired", "settings"])
def test_no_part_keeps_the_focus(page, site, state):
    """Tab leaves the page in the end, in whatever state it is [2.1.2]."""
    STATES[state][0](page, site)
    page.evaluate("() => { document.activeElement.blur(); document.body.focus(); }")
    seen = []
    here = "() => { const e = document.activeElement; if (!e || e === document.body) return null; e.dataset.seen ??= String(Math.random()); return e.dataset.seen; }"
    for _ in range(250):
        page.keyboard.press("Tab")
        mark = page.evaluate(here)
        if mark is None or (seen and mark == seen[0]):
            break
        assert mark not in seen[-3:], f"the focus stays: {named_focus(page)}"
        seen.append(mark)
    else:
        raise AssertionError("Tab never left the page")
    assert len(seen) > 20, "it went through the controls"


@pytest.mark.undrawn
def test_a_dialog_lets_go(page, site):
    scene.open_scan(page, site)
    button = page.get_by_role("button", name="Keys")
    button.click()
    dialog = page.get_by_role("dialog")
    dialog.wait_for()
    for _ in range(6):
        page.keyboard.press("Tab")
        inside = page.evaluate("() => { const e = document.activeElement; return e === document.body || Boolean(e.closest('dialog')); }")
        assert inside, "the focus stays in the dialog while it is open"
    page.keyboard.press("Escape")
    dialog.wait_for(state="hidden")
    assert page.evaluate("document.activeElement.textContent.trim()") == "Keys"


@pytest.mark.undrawn
def test_with_reduced_motion_nothing_is_animated(page, site):
    """[2.3.3]"""
    scene.open_scan(page, site, motion="reduce")
    page.evaluate("() => { window.most = 0; const look = () => { window.most = Math.max(window.most, document.getAnimations().length); requestAnimationFrame(look); }; look(); }")
    page.get_by_role("button", name="Reverse the notch").click()
    page.get_by_role("button", name="Keys").click()
    page.get_by_role("dialog").wait_for()
    page.keyboard.press("Escape")
    scene.settle(page)
    assert page.evaluate("window.most") == 0


@pytest.mark.undrawn
def test_letters_are_keys_only_where_the_scene_has_the_focus(page, site):
    """[2.1.4]"""
    scene.open_scan(page, site)
    page.get_by_role("button", name="Keys").focus()
    before = page.locator("#dial").get_attribute("aria-valuenow")
    for letter in "nqwetrsadxzm":
        page.keyboard.press(letter)
    scene.settle(page)
    assert page.locator("#dial").get_attribute("aria-valuenow") == before
    assert scene.plane(page) == "Mid-sagittal plane"
