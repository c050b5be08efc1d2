"""Packages in course systems: an independent run-time (scorm-again) in a real browser, systems that misbehave, and every
way in which a page can end."""

import json

import pytest

from rounds import ODD, STARTED, STATE, answered, as_script, content, course_page, dumped, finished, fire, said

LATE_MS = 1300

# scorm-again under the name of the standard, with a place that its commits go to.
AGAIN = """<script src="/modules/scorm-again/dist/scorm-again.js"></script>
<script src="/tools/strict12.js"></script>
<script>
  const settings = { autocommit: false, lmsCommitUrl: "/api/commit", logLevel: 5, sendFullCommit: true };
  window.run12 = new Scorm12API(settings);
  window.run2004 = new Scorm2004API(settings);
</script>"""
ONLY_12 = AGAIN + as_script("window.API = window.strict12(window.run12);")
ONLY_2004 = AGAIN + as_script("window.API_1484_11 = window.run2004;")


@pytest.fixture
def system(page, host, packed):
    """Opens a course page around a package: `system(standard, script)` gives the frame of the package."""

    def opened(standard: str, script: str, *, source: str = "/content/launch.html", attributes: str = "", **changes):
        host.content, _ = packed(standard, **changes)
        host.answer = lambda *_: (200, {"Content-Type": "application/json"}, b'{"result": true, "errorCode": 0}')
        host.pages["/course.html"] = course_page(script, source, attributes)
        page.goto(f"{host.url}/course.html")
        return content(page)

    return opened


def value(page, run: str, element: str) -> str:
    get = "lmsGetValue" if run == "run12" else "lmsGetValue"
    return page.evaluate(f"window.{run}.{get}({dumped(element)})")


def leave(page, host):
    page.goto(f"{host.url}/content/planeward-set.json")


def test_a_round_in_scorm_1_2_breaks_no_rule(page, host, system):
    frame = system("scorm12", ONLY_12)
    assert frame.evaluate("window.planewardCourse.info().standard") == "scorm12"
    assert frame.evaluate("window.planewardCourse.set") == "planeward-set.json"
    fire(frame, STARTED, answered("ivc"), answered("side", right=False, percent=33.333333))
    page.wait_for_timeout(LATE_MS)
    fire(frame, *ODD, answered("place"), finished(), answered("after_the_end"))
    calls = dict(page.evaluate("window.calls"))
    assert calls["cmi.core.lesson_status"] == "passed"
    assert page.evaluate("window.run12.cmi.core.score.raw") == "50", "the last answer after the end is one more try"
    assert page.evaluate("window.run12.cmi.suspend_data").startswith(STATE)
    assert page.evaluate("window.run12.cmi.interactions.childArray.length") == 12
    first = page.evaluate(
        "(({ id, type, student_response, result, latency, weighting }) => [id, type, student_response, result, latency, weighting])"
        "(window.run12.cmi.interactions.childArray[1].toJSON())"
    )
    assert first == ["side", "choice", "b", "wrong", "00:00:12.35", "1"]
    page.evaluate("document.getElementById('content').remove()")
    assert page.evaluate("window.strictState().state") == "finished", "leaving finishes"
    assert page.evaluate("window.breaches") == []
    assert said(frame, "trouble") == [] if not frame.is_detached() else True
    commits = host.posted("/api/commit")
    assert len(commits) >= 4, "after each answer there is a commit"


def test_a_round_in_scorm_2004(page, host, system):
    frame = system("scorm2004", ONLY_2004)
    assert frame.evaluate("window.planewardCourse.info().standard") == "scorm2004"
    refused = page.evaluate("window.refused = []; window.run2004.on('SetValueError', (...all) => window.refused.push(all)); window.refused")
    fire(frame, STARTED, answered("ivc"), answered("side", right=False))
    page.wait_for_timeout(LATE_MS)
    fire(frame, *ODD, finished(85))
    cmi = page.evaluate("JSON.parse(JSON.stringify(window.run2004.cmi))")
    assert cmi["completion_status"] == "completed" and cmi["success_status"] == "passed"
    score = cmi["score"]
    assert [score[key] for key in ("raw", "min", "max", "scaled")] == ["85", "0", "100", "0.85"]
    assert cmi["progress_measure"] == "1"
    interactions = page.evaluate("window.run2004.cmi.interactions.childArray.map((one) => one.toJSON())")
    assert len(interactions) == 10
    assert interactions[1]["learner_response"] == "coronal" and interactions[1]["result"] == "incorrect"
    for one in interactions:
        assert one["id"] and one["type"] in ("choice", "fill-in") and one["result"] and one["latency"].startswith("PT"), one
    assert refused == []
    page.evaluate("document.getElementById('content').remove()")
    assert page.evaluate("window.run2004.isTerminated()")
    assert len(host.posted("/api/commit")) >= 3


@pytest.mark.parametrize(
    ("passed", "report", "status"),
    [(True, False, "passed"), (False, False, "completed"), (False, True, "failed"), (None, True, "completed")],
)
def test_failed_is_said_only_where_the_teacher_wants_it(page, system, passed, report, status):
    frame = system("scorm12", ONLY_12)
    fire(frame, {**STARTED, "reportFailed": report}, finished(40, passed))
    assert page.evaluate("window.run12.cmi.core.lesson_status") == status
    assert page.evaluate("window.run12.cmi.core.score.raw") == "40"


@pytest.mark.parametrize("standard", ["scorm12", "scorm2004"])
def test_a_round_goes_on_where_it_was_left(page, host, system, standard):
    scripts = {
        "scorm12": AGAIN + as_script(f"run12.loadFromJSON({{cmi: {{core: {{entry: 'resume', lesson_status: 'incomplete'}}, suspend_data: {dumped(STATE + chr(10) + 'd1;4')}}}}}, ''); window.API = run12;"),
        "scorm2004": AGAIN + as_script(f"run2004.loadFromJSON({{cmi: {{entry: 'resume', completion_status: 'incomplete', suspend_data: {dumped(STATE + chr(10) + 'd1;4')}}}}}, ''); window.API_1484_11 = run2004;"),
    }
    frame = system(standard, scripts[standard])
    assert frame.evaluate("window.planewardCourse.resume()") == STATE, "the driver's own line is its own"
    page.wait_for_timeout(LATE_MS)
    run = "run12" if standard == "scorm12" else "run2004"
    assert page.evaluate(f"window.{run}.cmi.suspend_data") == STATE + "\nd1;4", "nothing was written over"
    fire(frame, answered("side", state=STATE + ";1.0.0.1.0.5"))
    assert page.evaluate(f"window.{run}.cmi.suspend_data").startswith(STATE + ";1.0.0.1.0.5\nd1;")


@pytest.mark.parametrize(
    ("script", "graded"),
    [
        ("run12.cmi.core.lesson_mode = 'review';", False),
        ("run12.cmi.core.lesson_mode = 'browse';", False),
        ("run12.cmi.core.credit = 'no-credit';", False),
        ("run12.cmi.core.lesson_mode = 'normal';", True),
    ],
)
def test_a_review_is_not_graded(page, system, script, graded):
    frame = system("scorm12", AGAIN + as_script(f"run12.cmi.setStartTime?.(); {script} window.API = run12;"))
    fire(frame, STARTED, answered("ivc"), finished(90))
    assert page.evaluate("window.run12.cmi.core.score.raw") == ("90" if graded else "")
    assert page.evaluate("window.run12.cmi.core.lesson_status") == ("passed" if graded else "not attempted")


def test_what_was_passed_stays_passed(page, system):
    script = "run12.loadFromJSON({cmi: {core: {lesson_status: 'passed', score: {raw: '95'}}}}, ''); window.API = run12;"
    frame = system("scorm12", AGAIN + as_script(script))
    fire(frame, STARTED, answered("ivc", percent=10), finished(30, False))
    assert page.evaluate("window.run12.cmi.core.lesson_status") == "passed"
    assert page.evaluate("window.run12.cmi.core.score.raw") == "95"


# --- ends of a session -------------------------------------------------------------------------------------------------

ENDS = {
    "navigate": lambda page, host: leave(page, host),
    "frame removed": lambda page, host: page.evaluate("document.getElementById('content').remove()"),
    "frame sent elsewhere": lambda page, host: page.evaluate("document.getElementById('content').src = '/content/planeward-set.json'"),
    "tab closed": lambda page, host: page.close(run_before_unload=False),
}


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize("standard", ["scorm12", "scorm2004"])
def test_every_end_of_the_page_ends_the_session(page, host, system, standard, end):
    script = """<script>
      window.API = window.API_1484_11 = null;
      const made = [];
      const note = (...call) => { made.push(call); navigator.sendBeacon("/api/call", JSON.stringify([made.length, ...call])); return "true"; };
      const values = (name) => (name.endsWith("_count") ? "0" : "");
      const old = { LMSInitialize: () => note("init"), LMSGetValue: values, LMSSetValue: (n, v) => note("set", n, v), LMSCommit: () => note("commit"), LMSFinish: () => note("finish"), LMSGetLastError: () => "0" };
      const now = { Initialize: () => note("init"), GetValue: values, SetValue: (n, v) => note("set", n, v), Commit: () => note("commit"), Terminate: () => note("finish"), GetLastError: () => "0" };
      STANDARD
    </script>""".replace("STANDARD", "window.API = old;" if standard == "scorm12" else "window.API_1484_11 = now;")
    frame = system(standard, script)
    fire(frame, STARTED, answered("ivc"))
    ENDS[end](page, host)
    other = page.context.pages[0] if page.context.pages else page.context.new_page()
    for _ in range(50):
        numbered = sorted(host.posted("/api/call"))
        if numbered and numbered[-1][0] == len(numbered) and numbered[-1][1:] == ["finish"]:
            break
        other.wait_for_timeout(100)
    # They arrive in any order, so each call says which one it is.
    calls = [call for _, *call in sorted(host.posted("/api/call"))]
    assert calls.count(["finish"]) == 1, f"{end}: {calls[-4:]}"
    exit_name = "cmi.core.exit" if standard == "scorm12" else "cmi.exit"
    assert ["set", exit_name, "suspend"] in calls, "an unfinished round is kept"
    kept = [call[2] for call in calls if call[0] == "set" and call[1] == "cmi.suspend_data"]
    assert kept and kept[-1].startswith(STATE), "an answer of the first second is kept too"
    assert calls[-1] == ["finish"], "nothing comes after the end"


def test_a_hidden_page_commits_and_goes_on(page, host, system):
    frame = system("scorm12", ONLY_12)
    fire(frame, STARTED, answered("ivc"))
    page.wait_for_timeout(LATE_MS)
    before = len(host.posted("/api/commit"))
    frame.evaluate("Object.defineProperty(document, 'visibilityState', {value: 'hidden', configurable: true}); document.dispatchEvent(new Event('visibilitychange'))")
    assert len(host.posted("/api/commit")) > before
    assert page.evaluate("window.strictState().state") == "running"
    fire(frame, answered("side"))
    assert page.evaluate("window.breaches") == []


# --- systems that misbehave --------------------------------------------------------------------------------------------

YES = "const yes = () => 'true';"
SHIMS = {
    # Method names of the older standard under both names, and no finish: modelled on one open-source course system.
    "one object under both names, without a finish": (
        YES + "const kept = {}; window.API = window.API_1484_11 = { LMSInitialize: yes, LMSGetValue: (n) => kept[n] ?? '', LMSSetValue: (n, v) => { kept[n] = v; return 'true'; }, LMSCommit: yes, LMSTerminate: yes, LMSGetLastError: () => '0' }; window.kept = kept;",
        "scorm12",
        "passed",
    ),
    "true to everything and empty answers": (
        YES + "const kept = {}; window.API = { LMSInitialize: yes, LMSGetValue: () => '', LMSSetValue: (n, v) => { kept[n] = v; return 'true'; }, LMSCommit: yes, LMSFinish: yes, LMSGetLastError: () => '0' }; window.kept = kept;",
        "scorm12",
        "passed",
    ),
    "no interactions": (
        YES + "const kept = {}; window.API = { LMSInitialize: yes, LMSGetValue: (n) => n.includes('interactions') ? '' : kept[n] ?? '', LMSSetValue: (n, v) => { if (n.includes('interactions')) return 'false'; kept[n] = v; return 'true'; }, LMSCommit: yes, LMSFinish: yes, LMSGetLastError: () => '401' }; window.kept = kept;",
        "scorm12",
        "passed",
    ),
    "methods that throw": (
        "const kept = {}; const no = () => { throw new Error('no'); }; window.API = { LMSInitialize: () => 'true', LMSGetValue: no, LMSSetValue: no, LMSCommit: no, LMSFinish: no, LMSGetLastError: no }; window.kept = kept;",
        "scorm12",
        None,
    ),
    "truth as a truth value": (
        "const kept = {}; window.API = { LMSInitialize: () => true, LMSGetValue: (n) => kept[n], LMSSetValue: (n, v) => { kept[n] = v; return true; }, LMSCommit: () => true, LMSFinish: () => true, LMSGetLastError: () => 0 }; window.kept = kept;",
        "scorm12",
        "passed",
    ),
    "begun by the system itself": (
        YES + "const kept = {}; window.API = { LMSInitialize: () => 'false', LMSGetValue: (n) => kept[n] ?? '', LMSSetValue: (n, v) => { kept[n] = v; return 'true'; }, LMSCommit: yes, LMSFinish: yes, LMSGetLastError: () => '101' }; window.kept = kept;",
        "scorm12",
        "passed",
    ),
    "refuses to begin": (
        "window.API = { LMSInitialize: () => 'false', LMSGetValue: () => '', LMSSetValue: () => 'false', LMSCommit: () => 'false', LMSFinish: () => 'false', LMSGetLastError: () => '102' }; window.kept = {};",
        None,
        None,
    ),
    "a name without methods": ("window.API = {}; window.API_1484_11 = 7; window.kept = {};", None, None),
    "nothing": ("window.kept = {};", None, None),
}


@pytest.mark.parametrize("shim", SHIMS)
def test_no_system_costs_the_learner_their_work(page, host, system, shim):
    script, standard, status = SHIMS[shim]
    frame = system("scorm12", as_script(script))
    assert frame.evaluate("window.planewardCourse.info().standard") == standard
    assert frame.evaluate("window.planewardCourse.resume()") == ""
    fire(frame, STARTED, answered("ivc"), answered("side"), *ODD, finished())
    page.wait_for_timeout(LATE_MS)
    kept = page.evaluate("window.kept")
    if status:
        assert kept["cmi.core.lesson_status"] == status
        assert kept["cmi.core.score.raw"] == "85"
        assert kept["cmi.suspend_data"].startswith(STATE)
        assert "cmi.core.student_id" not in kept
    elif standard:
        assert {one["what"] for one in said(frame, "trouble")} >= {"score", "status", "state", "commit"}
    else:
        assert len(said(frame, "none")) == 1


def test_what_comes_late_is_not_written_over(page, system):
    """A relay between frames hands out the first value empty and the right one some hundred milliseconds later."""
    late = "p1;0123456789abcdef;7k;1;tq8x4a;4.100.100.1.0.9"
    script = as_script(
        f"""const kept = {{ "cmi.suspend_data": {dumped(late)} }}; const written = []; let there = false; setTimeout(() => {{ there = true; }}, 500);
        const yes = () => "true";
        window.API = {{ LMSInitialize: yes, LMSGetValue: (n) => (there ? kept[n] ?? "" : ""), LMSSetValue: (n, v) => {{ kept[n] = v; written.push([n, v]); return "true"; }}, LMSCommit: yes, LMSFinish: yes, LMSGetLastError: () => "0" }};
        window.kept = kept; window.written = written;"""
    )
    frame = system("scorm12", script)
    fire(frame, STARTED, answered("ivc"))
    assert page.evaluate("window.kept['cmi.suspend_data']") == late, "not before the second look"
    assert frame.evaluate("window.planewardCourse.resume()") == late
    page.wait_for_timeout(LATE_MS)
    assert page.evaluate("window.kept['cmi.suspend_data']").startswith(f"{late}\n{STATE}"), "both states are kept"
    assert [one["state"] for one in said(frame, "late-state")] == [late]


def test_too_long_a_state_is_not_cut(page, system):
    frame = system("scorm12", ONLY_12)
    fire(frame, answered("ivc"))
    page.wait_for_timeout(LATE_MS)
    for bad in ("p1;" + "x" * 4096, "p1;ü"):
        fire(frame, {"type": "state", "state": bad})
        assert page.evaluate("window.run12.cmi.suspend_data").startswith(STATE)
    assert len(said(frame, "trouble")) == 2
    just_fits = STATE + ";" + "1" * (4096 - len(STATE) - 1 - len("\nd1;1"))
    fire(frame, {"type": "state", "state": just_fits})
    assert len(page.evaluate("window.run12.cmi.suspend_data")) == 4096
    assert page.evaluate("window.breaches") == []


# --- where the system's object stands ----------------------------------------------------------------------------------

FOUND = YES + "const kept = {}; window.API = { LMSInitialize: yes, LMSGetValue: (n) => kept[n] ?? '', LMSSetValue: (n, v) => { kept[n] = v; return 'true'; }, LMSCommit: yes, LMSFinish: yes, LMSGetLastError: () => '0' };"


@pytest.mark.parametrize("depth", [1, 3, 9])
def test_found_through_nested_frames(page, host, packed, depth):
    host.content, _ = packed("scorm12")
    inner = "/content/launch.html"
    for level in range(depth - 1):
        host.pages[f"/level{level}.html"] = course_page("", inner)
        inner = f"/level{level}.html"
    host.pages["/course.html"] = course_page(as_script(FOUND), inner)
    page.goto(f"{host.url}/course.html")
    page.wait_for_function(f"window.frames.length === 1")
    frame = None
    for _ in range(100):
        frame = next((one for one in page.frames if one.url.endswith("launch.html")), None)
        if frame:
            break
        page.wait_for_timeout(50)
    frame.wait_for_function("window.said && window.said.length > 0")
    assert frame.evaluate("window.planewardCourse.info().standard") == "scorm12"


@pytest.mark.parametrize(("features", "standard"), [("popup", "scorm12"), ("popup,noopener", None)])
def test_found_through_an_opener(page, host, packed, features, standard):
    host.content, _ = packed("scorm12")
    host.pages["/course.html"] = f"<!doctype html><title>Course</title>{as_script(FOUND)}"
    page.goto(f"{host.url}/course.html")
    with page.context.expect_page() as opened:
        page.evaluate(f"window.open('/content/launch.html', '_blank', '{features}') && 0")
    opened.value.wait_for_function("window.said && window.said.some((one) => ['connected', 'none'].includes(one.type))")
    assert opened.value.evaluate("window.planewardCourse.info().standard") == standard


@pytest.mark.parametrize(
    ("site", "attributes"),
    [("other_site", ""), ("url", 'sandbox="allow-scripts"'), ("other_site", 'sandbox="allow-scripts allow-same-origin"')],
)
def test_a_frame_that_may_not_look_works_without_a_system(page, host, packed, site, attributes):
    host.content, _ = packed("scorm12")
    host.pages["/course.html"] = course_page(as_script(FOUND), f"{getattr(host, site)}/content/launch.html", attributes)
    page.goto(f"{host.url}/course.html")
    frame = content(page)
    assert frame.evaluate("window.planewardCourse.info().standard") is None
    assert frame.evaluate("window.planewardCourse.resume()") == ""
    fire(frame, STARTED, answered("ivc"), finished(), {"type": "leave"})
    assert [one["type"] for one in frame.evaluate("window.said")] == ["none"]


def test_nothing_but_the_package_is_asked_for(page, host, system):
    frame = system("scorm12", ONLY_12)
    fire(frame, STARTED, answered("ivc"), finished(), {"type": "leave"})
    asked = {path.split("?")[0] for method, path, _ in host.requests if path.startswith("/content/")}
    assert asked <= {"/content/launch.html", "/content/stand-in.js"} | {f"/content/course/{name}.js" for name in ("parts", "scorm12", "scorm2004", "driver")}
    others = {path.split("?")[0] for _, path, _ in host.requests if not path.startswith(("/content/", "/modules/", "/tools/"))}
    assert others <= {"/course.html", "/api/commit", "/favicon.ico"}


def test_the_names_that_course_systems_look_for_stand_in_scripts(packed):
    """Some systems look through the scripts of a package for the elements they grade by, and warn where they are missing."""
    folder, _ = packed("scorm12")
    text = "".join(path.read_text(encoding="utf-8") for path in folder.rglob("*.js"))
    for name in ("lesson_status", "completion_status", "success_status", "progress_measure", "score.raw"):
        assert name in text, name
    assert "student_name" not in text and "learner_name" not in text


def test_json_of_the_set_is_in_the_package(packed):
    folder, _ = packed("scorm12", seed=7)
    assert json.loads((folder / "planeward-set.json").read_text(encoding="utf-8"))["seed"] == 7
