"""A course package with the real page in it: a whole round in a course system, left in the middle and taken up again."""

import functools
import http.server
import json
import os
import pathlib
import subprocess
import threading
import zipfile

import pytest

from conftest import environment

ROOT = pathlib.Path(__file__).resolve().parents[2]

SET = {
    "format": "planeward-set",
    "version": 1,
    "title": "Three to begin with",
    "description": "Which plane, which side?",
    "pass_percent": 60,
    "attempts": 1,
    "seed": 11,
    "questions": [
        {"id": "plane", "kind": "plane_from_picture", "view": {"window": "sagittal_right_ivc"}},
        {"id": "side", "kind": "side", "view": {"window": "transverse_aorta_mid"}, "hint": "Find the mark."},
        {"id": "probe", "kind": "plane_from_probe", "view": {"window": "transverse_aorta_mid"}, "points": 2},
    ],
}
RIGHT = {"plane": "sagittal", "side": "the patient's right", "probe": "transverse"}

# A course system that keeps everything over a reload, as SCORM 1.2 has it.
SYSTEM = """<!doctype html><html lang="en"><title>Course</title><link rel="icon" href="data:,"><script>
  const kept = JSON.parse(sessionStorage.getItem("kept") ?? "{}");
  const keep = () => sessionStorage.setItem("kept", JSON.stringify(kept));
  window.kept = kept;
  window.API = {
    LMSInitialize: () => "true",
    LMSGetValue: (name) => (name.endsWith("_count") ? String(Object.keys(kept).filter((one) => /^cmi.interactions.\\d+.id$/.test(one)).length) : kept[name] ?? ""),
    LMSSetValue: (name, value) => { kept[name] = value; return "true"; },
    LMSCommit: () => { keep(); return "true"; },
    LMSFinish: () => { kept.finished = (kept.finished ?? 0) + 1; keep(); return "true"; },
    LMSGetLastError: () => "0",
  };
</script><iframe id="content" src="launch.html" title="Exercise" width="1180" height="760"></iframe>"""


class Handler(http.server.SimpleHTTPRequestHandler):
    extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map, ".js": "text/javascript", ".wasm": "application/wasm"}

    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def course(tmp_path_factory):
    """The address of a course page with the package unpacked beside it."""
    folder = tmp_path_factory.mktemp("course")
    (folder / "week.json").write_text(json.dumps(SET), encoding="utf-8")
    subprocess.run(
        [environment("PLANEWARD_BIN"), "pack", "--page", environment("PLANEWARD_DIST"), "--out", folder, folder / "week.json"],
        check=True,
        capture_output=True,
    )
    content = folder / "content"
    with zipfile.ZipFile(folder / "week-scorm12.zip") as archive:
        archive.extractall(content)
    (content / "course.html").write_text(SYSTEM, encoding="utf-8")
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(content)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}/course.html"
    server.shutdown()


def content(page):
    frame = page.wait_for_selector("#content").content_frame()
    frame.wait_for_selector(".practise form, .practise .total")
    return frame


def answer(frame, words: str):
    frame.get_by_role("radio", name=words, exact=True).check()
    frame.get_by_role("button", name="Answer", exact=True).click()


def test_a_whole_round_reaches_the_course_system(new_page, course):
    page = new_page(1200, 800)
    page.goto(course)
    frame = content(page)
    assert frame.locator(".set-head h1").inner_text() == "Three to begin with"
    assert frame.locator("#practise-title").inner_text() == "Question 1 of 3"
    assert page.evaluate("window.kept['cmi.core.lesson_status']") == "incomplete"
    answer(frame, RIGHT["plane"])
    frame.locator(".practise", has_text="Right.").wait_for()
    page.wait_for_function("window.kept['cmi.core.score.raw'] === '25'")
    page.wait_for_function("window.kept['cmi.suspend_data']?.startsWith('p1;')")

    assert frame.locator("#course-state").inner_text() == "The course system has your answers."

    # Left, and taken up again: the first question stays answered.
    page.goto("about:blank")
    page.goto(course)
    frame = content(page)
    assert frame.locator("#practise-title").inner_text() == "Question 2 of 3"
    assert "Find the mark." in frame.locator(".practise").inner_text()
    answer(frame, RIGHT["side"])
    frame.get_by_role("button", name="Next question").click()
    answer(frame, "coronal")
    frame.get_by_role("button", name="To the review").click()
    frame.wait_for_selector(".practise .total")
    kept = page.evaluate("window.kept")
    assert kept["cmi.core.lesson_status"] == "completed", "not passed, and failed is not said unless asked for"
    assert kept["cmi.core.score.raw"] == "50"
    assert [kept[f"cmi.interactions.{n}.id"] for n in range(3)] == ["plane", "side", "probe"]
    ends = page.evaluate("window.kept['finished']")
    frame.get_by_role("button", name="Close the exercise").click()
    page.wait_for_function("before => window.kept['finished'] === before + 1", arg=ends)
    assert frame.locator("#course-state").inner_text() == "You can close this window now."
    assert not frame.get_by_role("button", name="Close the exercise").is_visible()
    with page.expect_download() as download:
        frame.get_by_role("button", name="Save the result file").click()
    result = json.loads(pathlib.Path(download.value.path()).read_text(encoding="utf-8"))
    assert result["percent"] == 50 and "label" not in result
    path = pathlib.Path(os.environ.get("TMPDIR", "/tmp")) / download.value.suggested_filename
    download.value.save_as(path)
    merged = subprocess.run([environment("PLANEWARD_BIN"), "results", "--json", path], capture_output=True, text=True, check=True)
    path.unlink()
    assert [one["difficulty"] for one in json.loads(merged.stdout)["sets"][0]["items"]] == [1, 0, 1]


@pytest.mark.undrawn
def test_without_a_course_system_the_work_is_the_learners(new_page, course):
    page = new_page(360, 700)
    page.goto(course.replace("course.html", "launch.html"))
    page.wait_for_selector(".practise form")
    page.locator("#course-state", has_text="No course system answered. Save the result file").wait_for()
    for name in ("plane", "side", "probe"):
        answer(page, RIGHT[name])
        page.get_by_role("button", name="To the review" if name == "probe" else "Next question").click()
    page.wait_for_selector(".practise .total")
    assert page.get_by_role("button", name="Save the result file").is_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert page.evaluate("Object.keys(localStorage).filter((key) => key.includes('record'))") == []


def test_a_set_travels_in_the_address_of_the_page_for_frames(new_page, site, tmp_path):
    source = tmp_path / "set.json"
    source.write_text(json.dumps(SET), encoding="utf-8")
    said = subprocess.run([environment("PLANEWARD_BIN"), "share", source], capture_output=True, text=True, check=True).stdout
    link = next(line for line in said.splitlines() if line.startswith("#s1."))
    page = new_page(1200, 800)
    page.goto(f"{site}embed.html{link}")
    page.wait_for_selector(".practise form")
    assert page.locator("#practise-title").inner_text() == "Question 1 of 3"
    answer(page, RIGHT["plane"])
    page.locator(".practise").get_by_text("Right.", exact=True).wait_for()
