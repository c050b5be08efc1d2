"""Everything a whole session asks of the network, and the headers of the answers."""

import json
import pathlib
import urllib.request

import pytest
import scene
from conftest import environment

DIST = pathlib.Path(environment("PLANEWARD_DIST"))

HEADERS = {
    # Each with its reason: see the page for developers, "What a host should send".
    "Cross-Origin-Embedder-Policy": "require-corp",
    "Cross-Origin-Resource-Policy": "cross-origin",
    "Access-Control-Allow-Origin": "*",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}


@pytest.mark.undrawn
def test_a_session_asks_for_files_of_its_own_folder_only(page, site):
    asked = []
    page.on("request", lambda request: asked.append((request.method, request.url)))
    scene.open_scan(page, site)
    scene.type_number(page, "Notch", 270)
    page.goto(site + "teach.html")
    scene.wait_until_ready(page)
    page.get_by_role("button", name="Add question", exact=True).click()
    page.get_by_label("Begin with an example").select_option(label="Leg veins")
    page.wait_for_function("() => document.querySelectorAll('#questions li').length === 6")
    page.goto(site + "results.html")
    page.wait_for_selector("#loading", state="detached")
    page.goto(site + "embed.html#v1.body=infant_head&open=look")
    scene.wait_until_ready(page)
    own = {name for name in json.loads((DIST / "files.json").read_text(encoding="utf-8"))} | {"", "files.json"}
    for method, url in asked:
        if url.startswith(("data:", "blob:")):
            continue
        assert method == "GET", url
        assert url.startswith(site), url
        name = url.removeprefix(site).split("#")[0].split("?")[0]
        assert name in own, f"{url} is no file of the page"
        assert "?" not in url, f"nothing is told to the host: {url}"
    assert page.context.cookies() == [], "no cookie"


@pytest.mark.parametrize("name", ["", "embed.html", "teach.html", "bodies.json", "planeward-view.js"])
def test_headers(site, name):
    with urllib.request.urlopen(site + name) as answer:
        for header, value in HEADERS.items():
            assert answer.headers[header] == value, f"{header} of {name}"
        policy = dict(part.strip().split(" ", 1) for part in answer.headers["Content-Security-Policy"].split(";"))
        assert policy["default-src"] == "'none'"
        assert policy["script-src"] == "'self' 'wasm-unsafe-eval'"
        assert policy["connect-src"] == "'self'"
        assert "unsafe-inline" not in answer.headers["Content-Security-Policy"]
        assert answer.headers["X-Frame-Options"] is None, "course pages may frame it"
        assert answer.headers["Set-Cookie"] is None


def test_the_type_of_the_program(site):
    wasm = next(DIST.glob("planeward-*.wasm"))
    with urllib.request.urlopen(site + wasm.name) as answer:
        assert answer.headers["Content-Type"] == "application/wasm", "without parameters, or it is not compiled while loading"
