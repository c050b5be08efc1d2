"""Drivers before hostile input: launches, kept states and launch data that somebody bent.

Whatever comes, the driver says within seconds whether there is a course, hands out a text as the kept state, and leaves no
uncaught error (which the fixture `page` would report).
"""

import json
import random
import string
import threading
import urllib.parse

import pytest

from record_store import RecordStore
from rounds import ODD, STARTED, STATE, as_script, answered, content, course_page, dumped, finished, fire, said

LATE_MS = 1300
SCORM_12 = 4096

ODD_VALUES = ["", "null", "[]", "{}", "\"", "{\"a\":", "javascript:alert(1)", "data:,x", "http://[", "//", "\u0000", "\u202e", "%", "é" * 300, "1e999", " ", "'", "<b>"]


def bent(chance: random.Random, text: str) -> str:
    """The text with one to four slips: letters replaced, taken out, doubled, or the end cut off."""
    letters = list(text)
    for _ in range(chance.randint(1, 4)):
        if not letters:
            break
        at = chance.randrange(len(letters))
        match chance.randrange(4):
            case 0:
                letters[at] = chance.choice(string.printable + "é\u2028\ud83d\ude00\u0000")
            case 1:
                del letters[at : at + chance.randint(1, 20)]
            case 2:
                letters[at:at] = letters[at : at + chance.randint(1, 20)]
            case 3:
                del letters[at:]
    return "".join(letters).encode("utf-8", "replace").decode("utf-8")


def told(page):
    page.wait_for_function("window.said && window.said.some((one) => ['connected', 'none'].includes(one.type))")
    assert isinstance(page.evaluate("window.planewardCourse.resume()"), str)


@pytest.mark.parametrize("seed", range(4))
def test_bent_launches(page, host, packed, seed):
    """The words behind the `?` of a cmi5 launch, one of them odd, bent or missing."""
    chance = random.Random(seed)
    host.content, _ = packed("cmi5")
    connected = 0
    for _ in range(12):
        store = RecordStore(host)
        address, _, words = store.address(f"{host.url}/content/launch-cmi5.html").partition("?")
        pairs = urllib.parse.parse_qsl(words)
        at = chance.randrange(len(pairs))
        key, value = pairs[at]
        match chance.randrange(4):
            case 0:
                del pairs[at]
            case 1:
                pairs[at] = (key, chance.choice(ODD_VALUES))
            case 2:
                pairs[at] = (key, bent(chance, value))
            case 3:
                pairs.append((key, bent(chance, value)))
        page.goto(f"{address}?{urllib.parse.urlencode(pairs)}")
        told(page)
        connected += len(said(page, "connected"))
        fire(page, STARTED, answered("ivc"), finished())
        # The first of two values counts, as the browser reads them; nobody else's address is asked.
        assert "learner-7" not in page.url or not all(any(name == key for name, _ in pairs) for key in ("endpoint", "fetch", "actor", "registration", "activityId"))
        fire(page, {"type": "leave"})
        page.goto("about:blank")
    assert connected > 0, "some slips do no harm"


ODD_LAUNCHES = [
    None,
    [],
    "text",
    7,
    {},
    {"launchMode": 7},
    {"launchMode": {"a": 1}},
    {"contextTemplate": "text"},
    {"contextTemplate": {"contextActivities": {"category": {"id": "urn:x"}}}},
    {"contextTemplate": {"contextActivities": 3, "extensions": "no"}},
    {"masteryScore": "0.8"},
    {"masteryScore": -1},
    {"launchParameters": {"a": [1]}},
    {"returnURL": "http://["},
    {"returnURL": 7},
    {"returnURL": "javascript:window.tricked=1"},
]


@pytest.mark.parametrize("launch", ODD_LAUNCHES, ids=json.dumps)
def test_odd_launch_data(page, host, packed, launch):
    store = RecordStore(host)
    store.launch = launch
    host.content, _ = packed("cmi5")
    page.goto(store.address(f"{host.url}/content/launch-cmi5.html"))
    told(page)
    fire(page, STARTED, answered("ivc"), *ODD, finished(), {"type": "leave"})
    page.wait_for_timeout(200)
    assert page.evaluate("window.tricked") is None


@pytest.mark.parametrize("silent", ["/api/fetch", "/api/xapi/activities/state", "/api/xapi/statements"])
def test_a_silent_store_keeps_nobody_waiting(page, host, packed, silent):
    """It takes the request and never answers; the round begins all the same, and what was kept joins it when it comes."""
    store = RecordStore(host)
    store.states["planeward-progress"] = STATE.encode()
    inner, speak = store.answer, threading.Event()

    def answer(method, path, query, headers, body):
        if path == silent and method != "OPTIONS":
            speak.wait(60)
        return inner(method, path, query, headers, body)

    host.answer = answer
    host.content, _ = packed("cmi5")
    page.goto(store.address(f"{host.url}/content/launch-cmi5.html"))
    assert page.evaluate("window.planewardCourse.resume()") == "", "the page goes on without it"
    mine = "p1;0123456789abcdef;7k;1;tq8x4a;1.0.0.1.0.5"
    fire(page, STARTED, answered("side", state=mine))
    speak.set()
    page.wait_for_function("window.said.some((one) => one.type === 'late-state')")
    assert said(page, "late-state") == [{"type": "late-state", "state": STATE}]
    for _ in range(50):
        if store.states["planeward-progress"].decode().startswith(f"{STATE}\n{mine}"):
            break
        page.wait_for_timeout(100)
    assert store.states["planeward-progress"].decode() == f"{STATE}\n{mine}", "neither is lost"
    assert store.verbs()[:2] == ["initialized", "answered"]


@pytest.mark.parametrize("seed", range(3))
def test_bent_states(page, host, packed, seed):
    """What a SCORM system kept, bent: what is written afterwards is text the standard takes, and what was kept is in it."""
    chance = random.Random(100 + seed)
    host.content, _ = packed("scorm12")
    digits = "9" * chance.randint(10, 400)
    for kept in (bent(chance, STATE + "\nd1;4"), chance.choice(ODD_VALUES), f"d1;{digits}", f"{STATE}\nd1;9999", "x" * SCORM_12):
        launch = chance.choice(ODD_VALUES)
        host.pages["/course.html"] = course_page(
            as_script(
                f"""const kept = {{ "cmi.suspend_data": {dumped(kept)}, "cmi.launch_data": {dumped(launch)}, "cmi.core.score.raw": {dumped(launch)} }};
                const yes = () => "true"; window.kept = kept; window.written = []; window.indices = [];
                window.API = {{ LMSInitialize: yes, LMSGetValue: (n) => kept[n] ?? "", LMSCommit: yes, LMSFinish: yes, LMSGetLastError: () => "0",
                  LMSSetValue: (n, v) => {{ if (n === "cmi.suspend_data") window.written.push(v); const i = /^cmi.interactions.(.+).id$/.exec(n); if (i) window.indices.push(i[1]); kept[n] = v; return "true"; }} }};"""
            )
        )
        page.goto(f"{host.url}/course.html")
        frame = content(page)
        assert isinstance(frame.evaluate("window.planewardCourse.resume()"), str)
        fire(frame, STARTED, answered("ivc"))
        page.wait_for_timeout(LATE_MS)
        fire(frame, answered("side"), finished())
        for state in page.evaluate("window.written"):
            assert len(state) <= SCORM_12 and state.isascii(), repr(state)
            assert state.startswith(STATE), repr(state)
        assert page.evaluate("window.kept['cmi.core.lesson_status']") == "passed"
        for index in page.evaluate("window.indices"):
            assert index.isdigit() and len(index) < 6, f"an index that no system has: {index}"
