"""cmi5: statements, their order and their context, against the specification, a validator, and another implementation."""

import json
import os
import re
import subprocess

import pytest

from conftest import MODULES, environment
from record_store import SESSION, RecordStore, categories
from rounds import ODD, STARTED, STATE, answered, finished, fire, said

HERE = os.path.dirname(__file__)


def opened(page, host, packed, store, **changes):
    host.content, _ = packed("cmi5", **changes)
    page.goto(store.address(f"{host.url}/content/launch-cmi5.html"))
    page.wait_for_function("window.said && window.said.some((one) => ['connected', 'none'].includes(one.type))")
    return page


def arrived(page, store, verb):
    """Waits for a statement. What is sent while a page is left may overtake what is still on its way."""
    for _ in range(50):
        if verb in store.verbs():
            break
        page.wait_for_timeout(100)
    return store.verbs()


def ended(page, store, host):
    """Leaves the page and waits for the last statement."""
    page.goto(f"{host.url}/content/planeward-set.json")
    return arrived(page, store, "terminated")


def faults_of(statements) -> list:
    done = subprocess.run(
        [environment("PLANEWARD_NODE"), os.path.join(HERE, "validate.cjs"), str(MODULES)],
        input=json.dumps(statements),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def check_session(store, statements):
    """The rules of cmi5 that hold for every session (sections 7, 9 and 10)."""
    assert store.faults == []
    assert [found for found in faults_of(statements) if found] == []
    verbs = [one["verb"]["id"].rsplit("/", 1)[1] for one in statements]
    assert verbs[0] == "initialized" and verbs[-1] == "terminated"
    for verb in ("initialized", "terminated", "completed", "passed"):
        assert verbs.count(verb) <= 1, verb
    assert len({one["id"] for one in statements}) == len(statements)
    for verb, one in zip(verbs, statements):
        assert one["actor"] == store.actor
        assert one["context"]["registration"] == store.registration
        assert one["context"]["extensions"][SESSION] == store.launch["contextTemplate"]["extensions"][SESSION]
        assert one["context"]["contextActivities"]["grouping"] == store.launch["contextTemplate"]["contextActivities"]["grouping"]
        assert one["timestamp"].endswith("Z"), "times are in UTC"
        defined = verb != "answered"
        assert ("cmi5" in categories(one)) == defined, verb
        assert ("moveon" in categories(one)) == (verb in ("passed", "failed", "completed")), verb
        result = one.get("result", {})
        assert ("score" in result) == (verb in ("passed", "failed", "answered")), verb
        if verb in ("completed", "passed", "failed", "terminated"):
            assert re.fullmatch(r"P(\d|T|[HMS.]){2,}", result["duration"]), result


def test_a_whole_session(page, host, packed):
    store = RecordStore(host)
    opened(page, host, packed, store)
    assert page.evaluate("window.planewardCourse.info()") == {"standard": "cmi5", "mode": "normal", "masteryPercent": 80, "stateBytes": 64000, "missing": None}
    assert "learner-7" not in page.url and "fetch" not in page.url, "the address is cleaned"
    fire(page, STARTED, answered("ivc"), answered("side", right=False, percent=50), finished(85))
    page.wait_for_timeout(1300)
    arrived(page, store, "completed")
    assert ended(page, store, host) == ["initialized", "answered", "answered", "passed", "completed", "terminated"]
    check_session(store, store.statements)
    passed = store.of("passed")
    assert passed["result"]["score"] == {"scaled": 0.85} and passed["result"]["success"] is True
    assert passed["context"]["extensions"]["https://w3id.org/xapi/cmi5/context/extensions/masteryscore"] == 0.8
    assert store.of("completed")["result"]["completion"] is True
    item = store.statements[2]
    assert item["object"]["definition"]["interactionType"] == "choice"
    assert item["object"]["definition"]["correctResponsesPattern"] == ["sagittal"]
    assert item["result"]["response"] == "coronal" and item["result"]["success"] is False
    assert store.states["planeward-progress"].decode().startswith(STATE)


def test_odd_answers_make_valid_statements(page, host, packed):
    store = RecordStore(host)
    opened(page, host, packed, store)
    fire(page, STARTED, *ODD, finished(85))
    arrived(page, store, "completed")
    ended(page, store, host)
    check_session(store, store.statements)


@pytest.mark.parametrize(
    ("percent", "passed", "report", "mastery", "verbs"),
    [
        (85, True, False, 0.8, ["passed", "completed"]),
        # The system's mark wins over what the set says.
        (70, True, False, 0.8, ["completed"]),
        (70, False, True, 0.8, ["failed", "completed"]),
        (70, False, False, 0.8, ["completed"]),
        (70, True, False, None, ["passed", "completed"]),
        (70, None, True, None, ["completed"]),
    ],
)
def test_passed_and_failed(page, host, packed, percent, passed, report, mastery, verbs):
    store = RecordStore(host, mastery=mastery)
    opened(page, host, packed, store)
    fire(page, {**STARTED, "reportFailed": report}, finished(percent, passed), finished(percent, passed))
    arrived(page, store, verbs[-1])
    assert ended(page, store, host) == ["initialized", *verbs, "terminated"], "and each of them once"
    check_session(store, store.statements)


@pytest.mark.parametrize("mode", ["Browse", "Review"])
def test_browsing_and_reviewing_are_not_judged(page, host, packed, mode):
    store = RecordStore(host, mode=mode)
    opened(page, host, packed, store)
    fire(page, STARTED, answered("ivc"), finished())
    assert ended(page, store, host) == ["initialized", "terminated"]
    check_session(store, store.statements)


def test_a_round_goes_on_and_the_page_can_be_left(page, host, packed):
    store = RecordStore(host, return_url=f"{host.url}/content/planeward-set.json?back")
    store.states["planeward-progress"] = STATE.encode()
    opened(page, host, packed, store)
    assert page.evaluate("window.planewardCourse.resume()") == STATE
    fire(page, STARTED, answered("ivc"))
    with page.expect_navigation(url="**/planeward-set.json?back"):
        fire(page, {"type": "leave"})
    page.wait_for_timeout(500)
    assert store.verbs() == ["initialized", "answered", "terminated"]
    check_session(store, store.statements)


@pytest.mark.parametrize("trick", ["javascript:window.tricked=1", "data:text/html,x"])
def test_the_way_back_is_a_page(page, host, packed, trick):
    store = RecordStore(host, return_url=trick)
    opened(page, host, packed, store)
    address = page.url
    fire(page, {"type": "leave"})
    page.wait_for_timeout(300)
    assert page.url == address and page.evaluate("window.tricked") is None


def test_a_used_launch_costs_no_work(page, host, packed):
    store = RecordStore(host)
    store.fetched = 1
    opened(page, host, packed, store)
    assert page.evaluate("window.planewardCourse.info().standard") is None
    fire(page, STARTED, answered("ivc"), finished(), {"type": "leave"})
    assert store.statements == []
    assert page.evaluate("window.planewardCourse.resume()") == ""
    assert said(page, "none") == [{"type": "none", "why": "used"}], "the learner is told why"
    # What was answered without the course outlives a reload, which is no launch either.
    page.reload()
    page.wait_for_function("window.said && window.said.some((one) => one.type === 'none')")
    assert said(page, "none") == [{"type": "none", "why": "used"}]
    assert page.evaluate("window.planewardCourse.info().missing") == "used"
    assert page.evaluate("window.planewardCourse.resume()") == STATE
    # Opened anew it is nobody's round.
    page.goto("about:blank")
    page.goto(f"{host.url}/content/launch-cmi5.html")
    page.wait_for_function("window.said && window.said.some((one) => one.type === 'none')")
    assert said(page, "none") == [{"type": "none", "why": "absent"}]
    assert page.evaluate("window.planewardCourse.resume()") == ""


def test_a_reload_after_a_launch_keeps_the_round(page, host, packed):
    store = RecordStore(host)
    opened(page, host, packed, store)
    fire(page, STARTED, answered("ivc"))
    page.wait_for_timeout(300)
    page.reload()
    page.wait_for_function("window.said && window.said.some((one) => one.type === 'none')")
    assert said(page, "none") == [{"type": "none", "why": "used"}]
    assert page.evaluate("window.planewardCourse.resume()") == STATE


@pytest.mark.parametrize("failing", ["/api/xapi/statements", "/api/xapi/activities/state", "/api/xapi/agents/profile"])
def test_a_failing_store_costs_no_work(page, host, packed, failing):
    store = RecordStore(host)
    inner = store.answer

    def answer(method, path, query, headers, body):
        if path == failing and method != "OPTIONS":
            return 500, store.CORS, b""
        return inner(method, path, query, headers, body)

    host.answer = answer
    opened(page, host, packed, store)
    fire(page, STARTED, answered("ivc"), answered("side"), finished())
    page.wait_for_timeout(300)
    assert isinstance(page.evaluate("window.planewardCourse.resume()"), str)
    if failing == "/api/xapi/statements":
        fire(page, answered("place"))
        assert said(page, "trouble"), "the page is told"


def test_another_implementation_says_the_same(page, host, packed):
    """The npm package @xapi/cmi5 before the same store: verbs, results and contexts are those of our own driver."""
    ours = RecordStore(host)
    opened(page, host, packed, ours)
    fire(page, STARTED, answered("ivc"), finished(85))
    arrived(page, ours, "completed")
    ended(page, ours, host)

    theirs = RecordStore(host)
    host.pages["/theirs.html"] = "<!doctype html><title>x</title><script src='/modules/@xapi/cmi5/dist/Cmi5.umd.js'></script>"
    page.goto(theirs.address(f"{host.url}/theirs.html"))
    page.evaluate(
        """async () => {
          const Their = window.Cmi5?.default ?? window.Cmi5;
          const unit = new Their();
          await unit.initialize();
          await unit.interactionChoice("test", "ivc", ["sagittal"], ["sagittal"],
            ["sagittal", "coronal", "transverse"].map((id) => ({ id, description: { en: id } })), undefined, undefined, true, undefined, undefined);
          await unit.pass(0.85);
          await unit.complete();
          await unit.terminate();
        }"""
    )
    assert theirs.verbs() == ours.verbs()
    check_session(ours, ours.statements)
    for mine, other in zip(ours.statements, theirs.statements):
        assert mine["verb"]["id"] == other["verb"]["id"]
        assert categories(mine) == categories(other)
        assert mine["context"]["contextActivities"].get("grouping") == other["context"]["contextActivities"].get("grouping")
        assert set(mine["context"]["extensions"]) >= set(other["context"]["extensions"])
        for key in ("success", "completion", "response"):
            assert mine.get("result", {}).get(key) == other.get("result", {}).get(key), (mine, other)
        if mine["verb"]["id"].endswith("passed"):
            assert mine["result"]["score"]["scaled"] == other["result"]["score"]["scaled"]
    first = [entry for entry in ours.log if entry[1] != "/api/xapi/statements"][:3]
    assert first == [entry for entry in theirs.log if entry[1] != "/api/xapi/statements"][:3], "token, launch data, preferences"
