"""A small course system over HTTP (scormhost): upload, launch, what it stored. It checks nothing by itself, so this is about
getting through: its objects appear late, its counts are empty, launch data and parameters are dropped."""

import asyncio
import json
import threading
import time
import urllib.request
import uuid

import pytest
import uvicorn
from scormhost.app import create_scorm_app

from rounds import STARTED, STATE, answered, finished, fire


class System:
    def __init__(self, folder):
        app = create_scorm_app(data_dir=folder, secret_key="x" * 32)
        self.server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error"))
        self.thread = threading.Thread(target=lambda: asyncio.run(self.server.serve()), daemon=True)
        self.thread.start()
        for _ in range(300):
            if self.server.started:
                break
            time.sleep(0.05)
        [socket] = self.server.servers[0].sockets
        self.url = f"http://127.0.0.1:{socket.getsockname()[1]}"
        # The first account of a new system is its administrator.
        account = {"email": "teacher@school.example", "username": "teacher", "password": "correct-horse-7", "display_name": "T"}
        self.token = self.ask("POST", "/api/auth/register", json.dumps(account).encode(), "application/json")["access_token"]

    def ask(self, method, path, body=None, kind=None):
        request = urllib.request.Request(self.url + path, data=body, method=method)
        if kind:
            request.add_header("Content-Type", kind)
        if getattr(self, "token", None):
            request.add_header("Authorization", f"Bearer {self.token}")
        with urllib.request.urlopen(request) as answer:
            return json.loads(answer.read())

    def upload(self, archive: bytes):
        boundary = uuid.uuid4().hex
        head = f'--{boundary}\r\nContent-Disposition: form-data; name="file"; filename="week.zip"\r\nContent-Type: application/zip\r\n\r\n'
        body = head.encode() + archive + f"\r\n--{boundary}--\r\n".encode()
        return self.ask("POST", "/api/packages", body, f"multipart/form-data; boundary={boundary}")

    def stop(self):
        self.server.should_exit = True
        self.thread.join(timeout=10)


@pytest.fixture(scope="module")
def system(tmp_path_factory):
    system = System(tmp_path_factory.mktemp("scormhost"))
    yield system
    system.stop()


def launched(page, system, package):
    page.goto(system.url + package["launch_url"])
    frame = None
    for _ in range(200):
        frame = next((one for one in page.frames if one.url.endswith("launch.html")), None)
        if frame:
            break
        page.wait_for_timeout(50)
    assert frame, [one.url for one in page.frames]
    frame.wait_for_function("window.said && window.said.some((one) => ['connected', 'none'].includes(one.type))")
    return frame


STORED = {
    "scorm12": {"cmi.core.lesson_status": "passed", "cmi.core.score.raw": "85", "cmi.core.score.max": "100"},
    "scorm2004": {"cmi.completion_status": "completed", "cmi.success_status": "passed", "cmi.score.raw": "85", "cmi.score.scaled": "0.85"},
}


@pytest.mark.parametrize("standard", STORED)
def test_upload_launch_and_what_was_stored(page, system, packed, standard):
    _, archive = packed(standard)
    package = system.upload(archive)
    assert package["manifest"]["title"] == "Orientation & the “notch” <week 1>"
    frame = launched(page, system, package)
    assert frame.evaluate("window.planewardCourse.info().standard") == standard
    fire(frame, STARTED, answered("ivc"), answered("side", right=False))
    page.wait_for_timeout(1500)
    # Left in the middle, and taken up again.
    page.goto("about:blank")
    frame = launched(page, system, package)
    assert frame.evaluate("window.planewardCourse.resume()") == STATE
    fire(frame, STARTED, answered("place"), finished(85))
    page.wait_for_timeout(1500)
    stored = page.evaluate("(path) => fetch(path).then((one) => one.json())", f"/api/scorm/{package['id']}/cmi?launch=launch.html")["elements"]
    for element, wanted in STORED[standard].items():
        assert stored[element] == wanted, element
    assert stored["cmi.suspend_data"].startswith(STATE)
