"""The page as one file, opened from a disk without any server."""

import pathlib
import re

import pytest
import scene
from conftest import environment
from harness import assert_not_blank, shot

FILE = "planeward-single.html"

# Everything is in the file, as base64: a few megabytes have to be read and unpacked.
OPEN_MS = 120_000


@pytest.fixture
def single():
    path = pathlib.Path(environment("PLANEWARD_DIST")) / FILE
    assert path.is_file(), f"{path} is missing: cargo xtask single"
    return path


def test_the_file_opens_from_a_disk(page, watch, single, tmp_path):
    # On its own, far from the files it was made of.
    alone = tmp_path / "lesson.html"
    alone.write_bytes(single.read_bytes())
    watch.hosts.append("file://")
    requests = []
    page.on("request", lambda request: requests.append(request.url))
    page.emulate_media(reduced_motion="reduce")
    page.goto(alone.as_uri())
    page.wait_for_selector(".page[data-body='loaded']", timeout=OPEN_MS)
    scene.settle(page)
    assert_not_blank(page.locator(scene.BODY))
    assert_not_blank(page.locator(scene.PICTURE))
    assert scene.plane(page) == "Mid-sagittal plane"
    scene.type_number(page, "Notch", 270)
    assert scene.plane(page) == "Transverse plane"
    page.get_by_role("combobox", name="Body", exact=True).select_option(label="Adult man")
    page.wait_for_selector(".page[data-body='loaded']", timeout=OPEN_MS)
    beyond = [url for url in requests if not re.match(r"file://|data:|blob:", url)]
    assert beyond == [], "nothing is asked of a network"
    assert len([url for url in requests if url.startswith("file://")]) == 1, requests
    shot(page, "single")
