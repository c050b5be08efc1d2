// SCORM 1.2 (ADL, SCORM Run-Time Environment 1.2): the elements below are all that is read or written. The learner's name
// and number are not among them.
(() => {
  "use strict";
  const { find, speak, decimal, text, whole, timespan, clock } = window.planewardParts;
  const STATE = 4096;
  const DONE = ["passed", "completed"];

  function connect() {
    const api = find("API");
    if (!api) return null;
    const { call, get, set } = speak(api, "LMS");
    // 101 is also the answer of a system that has begun by itself.
    if (call("Initialize", "") !== "true" && call("GetLastError") !== "101") return null;

    const mode = get("cmi.core.lesson_mode") || "normal";
    // In a review or a preview, and without credit, nothing is graded.
    const graded = mode === "normal" && get("cmi.core.credit") !== "no-credit";
    const before = get("cmi.core.lesson_status");
    const done = DONE.includes(before);
    const best = Number.parseFloat(get("cmi.core.score.raw"));
    let own = 0;
    if (graded && !done && before !== "failed") set("cmi.core.lesson_status", "incomplete");

    function interaction(item, at) {
      const count = whole(get("cmi.interactions._count"));
      // No index may be left out; a system that forgets or does not count gets another try.
      const places = [...new Set([Math.max(own, count), count, 0])];
      const n = places.find((place) => set(`cmi.interactions.${place}.id`, window.planewardParts.name(item.id)));
      if (n === undefined) return false;
      own = n + 1;
      const put = (field, value) => value !== "" && set(`cmi.interactions.${n}.${field}`, value);
      const letter = (key) => {
        const place = item.options.indexOf(key);
        return place >= 0 && place < 26 ? String.fromCharCode(97 + place) : "";
      };
      const choice = item.options.length > 1 && item.options.length <= 26 && letter(item.correct) !== "";
      put("time", clock(at));
      put("type", choice ? "choice" : "fill-in");
      put("correct_responses.0.pattern", choice ? letter(item.correct) : text(item.correct, 255));
      put("weighting", decimal(item.points));
      put("student_response", choice ? letter(item.answer) : text(item.answer, 255));
      put("result", item.outcome === "right" ? "correct" : item.outcome === "wrong" ? "wrong" : item.outcome === "partly" ? decimal(item.score) : "neutral");
      put("latency", timespan(item.latencyMs));
      return true;
    }

    return {
      standard: "scorm12",
      mode: graded ? "normal" : mode === "normal" ? "review" : mode,
      masteryPercent: Number.parseFloat(get("cmi.student_data.mastery_score")) || null,
      stateBytes: STATE,
      launchData: get("cmi.launch_data"),
      read: () => get("cmi.suspend_data"),
      write: (state) => set("cmi.suspend_data", state),
      counted: () => own,
      count: (known) => {
        own = Math.max(own, known);
      },
      answered: interaction,
      score(percent) {
        if (!graded || (done && percent < best)) return true;
        set("cmi.core.score.min", "0");
        set("cmi.core.score.max", "100");
        return set("cmi.core.score.raw", decimal(percent));
      },
      finished(passed, reportFailed) {
        if (!graded) return true;
        // What was passed once stays passed.
        if (before === "passed" && passed !== true) return true;
        const status = passed === true ? "passed" : passed === false && reportFailed ? "failed" : "completed";
        return set("cmi.core.lesson_status", status);
      },
      place: (item) => set("cmi.core.lesson_location", text(item, 255)),
      commit: () => call("Commit", "") === "true",
      end(ms, unfinished) {
        set("cmi.core.session_time", timespan(ms));
        set("cmi.core.exit", unfinished ? "suspend" : "");
        call("Commit", "");
        // Some systems have no such method; then the commit was the end.
        return typeof api.LMSFinish !== "function" || call("Finish", "") === "true";
      },
    };
  }

  window.planewardParts.scorm12 = connect;
})();
