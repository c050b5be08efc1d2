"""What tests of course packages share: the command, a page to pack, a browser, a host.

The page that is packed here is a stand-in: the real start pages and the real drivers, without the program. The program
is the browser tests' affair; here it is asked whether a course system gets what it should.
"""

import json
import os
import pathlib
import re
import subprocess
import zipfile

import pytest
from playwright.sync_api import sync_playwright

from host import Host

ROOT = pathlib.Path(__file__).resolve().parents[2]
FLAGS = ["--no-sandbox", "--disable-gpu"]


def environment(name: str) -> pathlib.Path:
    value = os.environ.get(name)
    if not value:
        raise RuntimeError(f"{name} is not set: run `cargo xtask test --only packages`")
    return pathlib.Path(value)


MODULES = environment("PLANEWARD_NODE_MODULES")


def planeward(*arguments, status: int = 0) -> str:
    """What the command says; its exit status has to be the expected one."""
    done = subprocess.run(
        [environment("PLANEWARD_BIN"), *map(str, arguments)],
        capture_output=True,
        text=True,
        env={**os.environ, "PLANEWARD_BODIES": str(environment("PLANEWARD_BODIES"))},
    )
    assert done.returncode == status, f"{arguments}: {done.returncode}\n{done.stdout}\n{done.stderr}"
    return done.stdout


def part(found: re.Match) -> str:
    """What a page says `{{parts/stop.html | A sentence. | Reload}}` for, as the build puts it in."""
    name, *values = [piece.strip() for piece in found[1].split("|")]
    text = (ROOT / "web/parts" / name).read_text(encoding="utf-8").rstrip()
    for place, value in enumerate(values, 1):
        text = text.replace(f"{{{place}}}", value)
    return text


def stand_in(name: str) -> str:
    """A start page without the program: its scripts are the drivers and one that tests talk to."""
    text = re.sub(r"\{\{parts/(.*?)\}\}", part, (ROOT / "web" / name).read_text(encoding="utf-8"))
    text = re.sub(r'<link rel="(stylesheet|modulepreload|preload)"[^>]*>\n', "", text)
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>\n', "", text)
    text = text.replace('<script type="module" src="{{boot.js}}"></script>', '<script src="stand-in.js"></script>')
    text = text.replace('<script type="module" src="{{saved.js}}"></script>\n', "")
    text = re.sub(r"\{\{([^}]*)\}\}", r"\1", text)
    assert "course/driver.js" in text, f"{name} has no driver"
    return text


# Collects what the driver says from the first moment on, and fires what the program would.
STAND_IN = """
window.said = [];
document.addEventListener("planewardCourse", (event) => window.said.push(event.detail));
window.fire = (detail) => document.dispatchEvent(new CustomEvent("planewardResults", { detail }));
"""


@pytest.fixture(scope="session")
def page_folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("page")
    for name in ("launch.html", "launch-cmi5.html"):
        (folder / name).write_text(stand_in(name), encoding="utf-8")
    (folder / "index.html").write_text("<title>not packed</title>", encoding="utf-8")
    (folder / "stand-in.js").write_text(STAND_IN, encoding="utf-8")
    (folder / "files.json").write_text("[]", encoding="utf-8")
    (folder / "course").mkdir()
    for script in (ROOT / "web/course").glob("*.js"):
        (folder / "course" / script.name).write_bytes(script.read_bytes())
    (folder / "course/driver.js.gz").write_bytes(b"copy")
    bodies = []
    (folder / "bodies").mkdir()
    for body in ("adult_female", "adult_male", "infant_head"):
        for ending in ("glb", "json"):
            (folder / f"bodies/{body}-0.{ending}").write_bytes(b"{}")
        bodies.append({"id": body, "model": f"bodies/{body}-0.glb", "catalogue": f"bodies/{body}-0.json", "bytes": 2})
    (folder / "bodies-0.json").write_text(json.dumps(bodies), encoding="utf-8")
    return folder


SET = {
    "format": "planeward-set",
    "version": 1,
    "title": "Orientation & the “notch” <week 1>",
    "description": "Ten minutes.",
    "pass_percent": 80,
    "questions": [
        {"id": "ivc", "kind": "plane_from_picture", "view": {"window": "sagittal_right_ivc"}},
        {"id": "side", "kind": "side", "view": {"window": "transverse_aorta_mid"}},
        {"id": "place", "kind": "place_probe", "view": {"window": "right_kidney_sagittal"}},
    ],
}


@pytest.fixture(scope="session")
def packed(page_folder, tmp_path_factory):
    """`packed("scorm12", **changes)`: the package of the set, unpacked, as a folder; and the bytes of the zip."""

    def make(standard: str, **changes):
        folder = tmp_path_factory.mktemp(standard)
        source = folder / "week.json"
        source.write_text(json.dumps({**SET, **changes}), encoding="utf-8")
        planeward("pack", "--standard", standard, "--page", page_folder, "--out", folder, source)
        archive = folder / f"week-{standard}.zip"
        content = folder / "content"
        with zipfile.ZipFile(archive) as zipped:
            assert zipped.testzip() is None
            zipped.extractall(content)
        return content, archive.read_bytes()

    return make


@pytest.fixture(scope="session")
def browser():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=environment("PLANEWARD_CHROMIUM"), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def page(browser):
    context = browser.new_context()
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    context.close()
    assert not faults, faults


@pytest.fixture
def host():
    host = Host(MODULES)
    yield host
    host.stop()
