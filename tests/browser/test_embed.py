"""One view in a frame of another page: what it shows, what stays open, and whom it speaks with."""

import json
import re
import subprocess

import pytest
import scene
from conftest import FLAGS, environment
from course_page import HOST_SCRIPT, course, frame
from harness import assert_accessible, assert_not_blank, shot

VIEW = "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=0&depth=150"
TRANSVERSE = "v1.body=adult_female&at=0,-110,118&out=-90,0&turn=270&depth=150"

# Wake, redraw and copy take a software renderer some seconds for a few views.
SLOW_MS = 60_000


@pytest.fixture
def host(watch):
    with course() as pages:
        watch.hosts.append(pages.origin)
        yield pages


def inside(page, name: str = "view"):
    """The document in the frame, once its body is there and drawn."""
    held = page.frame_locator(f"#{name}")
    held.locator(".page[data-body='loaded']").wait_for(timeout=scene.READY_MS)
    held.locator(".page[data-moving='false']").wait_for(timeout=SLOW_MS)
    return held


def opened(page, host, site, fragment, **options):
    page.emulate_media(reduced_motion="reduce")
    page.goto(host.put("/course.html", HOST_SCRIPT + frame(site, fragment, **options)))
    return inside(page)


def content(page, name: str = "view"):
    return page.query_selector(f"#{name}").content_frame()


# --- what is shown and what stays open -------------------------------------------------------------------------------


@pytest.mark.parametrize(("width", "height"), [(640, 480), (320, 420), (960, 540)])
def test_the_view_fills_its_frame(new_page, host, site, width, height):
    page = new_page(1100, 700)
    held = opened(page, host, site, VIEW, width=width, height=height)
    inner = content(page)
    wide, room, high = inner.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth, document.documentElement.scrollHeight]")
    assert wide <= room == width, "nothing scrolls sideways"
    assert high == height, "the frame itself does not scroll"
    assert held.locator("#plane-name").inner_text() == "Mid-sagittal plane"
    for canvas in (scene.BODY, scene.PICTURE):
        box = held.locator(canvas).bounding_box()
        assert box["width"] >= 150 and box["height"] >= 150, f"{canvas} has room: {box}"
        assert_not_blank(held.locator(canvas))
    shot(page, f"embed_{width}x{height}")


LEVELS = {
    # open: (controls of the notch, controls of everything, body view takes the focus)
    "none": (0, 0, False),
    "look": (0, 0, True),
    "notch": (1, 0, True),
    "all": (1, 1, True),
}


@pytest.mark.undrawn
@pytest.mark.parametrize("level", LEVELS)
def test_the_author_decides_what_stays_open(page, host, site, level):
    notch, everything, focus = LEVELS[level]
    held = opened(page, host, site, f"{VIEW}&open={level}")
    assert held.locator(scene.DIAL).count() == notch
    assert held.get_by_role("spinbutton", name=re.compile("^Tilt")).count() == everything
    assert (held.locator(scene.BODY).get_attribute("tabindex") == "0") == focus
    assert held.locator(".viewpoints-menu").count() == int(focus)


@pytest.mark.undrawn
def test_keys_turn_the_notch_and_nothing_that_is_closed(page, host, site):
    held = opened(page, host, site, f"{VIEW}&open=notch")
    canvas = held.locator(scene.BODY)
    before = held.locator("#description").text_content()
    for key in ("ArrowUp", "w", "d", "]", "m"):
        canvas.press(key)
    assert held.locator("#description").text_content() == before, "closed keys do nothing"
    canvas.press("r")
    held.locator("#plane-name", has_text="Transverse plane").wait_for()
    held.get_by_role("button", name="Back to the first view").click()
    held.locator("#plane-name", has_text="Mid-sagittal plane").wait_for()


@pytest.mark.undrawn
@pytest.mark.parametrize(("wish", "shown", "hidden"), [("body", scene.BODY, scene.PICTURE), ("picture", scene.PICTURE, scene.BODY)])
def test_one_of_the_two_views(new_page, host, site, wish, shown, hidden):
    page = new_page()
    held = opened(page, host, site, f"{VIEW}&show={wish}&open=none")
    assert held.locator(shown).is_visible()
    assert held.locator(hidden).count() == 0
    # The mark that a body view was drawn is not wanted of a page without one.
    content(page).evaluate("window.drawing_calls += 1")


@pytest.mark.undrawn
def test_colours_follow_the_address_and_leave_no_trace(page, host, site):
    opened(page, host, site, f"{VIEW}&theme=dark")
    assert content(page).evaluate("document.documentElement.dataset.theme") == "dark"
    assert content(page).evaluate("() => { try { return localStorage.length; } catch { return 0; } }") == 0


@pytest.mark.undrawn
def test_wishes_that_cannot_be_read_are_said(page, host, site):
    held = opened(page, host, site, f"{VIEW}&open=everything")
    words = held.locator("#wishes").inner_text()
    assert "everything" in words and "none, look, notch or all" in words, words
    assert held.locator("#plane-name").inner_text() == "Mid-sagittal plane", "the view is shown all the same"


@pytest.mark.undrawn
def test_the_frame_is_accessible(page, host, site):
    page.goto(f"{site}embed.html#{VIEW}")
    scene.wait_until_ready(page)
    assert_accessible(page, allowed_incomplete=("color-contrast",))


@pytest.mark.undrawn
def test_the_keyboard_passes_through(page, host, site):
    page.emulate_media(reduced_motion="reduce")
    page.goto(host.put("/tab.html", f'<button id="before">Before</button>{frame(site, VIEW + "&open=notch")}<button id="after">After</button>'))
    inside(page)
    page.locator("#before").focus()
    seen = []
    for _ in range(60):
        page.keyboard.press("Tab")
        at = page.evaluate("document.activeElement.id")
        if at == "after":
            break
        seen.append(content(page).evaluate("document.activeElement.id || document.activeElement.textContent.trim()"))
    assert page.evaluate("document.activeElement.id") == "after", f"the frame lets go of the focus: {seen}"
    # A low frame leaves the dial out; its number stays.
    assert {"body-canvas", "notch-number"} <= set(seen) and "Freeze" not in seen, " | ".join(seen)
    for _ in range(60):
        page.keyboard.press("Shift+Tab")
        if page.evaluate("document.activeElement.id") == "before":
            break
    assert page.evaluate("document.activeElement.id") == "before", "and backwards"


# --- the channel -----------------------------------------------------------------------------------------------------


@pytest.mark.undrawn
def test_a_host_is_answered_and_told_what_it_asked_for(page, host, site):
    held = opened(page, host, site, f"{VIEW}&open=notch")
    page.evaluate("site => hello(document.getElementById('view'), site, { wants: ['view'] })", site.rstrip("/"))
    page.wait_for_function("answers.some(m => m.type === 'ready' && m.body.shown === true)")
    held.locator(scene.BODY).press("r")
    # The contact goes to the skin of the body, whose normal is not quite the one of the link.
    page.wait_for_function(
        "answers.some(m => m.type === 'view' && Math.abs(Number(/turn=([0-9.]+)/.exec(m.body.view)[1]) - 270) < 0.01)"
    )
    assert page.evaluate("answers.every(m => m.ns === 'planeward' && m.v === 1)")
    assert not page.evaluate("answers.some(m => m.type === 'height')"), "the height was not asked for"
    page.evaluate(f"say('set-view', {{ view: '{VIEW}' }})")
    held.locator("#plane-name", has_text="Mid-sagittal plane").wait_for()
    page.evaluate("say('set-theme', { theme: 'dark' })")
    held.locator("html[data-theme='dark']").wait_for()
    page.evaluate("say('set-theme', { theme: 'pink' })")
    page.wait_for_function("answers.some(m => m.type === 'error' && m.body.reason.includes('set-theme'))")


@pytest.mark.undrawn
def test_nothing_is_said_to_a_page_that_asks_nothing(page, host, site):
    held = opened(page, host, site, f"{VIEW}&open=notch&height=auto")
    held.locator(scene.BODY).press("r")
    held.locator("#plane-name", has_text="Transverse plane").wait_for()
    assert page.evaluate("heard") == []
    assert page.evaluate("answers") == []


@pytest.mark.undrawn
@pytest.mark.parametrize(
    ("wish", "more", "answered"),
    [
        ("host=HOST", {}, True),
        ("host=http://elsewhere.example", {}, False),
        ("nonce=a-word-of-12", {"nonce": "a-word-of-12"}, True),
        ("nonce=a-word-of-12", {"nonce": "another-word"}, False),
        ("nonce=a-word-of-12", {}, False),
        ("", {"type": "goodbye"}, False),
        ("", {"v": "1"}, False),
    ],
)
def test_strangers_get_no_answer(page, host, site, wish, more, answered):
    opened(page, host, site, f"{VIEW}&{wish.replace('HOST', host.origin)}")
    page.evaluate("([site, more]) => hello(document.getElementById('view'), site, more)", [site.rstrip("/"), more])
    if answered:
        page.wait_for_function("answers.length > 0")
    else:
        content(page).wait_for_selector("html[data-ignored='1']", state="attached")
        assert page.evaluate("[answers.length, heard.length]") == [0, 0], "no answer by any way"


@pytest.mark.undrawn
def test_another_version_is_told_which_one_is_spoken(page, host, site):
    opened(page, host, site, VIEW)
    page.evaluate("site => hello(document.getElementById('view'), site, { v: 2 })", site.rstrip("/"))
    page.wait_for_function("heard.length === 1")
    assert page.evaluate("heard[0]") == {"ns": "planeward", "v": 1, "type": "unsupported", "body": {"supported": [1]}}
    assert page.evaluate("answers") == []


@pytest.mark.undrawn
def test_a_window_that_is_not_the_parent_is_not_heard(page, host, site):
    opened(page, host, site, VIEW)
    content(page).evaluate("() => { const c = new MessageChannel(); postMessage({ ns: 'planeward', v: 1, type: 'hello' }, '*', [c.port2]); }")
    content(page).wait_for_selector("html[data-ignored='1']", state="attached")


STORES = "() => { try { localStorage.setItem('a', 'b'); return localStorage.getItem('a'); } catch (error) { return error.name; } }"


# --- sets over the channel -------------------------------------------------------------------------------------------

SET = {
    "format": "planeward-set",
    "version": 1,
    "title": "Three over the port",
    "pass_percent": 60,
    "seed": 11,
    "questions": [
        {"id": "plane", "kind": "plane_from_picture", "view": {"window": "sagittal_right_ivc"}},
        {"id": "side", "kind": "side", "view": {"window": "transverse_aorta_mid"}},
        {"id": "probe", "kind": "plane_from_probe", "view": {"window": "transverse_aorta_mid"}, "points": 2},
    ],
}


def answered(held, key: str):
    held.locator(f".options input[value='{key}']").first.check()
    held.locator(".practise button[type='submit']").click()
    held.locator(".practise .told").wait_for()


def told(page, kind: str) -> list:
    return page.evaluate("kind => answers.filter(m => m.type === kind).map(m => m.body)", kind)


def wait_told(page, kind: str, count: int = 1):
    page.wait_for_function("([kind, count]) => answers.filter(m => m.type === kind).length >= count", arg=[kind, count])
    return told(page, kind)


# A frame of another site has no storage in this browser; one in a sandbox has not even an origin.
@pytest.mark.undrawn
@pytest.mark.parametrize("sandbox", [None, "allow-scripts"], ids=["another site, storage blocked", "sandboxed"])
def test_a_host_loads_a_set_and_hears_of_its_round(page, host, site, sandbox):
    held = opened(page, host, site, VIEW, sandbox=sandbox)
    assert content(page).evaluate(STORES) == "SecurityError"
    wants = ["progress", "answers", "results"]
    page.evaluate("([to, wants]) => hello(document.getElementById('view'), to, { wants })", ["*" if sandbox else site.rstrip("/"), wants])
    wait_told(page, "ready")

    page.evaluate("set => say('load-set', { set })", json.dumps(SET))
    held.locator(".practise form").wait_for(timeout=SLOW_MS)
    assert held.locator(".set-head h1").inner_text() == "Three over the port"
    assert wait_told(page, "progress") == [{"progress": 0, "percent": 0}]

    answered(held, "sagittal")
    [item] = wait_told(page, "item-answered")
    assert item == {**item, "id": "plane", "kind": "plane_from_picture", "answer": "sagittal", "correct": "sagittal", "outcome": "right", "score": 1}
    assert wait_told(page, "progress", 2)[-1] == {"progress": pytest.approx(1 / 3), "percent": 25}

    # The language changes in the middle; what was answered stays.
    page.evaluate("say('set-locale', { lang: 'es' })")
    held.locator("html[lang='es']").wait_for()
    held.locator("#practise-title", has_text="Pregunta 2 de 3").wait_for(timeout=SLOW_MS)
    page.evaluate("say('set-theme', { theme: 'dark' })")
    held.locator("html[data-theme='dark']").wait_for()
    page.evaluate("say('request-results', {})")
    [so_far] = wait_told(page, "results")
    assert so_far["finished"] is False and so_far["name"].endswith(".json")
    assert [one["outcome"] for one in so_far["result"]["items"]] == ["right", "unanswered", "unanswered"]

    # What cannot be used is said, and the round goes on.
    page.evaluate("say('load-set', { set: 's1.nonsense!' })")
    page.evaluate("say('set-locale', { lang: 'xx' })")
    reasons = [body["reason"] for body in wait_told(page, "error", 2)]
    assert "link" in reasons[0] and "xx" in reasons[1] and "es" in reasons[1], reasons
    assert held.locator("#practise-title").inner_text() == "Pregunta 2 de 3"

    answered(held, "toward_right")
    held.locator(".practise button.firm").click()
    held.locator("#practise-title", has_text="Pregunta 3 de 3").wait_for()
    answered(held, "transverse")
    held.locator(".practise button.firm").click()
    held.locator(".practise .total").wait_for()
    [over] = wait_told(page, "completed")
    assert over["passed"] is True and over["percent"] >= 75
    last = wait_told(page, "results", 2)[-1]
    assert last["finished"] is True and last["result"]["percent"] == over["percent"]

    # And another one in its place, then a view again.
    page.evaluate("set => say('load-set', { set })", json.dumps({**SET, "title": "Another"}))
    held.locator(".set-head h1", has_text="Another").wait_for(timeout=SLOW_MS)
    held.locator("#practise-title", has_text="Pregunta 1 de 3").wait_for(timeout=SLOW_MS)
    page.evaluate(f"say('set-view', {{ view: '{TRANSVERSE}' }})")
    held.locator("#plane-name", has_text="ransversal").wait_for(timeout=SLOW_MS)
    assert held.locator("html[data-theme='dark']").count() == 1, "the colours stay"


@pytest.mark.undrawn
def test_a_host_that_wants_nothing_hears_nothing_about_the_learner(page, host, site, set_link):
    held = page.frame_locator("#view")
    page.emulate_media(reduced_motion="reduce")
    page.goto(host.put("/course.html", HOST_SCRIPT + frame(site, set_link + "&question=probe")))
    held.locator(".practise form").wait_for(timeout=scene.READY_MS)
    assert held.locator("#practise-title").inner_text() == "Question 1 of 1", "one question of the set"
    page.evaluate("to => hello(document.getElementById('view'), to, {})", site.rstrip("/"))
    wait_told(page, "ready")
    answered(held, "transverse")
    held.locator(".practise button.firm").click()
    assert wait_told(page, "completed") == [{}], "that it is over, and no more"
    page.evaluate("say('request-results', {})")
    assert "hello" in wait_told(page, "error")[0]["reason"]
    assert {m["type"] for m in page.evaluate("answers")} == {"ready", "completed", "error"}


@pytest.mark.undrawn
def test_a_question_that_the_set_has_not_is_said(page, site, set_link):
    page.goto(f"{site}embed.html#{set_link}&question=nothing")
    page.locator("#loading", has_text="no question with the name nothing").wait_for(timeout=SLOW_MS)
    page.evaluate("window.drawing_calls = 1")


@pytest.fixture(scope="module")
def set_link(tmp_path_factory):
    source = tmp_path_factory.mktemp("set") / "set.json"
    source.write_text(json.dumps(SET), encoding="utf-8")
    said = subprocess.run([environment("PLANEWARD_BIN"), "share", source], capture_output=True, text=True, check=True).stdout
    return next(line for line in said.splitlines() if line.startswith("#s1.")).lstrip("#")


# --- the element -----------------------------------------------------------------------------------------------------


def element(site: str, attributes: str) -> str:
    return (
        HOST_SCRIPT
        + f'<script src="{site}planeward-view.js"></script>'
        + "<script>window.events = []; for (const name of ['ready', 'view', 'error', 'completed'])"
        + " addEventListener('planeward-' + name, (e) => events.push([name, e.detail]));</script>"
        + f'<planeward-view {attributes}><a href="{site}">Open the view</a></planeward-view>'
    )


def test_the_element_takes_the_height_it_needs(new_page, host, site):
    page = new_page(700, 900)
    page.emulate_media(reduced_motion="reduce")
    page.goto(host.put("/element.html", element(site, f'src="{site}embed.html#{VIEW}" title="The first view" wants="view"')))
    held = page.frame_locator("planeward-view iframe")
    held.locator(".page[data-body='loaded']").wait_for(timeout=scene.READY_MS)
    page.wait_for_function("events.some(([name]) => name === 'ready')")
    assert page.locator("planeward-view iframe").get_attribute("title") == "The first view"
    assert not page.get_by_role("link", name="Open the view").is_visible(), "the fallback is put away"
    inner = next(f for f in page.frames if "embed.html" in f.url)

    def heights():
        return inner.evaluate("[document.documentElement.scrollHeight, innerHeight]")

    page.wait_for_function("() => document.querySelector('planeward-view').shadowRoot.querySelector('iframe').clientHeight > 500")
    page.wait_for_timeout(300)
    needed, given = heights()
    assert needed <= given, "no inner scroll bar"
    held.locator("summary").click()
    page.wait_for_function(
        "before => document.querySelector('planeward-view').shadowRoot.querySelector('iframe').clientHeight > before + 40", arg=given
    )
    page.wait_for_timeout(300)
    needed, given = heights()
    assert needed <= given, "no inner scroll bar with the words unfolded"
    shot(page, "embed_element")


@pytest.mark.undrawn
def test_the_element_follows_its_attributes(page, host, site):
    page.emulate_media(reduced_motion="reduce")
    page.goto(host.put("/element.html", element(site, f'view="{VIEW}" height="420" wants="view"')))
    held = page.frame_locator("planeward-view iframe")
    held.locator(".page[data-body='loaded']").wait_for(timeout=scene.READY_MS)
    page.wait_for_function("events.some(([name]) => name === 'ready')")
    assert page.locator("planeward-view iframe").bounding_box()["height"] == 420
    page.evaluate(f"document.querySelector('planeward-view').setView('{TRANSVERSE}')")
    held.locator("#plane-name", has_text="Transverse plane").wait_for()
    page.evaluate("document.querySelector('planeward-view').setAttribute('theme', 'dark')")
    held.locator("html[data-theme='dark']").wait_for()
    page.evaluate("document.querySelector('planeward-view').remove()")
    page.wait_for_function("() => window.length === 0")
    # The frame that showed drawing is gone; the mark that one was drawn is kept for the fixture.
    page.evaluate("window.drawing_calls = 1")


@pytest.mark.undrawn
def test_the_element_plays_sets(page, host, site, set_link):
    page.emulate_media(reduced_motion="reduce")
    page.goto(host.put("/element.html", element(site, f'set="{set_link}" height="640" wants="progress"')))
    held = page.frame_locator("planeward-view iframe")
    held.locator(".practise form").wait_for(timeout=scene.READY_MS)
    page.wait_for_function("events.some(([name, detail]) => name === 'ready' && detail.shown)")
    assert held.locator("#practise-title").inner_text() == "Question 1 of 3"
    answered(held, "sagittal")
    held.locator("html").evaluate("root => { root.dataset.first = 'yes'; }")
    page.evaluate("document.querySelector('planeward-view').setAttribute('lang', 'es')")
    held.locator("#practise-title", has_text="Pregunta 2 de 3").wait_for(timeout=SLOW_MS)
    page.evaluate("set => document.querySelector('planeward-view').loadSet(set)", json.dumps({**SET, "title": "Another"}))
    held.locator(".set-head h1", has_text="Another").wait_for(timeout=SLOW_MS)
    assert held.locator("html").get_attribute("data-first") == "yes", "the frame is the same"
    page.evaluate("window.drawing_calls = 1")


@pytest.mark.undrawn
def test_the_element_without_an_address_shows_its_link(page, host, site):
    script = f"<script>fetch('{site}planeward-view.js').then(r => r.text()).then(t => (0, eval)(t))</script>"
    page.goto(host.put("/element.html", script + '<planeward-view><a href="#">Open the view</a></planeward-view>'))
    page.get_by_role("link", name="Open the view").wait_for()
    page.evaluate("window.drawing_calls = 1")


# --- frames with less than the usual rights --------------------------------------------------------------------------

def played(held):
    """Plays the set in the frame without a fault; gives the button that saves the result file at its end."""
    held.locator(".practise form").wait_for(timeout=scene.READY_MS)
    for key in ("sagittal", "toward_right", "transverse"):
        answered(held, key)
        held.locator(".practise button.firm").click()
    held.locator(".practise .total").wait_for()
    return held.get_by_role("button", name="Save the result file")


def played_and_saved(page, held) -> dict:
    """Plays the set in the frame without a fault; gives the result file that the learner saves at its end."""
    save = played(held)
    with page.expect_download() as download:
        save.click()
    return json.loads(download.value.path().read_text(encoding="utf-8"))


@pytest.mark.undrawn
def test_a_frame_that_may_not_download_says_so(new_page, host, site, set_link, watch):
    """The browser drops the file and tells the page nothing; whoever saved it reads what to do, and has its text."""
    watch.expect("Download is disallowed")
    page = new_page(700, 560)
    downloads = []
    page.on("download", lambda download: downloads.append(download))
    page.goto(host.put("/set.html", frame(site, set_link, sandbox="allow-scripts")))
    held = page.frame_locator("#view")
    save = played(held)
    note = held.locator(".saved")
    assert note.count() == 0
    save.click()
    note.wait_for()
    said = note.inner_text()
    assert re.search(r"Saved as \S+\.json\. If no file arrives, this frame does not allow downloads\.", said), said
    own = note.get_by_role("link", name="Open in its own tab")
    assert own.get_attribute("href") == content(page).url and own.get_attribute("target") == "_blank"
    # Undecided: letters over the canvases, and what the line lies over.
    assert_accessible(content(page), allowed_incomplete=("color-contrast",))
    copy = note.get_by_role("button", name="Copy the text of the file")
    copy.click()
    note.get_by_text("Copied.").wait_for()
    # A frame without a way to the clipboard has the text, marked.
    content(page).evaluate("() => { navigator.clipboard.writeText = () => Promise.reject(new DOMException('no', 'NotAllowedError')); }")
    copy.click()
    field = note.locator("textarea")
    field.wait_for()
    text = field.input_value()
    assert json.loads(text)["format"] == "planeward-result"
    content(page).wait_for_function("field => field.selectionStart === 0 && field.selectionEnd === field.value.length", arg=field.element_handle())
    shot(page, "sandbox_saved")
    note.get_by_role("button", name="Close").click()
    note.wait_for(state="detached")
    assert not downloads


@pytest.mark.undrawn
def test_a_set_in_a_sandbox_gives_its_result_away(page, host, site, set_link):
    """A sandbox that lets files out and nothing else: no origin, no storage, no dialogs."""
    page.goto(host.put("/set.html", frame(site, set_link, sandbox="allow-scripts allow-downloads")))
    result = played_and_saved(page, page.frame_locator("#view"))
    assert content(page).evaluate("origin") == "null" and content(page).evaluate(STORES) == "SecurityError"
    assert result["format"] == "planeward-result" and result["percent"] == 100


def test_a_sandboxed_frame(page, host, site):
    held = opened(page, host, site, VIEW, sandbox="allow-scripts")
    assert content(page).evaluate("origin") == "null"
    assert content(page).evaluate(STORES) == "SecurityError", "no storage in here"
    assert_not_blank(held.locator(scene.BODY))
    assert_not_blank(held.locator(scene.PICTURE))
    # A page in a sandbox cannot be named as a target, so the host speaks to any.
    page.evaluate("hello(document.getElementById('view'), '*', {})")
    page.wait_for_function("answers.some(m => m.type === 'ready')")


def test_a_frame_of_the_same_site(page, watch, site):
    with course("127.0.0.1") as host:
        opened(page, host, site, VIEW)
        assert content(page).evaluate(STORES) == "b"


ALL_FLAGS = [*FLAGS, "--remote-debugging-pipe", "--no-startup-window"]

# Third-party storage allowed, partitioned by the top page's site unless the driver's flags switch that off.
ALLOWED = {"profile": {"cookie_controls_mode": 0, "block_third_party_cookies": False}}

SITUATIONS = {
    # name: (stores allowed, the driver's own flags, what a frame of another site sees of what its own page wrote)
    "blocked": (False, True, "SecurityError"),
    "partitioned": (True, False, "nothing"),
    "shared": (True, True, "kept"),
}


@pytest.mark.parametrize("situation", SITUATIONS)
def test_a_frame_of_another_site(playwright_driver, host, site, tmp_path, situation, set_link):
    """Blocked as in private windows, partitioned as browsers do, shared as the driver's own flags have it."""
    allowed, driver_flags, wanted = SITUATIONS[situation]
    (tmp_path / "Default").mkdir()
    if allowed:
        (tmp_path / "Default" / "Preferences").write_text(json.dumps(ALLOWED))
    more = {} if driver_flags else {"ignore_default_args": True}
    args = FLAGS if driver_flags else [*ALL_FLAGS, f"--user-data-dir={tmp_path}"]
    context = playwright_driver.chromium.launch_persistent_context(
        str(tmp_path), executable_path=environment("PLANEWARD_CHROMIUM"), args=args, **more
    )
    try:
        page = context.new_page()
        page.set_default_timeout(SLOW_MS)
        faults = []
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.goto(site + "embed.html#" + VIEW)
        scene.wait_until_ready(page)
        page.evaluate("localStorage.setItem('planeward.mark', 'kept')")
        held = opened(page, host, site, VIEW)
        seen = content(page).evaluate("() => { try { return localStorage.getItem('planeward.mark') ?? 'nothing'; } catch (error) { return error.name; } }")
        assert seen == wanted
        assert held.locator("#plane-name").inner_text() == "Mid-sagittal plane"
        assert_not_blank(held.locator(scene.PICTURE))

        page.goto(host.put("/set.html", frame(site, set_link)))
        result = played_and_saved(page, page.frame_locator("#view"))
        assert [one["outcome"] for one in result["items"]] == ["right"] * 3
        kept = content(page).evaluate("() => { try { return JSON.stringify(Object.entries(localStorage)); } catch (error) { return error.name; } }")
        assert "sagittal" not in kept and "transverse" not in kept, f"no answer stays in this browser: {kept}"
        assert not faults
    finally:
        context.close()


# --- many views on one page ------------------------------------------------------------------------------------------


def test_views_out_of_sight_give_their_context_back(new_page, host, site):
    page = new_page(700, 600)
    page.emulate_media(reduced_motion="reduce")
    gap = '<div style="height: 1600px"></div>'
    frames = gap.join(frame(site, VIEW + "&show=body&open=look", height=300, name=f"view{n}") for n in range(2))
    page.goto(host.put("/two.html", frames))
    first, second = inside(page, "view0"), page.frame_locator("#view1")
    first.locator("html[data-body-view='live']").wait_for(timeout=SLOW_MS)
    second.locator("html[data-body-view='still']").wait_for(timeout=SLOW_MS)
    page.locator("#view1").scroll_into_view_if_needed()
    second.locator("html[data-body-view='live']").wait_for(timeout=SLOW_MS)
    first.locator("html[data-body-view='still']").wait_for(timeout=SLOW_MS)
    assert not first.locator("#still-words").is_visible(), "resting out of sight needs no words"
    page.wait_for_timeout(1500)
    assert_not_blank(second.locator(scene.BODY))
    page.locator("#view0").scroll_into_view_if_needed()
    first.locator("html[data-body-view='live']").wait_for(timeout=SLOW_MS)
    page.wait_for_timeout(1500)
    assert_not_blank(first.locator(scene.BODY))


def test_more_views_than_contexts_are_drawn_still(playwright_driver, host, site, watch):
    """The browser is told to keep two contexts; the third view takes one from the first."""
    watch.expect("Too many active WebGL contexts")
    browser = playwright_driver.chromium.launch(
        executable_path=environment("PLANEWARD_CHROMIUM"), args=[*FLAGS, "--max-active-webgl-contexts=2"]
    )
    try:
        page = browser.new_page(viewport={"width": 1000, "height": 700})
        watch.attach(page)
        page.emulate_media(reduced_motion="reduce")
        page.goto(host.put("/three.html", '<p id="row"></p>'))
        for number in range(3):
            lines = frame(site, VIEW + "&show=body&open=look", width=310, height=320, name=f"view{number}")
            page.evaluate("lines => document.getElementById('row').insertAdjacentHTML('beforeend', lines)", lines)
            held = inside(page, f"view{number}")
            page.wait_for_timeout(1500)
        first = page.frame_locator("#view0")
        first.locator("html[data-body-view='still']").wait_for(timeout=SLOW_MS)
        assert "Drawn still" in first.locator("#still-words").inner_text()
        for number in range(3):
            assert_not_blank(page.frame_locator(f"#view{number}").locator(".body-view"))
        shot(page, "embed_three")
        assert held.locator(scene.BODY).is_visible()
    finally:
        browser.close()
