"""The workshop of exercise sets: a set is built, ordered, tried, kept, and given away."""

import io
import json
import re
import zipfile

import pytest
import scene
from harness import assert_accessible, shot

SLOW_MS = 60_000


def open_teach(page, site):
    page.emulate_media(reduced_motion="reduce")
    page.goto(site + "teach.html")
    return scene.wait_until_ready(page)


def add(page, kind: str):
    page.get_by_label("What to ask").first.select_option(label=kind)
    page.get_by_role("button", name="Add question", exact=True).click()


def names(page) -> list[str]:
    return [text.strip() for text in page.locator("#questions .plain-button").all_inner_texts()]


def test_a_set_is_built_and_ordered(page, site):
    open_teach(page, site)
    add(page, "Plane, from the probe on the body")
    add(page, "What lies at a side of the picture")
    page.get_by_role("button", name="Add drawn questions").click()
    assert names(page) == ["Plane, from the probe on the body", "What lies at a side of the picture", "5 drawn questions"]
    shot(page, "teach_1280")
    page.get_by_role("button", name="Move up: 5 drawn questions").press("Enter")
    assert names(page)[1] == "5 drawn questions"
    page.locator("#questions li").nth(2).locator(".handle").drag_to(page.locator("#questions li").nth(0))
    assert names(page)[0] == "What lies at a side of the picture"
    page.get_by_role("button", name="Remove: 5 drawn questions").click()
    assert len(names(page)) == 2
    page.locator(".teach-panel").get_by_role("button", name="Undo").click()
    assert len(names(page)) == 3
    assert "7 questions" in page.locator(".summary").inner_text()


@pytest.mark.undrawn
def test_what_cannot_be_had_is_said(page, site):
    open_teach(page, site)
    page.get_by_role("button", name="Add drawn questions").click()
    page.get_by_label("Plane", exact=True).select_option(label="coronal")
    page.get_by_label("Probe on").select_option(label="front")
    page.locator("#questions .trouble", has_text="a coronal plane cannot be had from the front: the plane must contain the beam").wait_for()
    page.get_by_label("Probe on").select_option(label="patient's left")
    page.locator("#questions .trouble").wait_for(state="detached", timeout=SLOW_MS)


@pytest.mark.undrawn
def test_the_work_is_kept(page, site):
    open_teach(page, site)
    page.get_by_label("Title").fill("Kept")
    page.get_by_label("Title").press("Tab")
    add(page, "Plane, from the picture")
    page.reload()
    scene.wait_until_ready(page)
    assert page.get_by_label("Title").input_value() == "Kept"
    assert names(page) == ["Plane, from the picture"]
    # What lacks a title or a question is no set yet, and is kept all the same.
    page.get_by_label("Title").fill("")
    page.get_by_label("Title").press("Tab")
    page.locator("summary", has_text="Settings of the set").click()
    page.get_by_label("What learners read first").fill("To be asked in week two")
    page.get_by_label("What learners read first").press("Tab")
    page.get_by_role("button", name="Remove: Plane, from the picture").click()
    page.reload()
    scene.wait_until_ready(page)
    assert page.get_by_label("What learners read first").input_value() == "To be asked in week two"
    assert page.get_by_label("Title").input_value() == ""


@pytest.mark.undrawn
def test_examples_files_links(page, site, tmp_path):
    open_teach(page, site)
    page.get_by_label("Begin with an example").select_option(label="Abdominal aorta")
    page.wait_for_function("() => document.querySelectorAll('#questions li').length === 8", timeout=SLOW_MS)
    assert page.locator("#questions .trouble").count() == 0, page.locator(".trouble").all_inner_texts()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the set").click()
    saved = json.loads(download.value.path().read_text(encoding="utf-8"))
    assert saved["format"] == "planeward-set" and len(saved["questions"]) == 8
    assert page.get_by_label("Link", exact=True).input_value().startswith(f"{site}embed.html#s1.")
    assert '<iframe src="' in page.get_by_role("textbox", name="For a course page").input_value()
    assert "<planeward-view" in page.get_by_role("textbox", name="For a page with scripts").input_value()
    saved["title"] = "From a file"
    path = tmp_path / "set.json"
    path.write_text(json.dumps(saved), encoding="utf-8")
    page.locator("#open-set").set_input_files(path)
    page.wait_for_function("() => document.getElementById('set-title').value === 'From a file'")
    path.write_text('{"format": "planeward-set", "version": 1, "title": "A", "attempts": 0}', encoding="utf-8")
    page.locator("#open-set").set_input_files(path)
    page.locator(".teach-panel .notice", has_text="attempts: found 0").wait_for()
    assert page.get_by_label("Title").input_value() == "From a file", "the work stays"


@pytest.mark.undrawn
def test_a_package_is_made_in_the_browser(page, site):
    open_teach(page, site)
    page.get_by_label("Title").fill("Packed")
    page.get_by_label("Title").press("Tab")
    add(page, "Plane, from the picture")
    with page.expect_download(timeout=SLOW_MS) as download:
        page.get_by_role("button", name="Download for SCORM 1.2").click()
    archive = zipfile.ZipFile(io.BytesIO(download.value.path().read_bytes()))
    assert archive.testzip() is None
    inside = archive.namelist()
    assert inside[0] == "imsmanifest.xml"
    assert {"launch.html", "planeward-set.json", "bodies.json"} <= set(inside)
    assert any(re.match(r"bodies/adult_female-.*\.glb", name) for name in inside)
    assert not any("adult_male" in name for name in inside), "only the body that is asked about"
    assert json.loads(archive.read("planeward-set.json"))["title"] == "Packed"
    assert "adlcp:scormtype" in archive.read("imsmanifest.xml").decode()


@pytest.mark.undrawn
@pytest.mark.parametrize("width", [320, 1280])
def test_the_workshop_is_accessible_and_fits(new_page, site, width):
    page = new_page(width, 800)
    open_teach(page, site)
    add(page, "What lies at a side of the picture")
    scene.no_sideways_scroll(page)
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    shot(page, f"teach_{width}")


@pytest.mark.undrawn
def test_a_quiz_for_a_question_bank(page, site):
    open_teach(page, site)
    page.get_by_label("Begin with an example").select_option(label="Abdominal aorta")
    page.wait_for_function("() => document.querySelectorAll('#questions li').length === 8", timeout=SLOW_MS)
    with page.expect_download(timeout=SLOW_MS) as download:
        page.get_by_role("button", name="Download for a quiz bank").click()
    archive = zipfile.ZipFile(io.BytesIO(download.value.path().read_bytes()))
    inside = archive.namelist()
    assert inside[0] == "imsmanifest.xml"
    items = [name for name in inside if name.startswith("items/")]
    pictures = [name for name in inside if name.startswith("pictures/")]
    assert items and len(pictures) >= len(items), inside
    assert all(archive.read(name).startswith(b"\x89PNG") for name in pictures)
    first = archive.read(items[0]).decode()
    assert "qti-simple-choice" in first and "Ultrasound picture" in first
    said = page.locator("#teach-said").inner_text()
    assert "in your downloads" in said and "left out" in said, said


@pytest.mark.undrawn
def test_annotations_are_tried_with_the_words_that_learners_get(page, site):
    open_teach(page, site)
    add(page, "Type the annotation")
    page.get_by_label("Structure", exact=True).select_option(label="Urinary bladder")
    page.locator("#questions .trouble", has_text="This cannot be asked").wait_for(timeout=SLOW_MS)
    page.get_by_label("Structure", exact=True).select_option(label="Aorta")
    page.locator("#questions .trouble").wait_for(state="detached", timeout=SLOW_MS)


@pytest.mark.undrawn
def test_pictures_to_acquire_and_the_preview_of_a_set(page, site):
    open_teach(page, site)
    pictures = page.get_by_label("List", exact=True)
    pictures.select_option(label="A list of your own")
    rows = page.locator("#wanted-list li")
    assert rows.count() == 1 and "sagittal" in rows.first.inner_text()
    page.locator("canvas#body-canvas").press("r")
    page.get_by_role("button", name="Add the view on the page").click()
    assert rows.count() == 2 and "transverse" in rows.nth(1).inner_text()
    page.get_by_role("button", name=re.compile("^Remove: .*transverse")).click()
    assert rows.count() == 1
    page.locator(".teach-panel").get_by_role("button", name="Undo").click()
    assert rows.count() == 2
    add(page, "Plane, from the picture")
    page.get_by_role("button", name="Preview this question").click()
    held = page.frame_locator("#teach-preview iframe")
    held.locator("#practise-title", has_text="Question 1 of 1").wait_for(timeout=scene.READY_MS)
    page.locator("#teach-preview").get_by_role("button", name="Close").click()
    page.locator("#teach-preview iframe").wait_for(state="detached")
    page.get_by_role("button", name="Preview as a learner").click()
    held.locator("#practise-title", has_text="Question 1 of 1").wait_for(timeout=scene.READY_MS)
    held.get_by_role("button", name="Skip").click()
    held.get_by_role("button", name="To the pictures").click()
    held.locator("#practise-title", has_text="Acquire the pictures").wait_for()
    assert held.locator(".wanted-pictures .requested li").count() == 2


def test_the_ways_lead_to_each_page_once(page, site):
    open_teach(page, site)
    ways = page.get_by_role("navigation", name="Pages").get_by_role("link")
    assert ways.all_inner_texts() == ["Scan", "Practise", "Teach", "Results"]
    assert ways.nth(2).get_attribute("aria-current") == "page"
    assert page.get_by_role("button", name="Practise", exact=True).count() == 0
    ways.nth(1).click()
    page.locator("[data-veil~='practise']").wait_for(timeout=scene.READY_MS)


@pytest.mark.undrawn
def test_the_page_itself_does_not_scroll_beside_its_panels(page, site):
    open_teach(page, site)
    page.locator("summary", has_text="Settings of the set").click()
    page.get_by_label("Begin with an example").select_option(label="Orientation week")
    page.wait_for_function("() => document.querySelectorAll('#questions li').length >= 5", timeout=SLOW_MS)
    tall, room = page.evaluate("[document.documentElement.scrollHeight, innerHeight]")
    assert tall <= room, "nothing below the foot of the page"
    assert not page.get_by_label("Requested list").is_visible(), "pictures to acquire are asked for in one place"


@pytest.mark.undrawn
def test_parts_of_a_structure_have_their_words(page, site):
    open_teach(page, site)
    page.get_by_label("List", exact=True).select_option(label="A list of your own")
    assert "_" not in page.locator("#wanted-list").inner_text()


@pytest.mark.undrawn
@pytest.mark.parametrize("width", [360, 640, 999, 1280])
def test_the_groups_of_the_panel_leave_no_holes(new_page, site, width):
    """Below each other, whatever stands beside them: a long list of questions pushes nothing away."""
    page = new_page(width, 800)
    open_teach(page, site)
    page.locator("#starter").select_option(index=2)
    page.locator("[data-id] button").first.click()
    page.locator(".question-form .group").wait_for()
    places = page.locator(".teach-panel .group").evaluate_all("groups => groups.map(g => g.getBoundingClientRect()).map(r => [r.left, r.top, r.bottom])")
    assert len(places) == 8
    places.sort(key=lambda place: place[1])
    columns = [[place for place in places if (place[0] < width / 2) is left] for left in (True, False)]
    if 640 <= width < 1000:
        assert all(len(column) == 4 for column in columns), places
    for column in columns:
        for (_, _, above), (_, top, _) in zip(column, column[1:]):
            assert -1 < top - above < 24, f"{top - above} px between two groups"


@pytest.mark.undrawn
def test_examples_come_in_the_language_of_the_page(page, site):
    page.emulate_media(reduced_motion="reduce")
    page.goto(site + "teach.html?lang=es")
    scene.wait_until_ready(page)
    page.locator("#starter").select_option(label="Aorta abdominal")
    page.wait_for_function("() => document.querySelector('#set-title').value === 'Aorta abdominal'")
    assert page.locator("#questions li").count() == 8
