"""The page in Spanish, from right to left, and in a language with long words."""

import json
import pathlib
import re
import tomllib

import pytest
import scene
from conftest import environment
from harness import assert_accessible, open_page, shot
from languages import serve_pseudo, words_of
from test_page import OVER_A_CANVAS

# Words that no Spanish sentence of the page has.
ENGLISH = re.compile(
    r"\b(the|of|and|with|plane|probe|image|notch|beam|show|depth|patient's|picture|body|close|left|right|head|feet|front|back"
    r"|tissue|blood|muscle|deep|toward|frozen|acquired?|live|finish|missing|wrong|screens?|long|short|oblique|turn|quarter|half"
    r"|sides?|where|why|which|not|is|are|was|examination|save|keep|kept|words?|keys?|list|asked|shown|here)\b",
    re.I,
)

VOCABULARY = pathlib.Path(__file__).resolve().parents[2] / "models/vocabulary.toml"

READABLE = """() => {
  const own = [...document.querySelectorAll('body *')].filter(e => !['SCRIPT', 'STYLE', 'NOSCRIPT'].includes(e.tagName));
  const texts = own.flatMap(e => [...e.childNodes].filter(n => n.nodeType === 3).map(n => n.textContent));
  const labels = own.flatMap(e => ['aria-label', 'title', 'placeholder', 'alt', 'aria-valuetext'].map(a => e.getAttribute(a)));
  return [...texts, ...labels].filter(t => t && t.trim());
}"""


# What is said by the live region from now on, every sentence of it.
LISTEN = """() => { const live = document.querySelector('#live'); window.said = [];
  new MutationObserver(() => window.said.push(live.textContent)).observe(live, { childList: true, characterData: true, subtree: true }); }"""


def english(page, state: str) -> list[str]:
    """What stands on the page, or was said, in English. Annotations are written in the words of their vocabulary."""
    texts = page.evaluate(READABLE.replace("!['SCRIPT', 'STYLE', 'NOSCRIPT'].includes(e.tagName)", "!['SCRIPT', 'STYLE', 'NOSCRIPT'].includes(e.tagName) && !e.closest('#offers')"))
    texts += page.evaluate("window.said ?? []")
    # A language is offered by its own name.
    return [f"{state}: {text.strip()}" for text in texts if ENGLISH.search(text) and text.strip() not in ("English", "Planeward")]


def spanish(page, site, fragment=""):
    page.emulate_media(reduced_motion="reduce")
    page.goto(f"{site}?lang=es" + (f"#{fragment}" if fragment else ""))
    return scene.wait_until_ready(page)


@pytest.mark.undrawn
def test_nothing_on_the_page_is_left_in_english(page, site):
    spanish(page, site)
    assert page.locator("html").get_attribute("lang") == "es"
    assert page.title().endswith("plano de imagen?")
    page.get_by_role("button", name="Teclas").click()
    left = [text for text in page.evaluate(READABLE) if ENGLISH.search(text)]
    # A language is offered by its own name.
    left = [text for text in left if text.strip() not in ("English", "Planeward")]
    assert not left, "\n".join(left)


def heard(page, act) -> None:
    """Does something and waits until something new was said of it."""
    before = page.evaluate("window.said.filter(Boolean).length")
    act()
    page.wait_for_function("before => window.said.filter(Boolean).length > before", arg=before)


@pytest.mark.undrawn
def test_no_state_of_the_scan_screen_is_left_in_english(page, site):
    """Answers, planes of a volume, what is pointed at, predictions, the examination from freezing to finishing, and what is
    said of all that."""
    spanish(page, site, "v1.body=adult_female&probe=volume_convex&at=0,-110,118&out=-90,0&turn=35&depth=150")
    page.evaluate(LISTEN)
    page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
    left = english(page, "settings")
    page.locator(scene.BODY).focus()
    heard(page, lambda: page.keyboard.press("6"))
    page.locator(".plane-picture").first.wait_for()
    left += english(page, "volume")
    page.keyboard.press("6")
    for asks in [".why-plane", ".side.left button", ".side.top button", "#section-table .asks"]:
        page.locator(asks).first.click()
        page.locator("#why").wait_for()
        scene.settle(page)
        left += english(page, asks)
    page.locator("#why button").last.click()
    # The closed answer gives the focus back to who asked; only then can it go on.
    page.locator("#why").wait_for(state="hidden")
    scene.settle(page)
    # Every tissue the keys come across on the way down.
    page.locator(scene.PICTURE).focus()
    for _ in range(40):
        page.keyboard.press("ArrowDown")
        page.wait_for_function("() => document.querySelector('#under-cursor b').textContent")
        left += english(page, "pointed at")
    page.keyboard.press("Escape")
    page.get_by_label("Quiero predecir").check()
    page.locator(scene.BODY).focus()
    page.keyboard.press("n")
    page.locator("#predict-question").wait_for()
    left += english(page, "question")
    page.locator(".predict .answers button").first.click()
    page.locator("#predict-verdict").wait_for()
    left += english(page, "verdict")
    page.get_by_label("Quiero predecir").uncheck()

    page.locator("#requested").select_option("aorta")
    page.locator(scene.BODY).focus()
    heard(page, lambda: page.keyboard.press("p"))
    page.wait_for_selector(".frozen:visible")
    page.keyboard.press("e")
    line = page.get_by_role("combobox", name="Anotación")
    line.fill("TV AO PROX RT nonsense")
    line.press("Enter")
    page.locator(".findings li").first.wait_for()
    left += english(page, "checked")
    line.fill("SAG AO")
    page.locator(scene.BODY).focus()
    heard(page, lambda: page.keyboard.press("b"))
    page.locator(".strip .card").wait_for()
    page.keyboard.press("9")
    page.locator("dialog#review").wait_for()
    scene.settle(page)
    left += english(page, "review")
    heard(page, lambda: page.locator("dialog#review button", has_text="Borrar").click())
    page.keyboard.press("Escape")
    left += english(page, "deleted")
    heard(page, lambda: page.get_by_role("button", name="Devolverla").click())
    page.locator(".strip .card").wait_for()
    page.locator(scene.BODY).focus()
    page.keyboard.press("p")
    page.locator(".annotation button").last.click()
    page.locator("dialog#finish").wait_for()
    left += english(page, "finish")
    page.locator("dialog#finish button.firm").click()
    scene.settle(page)
    left += english(page, "finished")
    assert not left, "\n".join(sorted(set(left)))


@pytest.mark.undrawn
def test_words_numbers_and_names_are_spanish(page, site):
    spanish(page, site)
    assert scene.plane(page) == "Plano: Sagital medio"
    assert scene.side_words(page)["left"] == "extremo cefálico"
    words = page.locator("#description").text_content()
    for part in ["Sonda en: cara anterior del abdomen superior", "Muesca hacia la cabeza (las 12).", "De arriba abajo".lower(), "aorta"]:
        assert part.lower() in words.lower(), f"{part!r} in {words!r}"
    page.locator(scene.DIAL).focus()
    for _ in range(3):
        page.keyboard.press("PageDown")
        scene.settle(page)
    page.wait_for_function("() => document.querySelector('#live').textContent.includes('Plano transversal')")
    assert "Muesca hacia la derecha del paciente (las 9)." in page.locator("#live").inner_text()
    shot(page, "spanish")


@pytest.mark.undrawn
def test_the_choice_is_kept_and_the_probe_stays(page, site):
    scene.open_scan(page, site)
    scene.type_number(page, "Notch", 270)
    scene.wait_for_fragment(page, "turn", "270")
    before = scene.fragment(page)
    page.get_by_label("Language").select_option("es")
    page.wait_for_selector("html[lang=es]")
    scene.wait_until_ready(page)
    assert scene.fragment(page) == before
    page.reload()
    page.wait_for_selector("html[lang=es]")
    scene.wait_until_ready(page)
    page.get_by_label("Idioma").select_option("en")
    page.wait_for_selector("html[lang=en]")
    scene.wait_until_ready(page)
    assert scene.plane(page) == "Transverse plane"


@pytest.mark.undrawn
def test_another_language_loses_no_step_and_nothing_on_show(page, site):
    """The page loads again, and everything is as it was but the words."""
    scene.open_scan(page, site)
    first = scene.plane(page)
    for turn in (270, 45, 10):
        scene.type_number(page, "Notch", turn)
    page.get_by_role("button", name="Undo", exact=True).click()
    scene.settle(page)
    page.get_by_label("Show inside").select_option("vessels")
    page.get_by_label("Let me predict before the notch turns").check()
    page.locator("#section-table tbody tr", has_text="aorta").first.locator(".asks").click()
    page.locator("#why").wait_for()
    # At once, before the address has followed: the last step is not lost either.
    scene.type_number(page, "Tilt", 7)
    page.get_by_label("Language").select_option("es")
    page.wait_for_selector("html[lang=es]")
    scene.wait_until_ready(page)

    def number(name):
        return page.locator(f"#{name}-number").input_value()

    assert (number("notch"), number("tilt")) == ("45", "7")
    assert page.locator("#filter").input_value() == "vessels"
    assert page.locator("#why").is_visible()
    assert page.get_by_label("Quiero predecir").is_checked()
    undo = page.get_by_role("button", name="Deshacer", exact=True)
    seen = []
    while undo.is_enabled():
        undo.click()
        scene.settle(page)
        seen.append(number("notch"))
    assert seen == ["45", "270", "0"], seen
    redo = page.get_by_role("button", name="Rehacer", exact=True)
    redo.click()
    scene.settle(page)
    assert number("notch") == "270"
    # A reload is the same thing, and an opened link is not.
    page.reload()
    scene.wait_until_ready(page)
    assert undo.is_enabled() and redo.is_enabled()
    page.goto("about:blank")
    page.goto(f"{site}?lang=en#v1.body=adult_female")
    scene.wait_until_ready(page)
    assert scene.plane(page) == first
    assert not page.get_by_role("button", name="Undo", exact=True).is_enabled()


@pytest.mark.undrawn
def test_a_tab_without_storage_loses_the_steps_and_nothing_else(page, site):
    page.add_init_script("Object.defineProperty(window, 'sessionStorage', { get() { throw new DOMException('no', 'SecurityError'); } });")
    scene.open_scan(page, site)
    scene.type_number(page, "Notch", 270)
    scene.wait_for_fragment(page, "turn", "270")
    page.reload()
    scene.wait_until_ready(page)
    assert scene.plane(page) == "Transverse plane"
    assert not page.get_by_role("button", name="Undo", exact=True).is_enabled()


@pytest.mark.undrawn
def test_a_browser_in_spanish_gets_spanish(new_page, site):
    page = new_page(locale="es-MX")
    open_page(page, site)
    page.wait_for_selector("html[lang=es]")
    scene.wait_until_ready(page)


@pytest.mark.undrawn
def test_without_storage_the_address_keeps_the_language(page, site):
    page.add_init_script("Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });")
    scene.open_scan(page, site)
    page.get_by_label("Language").select_option("es")
    page.wait_for_url(re.compile(r"\?lang=es"))
    page.wait_for_selector("html[lang=es]")
    scene.wait_until_ready(page)


@pytest.mark.undrawn
def test_a_language_that_does_not_arrive_is_said(page, site, watch):
    watch.expect(r"request failed: .*/languages/")
    watch.expect(r"Failed to load resource")
    page.route(re.compile(r".*/languages/.*"), lambda route: route.abort())
    page.goto(f"{site}?lang=es")
    notice = page.locator("#notice")
    notice.wait_for()
    assert "Español" in notice.inner_text() and "English" in notice.inner_text()
    scene.wait_until_ready(page)
    assert page.locator("html").get_attribute("lang") == "en"


def check_names(tag: str):
    """Every part of every body has its name in the language, and no name belongs to nothing."""
    folder = pathlib.Path(environment("PLANEWARD_BODIES"))
    wanted = set()
    for file in sorted(folder.glob("*.json")):
        body = json.loads(file.read_text(encoding="utf-8"))
        wanted.add(f"bodies.{file.stem}")
        wanted.update(f"windows.{window['id']}" for window in body["windows"])
        for structure in body["structures"]:
            name = structure["id"]
            wanted.update([f"structures.{name}", f"short.{name}"])
            wanted.update(f"parts.{name}.{part['id']}" for part in structure.get("segments", []))
    assert len(wanted) > 500, "the bodies were read"
    given = {key.removeprefix("names."): words for key, words in words_of(tag).items() if key.startswith("names.")}
    given = {key: words for key, words in given.items() if not key.startswith(("transducers.", "words.", "meanings."))}
    assert sorted(wanted - given.keys()) == [], "parts without a name"
    assert sorted(given.keys() - wanted) == [], "names of nothing"
    sides = {"left": ("izq", "I"), "right": ("der", "D")}
    for key, words in given.items():
        for side, (word, _) in sides.items():
            if key.startswith(f"structures.{side}_"):
                assert word in words, f"{key} says which side: {words}"


def test_every_part_of_the_bodies_has_a_spanish_name():
    check_names("es")


def check_annotation_words(tag: str):
    """What the language file says for annotations belongs to words of the vocabulary, and no word means two things."""
    tables = tomllib.loads(VOCABULARY.read_text(encoding="utf-8"))
    ambiguous = tables.pop("ambiguous")
    terms = [term for table in tables.values() if isinstance(table, list) for term in table]
    taken = {name: term["mark"] for term in terms for name in [term["mark"], *term.get("also", [])]}
    taken |= {entry["word"]: "?" for entry in ambiguous}
    assert len(taken) > 200, "the vocabulary was read"
    given = words_of(tag)
    own = {key.removeprefix("names.words."): words for key, words in given.items() if key.startswith("names.words.")}
    assert sorted(own.keys() - {term["mark"] for term in terms}) == [], "words for nothing"
    for mark, words in own.items():
        for word in words.split(", "):
            assert word == word.upper() and re.fullmatch(r"\w+( \w+)*", word), f"{mark}: {word!r}"
            assert taken.get(word, mark) == mark, f"{word} means {mark} and {taken[word]}"
            taken[word] = mark
    meanings = {f"names.meanings.{entry['word']}.{number + 1}" for entry in ambiguous for number in range(len(entry["choices"]))}
    assert {key for key in given if key.startswith("names.meanings.")} == meanings


def test_annotations_can_be_written_in_spanish_words():
    check_annotation_words("es")


@pytest.mark.undrawn
@pytest.mark.parametrize(("width", "height"), [(320, 640), (640, 480), (1280, 800)])
@pytest.mark.parametrize("kind", ["long", "rtl"])
def test_the_layout_holds_other_words(new_page, site, kind, width, height):
    page = new_page(width, height)
    serve_pseudo(page, kind)
    spanish(page, site)
    scene.no_sideways_scroll(page)
    cut = page.evaluate(
        """() => [...document.querySelectorAll('button, label, h2, legend, p, td, th')]
        .filter(e => e.checkVisibility() && !e.classList.contains('unseen') && !e.closest('.unseen') && getComputedStyle(e).clipPath === 'none')
        .filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).overflowX !== 'visible')
        .map(e => `${e.tagName} ${e.id} ${e.textContent.slice(0, 40)}`)"""
    )
    assert not cut, cut
    assert_accessible(page, allowed_incomplete=OVER_A_CANVAS)
    shot(page, f"language_{kind}_{width}")


PIXELS = """() => { const event = new CustomEvent('planeward:test-pixels', { detail: {} });
    document.dispatchEvent(event); return [...event.detail.rgba].filter((_, at) => at % 37 === 0).join(); }"""


def anatomy(page) -> dict:
    """Where the anatomy, its marks and its directions stand."""

    def within(selector, frame):
        inner, outer = scene.box(page, selector), scene.box(page, frame)
        return [round(inner["x"] + inner["width"] / 2 - outer["x"]), round(inner["y"] + inner["height"] / 2 - outer["y"])]

    return {
        "letters": scene.sides(page),
        "picture": page.evaluate(PIXELS),
        "left letter": within(".side.left b", scene.PICTURE)[0] < within(".side.right b", scene.PICTURE)[0],
        "notch": within(".tag.notch", scene.BODY),
        "pad": page.evaluate("[...document.querySelectorAll('.pad button')].map(b => b.textContent.trim()[0]).join('')"),
        "arrows": page.evaluate(
            """() => { const at = sign => [...document.querySelectorAll('.pad button')].find(b => b.textContent.includes(sign)).getBoundingClientRect().x;
            return at('←') < at('→'); }"""
        ),
    }


# The tag's words have another width, and its middle is rounded to whole pixels.
TAG_PX = 30


def test_a_page_from_right_to_left_does_not_mirror_anatomy(new_page, site):
    plain = new_page()
    plain.emulate_media(reduced_motion="reduce")
    plain.goto(site + "?test")
    scene.wait_until_ready(plain)
    turned = new_page()
    serve_pseudo(turned, "rtl")
    turned.emulate_media(reduced_motion="reduce")
    turned.goto(site + "?test&lang=es")
    scene.wait_until_ready(turned)
    assert turned.locator("html").get_attribute("dir") == "rtl"
    panel, stages = scene.box(turned, ".panel"), scene.box(turned, ".stages")
    assert panel["x"] < stages["x"], "the layout is mirrored"
    left, right = anatomy(plain), anatomy(turned)
    notch = [left.pop("notch"), right.pop("notch")]
    assert abs(notch[0][0] - notch[1][0]) <= TAG_PX and abs(notch[0][1] - notch[1][1]) <= TAG_PX, notch
    # Other words leave the picture another room; on one page the direction alone changes nothing in it.
    drawn = left.pop("picture")
    right.pop("picture")
    assert left == right
    plain.evaluate("document.documentElement.dir = 'rtl'")
    scene.settle(plain)
    assert plain.evaluate(PIXELS) == drawn, "the same picture to the pixel"
    shot(turned, "language_rtl_drawn")
