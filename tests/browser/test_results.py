"""The page of results: many files in, tables out, damaged ones named."""

import csv
import io
import json
import zlib

import pytest
import scene
from harness import assert_accessible, shot

# Data C of the statistics' own tests: 6 learners, 5 questions, right or wrong (pattern and figures computed with scipy,
# pingouin and girth).
PATTERN = ["11110", "11100", "11011", "10100", "01000", "11111"]
KR20 = "0.58"
CORRECTED = ["0.54", "0.12", "0.00", "0.71", "0.44"]


def result(number: int, pattern: str) -> dict:
    items = []
    for place, mark in enumerate(pattern):
        right = mark == "1"
        items.append(
            {
                "id": f"q{place + 1}",
                "kind": "plane_from_picture",
                "skill": "plane_from_picture.sagittal.front.general",
                "points": 1,
                "outcome": "right" if right else "wrong",
                "score": 1 if right else 0,
                "first_score": 1 if right else 0,
                "answers": ["sagittal" if right else "coronal"],
                "correct": "sagittal",
                "hints": 0,
                "latency_ms": 4000 + 100 * number,
            }
        )
    value = {
        "format": "planeward-result",
        "version": 1,
        "program": "planeward 0.1.0",
        "title": "Upper abdomen",
        "set": "0123456789abcdef",
        "seed": 7,
        "attempt": 1,
        "started": "2026-01-02T10:00:00+00:00",
        "ended": "2026-01-02T10:10:00+00:00",
        "pass_percent": 80,
        "items": items,
    }
    # CRC-32 of the compact text of all the rest, as the format says.
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    return value | {"checksum": f"crc32:{zlib.crc32(text.encode()):08x}"}


@pytest.fixture
def files(tmp_path):
    paths = []
    for number, pattern in enumerate(PATTERN):
        path = tmp_path / f"learner-{number + 1}.json"
        path.write_text(json.dumps(result(number, pattern)), encoding="utf-8")
        paths.append(path)
    damaged = tmp_path / "damaged.json"
    damaged.write_text('{"format": "planeward-result", "ver', encoding="utf-8")
    return [*paths, damaged]


def opened(page, site, files):
    page.goto(site + "results.html")
    page.wait_for_selector("#loading", state="detached")
    page.locator("#open-results").set_input_files(files)
    page.locator(".set-report").wait_for()
    return page


def column(page, number: int) -> list[str]:
    return [text.strip() for text in page.locator(f"table.items tbody td:nth-child({number})").all_inner_texts()]


def test_files_become_tables(page, site, files):
    opened(page, site, files)
    facts = page.locator(".set-report > p").first.inner_text()
    assert "6 learners" in facts and f"(KR-20) {KR20}" in facts, facts
    assert column(page, 3) == ["83 %", "83 %", "67 %", "50 %", "33 %"]
    assert column(page, 4) == CORRECTED
    assert "damaged.json" in page.locator(".left-out").inner_text()
    assert page.locator("table.matrix").count() == 1
    assert "83 %" in page.locator("svg.chart").get_attribute("aria-label")
    shot(page, "results_1280")


def test_columns_sort_both_ways(page, site, files):
    opened(page, site, files)
    page.get_by_role("button", name="Sort by Discrimination").click()
    assert column(page, 4) == sorted(CORRECTED, key=float)
    assert page.locator("th[aria-sort='ascending']").count() == 1
    page.get_by_role("button", name="Sort by Discrimination").click()
    assert column(page, 4) == sorted(CORRECTED, key=float, reverse=True)
    assert page.locator("th[aria-sort='descending']").count() == 1


def test_tables_are_saved(page, site, files):
    opened(page, site, files)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the table").click()
    text = download.value.path().read_bytes()
    assert text.startswith(b"\xef\xbb\xbf"), "spreadsheets take it for UTF-8"
    rows = list(csv.DictReader(io.StringIO(text.decode("utf-8-sig"))))
    assert [row["item"] for row in rows] == ["q1", "q2", "q3", "q4", "q5"]
    with page.expect_download() as download:
        page.get_by_role("button", name="Save all answers").click()
    rows = list(csv.DictReader(io.StringIO(download.value.path().read_text(encoding="utf-8-sig"))))
    assert len(rows) == len(PATTERN) * len(PATTERN[0])
    assert page.locator(".saved").count() == 0, "no frame, so the browser itself says what it saved"


@pytest.mark.parametrize("width", [320, 1280])
def test_the_page_is_accessible_and_fits(new_page, site, files, width):
    page = new_page(width, 800)
    opened(page, site, files)
    scene.no_sideways_scroll(page)
    # Undecided: letters of the chart, which axe cannot see behind, and cells scrolled out of sight.
    assert_accessible(page, allowed_incomplete=("color-contrast",))
    shot(page, f"results_{width}")
