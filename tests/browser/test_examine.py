"""Freeze, annotate, acquire, review, delete, finish, by mouse, by touch and by keys; and what a reload brings back.

Expected planes, sides and parts follow from the windows: the sagittal window left of the mid-line shows the proximal
aorta in long axis; a quarter turn of the notch from there gives a transverse plane.
"""

import re

import examination
import pytest
import scene
from examination import CARDS, FINISH, REVIEW, SAGITTAL
from harness import assert_accessible, shot

pytestmark = pytest.mark.undrawn

# What axe cannot decide: the letters and the sign that stand over the picture's canvas.
OVER_CANVAS = ("color-contrast",)

# A picture of the browser's own storage that is full, or is not allowed at all. Settings may still be kept.
FULL = """
const put = Storage.prototype.setItem;
Storage.prototype.setItem = function (name, value) {
  if (name.includes('examination') && !window.roomAgain) throw new DOMException('full', 'QuotaExceededError');
  return put.call(this, name, value);
};
"""
BLOCKED = """
for (const name of ['localStorage', 'sessionStorage']) {
  Object.defineProperty(window, name, { get() { throw new DOMException('blocked', 'SecurityError'); } });
}
"""


def opened(page, site, fragment=SAGITTAL):
    # Leaving is a matter of its own test.
    page.on("dialog", lambda dialog: dialog.accept())
    return scene.open_scan(page, site, fragment)


def test_the_whole_journey_with_a_mouse(page, site):
    opened(page, site)
    page.get_by_role("combobox", name="Requested list").select_option("aorta")
    examination.freeze(page)

    # Frozen is frozen: the slider goes back, and a sentence says why.
    tilt = page.get_by_role("slider", name=re.compile("^Tilt", re.I))
    before = tilt.input_value()
    tilt.fill("30")
    scene.settle(page)
    assert tilt.input_value() == before
    assert "The picture is frozen" in examination.notes(page)
    right = page.get_by_role("radio", name=re.compile("image right", re.I)).first
    right.click()
    scene.settle(page)
    assert not right.is_checked(), "the choice goes back too"

    # A word that means two things is asked about, not guessed.
    line = examination.line(page)
    line.fill("TV AO")
    examination.caption_button(page, "Acquire").click()
    scene.settle(page)
    assert page.locator(CARDS).count() == 0
    assert "means two things" in examination.notes(page)
    page.get_by_role("button", name="TRV: transverse").click()
    scene.settle(page)
    assert line.input_value() == "TRV AO"
    assert examination.findings(page)[0] == "Wrong TRV: The plane is sagittal."

    # Words are offered while one types.
    line.fill("SAG AO PR")
    page.get_by_role("option", name=re.compile("^PROX ")).click()
    scene.settle(page)
    assert line.input_value() == "SAG AO PROX "
    page.get_by_role("button", name="Check", exact=True).click()
    scene.settle(page)
    assert all(row.startswith("Right ") for row in examination.findings(page)), examination.findings(page)
    examination.acquire(page)
    [card] = examination.cards(page)
    assert card[0] == "1. SAG AO PROX" and card[1] == "sagittal" and "annotation right" in card[-1], card

    # What stood on that picture is not carried over to the next.
    examination.unfreeze(page)
    assert line.input_value() == ""
    scene.type_number(page, "Notch", 270)
    examination.take(page, "SAG AO PROX")
    assert "annotation not right" in examination.cards(page)[1][-1]
    examination.take(page, "")
    assert "3. no annotation" in examination.cards(page)[2][0]

    # Looking again, deleting, putting back.
    page.locator("#card-2").click()
    review = page.locator(REVIEW)
    review.get_by_role("heading", name="Picture 2, 2 of 3").wait_for()
    assert "Wrong SAG: The plane is transverse." in examination.findings(page, REVIEW)
    review.get_by_role("button", name="Next picture").click()
    review.get_by_role("heading", name="Picture 3, 3 of 3").wait_for()
    assert review.get_by_role("button", name="Next picture").is_disabled()
    review.get_by_role("button", name="Delete").click()
    review.get_by_role("heading", name="Picture 2, 2 of 2").wait_for()
    review.get_by_role("button", name="Close").click()
    examination.wait_for_cards(page, 2)
    page.get_by_role("button", name="Put it back").click()
    examination.wait_for_cards(page, 3)

    # Finishing names what is missing.
    page.locator(".examine").get_by_role("button", name="Finish").click()
    finish = page.locator(FINISH)
    finish.get_by_role("heading").wait_for()
    rows = finish.locator(".requested li").all_inner_texts()
    assert len(rows) == 7
    missing = [row.split("\n")[0] for row in rows if "Missing" in row]
    assert "Mid abdominal aorta, sagittal" in missing and "Aorta where it divides" in missing, rows
    assert "Proximal abdominal aorta, sagittal" not in missing, rows
    assert f"{7 - len(missing)} of 7 views are there" in finish.inner_text()
    assert "annotation is not right: 2" in finish.inner_text()
    finish.get_by_role("button", name=f"Finish with {len(missing)} missing").click()
    finish.get_by_role("heading", name="The examination is finished").wait_for()
    finish.get_by_role("button", name="Begin a new examination").click()
    page.keyboard.press("Escape")
    examination.wait_for_cards(page, 0)


def test_the_whole_journey_by_keys(page, site):
    opened(page, site)
    body = page.locator(scene.BODY)
    body.focus()
    page.keyboard.press("p")
    page.wait_for_selector(".frozen:visible")
    page.keyboard.press("e")
    scene.settle(page)
    assert page.locator(scene.DIAL).get_attribute("aria-valuenow") == "0", "frozen"
    page.keyboard.press("l")
    line = examination.line(page)
    assert line.evaluate("line => line === document.activeElement")
    page.keyboard.type("sag ao pro")
    scene.settle(page)
    page.locator("#offers b", has_text="PROX").wait_for()
    offered = page.locator("#offers b").all_inner_texts()
    # Each press goes one word on, and the word is known to assistive technology.
    for word in offered[: offered.index("PROX") + 1]:
        page.keyboard.press("ArrowDown")
        page.locator("#offers [aria-selected=true] b", has_text=word).wait_for()
        assert line.get_attribute("aria-activedescendant")
    page.keyboard.press("Enter")
    scene.settle(page)
    assert line.input_value() == "sag ao PROX "
    page.keyboard.press("Enter")
    scene.settle(page)
    assert [row.split(" ")[0] for row in examination.findings(page)] == ["Right"] * 3
    body.focus()
    page.keyboard.press("b")
    examination.wait_for_cards(page, 1)
    page.keyboard.press("p")
    page.keyboard.press("t")
    scene.settle(page)
    page.keyboard.press("b")
    examination.wait_for_cards(page, 2)
    page.keyboard.press("9")
    review = page.locator(REVIEW)
    review.get_by_role("heading", name="Picture 2, 2 of 2").wait_for()
    page.keyboard.press("ArrowLeft")
    review.get_by_role("heading", name="Picture 1, 1 of 2").wait_for()
    page.keyboard.press("Escape")
    review.wait_for(state="hidden")
    assert body.evaluate("body => body === document.activeElement"), "the focus comes back"
    page.get_by_role("button", name="Finish", exact=True).first.focus()
    page.keyboard.press("Enter")
    page.locator(FINISH).get_by_role("button", name="Finish", exact=True).press("Enter")
    page.locator(FINISH).get_by_role("heading", name="The examination is finished").wait_for()
    # The keys stand in the help.
    page.keyboard.press("Escape")
    body.focus()
    page.keyboard.press("?")
    help_text = page.locator("#keys-help").inner_text()
    for words in ["Freeze the picture", "annotation line", "Acquire the picture", "previous acquired picture"]:
        assert words in help_text, words


def test_the_whole_journey_by_touch(new_page, site):
    page = new_page(360, 740, has_touch=True)
    opened(page, site)
    examination.caption_button(page, "Freeze").tap()
    page.wait_for_selector(".frozen:visible")
    examination.line(page).tap()
    page.keyboard.type("sag a")
    page.get_by_role("option", name=re.compile("^AO abd")).tap()
    scene.settle(page)
    assert examination.line(page).input_value() == "sag AO "
    page.get_by_role("button", name="Check", exact=True).tap()
    scene.settle(page)
    assert len(examination.findings(page)) == 2
    examination.caption_button(page, "Acquire").tap()
    examination.wait_for_cards(page, 1)
    page.locator("#card-1").tap()
    page.locator(REVIEW).get_by_role("button", name="Delete").tap()
    page.locator(REVIEW).wait_for(state="hidden")
    page.get_by_role("button", name="Put it back").tap()
    examination.wait_for_cards(page, 1)
    page.locator(".examine").get_by_role("button", name="Finish").tap()
    page.locator(FINISH).get_by_role("button", name="Finish", exact=True).tap()
    page.locator(FINISH).get_by_role("heading", name="The examination is finished").wait_for()
    scene.no_sideways_scroll(page)
    small = page.evaluate(
        """() => [...document.querySelectorAll('.examine button, .examine input, dialog[open] button')]
            .filter(one => one.getClientRects().length)
            .map(one => [one.textContent, one.getBoundingClientRect().height, one.getBoundingClientRect().width])
            .filter(([, height, width]) => height < 24 || width < 24)"""
    )
    assert not small, f"too small for a finger: {small}"


def test_a_reload_in_the_middle_loses_nothing(page, site):
    opened(page, site, SAGITTAL + "&grey=60&gain=4.5")
    scene.type_number(page, "Compress", 8)
    examination.take(page, "SAG AO PROX")
    scene.type_number(page, "Tilt", 17)
    examination.freeze(page)
    examination.line(page).fill("half a li")
    page.locator("#card-1").click()
    page.locator(REVIEW).get_by_role("heading", name="Picture 1, 1 of 1").wait_for()
    scene.settle(page)
    before = examination.review_pixels(page)
    page.keyboard.press("Escape")
    scene.wait_for_fragment(page, "tilt", "17")
    page.reload()
    scene.wait_until_ready(page)
    page.wait_for_selector(".frozen:visible")
    examination.wait_for_cards(page, 1)
    assert examination.line(page).input_value() == "half a li"
    assert "annotation right" in examination.cards(page)[0][-1]
    page.locator("#card-1").click()
    scene.settle(page)
    assert examination.review_pixels(page) == before, "the same picture, to the byte"


def test_leaving_unfinished_work_is_asked_about(page, site):
    scene.open_scan(page, site, SAGITTAL)
    asked = []

    def answer(dialog):
        asked.append(dialog.type)
        dialog.dismiss() if len(asked) == 1 else dialog.accept()

    page.on("dialog", answer)
    page.reload()
    scene.wait_until_ready(page)
    assert not asked, "nothing was begun"
    examination.take(page, "SAG AO")
    page.evaluate("location.reload()")
    page.wait_for_timeout(500)
    assert asked == ["beforeunload"]
    assert page.locator(CARDS).count() == 1, "stayed"
    page.reload()
    scene.wait_until_ready(page)
    assert asked == ["beforeunload"] * 2
    page.locator(".examine").get_by_role("button", name="Finish").click()
    page.locator(FINISH).get_by_role("button", name="Finish", exact=True).click()
    page.locator(FINISH).get_by_role("heading", name="The examination is finished").wait_for()
    page.reload()
    scene.wait_until_ready(page)
    assert len(asked) == 2, "a finished examination may be left"


@pytest.mark.parametrize(("fault", "sentence"), [(FULL, "storage is full"), (BLOCKED, "keeps nothing for this page")])
def test_full_or_blocked_storage_is_said_and_work_goes_on(page, site, fault, sentence):
    page.add_init_script(fault)
    opened(page, site)
    examination.take(page, "SAG AO PROX")
    assert sentence in examination.notes(page)
    page.locator("#examine-notes").get_by_role("button", name="Close").click()
    examination.take(page, "SAG AO")
    assert sentence not in examination.notes(page), "said once"
    assert len(examination.cards(page)) == 2
    with page.expect_download() as saved:
        page.locator("#card-1").click()
        page.locator(REVIEW).get_by_role("button", name="Save picture (PNG)").click()
    assert saved.value.suggested_filename == "01_SAG_AO_PROX.png"
    if fault == FULL:
        page.evaluate("window.roomAgain = true")
        page.keyboard.press("Escape")
        examination.take(page, "")
        [text] = examination.kept(page).values()
        assert text.count("picture=") == 3, "kept as soon as there is room"


def test_two_tabs_keep_two_examinations(page, site, watch):
    opened(page, site)
    examination.take(page, "SAG AO")
    other = page.context.new_page()
    watch.attach(other)
    other.set_default_timeout(20_000)
    opened(other, site)
    assert "Unfinished work is kept" in examination.notes(other)
    examination.take(other, "SAG LIV")
    examination.take(other, "SAG PANC")
    examination.take(page, "SAG AO PROX")
    assert len(examination.kept(page)) == 2
    for tab, words in [(page, ["SAG AO", "SAG AO PROX"]), (other, ["SAG LIV", "SAG PANC"])]:
        tab.bring_to_front()
        tab.reload()
        scene.wait_until_ready(tab)
        examination.wait_for_cards(tab, 2)
        assert [card[0].split(". ")[1] for card in examination.cards(tab)] == words
    # A third takes up what the first has left.
    other.close()
    third = page.context.new_page()
    watch.attach(third)
    opened(third, site)
    third.get_by_role("button", name="Continue that work").click()
    examination.wait_for_cards(third, 2)


def test_a_copied_tab_goes_on_by_itself(page, site, watch):
    opened(page, site)
    examination.take(page, "SAG AO")
    own = page.evaluate("sessionStorage.getItem('planeward.examination')")
    copy = page.context.new_page()
    watch.attach(copy)
    # What a browser does when a tab is duplicated.
    copy.add_init_script(f"sessionStorage.getItem('planeward.examination') ?? sessionStorage.setItem('planeward.examination', '{own}')")
    opened(copy, site)
    examination.wait_for_cards(copy, 1)
    page.bring_to_front()
    examination.take(page, "SAG AO PROX")
    copy.bring_to_front()
    examination.take(copy, "SAG LIV")
    assert "Another tab has changed this examination" in examination.notes(copy)
    texts = sorted(re.findall("SAG [A-Z ]+", text) for text in examination.kept(copy).values())
    assert texts == [["SAG AO", "SAG AO PROX"], ["SAG AO", "SAG LIV"]]


@pytest.mark.parametrize(
    ("damage", "left", "sentence"),
    [
        (lambda text: text.replace("|SAG AO PROX", "|SAG AO PROW"), 1, "could not be read: 1"),
        (lambda text: text.replace("examination 1", "examination 7"), 0, "of another version"),
        (lambda text: text[: len(text) // 2], 0, "could not be read: "),
    ],
)
def test_damaged_work_is_set_aside_and_named(page, site, damage, left, sentence):
    opened(page, site)
    examination.take(page, "SAG AO PROX")
    examination.take(page, "SAG AO")
    [(name, text)] = examination.kept(page).items()
    broken = damage(text)
    page.evaluate("([name, text]) => localStorage.setItem(name, text)", [name, broken])
    page.reload()
    scene.wait_until_ready(page)
    said = examination.notes(page)
    assert sentence in said, said
    examination.wait_for_cards(page, left)
    [aside] = re.findall(r"examination-aside\.\d+", said)
    assert examination.kept(page)["planeward." + aside] == broken
    examination.take(page, "SAG LIV")
    assert examination.kept(page)["planeward." + aside] == broken, "never written over"

    # Its text can be taken away, from the note and later from the panel; thrown away only once that was done.
    def saved(button) -> str:
        with page.expect_download() as given:
            button.click()
        assert given.value.suggested_filename == aside + ".txt"
        return given.value.path().read_text(encoding="utf-8")

    assert saved(page.locator("#examine-notes").get_by_role("button", name="Save that text")) == broken
    page.reload()
    scene.wait_until_ready(page)
    row = page.locator(".asides li")
    assert row.inner_text().startswith("Put aside ")
    away = row.get_by_role("button", name="Throw it away")
    assert away.count() == 0, "not before it is saved"
    assert saved(row.get_by_role("button", name="Save that text")) == broken
    away.click()
    row.wait_for(state="detached")
    assert "planeward." + aside not in examination.kept(page)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [(320, 640), (640, 480), (1280, 800)])
def test_every_state_is_accessible(new_page, site, size, scheme):
    page = new_page(*size, color_scheme=scheme)
    opened(page, site)
    name = f"{size[0]}x{size[1]}_{scheme}"

    def check(state):
        scene.settle(page)
        scene.no_sideways_scroll(page)
        assert_accessible(page, allowed_incomplete=OVER_CANVAS)
        shot(page, f"examine_{state}_{name}")

    examination.freeze(page)
    examination.line(page).click()
    page.keyboard.type("sag a")
    page.locator("#offers li").first.wait_for()
    check("offers")
    examination.line(page).fill("TV AO DIST FOO RT")
    page.keyboard.press("Enter")
    scene.type_number(page, "Tilt", 9)
    check("verdict")
    examination.line(page).fill("SAG AO PROX")
    page.get_by_role("combobox", name="Requested list").select_option("aorta")
    examination.acquire(page)
    check("strip")
    page.locator("#card-1").click()
    page.locator(REVIEW).get_by_role("heading").wait_for()
    check("review")
    page.keyboard.press("Escape")
    page.locator(".examine").get_by_role("button", name="Finish").click()
    page.locator(FINISH).get_by_role("heading").wait_for()
    check("finish")
