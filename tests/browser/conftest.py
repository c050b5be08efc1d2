"""Fixtures of the browser tests: a real Chromium on the built page behind the production headers.

`cargo xtask test` sets the environment:

- PLANEWARD_CHROMIUM: the browser's path;
- PLANEWARD_XTASK: the build command, which serves `dist/`;
- PLANEWARD_DIST: the built page;
- PLANEWARD_BODIES: the folder of the baked bodies;
- PLANEWARD_BIN: the `planeward` command, for comparing what the page says.

A test that leaves a console error or warning, an uncaught error, a failed request or a request to
another host fails at its end, whatever else it asserted.
A test that provokes such a fault on purpose names it with `watch.expect(pattern)`.
"""

import os
import pathlib
import re
import subprocess

import pytest
from playwright.sync_api import sync_playwright

ROOT = pathlib.Path(__file__).resolve().parents[2]

# Software drawing, so that machines without a graphics card see the same pixels; nothing phones home.
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

# Both servers of a run stand on this machine's own address, on ports of their own.
HOST = "http://127.0.0.1:"

# A screenshot reads the drawing buffer back, which the driver remarks on; it says nothing of the page.
HARMLESS = [
    r"GL Driver Message .*GPU stall due to ReadPixels",
    # Said in every page whose context may not keep it, which is all but those of the offline tests.
    r"Service Worker registration blocked by Playwright",
]

# The browser drops its own fetch of the tab's icon when the page is left before the icon has come.
DROPPED = r"/icon-[0-9a-f]+\.svg net::ERR_ABORTED$"


# A slow machine with a software renderer takes its time; what passes is not waited for.
PATIENCE_MS = 45_000

# Takes the shading work out of the body view: everything up to the drawing calls still runs, the calls themselves
# reach no renderer. Software drawing costs a core for half a second a frame, and most tests look at words and numbers.
UNDRAWN = """
window.drawing_calls = 0;
for (const name of ['drawArrays', 'drawArraysInstanced', 'drawElements', 'drawElementsInstanced']) {
  if (!(name in WebGL2RenderingContext.prototype)) throw new Error(`WebGL2 has no ${name}`);
  WebGL2RenderingContext.prototype[name] = () => { window.drawing_calls += 1; };
}
"""


def environment(name: str) -> str:
    value = os.environ.get(name)
    if not value:
        pytest.exit(f"{name} is not set: run `cargo xtask test --only browser`", returncode=2)
    return value


class Server:
    """The built page behind the production headers, on a free port of this machine."""

    def __init__(self, under: str = "/", dist: pathlib.Path | None = None):
        self.process = subprocess.Popen(
            [environment("PLANEWARD_XTASK"), "serve", "--no-build", "--no-open", "--port", "0", "--under", under] + (["--dist", str(dist)] if dist else []),
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        said = []
        for line in self.process.stdout:
            said.append(line)
            found = re.search(r"http://\S+", line)
            if found:
                self.url = found.group()
                return
        raise RuntimeError("the server did not start: " + "".join(said))

    def stop(self):
        self.process.terminate()
        self.process.wait(timeout=10)
        self.process.stdout.close()


class Watch:
    """Collects what went wrong in the pages of one test."""

    def __init__(self):
        self.faults: list[str] = []
        self.expected: list[str] = []
        # Where pages may come from; a test with a course page of its own adds that page's address.
        self.hosts: list[str] = [HOST, "data:", "blob:"]

    def expect(self, pattern: str):
        """A fault that fits this pattern is wanted; the test fails when none comes."""
        self.expected.append(pattern)

    def attach(self, page):
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.faults.append(f"uncaught: {error}"))
        page.on("requestfailed", self._failed)
        page.on("response", self._response)
        page.on("request", self._request)

    def _console(self, message):
        if message.type not in ("error", "warning"):
            return
        if not any(re.search(pattern, message.text) for pattern in HARMLESS):
            self.faults.append(f"console {message.type}: {message.text}")

    def _failed(self, request):
        said = f"{request.url} {request.failure}"
        if not re.search(DROPPED, said):
            self.faults.append(f"request failed: {said}")

    def _response(self, response):
        if response.status >= 400:
            self.faults.append(f"answer {response.status}: {response.url}")

    def _request(self, request):
        if not request.url.startswith(tuple(self.hosts)):
            self.faults.append(f"request to another place: {request.url}")

    def check(self):
        unexpected = [fault for fault in self.faults if not any(re.search(p, fault) for p in self.expected)]
        missing = [p for p in self.expected if not any(re.search(p, fault) for fault in self.faults)]
        assert not unexpected, "the page left faults:\n" + "\n".join(unexpected)
        assert not missing, f"expected faults that never came: {missing}"


@pytest.fixture(scope="session")
def site():
    """The address of the page at the top of its host, with a slash at the end."""
    server = Server()
    yield server.url
    server.stop()


@pytest.fixture(scope="session")
def deep_site():
    """The address of the same folder under a sub-path of its host."""
    server = Server("/school/course-7/planeward/")
    yield server.url
    server.stop()


@pytest.fixture(scope="session")
def playwright_driver():
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser(playwright_driver):
    path = environment("PLANEWARD_CHROMIUM")
    browser = playwright_driver.chromium.launch(executable_path=path, args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def watch():
    return Watch()


@pytest.fixture
def new_page(request, browser, watch):
    """Makes a page: `new_page(360, 640)`; more arguments go to the browser context.

    Every page has a context of its own, so nothing stored or cached passes between tests.
    In a test marked `undrawn` the body view stays blank; that it asked for drawing is asserted all the same.
    """
    contexts = []
    undrawn = []
    drawn = request.node.get_closest_marker("undrawn") is None

    def make(width: int = 1280, height: int = 800, **options):
        # Keeping the page for use without a network takes a second download; the tests of it ask for it.
        options.setdefault("service_workers", "block")
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        watch.attach(page)
        if not drawn:
            page.add_init_script(UNDRAWN)
            undrawn.append(page)
        return page

    yield make
    idle = [page.url for page in undrawn if not any(frame.evaluate("window.drawing_calls") for frame in page.frames)]
    for context in contexts:
        context.close()
    watch.check()
    assert not idle, f"the body view asked for no drawing: {idle}"


@pytest.fixture
def page(new_page):
    """A page of the usual size, not yet sent anywhere."""
    return new_page()
