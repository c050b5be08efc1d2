"""Practice in the browser: whole rounds by keys, by touch and from the words alone; the record through all that happens
to a browser's storage; the readiness check."""

import json
import re

import pytest
import scene
from harness import assert_accessible, assert_not_blank, shot

# axe cannot see what lies under text over a canvas; the tokens' own test keeps that contrast.
OVER_A_CANVAS = ("color-contrast",)

RECORD = "planeward.record"
PANEL = ".practise"
TITLE = "#practise-title"
PROMPT = "#practise-prompt"


def open_practise(page, site, query=""):
    scene.open_scan(page, site + query)
    if page.locator(".page[data-veil~=practise]").count() == 0:
        page.get_by_role("button", name="Practise", exact=True).click()
    page.locator(PANEL).wait_for()
    # The address follows in its own time; a reload before would open the scan.
    page.wait_for_function("() => location.hash.includes('screen=practise')")


def stored(page):
    return page.evaluate(f"localStorage.getItem('{RECORD}')")


def answers(page):
    text = stored(page)
    return 0 if text is None else len([e for e in json.loads(text)["events"] if "skill" in e])


def title(page):
    return page.locator(TITLE).inner_text()


def focus_is_on_title(page):
    page.wait_for_function("() => document.activeElement?.id === 'practise-title'")


def start(page, name="Start a round of ten"):
    page.get_by_role("button", name=name).click()
    page.locator(PROMPT).wait_for()


def press_until(page, key, label, most=60):
    """Presses a key until the named control has the focus."""
    here = "() => document.activeElement?.textContent?.trim() || document.activeElement?.value || ''"
    for _ in range(most):
        page.keyboard.press(key)
        if page.evaluate(here).startswith(label):
            return
    raise AssertionError(f"{label} was never reached with {key}")


def by_keys(page):
    """Answers what is open with the keyboard alone."""
    if title(page) == "Worked example":
        press_until(page, "Tab", "Now your turn")
        page.keyboard.press("Enter")
        page.wait_for_function(f"() => document.querySelector('{TITLE}').textContent.startsWith('Question')")
    parts = page.locator(f"{PANEL} fieldset.options").count()
    line = page.locator("#practise-line").count()
    if line:
        page.locator("#practise-line").focus()
        page.keyboard.type("SAG LIVER")
        page.keyboard.press("Enter")
    elif parts:
        for part in range(parts):
            page.locator(f"{PANEL} fieldset.options").nth(part).locator("input").first.focus()
            page.keyboard.press("Space")
        page.keyboard.press("Enter")
    else:
        press_until(page, "Tab", "Answer")
        page.keyboard.press("Enter")
    page.locator(".told .verdict").wait_for()
    focus_is_on_title(page)
    press_until(page, "Tab", next_label(page))
    page.keyboard.press("Enter")


def nothing_told(page):
    """The answer told before is gone: the next page of the round is there."""
    page.wait_for_function(
        "() => !document.querySelector('.told') || document.querySelector('.told[data-verdict=worked]')"
    )


def go_on(page):
    page.locator(f"{PANEL} form button.firm").click()
    nothing_told(page)


def next_label(page):
    return page.locator(f"{PANEL} form button.firm").inner_text()


@pytest.mark.undrawn
def test_a_whole_round_by_keys(page, site):
    open_practise(page, site)
    press_until(page, "Tab", "Start a round of ten")
    page.keyboard.press("Enter")
    page.locator(PROMPT).wait_for()
    for number in range(10):
        by_keys(page)
        page.wait_for_function(
            f"n => {{ const t = document.querySelector('{TITLE}').textContent;"
            " return t === 'Review' || t === 'Worked example' || t.startsWith(`Question ${n} `); }",
            arg=number + 2,
        )
    assert title(page) == "Review"
    assert page.locator(".review-list li").count() == 10
    assert answers(page) == 10


@pytest.mark.undrawn
def test_a_whole_round_by_touch(new_page, site):
    page = new_page(360, 740, has_touch=True, is_mobile=True)
    open_practise(page, site)
    page.get_by_role("button", name="Start a round of ten").tap()
    page.locator(PROMPT).wait_for()
    for _ in range(10):
        if title(page) == "Worked example":
            page.get_by_role("button", name="Now your turn").tap()
        page.get_by_role("button", name="Skip").wait_for()
        parts = page.locator(f"{PANEL} fieldset.options")
        if parts.count():
            for part in range(parts.count()):
                parts.nth(part).locator("label.option").last.tap()
            page.get_by_role("button", name="Answer", exact=True).tap()
        else:
            page.get_by_role("button", name="Skip").tap()
        page.locator(".told .verdict").wait_for()
        page.locator(f"{PANEL} form button.firm").tap()
        nothing_told(page)
    assert title(page) == "Review"
    scene.no_sideways_scroll(page)


def words_give(words, prompt):
    """The answer to a question about a side or a plane, reckoned from the words beside it alone; None for others."""
    toward = re.search(r"Notch toward the (.+?) \(", words)
    mark = re.search(r"Mark at image (left|right)", words)
    face = re.search(r"face is at image (top|bottom)", words)
    beam = re.search(r"Beam (?:straight )?(back|forward|toward the patient's right|toward the patient's left|toward the head|toward the feet)", words)
    ways = {
        "back": "the back",
        "forward": "the front",
        "toward the patient's right": "the patient's right",
        "toward the patient's left": "the patient's left",
        "toward the head": "the head",
        "toward the feet": "the feet",
    }
    opposite = {
        "the back": "the front",
        "the patient's right": "the patient's left",
        "the head": "the feet",
    }
    opposite |= {there: here for here, there in opposite.items()}
    side = re.search(r"does image (left|right|top|bottom) show", prompt)
    if side and mark and toward and beam and face:
        notch = "the " + toward.group(1).split(" and ")[0]
        depth = ways[beam.group(1)]
        if side.group(1) in ("left", "right"):
            return notch if side.group(1) == mark.group(1) else opposite[notch]
        near = side.group(1) == face.group(1)
        return opposite[depth] if near else depth
    letters = dict(re.findall(r"Image (left|right|top|bottom): ([^.]+?)(?: end)?\.", words))
    if "Where does the notch" in prompt and mark and letters:
        name = letters[mark.group(1)].split(" and ")[0].removesuffix(" end")
        return {"foot": "the feet"}.get(name, f"the {name}")
    return None


@pytest.mark.undrawn
@pytest.mark.parametrize("kind", ["side", "notch_from_picture"])
def test_a_round_is_answered_right_from_the_words_alone(page, site, kind):
    """Both views are taken away; what is left are the words and the form."""
    open_practise(page, site)
    page.locator("#practise-kind").select_option(kind)
    start(page)
    page.evaluate("() => { document.querySelector('.stages').style.opacity = '0'; }")
    right = 0
    for _ in range(10):
        if title(page) == "Worked example":
            page.get_by_role("button", name="Now your turn").click()
        page.get_by_role("button", name="Skip").wait_for()
        answer = words_give(probe_words(page), page.locator(PROMPT).inner_text())
        assert answer, page.locator("#practise-words").text_content()
        option = page.locator("label.option", has=page.locator("input")).filter(has_text=re.compile(re.escape(answer) + r"\s*$"))
        option.first.click()
        page.get_by_role("button", name="Answer", exact=True).click()
        page.locator(".told .verdict").wait_for()
        right += page.locator(".told[data-verdict=right]").count()
        go_on(page)
    assert right == 10


@pytest.mark.undrawn
def test_the_time_runs_where_it_is_wanted(page, site):
    open_practise(page, site)
    page.get_by_label("Show the time a round takes").check()
    # True with the time on show and without: no answer comes too late.
    page.get_by_text("Ten questions, no time limit.").wait_for()
    start(page)
    clock = page.get_by_role("timer")
    assert re.fullmatch(r"Time: 0:\d\d\.", clock.inner_text()), clock.inner_text()
    before = clock.inner_text()
    page.wait_for_function("before => document.querySelector('[role=timer]').innerText !== before", arg=before)
    page.get_by_role("button", name="Leave the round").click()
    page.get_by_label("Show the time a round takes").uncheck()
    start(page)
    assert clock.count() == 0


@pytest.mark.undrawn
def test_what_is_asked_stands_nowhere_in_the_page(page, site):
    open_practise(page, site)
    page.locator("#practise-kind").select_option("plane_from_probe")
    start(page)
    page.get_by_role("button", name="Now your turn").click()
    page.get_by_role("button", name="Skip").wait_for()
    scene.settle(page)
    assert not page.locator(scene.PLANE).is_visible()
    assert not page.locator(scene.PICTURE).is_visible()
    # A screen reader hears what the body view is described by.
    described = page.locator(scene.BODY).get_attribute("aria-describedby").split()
    heard = " ".join(page.locator(f"#{part}").text_content() for part in described)
    options = page.locator("label.option").all_inner_texts()
    for option in options:
        assert option.strip().lower() not in heard.lower(), f"{option} is told: {heard}"
    # The probe stays where the question has it.
    before = page.locator("#practise-words").text_content()
    page.locator(scene.BODY).focus()
    page.keyboard.press("e")
    page.keyboard.press("ArrowUp")
    scene.settle(page)
    assert page.locator("#practise-words").text_content() == before


@pytest.mark.undrawn
def test_hints_cost_and_say_so(page, site):
    open_practise(page, site)
    page.locator("#practise-kind").select_option("side")
    start(page)
    for _ in range(4):
        if title(page) == "Worked example":
            page.get_by_role("button", name="Now your turn").click()
        page.get_by_role("button", name="Skip").click()
        page.locator(".told .verdict").wait_for()
        go_on(page)
    hint = page.get_by_role("button", name="Hint (costs a quarter of the marks)")
    hint.click()
    page.locator(".practise-hint").last.wait_for()
    answer = words_give(probe_words(page), page.locator(PROMPT).inner_text())
    page.locator("label.option").filter(has_text=re.compile(re.escape(answer) + r"\s*$")).first.click()
    page.get_by_role("button", name="Answer", exact=True).click()
    page.locator(".told[data-verdict=right]").wait_for()
    assert "75 % of the marks" in page.locator(".told .verdict").inner_text()


@pytest.mark.undrawn
def test_leaving_gives_the_scan_back_and_review_reopens_in_it(page, site):
    scene.open_scan(page, site)
    before = page.locator("#description").text_content()
    page.get_by_role("button", name="Practise", exact=True).click()
    start(page)
    page.get_by_role("button", name="Scan", exact=True).click()
    page.wait_for_function("b => document.querySelector('#description').textContent === b", arg=before)
    page.get_by_role("button", name="Practise", exact=True).click()
    page.locator(PROMPT).wait_for()
    for _ in range(10):
        if title(page) == "Worked example":
            page.get_by_role("button", name="Now your turn").click()
        page.get_by_role("button", name="Skip").click()
        page.locator(".told .verdict").wait_for()
        go_on(page)
    assert title(page) == "Review"
    page.get_by_role("button", name="Open in the scan screen").first.click()
    page.locator(".page:not([data-veil~=practise])").wait_for()
    assert page.locator(scene.PLANE).is_visible()


def one_answer(page):
    start(page)
    if title(page) == "Worked example":
        page.get_by_role("button", name="Now your turn").click()
    page.get_by_role("button", name="Skip").click()
    page.locator(".told").wait_for()


@pytest.mark.undrawn
def test_the_record_survives_a_reload_and_is_erased_at_once(page, site):
    open_practise(page, site)
    one_answer(page)
    assert answers(page) == 1
    page.reload()
    page.wait_for_selector("#loading", state="detached")
    page.locator(PANEL).wait_for()
    assert "1 answer is recorded." in page.locator(PANEL).inner_text()
    page.get_by_role("button", name="Erase the record").click()
    page.locator(".practise-note[data-quiet=false]").wait_for()
    assert stored(page) is None
    assert "0 answers are recorded." in page.locator(PANEL).inner_text()


@pytest.mark.undrawn
def test_two_tabs_put_their_answers_together(new_page, site):
    one = new_page()
    open_practise(one, site)
    other = one.context.new_page()
    other.set_default_timeout(20_000)
    other.goto(site)
    other.wait_for_selector("#loading", state="detached")
    scene.settle(other)
    other.get_by_role("button", name="Practise", exact=True).click()
    other.locator(PANEL).wait_for()
    one_answer(one)
    other.wait_for_function("() => document.querySelector('.practise').textContent.includes('1 answer is recorded.')")
    one_answer(other)
    assert answers(other) == 2
    one.get_by_role("button", name="Leave the round").click()
    one.wait_for_function("() => document.querySelector('.practise').textContent.includes('2 answers are recorded.')")
    other.close()


@pytest.mark.undrawn
def test_a_storage_that_refuses_is_told_and_practice_goes_on(page, site):
    page.add_init_script(
        "Storage.prototype.setItem = function () { throw new DOMException('full', 'QuotaExceededError'); };"
    )
    open_practise(page, site)
    one_answer(page)
    assert "does not let the page keep your record" in page.locator(".practise-note").inner_text()
    page.locator(f"{PANEL} form button.firm").click()
    page.get_by_role("button", name="Leave the round").click()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the record to a file").click()
    kept = json.loads(download.value.path().read_text(encoding="utf-8"))
    assert len(kept["events"]) == 1


GOOD = (
    '{"at":1795000000000,"n":7,"skill":"side.transverse.front.general","level":"easy","seed":"42",'
    '"body":"adult_female","first":true,"score":1,"hints":0,"ways":4}'
)


@pytest.mark.undrawn
def test_damage_is_set_aside_and_the_rest_kept(page, site):
    damaged = '{"planeward_record":1,"events":[\n' + GOOD + ",\n{rubbish},\n]}\n"
    page.add_init_script(f"if (!localStorage.getItem('{RECORD}')) localStorage.setItem('{RECORD}', {json.dumps(damaged)})")
    open_practise(page, site)
    page.locator(".practise-note[data-quiet=false]").wait_for()
    note = page.locator(".practise-note").inner_text()
    assert "1 damaged line" in note and "line 3" in note, note
    assert "1 answer is recorded." in page.locator(PANEL).inner_text()
    assert page.evaluate("localStorage.getItem('planeward.record-set-aside')") == damaged
    assert answers(page) == 1


@pytest.mark.undrawn
def test_a_file_is_merged_never_taken_instead(page, site, tmp_path):
    file = tmp_path / "record.json"
    file.write_text('{"planeward_record":1,"events":[\n' + GOOD + "\n]}\n", encoding="utf-8")
    open_practise(page, site)
    one_answer(page)
    page.get_by_role("button", name="Leave the round").click()
    page.locator("#practise-load").set_input_files(file)
    page.wait_for_function("() => document.querySelector('.practise-note').textContent.includes('1 new answer was added')")
    assert answers(page) == 2
    page.locator("#practise-load").set_input_files(file)
    page.wait_for_function("() => document.querySelector('.practise-note').textContent.includes('0 new answers')")
    assert answers(page) == 2
    file.write_text("[1, 2]", encoding="utf-8")
    page.locator("#practise-load").set_input_files(file)
    page.wait_for_function("() => document.querySelector('.practise-note').textContent.includes('not loaded')")
    assert answers(page) == 2


CHECK_LINK = "#v1.body=adult_female&screen=practise&check=77"
FINISH = "Finish and mark all"


def open_check(page, site):
    """The link's check, without a press: all five questions stand on one page."""
    scene.open_scan(page, site + CHECK_LINK)
    page.locator(".sheet > li").nth(4).wait_for()
    assert page.locator(".sheet > li").count() == 5


def words_of_check(page):
    return page.locator(".sheet > li .in-words p").all_text_contents()


def finish_check(page):
    page.get_by_role("button", name=FINISH).click()
    page.locator(".result-card").wait_for()


def card_facts(page):
    names = page.locator(".result-card dt").all_inner_texts()
    return dict(zip(names, page.locator(".result-card dd").all_inner_texts(), strict=True))


@pytest.mark.undrawn
def test_a_readiness_check_from_a_link(new_page, site):
    """Five questions on one page from the link alone, answered from the last to the first; the card prints and saves."""
    asked = []
    for _ in range(2):
        page = new_page()
        open_check(page, site)
        asked.append(page.locator(".sheet .prompt").all_inner_texts() + words_of_check(page))
        assert page.get_by_role("button", name=re.compile("^Hint")).count() == 0
        questions = page.locator(".sheet > li")
        for number in reversed(range(5)):
            parts = questions.nth(number).locator("fieldset.options")
            for part in range(parts.count()):
                parts.nth(part).locator("label.option").first.click()
            told = f"{5 - number} of 5 answered."
            page.wait_for_function("told => document.querySelector('.answered').textContent.includes(told)", arg=told)
        assert page.locator(".result-card").count() == 0, "nothing is marked before the end"
        assert stored(page) is None
        finish_check(page)
        assert answers(page) == 5
        facts = card_facts(page)
        assert facts["Seed"] == "77" and facts["Set"] == "readiness", facts
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", facts["Day"]), facts
        result = re.fullmatch(r"(\d) of 5 right, (\d+) % of all marks\.", facts["Result"])
        assert result, facts
        verdicts = page.locator(".result-card li b").all_inner_texts()
        assert len(verdicts) == 5
        assert verdicts.count("Right.") == int(result.group(1))
        with page.expect_download() as download:
            page.get_by_role("button", name="Save the result card as text").click()
        assert download.value.suggested_filename == f"planeward-check-77-{facts['Day']}.txt"
        kept = download.value.path().read_text(encoding="utf-8")
        for name, value in facts.items():
            assert f"{name}: {value}" in kept, kept
        page.emulate_media(media="print")
        assert page.locator(".result-card").is_visible()
        assert not page.get_by_role("button", name="Print").is_visible()
    assert asked[0] == asked[1], "one seed, one check"


@pytest.mark.undrawn
def test_a_check_by_keys_and_what_is_left_open(page, site):
    open_check(page, site)
    focus_is_on_title(page)
    fieldsets = page.locator(".sheet fieldset.options")
    count = fieldsets.count()
    # Every list of options is one stop of the Tab key; the last one is left open.
    for part in range(count - 1):
        name = fieldsets.nth(part).locator("input").first.get_attribute("name")
        for _ in range(20):
            page.keyboard.press("Tab")
            if page.evaluate("() => document.activeElement?.name") == name:
                break
        else:
            raise AssertionError(f"{name} was never reached")
        page.keyboard.press("Space")
        page.wait_for_function("name => document.querySelector(`input[name=${name}]:checked`)", arg=name)
    press_until(page, "Tab", FINISH)
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('.practise-note').textContent.includes('not wholly answered')")
    assert page.locator(".result-card").count() == 0
    page.keyboard.press("Enter")
    page.locator(".result-card").wait_for()
    focus_is_on_title(page)
    assert title(page) == "Result card"


@pytest.mark.undrawn
def test_a_check_is_answered_from_its_words_alone(page, site):
    """Sides and notch, reckoned from the words of the question with every view taken away."""
    open_check(page, site)
    page.evaluate("() => document.querySelectorAll('canvas').forEach(one => { one.style.visibility = 'hidden'; })")
    told = 0
    for number in range(5):
        question = page.locator(".sheet > li").nth(number)
        answer = words_give(question.locator(".in-words p").text_content(), question.locator(".prompt").inner_text())
        if answer is None:
            continue
        question.locator("label.option").filter(has_text=re.compile(re.escape(answer) + r"\s*$")).first.click()
        told += 1
    assert told >= 2
    page.get_by_role("button", name=FINISH).click()
    page.locator(".practise-note[data-quiet=false]").wait_for()
    finish_check(page)
    assert page.locator(".result-card li b").all_inner_texts().count("Right.") >= told


def place_the_probe(page, site):
    open_practise(page, site)
    page.locator("#practise-kind").select_option("place_probe")
    start(page)
    page.get_by_role("button", name="Now your turn").click()
    page.get_by_role("button", name="Skip").wait_for()
    scene.settle(page)


def probe_words(page):
    return page.locator("#practise-words").text_content()


def test_the_probe_is_placed_by_hand_and_both_poses_are_shown(page, site):
    """Typed numbers, the dial and a drag in the body view each move it; the answer is marked part by part."""
    place_the_probe(page, site)
    before = probe_words(page)
    scene.type_number(page, "Tilt", 5)
    typed = probe_words(page)
    assert typed != before
    dial = scene.box(page, scene.DIAL)
    page.mouse.click(dial["x"] + dial["width"] * 0.85, dial["y"] + dial["height"] / 2)
    scene.settle(page)
    turned = probe_words(page)
    assert turned != typed
    box = scene.box(page, scene.BODY)
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 + 30, box["y"] + box["height"] / 2 + 10, steps=3)
    page.mouse.up()
    scene.settle(page)
    assert not page.locator(scene.PLANE).is_visible(), "the plane is not named while it is asked for"
    page.get_by_role("button", name="Answer", exact=True).click()
    page.locator(".told .verdict").wait_for()
    names = page.locator(".part-marks li b").all_inner_texts()
    assert names == ["Plane", "Notch side", "Target", "Field of view", "Half of the body", "Depth"]
    for words in page.locator(".part-marks li .soft").all_inner_texts():
        assert re.fullmatch(r"\d+ of \d+", words), words
    given = page.locator(".stage.given canvas")
    assert given.count() == 2
    assert page.locator(".stage .which").all_inner_texts() == ["Your pose", "Your pose", "The right pose", "The right pose"]
    scene.settle(page)
    for number in range(2):
        assert_not_blank(given.nth(number))
    go_on(page)
    page.wait_for_function("() => document.querySelectorAll('.stage.given').length === 0")


@pytest.mark.undrawn
def test_reviews_are_planned_up_to_the_day_of_the_examination(page, site):
    open_practise(page, site)
    one_answer(page)
    page.get_by_role("button", name="Leave the round").click()
    field = page.get_by_label("Day of the examination or of the first patient")
    day = page.evaluate("() => new Date(Date.now() + 10 * 86400000).toISOString().slice(0, 10)")
    field.fill(day)
    page.wait_for_function("() => document.querySelectorAll('.due li').length > 0")
    assert f"Before {day}, 1 topic comes up for review:" in page.locator(".exam").inner_text()
    when = page.locator(".due .when").all_inner_texts()
    assert all(one <= day for one in when), when
    page.wait_for_function(f"d => (localStorage.getItem('{RECORD}') ?? '').includes(`\"exam\":\"${{d}}\"`)", arg=day)
    page.reload()
    page.wait_for_selector("#loading", state="detached")
    page.locator(PANEL).wait_for()
    page.wait_for_function("d => document.querySelector('#practise-exam').value === d", arg=day)
    page.get_by_role("button", name="Erase the record").click()
    page.wait_for_function("() => document.querySelector('#practise-exam').value === ''")
    assert stored(page) is None


@pytest.mark.undrawn
def test_another_language_has_its_names_in_prompts_and_options(page, site):
    """Structures, transducers and sides are in the page's language, whatever is asked."""
    scene.open_scan(page, site + "?lang=es#v1.body=adult_female&screen=practise&check=5")
    page.locator(".sheet > li").nth(4).wait_for()
    page.get_by_role("button", name="Salir de la ronda").click()
    english = re.compile(
        r"\b(kidney|liver|artery|vein|bladder|lobe|spleen|curvilinear|linear array|the|left|right|patient)\b", re.I
    )
    for kind in ("place_probe", "axis", "find_the_fault", "transducer_from_picture", "annotate"):
        page.locator("#practise-kind").select_option(kind)
        page.get_by_role("button", name="Empezar una ronda de diez").click()
        page.locator(PROMPT).wait_for()
        for _ in range(3):
            if title(page) == "Ejemplo resuelto":
                page.get_by_role("button", name="Ahora usted").click()
            page.get_by_role("button", name="Saltar").wait_for()
            page.get_by_role("button", name="Saltar").click()
            page.locator(".told .verdict").wait_for()
            text = page.locator(PANEL).inner_text() + page.locator("#practise-words").text_content()
            found = english.findall(text)
            assert not found, f"{kind}: {found} in {text}"
            page.locator(f"{PANEL} form button.firm").click()
            nothing_told(page)
        page.get_by_role("button", name="Salir de la ronda").click()


@pytest.mark.parametrize(("width", "height"), [(320, 640), (360, 740), (640, 480), (1280, 800)])
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_layout_and_axe(new_page, site, width, height, theme):
    page = new_page(width, height, color_scheme=theme)
    open_practise(page, site)
    scene.no_sideways_scroll(page)
    assert_accessible(page, allowed_incomplete=OVER_A_CANVAS)
    shot(page, f"practise_home_{width}x{height}_{theme}")
    page.locator("#practise-kind").select_option("find_the_fault")
    start(page)
    page.get_by_role("button", name="Now your turn").click()
    page.get_by_role("button", name="Skip").wait_for()
    scene.settle(page)
    scene.no_sideways_scroll(page)
    assert_accessible(page, allowed_incomplete=OVER_A_CANVAS)
    shot(page, f"practise_question_{width}x{height}_{theme}")
    parts = page.locator(f"{PANEL} fieldset.options")
    for part in range(parts.count()):
        parts.nth(part).locator("label.option").first.click()
    page.get_by_role("button", name="Answer", exact=True).click()
    page.locator(".told").wait_for()
    scene.settle(page)
    assert_accessible(page, allowed_incomplete=OVER_A_CANVAS)
    shot(page, f"practise_told_{width}x{height}_{theme}")


@pytest.mark.parametrize(("width", "height"), [(320, 640), (360, 740), (640, 480), (1280, 800)])
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_layout_of_the_check(new_page, site, width, height, theme):
    page = new_page(width, height, color_scheme=theme)
    open_check(page, site)
    scene.settle(page)
    scene.no_sideways_scroll(page)
    assert_accessible(page, allowed_incomplete=OVER_A_CANVAS)
    shot(page, f"practise_check_{width}x{height}_{theme}")
    page.get_by_role("button", name=FINISH).click()
    finish_check(page)
    scene.no_sideways_scroll(page)
    assert_accessible(page, allowed_incomplete=OVER_A_CANVAS)
    shot(page, f"practise_card_{width}x{height}_{theme}")
