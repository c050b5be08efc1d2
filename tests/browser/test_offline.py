"""The page without a network: kept all or nothing, never a mix of two versions, a newer one taken when asked."""

import json
import os
import pathlib
import re
import shutil
import struct

import pytest
import scene
from conftest import Server

KEPT_MS = 60_000

CACHES = """async () => Object.fromEntries(await Promise.all((await caches.keys()).map(async name =>
    [name, (await (await caches.open(name)).keys()).map(request => new URL(request.url).pathname)])))"""


class Copy:
    """A copy of the built page with a server of its own, so that files can be changed and the server stopped."""

    def __init__(self, folder: pathlib.Path):
        self.folder = folder / "dist"
        shutil.copytree(os.environ["PLANEWARD_DIST"], self.folder, ignore=shutil.ignore_patterns("*.gz", "*.br"))
        self.server = Server(dist=self.folder)
        self.url = self.server.url

    def change(self, name: str, old: str, new: str):
        path = self.folder / name
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} in {name}"
        path.write_text(text.replace(old, new), encoding="utf-8")

    def version(self) -> str:
        return re.search(r'VERSION = "(\w+)"', (self.folder / "sw.js").read_text(encoding="utf-8")).group(1)

    def publish_another(self) -> str:
        """Puts another version in place: the same program under another name, and pages that say so."""
        old = self.version()
        new = old[::-1] if old[::-1] != old else "0" * len(old)
        for page in self.folder.glob("*.html"):
            text = page.read_text(encoding="utf-8")
            page.write_text(text.replace(f'"{old}"', f'"{new}"'), encoding="utf-8")
        self.change("index.html", "</head>", '<meta name="edition" content="second">\n</head>')
        self.change("sw.js", old, new)
        return new


@pytest.fixture
def copy(tmp_path):
    made = Copy(tmp_path)
    yield made
    made.server.stop()


@pytest.fixture
def kept_page(new_page):
    """A page whose browser may keep it."""
    return new_page(service_workers="allow")


def visit(page, url):
    page.emulate_media(reduced_motion="reduce")
    page.goto(url)
    scene.wait_until_ready(page)
    page.wait_for_selector("html[data-offline='ready']", timeout=KEPT_MS)
    return page


@pytest.mark.undrawn
def test_it_works_with_the_server_stopped(kept_page, copy):
    page = visit(kept_page, copy.url)
    files = {name for name in page.evaluate(CACHES).popitem()[1]}
    on_disk = {"/" + path.relative_to(copy.folder).as_posix() for path in copy.folder.rglob("*") if path.is_file()}
    assert on_disk - files <= {"/sw.js", "/robots.txt", "/planeward-single.html"}, "every file is kept"
    copy.server.stop()
    page.reload()
    scene.wait_until_ready(page)
    assert scene.plane(page) == "Mid-sagittal plane"
    page.get_by_role("button", name="Reverse the notch").click()
    page.wait_for_function("() => document.querySelector('#dial').getAttribute('aria-valuenow') === '180'")
    # Another body and another language are there, too.
    page.goto(copy.url + "?lang=es#v1.body=infant_head")
    page.wait_for_selector("html[lang=es]")
    scene.wait_until_ready(page)
    assert page.locator("#body").input_value() == "infant_head"


@pytest.mark.undrawn
def test_it_is_kept_all_or_nothing(kept_page, copy):
    gone = next(copy.folder.glob("bodies/infant_head-*.glb"))
    gone.unlink()
    page = kept_page
    page.emulate_media(reduced_motion="reduce")
    page.goto(copy.url)
    scene.wait_until_ready(page)
    page.wait_for_function("async () => performance.now() > 4000 && !(await navigator.serviceWorker.getRegistration())", timeout=KEPT_MS)
    assert page.evaluate(CACHES) == {}, "nothing is kept when one file is missing"
    assert scene.plane(page) == "Mid-sagittal plane", "the page works as before"


@pytest.mark.undrawn
def test_a_changed_file_is_not_kept(kept_page, copy):
    """A host or a proxy that changes a program file: the name no longer fits the content."""
    copy.change(next(copy.folder.glob("boot-*.js")).name, "// Starts the program", "// Begins the program")
    page = kept_page
    page.emulate_media(reduced_motion="reduce")
    page.goto(copy.url)
    scene.wait_until_ready(page)
    page.wait_for_function("async () => performance.now() > 4000 && !(await navigator.serviceWorker.getRegistration())", timeout=KEPT_MS)
    assert page.evaluate(CACHES) == {}


@pytest.mark.undrawn
def test_a_newer_version_waits_until_it_is_taken(kept_page, copy):
    page = visit(kept_page, copy.url)
    old = copy.version()
    second = "document.querySelector('meta[name=edition]')?.content ?? 'first'"
    new = copy.publish_another()
    page.reload()
    scene.wait_until_ready(page)
    assert page.evaluate(second) == "first", "the version in use goes on"
    offer = page.locator("#update")
    offer.wait_for(timeout=KEPT_MS)
    assert "newer version" in offer.inner_text()
    assert sorted(name.split()[-1] for name in page.evaluate(CACHES)) == sorted([old, new])
    # Put off: nothing happens, and the next visit asks again.
    offer.get_by_role("button", name="Later").click()
    page.reload()
    scene.wait_until_ready(page)
    assert page.evaluate(second) == "first"
    offer.wait_for(timeout=KEPT_MS)
    scene.type_number(page, "Notch", 270)
    scene.wait_for_fragment(page, "turn", "270")
    with page.expect_navigation(timeout=KEPT_MS):
        offer.get_by_role("button", name="Take it now").click()
    scene.wait_until_ready(page)
    assert page.evaluate(second) == "second"
    assert scene.plane(page) == "Transverse plane", "the probe stays"
    page.wait_for_function("async () => (await caches.keys()).length === 1")
    assert [name.split()[-1] for name in page.evaluate(CACHES)] == [new]


@pytest.mark.undrawn
def test_in_a_frame_nothing_is_kept(kept_page, copy):
    (copy.folder / "course.html").write_text('<!doctype html><title>Course</title><link rel="icon" href="data:,"><iframe src="index.html" width="900" height="700"></iframe>')
    page = kept_page
    page.goto(copy.url + "course.html")
    frame = page.frame_locator("iframe")
    frame.locator(".page[data-body='loaded']").wait_for(timeout=scene.READY_MS)
    assert page.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).length") == 0


@pytest.mark.undrawn
def test_the_manifest_can_be_installed(page, site):
    scene.open_scan(page, site)
    address = page.evaluate("document.querySelector('link[rel=manifest]').href")
    answer = page.request.get(address)
    assert answer.headers["content-type"] == "application/manifest+json"
    manifest = json.loads(answer.text())
    # The members that Chromium-type browsers ask for (MDN, "Making PWAs installable").
    for member in ["name", "icons", "start_url", "display"]:
        assert manifest[member], member
    assert page.evaluate("([start, base]) => new URL(start, base).href", [manifest["start_url"], address]) == site
    for icon in manifest["icons"]:
        picture = page.request.get(page.evaluate("([src, base]) => new URL(src, base).href", [icon["src"], address]))
        assert picture.ok and picture.headers["content-type"] == icon["type"], icon
        if icon["type"] == "image/png":
            wide, high = struct.unpack(">II", picture.body()[16:24])
            assert icon["sizes"] == f"{wide}x{high}", icon
    for rel in ["icon", "apple-touch-icon"]:
        assert page.request.get(page.evaluate(f"document.querySelector('link[rel={rel}]').href")).ok, rel
