"""What can be done before everything has arrived."""

import re
import threading

import pytest
import scene
from harness import assert_not_blank


class Held:
    """A file that the page asks for and does not get until `release` is called."""

    def __init__(self, page, pattern: str, wanted=lambda request: True):
        self.routes = []
        self.released = False
        page.route(re.compile(pattern), self._hold)

    def _hold(self, route):
        if self.released:
            route.continue_()
        else:
            self.routes.append(route)

    def release(self):
        self.released = True
        for route in self.routes:
            route.continue_()


@pytest.mark.undrawn
def test_the_plane_is_named_before_the_body_is_here(page, site):
    """Name, sides, words and controls need no mesh: they are there while the body file is held back."""
    held = Held(page, r".*/bodies/adult_female-.*\.glb")
    page.emulate_media(reduced_motion="reduce")
    page.goto(site)
    page.wait_for_selector(scene.PLANE)
    assert scene.plane(page) == "Mid-sagittal plane"
    assert scene.sides(page)["left"] == "H"
    assert page.locator(".page").get_attribute("data-body") == "loading"
    assert page.get_by_text("Loading the body").count() >= 1
    # The probe can be turned, and the name follows.
    scene.type_number(page, "Notch", 270)
    assert scene.plane(page) == "Transverse plane"
    page.wait_for_function("() => document.querySelector('#live').textContent.includes('Transverse plane')")
    held.release()
    scene.wait_until_ready(page)
    assert scene.plane(page) == "Transverse plane", "what was done meanwhile stays"


class Slow:
    """Serves the beginning of a file at once and the rest when told, as a slow line would."""

    def __init__(self, body: bytes, first: int):
        import http.server

        outer = self
        self.go_on = threading.Event()

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                self.send_response(200)
                self.send_header("Content-Type", "model/gltf-binary")
                self.send_header("Content-Length", str(len(body)))
                self.send_header("Access-Control-Allow-Origin", "*")
                self.send_header("Cross-Origin-Resource-Policy", "cross-origin")
                self.end_headers()
                self.wfile.write(body[:first])
                self.wfile.flush()
                outer.go_on.wait(60)
                self.wfile.write(body[first:])

            def log_message(self, *_):
                pass

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self.server.server_port}/"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self):
        self.go_on.set()
        self.server.shutdown()


# Share of the body file after which the skin is there with room to spare; it stands first in the file.
SKIN_SHARE = 0.5


def test_the_probe_stands_on_the_skin_before_the_organs_are_here(new_page, site):
    """The skin comes first: the body is drawn and the probe can be dragged while the organs are on their way."""
    page = new_page(bypass_csp=True)
    listed = page.request.get(site).text()
    address = page.request.get(site + re.search(r'data-bodies="([^"]+)"', listed).group(1)).json()
    model = next(entry["model"] for entry in address if entry["id"] == "adult_female")
    whole = page.request.get(site + model).body()
    slow = Slow(whole, int(len(whole) * SKIN_SHARE))
    try:
        # The page's own request goes to the slow server.
        page.add_init_script(
            f"""const ask = window.fetch; window.fetch = (what, ...rest) =>
            ask(String(what.url ?? what).endsWith({model.split("/")[-1]!r}) ? {slow.url!r} : what, ...rest);"""
        )
        page.emulate_media(reduced_motion="reduce")
        page.goto(site)
        page.wait_for_selector(".page[data-body='skin']", timeout=scene.READY_MS)
        scene.settle(page)
        assert page.get_by_text("Loading the organs").count() >= 1, "progress is told"
        assert scene.plane(page) == "Mid-sagittal plane"
        assert "front of the upper abdomen" in page.locator("main").inner_text()
        assert_not_blank(page.locator(scene.BODY))
        # A tap on the skin places the probe.
        before = page.locator("main").inner_text()
        box = scene.box(page, scene.BODY)
        page.locator(scene.BODY).focus()
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        scene.settle(page)
        assert page.locator("main").inner_text() != before, f"the probe slides over the skin, view {box}"
        slow.go_on.set()
        scene.wait_until_ready(page)
        assert_not_blank(page.locator(scene.PICTURE))
    finally:
        slow.stop()
